//! A made-up checklist of any size, in the column layout of the public download.

use std::io::Read;

/// Column titles of the names table.
pub const NAMES_HEADER: &str = "plant_name_id|ipni_id|taxon_rank|taxon_status|family|genus_hybrid|genus|species_hybrid|species|infraspecific_rank|infraspecies|parenthetical_author|primary_author|publication_author|place_of_publication|volume_and_page|first_published|nomenclatural_remarks|geographic_area|lifeform_description|climate_description|taxon_name|taxon_authors|accepted_plant_name_id|basionym_plant_name_id|replaced_synonym_author|homotypic_synonym|parent_plant_name_id|powo_id|hybrid_formula|reviewed\n";
/// Column titles of the distribution table.
pub const AREAS_HEADER: &str = "plant_locality_id|plant_name_id|continent_code_l1|continent|region_code_l2|region|area_code_l3|area|introduced|extinct|location_doubtful\n";

const SYLLABLES: [&str; 20] = [
    "ba", "ce", "di", "fo", "gu", "la", "me", "ni", "po", "ru", "sa", "te", "vi", "lo", "mu", "ca",
    "ne", "pi", "ro", "tu",
];

fn word(mut number: u64, syllables: usize) -> String {
    let mut out = String::new();
    for _ in 0..syllables {
        out.push_str(SYLLABLES[(number % 20) as usize]);
        number /= 20;
    }
    out
}

/// Name number `n`: genera of forty species each.
pub fn name(n: u64) -> (String, String) {
    let genus = word(n / 40 * 7 + 3, 4);
    let genus = format!("{}{}ia", genus[..1].to_uppercase(), &genus[1..]);
    (genus, format!("{}ensis", word(n * 13 + 5, 6)))
}

/// One row of the names table; every third name is a synonym of the one before it.
pub fn name_row(n: u64) -> String {
    let (genus, species) = name(n);
    let (status, accepted) = if n % 3 == 2 { ("Synonym", n - 1) } else { ("Accepted", n) };
    let id = n + 1;
    let accepted = accepted + 1;
    format!(
        "{id}|{id}-1|Species|{status}|Begoniaceae||{genus}||{species}||||Umb.|Umb.|Ann. Umb. Soc.|{n}: 12|(1901)||Borneo|hemicr.|wet tropical|{genus} {species}|Umb. & Bell.|{accepted}||||{id}|{id}-1||Y\n"
    )
}

/// One row of the distribution table.
pub fn area_row(n: u64, names: u64) -> String {
    const CODES: [&str; 6] = ["BOR", "MLY", "SUM", "PHI", "NWG", "JAW"];
    let id = n % names + 1;
    let code = CODES[(n / names % 6) as usize];
    format!("{n}|{id}|4|ASIA-TROPICAL|42|Malesia|{code}|Somewhere|{}|0|0\n", n % 5 / 4)
}

/// A table that is made while it is read.
pub struct Made<F: FnMut(u64) -> String> {
    buffer: Vec<u8>,
    at: usize,
    row: u64,
    rows: u64,
    make: F,
}

impl<F: FnMut(u64) -> String> Made<F> {
    pub fn new(header: &str, rows: u64, make: F) -> Self {
        Made { buffer: header.as_bytes().to_vec(), at: 0, row: 0, rows, make }
    }
}

impl<F: FnMut(u64) -> String> Read for Made<F> {
    fn read(&mut self, out: &mut [u8]) -> std::io::Result<usize> {
        if self.at == self.buffer.len() {
            self.buffer.clear();
            self.at = 0;
            while self.row < self.rows && self.buffer.len() < 1 << 16 {
                self.buffer.extend((self.make)(self.row).as_bytes());
                self.row += 1;
            }
        }
        let length = out.len().min(self.buffer.len() - self.at);
        out[..length].copy_from_slice(&self.buffer[self.at..self.at + length]);
        self.at += length;
        Ok(length)
    }
}

//! Finding a name in a checklist, exactly or nearly.

use super::image::{Checklist, Entry};
use crate::text::fold;

/// The key by which names are the same: no hybrid signs, no notho-, case and diacritics folded.
pub(super) fn key(name: &str) -> String {
    let plain = name.is_ascii();
    let folded = if plain { name.to_ascii_lowercase() } else { fold(name) };
    let needs_work = !plain || folded.contains("notho") || folded.contains(" x ");
    if !needs_work {
        return folded;
    }
    let words = folded.split(' ').filter_map(|word| {
        let bare = word.trim_start_matches(['×', '+']);
        let rank = bare.strip_prefix("notho").filter(|rest| rest.ends_with('.'));
        let word = rank.unwrap_or(bare);
        (!word.is_empty() && word != "x").then_some(word)
    });
    words.collect::<Vec<_>>().join(" ")
}

impl Checklist {
    /// The entry of a name, written without author; hybrid signs, case and diacritics do not matter.
    /// Of several with the same name the accepted one.
    pub fn find(&self, name: &str) -> Option<Entry<'_>> {
        let wanted = key(name);
        let at = self.first_not_below(&wanted);
        self.entry(at).filter(|entry| key(entry.name()) == wanted)
    }

    /// All entries of a name (homonyms of different authors).
    pub fn find_all(&self, name: &str) -> Vec<Entry<'_>> {
        let wanted = key(name);
        let from = self.first_not_below(&wanted);
        (from..self.len())
            .map_while(|at| self.entry(at).filter(|entry| key(entry.name()) == wanted))
            .collect()
    }

    /// Whether the list has names in a genus.
    pub fn has_genus(&self, genus: &str) -> bool {
        self.genus_number(&key(genus)).is_some()
    }

    /// The genera of the list, in order.
    pub fn genera(&self) -> impl Iterator<Item = &str> {
        (0..self.genus_count()).filter_map(|genus| {
            let entry = self.entry(self.genus_range(genus).start)?;
            let name = entry.name().trim_start_matches(['×', '+', ' ']);
            name.split(' ').next()
        })
    }

    /// The names within `max_distance` letters of a name, the nearest first and, where equally near,
    /// accepted names first. Looks in the genus if the list has it, else in genera spelt like it.
    pub fn nearest(&self, name: &str, max_distance: usize) -> Vec<(Entry<'_>, usize)> {
        let wanted = key(name);
        let genus = wanted.split(' ').next().unwrap_or_default();
        let genera: Vec<usize> = match self.genus_number(genus) {
            Some(number) => vec![number],
            None => (0..self.genus_count())
                .filter(|number| near(&self.genus_key(*number), genus, max_distance).is_some())
                .collect(),
        };
        let mut found: Vec<(Entry<'_>, usize)> = genera
            .into_iter()
            .flat_map(|number| self.genus_range(number))
            .filter_map(|at| {
                let entry = self.entry(at)?;
                let distance = near(&key(entry.name()), &wanted, max_distance)?;
                Some((entry, distance))
            })
            .collect();
        found.sort_by(|(a, near_a), (b, near_b)| {
            (near_a, a.status(), a.name()).cmp(&(near_b, b.status(), b.name()))
        });
        found.dedup_by(|(a, _), (b, _)| a.name() == b.name());
        found
    }

    fn first_not_below(&self, wanted: &str) -> usize {
        let (mut low, mut high) = (0, self.len());
        while low < high {
            let middle = usize::midpoint(low, high);
            let below = self.entry(middle).is_some_and(|entry| key(entry.name()).as_str() < wanted);
            if below {
                low = middle + 1;
            } else {
                high = middle;
            }
        }
        low
    }

    fn genus_key(&self, number: usize) -> String {
        let entry = self.entry(self.genus_range(number).start);
        let key = entry.map(|entry| key(entry.name())).unwrap_or_default();
        key.split(' ').next().unwrap_or_default().to_owned()
    }

    fn genus_number(&self, genus: &str) -> Option<usize> {
        let (mut low, mut high) = (0, self.genus_count());
        while low < high {
            let middle = usize::midpoint(low, high);
            match self.genus_key(middle).as_str().cmp(genus) {
                std::cmp::Ordering::Less => low = middle + 1,
                std::cmp::Ordering::Greater => high = middle,
                std::cmp::Ordering::Equal => return Some(middle),
            }
        }
        None
    }
}

/// The distance of two keys if it is at most `most`.
fn near(a: &str, b: &str, most: usize) -> Option<usize> {
    if a.len().abs_diff(b.len()) > most {
        return None;
    }
    Some(strsim::osa_distance(a, b)).filter(|distance| *distance <= most)
}

#[cfg(test)]
mod tests {
    use super::key;

    #[test]
    fn hybrid_signs_do_not_count() {
        assert_eq!(key("Hoya × tuafanua"), "hoya tuafanua");
        assert_eq!(key("×Agropogon littoralis"), "agropogon littoralis");
        assert_eq!(
            key("Polypodium vulgare nothosubsp. mantoniae"),
            "polypodium vulgare subsp. mantoniae"
        );
        assert_eq!(key("Nothofagus antarctica"), "nothofagus antarctica");
    }
}

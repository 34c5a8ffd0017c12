//! Messy lists of any length with known truth, to measure and test bringing in.

use crate::rng::Rng;

/// One row of a generated list, as it should be understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TrueRow {
    /// Row in the text, the header being row 1.
    pub row: usize,
    /// The name in normal form.
    pub name: String,
    /// The keeper it came from.
    pub source: String,
    /// When it came, as EDTF; `None` where the cell is empty.
    pub acquired: Option<String>,
    /// As what it came: `cutting`, `rooted_cutting`, `plant`, `seed`, `division`.
    pub received_as: &'static str,
    /// Price in hundredths of a pound; `None` where none is given.
    pub pence: Option<u32>,
    /// Pot width \[mm\].
    pub pot_mm: u32,
    /// The place.
    pub place: &'static str,
}

/// A list as text, and what it says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MessyList {
    /// Comma-separated, quoted where needed, UTF-8.
    pub text: String,
    /// What each row says, in order.
    pub truth: Vec<TrueRow>,
}

const GENERA: [&str; 4] = ["Begonia", "Aeschynanthus", "Streptocarpus", "Dischidia"];
const FIRST: [&str; 24] = [
    "Amber", "Borrowed", "Chalk", "Drowsy", "Eastern", "Folded", "Gravel", "Hollow", "Inland",
    "Jasper", "Kindly", "Linen", "Muddy", "Nettle", "Oblong", "Paper", "Quiet", "Rusty", "Salted",
    "Tidal", "Upper", "Velvet", "Wicker", "Yellow",
];
const SECOND: [&str; 24] = [
    "Almanac", "Bellows", "Causeway", "Drawer", "Elbow", "Ferry", "Gable", "Hinge", "Inkwell",
    "Jetty", "Kettle", "Ladder", "Mitten", "Notice", "Orchard", "Parapet", "Quarry", "Rudder",
    "Saucer", "Thimble", "Urn", "Valley", "Whistle", "Yard",
];
const KEEPERS: [&str; 8] = [
    "Orla Sedgewater",
    "Bertil Myrhage",
    "Tamsin Cray",
    "Marsh End Plants",
    "Jolanthe Kiebitz",
    "swap at Low Quay",
    "Udo Heckenroth",
    "Fen Cottage Nursery",
];
const PLACES: [&str; 5] = ["kitchen sill", "landing", "cabinet", "bench", "cold room"];
const RECEIVED: [(&str, &str); 7] = [
    ("cutting", "cutting"),
    ("cut.", "cutting"),
    ("rooted cutting", "rooted_cutting"),
    ("plant", "plant"),
    ("seed", "seed"),
    ("division", "division"),
    ("unrooted cutting", "cutting"),
];
const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// A list of `rows` rows with the mess of real ones: several ways to write names, quotes, dates,
/// prices and pots. Days above 12 occur, so that the order of day and month can be told from the
/// file (day first).
#[must_use]
pub fn messy_list(rows: usize, seed: u64) -> MessyList {
    let mut rng = Rng::stream(seed, "messy list");
    let mut text = String::from("Plant,From,When,As,Price,Pot,Where,Notes\n");
    let mut truth = Vec::with_capacity(rows);
    for i in 0..rows {
        let genus = rng.pick(&GENERA);
        let epithet = format!("{} {}", rng.pick(&FIRST), rng.pick(&SECOND));
        let keeper = rng.pick(&KEEPERS);
        let (when, acquired) = date(&mut rng);
        let (typed_as, received_as) = rng.pick(&RECEIVED);
        let pence = rng.chance(0.6).then(|| rng.range(4, 60) as u32 * 25);
        let pot = rng.range(5, 15) as u32;
        let place = rng.pick(&PLACES);
        let note = if rng.chance(0.2) { "weak when it came, better now" } else { "" };
        let cells = [
            name(&mut rng, genus, &epithet),
            keeper.to_owned(),
            when,
            typed_as.to_owned(),
            pence.map(|p| price(&mut rng, p)).unwrap_or_default(),
            rng.pick(&[format!("{pot} cm"), format!("{pot}cm")].each_ref()).clone(),
            place.to_owned(),
            note.to_owned(),
        ];
        text.push_str(&cells.map(|c| cell(&c)).join(","));
        text.push('\n');
        truth.push(TrueRow {
            row: i + 2,
            name: format!("{genus} '{epithet}'"),
            source: keeper.to_owned(),
            acquired,
            received_as,
            pence,
            pot_mm: pot * 10,
            place,
        });
    }
    MessyList { text, truth }
}

fn cell(text: &str) -> String {
    if text.contains([',', '"', '\n']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

fn name(rng: &mut Rng, genus: &str, epithet: &str) -> String {
    match rng.range(0, 5) {
        0 => format!("{genus} ‘{epithet}’"),
        1 => format!("{genus} \"{epithet}\""),
        2 => format!("{} '{epithet}'", genus.to_lowercase()),
        3 => format!("{genus}  '{epithet}' "),
        _ => format!("{genus} '{epithet}'"),
    }
}

fn date(rng: &mut Rng) -> (String, Option<String>) {
    let (y, m, d) = (rng.range(2015, 2024), rng.range(1, 12), rng.range(1, 28));
    match rng.range(0, 6) {
        0 => (String::new(), None),
        1 => (format!("{y}"), Some(format!("{y}"))),
        2 => (format!("{} {y}", MONTHS[(m - 1) as usize]), Some(format!("{y}-{m:02}"))),
        3 => (format!("{y}-{m:02}-{d:02}"), Some(format!("{y}-{m:02}-{d:02}"))),
        4 => (format!("spring {y}"), Some(format!("{y}-21"))),
        _ => (format!("{d:02}/{m:02}/{y}"), Some(format!("{y}-{m:02}-{d:02}"))),
    }
}

fn price(rng: &mut Rng, pence: u32) -> String {
    let (pounds, rest) = (pence / 100, pence % 100);
    match rng.range(0, 2) {
        0 => format!("£{pounds}.{rest:02}"),
        1 => format!("{pounds}.{rest:02} GBP"),
        _ => format!("£ {pounds}.{rest:02}"),
    }
}

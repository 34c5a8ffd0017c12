//! A record and a hand to test with.

use answers::Hand;
use jiff::civil::Date;
use journal::Journal;
use texts::Lang;

pub fn open() -> (tempfile::TempDir, Journal) {
    let folder = tempfile::tempdir().unwrap();
    let (journal, _) = Journal::open(folder.path().join("collection.umbel")).unwrap();
    (folder, journal)
}

pub fn hand() -> Hand {
    Hand {
        who: "Ines".to_owned(),
        device: "bench".to_owned(),
        now: "2025-11-21T18:00:00Z".parse().unwrap(),
        today: Date::constant(2025, 11, 21),
        lang: Lang::En,
        op: None,
    }
}

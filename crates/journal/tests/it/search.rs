//! Finding plants, and whole filtered sets.

use journal::{Known, PlantFilter, PlantSort};
use serde_json::json;

use crate::house::{act, agrees, day, keeper, map, open, place, plant};

/// A search shows some hits, but acts on a filtered set must reach every plant of it.
#[test]
fn a_filter_by_words_has_all_its_plants_and_not_only_those_a_search_shows() {
    let (_folder, journal) = open();
    let mut d = crate::house::draft("add", "many");
    for i in 0..6_100 {
        let clone = d.create(journal::SubjectKind::Clone, None);
        let plant = d.create(journal::SubjectKind::Plant, None);
        d.claim(clone, "name", json!({"text": format!("Begonia {}", 6_100 - i)}));
        d.claim(plant, "clone", json!(clone.to_string()));
    }
    journal.write(&d.finish()).unwrap();
    let filter = PlantFilter { words: Some("begon".to_owned()), ..PlantFilter::default() };
    let (page, numbers, found) = journal
        .read(|r| {
            Ok((
                r.plants(&filter, PlantSort::Number, 6_000, 50)?,
                r.plant_numbers(&filter)?,
                r.search("begon")?,
            ))
        })
        .unwrap();
    assert_eq!((page.total, page.rows.len(), page.rows[0].number), (6_100, 50, 6_001));
    assert_eq!(numbers.len(), 6_100);
    assert_eq!((found.total, found.plants.len()), (6_100, 2_000));
    let shown = journal.read(|r| r.plant_by_id(found.plants[0])).unwrap().unwrap();
    assert_eq!(shown.name, "Begonia 1", "in order of name");
    let none = PlantFilter { words: Some("zzzzzzzz".to_owned()), ..PlantFilter::default() };
    assert!(journal.read(|r| r.plant_numbers(&none)).unwrap().is_empty());
}

#[test]
fn a_number_or_a_code_brings_its_plant_first_and_the_dead_come_last() {
    let (_folder, journal) = open();
    let tansy = keeper(&journal, "Tansy Wray");
    let sill = place(&journal, "kitchen sill");
    let first = plant(&journal, "Begonia zebrina", tansy, sill);
    plant(&journal, "Begonia bowerae 1", tansy, sill);
    let gone = plant(&journal, "Begonia acida", tansy, sill);
    act(&journal, "log", |d| {
        d.entry(gone.plant, "lost", day("2025-01-03"), Known::Seen, map(json!({})), None);
    });
    let numbers = |words: &str| {
        journal
            .read(|r| {
                let mut out = Vec::new();
                for id in r.search(words)?.plants {
                    out.push(r.plant_by_id(id)?.map_or(0, |p| p.number));
                }
                Ok(out)
            })
            .unwrap()
    };
    assert_eq!(numbers("1"), [1, 2]);
    assert_eq!(numbers("begonia"), [2, 1, 3]);
    let code = journal.read(|r| r.plant_by_uid(first.plant)).unwrap().unwrap().code;
    assert_eq!(numbers(&code.to_lowercase()), [1]);
    assert_eq!(numbers(&format!("begonia {code}")), [1]);
    assert_eq!(numbers("begonia 4"), [0; 0], "numbers are not read as others that are near");
    assert_eq!(numbers("2"), [2]);
}

#[test]
fn words_are_found_however_they_are_typed() {
    let (_folder, journal) = open();
    let tansy = keeper(&journal, "Jürgen Őry-Łąka");
    let sill = place(&journal, "Küche 'Süd'");
    plant(&journal, "Begonia × ricinifolia", tansy, sill);
    let cases = [
        ("kuche", 1),
        ("KÜCHE", 1),
        ("Ku\u{308}che", 1),
        ("jurgen", 1),
        ("ory", 1),
        ("Őry", 1),
        ("ricin", 1),
        ("ricinifolai", 1),
        ("× ricinifolia", 1),
        ("ricinifolia küche", 1),
        ("\"ricinifolia\"", 1),
        ("ricinifolia AND", 0),
        ("*", 0),
        ("", 0),
        ("'; DROP TABLE plant", 0),
        ("begonia NOT ricinifolia", 0),
        ("ri", 1),
        ("xy", 0),
    ];
    for (words, expected) in cases {
        let found = journal.read(|r| r.search(words)).unwrap();
        assert_eq!(found.total, expected, "{words:?}: {found:?}");
    }
    agrees(&journal);
}

//! Files as a whole: refused ones, questions and their answers, reading twice, speed, rubbish.

use std::{collections::BTreeMap, time::Instant};

use intake::{Answers, Ask, Limits, Options, ReadError, RelationKind, understand};
use proptest::prelude::*;

use crate::measure::data;

fn shelf() -> intake::Understood {
    let bytes = std::fs::read(data().join("shelf-list.csv")).expect("the list");
    understand(&bytes, "shelf-list.csv", &Options::default()).expect("readable")
}

fn answers(pairs: &[(&str, &str)]) -> Answers {
    pairs.iter().map(|(k, v)| ((*k).to_owned(), (*v).to_owned())).collect()
}

#[test]
fn refused_files_say_why_and_what_next() {
    let options = Options::default();
    let read = |bytes: &[u8], name: &str| understand(bytes, name, &options).unwrap_err();
    let noise: Vec<u8> =
        (0..4000u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
    assert!(matches!(read(&noise, "noise.csv"), ReadError::Encoding { .. }));
    let mut locked = vec![0xD0, 0xCF, 0x11, 0xE0, 0xA1, 0xB1, 0x1A, 0xE1];
    locked.extend("EncryptedPackage".encode_utf16().flat_map(u16::to_le_bytes));
    assert!(matches!(read(&locked, "locked.xlsx"), ReadError::Password { .. }));
    assert!(matches!(read(b"PK\x03\x04 broken", "broken.xlsx"), ReadError::Damaged { .. }));
    assert!(matches!(read(b" \n\n", "empty.csv"), ReadError::Empty { .. }));
    let cabinet = std::fs::read(data().join("cabinet.xlsx")).expect("the workbook");
    let macros = understand(&cabinet, "cabinet.xlsm", &options).unwrap_err();
    assert!(matches!(macros, ReadError::Macros { .. }));
    let small = Options {
        limits: Limits { text_bytes: 10, archive_bytes: 10, archive_entries: 100 },
        ..Options::default()
    };
    for (bytes, name) in
        [(&b"name,from\nBegonia rex,me\n"[..], "long.csv"), (&cabinet, "cabinet.xlsx")]
    {
        let error = understand(bytes, name, &small).unwrap_err();
        assert!(matches!(error, ReadError::TooLarge { .. }), "{error}");
        assert!(error.to_string().contains(name) && error.to_string().contains("Next:"));
    }
}

#[test]
fn one_answer_settles_all_its_rows() {
    let before = shelf();
    let ids: Vec<&str> = before.questions.iter().map(|q| q.id.as_str()).collect();
    for id in ["date_order", "currency:$", "keeper:Tansy W|Tansy W.", "plants:0:2|0:16"] {
        assert!(ids.contains(&id), "{id} among {ids:?}");
    }
    let order = before.questions.iter().find(|q| q.id == "date_order").expect("asked");
    assert!(matches!(&order.ask, Ask::DateOrder { example } if example == "12.3.2020"));
    assert_eq!(order.rows.len(), 3);
    let after = before.apply(&answers(&[
        ("date_order", "day_first"),
        ("currency:$", "CAD"),
        ("keeper:Tansy W|Tansy W.", "two"),
        ("plants:0:2|0:16", "two_plants"),
        ("name:B. 'Lantern Wether'", "Begonia 'Lantern Weather'"),
        ("genus:P. 'Salt Marsh'", "Peperomia"),
        ("date:30 Feb 2022", "2022-02"),
    ]));
    let row = |u: &intake::Understood, n: u32| {
        u.rows.iter().find(|r| r.row == n).expect("the row").clone()
    };
    assert_eq!(row(&after, 7).acquired.as_deref(), Some("2020-03-12"));
    assert_eq!(row(&after, 22).acquired.as_deref(), Some("2022-06-05"));
    assert_eq!(row(&after, 14).price.and_then(|p| p.currency).as_deref(), Some("CAD"));
    assert_eq!(row(&after, 16).source.as_deref(), Some("Tansy W."));
    assert!(row(&after, 16).relations.is_empty());
    assert_eq!(row(&after, 24).name.as_deref(), Some("Begonia 'Lantern Weather'"));
    assert_eq!(row(&after, 57).name.as_deref(), Some("Peperomia 'Salt Marsh'"));
    assert!(!row(&after, 57).needs_a_person);
    assert_eq!(row(&after, 68).acquired.as_deref(), Some("2022-02"));
    assert!(after.questions.len() + 7 <= before.questions.len() + 1);
}

#[test]
fn ties_between_rows() {
    let read = shelf();
    let at = |n: u32| read.rows.iter().position(|r| r.row == n).expect("the row");
    let tie = |n: u32| {
        read.rows[at(n)].relations.iter().map(|r| (r.kind, read.rows[r.to].row)).collect::<Vec<_>>()
    };
    assert_eq!(tie(16), [(RelationKind::Duplicate, 2)]);
    assert_eq!(tie(39), [(RelationKind::PossibleDuplicate, 38)]);
    assert_eq!(tie(26), [(RelationKind::SameClone, 3), (RelationKind::CompletedFrom, 3)]);
    assert_eq!(tie(18), [(RelationKind::ParentsFrom, 17)]);
}

#[test]
fn the_same_row_has_the_same_fingerprint_wherever_it_stands() {
    let list = "Plant,From\nBegonia rex,Orla\nBegonia rex,Orla\nBegonia listada,Dov\n";
    let other = "Plant,From\nBegonia  listada,dov\n\nBegonia rex,Orla\nBegonia rex, Orla\n";
    let prints = |text: &str| {
        let read = understand(text.as_bytes(), "a.csv", &Options::default()).expect("readable");
        let mut all: Vec<String> = read.rows.iter().map(|r| r.fingerprint.clone()).collect();
        all.sort();
        all
    };
    let first = prints(list);
    assert_eq!(first, prints(other));
    assert_eq!(first.iter().collect::<std::collections::BTreeSet<_>>().len(), 3);
}

#[test]
fn a_mapping_is_kept_and_can_be_changed() {
    let list = "A,B,C\nBegonia rex,Orla,sill\nBegonia listada,Dov,shelf\n";
    let read = understand(list.as_bytes(), "a.csv", &Options::default()).expect("readable");
    let mut mapping = read.mappings[0].clone();
    mapping.header_row = Some(1);
    mapping.header = vec!["A".into(), "B".into(), "C".into()];
    mapping.columns = vec![intake::Role::Name, intake::Role::Source, intake::Role::Place];
    let again = read.remap(vec![mapping.clone()]);
    assert_eq!(again.mappings[0], mapping);
    let first = &again.rows[0];
    assert_eq!(first.source.as_deref(), Some("Orla"));
    assert_eq!(first.place.as_deref(), Some("sill"));
    let json = serde_json::to_string(&mapping).expect("JSON");
    assert_eq!(serde_json::from_str::<intake::Mapping>(&json).expect("back"), mapping);
}

#[test]
fn every_line_is_either_a_row_or_skipped_with_a_reason() {
    for file in ["shelf-list.csv", "cabinet.xlsx", "stickers.txt", "lista.csv"] {
        let bytes = std::fs::read(data().join(file)).expect("the list");
        let read = understand(&bytes, file, &Options::default()).expect("readable");
        let mut lines: BTreeMap<Option<String>, Vec<u32>> = BTreeMap::new();
        for r in &read.rows {
            lines.entry(r.sheet.clone()).or_default().push(r.row);
        }
        for s in &read.skipped {
            assert!(!s.why.is_empty());
            lines.entry(s.sheet.clone()).or_default().push(s.row);
        }
        for (sheet, mut rows) in lines {
            rows.sort_unstable();
            let all: Vec<u32> = (1..=*rows.last().expect("rows")).collect();
            assert_eq!(rows, all, "{file} {sheet:?}");
        }
    }
}

#[test]
fn ten_thousand_rows() {
    let mut text = String::from("Plant,From,When,Notes,Pot,Where\n");
    for i in 0..10_000 {
        text.push_str(&format!(
            "B. 'Lantern {} {}',Keeper {},{}/{}/2021,cutting of the one above,9cm,shelf {}\n",
            ["Moth", "Hill", "Coat", "Bell"][i % 4],
            i / 8,
            i % 300,
            i % 12 + 1,
            i % 28 + 1,
            i % 40
        ));
    }
    let start = Instant::now();
    let read = understand(text.as_bytes(), "big.csv", &Options::default()).expect("readable");
    let seconds = start.elapsed().as_secs_f64();
    println!("10,000 rows in {seconds:.2} s");
    assert_eq!(read.rows.len(), 10_000);
    // Without optimisation, on a machine that does other work: this only catches a
    // comparison of all pairs, which would take minutes. It is no benchmark.
    assert!(seconds < 60.0, "{seconds} s");
}

/// A word that begins with a letter of two bytes was cut inside that letter, and the whole list was
/// lost with it.
#[test]
fn a_word_may_begin_with_an_accented_letter() {
    for text in ["name\nÙÌ\n", "name\nÉcarlate d'automne\n", "name\nÖstliche Begonie\n"] {
        let read = understand(text.as_bytes(), "a.csv", &Options::default()).unwrap();
        assert!(read.rows.len() + read.skipped.len() > 0, "{text}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn bytes_never_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let _ = understand(&bytes, "a.csv", &Options::default());
        let _ = understand(&bytes, "a.txt", &Options::default());
    }

    #[test]
    fn words_of_lists_never_panic(text in "([A-Za-zäéñ'’\"„“«» .,;:/()\\[\\]×x?†§£$€0-9-]{0,24}[,;\t\n]){0,30}") {
        if let Ok(read) = understand(text.as_bytes(), "a.csv", &Options::default()) {
            let filled = text.lines().filter(|l| l.chars().any(char::is_alphanumeric)).count();
            prop_assert!(read.rows.len() + read.skipped.len() >= usize::from(filled > 0));
        }
        let _ = understand(text.as_bytes(), "a.txt", &Options::default());
    }

    #[test]
    fn damaged_workbooks_never_panic(at in 0usize..9000, byte in any::<u8>()) {
        let mut bytes = std::fs::read(data().join("cabinet.xlsx")).expect("the workbook");
        let at = at % bytes.len();
        bytes[at] = byte;
        let _ = understand(&bytes, "cabinet.xlsx", &Options::default());
    }
}

#[test]
fn rows_met_in_other_lists() {
    let list = "Plant,From,When,Remarks\n\
        \"Begonia \"\"Fern Street\"\" x self\",me,2022,\n\
        x Achimenantha 'Inferno Two',Bo,2020,rhizome\n\
        Kohleria 'Red Ink'/'Red Inc',Bo,2022,\n\
        Columnea (cf.) gloriosa,Bo,2022,\n\
        Strep. gardenii hybrid,Bo,2022,purple\n\
        Aesch. 'Rope Trick',Bo,2021,gave a cutting to Lou\n\
        Streptocarpus rexii,seed from Hild,2020,\"4 up, all died\"\n\
        Columnea gloriosa,Bo,2019,nearly died in 2018\n\
        Begonia hatacoa,Bo,2019,lost its label\n";
    let read = understand(list.as_bytes(), "odd.csv", &Options::default()).expect("readable");
    let said: Vec<String> = read
        .rows
        .iter()
        .map(|r| {
            let ask = if r.needs_a_person { " ?" } else { "" };
            format!(
                "{}{ask} {} {}",
                r.name.as_deref().unwrap_or("-"),
                r.received_as.as_deref().unwrap_or("-"),
                r.state
            )
        })
        .collect();
    assert_eq!(
        said,
        [
            "Begonia seedling alive",
            "×Achimenantha 'Inferno Two' division alive",
            "Kohleria ? - alive",
            "Columnea ? - alive",
            "Streptocarpus - alive",
            "Aeschynanthus 'Rope Trick' - alive",
            "Streptocarpus rexii seed dead",
            "Columnea gloriosa - alive",
            "Begonia hatacoa - alive",
        ]
    );
    assert_eq!(read.rows[0].seed_parent.as_deref(), Some("Begonia 'Fern Street'"));
    assert_eq!(read.rows[0].pollen_parent.as_deref(), Some("Begonia 'Fern Street'"));
}

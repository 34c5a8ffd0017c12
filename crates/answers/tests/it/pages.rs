//! What pages say: names, parents, kinship, clones, statements.

use answers::{acts, kinship_words, plant_page};
use journal::SubjectKind;

use crate::house::{hand, open};

fn named(name: &str, seed: &str, pollen: &str) -> acts::NewPlant {
    acts::NewPlant {
        name: Some(name.to_owned()),
        seed: acts::ParentInput::read(seed),
        pollen: acts::ParentInput::read(pollen),
        ..acts::NewPlant::default()
    }
}

#[test]
fn parents_are_told_as_they_are_known() {
    let (_folder, journal) = open();
    let hand = hand();
    let plants = [
        named("Begonia 'Wet Slate'", "Begonia bowerae", "Begonia masoniana"),
        named("Begonia 'Copper Lorry'", "1", "unknown"),
        named("Begonia 'Silt Choir'", "2", "Begonia rex or Begonia listada"),
        named("Begonia rex", "", ""),
    ];
    for plant in &plants {
        acts::add_plant(&journal, &hand, plant).unwrap();
    }
    let page = journal.read(|r| Ok(plant_page(r, 3, &hand))).unwrap().unwrap();
    let parentage = page.parentage.unwrap();
    let shares: Vec<(String, String)> =
        parentage.shares.iter().map(|s| (s.name.plain.clone(), s.fraction.clone())).collect();
    // Half from an unknown one of two, a quarter from bees, an eighth from each species.
    assert_eq!(
        shares,
        [
            ("B. bowerae".to_owned(), "1/8".to_owned()),
            ("B. masoniana".to_owned(), "1/8".to_owned()),
            ("not recorded".to_owned(), "3/4".to_owned()),
        ]
    );
    assert_eq!(page.plant.parents, "Begonia 'Copper Lorry' × Begonia rex or Begonia listada");
    let bare = journal.read(|r| Ok(plant_page(r, 4, &hand))).unwrap().unwrap();
    assert_eq!(bare.parentage, None);
    assert_eq!(bare.children.len(), 0, "one of two is no parent yet");
}

#[test]
fn kinship_and_clones() {
    let (_folder, journal) = open();
    let hand = hand();
    for name in ["Begonia 'A1'", "Begonia 'B1'"] {
        acts::add_plant(&journal, &hand, &named(name, "Begonia bowerae", "Begonia rex")).unwrap();
    }
    let kinship = |a: i64, b: i64| {
        journal
            .read(|r| {
                let page = |n| plant_page(r, n, &hand).unwrap().clone.uid;
                Ok(kinship_words(r, page(a), page(b), hand.texts()).unwrap())
            })
            .unwrap()
    };
    let (k, words, gaps) = kinship(1, 2);
    // Full sibs of unrelated parents: 1/4, exactly.
    assert!((k - 0.25).abs() < 1e-12);
    assert_eq!((words.as_str(), gaps), ("full sibs", false));
    acts::join_clones(&journal, &hand, 2, 1, Some("leaves alike")).unwrap();
    let (k, words, _) = kinship(1, 2);
    assert!((k - 0.5).abs() < 1e-12);
    assert_eq!(words, "the same clone");
    let page = journal.read(|r| Ok(plant_page(r, 2, &hand))).unwrap().unwrap();
    assert_eq!((page.plant.name.as_str(), page.clone.pieces), ("Begonia 'A1'", 2));
    acts::split_clone(&journal, &hand, 2, None).unwrap();
    let page = journal.read(|r| Ok(plant_page(r, 2, &hand))).unwrap().unwrap();
    assert_eq!(page.clone.pieces, 1);
}

#[test]
fn a_plant_that_is_its_own_parent_is_refused() {
    let (_folder, journal) = open();
    let hand = hand();
    acts::add_plant(&journal, &hand, &named("Begonia 'Wet Slate'", "", "")).unwrap();
    let before = journal.projection_text().unwrap();
    let own = acts::ParentInput::Plant(1);
    let error = acts::set_parents(&journal, &hand, 1, &own, &acts::ParentInput::Unknown, None);
    let words = error.unwrap_err().to_string();
    assert!(words.contains("Wet Slate"), "{words}");
    assert_eq!(before, journal.projection_text().unwrap());
}

#[test]
fn what_others_said_is_kept_apart_and_a_question_is_answered() {
    let (_folder, journal) = open();
    let hand = hand();
    acts::add_plant(&journal, &hand, &named("Begonia 'Wet Slate'", "", "")).unwrap();
    acts::add_question(
        &journal,
        &hand,
        SubjectKind::Plant,
        1,
        "Which was the mother?",
        Some("Orla Brunn"),
    )
    .unwrap();
    let page = journal.read(|r| Ok(plant_page(r, 1, &hand))).unwrap().unwrap();
    let question = &page.questions[0];
    assert_eq!((question.keeper.as_str(), question.answered), ("Orla Brunn", false));
    let input = acts::StatementInput {
        text: "bowerae carried the pod".to_owned(),
        said_by: "Orla Brunn".to_owned(),
        medium: "video".to_owned(),
        address: "example.org/talk".to_owned(),
        spot: "minute 12".to_owned(),
        said_on: "spring 2021".to_owned(),
        trust: "probable".to_owned(),
        answers: Some(question.uid),
    };
    acts::add_statement(&journal, &hand, SubjectKind::Plant, 1, &input).unwrap();
    let page = journal.read(|r| Ok(plant_page(r, 1, &hand))).unwrap().unwrap();
    assert!(page.questions[0].answered);
    assert_eq!(page.statements[0].said_on, "spring 2021");
    assert_eq!(page.statements[0].row.said_by, "Orla Brunn");
    assert_eq!(page.entries, 0, "a statement is no entry");
}

#[test]
fn seedlings_are_numbered_on_within_their_cross() {
    let (_folder, journal) = open();
    let hand = hand();
    acts::add_plant(&journal, &hand, &named("Streptocarpus 'Wet Sleeve'", "", "")).unwrap();
    acts::add_plant(&journal, &hand, &named("Streptocarpus rexii", "", "")).unwrap();
    let new = acts::NewPollination {
        seed_plant: 1,
        pollen: acts::ParentInput::Plant(2),
        flowers: Some(3),
        when: "2025-04-02".to_owned(),
        ..acts::NewPollination::default()
    };
    let (_, cross) = acts::pollinate(&journal, &hand, &new).unwrap();
    let (_, again) = acts::pollinate(&journal, &hand, &new).unwrap();
    assert_eq!(cross, again, "the same two parents are the same cross");
    let (_, first) =
        acts::prick_out(&journal, &hand, cross, 2, "2025-08-01", Some("bench")).unwrap();
    let (_, more) = acts::prick_out(&journal, &hand, cross, 1, "2025-08-09", None).unwrap();
    assert_eq!((first.len(), more.len()), (2, 1));
    let page = journal.read(|r| Ok(plant_page(r, more[0], &hand))).unwrap().unwrap();
    assert_eq!(page.name.plain, format!("Streptocarpus {cross}-3"));
    assert_eq!(page.plant.parents, "Streptocarpus 'Wet Sleeve' × Streptocarpus rexii");
}

#[test]
fn odd_dates_are_asked_about_and_impossible_ones_refused() {
    let (_folder, journal) = open();
    let hand = hand();
    let new = acts::NewPlant {
        came: Some(dates::Edtf::parse("2024-05-07").unwrap()),
        ..named("Begonia rex", "", "")
    };
    acts::add_plant(&journal, &hand, &new).unwrap();
    let log = |when: &str, confirmed: bool| {
        let input = acts::EntryInput {
            kind: "watered".to_owned(),
            when: when.to_owned(),
            confirmed,
            ..acts::EntryInput::default()
        };
        acts::log(&journal, &hand, &[acts::Target::Plant(1)], &input)
    };
    assert!(matches!(log("2023-05-07", false), Err(answers::AskError::Odd(_))));
    assert!(log("2023-05-07", true).is_ok());
    assert!(log("2026-05-07", true).is_err(), "the journal holds what has happened");
    assert!(log("2025-02-30", true).is_err());
}

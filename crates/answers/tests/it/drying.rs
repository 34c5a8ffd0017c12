//! How long a pot takes to dry: a small record by hand, a round, and a simulated house whose truth is
//! known.

use answers::{
    Answer, AskError, Basis, Hand,
    acts::{self, EntryInput, NewPlant, Round, Target},
    ask, say,
    water::{Water, Wish, drying_of},
};
use jiff::civil::Date;
use journal::{Journal, Known};
use serde_json::{Map, json};

use crate::house::{hand, open};

fn answer(journal: &Journal, plant: i64, hand: &Hand) -> Answer {
    journal.read(|r| Ok(ask(r, "drying", plant, hand))).unwrap().unwrap()
}

fn plant(journal: &Journal, hand: &Hand, name: &str, place: &str) {
    let new = NewPlant {
        name: Some(name.to_owned()),
        came: Some(dates::Edtf::parse("2024-03").unwrap()),
        place: Some(place.to_owned()),
        ..NewPlant::default()
    };
    acts::add_plant(journal, hand, &new).unwrap();
}

fn entry(journal: &Journal, hand: &Hand, kind: &str, when: &str, found: Option<&str>) {
    let mut detail = Map::new();
    if let Some(found) = found {
        detail.insert("found".to_owned(), json!(found));
    }
    let input = EntryInput {
        kind: kind.to_owned(),
        when: when.to_owned(),
        known: Known::Seen,
        detail,
        ..EntryInput::default()
    };
    acts::log(journal, hand, &[Target::Plant(1)], &input).unwrap();
}

#[test]
fn watering_alone_teaches_nothing_and_looks_do() {
    let (_folder, journal) = open();
    let hand = hand();
    plant(&journal, &hand, "Peperomia caperata", "sill");
    for day in ["2025-05-01", "2025-05-06", "2025-05-12", "2025-05-18"] {
        entry(&journal, &hand, "watered", day, None);
    }
    let a = answer(&journal, 1, &hand);
    // Nothing but what is held of pots in general, and it says so; its interval is wide.
    assert_eq!((&a.basis, a.evidence.records), (&Basis::CommonPractice, 0));
    let usually = a.usually.clone().unwrap();
    assert!(usually.upper.unwrap() > 2.0 * usually.lower.unwrap(), "{usually:?}");
    assert!(say(&a, &hand).basis.contains("Common practice"), "{}", say(&a, &hand).basis);
    // Three dryings between looks: (4, 6], (5, 7], (4, 6].
    for (moist, dry) in
        [("2025-05-22", "2025-05-24"), ("2025-05-29", "2025-05-31"), ("2025-06-04", "2025-06-06")]
    {
        entry(&journal, &hand, "checked", moist, Some("moist"));
        entry(&journal, &hand, "watered", dry, Some("dry"));
    }
    let a = answer(&journal, 1, &hand);
    assert_eq!(a.basis, Basis::LearntHere);
    assert_eq!(a.evidence.records, 3);
    let usually = a.usually.unwrap();
    let middle = usually.value.unwrap();
    // Three dryings of four to seven days against a prior of six: near where they overlap.
    assert!((4.5..=6.3).contains(&middle), "{middle}");
    assert!(usually.upper.unwrap() < 1.8 * usually.lower.unwrap(), "narrower than before");
}

/// What should have happened is not said to be coming, and after a long silence nothing is.
#[test]
fn what_is_overdue_is_called_so() {
    let (_folder, journal) = open();
    let hand = hand();
    plant(&journal, &hand, "Peperomia caperata", "sill");
    let first = Date::constant(2025, 8, 1);
    for i in 0..20 {
        let watered = first + jiff::Span::new().days(5 * i);
        entry(&journal, &hand, "watered", &watered.to_string(), Some("dry"));
    }
    // Last watered on 4 November; always dry within five days.
    let later = |day: i8| Hand { today: Date::constant(2025, 11, day), ..hand.clone() };
    let soon = answer(&journal, 1, &later(5)).next.unwrap();
    assert_eq!(soon.frame, "*next:* dry {value}");
    let overdue = answer(&journal, 1, &later(21)).next.unwrap();
    assert_eq!(overdue.frame, "*next:* very likely dry already, {value}");
    let december = Hand { today: Date::constant(2025, 12, 20), ..hand.clone() };
    let silent = answer(&journal, 1, &december).next.unwrap();
    assert_eq!((silent.day, silent.to), (None, None));
}

#[test]
fn a_plant_that_waits_until_bone_dry_is_asked_for_that() {
    let (_folder, journal) = open();
    let hand = hand();
    plant(&journal, &hand, "Peperomia caperata", "sill");
    entry(&journal, &hand, "watered", "2025-05-01", None);
    for (dry, bone) in
        [("2025-05-05", "2025-05-09"), ("2025-05-13", "2025-05-18"), ("2025-05-22", "2025-05-26")]
    {
        entry(&journal, &hand, "checked", dry, Some("dry"));
        entry(&journal, &hand, "watered", bone, Some("bone_dry"));
    }
    let before = answer(&journal, 1, &hand).usually.unwrap().value.unwrap();
    acts::set_wish(&journal, &hand, 1, Wish::BoneDry).unwrap();
    let after = answer(&journal, 1, &hand).usually.unwrap().value.unwrap();
    assert!(before < 5.0 && after > 1.3 * before, "{before} and {after}");
}

#[test]
fn a_round_is_a_look_at_every_plant_of_the_place() {
    let (_folder, journal) = open();
    let hand = hand();
    for name in ["Peperomia caperata", "Begonia bowerae", "Begonia maculata", "Dischidia ovata"] {
        plant(&journal, &hand, name, "north shelf");
    }
    plant(&journal, &hand, "Aeschynanthus radicans", "sill");
    let round = |when: &str, still_wet: &[i64]| Round {
        place: 1,
        when: when.to_owned(),
        still_wet: still_wet.to_vec(),
        limp: vec![3],
        left_out: vec![4],
        feed: "half strength".to_owned(),
        ..Round::default()
    };
    let days = ["2025-05-02", "2025-05-06", "2025-05-09", "2025-05-13", "2025-05-16"];
    for (i, day) in days.iter().enumerate() {
        // Plant 1 is still wet every second time.
        let wet: &[i64] = if i % 2 == 1 { &[1] } else { &[] };
        let logged = acts::round(&journal, &hand, &round(day, wet)).unwrap();
        assert_eq!(logged.entries, 3);
    }
    let (first, third, fourth, other) = journal
        .read(|r| {
            let count = |n: i64| {
                let id = r.plant(n)?.unwrap().id;
                r.entries_of_kinds(id, &["watered", "checked"])
            };
            Ok((count(1)?, count(3)?, count(4)?, count(5)?))
        })
        .unwrap();
    assert_eq!(first.iter().filter(|e| e.kind == "watered").count(), 3);
    assert_eq!(first.iter().filter(|e| e.kind == "checked").count(), 2);
    assert!(third.iter().all(|e| e.detail["limp"] == json!(true)));
    assert_eq!((fourth.len(), other.len()), (0, 0));
    // Plant 2 was dry in four days each time; plant 1 took from four to seven.
    let quick = answer(&journal, 2, &hand);
    assert_eq!((quick.evidence.records, quick.evidence.between_looks), (4, 4));
    let slow = answer(&journal, 1, &hand);
    assert_eq!((slow.evidence.records, &slow.basis), (2, &Basis::LearntHere));
    let value = |a: &Answer| a.usually.as_ref().unwrap().value.unwrap();
    assert!(value(&slow) > value(&quick), "{} and {}", value(&slow), value(&quick));
}

#[test]
fn a_round_names_only_plants_of_its_place() {
    let (_folder, journal) = open();
    let hand = hand();
    plant(&journal, &hand, "Begonia bowerae", "north shelf");
    plant(&journal, &hand, "Begonia maculata", "sill");
    let wrong = Round { place: 1, still_wet: vec![2], ..Round::default() };
    let refused = acts::round(&journal, &hand, &wrong).unwrap_err();
    assert!(matches!(&refused, AskError::Field { value, .. } if value == "2"), "{refused}");
    let both = Round { place: 1, limp: vec![1], left_out: vec![1], ..Round::default() };
    assert!(acts::round(&journal, &hand, &both).is_err());
    let nowhere = Round { place: 9, ..Round::default() };
    assert!(matches!(acts::round(&journal, &hand, &nowhere), Err(AskError::NotThere { .. })));
    let none = Round { place: 1, left_out: vec![1], ..Round::default() };
    assert!(acts::round(&journal, &hand, &none).is_err());
    let entries = journal.read(|r| r.latest_entries(50)).unwrap();
    assert!(entries.iter().all(|e| e.kind != "watered"), "nothing was written");
}

#[test]
fn the_drying_of_a_simulated_house_is_found_again() {
    let (_folder, journal) = open();
    let today = Date::constant(2025, 11, 21);
    trial::write_demo(&journal, today).unwrap();
    let truth = trial::demo(today).truth;
    let hand = Hand { today, ..hand() };
    let water = journal.read(|r| Ok(Water::read(r, &hand))).unwrap().unwrap();
    // Three weeks before the solstice pots dry more slowly than at the equinoxes.
    let season = 1.0
        + trial::SAME_WINTER
            * (std::f64::consts::TAU * (f64::from(today.day_of_year()) - 15.0) / 365.25).cos();
    let (mut inside, mut asked) = (0, 0);
    for p in truth.plants.iter().filter(|p| p.followed && p.state == "alive") {
        let a = drying_of(&water, water.plant(p.number).unwrap(), &hand);
        let (Basis::LearntHere, Some(usually)) = (&a.basis, a.usually) else { continue };
        if a.evidence.records < 20 {
            continue;
        }
        asked += 1;
        let value = usually.value.unwrap();
        if (value / (p.dry_days * season)).ln().abs() < 0.35 {
            inside += 1;
        }
    }
    assert!(asked >= 10, "only {asked} plants have enough looks");
    assert!(inside * 10 >= asked * 9, "{inside} of {asked}");
}

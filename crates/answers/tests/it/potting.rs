//! Potting on whole records: when roots fill a pot, what is due, and what to prepare.

use answers::{
    Answer, Basis, Hand,
    acts::{self, EntryInput, NewPlant, Target},
    ask,
    due::due,
    potting::{self, MixInput},
    say,
};
use journal::Journal;
use serde_json::{Value, json};

use crate::house::{hand, open};

fn answer(journal: &Journal, plant: i64, hand: &Hand) -> Answer {
    journal.read(|r| Ok(ask(r, "repot", plant, hand))).unwrap().unwrap()
}

fn entry(journal: &Journal, hand: &Hand, plant: i64, kind: &str, when: &str, detail: &Value) {
    let input = EntryInput {
        kind: kind.to_owned(),
        when: when.to_owned(),
        detail: detail.as_object().cloned().unwrap(),
        confirmed: true,
        ..EntryInput::default()
    };
    acts::log(journal, hand, &[Target::Plant(plant)], &input).unwrap();
}

fn plants(journal: &Journal, hand: &Hand, n: usize) {
    for _ in 0..n {
        let new = NewPlant {
            name: Some("Streptocarpus rexii".to_owned()),
            came: Some(dates::Edtf::parse("2022-03").unwrap()),
            place: Some("sill".to_owned()),
            ..NewPlant::default()
        };
        acts::add_plant(journal, hand, &new).unwrap();
    }
}

#[test]
fn the_default_stands_until_roots_are_looked_at() {
    let (_folder, journal) = open();
    let hand = hand();
    plants(&journal, &hand, 9);
    assert!(answer(&journal, 1, &hand).not_enough.is_some(), "never potted");
    let pot = json!({"pot": "9 cm", "mix": {"bark": 2, "coir": 1}});
    for plant in 1..=9 {
        entry(&journal, &hand, plant, "potted", "2025-03-01", &pot);
    }
    let default = answer(&journal, 1, &hand);
    assert_eq!(default.basis, Basis::CommonPractice);
    let value = |a: &Answer| a.usually.as_ref().unwrap().value.unwrap();
    // Gesneriads: 15 months by common practice; 3 % for the grid of the scale.
    assert!((value(&default) / 15.0 - 1.0).abs() < 0.03, "{}", value(&default));
    // Eight pots were full after half a year.
    for plant in 2..=9 {
        entry(&journal, &hand, plant, "checked_roots", "2025-07-01", &json!({"roots": "at_wall"}));
        entry(&journal, &hand, plant, "checked_roots", "2025-09-01", &json!({"roots": "circling"}));
    }
    let learnt = answer(&journal, 1, &hand);
    assert_eq!(learnt.basis, Basis::Borrowed { from: "gesneriads".to_owned() });
    assert_eq!((learnt.evidence.records, learnt.evidence.plants), (8, 8));
    // They filled between months 4 and 6; the default draws it up a little.
    assert!((4.0..7.5).contains(&value(&learnt)), "{}", value(&learnt));
    assert!(say(&learnt, &hand).next_text().contains("probably full already"));
    let seen = answer(&journal, 2, &hand);
    assert!(say(&seen, &hand).next_text().contains("circled"), "{}", say(&seen, &hand).next_text());
}

#[test]
fn what_is_due_has_a_reason_and_waits_for_the_flower() {
    let (_folder, journal) = open();
    let hand = hand();
    plants(&journal, &hand, 3);
    let pot = json!({"pot": "10 cm"});
    entry(&journal, &hand, 1, "potted", "2022-04-01", &pot);
    entry(&journal, &hand, 2, "potted", "2022-04-01", &pot);
    entry(&journal, &hand, 3, "potted", "2025-10-01", &pot);
    entry(&journal, &hand, 2, "bud_seen", "2025-11-15", &json!({}));
    let lines = journal.read(|r| Ok(potting::to_pot(r, &hand))).unwrap().unwrap();
    let numbers: Vec<(i64, bool)> = lines.iter().map(|l| (l.plant, l.in_flower)).collect();
    assert_eq!(numbers, [(1, false), (2, true)], "the third was potted last month");
    // 1.75 times the volume of a pot of 10 cm: 10 · 1.75^(1/3) = 12.05, to the half 12.
    assert_eq!(lines[0].next_pot, Some(12.0));
    let due = |journal: &Journal| journal.read(|r| Ok(due(r, &hand))).unwrap().unwrap();
    let found = due(&journal);
    assert_eq!(found.iter().filter(|l| l.key == "repot").count(), 1, "{found:?}");
    assert!(found[0].text.contains("Look at the roots of {}"), "{}", found[0].text);
    let reason = &found[0].reason;
    assert!(reason.contains("44 months") && reason.contains('%'), "{reason}");
    // Done by its own act, with what was seen, it turns into repotting.
    let done = &found[0].done[0];
    entry(&journal, &hand, 1, done.kind, "2025-11-20", &Value::Object(done.detail.clone()));
    let found = due(&journal);
    assert!(found[0].text.contains("Repot {} into about 12 cm"), "{}", found[0].text);
    let done = &found[0].done[0];
    entry(&journal, &hand, 1, done.kind, "2025-11-21", &Value::Object(done.detail.clone()));
    assert!(due(&journal).iter().all(|l| l.about.number != 1));
}

/// 50 pots of 0.6 L with 15 % of shrinkage: 35.3 L loose; 4 bark, 3 perlite, 2 coir, 1 charcoal are
/// 14.1, 10.6, 7.1 and 3.5 L. Worked by hand.
#[test]
fn a_plan_agrees_with_its_worked_example() {
    let (_folder, journal) = open();
    let hand = hand();
    plants(&journal, &hand, 50);
    acts::keep_material(&journal, &hand, None, "Bark", "10 EUR for 50 L").unwrap();
    let input = MixInput {
        plants: (1..=50).collect(),
        mix: "bark 4, perlite 3, coir 2, charcoal 1".to_owned(),
        pot: "0.6 L".to_owned(),
        ..MixInput::default()
    };
    let plan = |input: &MixInput| journal.read(|r| Ok(potting::plan(r, input, &hand))).unwrap();
    let found = plan(&input).unwrap();
    assert!((found.loose.value - 35.29).abs() < 0.01, "{:?}", found.loose);
    // From 10 to 20 %.
    assert!((found.loose.lower - 33.33).abs() < 0.01 && (found.loose.upper - 37.5).abs() < 0.01);
    let litres: Vec<f64> = found.parts.iter().map(|p| (10.0 * p.litres).round() / 10.0).collect();
    assert_eq!(litres, [14.1, 10.6, 7.1, 3.5]);
    // 14.12 L at 0.2 EUR, for 50 plants; three materials have no price.
    assert_eq!((found.parts[0].cost.as_str(), found.cost_each.as_str()), ("2.82 EUR", "0.06 EUR"));
    assert_eq!(found.no_price, ["charcoal", "coir", "perlite"]);
    assert!(found.held_words.contains("charcoal"), "{}", found.held_words);
    let error = plan(&MixInput { mix: String::new(), ..input.clone() }).unwrap_err().to_string();
    assert!(error.contains("no mix recorded"), "{error}");
    let error = plan(&MixInput { pot: String::new(), ..input }).unwrap_err().to_string();
    assert!(error.contains("no pot recorded"), "{error}");
}

#[test]
fn a_larger_pot_dries_in_proportion_and_a_long_wait_is_said() {
    let (_folder, journal) = open();
    let hand = hand();
    plants(&journal, &hand, 1);
    entry(&journal, &hand, 1, "potted", "2025-01-01", &json!({"pot": "10 cm", "mix": {"bark": 1}}));
    for (moist, dry) in [("01", "02"), ("10", "11"), ("19", "20"), ("28", "29")] {
        let look = |day: &str, kind: &str, found: &str| {
            entry(&journal, &hand, 1, kind, &format!("2025-10-{day}"), &json!({"found": found}));
        };
        look(moist, "checked", "moist");
        look(dry, "watered", "dry");
    }
    let plan = |pot: &str| {
        let input = MixInput { plants: vec![1], pot: pot.to_owned(), ..MixInput::default() };
        journal.read(|r| Ok(potting::plan(r, &input, &hand))).unwrap().unwrap().pots.remove(0)
    };
    let next = plan("");
    let (dries, then) = (next.dries.unwrap(), next.will_dry.unwrap());
    // Three dryings of nine days; 12 cm against 10 is 1.728 times the volume.
    assert!((8.0..=9.0).contains(&dries), "{next:?}");
    assert!((then / dries - 1.728).abs() < 1e-6, "{next:?}");
    assert!(next.note.contains("rots easily"), "{}", next.note);
    let same = plan("10 cm");
    assert!((same.will_dry.unwrap() - dries).abs() < 1e-9 && !same.note.contains("rots"));
}

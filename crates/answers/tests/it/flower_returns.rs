//! When it flowers again, in which months, and what is likely in flower: small records by hand.

use answers::{
    Answer, Basis, Hand, acts, ask,
    flowers::{Flowers, Rests, likely, likely_in_flower},
    say,
};
use jiff::civil::Date;
use journal::{Journal, Known};

use crate::house::{hand, open};

fn answer(journal: &Journal, key: &str, plant: i64, hand: &Hand) -> Answer {
    journal.read(|r| Ok(ask(r, key, plant, hand))).unwrap().unwrap()
}

fn plant(journal: &Journal, hand: &Hand, name: &str) {
    let new = acts::NewPlant {
        name: Some(name.to_owned()),
        came: Some(dates::Edtf::parse("2022-03").unwrap()),
        ..acts::NewPlant::default()
    };
    acts::add_plant(journal, hand, &new).unwrap();
}

fn entry(journal: &Journal, hand: &Hand, target: acts::Target, kind: &str, when: &str) {
    let input = acts::EntryInput {
        kind: kind.to_owned(),
        when: when.to_owned(),
        known: Known::Seen,
        ..acts::EntryInput::default()
    };
    acts::log(journal, hand, &[target], &input).unwrap();
}

fn peduncle(plant: i64, part: i64) -> acts::Target {
    acts::Target::Part(plant, Some(part), "umbel".to_owned())
}

/// Umbels of a week on one peduncle, every 60 days.
fn every_sixty_days(journal: &Journal, hand: &Hand) {
    plant(journal, hand, "Dischidia 'Sill Lantern'");
    for (from, to) in [
        ("2025-03-01", "2025-03-08"),
        ("2025-04-30", "2025-05-07"),
        ("2025-06-29", "2025-07-06"),
        ("2025-08-28", "2025-09-04"),
        ("2025-10-27", "2025-11-03"),
    ] {
        entry(journal, hand, peduncle(1, 1), "opened", from);
        entry(journal, hand, peduncle(1, 1), "ended", to);
    }
}

#[test]
fn a_peduncle_that_flowers_every_sixty_days_flowers_at_the_end_of_the_year() {
    let (_folder, journal) = open();
    let hand = hand();
    every_sixty_days(&journal, &hand);
    let a = answer(&journal, "flowers_again", 1, &hand);
    assert_eq!(a.basis, Basis::LearntHere);
    assert_eq!((a.evidence.records, a.evidence.open), (5, 1));
    let e = a.usually.as_ref().unwrap();
    assert!((e.value.unwrap() / 60.0).ln().abs() < 0.1, "{e:?}");
    let next = a.next.as_ref().unwrap();
    let day = i64::from(dates::to_days(Date::constant(2025, 12, 26)));
    assert!((next.day.unwrap() - day).abs() <= 5, "{next:?} against {day}");
    assert!(next.from.unwrap() <= day && day <= next.to.unwrap(), "{next:?}");
    assert!(say(&a, &hand).head_text().starts_with("A peduncle usually flowers again after"));
}

#[test]
fn two_flowerings_are_not_enough_to_say_when_again() {
    let (_folder, journal) = open();
    let hand = hand();
    plant(&journal, &hand, "Dischidia 'Sill Lantern'");
    entry(&journal, &hand, peduncle(1, 1), "opened", "2025-03-01");
    entry(&journal, &hand, peduncle(1, 1), "opened", "2025-06-01");
    let a = answer(&journal, "flowers_again", 1, &hand);
    assert_eq!(a.not_enough.as_ref().map(|n| (n.have, n.need)), Some((2, 3)));
    assert_eq!(a.usually, None);
    assert_eq!(say(&a, &hand).head_text(), "When it flowers again: not enough yet");
    // A bud is something to go by all the same: two weeks, by common practice.
    entry(&journal, &hand, peduncle(1, 1), "bud_seen", "2025-11-21");
    let next = answer(&journal, "flowers_again", 1, &hand).next.unwrap();
    let day = i64::from(dates::to_days(Date::constant(2025, 12, 5)));
    assert!((next.day.unwrap() - day).abs() <= 1, "{next:?} against {day}");
}

#[test]
fn months_count_only_years_in_which_somebody_wrote() {
    let (_folder, journal) = open();
    let hand = hand();
    plant(&journal, &hand, "Begonia 'Marsh Lantern'");
    let own = || acts::Target::Plant(1);
    for year in [2023, 2024, 2025] {
        entry(&journal, &hand, own(), "opened", &format!("{year}-05-10"));
        entry(&journal, &hand, own(), "ended", &format!("{year}-05-20"));
        entry(&journal, &hand, own(), "watered", &format!("{year}-10-05"));
    }
    let a = answer(&journal, "flower_months", 1, &hand);
    let said = say(&a, &hand);
    assert!(said.head_text().contains("in May"), "{}", said.head_text());
    // Three of three: the middle of Beta(3.5, 0.5) is 0.933, by a plain sum over 400,000 points.
    let e = a.usually.unwrap();
    assert!((e.value.unwrap() - 93.26).abs() < 0.01 && e.upper.unwrap() < 100.0, "{e:?}");
    let unseen = a.gaps.iter().find(|g| g.text.contains("nothing was ever written")).unwrap();
    // March 2022 is when it came; May and October were looked at.
    assert_eq!(unseen.n, 9);
    let few = answer(&journal, "flowers_again", 1, &hand);
    // Gaps of a year, twice.
    assert!((few.usually.unwrap().value.unwrap() / 365.0).ln().abs() < 0.25);
}

#[test]
fn one_year_names_no_month() {
    let (_folder, journal) = open();
    let hand = hand();
    plant(&journal, &hand, "Begonia 'Marsh Lantern'");
    entry(&journal, &hand, acts::Target::Plant(1), "opened", "2025-05-10");
    let a = answer(&journal, "flower_months", 1, &hand);
    assert_eq!(a.not_enough.as_ref().map(|n| (n.have, n.need)), Some((1, 2)));
    assert_eq!(say(&a, &hand).head_text(), "When it is in flower: not enough yet");
}

#[test]
fn what_is_likely_in_flower_is_listed_with_the_likeliest_first() {
    let (_folder, journal) = open();
    let hand = hand();
    every_sixty_days(&journal, &hand);
    plant(&journal, &hand, "Begonia 'Marsh Lantern'");
    for year in [2023, 2024, 2025] {
        entry(&journal, &hand, acts::Target::Plant(2), "opened", &format!("{year}-05-10"));
        entry(&journal, &hand, acts::Target::Plant(2), "ended", &format!("{year}-05-20"));
    }
    plant(&journal, &hand, "Peperomia caperata");
    let day = |m: i8, d: i8| i64::from(dates::to_days(Date::constant(2025, m, d)));
    let ask =
        |from, to| journal.read(|r| Ok(likely_in_flower(r, &hand, from, to))).unwrap().unwrap();
    let list = ask(day(12, 15), day(12, 15) + 27);
    assert_eq!(list.iter().map(|l| l.plant).collect::<Vec<_>>(), [1, 2], "{list:?}");
    assert_eq!((list[0].rests, list[0].weeks.len()), (Rests::Gaps, 4));
    assert!(list[0].chance > 0.9 && list[1].chance < 0.2, "{list:?}");
    // The next umbel opens about 26 December: the second week, and hardly ever later than the fourth.
    assert!(list[0].weeks[1] > list[0].weeks[0] && list[0].weeks[1] > list[0].weeks[3], "{list:?}");
    // With itself it is in flower whenever it is; with the other hardly ever.
    let own = list[0].course.meets(&list[0].course);
    assert!(own.chance >= list[0].course.meets(&list[1].course).chance && own.days > 3.0);
    // The same seed, the same answer; and what is kept gives the same as what is read anew.
    assert_eq!(list, ask(day(12, 15), day(12, 15) + 27));
    let mut kept = Flowers::default();
    for _ in 0..2 {
        let again = journal
            .read(|r| {
                let plant = r.plant(1)?.unwrap();
                let grown = kept.of(r, &plant, &hand).unwrap();
                Ok(likely(r, &grown, &plant, day(12, 15), day(12, 15) + 27).unwrap())
            })
            .unwrap();
        assert_eq!(again.as_ref(), list.first());
    }
}

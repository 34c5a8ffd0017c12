//! How long a flower lasts: a small record by hand, and a simulated house whose truth is known.

use answers::{
    Answer, Basis, Hand, Mark, acts, ask,
    flowers::{Flowers, flower_life_of},
    say,
};
use jiff::civil::Date;
use journal::{Journal, Known};

use crate::house::{hand, open};

fn answer(journal: &Journal, plant: i64, hand: &Hand) -> Answer {
    journal.read(|r| Ok(ask(r, "flower_life", plant, hand))).unwrap().unwrap()
}

fn entry(journal: &Journal, hand: &Hand, part: i64, kind: &str, when: &str, how: Option<&str>) {
    let mut detail = serde_json::Map::new();
    if let Some(how) = how {
        detail.insert("how".to_owned(), how.into());
    }
    let input = acts::EntryInput {
        kind: kind.to_owned(),
        when: when.to_owned(),
        known: Known::Seen,
        detail,
        ..acts::EntryInput::default()
    };
    let target = acts::Target::Part(1, Some(part), "flower".to_owned());
    acts::log(journal, hand, &[target], &input).unwrap();
}

fn streptocarpus(journal: &Journal, hand: &Hand) {
    let new = acts::NewPlant {
        name: Some("Streptocarpus 'Rain Ledger'".to_owned()),
        came: Some(dates::Edtf::parse("2024-03").unwrap()),
        ..acts::NewPlant::default()
    };
    acts::add_plant(journal, hand, &new).unwrap();
}

#[test]
fn without_any_flower_the_answer_says_what_to_record() {
    let (_folder, journal) = open();
    let hand = hand();
    streptocarpus(&journal, &hand);
    let a = answer(&journal, 1, &hand);
    assert_eq!(a.usually, None);
    assert_eq!(a.not_enough.as_ref().map(|n| (n.have, n.need)), Some((0, 3)));
    assert_eq!(a.evidence.marks.last(), Some(&Mark::Missing { count: 3 }));
    let said = say(&a, &hand);
    assert_eq!(said.head_text(), "How long a flower lasts: not enough yet");
    assert!(said.gaps.iter().any(|g| g.contains("3 are needed")), "{:?}", said.gaps);
}

#[test]
fn two_flowers_move_a_default_that_names_its_source() {
    let (_folder, journal) = open();
    let hand = hand();
    streptocarpus(&journal, &hand);
    for (part, from, to) in [(1, "2025-06-01", "2025-06-09"), (2, "2025-06-03", "2025-06-13")] {
        entry(&journal, &hand, part, "opened", from, None);
        entry(&journal, &hand, part, "ended", to, None);
    }
    let a = answer(&journal, 1, &hand);
    assert!(matches!(a.basis, Basis::Published { .. }), "{:?}", a.basis);
    assert_eq!(a.evidence.marks.last(), Some(&Mark::Missing { count: 1 }));
    // Seen were 8 and 10 days; the default is 13.4. By hand, with scale 0.2 and one umbel of 0.13,
    // both of which the fit holds near: data variance 0.04/2 + 0.13² = 0.037, prior variance
    // 0.4² + 0.2² = 0.2, mean (ln 8.94 · 27 + ln 13.4 · 5)/32 = ln 9.53.
    let e = a.usually.as_ref().unwrap();
    assert!((e.value.unwrap() / 9.53).ln().abs() < 0.08, "{e:?}");
    assert!(say(&a, &hand).basis.contains("Folia Hort."));
    assert!(!a.gaps.iter().any(|g| g.text.starts_with("Mostly the default")), "{:?}", a.gaps);
}

#[test]
fn cut_and_pollinated_flowers_count_as_at_least_so_long() {
    let (_folder, journal) = open();
    let hand = hand();
    streptocarpus(&journal, &hand);
    // Lives 8, 10, 12 seen, one cut after 4 and one still open after 20 days at the last look. All
    // opened on one day and are one umbel.
    let flowers = [
        (1, "2025-06-01", Some(("2025-06-09", None))),
        (2, "2025-06-01", Some(("2025-06-11", None))),
        (3, "2025-06-01", Some(("2025-06-13", None))),
        (4, "2025-06-01", Some(("2025-06-05", Some("cut")))),
        (5, "2025-06-01", None),
    ];
    for (part, opened, end) in flowers {
        entry(&journal, &hand, part, "opened", opened, None);
        match end {
            Some((day, how)) => entry(&journal, &hand, part, "ended", day, how),
            None => entry(&journal, &hand, part, "still_open", "2025-06-21", None),
        }
    }
    let a = answer(&journal, 1, &hand);
    assert_eq!(a.basis, Basis::LearntHere);
    assert_eq!((a.evidence.records, a.evidence.open), (5, 2));
    let value = a.usually.as_ref().and_then(|e| e.value).unwrap();
    // Dropping the one that is open would give 10 or less; taking it for ended at 20 more than 11.9.
    assert!((10.2..=13.0).contains(&value), "{value}");
    let level = a.usually.as_ref().unwrap().level;
    assert!((level - 0.8).abs() < 1e-12, "80 % unless another is named");
    // Nobody has looked for five months: it is not taken to be open.
    assert_eq!(a.next.unwrap().day, None);
}

#[test]
fn weekly_looks_make_intervals_and_never_a_midpoint() {
    let (_folder, journal) = open();
    let hand = hand();
    streptocarpus(&journal, &hand);
    for part in 1..=6 {
        entry(&journal, &hand, part, "opened", "2025-06-01", None);
        // Open on the 8th, gone on the 15th.
        entry(&journal, &hand, part, "ended", "2025-06-08/2025-06-15", None);
    }
    let a = answer(&journal, 1, &hand);
    let e = a.usually.unwrap();
    assert_eq!(a.evidence.between_looks, 6);
    // All that is known is that the lives lie between 7 and 14 days. Six midpoints would give 10.5
    // with an interval of a day; the looks leave several, and it was one umbel of many.
    let (low, high) = (e.lower.unwrap(), e.upper.unwrap());
    assert!(6.5 < low && high < 18.0 && high - low > 2.5, "{e:?}");
}

#[test]
fn an_open_flower_ends_after_the_last_look() {
    let (_folder, journal) = open();
    let hand = hand();
    streptocarpus(&journal, &hand);
    for (part, month) in [(1, "03"), (2, "04"), (3, "05"), (4, "06"), (5, "07"), (6, "08")] {
        entry(&journal, &hand, part, "opened", &format!("2025-{month}-02"), None);
        entry(&journal, &hand, part, "ended", &format!("2025-{month}-12"), None);
    }
    entry(&journal, &hand, 7, "opened", "2025-11-14", None);
    entry(&journal, &hand, 7, "still_open", "2025-11-20", None);
    let a = answer(&journal, 1, &hand);
    let day = |d: i8| i64::from(dates::to_days(Date::constant(2025, 11, d)));
    let next = a.next.as_ref().unwrap();
    // Ten days as before: the 24th, and not before the last look.
    assert!((next.day.unwrap() - day(24)).abs() <= 1, "{next:?}");
    assert!(next.from.unwrap() >= day(20) && next.to.unwrap() <= day(29), "{next:?}");
    assert!(say(&a, &hand).next_text().contains("the open flower ends"));
}

#[test]
fn other_pieces_and_other_clones_lend() {
    let (_folder, journal) = open();
    let hand = hand();
    streptocarpus(&journal, &hand);
    for month in 1..=9 {
        entry(&journal, &hand, month, "opened", &format!("2025-{month:02}-02"), None);
        entry(&journal, &hand, month, "ended", &format!("2025-{month:02}-22"), None);
    }
    let other = acts::NewPlant {
        name: Some("Streptocarpus 'Copper Ledger'".to_owned()),
        came: Some(dates::Edtf::parse("2025-03").unwrap()),
        ..acts::NewPlant::default()
    };
    acts::add_plant(&journal, &hand, &other).unwrap();
    let a = answer(&journal, 2, &hand);
    assert_eq!(a.basis, Basis::Borrowed { from: "Streptocarpus".to_owned() });
    let (own, lent) = (answer(&journal, 1, &hand).usually.unwrap(), a.usually.unwrap());
    let width = |e: &answers::Estimate| (e.upper.unwrap() / e.lower.unwrap()).ln();
    // The other clone may differ, as clones do: wider, and nearer to the default.
    assert!(width(&lent) > 2.0 * width(&own), "{lent:?} {own:?}");
    assert!(lent.value.unwrap() < own.value.unwrap() && lent.value.unwrap() > 13.4, "{lent:?}");
}

#[test]
fn the_truth_of_a_simulated_house_is_recovered() {
    let (_folder, journal) = open();
    let today = Date::constant(2025, 11, 21);
    trial::write_demo(&journal, today).unwrap();
    let truth = trial::demo(today).truth;
    let hand = Hand { today, ..hand() };
    let mut kept = Flowers::default();
    let (mut asked, mut covered) = (0, 0);
    let mut ratios: Vec<f64> = Vec::new();
    // Every other clone: each has a fit of its own.
    for clone in truth.clones.iter().filter(|c| !c.genus.is_empty()).step_by(2) {
        let Some(plant) = truth.plants.iter().find(|p| p.clone == clone.uid) else { continue };
        let ended = truth.flowers.iter().filter(|f| f.clone == clone.uid && !f.censored).count();
        if ended < 3 {
            continue;
        }
        let Some(row) = journal.read(|r| r.plant(plant.number)).unwrap() else { continue };
        let grown = journal.read(|r| Ok(kept.of(r, &row, &hand))).unwrap().unwrap();
        let a = flower_life_of(&grown, &row, &hand).unwrap();
        if !matches!(a.basis, Basis::LearntHere | Basis::LearntFromClone) {
            continue;
        }
        let Some(e) = a.usually else { continue };
        asked += 1;
        let (low, high) = (e.lower.unwrap_or(0.0), e.upper.unwrap_or(f64::INFINITY));
        // A life ends on the day that its whole days lead to: a day's rounding on either side.
        if low - 1.0 <= clone.flower_days && clone.flower_days <= high + 1.0 {
            covered += 1;
        }
        ratios.extend(e.value.map(|v| v / clone.flower_days));
    }
    assert!(asked >= 20, "only {asked} clones could be asked about");
    // 80 % intervals: with n clones the covered share lies above 0.8 − 4·sqrt(0.16/n).
    let share = f64::from(covered) / f64::from(asked);
    let least = 0.8 - 4.0 * (0.16 / f64::from(asked)).sqrt();
    assert!(share >= least, "{covered} of {asked} covered");
    ratios.sort_by(f64::total_cmp);
    let middle = ratios[ratios.len() / 2];
    assert!((0.85..=1.15).contains(&middle), "typical ratio of estimate to truth {middle}");
}

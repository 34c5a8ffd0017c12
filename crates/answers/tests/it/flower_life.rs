//! How long a flower lasts: a small record by hand, and a simulated house whose truth is known.

use answers::{Answer, Basis, Hand, Mark, acts, ask, say};
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
fn two_flowers_are_not_enough_and_the_answer_says_what_is() {
    let (_folder, journal) = open();
    let hand = hand();
    streptocarpus(&journal, &hand);
    for (part, from, to) in [(1, "2025-06-01", "2025-06-09"), (2, "2025-06-03", "2025-06-13")] {
        entry(&journal, &hand, part, "opened", from, None);
        entry(&journal, &hand, part, "ended", to, None);
    }
    let a = answer(&journal, 1, &hand);
    assert_eq!(a.usually, None);
    assert_eq!(a.not_enough.as_ref().map(|n| (n.have, n.need)), Some((2, 3)));
    assert_eq!(a.evidence.marks.last(), Some(&Mark::Missing { count: 1 }));
    let said = say(&a, &hand);
    assert_eq!(said.head_text(), "How long a flower lasts: not enough yet");
    assert!(said.gaps.iter().any(|g| g.contains("3 are needed")), "{:?}", said.gaps);
}

#[test]
fn cut_and_pollinated_flowers_count_as_at_least_so_long() {
    let (_folder, journal) = open();
    let hand = hand();
    streptocarpus(&journal, &hand);
    // By hand: lives 8, 10, 12 seen, one cut after 4 and one still open after 20 days at the last
    // look. Kaplan–Meier: S(8) = 3/4 of 4 at risk, S(10) = 1/2: the median is 10 to 12; the curve
    // reaches one half at 10 and the convention of the engine decides within that step.
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
    assert!((10.0..=12.0).contains(&value), "{value}");
    let level = a.usually.as_ref().unwrap().level;
    assert!((level - 0.8).abs() < 1e-12, "80 % unless another is named");
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
    // All that is known is that the life lies between 7 and 14 days.
    assert!(e.lower.unwrap() <= 7.0 + 1e-9 && e.upper.unwrap() >= 14.0 - 1e-9, "{e:?}");
}

#[test]
fn the_truth_of_a_simulated_house_is_recovered() {
    let (_folder, journal) = open();
    let today = Date::constant(2025, 11, 21);
    trial::write_demo(&journal, today).unwrap();
    let truth = trial::demo(today).truth;
    let hand = Hand { today, ..hand() };
    let (mut asked, mut covered) = (0, 0);
    let mut ratios: Vec<f64> = Vec::new();
    for clone in truth.clones.iter().filter(|c| !c.genus.is_empty()) {
        let Some(plant) = truth.plants.iter().find(|p| p.clone == clone.uid) else { continue };
        let ended = truth.flowers.iter().filter(|f| f.clone == clone.uid && !f.censored).count();
        if ended < 3 {
            continue;
        }
        if journal.read(|r| r.plant(plant.number)).unwrap().is_none() {
            continue;
        }
        let a = answer(&journal, plant.number, &hand);
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

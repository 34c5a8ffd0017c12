//! Keep lists beside a search of all of them.

use planning::{
    Ended, Kinship, Watch,
    keeping::{Candidate, KeepList, Room, Why, keep},
};
use proptest::prelude::*;

use crate::kinship::from_numbers;

fn plant(merit: f64) -> Candidate {
    Candidate { merit, places: 1, must: false }
}

fn kept(room: &Room<'_>) -> KeepList {
    keep(room, &mut Watch::new(Watch::USUAL)).unwrap()
}

/// The value of a list, if it fits.
fn value(room: &Room<'_>, set: u32) -> Option<f64> {
    let n = room.candidates.len();
    let is = |i: usize| set >> i & 1 == 1;
    let places: u32 = (0..n).filter(|i| is(*i)).map(|i| room.candidates[i].places).sum();
    if places > room.places || (0..n).any(|i| room.candidates[i].must && !is(i)) {
        return None;
    }
    let share = |i: usize| f64::from(room.candidates[i].places) / f64::from(room.places);
    let mut value = 0.0;
    for i in (0..n).filter(|i| is(*i)) {
        value += room.candidates[i].merit;
        for j in (0..n).filter(|j| is(*j)) {
            value -= room.weight * share(i) * share(j) * room.kinship.of(i, j);
        }
    }
    Some(value)
}

fn slowly(room: &Room<'_>) -> f64 {
    (0..1 << room.candidates.len())
        .filter_map(|set| value(room, set))
        .fold(f64::NEG_INFINITY, f64::max)
}

#[test]
fn reasons_for_six_seedlings() {
    // Three full sibs of high merit, a stranger of less, one not worth a place, one too large.
    let mut rows = vec![vec![0.0; 6]; 6];
    for (i, row) in rows.iter_mut().enumerate() {
        for (j, value) in row.iter_mut().enumerate() {
            *value = if i == j {
                0.5
            } else if i < 3 && j < 3 {
                0.25
            } else {
                0.0
            };
        }
    }
    let kinship = Kinship::from_rows(&rows).unwrap();
    let merits = [3.0, 2.9, 2.8, 2.0, -0.5, 9.0];
    let mut candidates = merits.map(plant);
    candidates[5].places = 4;
    let room = Room { candidates: &candidates, kinship: &kinship, places: 3, weight: 12.0 };
    let list = kept(&room);
    assert_eq!(list.kept(), [0, 1, 3]);
    let why = |i: usize| list.decisions[i].why;
    assert_eq!((why(0), why(1)), (Why::Merit, Why::Merit));
    assert_eq!(why(3), Why::Diversity { instead_of: 2 });
    assert_eq!(why(2), Why::Relatives { nearest: 0 });
    assert_eq!((why(4), why(5)), (Why::NotWorthAPlace, Why::TooLarge));
    assert_eq!(list.decisions[2].nearest, Some((0, 0.25)));
    assert_eq!((list.ended, list.gap()), (Ended::Proven, 0.0));
    // By merit alone the sibs stay, and the stranger finds no room.
    let plain = kept(&Room { weight: 0.0, ..room });
    assert_eq!(plain.kept(), [0, 1, 2]);
    assert_eq!(plain.decisions[3].why, Why::NoRoom);
    // What must stay stays.
    let mut asked = candidates;
    asked[4].must = true;
    let forced = kept(&Room { candidates: &asked, ..room });
    assert!(forced.decisions[4].kept && forced.decisions[4].why == Why::Asked);
    assert!(forced.decisions[4].worth < 0.0);
}

#[test]
fn nothing_worth_its_place_is_kept() {
    let kinship = Kinship::unrelated(3);
    let candidates = [plant(-1.0), plant(0.0), plant(-0.1)];
    let list = kept(&Room { candidates: &candidates, kinship: &kinship, places: 5, weight: 1.0 });
    assert!(list.kept().is_empty() && list.value == 0.0 && list.mean_kinship == 0.0);
    assert!(list.decisions.iter().all(|d| d.why == Why::NotWorthAPlace));
}

#[test]
fn what_cannot_be_kept_is_refused() {
    let kinship = Kinship::unrelated(2);
    let told = |candidates: &[Candidate], places, weight| {
        let room = Room { candidates, kinship: &kinship, places, weight };
        keep(&room, &mut Watch::new(1_000)).unwrap_err().to_string()
    };
    let two = [plant(1.0), plant(2.0)];
    assert!(told(&two[..1], 1, 0.0).contains("kinship of 2 for 1 plants"));
    assert!(told(&two, 0, 0.0).contains("0 places"));
    assert!(told(&two, 1, f64::NAN).contains("a weight of NaN"));
    assert!(told(&[two[0], plant(f64::INFINITY)], 1, 0.0).contains("plant 1 has a merit of inf"));
    let both = [Candidate { must: true, ..two[0] }; 2];
    assert!(told(&both, 1, 0.0).contains("more than the 1 places"));
    assert!(told(&[Candidate { places: 0, ..two[0] }; 2], 1, 0.0).contains("takes 0 places"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn lists_are_those_of_a_search_of_all(
        plants in prop::collection::vec((-1.0f64..3.0, 1u32..4, 0u32..10), 1..11),
        numbers in prop::collection::vec(0u32..10_000, 11),
        places in 2u32..9,
        weight in 0.0f64..30.0,
    ) {
        let candidates: Vec<Candidate> = plants
            .iter()
            .map(|(merit, places, luck)| Candidate { merit: *merit, places: *places, must: *luck == 0 })
            .collect();
        let kinship = from_numbers(&numbers[..plants.len()]);
        let room = Room { candidates: &candidates, kinship: &kinship, places, weight };
        let slow = slowly(&room);
        match keep(&room, &mut Watch::new(Watch::USUAL)) {
            Err(_) => prop_assert_eq!(slow, f64::NEG_INFINITY),
            Ok(list) => {
                prop_assert!((list.value - slow).abs() < 1e-8, "{} is not {}", list.value, slow);
                prop_assert_eq!(list.ended, Ended::Proven);
                let set: u32 = list.kept().iter().map(|i| 1 << i).sum();
                prop_assert!((value(&room, set).unwrap() - slow).abs() < 1e-8);
                for (i, decision) in list.decisions.iter().enumerate() {
                    let kept_reason =
                        matches!(decision.why, Why::Asked | Why::Merit | Why::Diversity { .. });
                    prop_assert_eq!(kept_reason, decision.kept);
                    // What is kept of free will is worth its place.
                    prop_assert!(!decision.kept || candidates[i].must || decision.worth >= -1e-8);
                }
            }
        }
    }
}

//! The log-rank test by permutation.

use proptest::prelude::*;
use stats::survival::{SurvivalError, Time, log_rank, log_rank_permutation};

use crate::near;

fn groups(records: &[(f64, bool, usize)], k: usize) -> Vec<Vec<Time>> {
    let time = |t: f64, seen: bool| if seen { Time::exact(t) } else { Time::open(t) };
    (0..k).map(|g| records.iter().filter(|r| r.2 == g).map(|r| time(r.0, r.1)).collect()).collect()
}

fn slices(groups: &[Vec<Time>]) -> Vec<&[Time]> {
    groups.iter().map(Vec::as_slice).collect()
}

fn check(records: &[(f64, bool, usize)], k: usize, chi_square: f64, hits: f64, all: u64) {
    let groups = groups(records, k);
    near(log_rank(&slices(&groups)).unwrap().unwrap().chi_square, chi_square, 1e-6, "chi square");
    let found = log_rank_permutation(&slices(&groups), 1).unwrap().unwrap();
    assert_eq!((found.exact, found.arrangements, found.se), (true, all, None));
    near(found.p, hits / all as f64, 1e-12, "p");
}

#[test]
fn four_and_four_cannot_do_better_than_two_in_seventy() {
    let records: Vec<_> = (0..8).map(|i| (f64::from(i) + 1.0, true, i as usize / 4)).collect();
    // The statistic and the count by R survival 3.5.3, survdiff on each arrangement.
    check(&records, 2, 7.344407, 2.0, 70);
}

#[test]
fn against_a_program_that_tests_each_arrangement() {
    // The first six of each group of Gehan's table; R survival 3.5.3 survdiff on all 924.
    let time = [1, 22, 3, 12, 8, 17, 10, 7, 32, 23, 22, 6];
    let records: Vec<_> = (0..12).map(|i| (f64::from(time[i]), i != 8, i / 6)).collect();
    check(&records, 2, 1.579472, 226.0, 924);
    // Three groups with ties, invented; survdiff on all 4200.
    let time = [3, 5, 5, 8, 4, 9, 12, 12, 7, 15];
    let group = [0, 0, 0, 0, 1, 1, 1, 2, 2, 2];
    let open = [3, 7, 9];
    let records: Vec<_> =
        (0..10).map(|i| (f64::from(time[i]), !open.contains(&i), group[i])).collect();
    check(&records, 3, 3.175461, 1182.0, 4200);
}

#[test]
fn many_arrangements_are_drawn_and_say_so() {
    let records: Vec<_> =
        (0..24).map(|i| (f64::from(i * 7 % 24) + 1.0, i % 5 != 0, i as usize % 2)).collect();
    let groups = groups(&records, 2);
    let found = log_rank_permutation(&slices(&groups), 1).unwrap().unwrap();
    let usual = log_rank(&slices(&groups)).unwrap().unwrap().p;
    assert_eq!((found.exact, found.arrangements), (false, 50_000));
    let se = found.se.unwrap();
    near(se, (found.p * (1.0 - found.p) / 50_000.0).sqrt(), 1e-12, "se");
    // The approximation is good to some hundredths at twelve and twelve.
    near(found.p, usual, 0.05, "chi-square");
    let other = log_rank_permutation(&slices(&groups), 2).unwrap().unwrap();
    assert!(other.p != found.p && (other.p - found.p).abs() < 4.0 * 2.0_f64.sqrt() * se);
    let turned: Vec<Vec<Time>> =
        groups.iter().rev().map(|g| g.iter().rev().copied().collect()).collect();
    assert_eq!(log_rank_permutation(&slices(&turned), 1).unwrap().unwrap(), found);
}

#[test]
fn where_there_is_no_test_or_no_need() {
    let open = [Time::open(3.0)];
    assert_eq!(log_rank_permutation(&[&open, &open], 1), Ok(None));
    let many = [Time::exact(1.0), Time::exact(2.0), Time::exact(3.0)].repeat(7);
    assert_eq!(log_rank_permutation(&[&many, &many], 1), Ok(None), "42 records");
    let vague = [Time::exact(1.0), Time::between(1.0, 2.0)];
    let refused = log_rank_permutation(&[&open, &vague], 1);
    assert_eq!(refused, Err(SurvivalError::IntervalRecord { row: 2 }));
}

/// Every way of putting records into two groups, by asking the test itself.
fn slow(times: &[Time], first: u32) -> impl Iterator<Item = f64> {
    (0u32..1 << times.len()).filter(move |set| set.count_ones() == first).map(|set| {
        let part = |inside: bool| -> Vec<Time> {
            let there = |i: &usize| (set >> i & 1 == 1) == inside;
            (0..times.len()).filter(there).map(|i| times[i]).collect()
        };
        let (a, b) = (part(true), part(false));
        log_rank(&[&a, &b]).unwrap().map_or(0.0, |t| t.chi_square)
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn as_by_enumeration_whatever_the_order_and_names(
        rows in prop::collection::vec((1u32..7, any::<bool>(), 0u32..3), 4..9),
        first in 1usize..4,
    ) {
        let times: Vec<Time> = rows.iter().map(|&(t, seen, entry)| {
            let time = if seen { Time::exact(t.into()) } else { Time::open(t.into()) };
            time.entered(if entry < t { entry.into() } else { 0.0 })
        }).collect();
        let (a, b) = times.split_at(first);
        let found = log_rank_permutation(&[a, b], 1).unwrap();
        if let Some(found) = found {
            let seen = log_rank(&[a, b]).unwrap().unwrap().chi_square;
            let all: Vec<f64> = slow(&times, first as u32).collect();
            let hits = all.iter().filter(|x| **x >= seen * (1.0 - 1e-9) - 1e-12).count();
            prop_assert_eq!(found.arrangements, all.len() as u64);
            prop_assert!((found.p - hits as f64 / all.len() as f64).abs() < 1e-12);
            let turned: Vec<Time> = a.iter().rev().copied().collect();
            prop_assert_eq!(log_rank_permutation(&[b, &turned], 1).unwrap(), Some(found));
        }
    }
}

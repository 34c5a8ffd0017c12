//! Choices beside a search of all of them.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod contributions;
mod crosses;
mod keeping;
mod kinship;

use planning::{
    PlanningError, matching,
    moves::{Choice, Standing, choose},
};

/// Numbers without order (a linear congruence after Knuth's MMIX, from memory).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, n: u64) -> u64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }

    fn costs(&mut self, rows: usize, columns: usize, sizes: u64) -> Vec<Vec<f64>> {
        (0..rows).map(|_| (0..columns).map(|_| self.below(sizes) as f64).collect()).collect()
    }
}

/// All ways to give each row a column of its own.
fn all_ways(rows: usize, columns: usize) -> Vec<Vec<usize>> {
    let mut ways = vec![Vec::new()];
    for _ in 0..rows {
        ways = ways
            .into_iter()
            .flat_map(|way: Vec<usize>| {
                (0..columns)
                    .filter(|c| !way.contains(c))
                    .map(|c| [way.as_slice(), &[c]].concat())
                    .collect::<Vec<_>>()
            })
            .collect();
    }
    ways
}

fn cost_of(s: &Standing<'_>, way: &[usize]) -> (f64, usize) {
    let moves = way.iter().zip(s.now).filter(|(a, b)| a != b).count();
    let cost: f64 = way.iter().enumerate().map(|(row, c)| s.costs[row][*c]).sum();
    (cost + s.each_move * moves as f64, moves)
}

fn slowly(s: &Standing<'_>) -> f64 {
    all_ways(s.now.len(), s.costs[0].len())
        .iter()
        .map(|way| cost_of(s, way))
        .filter(|(_, moves)| *moves <= s.limit)
        .map(|c| c.0)
        .fold(f64::INFINITY, f64::min)
}

#[test]
fn the_cheapest_matching_is_that_of_a_search_of_all() {
    let mut numbers = Numbers(1);
    for round in 0..300 {
        let (rows, columns) = (1 + round % 5, 5 + round % 3);
        let costs = numbers.costs(rows, columns, 20);
        let (to, cost) = matching::cheapest(&costs).unwrap();
        let slow = all_ways(rows, columns)
            .iter()
            .map(|w| w.iter().enumerate().map(|(r, c)| costs[r][*c]).sum::<f64>())
            .fold(f64::INFINITY, f64::min);
        // Whole numbers: exact.
        assert_eq!(cost, slow, "{costs:?}");
        let mut columns: Vec<usize> = to.clone();
        columns.sort_unstable();
        columns.dedup();
        assert_eq!(columns.len(), rows, "a column twice in {to:?}");
    }
}

#[test]
fn the_best_choice_within_a_limit_is_that_of_a_search_of_all() {
    let mut numbers = Numbers(2);
    let mut chains = 0;
    for round in 0..400 {
        let (rows, columns) = (2 + round % 4, 5 + round % 2);
        let costs = numbers.costs(rows, columns, if round % 2 == 0 { 5 } else { 40 });
        let mut now: Vec<usize> = (0..rows).collect();
        now.rotate_left(round % rows);
        for limit in 0..=rows {
            let each_move = if round % 3 == 0 { 1.5 } else { 0.0 };
            let s = Standing { costs: &costs, now: &now, each_move, limit };
            let found = choose(&s).unwrap();
            assert!(found.proven);
            assert!(found.moves <= limit, "{} moves, {limit} allowed", found.moves);
            let (cost, moves) = cost_of(&s, &found.to);
            assert_eq!(moves, found.moves);
            // Halves and whole numbers; the price of a move is taken out again, so rounding: 1e-9.
            assert!((cost - found.cost).abs() < 1e-9);
            assert!((cost - slowly(&s)).abs() < 1e-9, "{costs:?} {now:?} {limit}: {found:?}");
            chains += usize::from(limit > 1 && found.moves == limit && limit < rows);
        }
    }
    assert!(chains > 100, "hardly any limit was felt: {chains}");
}

/// A ring of three is worth something only whole: the price of a move leaps from none to three.
#[test]
fn a_ring_that_does_not_fit_is_not_begun() {
    let costs = vec![vec![5.0, 0.0, 20.0], vec![20.0, 5.0, 0.0], vec![0.0, 20.0, 5.0]];
    let with = |limit| {
        choose(&Standing { costs: &costs, now: &[0, 1, 2], each_move: 0.0, limit }).unwrap()
    };
    let still = |moves, cost, to: [usize; 3]| Choice { to: to.to_vec(), cost, moves, proven: true };
    for limit in 0..3 {
        assert_eq!(with(limit), still(0, 15.0, [0, 1, 2]));
    }
    assert_eq!((with(3).moves, with(3).to), (3, vec![1, 2, 0]));
}

#[test]
fn a_move_that_gains_less_than_it_costs_is_not_made() {
    let costs = vec![vec![3.0, 2.5]];
    let with = |each_move| {
        choose(&Standing { costs: &costs, now: &[0], each_move, limit: 1 }).unwrap().moves
    };
    assert_eq!((with(0.4), with(0.6)), (1, 0));
}

#[test]
fn forty_plants_on_eighty_spots_are_chosen_for_and_proven() {
    let mut numbers = Numbers(3);
    let costs = numbers.costs(40, 80, 1000);
    let now: Vec<usize> = (0..40).collect();
    let mut before = f64::INFINITY;
    for limit in [0, 1, 3, 6, 12] {
        let found = choose(&Standing { costs: &costs, now: &now, each_move: 0.0, limit }).unwrap();
        assert!(found.proven && found.moves <= limit);
        assert!(found.cost <= before, "more moves made it worse");
        before = found.cost;
    }
}

#[test]
fn costs_without_shape_are_refused() {
    let told = |costs: &[Vec<f64>], now: &[usize]| {
        choose(&Standing { costs, now, each_move: 0.0, limit: 1 }).unwrap_err().to_string()
    };
    assert!(told(&[vec![1.0, 2.0], vec![1.0]], &[0, 1]).contains("which is not there"));
    assert!(told(&[vec![1.0, 2.0], vec![1.0, 2.0]], &[0, 0]).contains("taken"));
    assert!(told(&[vec![1.0, f64::NAN]], &[0]).contains("not a number"));
    assert!(told(&[vec![1.0]], &[]).contains("say for each row where it is"));
    let forbidden = [vec![f64::INFINITY, 1.0], vec![f64::INFINITY, 1.0]];
    assert_eq!(matching::cheapest(&forbidden), Err(PlanningError::NoWay));
}

//! A better order from the one that is, with a limit on the number of moves.
//!
//! Without the limit this is a matching. The limit is priced: at a price λ for each move the
//! cheapest matching is found, and no choice with at most k moves can cost less than its cost less
//! λ k; the price is raised until the moves fit. Chains and rings of moves are worth something only
//! whole, so the price alone may leap over k. Then one row is made to stay and made to move, and
//! both are searched (branch and bound), until the best choice is proven or the search has grown
//! too large.

use crate::{PlanningError, matching};

/// How many part problems are searched before the best so far is given without proof.
pub const MOST_PARTS: usize = 4_000;

/// Who might go where.
#[derive(Debug, Clone, Copy)]
pub struct Standing<'a> {
    /// Cost of each row at each column; infinity forbids it.
    pub costs: &'a [Vec<f64>],
    /// The column at which each row is now, no two the same.
    pub now: &'a [usize],
    /// What a move itself costs \[0 or more\]: a move that gains less is not made.
    pub each_move: f64,
    /// No more moves than this.
    pub limit: usize,
}

/// A choice.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// The column of each row.
    pub to: Vec<usize>,
    /// Sum of the costs, with those of the moves.
    pub cost: f64,
    /// How many rows move.
    pub moves: usize,
    /// Whether no other choice within the limit costs less.
    pub proven: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fix {
    Free,
    Stays,
    Moves,
}

/// The best choice with no more moves than the limit.
///
/// # Errors
/// If the costs have no shape, a row is nowhere or where another is, staying is forbidden to a row,
/// or the cost of a move is negative.
pub fn choose(s: &Standing<'_>) -> Result<Choice, PlanningError> {
    check(s)?;
    let staying: f64 = s.now.iter().enumerate().map(|(row, at)| s.costs[row][*at]).sum();
    let mut best = Choice { to: s.now.to_vec(), cost: staying, moves: 0, proven: true };
    let mut waiting = vec![vec![Fix::Free; s.now.len()]];
    let mut parts = 0;
    while let Some(fixed) = waiting.pop() {
        parts += 1;
        if parts > MOST_PARTS {
            best.proven = false;
            break;
        }
        if fixed.iter().filter(|f| **f == Fix::Moves).count() > s.limit {
            continue;
        }
        let Some(part) = priced(s, &fixed) else { continue };
        // What differs by rounding only is no gain.
        let slack = 1e-9 * (1.0 + best.cost.abs());
        if part.found.moves <= s.limit && part.found.cost < best.cost - slack {
            best = Choice { proven: true, ..part.found };
        }
        if part.bound >= best.cost - slack {
            continue;
        }
        if let Some(row) = part.undecided {
            for fix in [Fix::Stays, Fix::Moves] {
                let mut next = fixed.clone();
                next[row] = fix;
                waiting.push(next);
            }
        }
    }
    Ok(best)
}

struct Part {
    /// A choice within the limit, if there is one.
    found: Choice,
    /// Nothing within the limit costs less.
    bound: f64,
    /// A row to decide on next; none when the part is solved.
    undecided: Option<usize>,
}

/// The cheapest choice at a price for each move beyond what a move costs.
fn at_price(s: &Standing<'_>, fixed: &[Fix], price: f64) -> Option<Choice> {
    let priced: Vec<Vec<f64>> = s
        .costs
        .iter()
        .enumerate()
        .map(|(row, costs)| {
            let one = |(column, cost): (usize, &f64)| match (fixed[row], column == s.now[row]) {
                (Fix::Moves, true) | (Fix::Stays, false) => f64::INFINITY,
                (_, true) => *cost,
                (_, false) => cost + s.each_move + price,
            };
            costs.iter().enumerate().map(one).collect()
        })
        .collect();
    let (to, cost) = matching::cheapest(&priced).ok()?;
    let moves = to.iter().zip(s.now).filter(|(a, b)| a != b).count();
    Some(Choice { to, cost: cost - price * moves as f64, moves, proven: false })
}

/// Bounds a part of the problem by the best price of a move; none when it has no choice at all.
fn priced(s: &Standing<'_>, fixed: &[Fix]) -> Option<Part> {
    let free = at_price(s, fixed, 0.0)?;
    if free.moves <= s.limit {
        let bound = free.cost;
        return Some(Part { found: free, bound, undecided: None });
    }
    // A price that no gain can outweigh leaves the fewest moves there can be.
    let span: f64 = s
        .costs
        .iter()
        .flatten()
        .filter(|c| c.is_finite())
        .fold(s.each_move, |most, c| most.max(c.abs()));
    let fewest = at_price(s, fixed, 4.0 * (span + 1.0) * s.now.len() as f64)?;
    if fewest.moves > s.limit {
        return None;
    }
    let (mut many, mut few) = (free, fewest);
    loop {
        let price = (few.cost - many.cost) / (many.moves - few.moves) as f64;
        let bound = many.cost + price * (many.moves as f64 - s.limit as f64);
        let next = at_price(s, fixed, price)?;
        let gained = many.cost + price * many.moves as f64 - next.cost - price * next.moves as f64;
        let between = next.moves > few.moves && next.moves < many.moves;
        if gained <= 1e-9 * (1.0 + bound.abs()) || !between {
            let undecided = undecided(s, fixed, &few, &many).filter(|_| few.moves < s.limit);
            let bound = if few.moves == s.limit { few.cost } else { bound };
            return Some(Part { found: few, bound, undecided });
        }
        if next.moves <= s.limit {
            few = next;
        } else {
            many = next;
        }
    }
}

/// A row that moves in one choice and stays in the other.
fn undecided(s: &Standing<'_>, fixed: &[Fix], few: &Choice, many: &Choice) -> Option<usize> {
    (0..s.now.len())
        .find(|row| {
            let stays = |choice: &Choice| choice.to[*row] == s.now[*row];
            fixed[*row] == Fix::Free && stays(few) && !stays(many)
        })
        .or_else(|| (0..s.now.len()).find(|row| fixed[*row] == Fix::Free))
}

fn check(s: &Standing<'_>) -> Result<(), PlanningError> {
    let shape = |what: String, next| Err(PlanningError::Shape { what, next });
    if s.now.len() != s.costs.len() {
        let what = format!("{} rows have {} places", s.costs.len(), s.now.len());
        return shape(what, "say for each row where it is");
    }
    if !(s.each_move.is_finite() && s.each_move >= 0.0) {
        let what = format!("a move costs {}", s.each_move);
        return shape(what, "give zero or more");
    }
    let mut seen = std::collections::BTreeSet::new();
    for (row, at) in s.now.iter().enumerate() {
        let cost = s.costs[row].get(*at);
        if !cost.is_some_and(|c| c.is_finite()) || !seen.insert(*at) {
            let what =
                format!("row {row} is at column {at}, which is not there, forbidden or taken");
            return shape(what, "give each row a column of its own that it may keep");
        }
    }
    matching::cheapest(s.costs).map(|_| ())
}

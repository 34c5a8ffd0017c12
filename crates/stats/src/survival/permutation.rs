//! The log-rank test by exchanging who belongs to which group: exact where groups are small.

use serde::Serialize;

use super::logrank::{log_rank, solve_form};
use super::time::{SurvivalError, Time};
use crate::random::Random;

/// The log-rank test by permutation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Permutation {
    /// Share of arrangements whose log-rank statistic is at least the one seen. When drawn, the one
    /// seen counts as one of them, so that it is never 0.
    pub p: f64,
    /// How many arrangements were looked at.
    pub arrangements: u64,
    /// Whether these are all there are; drawn at random otherwise.
    pub exact: bool,
    /// Standard error of `p` from the drawing; `None` when exact.
    pub se: Option<f64>,
}

/// Above so many records in all the chi-square approximation serves.
pub const PERMUTED_RECORDS: usize = 40;
/// Up to so many arrangements all are looked at.
const ALL: u64 = 200_000;
/// So many are drawn otherwise: at p = 0.05 the standard error is 0.001.
const DRAWN: u64 = 50_000;

/// The log-rank test by permutation: how often the statistic of [`log_rank`] would be as large if
/// the records, as they are, had fallen into groups of these sizes by chance. `None` where that
/// test is none, and with more than [`PERMUTED_RECORDS`] records.
///
/// Exact when entering and leaving unseen do not depend on the group. Since the statistic is
/// divided by its own variance in each arrangement, it holds roughly where they do (Neuhaus 1993,
/// Ann. Statist. 21:1760–1779; from memory). Above 200,000 arrangements 50,000 are drawn, from
/// `seed`.
///
/// # Errors
/// Impossible times, or a record between two looks.
pub fn log_rank_permutation(
    groups: &[&[Time]],
    seed: u64,
) -> Result<Option<Permutation>, SurvivalError> {
    let Some(_) = log_rank(groups)? else { return Ok(None) };
    let n: usize = groups.iter().map(|g| g.len()).sum();
    if n > PERMUTED_RECORDS {
        return Ok(None);
    }
    // Neither the order of the rows nor that of equally large groups may matter to what is drawn.
    let mut by_size: Vec<&[Time]> = groups.to_vec();
    by_size.sort_by_key(|g| g.len());
    let mut records: Vec<(Time, usize)> = by_size
        .iter()
        .enumerate()
        .flat_map(|(g, times)| times.iter().map(move |t| (*t, g)))
        .collect();
    let key = |t: &Time| (t.left.unwrap_or(0.0), t.is_open(), t.entry);
    records.sort_by(|(a, _), (b, _)| {
        let ((a, a_open, a_entry), (b, b_open, b_entry)) = (key(a), key(b));
        a.total_cmp(&b).then(a_open.cmp(&b_open)).then(a_entry.total_cmp(&b_entry))
    });
    let pool = Pool::new(records.iter().map(|r| r.0).collect(), groups.len());
    let seen: Vec<usize> = records.iter().map(|r| r.1).collect();
    let least = pool.statistic(&seen) * (1.0 - 1e-9) - 1e-12;
    let reached = |labels: &[usize]| pool.statistic(labels) >= least;
    let mut labels = seen;
    labels.sort_unstable();
    let sizes: Vec<usize> = by_size.iter().map(|g| g.len()).collect();
    let Some(all) = arrangements(&sizes) else {
        return Ok(Some(drawn(labels, seed, reached)));
    };
    let mut hits = u64::from(reached(&labels));
    while next(&mut labels) {
        hits += u64::from(reached(&labels));
    }
    let p = hits as f64 / all as f64;
    Ok(Some(Permutation { p, arrangements: all, exact: true, se: None }))
}

/// The share among drawn arrangements (with the one seen: Phipson & Smyth 2010, Stat. Appl. Genet.
/// Mol. Biol. 9:39; from memory).
fn drawn(mut labels: Vec<usize>, seed: u64, reached: impl Fn(&[usize]) -> bool) -> Permutation {
    let mut random = Random::new(seed);
    let mut hits = 0_u64;
    for _ in 0..DRAWN {
        for i in (1..labels.len()).rev() {
            labels.swap(i, random.below(i + 1));
        }
        hits += u64::from(reached(&labels));
    }
    let p = (hits + 1) as f64 / (DRAWN + 1) as f64;
    let se = Some((p * (1.0 - p) / DRAWN as f64).sqrt());
    Permutation { p, arrangements: DRAWN, exact: false, se }
}

/// In how many ways records fall into groups of these sizes; `None` above [`ALL`].
fn arrangements(sizes: &[usize]) -> Option<u64> {
    let (mut ways, mut n) = (1_u64, 0);
    for &size in sizes {
        for i in 1..=size as u64 {
            n += 1;
            // A product of binomials that grows one factor at a time stays whole.
            ways = ways.checked_mul(n)? / i;
            if ways > ALL {
                return None;
            }
        }
    }
    Some(ways)
}

/// The next arrangement in the order of the alphabet; false after the last.
fn next(labels: &mut [usize]) -> bool {
    let Some(i) = labels.windows(2).rposition(|w| w[0] < w[1]) else { return false };
    let Some(j) = labels.iter().rposition(|l| *l > labels[i]) else { return false };
    labels.swap(i, j);
    labels[i + 1..].reverse();
    true
}

/// All records without their groups: sets as bits, one for each record.
struct Pool {
    /// For each time of an event: who is at risk and who has the event.
    times: Vec<(u64, u64)>,
    groups: usize,
}

impl Pool {
    fn new(records: Vec<Time>, groups: usize) -> Self {
        let set = |which: &dyn Fn(&Time) -> bool| {
            let bits = records.iter().enumerate().filter(|(_, t)| which(t));
            bits.fold(0_u64, |set, (i, _)| set | 1 << i)
        };
        let mut events: Vec<f64> =
            records.iter().filter(|t| t.is_exact()).filter_map(|t| t.left).collect();
        events.dedup();
        let times = events.into_iter().map(|time| {
            let under =
                |t: &Time| t.left.is_some_and(|l| l >= time) && (t.entry == 0.0 || t.entry < time);
            (set(&under), set(&|t| t.is_exact() && t.left == Some(time)))
        });
        Pool { times: times.collect(), groups }
    }

    /// The log-rank statistic when record i belongs to group `labels[i]`.
    fn statistic(&self, labels: &[usize]) -> f64 {
        let k = self.groups - 1;
        let mut sets = vec![0_u64; k];
        for (i, &label) in labels.iter().enumerate().filter(|(_, l)| **l < k) {
            sets[label] |= 1 << i;
        }
        let (mut difference, mut variance) = (vec![0.0; k], vec![0.0; k * k]);
        let mut shares = vec![0.0; k];
        for &(at_risk, events) in &self.times {
            let (n, d) = (f64::from(at_risk.count_ones()), f64::from(events.count_ones()));
            let spread = if n > 1.0 { d * (n - d) / (n - 1.0) } else { 0.0 };
            for g in 0..k {
                shares[g] = f64::from((at_risk & sets[g]).count_ones()) / n;
                difference[g] += f64::from((events & sets[g]).count_ones()) - d * shares[g];
            }
            for g in 0..k {
                for h in 0..=g {
                    let same = if g == h { 1.0 } else { 0.0 };
                    variance[g * k + h] += spread * shares[g] * (same - shares[h]);
                }
            }
        }
        solve_form(&mut variance, &mut difference)
    }
}

//! Effects and their analysis of variance.

use std::collections::BTreeMap;

use super::{Diallel, DiallelError, Entry, General, Method, Pair, Source, cells::Cells};
use crate::special::beta_cdf;

/// Analyses a set of crosses.
///
/// Entries are means over their replicates, each counted once. The error of an entry's mean comes
/// from the replicates: within complete blocks where every record names one, else within entries.
/// With replicates of unequal number their harmonic mean stands for them, which is an
/// approximation.
///
/// # Errors
/// Records that cannot be used, entries that are missing or that the method does not have, blocks
/// that are not complete.
pub fn analyse(entries: &[Entry], method: Method) -> Result<Diallel, DiallelError> {
    let cells = Cells::of(entries, method)?;
    let effects = Effects::of(&means(&cells, entries), &cells, method);
    let error = Error::of(&cells, entries)?;
    let p = cells.parents.len();
    let name = |i: usize| cells.parents[i].clone();
    let se = |share: f64| error.mean_square().map(|ms| (share * ms).sqrt());
    let shares = Shares::of(method, p);
    let gca = (0..p)
        .map(|i| General { parent: name(i), effect: effects.general[i], se: se(shares.general) })
        .collect();
    let (mut sca, mut reciprocal) = (Vec::new(), Vec::new());
    for i in 0..p {
        for j in i..p {
            let (a, b) = (name(i), name(j));
            if i != j || method.selfs() {
                let share = if i == j { shares.selfed } else { shares.specific };
                let effect = effects.specific[i * p + j];
                sca.push(Pair { a: a.clone(), b: b.clone(), effect, se: se(share) });
            }
            if i != j && method.both_ways() {
                let effect = effects.reciprocal[i * p + j];
                reciprocal.push(Pair { a, b, effect, se: se(0.5) });
            }
        }
    }
    Ok(Diallel {
        mean: effects.mean,
        gca,
        sca,
        reciprocal,
        anova: effects.anova(&cells, method, &error),
        replicates: error.replicates,
        balanced: error.balanced,
        blocks: error.blocks,
    })
}

/// Mean of each entry, by rows; 0 where there is none.
fn means(cells: &Cells, entries: &[Entry]) -> Vec<f64> {
    let p = cells.parents.len();
    let mut means = vec![0.0; p * p];
    for (i, j) in cells.entries() {
        let records = cells.of_entry(i, j);
        means[i * p + j] =
            records.iter().map(|r| entries[*r].y).sum::<f64>() / records.len() as f64;
    }
    means
}

struct Effects {
    mean: f64,
    general: Vec<f64>,
    /// Symmetric.
    specific: Vec<f64>,
    /// Antisymmetric.
    reciprocal: Vec<f64>,
}

impl Effects {
    /// Griffing's least squares, for deviations from the mean.
    fn of(x: &[f64], cells: &Cells, method: Method) -> Self {
        let p = cells.parents.len();
        let n = cells.entries().count() as f64;
        let mean = cells.entries().map(|(i, j)| x[i * p + j]).sum::<f64>() / n;
        // The mean of a cross over its directions, as a deviation: symmetric.
        let mut both = vec![0.0; p * p];
        let mut reciprocal = vec![0.0; p * p];
        for (i, j) in cells.entries() {
            let share = if method.both_ways() && i != j { 0.5 } else { 1.0 };
            both[i * p + j] += share * (x[i * p + j] - mean);
            if i != j {
                both[j * p + i] += share * (x[i * p + j] - mean);
                reciprocal[i * p + j] += 0.5 * x[i * p + j];
                reciprocal[j * p + i] -= 0.5 * x[i * p + j];
            }
        }
        if !method.both_ways() {
            reciprocal.fill(0.0);
        }
        // What a parent adds to each of its crosses: the sum over its row, its selfing counted as often
        // as least squares does.
        let selfed = match method {
            Method::SelfsAndCrosses => 2.0,
            _ => 1.0,
        };
        let parents = p as f64;
        let over = match method {
            Method::Full => parents,
            Method::SelfsAndCrosses => parents + 2.0,
            Method::CrossesAndReciprocals | Method::Crosses => parents - 2.0,
        };
        let general: Vec<f64> = (0..p)
            .map(|i| {
                let row: f64 = (0..p).map(|j| both[i * p + j]).sum();
                (row + (selfed - 1.0) * both[i * p + i]) / over
            })
            .collect();
        let mut specific = vec![0.0; p * p];
        for (k, s) in specific.iter_mut().enumerate() {
            let (i, j) = (k / p, k % p);
            if i != j || method.selfs() {
                *s = both[k] - general[i] - general[j];
            }
        }
        Effects { mean, general, specific, reciprocal }
    }

    fn anova(&self, cells: &Cells, method: Method, error: &Error) -> Vec<Source> {
        let p = cells.parents.len();
        let over = |f: &dyn Fn(usize, usize) -> f64| -> f64 {
            cells.entries().map(|(i, j)| f(i, j).powi(2)).sum()
        };
        let n = p as u64;
        let pairs = n * (n - 1) / 2;
        let specific = if method.selfs() { pairs } else { pairs - n };
        let mut lines = vec![
            ("gca", n - 1, over(&|i, j| self.general[i] + self.general[j])),
            ("sca", specific, over(&|i, j| self.specific[i * p + j])),
        ];
        if method.both_ways() {
            lines.push(("reciprocal", pairs, over(&|i, j| self.reciprocal[i * p + j])));
        }
        let mut anova: Vec<Source> = Vec::new();
        for (source, df, ss) in lines {
            let ms = (df > 0).then(|| ss / df as f64);
            let f = ms.zip(error.mean_square().filter(|e| *e > 0.0)).map(|(ms, e)| ms / e);
            let p = f.map(|f| f_tail(f, df, error.df));
            anova.push(Source { source, df, ss, ms, f, p });
        }
        if error.df > 0 {
            let (df, ms) = (error.df, error.mean_square());
            let ss = error.sum / error.replicates;
            anova.push(Source { source: "error", df, ss, ms, f: None, p: None });
        }
        anova
    }
}

/// Variances of effects over that of an entry's mean (Griffing 1956; from memory, checked against
/// least squares in the tests).
struct Shares {
    general: f64,
    specific: f64,
    selfed: f64,
}

impl Shares {
    fn of(method: Method, parents: usize) -> Self {
        let p = parents as f64;
        match method {
            Method::Full => Shares {
                general: (p - 1.0) / (2.0 * p * p),
                specific: (p * p - 2.0 * p + 2.0) / (2.0 * p * p),
                selfed: (p - 1.0).powi(2) / (p * p),
            },
            Method::SelfsAndCrosses => {
                let both = (p + 1.0) * (p + 2.0);
                Shares {
                    general: (p - 1.0) / (p * (p + 2.0)),
                    specific: (p * p + p + 2.0) / both,
                    selfed: p * (p - 1.0) / both,
                }
            }
            Method::CrossesAndReciprocals => Shares {
                general: (p - 1.0) / (2.0 * p * (p - 2.0)),
                specific: (p - 3.0) / (2.0 * (p - 1.0)),
                selfed: 0.0,
            },
            Method::Crosses => Shares {
                general: (p - 1.0) / (p * (p - 2.0)),
                specific: (p - 3.0) / (p - 1.0),
                selfed: 0.0,
            },
        }
    }
}

/// What replicates of one entry differ by.
struct Error {
    /// Sum of squares between records.
    sum: f64,
    df: u64,
    replicates: f64,
    balanced: bool,
    blocks: bool,
}

impl Error {
    fn of(cells: &Cells, entries: &[Entry]) -> Result<Self, DiallelError> {
        let counts: Vec<usize> = cells.entries().map(|(i, j)| cells.of_entry(i, j).len()).collect();
        let balanced = counts.iter().all(|n| *n == counts[0]);
        let replicates = if balanced {
            counts[0] as f64
        } else {
            counts.len() as f64 / counts.iter().map(|n| 1.0 / *n as f64).sum::<f64>()
        };
        let by_block = blocks(entries);
        if let Some(by_block) = &by_block {
            complete(cells, entries, by_block)?;
        }
        let mut block_of: Vec<usize> = vec![0; entries.len()];
        let blocks = by_block.as_ref().map_or(1, BTreeMap::len);
        for (b, records) in by_block.iter().flat_map(BTreeMap::values).enumerate() {
            records.iter().for_each(|r| block_of[*r] = b);
        }
        // Deviations from the entry's mean, then from what is left of the block's.
        let mut rest: Vec<f64> = vec![0.0; entries.len()];
        for (i, j) in cells.entries() {
            let records = cells.of_entry(i, j);
            let mean = records.iter().map(|r| entries[*r].y).sum::<f64>() / records.len() as f64;
            records.iter().for_each(|r| rest[*r] = entries[*r].y - mean);
        }
        let mut of_block = vec![0.0; blocks];
        rest.iter().zip(&block_of).for_each(|(r, b)| of_block[*b] += r);
        if by_block.is_some() {
            let each = counts.len() as f64;
            rest.iter_mut().zip(&block_of).for_each(|(r, b)| *r -= of_block[*b] / each);
        }
        let sum = rest.iter().map(|r| r * r).sum();
        let df = (entries.len() - counts.len() + 1 - blocks) as u64;
        Ok(Error { sum, df, replicates, balanced, blocks: by_block.is_some() })
    }

    /// Of an entry's mean.
    fn mean_square(&self) -> Option<f64> {
        (self.df > 0).then(|| self.sum / self.df as f64 / self.replicates)
    }
}

/// The records of each block, when all records name one.
fn blocks(entries: &[Entry]) -> Option<BTreeMap<&str, Vec<usize>>> {
    let mut found: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (i, e) in entries.iter().enumerate() {
        found.entry(e.block.as_deref()?).or_default().push(i);
    }
    Some(found)
}

fn complete(
    cells: &Cells,
    entries: &[Entry],
    blocks: &BTreeMap<&str, Vec<usize>>,
) -> Result<(), DiallelError> {
    for block in blocks.keys() {
        for (i, j) in cells.entries() {
            let here = |r: &&usize| entries[**r].block.as_deref() == Some(*block);
            let found = cells.of_entry(i, j).iter().filter(here).count();
            if found != 1 {
                return Err(DiallelError::Block {
                    block: (*block).to_owned(),
                    seed_parent: cells.parents[i].clone(),
                    pollen_parent: cells.parents[j].clone(),
                    found,
                });
            }
        }
    }
    Ok(())
}

/// P(F > f)
fn f_tail(f: f64, above: u64, below: u64) -> f64 {
    let (a, b) = (above as f64, below as f64);
    beta_cdf(b / (b + a * f), 0.5 * b, 0.5 * a)
}

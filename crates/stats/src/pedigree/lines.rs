//! Who descends from whom, and how much of each individual is its own.

use super::PedigreeError;

/// A pedigree as the equations need it: parents by number, and for each individual the share of the
/// variance that is not its parents' (Henderson 1976; Quaas 1976; from memory).
#[derive(Debug, Clone, PartialEq)]
pub struct Lines {
    parents: Vec<[Option<u32>; 2]>,
    own: Vec<f64>,
    inbreeding: Vec<f64>,
    /// Parents before their progeny.
    order: Vec<u32>,
}

impl Lines {
    /// From the parents of each individual, in any order, and its inbreeding \[0 to 1\]. A parent
    /// that is unknown is unrelated to all others and not inbred.
    ///
    /// # Errors
    /// Parents that are not there, circles, inbreeding out of range, individuals whose parents are
    /// completely inbred.
    pub fn new(
        parents: Vec<[Option<u32>; 2]>,
        inbreeding: Vec<f64>,
    ) -> Result<Self, PedigreeError> {
        let individuals = parents.len();
        if individuals == 0 {
            return Err(PedigreeError::Empty);
        }
        if inbreeding.len() != individuals {
            let (what, found) = ("numbers of inbreeding", inbreeding.len());
            return Err(PedigreeError::Lengths { what, found, expected: individuals });
        }
        for (i, pair) in parents.iter().enumerate() {
            if let Some(p) = pair.iter().flatten().find(|p| **p as usize >= individuals) {
                let (what, at, individual) = ("line", i + 1, *p as usize + 1);
                return Err(PedigreeError::NoIndividual { what, at, individual, individuals });
            }
            if !(0.0..=1.0).contains(&inbreeding[i]) {
                let (individual, value) = (i + 1, inbreeding[i]);
                return Err(PedigreeError::Inbreeding { individual, value });
            }
        }
        let order = parents_first(&parents)?;
        // Each known parent gives half of its own value, with variance (1 + F)/4 left behind.
        let own = |pair: &[Option<u32>; 2]| {
            let given = pair.iter().flatten().map(|p| 1.0 + inbreeding[*p as usize]);
            1.0 - 0.25 * given.sum::<f64>()
        };
        let own: Vec<f64> = parents.iter().map(own).collect();
        if let Some(i) = own.iter().position(|d| *d <= 1e-12) {
            return Err(PedigreeError::NoOwnVariance { individual: i + 1 });
        }
        Ok(Lines { parents, own, inbreeding, order })
    }

    /// Number of individuals.
    pub fn len(&self) -> usize {
        self.parents.len()
    }

    /// Never: there is always an individual.
    pub fn is_empty(&self) -> bool {
        self.parents.is_empty()
    }

    /// The share of an individual's variance that is not its parents'.
    pub fn own(&self, individual: usize) -> f64 {
        self.own[individual]
    }

    /// What the variance of an individual is multiplied by: one and its inbreeding.
    pub fn diagonal(&self, individual: usize) -> f64 {
        1.0 + self.inbreeding[individual]
    }

    /// log|A|
    pub fn log_determinant(&self) -> f64 {
        self.own.iter().map(|d| d.ln()).sum()
    }

    /// Individuals, parents before their progeny.
    pub(super) fn order(&self) -> impl DoubleEndedIterator<Item = usize> + '_ {
        self.order.iter().map(|i| *i as usize)
    }

    /// The known parents with their shares: half each, a selfed one whole.
    pub(super) fn parents(&self, individual: usize) -> ([(usize, f64); 2], usize) {
        let mut found = [(0, 0.0); 2];
        match self.parents[individual] {
            [Some(s), Some(d)] if s == d => {
                found[0] = (s as usize, 1.0);
                (found, 1)
            }
            [Some(s), Some(d)] => ([(s as usize, 0.5), (d as usize, 0.5)], 2),
            [Some(p), None] | [None, Some(p)] => {
                found[0] = (p as usize, 0.5);
                (found, 1)
            }
            [None, None] => (found, 0),
        }
    }

    /// Which individuals have progeny.
    pub(super) fn with_progeny(&self) -> Vec<bool> {
        let mut has = vec![false; self.len()];
        self.parents.iter().flatten().flatten().for_each(|p| has[*p as usize] = true);
        has
    }
}

/// Parents before progeny, by counting the progeny that are not placed yet.
fn parents_first(parents: &[[Option<u32>; 2]]) -> Result<Vec<u32>, PedigreeError> {
    let n = parents.len();
    // A pedigree that is in order already stays as it is.
    let sorted =
        |(i, pair): (usize, &[Option<u32>; 2])| pair.iter().flatten().all(|p| (*p as usize) < i);
    if parents.iter().enumerate().all(sorted) {
        return Ok((0..n as u32).collect());
    }
    let mut waiting = vec![0u32; n];
    parents.iter().flatten().flatten().for_each(|p| waiting[*p as usize] += 1);
    let mut order: Vec<u32> = (0..n as u32).filter(|i| waiting[*i as usize] == 0).collect();
    let mut next = 0;
    while let Some(i) = order.get(next).copied() {
        next += 1;
        for p in parents[i as usize].iter().flatten() {
            waiting[*p as usize] -= 1;
            if waiting[*p as usize] == 0 {
                order.push(*p);
            }
        }
    }
    if let Some(i) = waiting.iter().position(|w| *w > 0) {
        return Err(PedigreeError::Circle { individual: i + 1 });
    }
    order.reverse();
    Ok(order)
}

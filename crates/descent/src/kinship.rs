//! Kinship and inbreeding, by following ancestors from the youngest to the oldest.
//!
//! The relationship matrix is A = T D T′, where row *i* of T holds the share of each ancestor in
//! *i* along all lines of descent, and D is diagonal: the part of an individual's variance that its
//! parents do not explain. Henderson 1976 (Biometrics 32:69–83); the walk over ancestors in
//! decreasing age order is that of Meuwissen & Luo 1992 (Genet. Sel. Evol. 24:305–313); columns of
//! A are built as by Colleau 2002 (Genet. Sel. Evol. 34:409–421). References from memory; the
//! values are checked against tables and an independent slow method in the tests.

use std::collections::BinaryHeap;

use crate::error::NoSuchIndividual;
use crate::pedigree::Pedigree;

/// Room for walking over the ancestors of two individuals at once; cleared by each walk.
struct Walk {
    /// Share of each ancestor in the first and in the second individual.
    share: Vec<[f64; 2]>,
    queued: Vec<bool>,
    heap: BinaryHeap<u32>,
}

impl Walk {
    fn new(genets: usize) -> Self {
        Walk { share: vec![[0.0; 2]; genets], queued: vec![false; genets], heap: BinaryHeap::new() }
    }

    fn add(&mut self, genet: u32, share: [f64; 2]) {
        let g = genet as usize;
        self.share[g][0] += share[0];
        self.share[g][1] += share[1];
        if !self.queued[g] {
            self.queued[g] = true;
            self.heap.push(genet);
        }
    }

    /// Relationship of `a` and `b` (twice the kinship). Needs the inbreeding of the parents of
    /// common ancestors only.
    fn relationship(&mut self, pedigree: &Pedigree, a: u32, b: u32) -> f64 {
        self.add(a, [1.0, 0.0]);
        self.add(b, [0.0, 1.0]);
        let mut sum = 0.0;
        // Numbers rise from parents to progeny, so the heap yields every individual after all its
        // descendants: its shares are then complete.
        while let Some(g) = self.heap.pop() {
            let [x, y] = std::mem::take(&mut self.share[g as usize]);
            self.queued[g as usize] = false;
            if x * y != 0.0 {
                sum += x * y * pedigree.own_variance(g);
            }
            for parent in pedigree.at(g).parents().into_iter().flatten() {
                self.add(parent, [0.5 * x, 0.5 * y]);
            }
        }
        sum
    }
}

impl Pedigree {
    /// Inbreeding coefficient F of an individual: the probability that its two copies of a gene
    /// descend from one copy in a founder \[0 to 1\]. Unknown parents count as unrelated and not
    /// inbred, so with gaps in the pedigree the true value may be higher.
    ///
    /// # Errors
    /// When `id` is not in the pedigree.
    pub fn inbreeding(&self, id: &str) -> Result<f64, NoSuchIndividual> {
        let genet = self.genet(id)?;
        if let Some(&f) = self.inbreeding[genet as usize].get() {
            return Ok(f);
        }
        self.fill_inbreeding_of(&self.ancestry(&[genet]));
        Ok(self.f(genet))
    }

    /// Inbreeding of every individual, in the order of [`Pedigree::ids`].
    pub fn all_inbreeding(&self) -> Vec<f64> {
        self.fill_all_inbreeding();
        self.genet_of.iter().map(|&g| self.f(g)).collect()
    }

    /// Kinship (coancestry) of two individuals: the probability that a gene drawn from one and a
    /// gene drawn from the other descend from one copy in a founder \[0 to 1\]. Parent and seedling,
    /// or full sibs, of unrelated plants: 1/4. Two pieces of one clone: (1 + F)/2.
    ///
    /// Only the ancestors of the two are looked at; inbreeding found on the way is kept.
    ///
    /// # Errors
    /// When one of them is not in the pedigree.
    pub fn kinship(&self, a: &str, b: &str) -> Result<f64, NoSuchIndividual> {
        let (a, b) = (self.genet(a)?, self.genet(b)?);
        self.fill_inbreeding_of(&self.ancestry(&[a, b]));
        Ok(0.5 * Walk::new(self.genets.len()).relationship(self, a, b))
    }

    /// Kinship of one individual with every individual, in the order of [`Pedigree::ids`], in time
    /// proportional to their number.
    ///
    /// # Errors
    /// When `id` is not in the pedigree.
    pub fn kinship_with_all(&self, id: &str) -> Result<Vec<f64>, NoSuchIndividual> {
        let genet = self.genet(id)?;
        self.fill_all_inbreeding();
        let column = self.relationship_column(genet);
        Ok(self.genet_of.iter().map(|&g| 0.5 * column[g as usize]).collect())
    }

    /// One column of A: up the pedigree with T′, times D, down again with T.
    fn relationship_column(&self, genet: u32) -> Vec<f64> {
        let mut v = vec![0.0; self.genets.len()];
        v[genet as usize] = 1.0;
        for g in (0..=genet).rev() {
            let x = v[g as usize];
            if x != 0.0 {
                for parent in self.at(g).parents().into_iter().flatten() {
                    v[parent as usize] += 0.5 * x;
                }
            }
        }
        for g in 0..self.genets.len() {
            if v[g] != 0.0 {
                v[g] *= self.own_variance(g as u32);
            }
            for parent in self.genets[g].parents().into_iter().flatten() {
                v[g] += 0.5 * v[parent as usize];
            }
        }
        v
    }

    /// The individuals and all their ancestors, oldest first.
    pub(crate) fn ancestry(&self, of: &[u32]) -> Vec<u32> {
        let mut seen = vec![false; self.genets.len()];
        let mut stack = of.to_vec();
        let mut found = Vec::new();
        while let Some(g) = stack.pop() {
            if !std::mem::replace(&mut seen[g as usize], true) {
                found.push(g);
                stack.extend(self.at(g).parents().into_iter().flatten());
            }
        }
        found.sort_unstable();
        found
    }

    pub(crate) fn fill_all_inbreeding(&self) {
        let all: Vec<u32> = (0..self.genets.len() as u32).collect();
        self.fill_inbreeding_of(&all);
    }

    /// Computes the inbreeding of these individuals, which must be a whole ancestry, oldest first.
    fn fill_inbreeding_of(&self, ancestry: &[u32]) {
        let mut walk: Option<Walk> = None;
        // Full sibs have the same inbreeding; breeders' pedigrees are full of them.
        let mut of_pair = std::collections::HashMap::new();
        for &g in ancestry {
            let cell = &self.inbreeding[g as usize];
            if cell.get().is_some() {
                continue;
            }
            let f = match self.at(g).parents() {
                [Some(s), Some(p)] if s == p => 0.5 * (1.0 + self.f(s)),
                [Some(s), Some(p)] => *of_pair.entry((s.min(p), s.max(p))).or_insert_with(|| {
                    let walk = walk.get_or_insert_with(|| Walk::new(self.genets.len()));
                    0.5 * walk.relationship(self, s, p)
                }),
                _ => 0.0,
            };
            // Another thread may have filled it meanwhile, with the same value.
            let _ = cell.set(f);
        }
    }

    /// Inbreeding already computed; 0 if not, which the callers above exclude.
    pub(crate) fn f(&self, genet: u32) -> f64 {
        self.inbreeding[genet as usize].get().copied().unwrap_or(0.0)
    }

    /// The diagonal of D: variance not explained by the parents, in units of a founder's variance.
    pub(crate) fn own_variance(&self, genet: u32) -> f64 {
        let explained: f64 =
            self.at(genet).parents().into_iter().flatten().map(|p| 0.25 * (1.0 + self.f(p))).sum();
        1.0 - explained
    }
}

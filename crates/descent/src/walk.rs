//! Kinship of two by a walk over their ancestors, youngest first.
//!
//! The kinship matrix is T D T′, where row *i* of T holds the share of each ancestor in *i* along
//! all lines of descent, and D is diagonal: the part of a plant's kinship with itself that its
//! parents do not explain. Henderson 1976 (Biometrics 32:69–83); the walk in decreasing order of
//! age is that of Meuwissen & Luo 1992 (Genet. Sel. Evol. 24:305–313). References from memory.

use std::collections::{BinaryHeap, HashMap};

use crate::kinship::value;
use crate::pedigree::Pedigree;

/// Room for walking over the ancestors of two individuals at once; cleared by each walk.
pub(crate) struct Walk {
    /// Share of each ancestor in the first and in the second individual.
    share: Vec<[f64; 2]>,
    queued: Vec<bool>,
    heap: BinaryHeap<u32>,
}

impl Walk {
    pub fn new(nodes: usize) -> Self {
        Walk { share: vec![[0.0; 2]; nodes], queued: vec![false; nodes], heap: BinaryHeap::new() }
    }

    fn add(&mut self, node: u32, share: [f64; 2]) {
        let n = node as usize;
        self.share[n][0] += share[0];
        self.share[n][1] += share[1];
        if !self.queued[n] {
            self.queued[n] = true;
            self.heap.push(node);
        }
    }

    /// Kinship of `a` and `b`. Needs the inbreeding of the parents of common ancestors only.
    pub fn kinship(&mut self, pedigree: &Pedigree, a: u32, b: u32) -> f64 {
        self.add(a, [1.0, 0.0]);
        self.add(b, [0.0, 1.0]);
        let mut sum = 0.0;
        // Numbers rise from parents to progeny, so the heap yields every individual after all its
        // descendants: its shares are then complete.
        while let Some(node) = self.heap.pop() {
            let [x, y] = std::mem::take(&mut self.share[node as usize]);
            self.queued[node as usize] = false;
            if x * y != 0.0 {
                sum += x * y * pedigree.own(node);
            }
            pedigree.lineage.sources(node, |source, w| self.add(source, [w * x, w * y]));
        }
        sum
    }
}

/// Computes the inbreeding of `nodes`, a whole ancestry in rising order, where it is missing.
///
/// For pedigrees that are wide and shallow, whose front would be wider than memory.
pub(crate) fn fill(pedigree: &Pedigree, nodes: &[u32]) {
    let mut walk = Walk::new(pedigree.lineage.len());
    // Full sibs have the same parents; breeders' pedigrees are full of them.
    let mut known = HashMap::new();
    for &node in nodes.iter().filter(|&&n| !pedigree.has_f(n)) {
        let f = value(pedigree, node, |a, b| {
            *known.entry((a.min(b), a.max(b))).or_insert_with(|| walk.kinship(pedigree, a, b))
        });
        pedigree.set_f(node, f);
    }
}

//! Who gives how much to whom: the bare numbers that every calculation walks over.
//!
//! Nodes are numbered with parents before progeny. A parent that is one of several is a node of its
//! own, placed before the progeny: it is a candidate, nobody knows which, so it takes each
//! candidate's kinship with that candidate's weight.

use crate::gametes::Gametes;
use crate::names::NONE;

/// In the place of the seed parent: this node is a parent in doubt; the other place has its index.
const DOUBT: u32 = NONE - 1;

#[derive(Debug, Default)]
pub(crate) struct Lineage {
    /// Seed and pollen parent, [`NONE`] where unknown or where its gamete is empty.
    parents: Vec<[u32; 2]>,
    /// Empty when all are diploid.
    gametes: Vec<Gametes>,
    doubts: Vec<Doubt>,
}

/// A parent that is one of several.
#[derive(Debug, Clone)]
pub(crate) struct Doubt {
    /// Nodes with weights that add up to 1.
    pub candidates: Vec<(u32, f64)>,
    /// Ids of the candidates as they were typed.
    pub ids: Vec<u32>,
}

/// What a node is made of.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Made<'a> {
    /// A plant; its parents' nodes, where known.
    Plant([Option<u32>; 2]),
    /// A parent in doubt.
    Doubt(&'a Doubt),
}

fn known(p: u32) -> Option<u32> {
    (p != NONE).then_some(p)
}

impl Lineage {
    pub fn with_capacity(nodes: usize, mixed_ploidy: bool) -> Self {
        Lineage {
            parents: Vec::with_capacity(nodes),
            gametes: Vec::with_capacity(if mixed_ploidy { nodes } else { 0 }),
            doubts: Vec::new(),
        }
    }

    pub fn push(&mut self, mut parents: [u32; 2], gametes: Option<Gametes>) -> u32 {
        if let Some(g) = gametes {
            for (p, copies) in parents.iter_mut().zip(g.copies) {
                if copies == 0 {
                    *p = NONE;
                }
            }
            self.gametes.push(g);
        }
        self.parents.push(parents);
        self.parents.len() as u32 - 1
    }

    pub fn push_doubt(&mut self, doubt: Doubt, mixed_ploidy: bool) -> u32 {
        if mixed_ploidy {
            // Never asked for: a parent in doubt has no ploidy of its own.
            self.gametes.push(Gametes::default());
        }
        self.parents.push([DOUBT, self.doubts.len() as u32]);
        self.doubts.push(doubt);
        self.parents.len() as u32 - 1
    }

    pub fn len(&self) -> usize {
        self.parents.len()
    }

    pub fn doubts(&self) -> usize {
        self.doubts.len()
    }

    pub fn all_diploid(&self) -> bool {
        self.gametes.is_empty()
    }

    pub fn made(&self, node: u32) -> Made<'_> {
        match self.parents[node as usize] {
            [DOUBT, i] => Made::Doubt(&self.doubts[i as usize]),
            [s, p] => Made::Plant([known(s), known(p)]),
        }
    }

    /// Both parents of a plant; nobody for a parent in doubt.
    pub fn parents(&self, node: u32) -> [Option<u32>; 2] {
        match self.made(node) {
            Made::Plant(both) => both,
            Made::Doubt(_) => [None, None],
        }
    }

    pub fn doubt(&self, node: u32) -> Option<&Doubt> {
        match self.made(node) {
            Made::Doubt(d) => Some(d),
            Made::Plant(_) => None,
        }
    }

    pub fn gametes(&self, node: u32) -> Gametes {
        self.gametes.get(node as usize).copied().unwrap_or_default()
    }

    /// Calls `each` with every node that this one comes from, and its share.
    #[inline]
    pub fn sources(&self, node: u32, mut each: impl FnMut(u32, f64)) {
        let [s, p] = self.parents[node as usize];
        if s == DOUBT {
            self.doubts[p as usize].candidates.iter().for_each(|&(c, w)| each(c, w));
        } else if self.gametes.is_empty() {
            for parent in [s, p] {
                if parent != NONE {
                    each(parent, 0.5);
                }
            }
        } else {
            let gametes = self.gametes[node as usize];
            for (side, parent) in [s, p].into_iter().enumerate() {
                if parent != NONE {
                    each(parent, gametes.weight(side));
                }
            }
        }
    }

    /// Whether nothing comes from a node on record.
    pub fn is_bottomless(&self, node: u32) -> bool {
        self.parents[node as usize] == [NONE, NONE]
    }

    /// Inbreeding of a founder, and of an unknown parent, whose own gametes had this much double
    /// reduction: the value that random mating settles at (Hamilton & Kerr 2017).
    fn settled(double_reduction: f64, ploidy: f64) -> f64 {
        let x = double_reduction * (0.5 * ploidy - 1.0);
        x / (ploidy + x)
    }

    /// Kinship of a node with itself: two copies drawn with replacement.
    pub fn self_kinship(&self, node: u32, f: &impl Fn(u32) -> f64) -> f64 {
        match self.doubt(node) {
            Some(d) => d.candidates.iter().map(|&(c, w)| w * self.self_kinship(c, f)).sum(),
            None if self.gametes.is_empty() => 0.5 * (1.0 + f(node)),
            None => {
                let k = f64::from(self.gametes[node as usize].ploidy());
                (1.0 + (k - 1.0) * f(node)) / k
            }
        }
    }

    /// Inbreeding to be expected of a node that is a parent.
    fn expected_inbreeding(&self, node: u32, f: &impl Fn(u32) -> f64) -> f64 {
        match self.doubt(node) {
            Some(d) => d.candidates.iter().map(|&(c, w)| w * f(c)).sum(),
            None => f(node),
        }
    }

    /// Chance that two different copies in the gamete of one side are alike.
    fn alike(&self, node: u32, side: usize, f: &impl Fn(u32) -> f64) -> f64 {
        let gametes = self.gametes(node);
        let lambda = gametes.double_reduction[side];
        let of_parent = match self.parents(node)[side] {
            Some(p) => self.expected_inbreeding(p, f),
            None => Self::settled(2.0 * lambda, 2.0 * f64::from(gametes.copies[side])),
        };
        lambda + (1.0 - lambda) * of_parent
    }

    /// Inbreeding of a plant, given that of its parents and their kinship.
    pub fn inbreeding(&self, node: u32, between: f64, f: &impl Fn(u32) -> f64) -> f64 {
        if self.gametes.is_empty() {
            return between;
        }
        let g = self.gametes[node as usize];
        let k = f64::from(g.ploidy());
        if g.ploidy() < 2 {
            return 0.0;
        }
        if self.is_bottomless(node) {
            return Self::settled(g.double_reduction.iter().sum(), k);
        }
        let mut sum = 2.0 * g.weight(0) * g.weight(1) * between;
        for side in 0..2 {
            if g.copies[side] > 1 {
                sum += g.within(side) * self.alike(node, side, f);
            }
        }
        sum * k / (k - 1.0)
    }

    /// The part of a node's kinship with itself that its sources do not explain.
    ///
    /// `among` is the kinship of two candidates drawn independently, for a parent in doubt.
    #[inline]
    pub fn own(&self, node: u32, f: &impl Fn(u32) -> f64, among: impl Fn() -> f64) -> f64 {
        let [s, p] = self.parents[node as usize];
        if s == DOUBT {
            return self.self_kinship(node, f) - among();
        }
        if self.gametes.is_empty() && self.doubts.is_empty() {
            let part = |p: u32| if p == NONE { 0.0 } else { 0.125 * (1.0 + f(p)) };
            return 0.5 - part(s) - part(p);
        }
        if self.is_bottomless(node) {
            return self.self_kinship(node, f);
        }
        let g = self.gametes(node);
        let mut own = 1.0 / f64::from(g.ploidy());
        for (side, parent) in self.parents(node).into_iter().enumerate() {
            if g.copies[side] > 1 {
                own += g.within(side) * self.alike(node, side, f);
            }
            if let Some(p) = parent {
                own -= g.weight(side) * g.weight(side) * self.self_kinship(p, f);
            }
        }
        own
    }
}

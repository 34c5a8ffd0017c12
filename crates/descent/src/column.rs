//! Kinship of a few with many, eight columns of the matrix at a time.
//!
//! A column of T D T′ is T (D (T′ e)): up the pedigree, times D, down again, in time proportional to
//! the ancestry and without the matrix. Colleau 2002 (Genet. Sel. Evol. 34:409–421), from memory.

use crate::names::NONE;
use crate::pedigree::Pedigree;

/// How many columns are computed at once.
pub(crate) const TOGETHER: usize = 8;

pub(crate) struct Columns<'a> {
    pedigree: &'a Pedigree,
    nodes: Vec<u32>,
    /// For each node of the pedigree its index in `nodes`.
    place: Vec<u32>,
    own: Vec<f64>,
    value: Vec<[f64; TOGETHER]>,
}

impl<'a> Columns<'a> {
    /// For kinships among `nodes`, a whole ancestry in rising order whose inbreeding is known.
    pub fn new(pedigree: &'a Pedigree, nodes: Vec<u32>) -> Self {
        let mut place = vec![NONE; pedigree.lineage.len()];
        for (i, &node) in (0..).zip(&nodes) {
            place[node as usize] = i;
        }
        let own = nodes.iter().map(|&n| pedigree.own(n)).collect();
        let value = vec![[0.0; TOGETHER]; nodes.len()];
        Columns { pedigree, nodes, place, own, value }
    }

    /// Computes the kinship of all with these, at most [`TOGETHER`].
    pub fn compute(&mut self, with: &[u32]) {
        self.value.fill([0.0; TOGETHER]);
        let Columns { pedigree, nodes, place, own, value } = self;
        let mut youngest = 0;
        for (lane, &node) in with.iter().enumerate() {
            let at = place[node as usize] as usize;
            value[at][lane] = 1.0;
            youngest = youngest.max(at);
        }
        for at in (0..=youngest).rev() {
            let x = value[at];
            if x != [0.0; TOGETHER] {
                pedigree.lineage.sources(nodes[at], |source, w| {
                    let to = &mut value[place[source as usize] as usize];
                    to.iter_mut().zip(x).for_each(|(t, x)| *t += w * x);
                });
            }
        }
        for at in 0..nodes.len() {
            let mut x = value[at].map(|x| x * own[at]);
            pedigree.lineage.sources(nodes[at], |source, w| {
                let from = value[place[source as usize] as usize];
                x.iter_mut().zip(from).for_each(|(x, f)| *x += w * f);
            });
            value[at] = x;
        }
    }

    /// Kinship of a node with the one in this lane.
    pub fn get(&self, node: u32, lane: usize) -> f64 {
        self.value[self.place[node as usize] as usize][lane]
    }
}

//! Inbreeding of all by the tabular method on a moving front.
//!
//! The tabular method (Emik & Terrill 1949; in kinship and any ploidy, Hamilton & Kerr 2017) needs
//! the kinship of every pair. Here only the kinships within the front of the [`Schedule`] are
//! held. Eight plants enter at a time, so that their rows and columns are whole lines of memory.

use crate::kinship::value;
use crate::names::NONE;
use crate::pedigree::Pedigree;
use crate::schedule::{LANES, Schedule};

/// Eight kinships with one plant.
#[derive(Debug, Clone, Copy)]
#[repr(align(64))]
struct Line([f64; LANES]);

const ZERO: Line = Line([0.0; LANES]);

struct Front<'a> {
    pedigree: &'a Pedigree,
    schedule: &'a Schedule,
    /// A row of `width` lines for each lane of each place.
    kinship: Vec<Line>,
    /// The rows of the plants that are entering.
    entering: Vec<Line>,
    /// Whether a node has entered.
    born: Vec<bool>,
    /// Places in use, in rising order.
    live: Vec<u32>,
}

/// Computes the inbreeding of `nodes`, a whole ancestry in rising order, where it is missing.
pub(crate) fn fill(pedigree: &Pedigree, nodes: &[u32], schedule: &Schedule) {
    let width = schedule.width;
    let mut front = Front {
        pedigree,
        schedule,
        kinship: vec![ZERO; width * width * LANES],
        entering: vec![ZERO; width * LANES],
        born: vec![false; pedigree.lineage.len()],
        live: Vec::new(),
    };
    let (mut at, mut block, mut freed) = (0, 0, 0);
    for step in &schedule.steps {
        for &node in &nodes[at..step.until] {
            if !pedigree.has_f(node) {
                pedigree.set_f(node, value(pedigree, node, |a, b| front.between(a, b)));
            }
        }
        for b in block..step.blocks {
            front.enter(&schedule.blocks[b], schedule.places[b]);
        }
        let gone = &schedule.freed[freed..step.freed];
        if !gone.is_empty() {
            front.live.retain(|p| !gone.contains(p));
        }
        (at, block, freed) = (step.until, step.blocks, step.freed);
    }
}

impl Front<'_> {
    fn between(&self, a: u32, b: u32) -> f64 {
        // Who has not entered is a founder without progeny here.
        if !self.born[a as usize] || !self.born[b as usize] {
            return 0.0;
        }
        self.held(self.schedule.slot[a as usize], self.schedule.slot[b as usize])
    }

    fn held(&self, a: u32, b: u32) -> f64 {
        let (a, b) = (a as usize, b as usize);
        self.kinship[a * self.schedule.width + b / LANES].0[b % LANES]
    }

    fn enter(&mut self, block: &[u32; LANES], place: u32) {
        let width = self.schedule.width;
        if let Err(at) = self.live.binary_search(&place) {
            self.live.insert(at, place);
        }
        for (lane, &node) in block.iter().enumerate() {
            self.row(lane, node);
        }
        self.among_themselves(block, place);
        let first = place as usize * LANES * width;
        self.kinship[first..first + width * LANES].copy_from_slice(&self.entering);
        for &p in &self.live {
            let p = p as usize;
            let rows = &mut self.kinship[p * LANES * width..(p + 1) * LANES * width];
            let lines: [&Line; LANES] =
                std::array::from_fn(|lane| &self.entering[lane * width + p]);
            // Two rows at a time, as two numbers fit a register.
            for (i, two) in rows.chunks_exact_mut(2 * width).enumerate() {
                let pairs = lines.map(|l| [l.0[2 * i], l.0[2 * i + 1]]);
                two[place as usize].0 = pairs.map(|x| x[0]);
                two[width + place as usize].0 = pairs.map(|x| x[1]);
            }
        }
        for &node in block.iter().filter(|&&n| n != NONE) {
            self.born[node as usize] = true;
        }
    }

    /// Kinship of a plant that enters with all that are there: that of its sources, by their shares.
    fn row(&mut self, lane: usize, node: u32) {
        let width = self.schedule.width;
        let row = &mut self.entering[lane * width..(lane + 1) * width];
        let mut empty = true;
        if node != NONE {
            self.pedigree.lineage.sources(node, |source, share| {
                let slot = self.schedule.slot[source as usize] as usize;
                let of = &self.kinship[slot * width..(slot + 1) * width];
                if empty {
                    for &p in &self.live {
                        let (to, from) = (&mut row[p as usize].0, &of[p as usize].0);
                        *to = std::array::from_fn(|i| share * from[i]);
                    }
                } else {
                    for &p in &self.live {
                        let (to, from) = (&mut row[p as usize].0, &of[p as usize].0);
                        for i in 0..LANES {
                            to[i] += share * from[i];
                        }
                    }
                }
                empty = false;
            });
        }
        if empty {
            row.fill(ZERO);
        }
    }

    /// The corner of those who enter together.
    fn among_themselves(&mut self, block: &[u32; LANES], place: u32) {
        let width = self.schedule.width;
        let mut corner = [ZERO; LANES];
        for (a, &node) in block.iter().enumerate().filter(|(_, n)| **n != NONE) {
            self.pedigree.lineage.sources(node, |source, share| {
                let slot = self.schedule.slot[source as usize] as usize;
                for (b, to) in corner[a].0.iter_mut().enumerate() {
                    *to += share * self.entering[b * width + slot / LANES].0[slot % LANES];
                }
            });
            corner[a].0[a] = self.pedigree.self_kinship_of(node);
        }
        for (a, line) in corner.into_iter().enumerate() {
            self.entering[a * width + place as usize] = line;
        }
    }
}

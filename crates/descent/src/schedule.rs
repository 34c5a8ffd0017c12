//! Which plants have to be held in mind while inbreeding is computed, and from when to when.
//!
//! Kinship with a plant is needed only from its birth until its last progeny. Going through the
//! pedigree in order, the plants between those two form a front that is far narrower than the
//! pedigree: the parents of a few seasons. Everything here counts; nothing is computed yet, so that
//! what the front would cost is known before it is begun.

use crate::lineage::{Lineage, Made};
use crate::names::NONE;

/// Plants that share one line of the matrix.
pub(crate) const LANES: usize = 8;

/// The most plants that enter the front at once. More would be sorted better by how long they stay,
/// but would have to stay until all of them have entered.
const MOST_AT_ONCE: usize = 128;

/// Waits for its turn within the present step.
const WAITING: u32 = NONE - 1;

#[derive(Debug, Default)]
pub(crate) struct Schedule {
    pub steps: Vec<Step>,
    /// Nodes that enter together, [`NONE`] where a lane stays empty.
    pub blocks: Vec<[u32; LANES]>,
    /// The place of each of `blocks` in the matrix.
    pub places: Vec<u32>,
    /// Places that become free, step by step.
    pub freed: Vec<u32>,
    /// For each node its place times [`LANES`] plus its lane, if it ever enters.
    pub slot: Vec<u32>,
    /// How many places there must be.
    pub width: usize,
    /// Numbers to be computed.
    pub work: u64,
}

/// Nodes up to `until` (an index into the list) are looked up, then blocks enter, then places are
/// freed; the two others are the ends of their parts of the lists.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Step {
    pub until: usize,
    pub blocks: usize,
    pub freed: usize,
}

impl Schedule {
    /// For `nodes`, a whole ancestry in rising order; `wanted` says whose inbreeding is missing.
    pub fn new(lineage: &Lineage, nodes: &[u32], wanted: impl Fn(u32) -> bool) -> Self {
        let enters = entering(lineage, nodes, wanted);
        let last = last_uses(lineage, nodes, &enters);
        let mut plan = Planner {
            lineage,
            last,
            out: Schedule { slot: vec![NONE; lineage.len()], ..Schedule::default() },
            count: Vec::new(),
            free: Vec::new(),
            live: 0,
            founders: Vec::new(),
            plants: Vec::new(),
            dying: Vec::new(),
        };
        let mut at = 0;
        while at < nodes.len() {
            at = plan.gather(nodes, at, &enters);
            plan.flush(at);
        }
        plan.out.width = plan.count.len();
        plan.out
    }

    /// Bytes of the matrix.
    pub fn bytes(&self) -> u64 {
        let side = (self.width * LANES) as u64;
        side * side * size_of::<f64>() as u64
    }
}

/// Who must enter the front: who is crossed with another, and the sources of those.
fn entering(lineage: &Lineage, nodes: &[u32], wanted: impl Fn(u32) -> bool) -> Vec<bool> {
    let mut enters = vec![false; lineage.len()];
    for &node in nodes.iter().rev() {
        let crossed = wanted(node)
            && match lineage.made(node) {
                Made::Plant([Some(s), Some(p)]) => {
                    s != p && !(lineage.is_bottomless(s) && lineage.is_bottomless(p))
                }
                Made::Plant(_) => false,
                Made::Doubt(d) => d.candidates.len() > 1,
            };
        if crossed || enters[node as usize] {
            lineage.sources(node, |source, _| enters[source as usize] = true);
        }
    }
    enters
}

/// For each node that enters, the last place in the list at which it is asked for.
fn last_uses(lineage: &Lineage, nodes: &[u32], enters: &[bool]) -> Vec<u32> {
    let mut last = vec![0; lineage.len()];
    for (at, &node) in (0..).zip(nodes) {
        lineage.sources(node, |source, _| {
            if enters[source as usize] {
                last[source as usize] = at;
            }
        });
    }
    last
}

struct Planner<'a> {
    lineage: &'a Lineage,
    last: Vec<u32>,
    out: Schedule,
    /// How many are alive in each place.
    count: Vec<u32>,
    free: Vec<u32>,
    live: usize,
    founders: Vec<u32>,
    plants: Vec<u32>,
    dying: Vec<u32>,
}

impl Planner<'_> {
    /// As many nodes as do not need each other.
    fn gather(&mut self, nodes: &[u32], from: usize, enters: &[bool]) -> usize {
        for (at, &node) in nodes.iter().enumerate().skip(from) {
            let mut ready = self.plants.len() < MOST_AT_ONCE;
            self.lineage.sources(node, |s, _| ready &= self.out.slot[s as usize] != WAITING);
            if !ready {
                return at;
            }
            let bottomless = self.lineage.is_bottomless(node);
            let row = enters[node as usize] && !bottomless;
            let (slot, last) = (&mut self.out.slot, &self.last);
            self.lineage.sources(node, |s, _| {
                if !enters[s as usize] {
                    return;
                }
                // A founder's kinship is zero with all until somebody descends from it.
                if row && slot[s as usize] == NONE {
                    slot[s as usize] = s;
                    self.founders.push(s);
                }
                if last[s as usize] as usize == at {
                    self.dying.push(s);
                }
            });
            if row {
                self.out.slot[node as usize] = WAITING;
                self.plants.push(node);
            }
        }
        nodes.len()
    }

    fn flush(&mut self, until: usize) {
        let mut founders = std::mem::take(&mut self.founders);
        self.enter(&mut founders);
        let before = self.out.blocks.len();
        let mut plants = std::mem::take(&mut self.plants);
        self.enter(&mut plants);
        plants.clear();
        self.plants = plants;
        let entered = self.out.blocks.len() - before;
        self.out.work += (entered * LANES * self.live * LANES) as u64;
        let mut dying = std::mem::take(&mut self.dying);
        dying.sort_unstable();
        dying.dedup();
        for node in dying {
            // Founders that were crossed with each other only never entered.
            let slot = self.out.slot[node as usize];
            if slot == NONE {
                continue;
            }
            let place = slot / LANES as u32;
            self.count[place as usize] -= 1;
            if self.count[place as usize] == 0 {
                self.free.push(place);
                self.out.freed.push(place);
                self.live -= 1;
            }
        }
        let (blocks, freed) = (self.out.blocks.len(), self.out.freed.len());
        self.out.steps.push(Step { until, blocks, freed });
    }

    /// Those who leave together share a place, so that it is free again soon.
    fn enter(&mut self, nodes: &mut [u32]) {
        nodes.sort_unstable_by_key(|&n| (self.last[n as usize], n));
        for together in nodes.chunks(LANES) {
            let place = self.free.pop().unwrap_or_else(|| {
                self.count.push(0);
                self.count.len() as u32 - 1
            });
            let mut block = [NONE; LANES];
            for (lane, &node) in (0..).zip(together) {
                block[lane as usize] = node;
                self.out.slot[node as usize] = place * LANES as u32 + lane;
            }
            self.count[place as usize] = together.len() as u32;
            self.live += 1;
            self.out.blocks.push(block);
            self.out.places.push(place);
        }
    }
}

//! Naming a loop step by step.

use crate::build::Stated;
use crate::builder::CANDIDATES;
use crate::error::{Link, Loop, LoopStep, PedigreeError};
use crate::names::{NONE, Names};

/// A link from one clone to the clone of a (possible) parent, as the row of `by` states it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Edge {
    pub by: u32,
    pub link: Link,
    pub named: u32,
}

/// The `n`th link from a clone to its parents, seed parent first.
pub(crate) fn edge(stated: &Stated<'_>, root: u32, n: usize) -> Option<Edge> {
    let links = [
        (Link::SeedParent, Link::PossibleSeedParent),
        (Link::PollenParent, Link::PossiblePollenParent),
    ];
    let mut before = 0;
    for (side, (sure, possible)) in links.into_iter().enumerate() {
        let by = stated.by(root, side);
        let parent = stated.parents[root as usize][side];
        let (count, link) = match parent {
            NONE => continue,
            p if p & CANDIDATES == 0 => (1, sure),
            p => (stated.candidates[(p & !CANDIDATES) as usize].len(), possible),
        };
        if n < before + count {
            let named = match link {
                Link::SeedParent | Link::PollenParent => parent,
                _ => stated.candidates[(parent & !CANDIDATES) as usize][n - before].0,
            };
            return Some(Edge { by, link, named });
        }
        before += count;
    }
    None
}

fn step(names: &Names, plant: u32, link: Link, other: u32) -> LoopStep {
    LoopStep { plant: names.get(plant).to_owned(), link, other: names.get(other).to_owned() }
}

/// A chain of "is a piece of" that comes back to `back_at`.
pub(crate) fn of_clones(path: &[u32], back_at: u32, names: &Names) -> PedigreeError {
    let from = path.iter().position(|&i| i == back_at).unwrap_or(0);
    let ring = &path[from..];
    let next = ring.iter().cycle().skip(1);
    let steps = ring.iter().zip(next).map(|(&i, &to)| step(names, i, Link::CloneOf, to));
    PedigreeError::Circle(Loop(steps.collect()))
}

/// A chain of parents that comes back to where it began.
pub(crate) fn of_parents(path: &[Edge], names: &Names) -> PedigreeError {
    let mut steps = Vec::new();
    for (k, edge) in path.iter().enumerate() {
        steps.push(step(names, edge.by, edge.link, edge.named));
        let next = path[(k + 1) % path.len()];
        if next.by != edge.named {
            steps.push(step(names, edge.named, Link::SameClone, next.by));
        }
    }
    PedigreeError::Circle(Loop(steps))
}

//! An order with parents before progeny, and the search for loops.

use crate::build::Stated;
use crate::builder::CANDIDATES;
use crate::error::PedigreeError;
use crate::loops::{self, Edge};
use crate::names::{NONE, Names};

/// Roots of all clones, each after the clones of its parents.
///
/// Rows that have their parents above them keep their order: a register is written as the seasons
/// go, and what is computed along it has few plants to hold in mind at a time. Others are put in
/// order of generation.
pub(crate) fn parents_first(
    stated: &Stated<'_>,
    names: &Names,
    roots: &[u32],
    rows: usize,
) -> Result<Vec<u32>, PedigreeError> {
    if as_written(stated, roots, rows) {
        let mentioned = (rows as u32..roots.len() as u32).filter(|&r| roots[r as usize] == r);
        let with_row = (0..rows as u32).filter(|&r| roots[r as usize] == r);
        return Ok(mentioned.chain(with_row).collect());
    }
    let generation = generations(stated, names, roots)?;
    let last = generation.iter().filter(|&&g| g != NONE).max().map_or(0, |&g| g as usize);
    // Sorted by counting; within a generation as the rows are.
    let mut starts = vec![0; last + 2];
    for &g in generation.iter().filter(|&&g| g != NONE) {
        starts[g as usize + 1] += 1;
    }
    for g in 0..=last {
        starts[g + 1] += starts[g];
    }
    let mut order = vec![0; starts[last + 1]];
    for (root, &g) in (0..).zip(&generation) {
        if g != NONE {
            order[starts[g as usize]] = root;
            starts[g as usize] += 1;
        }
    }
    Ok(order)
}

/// Whether every parent has its row above, or no row and no parents.
fn as_written(stated: &Stated<'_>, roots: &[u32], rows: usize) -> bool {
    if stated.parents[rows..].iter().any(|both| *both != [NONE; 2]) {
        return false;
    }
    let above = |id: u32, of: u32| {
        let root = roots[id as usize];
        root as usize >= rows || root < of
    };
    let mut all = (0..).zip(&stated.parents[..rows]);
    all.all(|(of, both)| {
        both.iter().all(|&p| match p {
            NONE => true,
            p if p & CANDIDATES == 0 => above(p, of),
            p => stated.candidates[(p & !CANDIDATES) as usize].iter().all(|c| above(c.0, of)),
        })
    })
}

const NEW: u32 = NONE;
const OPEN: u32 = NONE - 1;

/// The longest line up from each root, by a depth-first search with a stack of its own.
fn generations(
    stated: &Stated<'_>,
    names: &Names,
    roots: &[u32],
) -> Result<Vec<u32>, PedigreeError> {
    let mut generation = vec![NEW; roots.len()];
    let mut stack: Vec<(u32, usize)> = Vec::new();
    for start in 0..roots.len() as u32 {
        if roots[start as usize] != start || generation[start as usize] != NEW {
            continue;
        }
        generation[start as usize] = OPEN;
        stack.push((start, 0));
        while let Some((clone, next)) = stack.last_mut() {
            let clone = *clone;
            let Some(edge) = loops::edge(stated, clone, *next) else {
                generation[clone as usize] = one_after_parents(stated, roots, clone, &generation);
                stack.pop();
                continue;
            };
            *next += 1;
            let to = roots[edge.named as usize];
            match generation[to as usize] {
                OPEN => return Err(closed(stated, names, &stack, to)),
                NEW => {
                    generation[to as usize] = OPEN;
                    stack.push((to, 0));
                }
                _ => {}
            }
        }
    }
    Ok(generation)
}

fn one_after_parents(stated: &Stated<'_>, roots: &[u32], clone: u32, generation: &[u32]) -> u32 {
    (0..)
        .map_while(|n| loops::edge(stated, clone, n))
        .map(|e| generation[roots[e.named as usize] as usize] + 1)
        .max()
        .unwrap_or(0)
}

fn closed(
    stated: &Stated<'_>,
    names: &Names,
    stack: &[(u32, usize)],
    back_at: u32,
) -> PedigreeError {
    let path: Vec<Edge> = stack
        .iter()
        .skip_while(|(clone, _)| *clone != back_at)
        .filter_map(|&(clone, next)| loops::edge(stated, clone, next - 1))
        .collect();
    loops::of_parents(&path, names)
}

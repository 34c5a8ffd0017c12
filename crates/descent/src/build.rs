//! From rows to genetic individuals: identifiers, clones, loops, order.

use std::collections::HashMap;
use std::sync::OnceLock;

use crate::error::{Link, Loop, LoopStep, PedigreeError};
use crate::individual::{Individual, Parent, Side};
use crate::pedigree::{Genet, Origin, Pedigree};

pub(crate) fn build(individuals: Vec<Individual>) -> Result<Pedigree, PedigreeError> {
    let ids = Ids::of(&individuals)?;
    let roots = clone_roots(&individuals, &ids)?;
    let stated = stated_parents(&individuals, &ids, &roots)?;
    let order = parents_first(&stated, &ids, &roots)?;
    Ok(assemble(ids, &roots, stated, &order))
}

/// Every id of the rows, and every id they mention.
struct Ids {
    names: Vec<String>,
    rows: usize,
    index: HashMap<String, usize>,
}

impl Ids {
    fn of(individuals: &[Individual]) -> Result<Self, PedigreeError> {
        let mut ids = Ids { names: Vec::new(), rows: individuals.len(), index: HashMap::new() };
        for (i, row) in individuals.iter().enumerate() {
            if row.id.trim().is_empty() {
                return Err(PedigreeError::BlankId { row: i + 1 });
            }
            if let Some(&first) = ids.index.get(&row.id) {
                return Err(second_row(&individuals[first], row, first, i));
            }
            ids.add(&row.id);
        }
        for row in individuals {
            for parent in [&row.seed_parent, &row.pollen_parent] {
                match parent {
                    Parent::Known(id) => ids.add(id),
                    Parent::OneOf(candidates) => candidates.iter().for_each(|id| ids.add(id)),
                    Parent::Unknown => {}
                }
            }
            row.clone_of.iter().for_each(|id| ids.add(id));
        }
        Ok(ids)
    }

    fn add(&mut self, id: &str) {
        if !self.index.contains_key(id) {
            self.index.insert(id.to_owned(), self.names.len());
            self.names.push(id.to_owned());
        }
    }

    fn get(&self, id: &str) -> usize {
        self.index[id]
    }

    fn name(&self, i: usize) -> String {
        self.names[i].clone()
    }
}

/// Why a second row for one id cannot stand.
fn second_row(a: &Individual, b: &Individual, first: usize, second: usize) -> PedigreeError {
    match (&a.clone_of, &b.clone_of) {
        (Some(x), Some(y)) if x != y => PedigreeError::CloneOfTwo {
            id: b.id.clone(),
            first: x.clone(),
            second: y.clone(),
            row: second + 1,
        },
        _ => PedigreeError::Duplicate { id: b.id.clone(), first: first + 1, second: second + 1 },
    }
}

/// For each id, the plant that its clone goes back to.
fn clone_roots(individuals: &[Individual], ids: &Ids) -> Result<Vec<usize>, PedigreeError> {
    let mother: Vec<Option<usize>> = (0..ids.names.len())
        .map(|i| individuals.get(i)?.clone_of.as_ref().map(|id| ids.get(id)))
        .collect();
    let mut root: Vec<Option<usize>> = vec![None; mother.len()];
    // The walk in which an id was last met; meeting it again in the same walk is a loop.
    let mut met_in: Vec<usize> = vec![usize::MAX; mother.len()];
    for start in 0..mother.len() {
        let mut path = Vec::new();
        let mut here = start;
        let found = loop {
            if let Some(known) = root[here] {
                break known;
            }
            if met_in[here] == start {
                return Err(clone_loop(&path, here, ids));
            }
            met_in[here] = start;
            path.push(here);
            match mother[here] {
                Some(next) => here = next,
                None => break here,
            }
        };
        for i in path {
            root[i] = Some(found);
        }
    }
    Ok(root.into_iter().enumerate().map(|(i, r)| r.unwrap_or(i)).collect())
}

fn clone_loop(path: &[usize], back_at: usize, ids: &Ids) -> PedigreeError {
    let from = path.iter().position(|&i| i == back_at).unwrap_or(0);
    let ring = &path[from..];
    let steps = ring
        .iter()
        .enumerate()
        .map(|(k, &i)| LoopStep {
            plant: ids.name(i),
            link: Link::CloneOf,
            other: ids.name(ring[(k + 1) % ring.len()]),
        })
        .collect();
    PedigreeError::Circle(Loop(steps))
}

/// One parent as stated, with the id of the plant whose row states it.
#[derive(Clone)]
struct Stated {
    by: usize,
    parent: StatedParent,
}

#[derive(Clone)]
enum StatedParent {
    Known(usize),
    OneOf(Vec<usize>),
}

/// Parents of each clone, by the index of its root: seed, pollen.
type Parents = HashMap<usize, [Option<Stated>; 2]>;

fn stated_parents(
    individuals: &[Individual],
    ids: &Ids,
    roots: &[usize],
) -> Result<Parents, PedigreeError> {
    let mut all = Parents::new();
    for (i, row) in individuals.iter().enumerate() {
        let both = all.entry(roots[i]).or_default();
        for (slot, parent) in both.iter_mut().zip([&row.seed_parent, &row.pollen_parent]) {
            let parent = match parent {
                Parent::Unknown => continue,
                Parent::OneOf(list) if list.is_empty() => continue,
                Parent::Known(id) => StatedParent::Known(ids.get(id)),
                Parent::OneOf(list) => {
                    StatedParent::OneOf(list.iter().map(|id| ids.get(id)).collect())
                }
            };
            let new = Stated { by: i, parent };
            *slot = Some(match slot.take() {
                None => new,
                Some(old) => agree(old, new, ids, roots)?,
            });
        }
    }
    Ok(all)
}

/// Two statements about the same parent of one clone: the more exact one, if they can both be true.
fn agree(old: Stated, new: Stated, ids: &Ids, roots: &[usize]) -> Result<Stated, PedigreeError> {
    match (&old.parent, &new.parent) {
        (StatedParent::Known(a), StatedParent::Known(b)) if roots[*a] != roots[*b] => {
            Err(PedigreeError::PiecesDisagree {
                id: ids.name(old.by),
                parent: ids.name(*a),
                other: ids.name(new.by),
                other_parent: ids.name(*b),
            })
        }
        (StatedParent::OneOf(_), StatedParent::Known(_)) => Ok(new),
        _ => Ok(old),
    }
}

/// A link from one clone to the clone of a (possible) parent.
struct Edge {
    by: usize,
    link: Link,
    named: usize,
}

fn edges(parents: Option<&[Option<Stated>; 2]>) -> Vec<Edge> {
    let mut out = Vec::new();
    for (side, stated) in [Side::Seed, Side::Pollen].into_iter().zip(parents.into_iter().flatten())
    {
        match stated {
            Some(Stated { by, parent: StatedParent::Known(named) }) => {
                let link = if side == Side::Seed { Link::SeedParent } else { Link::PollenParent };
                out.push(Edge { by: *by, link, named: *named });
            }
            Some(Stated { by, parent: StatedParent::OneOf(list) }) => {
                let link = if side == Side::Seed {
                    Link::PossibleSeedParent
                } else {
                    Link::PossiblePollenParent
                };
                out.extend(list.iter().map(|&named| Edge { by: *by, link, named }));
            }
            None => {}
        }
    }
    out
}

/// Roots of all clones, each after the clones of its parents. Depth-first with a stack of its own.
fn parents_first(
    stated: &Parents,
    ids: &Ids,
    roots: &[usize],
) -> Result<Vec<usize>, PedigreeError> {
    #[derive(Clone, Copy, PartialEq)]
    enum State {
        New,
        Open,
        Done,
    }
    let mut state = vec![State::New; roots.len()];
    let mut order = Vec::new();
    for start in 0..roots.len() {
        if roots[start] != start || state[start] == State::Done {
            continue;
        }
        state[start] = State::Open;
        let mut stack = vec![(start, edges(stated.get(&start)), 0)];
        while let Some((clone, links, next)) = stack.last_mut() {
            let Some(edge) = links.get(*next) else {
                state[*clone] = State::Done;
                order.push(*clone);
                stack.pop();
                continue;
            };
            *next += 1;
            let to = roots[edge.named];
            match state[to] {
                State::Done => {}
                State::Open => {
                    let path: Vec<&Edge> = stack
                        .iter()
                        .skip_while(|(c, ..)| *c != to)
                        .filter_map(|(_, links, next)| links.get(next - 1))
                        .collect();
                    return Err(parent_loop(&path, ids));
                }
                State::New => {
                    state[to] = State::Open;
                    stack.push((to, edges(stated.get(&to)), 0));
                }
            }
        }
    }
    Ok(order)
}

fn parent_loop(path: &[&Edge], ids: &Ids) -> PedigreeError {
    let mut steps = Vec::new();
    for (k, edge) in path.iter().enumerate() {
        steps.push(LoopStep {
            plant: ids.name(edge.by),
            link: edge.link,
            other: ids.name(edge.named),
        });
        let next = path[(k + 1) % path.len()];
        if next.by != edge.named {
            steps.push(LoopStep {
                plant: ids.name(edge.named),
                link: Link::SameClone,
                other: ids.name(next.by),
            });
        }
    }
    PedigreeError::Circle(Loop(steps))
}

fn assemble(ids: Ids, roots: &[usize], mut stated: Parents, order: &[usize]) -> Pedigree {
    let mut number = vec![0u32; roots.len()];
    for (n, &root) in (0u32..).zip(order) {
        number[root] = n;
    }
    let origin = |stated: Option<Stated>| match stated.map(|s| s.parent) {
        None => Origin::Unknown,
        Some(StatedParent::Known(named)) => Origin::Known { genet: number[roots[named]], named },
        Some(StatedParent::OneOf(list)) => Origin::OneOf(list),
    };
    let genets: Vec<Genet> = order
        .iter()
        .map(|&root| {
            let [seed, pollen] = stated.remove(&root).unwrap_or_default();
            Genet { id: root, seed: origin(seed), pollen: origin(pollen) }
        })
        .collect();
    Pedigree {
        genet_of: roots.iter().map(|&r| number[r]).collect(),
        inbreeding: genets.iter().map(|_| OnceLock::new()).collect(),
        genets,
        rows: ids.rows,
        index: ids.index,
        ids: ids.names,
    }
}

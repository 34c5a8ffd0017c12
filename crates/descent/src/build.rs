//! From rows to genetic individuals: clones, what their rows say of parents, order.

use std::collections::HashMap;
use std::sync::atomic::AtomicU64;

use crate::builder::{CANDIDATES, PedigreeBuilder, Row};
use crate::error::PedigreeError;
use crate::gametes::{GameteFault, Gametes};
use crate::individual::Side;
use crate::lineage::{Doubt, Lineage};
use crate::loops;
use crate::names::{NONE, Names};
use crate::order;
use crate::pedigree::{NOT_YET, Pedigree};

pub(crate) fn build(mut rows: PedigreeBuilder) -> Result<Pedigree, PedigreeError> {
    number_by_rows(&mut rows);
    let roots = clone_roots(&rows)?;
    let stated = Stated::of(&rows, &roots)?;
    let order = order::parents_first(&stated, &rows.names, &roots, rows.rows.len())?;
    let Nodes { genet_of, lineage, name, named } = assemble(&rows, &roots, &stated, &order)?;
    let mut inbreeding = Vec::new();
    inbreeding.resize_with(lineage.len(), || AtomicU64::new(NOT_YET));
    let (ids, rows) = (rows.names, rows.rows.len());
    Ok(Pedigree { ids, rows, genet_of, lineage, name, named, inbreeding })
}

/// Numbers ids as their rows are, those that are only mentioned after them.
fn number_by_rows(rows: &mut PedigreeBuilder) {
    let mut next = rows.rows.len() as u32;
    let to: Vec<u32> = rows
        .row_of
        .iter()
        .map(|&row| match row {
            NONE => {
                next += 1;
                next - 1
            }
            row => row,
        })
        .collect();
    if to.iter().zip(0..).all(|(&n, i)| n == i) {
        return;
    }
    rows.names.renumber(&to);
    let new = |id: &mut u32| {
        if *id & CANDIDATES == 0 {
            *id = to[*id as usize];
        }
    };
    for row in &mut rows.rows {
        new(&mut row.id);
        row.parents.iter_mut().for_each(new);
        // No parent and no mother has the highest bit as well, and stays as it is.
        new(&mut row.clone_of);
    }
    rows.candidates.iter_mut().flatten().for_each(|c| new(&mut c.0));
}

/// For each id, the plant that its clone goes back to.
fn clone_roots(rows: &PedigreeBuilder) -> Result<Vec<u32>, PedigreeError> {
    let ids = rows.names.len();
    let mut root: Vec<u32> = (0..ids as u32).collect();
    if rows.rows.iter().all(|r| r.clone_of == NONE) {
        return Ok(root);
    }
    let mother = |id: u32| rows.rows.get(id as usize).map_or(NONE, |r| r.clone_of);
    let mut found = vec![false; ids];
    // The walk in which an id was last met; meeting it again in the same walk is a loop.
    let mut met_in = vec![NONE; ids];
    for start in 0..ids as u32 {
        let mut path = Vec::new();
        let mut here = start;
        let end = loop {
            if found[here as usize] {
                break root[here as usize];
            }
            if met_in[here as usize] == start {
                return Err(loops::of_clones(&path, here, &rows.names));
            }
            met_in[here as usize] = start;
            path.push(here);
            match mother(here) {
                NONE => break here,
                next => here = next,
            }
        };
        for id in path {
            root[id as usize] = end;
            found[id as usize] = true;
        }
    }
    Ok(root)
}

/// What the rows of each clone say, by the id of its root.
pub(crate) struct Stated<'a> {
    /// Seed and pollen parent: an id, [`NONE`], or [`CANDIDATES`] with an index.
    pub parents: Vec<[u32; 2]>,
    pub candidates: &'a [Vec<(u32, f64)>],
    /// Empty when all are diploid.
    pub gametes: Vec<Option<Gametes>>,
    /// The row that says so, where it is a piece's.
    by: HashMap<(u32, usize), u32>,
}

/// Under this key stands which row told of the gametes.
const OF_GAMETES: usize = 2;

impl<'a> Stated<'a> {
    fn of(rows: &'a PedigreeBuilder, roots: &[u32]) -> Result<Self, PedigreeError> {
        let mut stated = Stated {
            parents: vec![[NONE; 2]; rows.names.len()],
            candidates: &rows.candidates,
            gametes: Vec::new(),
            by: HashMap::new(),
        };
        for (row, id) in rows.rows.iter().zip(0..) {
            let root = roots[id as usize];
            if root == id && stated.parents[id as usize] == [NONE; 2] {
                stated.parents[id as usize] = row.parents;
                continue;
            }
            for side in 0..2 {
                if row.parents[side] != NONE {
                    stated.parent(row, root, side, &rows.names, roots)?;
                }
            }
        }
        if !rows.gametes.is_empty() {
            stated.gametes = vec![None; rows.names.len()];
            for (told, id) in rows.gametes.iter().zip(0..) {
                if let Some(gametes) = told {
                    stated.gametes_of(*gametes, id, roots[id as usize], &rows.names)?;
                }
            }
            let plain = Gametes::default();
            if stated.gametes.iter().all(|g| g.unwrap_or_default() == plain) {
                stated.gametes = Vec::new();
            }
        }
        Ok(stated)
    }

    /// The id whose row names a parent of this clone.
    pub fn by(&self, root: u32, side: usize) -> u32 {
        self.by.get(&(root, side)).copied().unwrap_or(root)
    }

    /// Two statements about the same parent of one clone: the more exact one, if both can be true.
    fn parent(
        &mut self,
        row: &Row,
        root: u32,
        side: usize,
        names: &Names,
        roots: &[u32],
    ) -> Result<(), PedigreeError> {
        let (old, new) = (self.parents[root as usize][side], row.parents[side]);
        let both_known = (old | new) & CANDIDATES == 0;
        if old != NONE && both_known && roots[old as usize] != roots[new as usize] {
            let name = |id: u32| names.get(id).to_owned();
            return Err(PedigreeError::PiecesDisagree {
                id: name(self.by(root, side)),
                parent: name(old),
                other: name(row.id),
                other_parent: name(new),
            });
        }
        if old == NONE || (old & CANDIDATES != 0 && new & CANDIDATES == 0) {
            self.parents[root as usize][side] = new;
            self.by.insert((root, side), row.id);
        }
        Ok(())
    }

    fn gametes_of(
        &mut self,
        gametes: Gametes,
        id: u32,
        root: u32,
        names: &Names,
    ) -> Result<(), PedigreeError> {
        match self.gametes[root as usize] {
            Some(old) if old != gametes => Err(PedigreeError::GametesDisagree {
                id: names.get(self.by(root, OF_GAMETES)).to_owned(),
                other: names.get(id).to_owned(),
            }),
            Some(_) => Ok(()),
            None => {
                self.gametes[root as usize] = Some(gametes);
                if id != root {
                    self.by.insert((root, OF_GAMETES), id);
                }
                Ok(())
            }
        }
    }
}

/// What a [`Pedigree`] has besides ids; the fields are described there.
struct Nodes {
    genet_of: Vec<u32>,
    lineage: Lineage,
    name: Vec<u32>,
    named: Vec<[u32; 2]>,
}

fn assemble(
    rows: &PedigreeBuilder,
    roots: &[u32],
    stated: &Stated<'_>,
    order: &[u32],
) -> Result<Nodes, PedigreeError> {
    let mixed_ploidy = !stated.gametes.is_empty();
    let nodes = order.len() + stated.candidates.len();
    let mut number = vec![NONE; roots.len()];
    let mut lineage = Lineage::with_capacity(nodes, mixed_ploidy);
    let (mut name, mut named) = (Vec::with_capacity(nodes), Vec::with_capacity(nodes));
    for &root in order {
        let both = stated.parents[root as usize];
        let parents = both.map(|parent| match parent {
            NONE => NONE,
            known if known & CANDIDATES == 0 => number[roots[known as usize] as usize],
            list => {
                let list = &stated.candidates[(list & !CANDIDATES) as usize];
                let node = |id: u32| number[roots[id as usize] as usize];
                let doubt = Doubt {
                    candidates: list.iter().map(|&(id, w)| (node(id), w)).collect(),
                    ids: list.iter().map(|c| c.0).collect(),
                };
                name.push(NONE);
                named.push([NONE; 2]);
                lineage.push_doubt(doubt, mixed_ploidy)
            }
        });
        let gametes = mixed_ploidy.then(|| stated.gametes[root as usize].unwrap_or_default());
        if let Some(g) = gametes {
            possible(&lineage, parents, g, root, stated, rows)?;
        }
        number[root as usize] = lineage.push(parents, gametes);
        name.push(root);
        named.push(both.map(|p| if p & CANDIDATES == 0 { p } else { NONE }));
    }
    let genet_of = if order.len() == roots.len() && name.iter().zip(0..).all(|(&n, i)| n == i) {
        number
    } else {
        roots.iter().map(|&r| number[r as usize]).collect()
    };
    Ok(Nodes { genet_of, lineage, name, named })
}

/// Whether parents with their ploidy can give such gametes.
fn possible(
    lineage: &Lineage,
    parents: [u32; 2],
    gametes: Gametes,
    root: u32,
    stated: &Stated<'_>,
    rows: &PedigreeBuilder,
) -> Result<(), PedigreeError> {
    for (side, parent) in parents.into_iter().enumerate().filter(|p| p.1 != NONE) {
        let copies = gametes.copies[side];
        let ploidies = match lineage.doubt(parent) {
            Some(d) => d.candidates.iter().map(|c| lineage.gametes(c.0).ploidy()).collect(),
            None => vec![lineage.gametes(parent).ploidy()],
        };
        for ploidy in ploidies {
            let least = Gametes::least_double_reduction(copies, ploidy);
            // A share that was typed with a few digits is as good as the exact one.
            if gametes.double_reduction[side] < least - 1e-6 {
                let by = stated.by(root, OF_GAMETES);
                let fault =
                    GameteFault::TooFewToDrawFrom { side: Side::BOTH[side], copies, ploidy, least };
                let id = rows.names.get(by).to_owned();
                return Err(PedigreeError::Gametes { row: by as usize + 1, id, fault });
            }
        }
    }
    Ok(())
}

//! Rows as they come, without keeping a text for each cell.

use crate::build;
use crate::error::PedigreeError;
use crate::gametes::Gametes;
use crate::individual::{Individual, Parent, Side};
use crate::names::{NONE, Names};
use crate::pedigree::Pedigree;

/// In the place of a parent: the rest is an index into the lists of candidates.
pub(crate) const CANDIDATES: u32 = 1 << 31;

/// Takes a pedigree row by row; a million rows take some tenths of a second.
///
/// ```
/// use descent::{PedigreeBuilder, Side};
///
/// let mut rows = PedigreeBuilder::new();
/// rows.row("Fen Candle", "Low Lantern", "", "")?;
/// rows.candidates(Side::Pollen, &[("Grey Ferry", 3.0), ("Low Lantern", 1.0)])?;
/// let pedigree = rows.build()?;
/// assert_eq!(pedigree.inbreeding("Fen Candle")?, 0.125);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug)]
pub struct PedigreeBuilder {
    pub(crate) names: Names,
    /// For each name, its row.
    pub(crate) row_of: Vec<u32>,
    pub(crate) rows: Vec<Row>,
    pub(crate) candidates: Vec<Candidates>,
    /// Empty when no row told of its gametes.
    pub(crate) gametes: Vec<Option<Gametes>>,
    /// What was read in passing; kept so that it must be read.
    touched: u32,
}

/// One row: numbers of names, and [`NONE`] for a blank.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Row {
    pub id: u32,
    pub parents: [u32; 2],
    pub clone_of: u32,
}

/// Those who may be a parent, with weights that add up to 1.
pub(crate) type Candidates = Vec<(u32, f64)>;

impl Default for PedigreeBuilder {
    fn default() -> Self {
        Self::new()
    }
}

impl PedigreeBuilder {
    /// No rows yet.
    pub fn new() -> Self {
        Self::with_capacity(0, 0)
    }

    /// With room for so many rows whose ids have so many bytes together.
    pub fn with_capacity(rows: usize, text: usize) -> Self {
        PedigreeBuilder {
            names: Names::with_capacity(rows, text),
            row_of: Vec::with_capacity(rows),
            rows: Vec::with_capacity(rows),
            candidates: Vec::new(),
            gametes: Vec::new(),
            touched: 0,
        }
    }

    /// Adds a row; a blank text means unknown, or that the plant is no piece of another.
    ///
    /// # Errors
    /// A blank or repeated id, or a plant that is a clone of two things.
    pub fn row(
        &mut self,
        id: &str,
        seed_parent: &str,
        pollen_parent: &str,
        clone_of: &str,
    ) -> Result<(), PedigreeError> {
        let number = self.rows.len() + 1;
        if id.trim().is_empty() {
            return Err(PedigreeError::BlankId { row: number });
        }
        let id = self.name(id)?;
        if self.row_of[id as usize] != NONE {
            return Err(self.second_row(id, clone_of));
        }
        self.row_of[id as usize] = self.rows.len() as u32;
        let row = Row {
            id,
            parents: [self.cell(seed_parent)?, self.cell(pollen_parent)?],
            clone_of: self.cell(clone_of)?,
        };
        self.rows.push(row);
        Ok(())
    }

    /// Says which ids the next rows will have: some dozens, before those rows are added. It changes
    /// nothing, but in large registers it spares waiting for memory.
    pub fn expect<'n>(&mut self, ids: impl IntoIterator<Item = &'n str>) {
        self.touched ^= self.names.touch(ids.into_iter());
    }

    /// Says that a parent of the last row is one of several, with weights above 0 \[any unit\].
    /// Without candidates the parent stays as it is.
    ///
    /// # Errors
    /// A weight that is not a number above 0.
    pub fn candidates(
        &mut self,
        side: Side,
        candidates: &[(&str, f64)],
    ) -> Result<(), PedigreeError> {
        let row = self.rows.len();
        let Some(id) = self.rows.last().map(|r| r.id) else { return Ok(()) };
        let mut list = Candidates::new();
        for &(parent, weight) in candidates {
            if !(weight > 0.0 && weight.is_finite()) {
                return Err(PedigreeError::Weight {
                    row,
                    id: self.names.get(id).to_owned(),
                    parent: parent.to_owned(),
                    weight,
                });
            }
            list.push((self.name(parent)?, weight));
        }
        let sum: f64 = list.iter().map(|c| c.1).sum();
        list.iter_mut().for_each(|c| c.1 /= sum);
        if let Some(last) = self.rows.last_mut().filter(|_| !list.is_empty()) {
            last.parents[side as usize] = CANDIDATES | self.candidates.len() as u32;
            self.candidates.push(list);
        }
        Ok(())
    }

    /// Says from which gametes the last row came; without this it is a diploid.
    ///
    /// # Errors
    /// Numbers that cannot be.
    pub fn gametes(&mut self, gametes: Gametes) -> Result<(), PedigreeError> {
        let Some(last) = self.rows.last() else { return Ok(()) };
        if let Some(fault) = gametes.fault() {
            let id = self.names.get(last.id).to_owned();
            return Err(PedigreeError::Gametes { row: self.rows.len(), id, fault });
        }
        self.gametes.resize(self.rows.len(), None);
        if let Some(g) = self.gametes.last_mut() {
            *g = Some(gametes.tidy());
        }
        Ok(())
    }

    /// Puts the rows in order.
    ///
    /// # Errors
    /// Pieces of one clone that disagree, gametes that their parents cannot give, or a loop (a
    /// plant that would be its own ancestor), named in full.
    pub fn build(self) -> Result<Pedigree, PedigreeError> {
        build::build(self)
    }

    pub(crate) fn individual(&mut self, i: &Individual) -> Result<(), PedigreeError> {
        let known = |p: &Parent| match p {
            Parent::Known(id) => id.clone(),
            _ => String::new(),
        };
        let clone = i.clone_of.as_deref().unwrap_or("");
        self.row(&i.id, &known(&i.seed_parent), &known(&i.pollen_parent), clone)?;
        for (side, parent) in Side::BOTH.into_iter().zip([&i.seed_parent, &i.pollen_parent]) {
            if let Parent::OneOf(list) = parent {
                let equal: Vec<(&str, f64)> = list.iter().map(|id| (id.as_str(), 1.0)).collect();
                self.candidates(side, &equal)?;
            }
        }
        Ok(())
    }

    fn name(&mut self, name: &str) -> Result<u32, PedigreeError> {
        let number = self.names.add(name)?;
        if number as usize == self.row_of.len() {
            self.row_of.push(NONE);
        }
        Ok(number)
    }

    fn cell(&mut self, text: &str) -> Result<u32, PedigreeError> {
        if text.is_empty() { Ok(NONE) } else { self.name(text) }
    }

    /// Why a second row for one id cannot stand.
    fn second_row(&self, id: u32, clone_of: &str) -> PedigreeError {
        let first = self.row_of[id as usize] as usize;
        let (name, row) = (self.names.get(id).to_owned(), self.rows.len() + 1);
        match self.rows[first].clone_of {
            NONE => PedigreeError::Duplicate { id: name, first: first + 1, second: row },
            mother if clone_of.is_empty() || self.names.get(mother) == clone_of => {
                PedigreeError::Duplicate { id: name, first: first + 1, second: row }
            }
            mother => PedigreeError::CloneOfTwo {
                id: name,
                first: self.names.get(mother).to_owned(),
                second: clone_of.to_owned(),
                row,
            },
        }
    }
}

//! A line of the list cut into its fields, before anything is understood.

use jiff::civil::Date;

use crate::{Mapping, Role, fate::Fate, sheet::Cell};

/// The fields of one row, as typed.
#[derive(Debug, Clone)]
pub(crate) struct Input {
    /// Position of its sheet in [`Layout::sheets`].
    pub sheet: usize,
    pub row: u32,
    pub cells: Vec<String>,
    pub name: String,
    pub seed: String,
    pub pollen: String,
    pub parents: String,
    pub source: String,
    pub date: Option<Cell>,
    pub received: String,
    pub price: Option<Cell>,
    pub currency: String,
    pub pot: String,
    pub place: String,
    pub place_merged: bool,
    pub state: String,
    pub tag: String,
    pub count: String,
    pub notes: Vec<String>,
    /// Genus of the heading it stands under.
    pub genus: Option<String>,
    pub heading_fate: Option<Fate>,
    pub colour_fate: Option<Fate>,
    /// Codes the layout itself gives rise to.
    pub codes: Vec<&'static str>,
}

impl Input {
    pub(crate) fn new(sheet: usize, row: u32, cells: Vec<String>) -> Self {
        Self {
            sheet,
            row,
            cells,
            name: String::new(),
            seed: String::new(),
            pollen: String::new(),
            parents: String::new(),
            source: String::new(),
            date: None,
            received: String::new(),
            price: None,
            currency: String::new(),
            pot: String::new(),
            place: String::new(),
            place_merged: false,
            state: String::new(),
            tag: String::new(),
            count: String::new(),
            notes: Vec::new(),
            genus: None,
            heading_fate: None,
            colour_fate: None,
            codes: Vec::new(),
        }
    }
}

/// What holds for a whole sheet.
#[derive(Debug, Clone)]
pub(crate) struct About {
    pub name: Option<String>,
    pub mapping: Mapping,
    pub labels: bool,
    /// Currency named in the header.
    pub currency: Option<String>,
    /// Unit named in the header of the pots.
    pub pot_unit: Option<&'static str>,
    /// The sheet says that the mother comes first.
    pub mother_first: bool,
    /// When the sheet says it was written.
    pub written: Option<Date>,
}

impl About {
    pub(crate) fn has(&self, role: Role) -> bool {
        self.mapping.columns.contains(&role)
    }
}

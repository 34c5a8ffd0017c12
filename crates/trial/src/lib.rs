//! Simulated growers with known truth, and the demo.
//!
//! [`demo`] makes three years of an invented grower's journal that end on a given day, together
//! with the [`Truth`] by which it was made. The same day always gives the same operations, down
//! to the identifiers. [`lists`] makes messy plant lists of any length with what each row says.
//!
//! This crate imports no engine: what later recovers the truth from the journal was not used to
//! make it.

pub mod breeders;
mod demo;
pub mod flowers;
pub mod lists;
mod rng;
mod truth;
pub mod water;

use jiff::civil::Date;
use journal::{Journal, Operation};

pub use demo::{demo, doubtful_names, grower};
pub use truth::{
    BatchTruth, CloneTruth, CrossTruth, FLOWER_SHAPE, FlowerTruth, LOOK_DAYS, PlantTruth,
    SAME_DRYING, SAME_WINTER, Truth,
};

/// A simulated journal and the truth behind it.
#[derive(Debug, Clone, PartialEq)]
pub struct Demo {
    /// What the grower wrote, oldest first.
    pub operations: Vec<Operation>,
    /// By what it was made.
    pub truth: Truth,
}

/// Writes the demo into a record that is empty.
///
/// # Errors
/// Those of writing an operation; the operations before it have been written then.
pub fn write_demo(journal: &Journal, today: Date) -> Result<(), journal::Error> {
    for photo in demo::photo_files() {
        journal.keep_photo(&photo)?;
    }
    for operation in &demo(today).operations {
        journal.write(operation)?;
    }
    for (key, value) in demo::HOUSE {
        journal.set_setting(key, value)?;
    }
    Ok(())
}

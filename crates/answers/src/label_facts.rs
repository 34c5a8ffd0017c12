//! What a label says of a plant: less than its page, so that a thousand are quick.

use journal::{CloneRow, PlantRow, Reader};
use serde::Serialize;

use crate::{AskError, Hand, NameText, Result, plant_page};

/// What a label says of a plant.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LabelFacts {
    /// The plant.
    pub plant: PlantRow,
    /// Its clone.
    pub clone: CloneRow,
    /// What it is called here.
    pub name: NameText,
}

/// What the label of a plant says.
///
/// # Errors
/// If there is no such plant or the record cannot be read.
pub fn label_facts(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<LabelFacts> {
    let absent = |kind: &'static str| AskError::NotThere {
        kind,
        which: number.to_string(),
        next: "the list of plants shows which there are",
    };
    let plant = reader.plant(number)?.ok_or_else(|| absent("plant"))?;
    let clone = reader.clone_by_id(plant.clone)?.ok_or_else(|| absent("clone"))?;
    let seedling = plant_page::seedling_number(reader, &clone)?;
    let name = plant_page::display_name(&plant.name, seedling.as_deref(), hand);
    Ok(LabelFacts { plant, clone, name })
}

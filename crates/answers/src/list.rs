//! The list of plants: which, in what order, and what each line says.

use journal::{PlantFilter, PlantRow, PlantSort, Reader};
use serde::Serialize;

use crate::{Hand, NameText, Result, name_text};

/// How many plants a page of the list has.
pub const PAGE: usize = 100;

/// What the list shows, as it stands in the address.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PlantListQuery {
    /// Which plants.
    pub filter: PlantFilter,
    /// In which order.
    pub sort: PlantSort,
    /// Which page, from 1.
    pub page: usize,
}

/// One line of the list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ListRow {
    /// The plant.
    pub plant: PlantRow,
    /// Its name, set.
    pub name: NameText,
    /// When it came, in words.
    pub came: String,
    /// The latest entry's day, in words.
    pub last: String,
}

/// A page of the list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ListPage {
    /// Its lines.
    pub rows: Vec<ListRow>,
    /// How many plants the whole list has.
    pub total: i64,
    /// Which page, from 1.
    pub page: usize,
    /// How many pages there are.
    pub pages: usize,
    /// Words of the search that were read as other words of the record.
    pub read_as: Vec<(String, Vec<String>)>,
}

/// Lists plants.
///
/// # Errors
/// If the record cannot be read.
pub fn list_plants(reader: &Reader<'_>, query: &PlantListQuery, hand: &Hand) -> Result<ListPage> {
    let page = query.page.max(1);
    let found = reader.plants(&query.filter, query.sort, (page - 1) * PAGE, PAGE)?;
    let read_as = match &query.filter.words {
        Some(words) => reader.search(words)?.read_as,
        None => Vec::new(),
    };
    let total = usize::try_from(found.total).unwrap_or(0);
    let rows = found
        .rows
        .into_iter()
        .map(|plant| ListRow {
            name: if plant.name.is_empty() {
                NameText::words(hand.texts().t("not named"))
            } else {
                name_text(&plant.name)
            },
            came: plant.came.as_ref().map(|d| dates::say(d, hand.lang, None)).unwrap_or_default(),
            last: plant
                .last_day
                .and_then(|d| i32::try_from(d).ok())
                .and_then(dates::from_days)
                .map(|d| dates::say(&dates::Edtf::from_day(d), hand.lang, Some(hand.today)))
                .unwrap_or_default(),
            plant,
        })
        .collect();
    Ok(ListPage { rows, total: found.total, page, pages: total.div_ceil(PAGE).max(1), read_as })
}

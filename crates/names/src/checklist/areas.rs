//! Level-3 areas of the World Geographical Scheme for Recording Plant Distributions.

use crate::text::fold;
use serde::Serialize;
use std::sync::OnceLock;

const TABLE: &[u8] = include_bytes!("../../data/wgsrpd_level3.csv");

/// One level-3 area with the region and continent it lies in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Area {
    /// Level-3 code, three letters.
    pub code: String,
    /// Level-3 name.
    pub name: String,
    /// Level-2 region.
    pub region: String,
    /// Level-1 continent.
    pub continent: String,
}

/// The 369 areas.
#[derive(Debug)]
pub struct Areas {
    rows: Vec<Area>,
}

impl Areas {
    /// The areas, read once.
    pub fn all() -> &'static Areas {
        static AREAS: OnceLock<Areas> = OnceLock::new();
        AREAS.get_or_init(|| {
            let mut reader = csv::Reader::from_reader(TABLE);
            let field = |record: &csv::StringRecord, at: usize| {
                record.get(at).unwrap_or_default().to_owned()
            };
            let mut rows: Vec<Area> = reader
                .records()
                .filter_map(Result::ok)
                .map(|record| Area {
                    code: field(&record, 0),
                    name: field(&record, 1),
                    region: field(&record, 3),
                    continent: field(&record, 5),
                })
                .collect();
            rows.sort_by(|a, b| a.code.cmp(&b.code));
            Areas { rows }
        })
    }

    /// The areas in the order of their codes.
    pub fn iter(&self) -> impl Iterator<Item = &Area> {
        self.rows.iter()
    }

    /// An area by its code.
    pub fn get(&self, code: &str) -> Option<&Area> {
        self.rows.binary_search_by(|row| row.code.as_str().cmp(code)).ok().map(|at| &self.rows[at])
    }

    /// The areas that a word means: a code, the name of an area, a region or a continent, whatever
    /// its case and diacritics; a name that is the start of several areas' names ("Mexico") means
    /// all of them. Empty if nothing fits.
    pub fn find(&self, text: &str) -> Vec<&Area> {
        let wanted = fold(text.trim());
        if wanted.is_empty() {
            return Vec::new();
        }
        let by = |test: &dyn Fn(&Area) -> bool| -> Vec<&Area> {
            self.rows.iter().filter(|row| test(row)).collect()
        };
        let exact = by(&|row| fold(&row.code) == wanted || fold(&row.name) == wanted);
        if !exact.is_empty() {
            return exact;
        }
        let larger = by(&|row| fold(&row.region) == wanted || fold(&row.continent) == wanted);
        if !larger.is_empty() {
            return larger;
        }
        by(&|row| fold(&row.name).strip_prefix(&wanted).is_some_and(|rest| rest.starts_with(' ')))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn areas_by_code_name_region_and_start() {
        let areas = Areas::all();
        assert_eq!(areas.iter().count(), 369);
        assert_eq!(areas.get("BOR").map(|area| area.name.as_str()), Some("Borneo"));
        let codes = |text: &str| -> Vec<String> {
            areas.find(text).iter().map(|area| area.code.clone()).collect()
        };
        assert_eq!(codes("bor"), ["BOR"]);
        assert_eq!(codes("borneo"), ["BOR"]);
        assert!(codes("Mexico").len() >= 6, "{:?}", codes("Mexico"));
        assert!(codes("Malesia").contains(&"BOR".to_owned()), "{:?}", codes("Malesia"));
        assert!(codes("").is_empty() && codes("Nowhere").is_empty());
    }
}

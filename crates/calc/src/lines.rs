//! A pedigree as the mixed models need it.

use std::{collections::HashMap, path::Path};

use descent::Pedigree;
use stats::{mixed::InverseRelation, pedigree::Lines};

use crate::{
    Problem, Result,
    descent::{DescentArgs, pedigree},
    table::Input,
};

/// A table of parents, read.
pub struct Parents {
    input: Input,
    known: Pedigree,
    /// All individuals; pieces of a clone are one.
    pub levels: Vec<String>,
    place: HashMap<String, usize>,
}

impl Parents {
    /// Reads the table.
    pub fn read(path: &Path) -> Result<Self> {
        let input = Input::read(path)?;
        let known = pedigree(&input, &DescentArgs::parents(path.to_path_buf()))?;
        let mut levels: Vec<String> = Vec::new();
        let mut place = HashMap::new();
        for id in known.ids() {
            // Pieces of a clone are one individual.
            if known.clone_id(id).is_ok_and(|own| own == id) {
                place.insert(id.to_owned(), levels.len());
                levels.push(id.to_owned());
            }
        }
        Ok(Parents { input, known, levels, place })
    }

    /// The individual of each record.
    pub fn of_records(&self, input: &Input, column: &str) -> Result<Vec<u32>> {
        let find = |(row, id): (usize, &str)| {
            self.at(id).ok_or_else(|| {
                let expected = format!("an individual of {}", self.input.file());
                let next = "add it to the pedigree, without parents if they are unknown";
                Problem::cell(input.file(), row, column, id, expected, next)
            })
        };
        input.column(column)?.into_iter().map(find).collect()
    }

    /// The relationship by the non-zeros of its inverse.
    pub fn inverse(&self) -> Result<InverseRelation> {
        let inverse = self.known.inverse().map_err(|e| self.failed(&e.to_string()))?;
        let triplets: Vec<(usize, usize, f64)> =
            inverse.iter().map(|e| (self.place[&e.a], self.place[&e.b], e.value)).collect();
        let relation = InverseRelation::new(self.levels.len(), &triplets);
        relation.map_err(|e| self.failed(&e.to_string()))
    }

    /// Who descends from whom; none where that is not what the relationship is made of.
    pub fn lines(&self) -> Result<Option<Lines>> {
        let mut parents: Vec<[Option<u32>; 2]> = vec![[None; 2]; self.levels.len()];
        let ids = self.input.column("id")?;
        for (side, column) in ["seed_parent", "pollen_parent"].into_iter().enumerate() {
            for ((_, id), (_, parent)) in ids.iter().zip(self.input.column(column)?) {
                // A piece whose row is silent has the parents of its clone.
                if let (Some(own), Some(parent)) = (self.at(id), self.at(parent)) {
                    parents[own as usize][side] = Some(parent);
                }
            }
        }
        let inbreeding = self.levels.iter().map(|id| self.known.inbreeding(id));
        let inbreeding = inbreeding.collect::<std::result::Result<Vec<f64>, _>>();
        let inbreeding = inbreeding.map_err(|e| self.failed(&e.to_string()))?;
        let Ok(lines) = Lines::new(parents, inbreeding) else { return Ok(None) };
        let expected = self.known.log_determinant().map_err(|e| self.failed(&e.to_string()))?;
        // Rounding grows with the number of terms.
        let near = 1e-9 * (1.0 + expected.abs());
        Ok(((lines.log_determinant() - expected).abs() <= near).then_some(lines))
    }

    fn at(&self, id: &str) -> Option<u32> {
        let own = self.known.clone_id(id).ok()?;
        self.place.get(own).map(|p| *p as u32)
    }

    fn failed(&self, text: &str) -> Problem {
        let (what, next) = text.rsplit_once("; ").unwrap_or((text, "correct the table"));
        Problem::input(format!("{}: {what}", self.input.file()), next.to_owned())
    }
}

//! From records to a table of entries, checked against the method.

use std::collections::HashMap;

use super::{DiallelError, Entry, Method};

/// The most missing entries that a message names.
const NAMED: usize = 10;

/// Records by entry.
#[derive(Debug)]
pub(super) struct Cells {
    pub parents: Vec<String>,
    /// For each entry (seed parent, pollen parent), by rows: the records.
    records: Vec<Vec<usize>>,
}

impl Cells {
    pub fn of(entries: &[Entry], method: Method) -> Result<Self, DiallelError> {
        let mut parents: Vec<String> = Vec::new();
        let mut place: HashMap<&str, usize> = HashMap::new();
        for (i, e) in entries.iter().enumerate() {
            if !e.y.is_finite() {
                return Err(DiallelError::NotFinite { record: i + 1, value: e.y });
            }
            for name in [&e.seed_parent, &e.pollen_parent] {
                if name.trim().is_empty() {
                    return Err(DiallelError::NoParent { record: i + 1 });
                }
                place.entry(name).or_insert_with(|| {
                    parents.push(name.clone());
                    parents.len() - 1
                });
            }
        }
        let p = parents.len();
        let mut records = vec![Vec::new(); p * p];
        for (i, e) in entries.iter().enumerate() {
            records[place[e.seed_parent.as_str()] * p + place[e.pollen_parent.as_str()]].push(i);
        }
        let cells = Cells { parents, records };
        cells.check(method)?;
        Ok(cells)
    }

    pub fn of_entry(&self, seed: usize, pollen: usize) -> &[usize] {
        &self.records[seed * self.parents.len() + pollen]
    }

    /// The entries that there are, seed parent and pollen parent.
    pub fn entries(&self) -> impl Iterator<Item = (usize, usize)> + '_ {
        let p = self.parents.len();
        (0..p * p).filter(|k| !self.records[*k].is_empty()).map(move |k| (k / p, k % p))
    }

    fn check(&self, method: Method) -> Result<(), DiallelError> {
        let p = self.parents.len();
        let least = if method.selfs() { 2 } else { 3 };
        if p < least {
            return Err(DiallelError::FewParents { found: p, least });
        }
        let there = |i: usize, j: usize| !self.of_entry(i, j).is_empty();
        let name = |i: usize| self.parents[i].clone();
        let mut missing = Vec::new();
        for i in 0..p {
            match (there(i, i), method.selfs()) {
                (true, false) => return Err(DiallelError::Selfed { parent: name(i) }),
                (false, true) => missing.push(format!("{0} × {0}", self.parents[i])),
                _ => {}
            }
            for j in i + 1..p {
                let cross = |i: usize, j: usize| format!("{} × {}", name(i), name(j));
                match (there(i, j), there(j, i), method.both_ways()) {
                    (true, true, false) => {
                        return Err(DiallelError::BothWays { a: name(i), b: name(j) });
                    }
                    (false, false, true) => missing.extend([cross(i, j), cross(j, i)]),
                    (false, _, true) | (false, false, false) => missing.push(cross(i, j)),
                    (true, false, true) => missing.push(cross(j, i)),
                    _ => {}
                }
            }
        }
        if missing.is_empty() {
            return Ok(());
        }
        let more = missing.len().saturating_sub(NAMED);
        missing.truncate(NAMED);
        let mut names = missing.join(", ");
        if more > 0 {
            names += &format!(" and {more} more");
        }
        Err(DiallelError::Missing { names })
    }
}

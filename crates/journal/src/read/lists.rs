//! The list of plants: filter, order, page.

use rusqlite::{OptionalExtension as _, ToSql, params_from_iter};

use super::{
    Reader,
    rows::{self, PLANT_COLUMNS, PageOf, PlantFilter, PlantRow, PlantSort},
};
use crate::{Code, Result, Uid};

/// A list of more plants than this is walked in its order instead of sorted.
const MANY: i64 = 2_000;

type Values = Vec<Box<dyn ToSql>>;

impl Reader<'_> {
    /// A page of the list of plants.
    ///
    /// # Errors
    /// Those of the file.
    pub fn plants(
        &self,
        filter: &PlantFilter,
        sort: PlantSort,
        offset: usize,
        limit: usize,
    ) -> Result<PageOf<PlantRow>> {
        let (conditions, values) = self.conditions(filter)?;
        let wherever = conjunction(&conditions, "");
        let refs = || params_from_iter(values.iter().map(AsRef::as_ref));
        let total: i64 = self
            .conn()
            .prepare_cached(&format!("SELECT count(*) FROM plant p{wherever}"))?
            .query_row(refs(), |r| r.get(0))?;
        let order = match sort {
            PlantSort::Name => "p.sort, p.number",
            PlantSort::Number => "p.number",
            PlantSort::Came => "p.came_from DESC, p.number DESC",
            PlantSort::Last => "p.last_day DESC, p.number DESC",
            PlantSort::Place => "(p.place_name = ''), p.place_name, p.sort, p.number",
            PlantSort::Keeper => "(p.keeper_name = ''), p.keeper_name, p.sort, p.number",
        };
        // Few plants are looked up and sorted. Many are met by walking the order of the list and
        // leaving out the others; a plus before a column keeps SQLite from looking it up.
        let wherever = if total > MANY { conjunction(&conditions, "+") } else { wherever };
        // The page is cut on identifiers alone, so that only its rows are read in full.
        let mut stmt = self.conn().prepare_cached(&format!(
            "SELECT {PLANT_COLUMNS} FROM
               (SELECT p.id FROM plant p{wherever} ORDER BY {order} LIMIT {limit} OFFSET {offset}) page
             JOIN plant p ON p.id = page.id JOIN subject s ON s.id = p.id ORDER BY {order}"
        ))?;
        let rows = stmt.query_map(refs(), rows::plant)?.collect::<rusqlite::Result<_>>()?;
        Ok(PageOf { rows, total })
    }

    /// Numbers of all plants of a filter, in order of number: for acts on a whole set.
    ///
    /// # Errors
    /// Those of the file.
    pub fn plant_numbers(&self, filter: &PlantFilter) -> Result<Vec<i64>> {
        let (conditions, values) = self.conditions(filter)?;
        let wherever = conjunction(&conditions, "");
        let mut stmt = self
            .conn()
            .prepare_cached(&format!("SELECT number FROM plant p{wherever} ORDER BY number"))?;
        Ok(stmt
            .query_map(params_from_iter(values.iter().map(AsRef::as_ref)), |r| r.get(0))?
            .collect::<rusqlite::Result<_>>()?)
    }

    /// Conditions, each beginning with the column that it is about.
    fn conditions(&self, filter: &PlantFilter) -> Result<(Vec<String>, Values)> {
        let mut parts: Vec<String> = Vec::new();
        let mut values: Values = Vec::new();
        let mut add = |sql: &str, value: Box<dyn ToSql>| {
            values.push(value);
            parts.push(sql.replace("?", &format!("?{}", values.len())));
        };
        if let Some(genus) = &filter.genus {
            add("p.genus = ?", Box::new(genus.clone()));
        }
        if let Some(place) = filter.place {
            add(
                "p.place = (SELECT id FROM subject WHERE kind='place' AND number = ?)",
                Box::new(place),
            );
        }
        if let Some(keeper) = filter.keeper {
            add(
                "p.keeper = (SELECT id FROM subject WHERE kind='keeper' AND number = ?)",
                Box::new(keeper),
            );
        }
        if let Some(state) = &filter.state {
            add("p.state = ?", Box::new(state.clone()));
        }
        if let Some(received) = &filter.received_as {
            add("p.received_as = ?", Box::new(received.clone()));
        }
        if let Some(clone) = filter.clone {
            add(
                "p.clone = (SELECT id FROM subject WHERE kind='clone' AND number = ?)",
                Box::new(clone),
            );
        }
        if let Some(own) = filter.own {
            add("p.own = ?", Box::new(own));
        }
        if let Some(words) = filter.words.as_ref().filter(|w| !w.trim().is_empty()) {
            // The whole set, not only what a search shows: acts on all plants of a filter
            // must reach all of them.
            match self.matching(words)?.query {
                Some(query) => {
                    add("p.id IN (SELECT rowid FROM search WHERE search MATCH ?)", Box::new(query))
                }
                None => add("?", Box::new(false)),
            }
        }
        if !filter.numbers.is_empty() {
            add(
                "p.number IN (SELECT value FROM json_each(?))",
                Box::new(json_list(&filter.numbers)),
            );
        }
        match filter.missing.as_deref() {
            Some("name") => parts.push("p.name = ''".to_owned()),
            Some("date") => parts.push("p.came_from IS NULL".to_owned()),
            Some("parents") => parts.push("p.parents = ''".to_owned()),
            Some("place") => parts.push("p.place IS NULL".to_owned()),
            Some("keeper") => parts.push("p.keeper IS NULL AND NOT p.own".to_owned()),
            _ => {}
        }
        Ok((parts, values))
    }

    /// The plant of this number.
    ///
    /// # Errors
    /// Those of the file.
    pub fn plant(&self, number: i64) -> Result<Option<PlantRow>> {
        self.one_plant("p.number = ?1", &number)
    }

    /// The plant of this code.
    ///
    /// # Errors
    /// Those of the file.
    pub fn plant_by_code(&self, code: Code) -> Result<Option<PlantRow>> {
        self.one_plant("p.id = (SELECT id FROM subject WHERE code = ?1)", &code.as_str())
    }

    /// The plant of this identifier.
    ///
    /// # Errors
    /// Those of the file.
    pub fn plant_by_uid(&self, uid: Uid) -> Result<Option<PlantRow>> {
        self.one_plant("s.uid = ?1", &uid)
    }

    /// The plant in this row.
    ///
    /// # Errors
    /// Those of the file.
    pub fn plant_by_id(&self, id: i64) -> Result<Option<PlantRow>> {
        self.one_plant("p.id = ?1", &id)
    }

    fn one_plant(&self, condition: &str, value: &dyn ToSql) -> Result<Option<PlantRow>> {
        Ok(self
            .conn()
            .prepare_cached(&format!(
                "SELECT {PLANT_COLUMNS} FROM plant p JOIN subject s ON s.id = p.id WHERE {condition}"
            ))?
            .query_row([value], rows::plant)
            .optional()?)
    }

    /// Plants that are pieces of a clone, by number.
    ///
    /// # Errors
    /// Those of the file.
    pub fn pieces(&self, clone: i64) -> Result<Vec<PlantRow>> {
        let mut stmt = self.conn().prepare_cached(&format!(
            "SELECT {PLANT_COLUMNS} FROM plant p JOIN subject s ON s.id = p.id
             WHERE p.clone = ?1 ORDER BY p.number"
        ))?;
        Ok(stmt.query_map([clone], rows::plant)?.collect::<rusqlite::Result<_>>()?)
    }

    /// Genera in the collection with the number of plants of each state given, by name.
    ///
    /// # Errors
    /// Those of the file.
    pub fn genera(&self, state: Option<&str>) -> Result<Vec<(String, i64)>> {
        let mut stmt = self.conn().prepare_cached(
            "SELECT genus, count(*) FROM plant WHERE genus <> '' AND (?1 IS NULL OR state = ?1)
             GROUP BY genus ORDER BY genus",
        )?;
        Ok(stmt
            .query_map([state], |r| Ok((r.get(0)?, r.get(1)?)))?
            .collect::<rusqlite::Result<_>>()?)
    }
}

/// All conditions as a clause, with `sign` before the column of each.
fn conjunction(conditions: &[String], sign: &str) -> String {
    let signed: Vec<_> = conditions.iter().map(|c| format!("{sign}{c}")).collect();
    if signed.is_empty() { String::new() } else { format!(" WHERE {}", signed.join(" AND ")) }
}

fn json_list(ids: &[i64]) -> String {
    serde_json::Value::from(ids.to_vec()).to_string()
}

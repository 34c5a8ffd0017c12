//! The projection: what the operations say the present state is.
//!
//! Each derived row is a function of the live rows about its subject alone, never of what was
//! derived before, so that it does not matter in which order operations arrived.

mod air;
mod clones;
mod plants;
mod things;

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::Connection;
use serde::{Deserialize, Serialize};

use crate::{ParentClaim, Result, SubjectKind, Uid, live};

pub(crate) use air::{DAY, merged};
pub(crate) use clones::loop_through;
pub(crate) use plants::{LAST_POSSIBLE_DAY, code_word};

/// Both parents of a clone or cross, as claimed.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub(crate) struct Parents {
    #[serde(default)]
    pub(crate) seed: ParentClaim,
    #[serde(default)]
    pub(crate) pollen: ParentClaim,
}

impl Parents {
    /// Every clone that is mentioned on either side.
    pub(crate) fn mentioned(&self) -> Vec<Uid> {
        let mut out = Vec::new();
        for side in [&self.seed, &self.pollen] {
            match side {
                ParentClaim::Clone(uid) => out.push(*uid),
                ParentClaim::OneOf(list) => out.extend(list),
                ParentClaim::NotTold | ParentClaim::Unknown => {}
            }
        }
        out
    }
}

/// Subjects whose derived rows have to be made again.
#[derive(Debug, Default)]
pub(crate) struct Touched {
    pub(crate) clones: BTreeSet<i64>,
    pub(crate) plants: BTreeSet<i64>,
    pub(crate) places: BTreeSet<i64>,
    pub(crate) keepers: BTreeSet<i64>,
    pub(crate) crosses: BTreeSet<i64>,
    /// Place and logger, with the first and last day whose readings changed.
    pub(crate) air: BTreeMap<(i64, String), (i64, i64)>,
}

impl Touched {
    pub(crate) fn add(&mut self, kind: SubjectKind, id: i64) {
        match kind {
            SubjectKind::Clone => self.clones.insert(id),
            SubjectKind::Plant => self.plants.insert(id),
            SubjectKind::Place => self.places.insert(id),
            SubjectKind::Keeper => self.keepers.insert(id),
            SubjectKind::Cross => self.crosses.insert(id),
            SubjectKind::Part
            | SubjectKind::Batch
            | SubjectKind::Pollination
            | SubjectKind::PollenLot
            | SubjectKind::Photo
            | SubjectKind::View
            | SubjectKind::Supply => false,
        };
    }

    /// Notes that readings between two instants \[s\] came or went.
    pub(crate) fn readings(&mut self, place: i64, logger: &str, east: i32, first: i64, last: i64) {
        let day = |time: i64| (time + i64::from(east)).div_euclid(DAY);
        // What was recorded a few hours before midnight is looked at for the day after it.
        let (from, to) = (day(first) - 1, day(last) + 1);
        let days = self.air.entry((place, logger.to_owned())).or_insert((from, to));
        *days = (days.0.min(from), days.1.max(to));
    }
}

/// Makes the derived rows of all touched subjects again, and of those that show them.
pub(crate) fn refresh(tx: &Connection, touched: &Touched) -> Result<()> {
    let mut plants = touched.plants.clone();
    for &cross in &touched.crosses {
        things::refresh_cross(tx, cross)?;
    }
    for &clone in &touched.clones {
        // Pieces show more than the name: the genus, and former names in the search.
        collect(tx, "SELECT id FROM plant WHERE clone = ?1", clone, &mut plants)?;
        if clones::refresh(tx, clone)? {
            // Its seedlings, those included of which it is only one of several possible parents.
            collect(
                tx,
                "SELECT p.id FROM refers r JOIN plant p ON p.clone = r.about WHERE r.subject = ?1",
                clone,
                &mut plants,
            )?;
        }
    }
    for &keeper in &touched.keepers {
        if things::refresh_keeper(tx, keeper)? {
            collect(tx, "SELECT id FROM plant WHERE keeper = ?1", keeper, &mut plants)?;
        }
    }
    let mut air = touched.air.clone();
    for &place in &touched.places {
        air::look_again(tx, place, &mut air)?;
        if things::refresh_place(tx, place)? {
            collect(tx, "SELECT id FROM plant WHERE place = ?1", place, &mut plants)?;
        }
    }
    for ((place, logger), days) in &air {
        air::refresh(tx, *place, logger, *days)?;
    }
    let mut counts = plants::Counts::default();
    for &plant in &plants {
        plants::refresh(tx, plant, &mut counts)?;
    }
    counts.refresh(tx)?;
    Ok(())
}

fn collect(tx: &Connection, sql: &str, id: i64, into: &mut BTreeSet<i64>) -> Result<()> {
    let mut stmt = tx.prepare_cached(sql)?;
    for row in stmt.query_map([id], |r| r.get::<_, i64>(0))? {
        into.insert(row?);
    }
    Ok(())
}

/// Derives everything again.
pub(crate) fn rebuild(tx: &Connection) -> Result<()> {
    tx.execute_batch(
        "DELETE FROM plant; DELETE FROM clone; DELETE FROM place; DELETE FROM keeper;
         DELETE FROM crossing; DELETE FROM logger; DELETE FROM air_day; INSERT INTO search(search) VALUES('delete-all');",
    )?;
    live::settle_all(tx)?;
    let mut touched = Touched::default();
    let mut stmt = tx.prepare("SELECT id, kind FROM subject WHERE live")?;
    let rows = stmt.query_map([], |r| Ok((r.get::<_, i64>(0)?, r.get::<_, String>(1)?)))?;
    for row in rows {
        let (id, word) = row?;
        if let Some(kind) = SubjectKind::of_word(&word) {
            touched.add(kind, id);
        }
    }
    refresh(tx, &touched)
}

/// The projection as text, line by line in a fixed order.
pub(crate) fn dump(conn: &Connection, out: &mut dyn FnMut(&str)) -> Result<()> {
    use std::fmt::Write as _;
    let mut line = String::new();
    let tables = [
        "SELECT 'plant', * FROM plant ORDER BY id",
        "SELECT 'clone', * FROM clone ORDER BY id",
        "SELECT 'place', * FROM place ORDER BY id",
        "SELECT 'keeper', * FROM keeper ORDER BY id",
        "SELECT 'crossing', * FROM crossing ORDER BY id",
        "SELECT 'logger', * FROM logger ORDER BY place, name",
        "SELECT 'air_day', * FROM air_day ORDER BY place, day, logger",
        "SELECT 'word', term, doc, cnt FROM search_word ORDER BY term",
        "SELECT 'operation', seq, live FROM operation ORDER BY seq",
        "SELECT 'subject', id, live FROM subject ORDER BY id",
        "SELECT 'claim', id, live FROM claim ORDER BY id",
        "SELECT 'entry', id, live FROM entry ORDER BY id",
        "SELECT 'statement', id, live FROM statement ORDER BY id",
        "SELECT 'question', id, live FROM question ORDER BY id",
        "SELECT 'leftover', id, live FROM leftover ORDER BY id",
        "SELECT 'series', id, live FROM series ORDER BY id",
        "SELECT 'refused', id, live FROM refused ORDER BY id",
        "SELECT 'brought_in', id, live FROM brought_in ORDER BY id",
    ];
    for sql in tables {
        let mut stmt = conn.prepare(sql)?;
        let width = stmt.column_count();
        let mut rows = stmt.query([])?;
        while let Some(row) = rows.next()? {
            line.clear();
            for i in 0..width {
                let _ = write!(line, "{:?}\t", row.get_ref(i)?);
            }
            line.push('\n');
            out(&line);
        }
    }
    Ok(())
}

/// The value of the latest live claim of a field, and the identifier of the claim.
pub(crate) fn latest_claim(
    tx: &Connection,
    subject: i64,
    field: &str,
) -> rusqlite::Result<Option<serde_json::Value>> {
    use rusqlite::OptionalExtension as _;
    let text: Option<String> = tx
        .prepare_cached(
            "SELECT value FROM claim WHERE subject = ?1 AND field = ?2 AND live
             ORDER BY uid DESC LIMIT 1",
        )?
        .query_row((subject, field), |r| r.get(0))
        .optional()?;
    Ok(text.and_then(|t| serde_json::from_str(&t).ok()))
}

pub(crate) fn is_live(tx: &Connection, subject: i64) -> rusqlite::Result<bool> {
    tx.prepare_cached("SELECT live FROM subject WHERE id = ?1")?.query_row([subject], |r| r.get(0))
}

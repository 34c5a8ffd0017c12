//! Plants: one row each for lists, filters and search.

use std::collections::BTreeSet;

use rusqlite::{Connection, OptionalExtension as _, params};
use serde_json::Value;
use sha2::{Digest as _, Sha256};

use super::{Parents, clones::row_of, is_live, latest_claim};
use crate::{ParentClaim, Uid};

/// Clones, places and keepers whose number of plants has to be counted again.
#[derive(Debug, Default)]
pub(super) struct Counts {
    clones: BTreeSet<i64>,
    places: BTreeSet<i64>,
    keepers: BTreeSet<i64>,
}

impl Counts {
    fn note(&mut self, clone: Option<i64>, place: Option<i64>, keeper: Option<i64>) {
        self.clones.extend(clone);
        self.places.extend(place);
        self.keepers.extend(keeper);
    }

    pub(super) fn refresh(&self, tx: &Connection) -> rusqlite::Result<()> {
        for id in &self.clones {
            tx.prepare_cached(
                "UPDATE clone SET pieces =
                   (SELECT count(*) FROM plant WHERE clone = ?1 AND state <> 'dead') WHERE id = ?1",
            )?
            .execute([id])?;
        }
        for id in &self.places {
            tx.prepare_cached(
                "UPDATE place SET plants = (SELECT count(*) FROM plant
                   WHERE place = ?1 AND state IN ('alive','unknown')) WHERE id = ?1",
            )?
            .execute([id])?;
        }
        for id in &self.keepers {
            tx.prepare_cached(
                "UPDATE keeper SET plants =
                   (SELECT count(*) FROM plant WHERE keeper = ?1) WHERE id = ?1",
            )?
            .execute([id])?;
        }
        Ok(())
    }
}

/// The last day on which an entry `e` of an operation `o` can have happened: not after the day on
/// which it was recorded, however vague its date is. So “placed in 2025”, written in May, does
/// not hide a place of June.
pub(crate) const LAST_POSSIBLE_DAY: &str =
    "min(ifnull(e.day_to, 1000000), max(ifnull(e.day_from, -1000000), o.recorded / 86400000))";

/// The latest live entry of some kinds about a plant itself: by the last day on which it can have
/// happened, then by when it was written.
fn latest(tx: &Connection, plant: i64, kinds: &str) -> rusqlite::Result<Option<Found>> {
    tx.prepare_cached(&format!(
        "SELECT e.kind, e.happened, e.day_from, e.day_to, e.detail, {LAST_POSSIBLE_DAY}
         FROM entry e JOIN operation o ON o.seq = e.op
         WHERE e.plant = ?1 AND e.subject = ?1 AND e.live AND {kinds}
         ORDER BY 6 DESC, e.uid DESC LIMIT 1"
    ))?
    .query_row([plant], found)
    .optional()
}

struct Found {
    kind: String,
    happened: String,
    day_from: Option<i64>,
    day_to: Option<i64>,
    detail: Value,
    last_possible: i64,
}

fn found(r: &rusqlite::Row<'_>) -> rusqlite::Result<Found> {
    let detail: String = r.get(4)?;
    Ok(Found {
        kind: r.get(0)?,
        happened: r.get(1)?,
        day_from: r.get(2)?,
        day_to: r.get(3)?,
        detail: serde_json::from_str(&detail).unwrap_or(Value::Null),
        last_possible: r.get(5)?,
    })
}

fn target(tx: &Connection, value: Option<&Value>) -> rusqlite::Result<Option<i64>> {
    let uid: Option<Uid> = value.and_then(Value::as_str).and_then(|s| s.parse().ok());
    match uid {
        Some(uid) => row_of(tx, &uid),
        None => Ok(None),
    }
}

fn name_of(tx: &Connection, table: &str, id: Option<i64>) -> rusqlite::Result<String> {
    let Some(id) = id else { return Ok(String::new()) };
    Ok(tx
        .prepare_cached(&format!("SELECT name FROM {table} WHERE id = ?1"))?
        .query_row([id], |r| r.get(0))
        .optional()?
        .unwrap_or_default())
}

/// Alive, dead, gone or doubtful, from the latest entry that says so. Only an arrival that lies
/// wholly after it brings a plant back: a vague one (“came in 2025”) does not revive a plant that
/// was lost in June of that year.
fn state(tx: &Connection, plant: i64) -> rusqlite::Result<&'static str> {
    let last = latest(
        tx,
        plant,
        "(e.kind IN ('lost','doubtful')
          OR (e.kind IN ('given','sold','swapped') AND json_extract(e.detail,'$.whole') = 1))",
    )?;
    let Some(last) = last else { return Ok("alive") };
    let came_again: bool = tx
        .prepare_cached(
            "SELECT EXISTS(SELECT 1 FROM entry WHERE plant = ?1 AND subject = ?1 AND live
               AND kind = 'arrived' AND day_from > ?2)",
        )?
        .query_row([plant, last.last_possible], |r| r.get(0))?;
    Ok(match last.kind.as_str() {
        _ if came_again => "alive",
        "lost" => "dead",
        "doubtful" => "unknown",
        _ => "gone",
    })
}

struct Parts {
    name: String,
    sort: String,
    genus: String,
    parents: String,
}

fn believed(tx: &Connection, clone: i64) -> rusqlite::Result<Parts> {
    let row: Option<(String, String, String, String, String)> = tx
        .prepare_cached("SELECT name, sort, genus, seed, pollen FROM clone WHERE id = ?1")?
        .query_row([clone], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?, r.get(4)?)))
        .optional()?;
    let Some((name, sort, genus, seed, pollen)) = row else {
        return Ok(Parts {
            name: String::new(),
            sort: super::clones::NAMELESS.to_owned(),
            genus: String::new(),
            parents: String::new(),
        });
    };
    let read = |s: &str| serde_json::from_str::<ParentClaim>(s).unwrap_or_default();
    let parents = Parents { seed: read(&seed), pollen: read(&pollen) };
    let seed = side_words(tx, &parents.seed)?;
    let pollen = side_words(tx, &parents.pollen)?;
    let words = match (seed.as_str(), pollen.as_str()) {
        ("", "") => String::new(),
        (seed, "") => format!("{seed} × ?"),
        ("", pollen) => format!("? × {pollen}"),
        (seed, pollen) => format!("{seed} × {pollen}"),
    };
    Ok(Parts { name, sort, genus, parents: words })
}

/// One parent in words: empty where nothing is known.
fn side_words(tx: &Connection, parent: &ParentClaim) -> rusqlite::Result<String> {
    let list: &[Uid] = match parent {
        ParentClaim::NotTold | ParentClaim::Unknown => &[],
        ParentClaim::Clone(uid) => std::slice::from_ref(uid),
        ParentClaim::OneOf(list) => list,
    };
    let mut names = Vec::new();
    for uid in list {
        let name = name_of(tx, "clone", row_of(tx, uid)?)?;
        if !name.is_empty() {
            names.push(name);
        }
    }
    Ok(names.join(" or "))
}

pub(super) fn refresh(tx: &Connection, id: i64, counts: &mut Counts) -> rusqlite::Result<()> {
    let before: Option<(i64, Option<i64>, Option<i64>, i64)> = tx
        .prepare_cached("SELECT clone, place, keeper, indexed FROM plant WHERE id = ?1")?
        .query_row([id], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?)))
        .optional()?;
    if let Some((clone, place, keeper, _)) = before {
        counts.note(Some(clone), place, keeper);
    }
    let clone = target(tx, latest_claim(tx, id, "clone")?.as_ref())?;
    let (Some(clone), true) = (clone, is_live(tx, id)?) else {
        if before.is_some() {
            tx.prepare_cached("DELETE FROM search WHERE rowid = ?1")?.execute([id])?;
        }
        tx.prepare_cached("DELETE FROM plant WHERE id = ?1")?.execute([id])?;
        return Ok(());
    };
    let b = believed(tx, clone)?;
    let arrived = latest(tx, id, "e.kind = 'arrived'")?;
    let placed = latest(tx, id, "e.kind = 'placed'")?;
    let potted = latest(tx, id, "e.kind = 'potted'")?;
    let place = target(tx, placed.as_ref().and_then(|p| p.detail.get("place")))?;
    let keeper = target(tx, arrived.as_ref().and_then(|a| a.detail.get("from")))?;
    let own = arrived.as_ref().and_then(|a| a.detail.get("own")).and_then(Value::as_bool);
    let received = arrived
        .as_ref()
        .and_then(|a| a.detail.get("received_as"))
        .and_then(Value::as_str)
        .map(str::to_owned);
    let pot = potted.as_ref().map(|p| pot_words(&p.detail)).unwrap_or_default();
    let tag = latest_claim(tx, id, "tag")?
        .and_then(|v| v.as_str().map(str::to_owned))
        .unwrap_or_default();
    let place_name = name_of(tx, "place", place)?;
    let keeper_name = name_of(tx, "keeper", keeper)?;
    let (entries, last_day): (i64, Option<i64>) = tx
        .prepare_cached(&format!(
            "SELECT count(*), max(CASE WHEN e.day_to IS NULL THEN NULL ELSE {LAST_POSSIBLE_DAY} END)
             FROM entry e JOIN operation o ON o.seq = e.op WHERE e.plant = ?1 AND e.live"
        ))?
        .query_row([id], |r| Ok((r.get(0)?, r.get(1)?)))?;
    let (number, code): (i64, String) = tx
        .prepare_cached("SELECT number, ifnull(code, '') FROM subject WHERE id = ?1")?
        .query_row([id], |r| Ok((r.get(0)?, r.get(1)?)))?;
    counts.note(Some(clone), place, keeper);
    let body = body(
        tx,
        id,
        clone,
        &[
            &number.to_string(),
            &code_word(&code),
            &b.name,
            &b.parents,
            &place_name,
            &keeper_name,
            &tag,
        ],
    )?;
    let indexed = fingerprint(&body);
    tx.prepare_cached(
        "INSERT OR REPLACE INTO plant(id,number,code,clone,name,sort,genus,parents,place,place_name,
           keeper,keeper_name,own,state,came,came_from,came_to,received_as,tag,pot,last_day,entries,indexed)
         VALUES(?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11,?12,?13,?14,?15,?16,?17,?18,?19,?20,?21,?22,?23)",
    )?
    .execute(params![
        id,
        number,
        code,
        clone,
        b.name,
        b.sort,
        b.genus,
        b.parents,
        place,
        place_name,
        keeper,
        keeper_name,
        own.unwrap_or(false),
        state(tx, id)?,
        arrived.as_ref().map(|a| &a.happened),
        arrived.as_ref().and_then(|a| a.day_from),
        arrived.as_ref().and_then(|a| a.day_to),
        received,
        tag,
        pot,
        last_day,
        entries,
        indexed
    ])?;
    // Most entries change no word: then the index is left as it is.
    if before.map(|b| b.3) != Some(indexed) {
        if before.is_some() {
            tx.prepare_cached("DELETE FROM search WHERE rowid = ?1")?.execute([id])?;
        }
        tx.prepare_cached("INSERT INTO search(rowid, body) VALUES(?1, ?2)")?
            .execute(params![id, body])?;
    }
    Ok(())
}

/// A code as the search index keeps it: with a nought in front, which no code holds, so that the
/// codes stand apart from the words among which a misspelt one is looked for.
pub(crate) fn code_word(code: &str) -> String {
    format!("0{code}")
}

/// The words under which a plant is found.
fn body(tx: &Connection, plant: i64, clone: i64, shown: &[&str]) -> rusqlite::Result<String> {
    let mut body = shown.join("\n");
    for more in [former_names(tx, clone)?, notes(tx, plant)?] {
        body.push('\n');
        body.push_str(&more);
    }
    Ok(body)
}

/// Eight bytes of the SHA-256 of a text: the same in every version of this program.
fn fingerprint(text: &str) -> i64 {
    let mut head = [0u8; 8];
    head.copy_from_slice(&Sha256::digest(text)[..8]);
    i64::from_be_bytes(head)
}

fn pot_words(detail: &Value) -> String {
    let size = detail.get("pot").and_then(|p| p.get("typed")).and_then(Value::as_str);
    let container = detail.get("container").and_then(Value::as_str);
    size.or(container).unwrap_or("").to_owned()
}

/// Every name that the clone ever had here, so that a plant is found under its old names too.
fn former_names(tx: &Connection, clone: i64) -> rusqlite::Result<String> {
    let mut stmt = tx.prepare_cached(
        "SELECT json_extract(value,'$.text') FROM claim
         WHERE subject = ?1 AND field = 'name' AND live",
    )?;
    let names: Vec<String> = stmt
        .query_map([clone], |r| r.get::<_, Option<String>>(0).map(Option::unwrap_or_default))?
        .collect::<rusqlite::Result<_>>()?;
    Ok(names.join("\n"))
}

/// Notes and statements about the plant, the newest first, as far as they are worth searching.
fn notes(tx: &Connection, plant: i64) -> rusqlite::Result<String> {
    let mut stmt = tx.prepare_cached(
        "SELECT note FROM entry WHERE plant = ?1 AND live AND note IS NOT NULL
         ORDER BY uid DESC LIMIT 200",
    )?;
    let mut out: Vec<String> =
        stmt.query_map([plant], |r| r.get(0))?.collect::<rusqlite::Result<_>>()?;
    let mut stmt = tx.prepare_cached(
        "SELECT text FROM statement WHERE subject = ?1 AND live ORDER BY uid DESC LIMIT 50",
    )?;
    out.extend(
        stmt.query_map([plant], |r| r.get::<_, String>(0))?
            .collect::<rusqlite::Result<Vec<_>>>()?,
    );
    Ok(out.join("\n"))
}

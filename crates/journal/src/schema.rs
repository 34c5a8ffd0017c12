//! The tables, and the upgrade of older files.
//!
//! The first group of tables *is* the operations, kept in columns: its rows are only ever added,
//! and of them only `live` changes, which says whether the row still holds. The second group is
//! the projection and can be derived again.

use rusqlite::{Connection, TransactionBehavior};

use crate::{Result, derive};

/// The file form that this program writes. Kept in `user_version`.
pub(crate) const FORM: i64 = 2;
/// Marks the file as ours in `application_id`: “Umbl”.
pub(crate) const APPLICATION: i32 = 0x556D_626C;

/// Steps from each older form to the next; step `i` leads from form `i` to form `i + 1`.
pub(crate) const STEPS: [&str; 2] = [FORM_1, FORM_2];

const FORM_1: &str = r"
CREATE TABLE house(key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;

CREATE TABLE operation(
  seq INTEGER PRIMARY KEY,
  uid BLOB NOT NULL UNIQUE,
  recorded INTEGER NOT NULL,           -- ms since 1970 UTC
  who TEXT NOT NULL, device TEXT NOT NULL,
  act TEXT NOT NULL, about TEXT NOT NULL,
  live INTEGER NOT NULL DEFAULT 1) STRICT;

CREATE TABLE subject(
  id INTEGER PRIMARY KEY,
  uid BLOB NOT NULL UNIQUE,
  op INTEGER NOT NULL REFERENCES operation(seq),
  kind TEXT NOT NULL,
  number INTEGER NOT NULL,
  code TEXT,
  of INTEGER REFERENCES subject(id),
  live INTEGER NOT NULL DEFAULT 1) STRICT;
CREATE UNIQUE INDEX subject_number ON subject(kind, ifnull(of, 0), number)
  WHERE kind IN ('plant','cross','place');
CREATE INDEX subject_of ON subject(of, kind) WHERE of IS NOT NULL;
CREATE INDEX subject_kind ON subject(kind, number);
CREATE UNIQUE INDEX subject_code ON subject(code) WHERE code IS NOT NULL;
CREATE INDEX subject_op ON subject(op);

CREATE TABLE claim(
  id INTEGER PRIMARY KEY,
  uid BLOB NOT NULL UNIQUE,
  op INTEGER NOT NULL REFERENCES operation(seq),
  subject INTEGER NOT NULL REFERENCES subject(id),
  field TEXT NOT NULL,
  value TEXT NOT NULL,
  as_of TEXT, said_by TEXT, reason TEXT, known TEXT NOT NULL,
  live INTEGER NOT NULL DEFAULT 1) STRICT;
CREATE INDEX claim_subject ON claim(subject, field);
CREATE INDEX claim_op ON claim(op);

CREATE TABLE entry(
  id INTEGER PRIMARY KEY,
  uid BLOB NOT NULL UNIQUE,
  op INTEGER NOT NULL REFERENCES operation(seq),
  subject INTEGER NOT NULL REFERENCES subject(id),
  plant INTEGER REFERENCES subject(id),
  kind TEXT NOT NULL,
  happened TEXT NOT NULL,
  day_from INTEGER, day_to INTEGER,    -- days since 1970-01-01, null where open
  known TEXT NOT NULL,
  detail TEXT NOT NULL,
  note TEXT,
  replaces BLOB,
  live INTEGER NOT NULL DEFAULT 1) STRICT;
CREATE INDEX entry_plant ON entry(plant, day_to) WHERE plant IS NOT NULL;
CREATE INDEX entry_subject ON entry(subject, day_to);
CREATE INDEX entry_kind ON entry(kind, plant);
CREATE INDEX entry_op ON entry(op);

CREATE TABLE statement(
  id INTEGER PRIMARY KEY,
  uid BLOB NOT NULL UNIQUE,
  op INTEGER NOT NULL REFERENCES operation(seq),
  subject INTEGER NOT NULL REFERENCES subject(id),
  text TEXT NOT NULL,
  keeper INTEGER REFERENCES subject(id),
  said_by TEXT, medium TEXT, address TEXT, spot TEXT, said_on TEXT, trust TEXT,
  answers BLOB,
  live INTEGER NOT NULL DEFAULT 1) STRICT;
CREATE INDEX statement_subject ON statement(subject);
CREATE INDEX statement_op ON statement(op);
CREATE INDEX statement_keeper ON statement(keeper) WHERE keeper IS NOT NULL;
CREATE INDEX statement_answers ON statement(answers) WHERE answers IS NOT NULL;

CREATE TABLE question(
  id INTEGER PRIMARY KEY,
  uid BLOB NOT NULL UNIQUE,
  op INTEGER NOT NULL REFERENCES operation(seq),
  subject INTEGER NOT NULL REFERENCES subject(id),
  text TEXT NOT NULL,
  keeper INTEGER REFERENCES subject(id),
  live INTEGER NOT NULL DEFAULT 1) STRICT;
CREATE INDEX question_subject ON question(subject);
CREATE INDEX question_op ON question(op);

CREATE TABLE leftover(
  id INTEGER PRIMARY KEY,
  uid BLOB NOT NULL UNIQUE,
  op INTEGER NOT NULL REFERENCES operation(seq),
  origin TEXT NOT NULL, cells TEXT NOT NULL, why TEXT NOT NULL,
  live INTEGER NOT NULL DEFAULT 1) STRICT;
CREATE INDEX leftover_op ON leftover(op);

CREATE TABLE brought_in(
  id INTEGER PRIMARY KEY,
  op INTEGER NOT NULL REFERENCES operation(seq),
  fingerprint TEXT NOT NULL,
  subject INTEGER NOT NULL REFERENCES subject(id),
  origin TEXT NOT NULL,
  live INTEGER NOT NULL DEFAULT 1) STRICT;
CREATE INDEX brought_in_fingerprint ON brought_in(fingerprint);
CREATE INDEX brought_in_subject ON brought_in(subject);
CREATE INDEX brought_in_op ON brought_in(op);

CREATE TABLE withdrawal(
  id INTEGER PRIMARY KEY,
  op INTEGER NOT NULL REFERENCES operation(seq),
  target BLOB NOT NULL,
  why TEXT) STRICT;
CREATE INDEX withdrawal_target ON withdrawal(target);
CREATE INDEX withdrawal_op ON withdrawal(op);

CREATE TABLE reversal(
  id INTEGER PRIMARY KEY,
  op INTEGER NOT NULL REFERENCES operation(seq),
  target BLOB NOT NULL) STRICT;
CREATE INDEX reversal_target ON reversal(target);
CREATE INDEX reversal_op ON reversal(op);

-- Which subjects a claim, entry, statement or question mentions besides the one it is about.
CREATE TABLE refers(
  subject INTEGER NOT NULL REFERENCES subject(id),
  about INTEGER NOT NULL REFERENCES subject(id),
  op INTEGER NOT NULL REFERENCES operation(seq),
  PRIMARY KEY(subject, about, op)) STRICT, WITHOUT ROWID;

-- The projection.

CREATE TABLE clone(
  id INTEGER PRIMARY KEY REFERENCES subject(id),
  name TEXT NOT NULL, sort TEXT NOT NULL, genus TEXT NOT NULL,
  seed TEXT NOT NULL, pollen TEXT NOT NULL,          -- ParentClaim as JSON
  seed_clone INTEGER, pollen_clone INTEGER,
  crossing INTEGER, seedling INTEGER,
  pieces INTEGER NOT NULL) STRICT;
CREATE INDEX clone_seed ON clone(seed_clone) WHERE seed_clone IS NOT NULL;
CREATE INDEX clone_pollen ON clone(pollen_clone) WHERE pollen_clone IS NOT NULL;
CREATE INDEX clone_sort ON clone(sort);
CREATE INDEX clone_name ON clone(name);
CREATE INDEX clone_genus ON clone(genus, sort);
CREATE INDEX clone_crossing ON clone(crossing) WHERE crossing IS NOT NULL;

CREATE TABLE plant(
  id INTEGER PRIMARY KEY REFERENCES subject(id),
  number INTEGER NOT NULL, code TEXT NOT NULL,
  clone INTEGER NOT NULL REFERENCES subject(id),
  name TEXT NOT NULL, sort TEXT NOT NULL, genus TEXT NOT NULL, parents TEXT NOT NULL,
  place INTEGER, place_name TEXT NOT NULL,
  keeper INTEGER, keeper_name TEXT NOT NULL, own INTEGER NOT NULL,
  state TEXT NOT NULL,
  came TEXT, came_from INTEGER, came_to INTEGER,
  received_as TEXT, tag TEXT NOT NULL, pot TEXT NOT NULL,
  last_day INTEGER, entries INTEGER NOT NULL,
  indexed INTEGER NOT NULL) STRICT;    -- fingerprint of what the search index holds of it
-- Orders of the list hold genus and state as well, so that a list of many plants is cut by
-- walking its order without reading the rows.
CREATE INDEX plant_number ON plant(number, genus, state);
CREATE INDEX plant_sort ON plant(sort, number, genus, state);
CREATE INDEX plant_genus ON plant(genus, sort, number);
CREATE INDEX plant_clone ON plant(clone);
CREATE INDEX plant_place ON plant(place, sort, number);
CREATE INDEX plant_keeper ON plant(keeper, sort, number);
CREATE INDEX plant_came ON plant(came_from, number, genus, state);
CREATE INDEX plant_last ON plant(last_day, number, genus, state);
CREATE INDEX plant_state ON plant(state, sort, number);
CREATE INDEX plant_found ON plant((state = 'dead'), (state = 'gone'), sort, number);
CREATE INDEX plant_place_name ON plant((place_name = ''), place_name, sort, number, genus, state);
CREATE INDEX plant_keeper_name ON plant((keeper_name = ''), keeper_name, sort, number, genus, state);

CREATE TABLE place(
  id INTEGER PRIMARY KEY REFERENCES subject(id),
  number INTEGER NOT NULL, name TEXT NOT NULL, ord REAL NOT NULL, plants INTEGER NOT NULL) STRICT;

CREATE TABLE keeper(
  id INTEGER PRIMARY KEY REFERENCES subject(id),
  name TEXT NOT NULL, sort TEXT NOT NULL, plants INTEGER NOT NULL) STRICT;
CREATE INDEX keeper_sort ON keeper(sort);

CREATE TABLE crossing(
  id INTEGER PRIMARY KEY REFERENCES subject(id),
  number INTEGER NOT NULL,
  seed TEXT NOT NULL, pollen TEXT NOT NULL,
  seed_clone INTEGER, pollen_clone INTEGER) STRICT;

CREATE VIRTUAL TABLE search USING fts5(
  body, content='', contentless_delete=1,
  tokenize='unicode61 remove_diacritics 2', prefix='2 3 4');
CREATE VIRTUAL TABLE search_word USING fts5vocab(search, 'row');
";

/// Readings of loggers, and what each day was like at a place.
const FORM_2: &str = r"
-- Up to 4,096 readings of a logger, packed (src/series.rs).
CREATE TABLE series(
  id INTEGER PRIMARY KEY,
  uid BLOB NOT NULL UNIQUE,
  op INTEGER NOT NULL REFERENCES operation(seq),
  subject INTEGER NOT NULL REFERENCES subject(id),
  logger TEXT NOT NULL,
  origin TEXT NOT NULL,
  first INTEGER NOT NULL, last INTEGER NOT NULL,   -- s since 1970 UTC
  count INTEGER NOT NULL,
  east INTEGER NOT NULL,                           -- s the clocks were ahead of UTC
  packed BLOB NOT NULL,
  live INTEGER NOT NULL DEFAULT 1) STRICT;
CREATE INDEX series_subject ON series(subject, logger, first);
CREATE INDEX series_op ON series(op);

-- Lines of a logger's file that were not taken, as JSON.
CREATE TABLE refused(
  id INTEGER PRIMARY KEY,
  uid BLOB NOT NULL UNIQUE,
  op INTEGER NOT NULL REFERENCES operation(seq),
  subject INTEGER NOT NULL REFERENCES subject(id),
  logger TEXT NOT NULL,
  origin TEXT NOT NULL,
  lines TEXT NOT NULL,
  live INTEGER NOT NULL DEFAULT 1) STRICT;
CREATE INDEX refused_subject ON refused(subject);
CREATE INDEX refused_op ON refused(op);

-- The projection.

CREATE TABLE logger(
  place INTEGER NOT NULL REFERENCES subject(id),
  name TEXT NOT NULL,
  first INTEGER NOT NULL, last INTEGER NOT NULL, readings INTEGER NOT NULL,
  add_temperature REAL NOT NULL, add_humidity REAL NOT NULL,
  PRIMARY KEY(place, name)) STRICT, WITHOUT ROWID;

CREATE TABLE air_day(
  place INTEGER NOT NULL REFERENCES subject(id),
  day INTEGER NOT NULL,                            -- days since 1970-01-01 of the house's clocks
  logger TEXT NOT NULL,
  hours REAL NOT NULL, temperature REAL, coldest REAL, warmest REAL,
  air_hours REAL NOT NULL, humidity REAL, deficit REAL,
  flat_hours REAL NOT NULL,
  PRIMARY KEY(place, day, logger)) STRICT, WITHOUT ROWID;
";

/// Brings a connection to the current form and derives the projection, in one transaction: a
/// process killed in between leaves the older form.
pub(crate) fn upgrade(conn: &mut Connection) -> Result<()> {
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
    // Asked inside the transaction, since another process may have upgraded it meanwhile.
    let from: i64 = tx.query_row("PRAGMA user_version", [], |r| r.get(0))?;
    for step in STEPS.iter().skip(usize::try_from(from).unwrap_or(0)) {
        tx.execute_batch(step)?;
    }
    tx.pragma_update(None, "user_version", FORM)?;
    tx.pragma_update(None, "application_id", APPLICATION)?;
    if from < FORM {
        derive::rebuild(&tx)?;
    }
    tx.commit()?;
    Ok(())
}

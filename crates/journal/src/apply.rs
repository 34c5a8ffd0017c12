//! Writing one operation into the tables, inside a transaction of the caller.

use std::collections::HashMap;

use jiff::{Timestamp, tz::TimeZone};
use rusqlite::{OptionalExtension as _, Transaction, params};

use crate::{
    BlockError, Change, Code, NewEntry, NewRefused, NewSeries, NewStatement, Operation, Result,
    SubjectKind, Uid,
    derive::{self, Touched},
    error::{ChangeError, Error},
    kinds::check_entry,
    live,
};

/// The highest number that a subject can have.
const HIGHEST_NUMBER: i64 = 1_000_000_000;

/// What writing an operation did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Written {
    /// It was written now.
    Now,
    /// It was in the record already; nothing was changed.
    Before,
}

pub(crate) fn apply(tx: &Transaction<'_>, operation: &Operation) -> Result<Written> {
    let known: Option<i64> = tx
        .prepare_cached("SELECT seq FROM operation WHERE uid = ?1")?
        .query_row([operation.id], |r| r.get(0))
        .optional()?;
    if known.is_some() {
        return Ok(Written::Before);
    }
    tx.prepare_cached(
        "INSERT INTO operation(uid, recorded, who, device, act, about) VALUES(?1,?2,?3,?4,?5,?6)",
    )?
    .execute(params![
        operation.id,
        operation.recorded.as_millisecond(),
        operation.who,
        operation.device,
        operation.act,
        operation.about
    ])?;
    let seq = tx.last_insert_rowid();
    let mut writer = Writer {
        tx,
        seq,
        today: day_of(operation.recorded),
        numbers: HashMap::new(),
        ids: HashMap::new(),
        touched: Touched::default(),
    };
    let count = operation.changes.len();
    for (i, change) in operation.changes.iter().enumerate() {
        writer.change(change).map_err(|problem| match problem {
            Trouble::Change(problem) => Error::Change { index: i + 1, count, problem },
            Trouble::Sql(e) => Error::Sqlite(e),
        })?;
    }
    let touched = writer.touched;
    derive::refresh(tx, &touched)?;
    // Not only a new claim can close a loop: taking one back can bring an older one into force.
    for &clone in &touched.clones {
        if let Some(path) = derive::loop_through(tx, clone)? {
            return Err(Error::Change { index: count, count, problem: ChangeError::Loop(path) });
        }
    }
    Ok(Written::Now)
}

/// The civil day of an instant, one day generous to the east, so that no time zone makes
/// “today” look like the future.
fn day_of(recorded: Timestamp) -> i32 {
    dates::to_days(recorded.to_zoned_datetime(TimeZone::UTC).date()) + 1
}

enum Trouble {
    Change(ChangeError),
    Sql(rusqlite::Error),
}

impl From<ChangeError> for Trouble {
    fn from(e: ChangeError) -> Self {
        Self::Change(e)
    }
}

impl From<rusqlite::Error> for Trouble {
    fn from(e: rusqlite::Error) -> Self {
        Self::Sql(e)
    }
}

struct Writer<'t> {
    tx: &'t Transaction<'t>,
    seq: i64,
    today: i32,
    numbers: HashMap<(SubjectKind, i64), i64>,
    ids: HashMap<Uid, (i64, SubjectKind, Option<i64>)>,
    touched: Touched,
}

impl Writer<'_> {
    /// The row, kind and owner of a subject.
    fn subject(&mut self, uid: &Uid) -> Result<(i64, SubjectKind, Option<i64>), Trouble> {
        if let Some(found) = self.ids.get(uid) {
            return Ok(*found);
        }
        let found = look_up(self.tx, uid)?.ok_or(ChangeError::NoSubject(*uid))?;
        self.ids.insert(*uid, found);
        Ok(found)
    }

    fn optional(&mut self, uid: Option<&Uid>) -> Result<Option<i64>, Trouble> {
        uid.map(|u| self.subject(u).map(|s| s.0)).transpose()
    }

    fn change(&mut self, change: &Change) -> Result<(), Trouble> {
        match change {
            Change::Create { uid, kind, number, code, of } => {
                self.create(*uid, *kind, *number, *code, of.as_ref())
            }
            Change::Claim { uid, subject, field, value, as_of, said_by, reason, known } => {
                let (id, kind, _) = self.subject(subject)?;
                self.check_claim(kind, field, value)?;
                self.unused("claim", uid)?;
                self.tx
                    .prepare_cached(
                        "INSERT INTO claim(uid,op,subject,field,value,as_of,said_by,reason,known)
                         VALUES(?1,?2,?3,?4,?5,?6,?7,?8,?9)",
                    )?
                    .execute(params![
                        uid,
                        self.seq,
                        id,
                        field,
                        value.to_string(),
                        as_of.as_ref().map(dates::Edtf::as_str),
                        said_by,
                        reason,
                        known.as_str()
                    ])?;
                self.mentions(id, value)?;
                self.touched.add(kind, id);
                Ok(())
            }
            Change::Entry(entry) => self.entry(entry),
            Change::Statement(statement) => self.statement(statement),
            Change::Question { uid, subject, text, keeper } => {
                let (id, kind, _) = self.subject(subject)?;
                let keeper = self.optional(keeper.as_ref())?;
                self.unused("question", uid)?;
                self.tx
                    .prepare_cached(
                        "INSERT INTO question(uid,op,subject,text,keeper) VALUES(?1,?2,?3,?4,?5)",
                    )?
                    .execute(params![uid, self.seq, id, text, keeper])?;
                self.mention(id, keeper)?;
                self.touched.add(kind, id);
                Ok(())
            }
            Change::LeftOver(left) => {
                self.unused("leftover", &left.uid)?;
                let cells = serde_json::Value::from(left.cells.clone()).to_string();
                self.tx
                    .prepare_cached(
                        "INSERT INTO leftover(uid,op,origin,cells,why) VALUES(?1,?2,?3,?4,?5)",
                    )?
                    .execute(params![left.uid, self.seq, left.origin, cells, left.why])?;
                Ok(())
            }
            Change::BroughtIn { fingerprint, subject, origin } => {
                let (id, ..) = self.subject(subject)?;
                self.tx
                    .prepare_cached(
                        "INSERT INTO brought_in(op,fingerprint,subject,origin) VALUES(?1,?2,?3,?4)",
                    )?
                    .execute(params![self.seq, fingerprint, id, origin])?;
                Ok(())
            }
            Change::Series(series) => self.series(series),
            Change::Refused(refused) => self.refused(refused),
            Change::Withdraw { target, why } => {
                self.tx
                    .prepare_cached("INSERT INTO withdrawal(op,target,why) VALUES(?1,?2,?3)")?
                    .execute(params![self.seq, target, why])?;
                if !live::settle_item(self.tx, target, &mut self.touched)? {
                    return Err(ChangeError::NoTarget(*target).into());
                }
                Ok(())
            }
            Change::Reverse { op } => {
                let itself: bool = self
                    .tx
                    .prepare_cached("SELECT uid = ?1 FROM operation WHERE seq = ?2")?
                    .query_row(params![op, self.seq], |r| r.get(0))?;
                if itself {
                    return Err(ChangeError::OfItself(*op).into());
                }
                self.tx
                    .prepare_cached("INSERT INTO reversal(op,target) VALUES(?1,?2)")?
                    .execute(params![self.seq, op])?;
                if !live::settle_operation(self.tx, op, &mut self.touched)? {
                    return Err(ChangeError::NoTarget(*op).into());
                }
                Ok(())
            }
        }
    }

    /// Notes that a row about `about` mentions `subject`.
    fn mention(&self, about: i64, subject: Option<i64>) -> Result<(), Trouble> {
        if let Some(subject) = subject.filter(|s| *s != about) {
            self.tx
                .prepare_cached("INSERT OR IGNORE INTO refers(subject,about,op) VALUES(?1,?2,?3)")?
                .execute(params![subject, about, self.seq])?;
        }
        Ok(())
    }

    /// Notes every subject that a value mentions by its identifier.
    fn mentions(&mut self, about: i64, value: &serde_json::Value) -> Result<(), Trouble> {
        use serde_json::Value;
        match value {
            // 36 characters: other texts are no identifiers as they are written here.
            Value::String(text) if text.len() == 36 => {
                if let Ok(uid) = text.parse() {
                    match self.subject(&uid) {
                        Ok((id, ..)) => self.mention(about, Some(id))?,
                        Err(Trouble::Change(_)) => {}
                        Err(e) => return Err(e),
                    }
                }
            }
            Value::Array(list) => {
                for one in list {
                    self.mentions(about, one)?;
                }
            }
            Value::Object(map) => {
                for one in map.values() {
                    self.mentions(about, one)?;
                }
            }
            _ => {}
        }
        Ok(())
    }

    fn unused(&self, table: &str, uid: &Uid) -> Result<(), Trouble> {
        let used: bool = self
            .tx
            .prepare_cached(&format!("SELECT EXISTS(SELECT 1 FROM {table} WHERE uid = ?1)"))?
            .query_row([uid], |r| r.get(0))?;
        if used { Err(ChangeError::UsedTwice(*uid).into()) } else { Ok(()) }
    }

    fn next_number(&mut self, kind: SubjectKind, of: Option<i64>) -> Result<i64, Trouble> {
        // Parts are numbered within their plant, everything else among its kind.
        let within = if kind == SubjectKind::Part { of.unwrap_or(0) } else { 0 };
        let next = if let Some(next) = self.numbers.get(&(kind, within)) {
            *next
        } else if within == 0 {
            self.tx
                .prepare_cached("SELECT ifnull(max(number), 0) + 1 FROM subject WHERE kind = ?1")?
                .query_row([kind.as_str()], |r| r.get(0))?
        } else {
            self.tx
                .prepare_cached(
                    "SELECT ifnull(max(number), 0) + 1 FROM subject WHERE of = ?1 AND kind = ?2",
                )?
                .query_row(params![within, kind.as_str()], |r| r.get(0))?
        };
        self.numbers.insert((kind, within), next);
        Ok(next)
    }

    fn create(
        &mut self,
        uid: Uid,
        kind: SubjectKind,
        number: Option<i64>,
        code: Option<Code>,
        of: Option<&Uid>,
    ) -> Result<(), Trouble> {
        let of = self.optional(of)?;
        self.unused("subject", &uid)?;
        let next = self.next_number(kind, of)?;
        let number = number.unwrap_or(next);
        let within = if kind == SubjectKind::Part { of } else { None };
        let used: bool = self
            .tx
            .prepare_cached(
                "SELECT EXISTS(SELECT 1 FROM subject
                 WHERE kind = ?1 AND number = ?2 AND (?3 IS NULL OR of = ?3))",
            )?
            .query_row(params![kind.as_str(), number, within], |r| r.get(0))?;
        if !(1..=HIGHEST_NUMBER).contains(&number) {
            return Err(ChangeError::Field {
                kind: kind.as_str().to_owned(),
                field: "number".to_owned(),
                problem: format!("{number} is not between 1 and {HIGHEST_NUMBER}"),
            }
            .into());
        }
        if used {
            return Err(ChangeError::NumberUsed { kind: kind.as_str(), number, next }.into());
        }
        let key = (kind, within.unwrap_or(0));
        self.numbers.insert(key, next.max(number + 1));
        let code =
            if kind == SubjectKind::Plant { Some(self.free_code(&uid, code)?) } else { None };
        self.tx
            .prepare_cached(
                "INSERT INTO subject(uid,op,kind,number,code,of) VALUES(?1,?2,?3,?4,?5,?6)",
            )?
            .execute(params![
                uid,
                self.seq,
                kind.as_str(),
                number,
                code.as_ref().map(Code::as_str),
                of
            ])?;
        let id = self.tx.last_insert_rowid();
        self.ids.insert(uid, (id, kind, of));
        self.touched.add(kind, id);
        Ok(())
    }

    fn free_code(&self, uid: &Uid, wanted: Option<Code>) -> Result<Code, Trouble> {
        let mut attempt = 0;
        let mut code = wanted.unwrap_or_else(|| Code::of(uid, 0));
        loop {
            let used: bool = self
                .tx
                .prepare_cached("SELECT EXISTS(SELECT 1 FROM subject WHERE code = ?1)")?
                .query_row([code.as_str()], |r| r.get(0))?;
            if !used {
                return Ok(code);
            }
            attempt += 1;
            code = Code::of(uid, attempt);
        }
    }

    fn check_claim(
        &mut self,
        kind: SubjectKind,
        field: &str,
        value: &serde_json::Value,
    ) -> Result<(), Trouble> {
        let bad = |problem: String| ChangeError::Field {
            kind: kind.as_str().to_owned(),
            field: field.to_owned(),
            problem,
        };
        match (kind, field) {
            (SubjectKind::Plant, "clone") => {
                let uid: Uid = value
                    .as_str()
                    .and_then(|s| s.parse().ok())
                    .ok_or_else(|| bad(format!("“{value}” is not the identifier of a clone")))?;
                if self.subject(&uid)?.1 != SubjectKind::Clone {
                    return Err(bad(format!("{uid} is not a clone")).into());
                }
            }
            (SubjectKind::Clone, "name") => {
                let text = value.get("text").and_then(serde_json::Value::as_str).unwrap_or("");
                if text.trim().is_empty() {
                    return Err(
                        bad("a name without words; write at least the genus".to_owned()).into()
                    );
                }
            }
            (SubjectKind::Clone | SubjectKind::Cross, "parents") => {
                let parents: derive::Parents = serde_json::from_value(value.clone())
                    .map_err(|e| bad(format!("“{value}” does not say two parents ({e})")))?;
                for uid in parents.mentioned() {
                    if self.subject(&uid)?.1 != SubjectKind::Clone {
                        return Err(bad(format!("the parent {uid} is not a clone")).into());
                    }
                }
            }
            (SubjectKind::Keeper | SubjectKind::Place, "name")
                if value.as_str().is_none_or(|s| s.trim().is_empty()) =>
            {
                return Err(bad("a name without words".to_owned()).into());
            }
            _ => {}
        }
        Ok(())
    }

    fn entry(&mut self, entry: &NewEntry) -> Result<(), Trouble> {
        let (id, kind, of) = self.subject(&entry.subject)?;
        let tx = self.tx;
        let ids = &self.ids;
        let (_, detail) = check_entry(&entry.kind, kind, &entry.detail, &|uid| {
            ids.get(uid).map(|s| s.1).or_else(|| look_up(tx, uid).ok().flatten().map(|s| s.1))
        })?;
        let from = entry.happened.earliest().map(dates::to_days);
        let to = entry.happened.latest().map(dates::to_days);
        if from.is_some_and(|d| d > self.today) {
            let today = dates::from_days(self.today - 1).map(|d| d.to_string()).unwrap_or_default();
            return Err(ChangeError::Future { happened: entry.happened.to_string(), today }.into());
        }
        self.unused("entry", &entry.uid)?;
        if entry.replaces == Some(entry.uid) {
            return Err(ChangeError::OfItself(entry.uid).into());
        }
        let detail = serde_json::Value::Object(detail);
        self.mentions(id, &detail)?;
        let plant = match kind {
            SubjectKind::Plant => Some(id),
            SubjectKind::Part | SubjectKind::Pollination => of,
            _ => None,
        };
        self.tx
            .prepare_cached(
                "INSERT INTO entry(uid,op,subject,plant,kind,happened,day_from,day_to,known,detail,note,replaces)
                 VALUES(?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11,?12)",
            )?
            .execute(params![
                entry.uid,
                self.seq,
                id,
                plant,
                entry.kind,
                entry.happened.as_str(),
                from,
                to,
                entry.known.as_str(),
                detail.to_string(),
                entry.note.as_deref().filter(|n| !n.trim().is_empty()),
                entry.replaces
            ])?;
        self.touched.add(kind, id);
        if let Some(plant) = plant {
            self.touched.add(SubjectKind::Plant, plant);
        }
        if let Some(old) = &entry.replaces {
            self.tx
                .prepare_cached("INSERT INTO withdrawal(op,target,why) VALUES(?1,?2,?3)")?
                .execute(params![self.seq, old, None::<String>])?;
            if !live::settle_item(self.tx, old, &mut self.touched)? {
                return Err(ChangeError::NoTarget(*old).into());
            }
        }
        Ok(())
    }

    /// The place that readings are about, and the name of their logger.
    fn logger(&mut self, subject: &Uid, logger: &str) -> Result<i64, Trouble> {
        let (id, kind, _) = self.subject(subject)?;
        let bad = |field: &str, problem: String| ChangeError::Field {
            kind: "readings".to_owned(),
            field: field.to_owned(),
            problem,
        };
        if kind != SubjectKind::Place {
            let problem = format!("a {} has no logger; name a place", kind.as_str());
            return Err(bad("place", problem).into());
        }
        if logger.trim().is_empty() {
            return Err(bad("logger", "a logger without a name".to_owned()).into());
        }
        Ok(id)
    }

    fn series(&mut self, s: &NewSeries) -> Result<(), Trouble> {
        let id = self.logger(&s.subject, &s.logger)?;
        self.unused("series", &s.uid)?;
        let readings = s.block.unpack().map_err(ChangeError::Block)?;
        let (Some(first), Some(last)) = (readings.first(), readings.last()) else {
            return Err(ChangeError::Block(BlockError::Count(0)).into());
        };
        if last.time >= (i64::from(self.today) + 1) * derive::DAY {
            let happened = Timestamp::from_second(last.time)
                .map_or_else(|_| format!("{} s after 1970", last.time), |t| t.to_string());
            let today = dates::from_days(self.today - 1).map(|d| d.to_string()).unwrap_or_default();
            return Err(ChangeError::Future { happened, today }.into());
        }
        self.tx
            .prepare_cached(
                "INSERT INTO series(uid,op,subject,logger,origin,first,last,count,east,packed)
                 VALUES(?1,?2,?3,?4,?5,?6,?7,?8,?9,?10)",
            )?
            .execute(params![
                s.uid,
                self.seq,
                id,
                s.logger,
                s.origin,
                first.time,
                last.time,
                i64::try_from(readings.len()).unwrap_or(0),
                s.block.east,
                s.block.packed
            ])?;
        self.touched.readings(id, &s.logger, s.block.east, first.time, last.time);
        Ok(())
    }

    fn refused(&mut self, r: &NewRefused) -> Result<(), Trouble> {
        let id = self.logger(&r.subject, &r.logger)?;
        self.unused("refused", &r.uid)?;
        let lines = serde_json::to_string(&r.lines).unwrap_or_default();
        self.tx
            .prepare_cached(
                "INSERT INTO refused(uid,op,subject,logger,origin,lines) VALUES(?1,?2,?3,?4,?5,?6)",
            )?
            .execute(params![r.uid, self.seq, id, r.logger, r.origin, lines])?;
        Ok(())
    }

    fn statement(&mut self, s: &NewStatement) -> Result<(), Trouble> {
        const TRUST: [&str; 5] = ["certain", "probable", "claimed", "doubted", "refuted"];
        let (id, kind, _) = self.subject(&s.subject)?;
        let keeper = self.optional(s.keeper.as_ref())?;
        if let Some(t) = s.trust.as_deref().filter(|t| !TRUST.contains(t)) {
            return Err(ChangeError::Field {
                kind: "statement".to_owned(),
                field: "trust".to_owned(),
                problem: format!("“{t}” is not one of {}", TRUST.join(", ")),
            }
            .into());
        }
        self.unused("statement", &s.uid)?;
        self.tx
            .prepare_cached(
                "INSERT INTO statement(uid,op,subject,text,keeper,said_by,medium,address,spot,said_on,trust,answers)
                 VALUES(?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11,?12)",
            )?
            .execute(params![
                s.uid,
                self.seq,
                id,
                s.text,
                keeper,
                s.said_by,
                s.medium,
                s.address,
                s.spot,
                s.said_on.as_ref().map(dates::Edtf::as_str),
                s.trust,
                s.answers
            ])?;
        self.mention(id, keeper)?;
        self.touched.add(kind, id);
        Ok(())
    }
}

/// The row, kind and owner of a subject, if it is in the record.
pub(crate) fn look_up(
    tx: &rusqlite::Connection,
    uid: &Uid,
) -> rusqlite::Result<Option<(i64, SubjectKind, Option<i64>)>> {
    tx.prepare_cached("SELECT id, kind, of FROM subject WHERE uid = ?1")?
        .query_row([uid], |r| {
            let word: String = r.get(1)?;
            let kind = SubjectKind::of_word(&word).unwrap_or(SubjectKind::View);
            Ok((r.get(0)?, kind, r.get(2)?))
        })
        .optional()
}

//! Writes down what happens in the simulated house as operations, in the order in which a grower
//! would have made them.

use std::collections::HashMap;

use dates::Edtf;
use jiff::Timestamp;
use journal::{Change, Known, NewEntry, NewStatement, Operation, SubjectKind, Uid};
use serde_json::{Map, Value};

use super::Day;
use crate::rng::Rng;

/// The last weeks are written as one operation a day, so that they can be undone one by one; the
/// time before as one operation a month, as it was copied in from a notebook.
const DAILY: Day = 16;
const MS_A_DAY: i64 = 86_400_000;

/// What an operation is about: words, or a plant whose number is not yet known.
#[derive(Debug, Clone)]
pub(super) enum About {
    Words(String),
    Plant(Uid),
}

/// Where a change is written, and at which instant \[ms since 1970\].
#[derive(Debug, Clone, Copy)]
pub(super) struct Pen {
    op: usize,
    at: i64,
}

struct Head {
    recorded: i64,
    device: &'static str,
    act: &'static str,
    about: About,
    changes: Vec<(i64, usize, Change)>,
}

pub(super) struct Scribe {
    who: &'static str,
    rng: Rng,
    last: Day,
    heads: Vec<Head>,
    logs: HashMap<Day, usize>,
    evenings: HashMap<Day, i64>,
    used: HashMap<i64, u16>,
    order: usize,
}

/// An entry in the making.
pub(super) struct Line(NewEntry);

/// An entry about a subject, seen then, without note.
pub(super) fn line(subject: Uid, kind: &str, happened: Edtf, detail: Value) -> Line {
    let detail = match detail {
        Value::Object(map) => map,
        _ => Map::new(),
    };
    Line(NewEntry {
        uid: Uid::from_bytes([0; 16]),
        subject,
        kind: kind.to_owned(),
        happened,
        known: Known::Seen,
        detail,
        note: None,
        replaces: None,
    })
}

impl Line {
    pub(super) fn known(mut self, known: Known) -> Self {
        self.0.known = known;
        self
    }

    pub(super) fn note(mut self, note: impl Into<String>) -> Self {
        self.0.note = Some(note.into());
        self
    }

    pub(super) fn replaces(mut self, entry: Uid) -> Self {
        self.0.replaces = Some(entry);
        self
    }
}

/// What goes with a claim besides its value.
#[derive(Debug, Clone, Default)]
pub(super) struct Grounds {
    pub as_of: Option<Edtf>,
    pub said_by: Option<String>,
    pub reason: Option<String>,
}

impl Scribe {
    pub(super) fn new(who: &'static str, seed: u64, last: Day) -> Self {
        Self {
            who,
            rng: Rng::stream(seed, "scribe"),
            last,
            heads: Vec::new(),
            logs: HashMap::new(),
            evenings: HashMap::new(),
            used: HashMap::new(),
            order: 0,
        }
    }

    /// An operation of its own, written on the evening of a day. Those of one day are written
    /// some minutes apart, in the order in which they were begun.
    pub(super) fn act(&mut self, act: &'static str, about: About, day: Day) -> Pen {
        let day = day.min(self.last);
        let same = self.heads.iter().filter(|h| h.recorded.div_euclid(MS_A_DAY) == i64::from(day));
        let later = same.count() as i64 * 150_000 + self.rng.range(0, 119_000) as i64;
        // From 16:00 UTC, well before the evening log.
        let at = i64::from(day) * MS_A_DAY + 57_600_000 + later.min(9_000_000);
        self.heads.push(Head { recorded: at, device: "desk", act, about, changes: Vec::new() });
        Pen { op: self.heads.len() - 1, at }
    }

    /// The log that covers a day.
    pub(super) fn log(&mut self, day: Day) -> Pen {
        let day = day.min(self.last);
        let daily = day > self.last - DAILY;
        let closes = if daily { day } else { month_end(day).min(self.last - DAILY) };
        let op = if let Some(&op) = self.logs.get(&closes) {
            op
        } else {
            // 20:40 UTC and a bit.
            let recorded =
                i64::from(closes) * MS_A_DAY + 74_400_000 + i64::from(self.rng.range(0, 3_000_000));
            let about = if daily { "the round".to_owned() } else { notebook(closes) };
            self.heads.push(Head {
                recorded,
                device: if daily { "phone" } else { "desk" },
                act: "log",
                about: About::Words(about),
                changes: Vec::new(),
            });
            self.logs.insert(closes, self.heads.len() - 1);
            self.heads.len() - 1
        };
        // Within one day what is written first is also made first.
        let evening = i64::from(day) * MS_A_DAY + 68_000_000;
        let step = i64::from(self.rng.range(4_000, 21_000));
        let at = self.evenings.entry(day).or_insert(evening);
        *at += step;
        Pen { op, at: (*at).min(self.heads[op].recorded) }
    }

    /// An identifier of version 7 that belongs to this instant, later than all that were made for
    /// the same millisecond before.
    pub(super) fn uid(&mut self, at: i64) -> Uid {
        let count = self.used.entry(at).or_insert(0);
        let sequence = *count & 0x0FFF;
        *count += 1;
        let mut bytes = [0u8; 16];
        bytes[..6].copy_from_slice(&at.to_be_bytes()[2..]);
        bytes[6..8].copy_from_slice(&(0x7000 | sequence).to_be_bytes());
        let tail = (self.rng.next() & 0x3FFF_FFFF_FFFF_FFFF) | 0x8000_0000_0000_0000;
        bytes[8..].copy_from_slice(&tail.to_be_bytes());
        Uid::from_bytes(bytes)
    }

    /// An identifier for a change of this pen.
    pub(super) fn fresh(&mut self, pen: Pen) -> Uid {
        self.uid(pen.at)
    }

    fn push(&mut self, pen: Pen, change: Change) {
        self.order += 1;
        let order = self.order;
        self.heads[pen.op].changes.push((pen.at, order, change));
    }

    pub(super) fn create(&mut self, pen: Pen, kind: SubjectKind, of: Option<Uid>) -> Uid {
        self.create_numbered(pen, kind, of, None)
    }

    pub(super) fn create_numbered(
        &mut self,
        pen: Pen,
        kind: SubjectKind,
        of: Option<Uid>,
        number: Option<i64>,
    ) -> Uid {
        let uid = self.uid(pen.at);
        self.push(pen, Change::Create { uid, kind, number, code: None, of });
        uid
    }

    pub(super) fn claim(&mut self, pen: Pen, subject: Uid, field: &str, value: Value) -> Uid {
        self.claim_on(pen, subject, field, value, Grounds::default())
    }

    pub(super) fn claim_on(
        &mut self,
        pen: Pen,
        subject: Uid,
        field: &str,
        value: Value,
        grounds: Grounds,
    ) -> Uid {
        let uid = self.uid(pen.at);
        self.push(
            pen,
            Change::Claim {
                uid,
                subject,
                field: field.to_owned(),
                value,
                as_of: grounds.as_of,
                said_by: grounds.said_by,
                reason: grounds.reason,
                known: Known::Seen,
            },
        );
        uid
    }

    pub(super) fn put(&mut self, pen: Pen, line: Line) -> Uid {
        let uid = self.uid(pen.at);
        self.push(pen, Change::Entry(NewEntry { uid, ..line.0 }));
        uid
    }

    pub(super) fn statement(&mut self, pen: Pen, statement: NewStatement) -> Uid {
        let uid = self.uid(pen.at);
        self.push(pen, Change::Statement(NewStatement { uid, ..statement }));
        uid
    }

    pub(super) fn question(
        &mut self,
        pen: Pen,
        subject: Uid,
        text: &str,
        keeper: Option<Uid>,
    ) -> Uid {
        let uid = self.uid(pen.at);
        self.push(pen, Change::Question { uid, subject, text: text.to_owned(), keeper });
        uid
    }

    pub(super) fn change(&mut self, pen: Pen, change: Change) {
        self.push(pen, change);
    }

    /// All operations in the order in which they were recorded, the changes of each in the order
    /// of their instants, and the numbers that the plants will get.
    pub(super) fn finish(mut self) -> (Vec<Operation>, HashMap<Uid, i64>) {
        let mut heads = std::mem::take(&mut self.heads);
        heads.retain(|h| !h.changes.is_empty());
        heads.sort_by_key(|h| h.recorded);
        for head in &mut heads {
            head.changes.sort_by_key(|(at, order, _)| (*at, *order));
        }
        let plants = heads.iter().flat_map(|h| &h.changes).filter_map(|(_, _, c)| match c {
            Change::Create { uid, kind: SubjectKind::Plant, .. } => Some(*uid),
            _ => None,
        });
        let numbers: HashMap<Uid, i64> = plants.zip(1i64..).collect();
        let operations = heads
            .into_iter()
            .map(|h| Operation {
                id: self.uid(h.recorded),
                recorded: Timestamp::from_millisecond(h.recorded).unwrap_or(Timestamp::UNIX_EPOCH),
                who: self.who.to_owned(),
                device: h.device.to_owned(),
                act: h.act.to_owned(),
                about: match h.about {
                    About::Words(words) => words,
                    About::Plant(uid) => {
                        format!("plant {}", numbers.get(&uid).copied().unwrap_or_default())
                    }
                },
                changes: h.changes.into_iter().map(|(_, _, c)| c).collect(),
            })
            .collect();
        (operations, numbers)
    }
}

fn month_end(day: Day) -> Day {
    dates::from_days(day).map_or(day, |d| dates::to_days(d.last_of_month()))
}

fn notebook(day: Day) -> String {
    dates::from_days(day)
        .map_or_else(|| "notebook".to_owned(), |d| format!("notebook, {}", d.strftime("%B %Y")))
}

//! The shape of every answer.

use journal::Known;
use serde::Serialize;

/// An answer: never a bare number. Where there is too little it says so, and what to record.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// Which question, by its key in the registry.
    pub question: &'static str,
    /// The sentence, with the value's place marked: `A flower *usually* lasts {value}`. Words
    /// between asterisks are set back.
    pub frame: &'static str,
    /// Where the typical value lies: it shrinks with more records.
    pub usually: Option<Estimate>,
    /// Where the coming event lies: it does not shrink below nature's own spread.
    pub next: Option<Forecast>,
    /// What it rests on.
    pub evidence: Evidence,
    /// What kind of knowledge it is.
    pub basis: Basis,
    /// What is missing that would sharpen it.
    pub gaps: Vec<Gap>,
    /// What to look at before acting on it.
    pub cautions: Vec<Caution>,
    /// Said in place of a value.
    pub not_enough: Option<NotEnough>,
}

/// Units of values.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Unit {
    /// Days.
    Days,
    /// Months of 30.4 days.
    Months,
    /// Conductivity at 25 °C, mS/cm.
    Conductivity,
    /// Nitrogen, mg/L.
    Nitrogen,
    /// Hundredths.
    Percent,
}

/// A typical value with its interval.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Estimate {
    /// The value; none where the records only say “at least”.
    pub value: Option<f64>,
    /// Lower limit.
    pub lower: Option<f64>,
    /// Upper limit; none where the records do not reach so far.
    pub upper: Option<f64>,
    /// Probability of the interval, from 0 to 1.
    pub level: f64,
    /// Unit of all three.
    pub unit: Unit,
}

/// A coming event, in days since 1970-01-01.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Forecast {
    /// The sentence, with `{value}` for the dates.
    pub frame: &'static str,
    /// The day by which it is as likely as not; none when there is nothing to wait for.
    pub day: Option<i64>,
    /// Earliest day of the interval.
    pub from: Option<i64>,
    /// Latest day of the interval; none when the records do not reach so far.
    pub to: Option<i64>,
    /// Probability of the interval.
    pub level: f64,
}

/// One record on the evidence line, in days since 1970-01-01.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// On one day.
    At {
        /// The day.
        day: i64,
        /// How known.
        known: Known,
    },
    /// Between two looks.
    Between {
        /// First possible day.
        from: i64,
        /// Last possible day.
        to: i64,
        /// How known.
        known: Known,
    },
    /// Still going when last looked at.
    Open {
        /// Since.
        from: i64,
        /// Last look.
        to: i64,
        /// How known.
        known: Known,
    },
    /// From other plants.
    Borrowed {
        /// The day.
        day: i64,
    },
    /// Records that are missing.
    Missing {
        /// How many.
        count: usize,
    },
}

/// What an answer rests on.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Evidence {
    /// How many records.
    pub records: usize,
    /// What a record is, in the singular and plural of the catalogue: `flower`, `umbel`.
    pub what: &'static str,
    /// Of how many plants.
    pub plants: usize,
    /// First day.
    pub first: Option<i64>,
    /// Last day.
    pub last: Option<i64>,
    /// How many were seen at the time.
    pub seen: usize,
    /// How many were remembered later.
    pub remembered: usize,
    /// How many are from photos.
    pub from_photo: usize,
    /// How many were told by others.
    pub told: usize,
    /// How many are known only between two looks.
    pub between_looks: usize,
    /// How many were still going at the last look.
    pub open: usize,
    /// The marks of the evidence line.
    pub marks: Vec<Mark>,
}

impl Evidence {
    /// Counts one record by how it is known.
    pub(crate) fn count(&mut self, known: Known) {
        self.records += 1;
        match known {
            Known::Seen => self.seen += 1,
            Known::Remembered => self.remembered += 1,
            Known::Photo => self.from_photo += 1,
            Known::Told => self.told += 1,
        }
    }

    /// Widens the span of days.
    pub(crate) fn reach(&mut self, from: i64, to: i64) {
        self.first = Some(self.first.map_or(from, |f| f.min(from)));
        self.last = Some(self.last.map_or(to, |l| l.max(to)));
    }
}

/// What kind of knowledge an answer is.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Measured here, on this plant.
    MeasuredHere,
    /// Learnt from the records of this plant.
    LearntHere,
    /// Learnt from the records of all pieces of this clone.
    LearntFromClone,
    /// Borrowed from similar plants of this collection.
    Borrowed {
        /// Which: a genus.
        from: String,
    },
    /// A published default, with its source.
    Published {
        /// The source.
        source: &'static str,
    },
    /// Common practice, no source.
    CommonPractice,
    /// Nothing yet.
    Nothing,
}

/// Something missing that would sharpen an answer, in words of the catalogue.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Gap {
    /// The words, with `{n}` for the count.
    pub text: &'static str,
    /// The count.
    pub n: usize,
}

/// What to look at before acting, in words of the catalogue.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Caution {
    /// The lead.
    pub lead: &'static str,
    /// The check to make.
    pub text: &'static str,
}

/// Why there is no value, and what would bring one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NotEnough {
    /// How many records there are.
    pub have: usize,
    /// How many are needed.
    pub need: usize,
    /// What to record, in words of the catalogue.
    pub record: &'static str,
}

//! Who writes, on which device, and when: the calculators and the record have no clock of their own.

use jiff::{Timestamp, civil::Date};
use journal::{Draft, OpId};
use texts::{Lang, Texts};

/// The hand that asks or writes.
#[derive(Debug, Clone)]
pub struct Hand {
    /// Who writes.
    pub who: String,
    /// On which device.
    pub device: String,
    /// The instant, in UTC.
    pub now: Timestamp,
    /// The day in the house's time zone.
    pub today: Date,
    /// The language of the reader.
    pub lang: Lang,
    /// The identifier of the one operation that is to be written, where it was made elsewhere, such
    /// as on a phone that had no connection. None for a new one each time.
    pub op: Option<OpId>,
}

impl Hand {
    /// Begins an operation by this hand.
    #[must_use]
    pub fn draft(&self, act: &str, about: &str) -> Draft {
        let draft = Draft::new(act, about, &self.who, &self.device, self.now);
        match self.op {
            Some(op) => draft.with_id(op),
            None => draft,
        }
    }

    /// The texts in the language of the reader.
    #[must_use]
    pub fn texts(&self) -> Texts {
        Texts::new(self.lang)
    }

    /// Today as a number of days since 1970-01-01.
    #[must_use]
    pub fn today_number(&self) -> i64 {
        i64::from(dates::to_days(self.today))
    }
}

//! Who writes, on which device, and when: the calculators and the record have no clock of their own.

use jiff::{Timestamp, civil::Date};
use journal::Draft;
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
}

impl Hand {
    /// Begins an operation by this hand.
    #[must_use]
    pub fn draft(&self, act: &str, about: &str) -> Draft {
        Draft::new(act, about, &self.who, &self.device, self.now)
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

//! What can be wrong with a date as written.

/// Why a text is not a date; each message names the value.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum EdtfError {
    /// The text is empty.
    #[error("the date is empty; write XXXX for a date that is not known")]
    Empty,
    /// The text does not follow the notation.
    #[error(
        "“{value}” is not a date in EDTF notation; write a year (2024), a month (2024-05), \
         a day (2024-05-07), an interval (2024-05/2024-06) or a set ([2019,2020])"
    )]
    Notation {
        /// The value as written.
        value: String,
    },
    /// There is no such month or season.
    #[error("“{value}” names month {month}; months are 01 to 12 and seasons 21 to 32")]
    NoSuchMonth {
        /// The value as written.
        value: String,
        /// The number in the place of the month.
        month: u8,
    },
    /// There is no such day in that month.
    #[error("“{value}” is a day that does not exist; write the month alone if the day is in doubt")]
    NoSuchDay {
        /// The value as written.
        value: String,
    },
    /// An interval runs backwards.
    #[error("“{value}” ends before it begins; exchange the two dates")]
    Backwards {
        /// The value as written.
        value: String,
    },
    /// A time of day was written, which is not kept here.
    #[error("“{value}” has a time of day; leave it out, only days are kept")]
    TimeOfDay {
        /// The value as written.
        value: String,
    },
}

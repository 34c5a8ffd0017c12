//! Reading, bounds and words of dates.

mod reading;
mod words;

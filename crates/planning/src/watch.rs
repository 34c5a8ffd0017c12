//! How long a search may take, told in looks and not by the clock, so that it can be repeated.

use std::sync::atomic::{AtomicBool, Ordering};

/// How a search stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Looks taken so far; a look is one candidate of one choice, weighed once.
    pub looks: u64,
    /// Looks allowed.
    pub most_looks: u64,
    /// The value of the best that was found.
    pub found: f64,
    /// No choice has a higher value than this.
    pub bound: f64,
}

/// How a search ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// Nothing better exists, up to rounding.
    Proven,
    /// The looks allowed were used up; bound less found says how much better something else could
    /// be at most.
    LooksUsed,
    /// It was stopped from outside.
    Stopped,
}

/// Limits of a search, and who follows it.
#[derive(Default)]
pub struct Watch<'a> {
    most_looks: u64,
    looks: u64,
    told_at: u64,
    stop: Option<&'a AtomicBool>,
    tell: Option<&'a mut dyn FnMut(Progress)>,
}

/// Looks between two reports.
const BETWEEN_REPORTS: u64 = 1_000_000;

impl<'a> Watch<'a> {
    /// Looks that take one to two seconds on one core.
    pub const USUAL: u64 = 40_000_000;

    /// A search of at most so many looks. The first steps are always taken.
    pub fn new(most_looks: u64) -> Self {
        Self { most_looks, ..Self::default() }
    }

    /// Stops when the flag is set; what was found until then is given.
    #[must_use]
    pub fn stopped_by(mut self, flag: &'a AtomicBool) -> Self {
        self.stop = Some(flag);
        self
    }

    /// Reports now and then.
    #[must_use]
    pub fn telling(mut self, tell: &'a mut dyn FnMut(Progress)) -> Self {
        self.tell = Some(tell);
        self
    }

    /// Looks taken so far.
    pub fn looks(&self) -> u64 {
        self.looks
    }

    /// The share of looks that was used \[0 and more\].
    pub(crate) fn used(&self) -> f64 {
        self.looks as f64 / self.most_looks.max(1) as f64
    }

    /// Counts looks.
    pub(crate) fn spend(&mut self, looks: usize) {
        self.looks += looks as u64;
    }

    /// Why to end now, if there is a reason.
    pub(crate) fn over(&self) -> Option<Ended> {
        if self.stop.is_some_and(|flag| flag.load(Ordering::Relaxed)) {
            return Some(Ended::Stopped);
        }
        (self.looks >= self.most_looks).then_some(Ended::LooksUsed)
    }

    /// Reports, if it is time.
    pub(crate) fn report(&mut self, found: f64, bound: f64) {
        if self.looks < self.told_at + BETWEEN_REPORTS && self.told_at > 0 {
            return;
        }
        self.told_at = self.looks.max(1);
        if let Some(tell) = &mut self.tell {
            tell(Progress { looks: self.looks, most_looks: self.most_looks, found, bound });
        }
    }

    /// The same limits for the next search of several, with as many looks again.
    pub(crate) fn again(&mut self) {
        (self.looks, self.told_at) = (0, 0);
    }
}

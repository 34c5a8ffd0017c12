//! One record of a time to event.

/// When the event came, counted from the start in any one unit (days, say).
///
/// Intervals are half-open, `(left, right]`: nothing had happened yet at `left`, it had happened
/// at `right`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Time {
    /// The last time at which the event had surely not happened; `None` when it had already
    /// happened at the first look.
    pub left: Option<f64>,
    /// The first time at which the event had surely happened; `None` when it is still to come.
    /// Equal to `left` when the event was seen exactly.
    pub right: Option<f64>,
    /// When observation began, if later than the start (delayed entry): earlier events could not
    /// have been seen.
    pub entry: f64,
}

impl Time {
    /// The event was seen at `t`.
    pub fn exact(t: f64) -> Self {
        Time { left: Some(t), right: Some(t), entry: 0.0 }
    }

    /// The event came after `left` and not after `right`.
    pub fn between(left: f64, right: f64) -> Self {
        Time { left: Some(left), right: Some(right), entry: 0.0 }
    }

    /// No event up to `t`; nothing is known after that.
    pub fn open(t: f64) -> Self {
        Time { left: Some(t), right: None, entry: 0.0 }
    }

    /// The event came not after `t`, the first look.
    pub fn before(t: f64) -> Self {
        Time { left: None, right: Some(t), entry: 0.0 }
    }

    /// The same record, under observation only from `entry` on.
    pub fn entered(self, entry: f64) -> Self {
        Time { entry, ..self }
    }

    /// True when the event was seen exactly.
    pub fn is_exact(&self) -> bool {
        self.left.is_some() && self.left == self.right
    }

    /// True when the event is still to come.
    pub fn is_open(&self) -> bool {
        self.right.is_none()
    }

    /// Checks one record; `row` counts from 1 and only serves the message.
    pub(crate) fn check(&self, row: usize) -> Result<(), SurvivalError> {
        for value in [self.left, self.right, Some(self.entry)].into_iter().flatten() {
            if !value.is_finite() || value < 0.0 {
                return Err(SurvivalError::BadTime { row, value });
            }
        }
        match (self.left, self.right) {
            (None, None) => Err(SurvivalError::NoTime { row }),
            (Some(left), Some(right)) if left > right => {
                Err(SurvivalError::Reversed { row, left, right })
            }
            (left, right) => {
                let last = right.or(left).unwrap_or(0.0);
                // Someone who enters at the very moment of leaving was never under observation.
                if self.entry > 0.0 && self.entry >= last {
                    return Err(SurvivalError::LateEntry { row, entry: self.entry, last });
                }
                Ok(())
            }
        }
    }
}

pub(crate) fn check_all(times: &[Time]) -> Result<(), SurvivalError> {
    if times.is_empty() {
        return Err(SurvivalError::Empty);
    }
    times.iter().enumerate().try_for_each(|(i, t)| t.check(i + 1))
}

pub(crate) fn check_confidence(confidence: f64) -> Result<(), SurvivalError> {
    if confidence > 0.0 && confidence < 1.0 {
        Ok(())
    } else {
        Err(SurvivalError::Confidence(confidence))
    }
}

/// Why no curve can be given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SurvivalError {
    /// No records.
    #[error("no records; a curve needs at least one")]
    Empty,
    /// A time that is negative or not a number.
    #[error("record {row}: {value} is not a time; expected a number from 0 on")]
    BadTime {
        /// Which record, from 1.
        row: usize,
        /// The value.
        value: f64,
    },
    /// Neither end known.
    #[error("record {row}: neither the left nor the right end is given; give at least one")]
    NoTime {
        /// Which record, from 1.
        row: usize,
    },
    /// The interval ends before it begins.
    #[error("record {row}: left {left} is after right {right}; exchange them or correct one")]
    Reversed {
        /// Which record, from 1.
        row: usize,
        /// Left end.
        left: f64,
        /// Right end.
        right: f64,
    },
    /// Observation begins when it is already over.
    #[error("record {row}: entry {entry} is not before the last time {last}; correct one of them")]
    LateEntry {
        /// Which record, from 1.
        row: usize,
        /// Entry.
        entry: f64,
        /// Last time of the record.
        last: f64,
    },
    /// Kaplan–Meier cannot use intervals.
    #[error(
        "record {row}: the event lies between two looks; \
         Kaplan–Meier needs exact times, use the Turnbull fit"
    )]
    IntervalRecord {
        /// Which record, from 1.
        row: usize,
    },
    /// The Turnbull fit here does not handle delayed entry.
    #[error("record {row}: delayed entry with intervals is not supported; leave the entry blank")]
    EntryWithIntervals {
        /// Which record, from 1.
        row: usize,
    },
    /// Competing endings of which none has come.
    #[error(
        "no record has ended, so there is no cause whose incidence could be given; wait for one"
    )]
    NoEnding,
    /// A confidence outside (0, 1).
    #[error("confidence {0}: expected a number between 0 and 1, such as 0.95")]
    Confidence(f64),
    /// A quantile outside (0, 1).
    #[error("quantile {0}: expected a number between 0 and 1, such as 0.5")]
    BadQuantile(f64),
    /// The iteration did not reach the optimum.
    #[error(
        "the curve did not settle after {iterations} steps (still {excess} from the optimum); \
         no curve is given"
    )]
    NotReached {
        /// Steps made.
        iterations: usize,
        /// How far the optimality condition is from being met.
        excess: f64,
    },
}

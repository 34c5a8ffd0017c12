//! A clock that does not run evenly: days of lamps and dry air count for more than a day.

/// Rates by day, as a step function: a rate holds from its day until the next one given, the last
/// one for ever; before the first, and where nothing is known, the clock runs as days do.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Clock {
    /// Day, its rate, and the reading of the clock at its start.
    steps: Vec<(f64, f64, f64)>,
}

/// Why a clock cannot be made.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum ClockError {
    /// A day or a rate that cannot be.
    #[error("day {day} with rate {rate}: expected a day from 0 on and a rate above 0")]
    Bad {
        /// Day.
        day: f64,
        /// Rate.
        rate: f64,
    },
    /// A day given twice.
    #[error("day {day} has two rates; keep one")]
    Twice {
        /// Day.
        day: f64,
    },
}

impl Clock {
    /// Makes a clock from (day, rate), in any order.
    ///
    /// # Errors
    /// A day before 0, a rate that is not above 0 (time would stand still, and the moment of an event
    /// could not be told), a day given twice.
    pub fn new(rates: &[(f64, f64)]) -> Result<Clock, ClockError> {
        let good = |(day, rate): &&(f64, f64)| {
            day.is_finite() && *day >= 0.0 && rate.is_finite() && *rate > 0.0
        };
        if let Some(&(day, rate)) = rates.iter().find(|r| !good(r)) {
            return Err(ClockError::Bad { day, rate });
        }
        let mut sorted = rates.to_vec();
        sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
        if let Some(w) = sorted.windows(2).find(|w| w[0].0 == w[1].0) {
            return Err(ClockError::Twice { day: w[0].0 });
        }
        let mut steps: Vec<(f64, f64, f64)> = Vec::with_capacity(sorted.len());
        for (day, rate) in sorted {
            let reading = match steps.last() {
                None => day,
                Some((last, rate, reading)) => reading + rate * (day - last),
            };
            steps.push((day, rate, reading));
        }
        Ok(Clock { steps })
    }

    /// What the clock reads on a day (whole or not).
    pub fn reading(&self, day: f64) -> f64 {
        let after = self.steps.partition_point(|s| s.0 <= day);
        match after.checked_sub(1).map(|i| self.steps[i]) {
            None => day,
            Some((start, rate, reading)) => reading + rate * (day - start),
        }
    }

    /// The day on which the clock has a reading.
    pub fn day(&self, reading: f64) -> f64 {
        let after = self.steps.partition_point(|s| s.2 <= reading);
        match after.checked_sub(1).map(|i| self.steps[i]) {
            None => reading,
            Some((start, rate, there)) => start + (reading - there) / rate,
        }
    }
}

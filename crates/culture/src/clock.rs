//! The demand clock: days of drying weather counted as more than a day.
//!
//! A pot that dries in five days of lamps and dry air may take eight in a dull week. Counted in
//! demand, x = (D/0.9)^a (0.3 + 0.7 L/5)^b for each day, both are the same length. D is the daily
//! mean of the leaf's deficit \[kPa\], L the daily light \[mol/m²\]; a standard day has x = 1.

use serde::Serialize;

use crate::{
    Basis, Constant, Estimate, Spread,
    limits::{OutOfRange, within},
};

const SCALING: &str = "common practice from the shape of the greenhouse transpiration formula";
const DEFICIT: Constant = plain("clock_standard_deficit", 0.9, "kPa", Spread::None);
const LIGHT: Constant = plain("clock_standard_light", 5.0, "mol/(m² d)", Spread::None);
const DARK_SHARE: Constant = plain("clock_dark_share", 0.3, "1", Spread::Range(0.15, 0.5));
const A: Constant = plain("clock_a", 0.7, "1", Spread::Sd(0.2));
const B: Constant = plain("clock_b", 0.5, "1", Spread::Sd(0.25));

const fn plain(name: &'static str, value: f64, unit: &'static str, spread: Spread) -> Constant {
    Constant { name, value, unit, spread, basis: Basis::CommonPractice, source: SCALING }
}

/// Every constant of this module.
pub fn constants() -> Vec<Constant> {
    vec![DEFICIT, LIGHT, DARK_SHARE, A, B]
}

/// How strongly demand follows dryness and light, with standard deviations.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Exponents {
    /// Of the deficit.
    pub a: f64,
    /// Standard deviation of `a`.
    pub a_sd: f64,
    /// Of the light.
    pub b: f64,
    /// Standard deviation of `b`.
    pub b_sd: f64,
}

impl Default for Exponents {
    /// The priors: a = 0.7 ± 0.2, b = 0.5 ± 0.25.
    fn default() -> Self {
        Self { a: A.value, a_sd: 0.2, b: B.value, b_sd: 0.25 }
    }
}

/// The climate of a day, as far as it is known.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct DayClimate {
    /// Mean leaf deficit \[kPa\].
    pub deficit: Option<f64>,
    /// Daily light \[mol/(m² d)\].
    pub light: Option<f64>,
}

/// Demand of a day, with the uncertainty of the exponents. What is not known counts as standard.
///
/// # Errors
/// When the deficit is outside of 0 to 10 kPa or the light outside of 0 to 80 mol.
pub fn demand(climate: DayClimate, exponents: &Exponents) -> Result<Estimate, OutOfRange> {
    let dryness = match climate.deficit {
        Some(d) => within("deficit", d, "kPa", 0.0, 10.0)? / DEFICIT.value,
        None => 1.0,
    };
    let light = match climate.light {
        Some(l) => {
            let share = within("daily light", l, "mol/(m² d)", 0.0, 80.0)? / LIGHT.value;
            DARK_SHARE.value + (1.0 - DARK_SHARE.value) * share
        }
        None => 1.0,
    };
    let value = dryness.powf(exponents.a) * light.powf(exponents.b);
    if value <= 0.0 {
        return Ok(Estimate::exact(0.0));
    }
    let log_sd = (dryness.ln() * exponents.a_sd).hypot(light.ln() * exponents.b_sd);
    Ok(Estimate::lognormal(value, log_sd))
}

/// The clock of one subject: a rate for each day from a first day on, 1 before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct Clock {
    first_day: i64,
    rates: Vec<f64>,
    /// Demand from the first day to the start of each later one; one longer than `rates`.
    sums: Vec<f64>,
}

impl Clock {
    /// A clock that ran as days do.
    pub fn standard() -> Self {
        Self::from_rates(0, Vec::new())
    }

    /// A clock from the climate of consecutive days.
    ///
    /// # Errors
    /// Those of [`demand`].
    pub fn from_climate(
        first_day: i64,
        days: &[DayClimate],
        exponents: &Exponents,
    ) -> Result<Self, OutOfRange> {
        let rates: Result<Vec<f64>, _> =
            days.iter().map(|d| demand(*d, exponents).map(|e| e.value)).collect();
        Ok(Self::from_rates(first_day, rates?))
    }

    fn from_rates(first_day: i64, rates: Vec<f64>) -> Self {
        let mut sums = Vec::with_capacity(rates.len() + 1);
        let mut sum = 0.0;
        sums.push(sum);
        for rate in &rates {
            sum += rate;
            sums.push(sum);
        }
        Self { first_day, rates, sums }
    }

    /// A clock from rates that are known, for consecutive days.
    ///
    /// # Errors
    /// When a rate is outside of 0 to 50.
    pub fn new(first_day: i64, rates: Vec<f64>) -> Result<Self, OutOfRange> {
        for rate in &rates {
            within("rate of the clock", *rate, "1", 0.0, 50.0)?;
        }
        Ok(Self::from_rates(first_day, rates))
    }

    /// Demand from the first day to a time \[d\]; negative before it.
    fn reading(&self, time: f64) -> f64 {
        let since = time - self.first_day as f64;
        let days = self.rates.len() as f64;
        if since <= 0.0 {
            return since;
        }
        if since >= days {
            return self.sums[self.rates.len()] + since - days;
        }
        let day = since.floor();
        self.sums[day as usize] + (since - day) * self.rates[day as usize]
    }

    /// Demand between two times \[d\].
    pub fn between(&self, from: f64, to: f64) -> f64 {
        self.reading(to) - self.reading(from)
    }

    /// The time \[d\] at which a demand has been reached since `from`; the first such time where
    /// the clock stood still, and `from` itself for no demand.
    pub fn reached(&self, from: f64, demand: f64) -> f64 {
        self.first_reached(from, demand).max(from)
    }

    fn first_reached(&self, from: f64, demand: f64) -> f64 {
        let wanted = self.reading(from) + demand;
        let first = self.first_day as f64;
        if wanted <= 0.0 {
            return first + wanted;
        }
        let last = self.sums[self.rates.len()];
        if wanted > last {
            return first + self.rates.len() as f64 + wanted - last;
        }
        // The first day at whose end the demand is there.
        let day = self.sums[1..].partition_point(|s| *s < wanted);
        let rate = self.rates[day];
        let part = if rate > 0.0 { (wanted - self.sums[day]) / rate } else { 0.0 };
        first + day as f64 + part
    }

    /// How many times as fast as days the clock ran between two times; `None` for no time at all.
    pub fn speed(&self, from: f64, to: f64) -> Option<f64> {
        (to > from).then(|| self.between(from, to) / (to - from))
    }
}

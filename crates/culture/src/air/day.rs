//! One day out of what a logger recorded.

use serde::Serialize;

use super::{
    odd::FLAT,
    series::{LEAST_HOURS, MOST_GAP},
};
use crate::air::Air;

/// How far beyond both ends of a day samples are looked at \[h\]: a spell that did not change is
/// told apart from its first 6 hours on, wherever midnight falls into it.
pub const MARGIN_OF_DAY: f64 = 7.0;

/// What a logger recorded at one moment; what it does not measure is absent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// When \[h\], counted from midnight of day 0.
    pub hour: f64,
    /// Temperature \[°C\].
    pub temperature: Option<f64>,
    /// Relative humidity \[%\], 0 to 105.
    pub humidity: Option<f64>,
}

impl Sample {
    fn air(&self) -> Option<Air> {
        Air::from_sensor(self.temperature?, self.humidity?).ok()
    }

    fn same(&self, other: &Self) -> bool {
        (self.temperature, self.humidity) == (other.temperature, other.humidity)
    }
}

/// The air of one day.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct AirOfDay {
    /// Hours covered by temperatures.
    pub hours: f64,
    /// Mean temperature \[°C\].
    pub temperature: Option<f64>,
    /// Lowest temperature \[°C\].
    pub coldest: Option<f64>,
    /// Highest temperature \[°C\].
    pub warmest: Option<f64>,
    /// Hours covered by temperature and humidity together.
    pub air_hours: f64,
    /// Mean relative humidity \[%\].
    pub humidity: Option<f64>,
    /// Mean deficit of the air \[kPa\]: the mean of its moments.
    pub deficit: Option<f64>,
    /// Hours during which nothing changed for so long that the logger is not believed.
    pub flat_hours: f64,
}

impl AirOfDay {
    /// Whether so many hours are enough for a daily value: 20, common practice.
    #[must_use]
    pub fn enough(hours: f64) -> bool {
        hours >= LEAST_HOURS.value - 1e-9
    }
}

/// Which samples, in order of time, belong to a spell of more than 6 hours without any change.
#[must_use]
pub fn flat_samples(samples: &[Sample]) -> Vec<bool> {
    let mut flat = vec![false; samples.len()];
    let mut start = 0;
    for at in 1..=samples.len() {
        let goes_on = at < samples.len()
            && samples[at].same(&samples[at - 1])
            && samples[at].hour - samples[at - 1].hour <= MOST_GAP.value;
        if goes_on {
            continue;
        }
        if samples[at - 1].hour - samples[start].hour > FLAT.value {
            flat[start..at].fill(true);
        }
        start = at;
    }
    flat
}

/// The air of a day from samples in order of time, which should reach [`MARGIN_OF_DAY`] beyond it
/// on both sides; `None` when nothing was recorded in it.
///
/// Everything runs straight between two samples at most 2 h apart; over longer gaps, and over
/// spells of more than 6 h without any change, nothing is said.
#[must_use]
pub fn air_of_day(samples: &[Sample], day: i64) -> Option<AirOfDay> {
    let (start, end) = (24.0 * day as f64, 24.0 * (day + 1) as f64);
    let flat = flat_samples(samples);
    let mut found = AirOfDay::default();
    let (mut warm, mut humid, mut dry) = (0.0, 0.0, 0.0);
    let mut any = false;
    for (at, sample) in samples.iter().enumerate() {
        if sample.hour >= start && sample.hour < end {
            any = true;
            if let Some(t) = sample.temperature.filter(|_| !flat[at]) {
                found.coldest = Some(found.coldest.map_or(t, |c: f64| c.min(t)));
                found.warmest = Some(found.warmest.map_or(t, |w: f64| w.max(t)));
            }
        }
        let Some(next) = samples.get(at + 1) else { continue };
        let span = next.hour - sample.hour;
        let (from, to) = (sample.hour.max(start), next.hour.min(end));
        if !(span > 0.0 && span <= MOST_GAP.value && to > from) {
            continue;
        }
        let hours = to - from;
        if flat[at] && flat[at + 1] && sample.same(next) {
            found.flat_hours += hours;
            continue;
        }
        // The mean over a straight piece is its value halfway.
        let middle = (0.5 * (from + to) - sample.hour) / span;
        let mix = |a: f64, b: f64| a + (b - a) * middle;
        if let (Some(a), Some(b)) = (sample.temperature, next.temperature) {
            found.hours += hours;
            warm += mix(a, b) * hours;
        }
        if let (Some(a), Some(b)) = (sample.air(), next.air()) {
            found.air_hours += hours;
            humid += mix(a.humidity(), b.humidity()) * hours;
            dry += mix(a.deficit(), b.deficit()) * hours;
        }
    }
    let mean = |sum: f64, hours: f64| (hours > 0.0).then(|| sum / hours);
    found.temperature = mean(warm, found.hours);
    found.humidity = mean(humid, found.air_hours);
    found.deficit = mean(dry, found.air_hours);
    any.then_some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample(hour: f64, temperature: f64, humidity: f64) -> Sample {
        Sample { hour, temperature: Some(temperature), humidity: Some(humidity) }
    }

    /// A day of readings every half hour that rise and fall.
    fn waves(from: f64, to: f64) -> Vec<Sample> {
        let steps = ((to - from) * 2.0) as usize;
        (0..=steps)
            .map(|i| {
                let hour = from + 0.5 * i as f64;
                sample(hour, 20.0 + (hour / 3.0).sin(), 60.0 + (hour / 5.0).cos())
            })
            .collect()
    }

    #[test]
    fn the_mean_of_a_day_is_that_of_its_straight_pieces() {
        // From 20 to 24 °C over two hours, then back: the mean is 22, and 4 hours are covered.
        let samples =
            [sample(10.0, 20.0, 50.0), sample(12.0, 24.0, 50.0), sample(14.0, 20.0, 50.0)];
        let day = air_of_day(&samples, 0).unwrap();
        assert!((day.temperature.unwrap() - 22.0).abs() < 1e-9 && (day.hours - 4.0).abs() < 1e-9);
        let ends = Air::new(20.0, 50.0).unwrap().deficit();
        let top = Air::new(24.0, 50.0).unwrap().deficit();
        assert!((day.deficit.unwrap() - 0.5 * (ends + top)).abs() < 1e-9);
        assert_eq!((day.coldest, day.warmest), (Some(20.0), Some(24.0)));
        assert!(!AirOfDay::enough(day.hours) && AirOfDay::enough(20.0));
    }

    #[test]
    fn the_deficit_of_a_day_is_that_of_the_daily_deficits() {
        let samples = waves(-7.0, 31.0);
        let day = air_of_day(&samples, 0).unwrap();
        let readings: Vec<_> = samples
            .iter()
            .map(|s| super::super::Reading { hour: s.hour, air: s.air().unwrap(), lit: true })
            .collect();
        let other = super::super::daily_deficits(&readings, super::super::LeafOffset::default());
        let same = other.iter().find(|d| d.day == 0).unwrap();
        assert!((day.deficit.unwrap() - same.air).abs() < 1e-9, "{day:?} {same:?}");
        assert!((day.hours - 24.0).abs() < 1e-9);
    }

    #[test]
    fn what_did_not_change_for_more_than_six_hours_counts_as_flat_on_both_sides_of_midnight() {
        let mut samples = waves(-7.0, 31.0);
        for s in samples.iter_mut().filter(|s| s.hour >= -4.0 && s.hour <= 3.0) {
            (s.temperature, s.humidity) = (Some(21.0), Some(55.0));
        }
        let day = air_of_day(&samples, 0).unwrap();
        assert!((day.flat_hours - 3.0).abs() < 1e-9 && (day.hours - 21.0).abs() < 1e-9, "{day:?}");
        assert_ne!(day.warmest, Some(21.0));
        // Six hours and no more are believed.
        for s in samples.iter_mut().filter(|s| s.hour < -3.0) {
            s.temperature = Some(19.0 + s.hour / 10.0);
        }
        assert!(air_of_day(&samples, 0).unwrap().flat_hours.abs() < 1e-9);
    }

    #[test]
    fn a_gap_of_more_than_two_hours_is_not_bridged_and_a_missing_sensor_is_not_guessed() {
        let mut samples = waves(0.0, 24.0);
        samples.retain(|s| s.hour <= 8.0 || s.hour >= 11.0);
        for s in &mut samples {
            s.humidity = s.humidity.filter(|_| s.hour > 12.0);
        }
        let day = air_of_day(&samples, 0).unwrap();
        assert!((day.hours - 21.0).abs() < 1e-9, "{day:?}");
        assert!((day.air_hours - 11.5).abs() < 1e-9, "{day:?}");
        assert_eq!(air_of_day(&samples, 3), None);
    }
}

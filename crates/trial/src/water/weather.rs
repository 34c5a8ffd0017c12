//! Years of weather, and what is left of it at a place of the house.

use std::f64::consts::TAU;

use super::{World, stream};
use crate::rng::Rng;

/// One day at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Mean temperature \[°C\].
    pub temperature: f64,
    /// Mean relative humidity \[%\].
    pub humidity: f64,
    /// Vapour pressure deficit \[kPa\].
    pub deficit: f64,
    /// Daily light \[mol/(m² d)\].
    pub light: f64,
}

/// What a place is like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Behind a window: light by the season and the clouds.
    Sill,
    /// A shelf under lamps, which warm it.
    Shelf,
    /// A cabinet under lamps, with humid air.
    Cabinet,
}

/// A place with all its days.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// What it is like.
    pub kind: Kind,
    /// Whether its light and air are written down.
    pub logged: bool,
    /// The first of its days \[days since 1970-01-01\].
    pub first_day: i64,
    /// Its days; they go on for some months after the end of the record.
    pub days: Vec<Air>,
}

impl Place {
    /// A day's light and air; those before the first and after the last are like these.
    #[must_use]
    pub fn on(&self, day: i64) -> Air {
        let last = self.days.len().saturating_sub(1);
        self.days[usize::try_from(day - self.first_day).unwrap_or(0).min(last)]
    }
}

/// Saturation vapour pressure over water \[kPa\] (Magnus; constants of the WMO guide, from memory).
fn saturation(celsius: f64) -> f64 {
    0.6112 * (17.62 * celsius / (243.12 + celsius)).exp()
}

/// Vapour pressure deficit \[kPa\] at a temperature \[°C\] and a relative humidity \[%\].
pub(super) fn deficit(celsius: f64, humidity: f64) -> f64 {
    saturation(celsius) * (1.0 - humidity / 100.0)
}

/// A day outdoors.
struct Outdoors {
    temperature: f64,
    dew_point: f64,
    /// Share of a clear day's light.
    clear: f64,
    /// 0 at midwinter, 1 at midsummer.
    season: f64,
}

/// Weather of a mild temperate place: a season, spells, and two hot weeks in most summers.
fn outdoors(rng: &mut Rng, first_day: i64, days: i64) -> Vec<Outdoors> {
    let (mut spell, mut cloud) = (0.0, 0.0);
    let mut hot_until = i64::MIN;
    (first_day..first_day + days)
        .map(|day| {
            // The coldest day is in the third week of January (day 19 of the year 1970).
            let turn = (TAU * (day - 19) as f64 / 365.25).cos();
            let season = 0.5 - 0.5 * turn;
            spell = 0.8 * spell + 1.8 * rng.normal();
            cloud = 0.5 * cloud + 0.35 * rng.normal();
            if season > 0.85 && day > hot_until && rng.chance(0.025) {
                hot_until = day + 7;
            }
            let heat = if day <= hot_until { 6.0 } else { 0.0 };
            let temperature = 10.5 - 9.0 * turn + spell + heat;
            Outdoors {
                temperature,
                dew_point: temperature - rng.between(2.0, 4.0 + 5.0 * season) - 0.5 * heat,
                clear: (0.62 + 0.25 * cloud + 0.05 * heat).clamp(0.2, 1.0),
                season,
            }
        })
        .collect()
}

pub(super) fn places(world: &World, days: i64) -> Vec<Place> {
    let weather = outdoors(&mut stream(world, "weather"), world.first_day, days);
    let mut order: Vec<usize> = (0..world.places).collect();
    stream(world, "loggers").shuffle(&mut order);
    let missing = (world.without_logger * world.places as f64).round() as usize;
    let without = &order[..missing.min(world.places)];
    (0..world.places)
        .map(|index| {
            let mut rng = stream(world, &format!("place {index}"));
            let kind = [Kind::Shelf, Kind::Sill, Kind::Cabinet][index % 3];
            let own = Own::new(kind, &mut rng);
            // A house warms slowly: three days count.
            let mut warmth = weather.first().map_or(10.0, |o| o.temperature);
            let days = weather.iter().map(|out| {
                warmth += (out.temperature - warmth) / 3.0;
                own.day(out, warmth, &mut rng)
            });
            let days = days.collect();
            let logged = !without.contains(&index);
            Place { kind, logged, first_day: world.first_day, days }
        })
        .collect()
}

/// What makes a place unlike the next of its kind.
struct Own {
    kind: Kind,
    warmer: f64,
    moister: f64,
    light: f64,
}

impl Own {
    fn new(kind: Kind, rng: &mut Rng) -> Self {
        let (warmer, moister, light) = match kind {
            // A pane of 1 m² to the east or west gives about 7 mol on a clear day in June.
            Kind::Sill => (-0.5, 0.0, rng.log_normal(7.5, 0.35)),
            Kind::Shelf => (2.0, 0.05, rng.log_normal(5.0, 0.3)),
            Kind::Cabinet => (1.5, 0.9, rng.log_normal(4.0, 0.3)),
        };
        Self { kind, warmer: warmer + 0.7 * rng.normal(), moister, light }
    }

    fn day(&self, out: &Outdoors, warmth: f64, rng: &mut Rng) -> Air {
        // Heated to 20 °C; from 16 °C outdoors on the house follows the weather.
        let indoors = 20.0 + 0.7 * (warmth - 16.0).max(0.0);
        let temperature = indoors + self.warmer + 0.4 * rng.normal();
        // Vapour of the air from outdoors, of people, plants and, in a cabinet, wet pots.
        // Windows are open in summer.
        let kept = 0.45 - 0.25 * out.season + self.moister;
        let vapour = saturation(out.dew_point) + kept;
        let humidity = (100.0 * vapour / saturation(temperature)).clamp(22.0, 92.0);
        let light = match self.kind {
            // The sun is lower and the day shorter in winter.
            Kind::Sill => self.light * out.clear * (0.18 + 0.82 * out.season),
            Kind::Shelf | Kind::Cabinet => self.light * (1.0 + 0.02 * rng.normal()),
        };
        let deficit = deficit(temperature, humidity);
        Air { temperature, humidity, deficit, light: light.max(0.05) }
    }
}

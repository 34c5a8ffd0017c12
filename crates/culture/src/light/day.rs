//! How long a day is and how much the sun sends above the air.
//!
//! Two ways that answer different questions. By the day of the year alone, the formulas of FAO-56
//! (Allen, Pereira, Raes & Smith 1998, FAO Irrigation and Drainage Paper 56, equations 21 to 34):
//! good to some minutes, no longitude needed. By place and date, the crossings of the horizon of
//! the solar position algorithm.

use std::f64::consts::PI;

use solar_positioning::{Horizon, HorizonState, SolarEvents};

use super::{
    LightError,
    sun::{Moment, Place, Sun, checked_latitude, no_time},
    within,
};
use crate::{Basis, Constant, Spread};

const FAO56: &str = "Allen et al. 1998, FAO Irrigation and Drainage Paper 56 (from memory)";

/// Solar constant in the unit of FAO-56 \[MJ m⁻² min⁻¹\].
pub const SOLAR_CONSTANT: Constant = Constant {
    name: "solar_constant",
    value: 0.0820,
    unit: "MJ m-2 min-1",
    spread: Spread::Sd(0.0003),
    basis: Basis::Memory,
    source: FAO56,
};

/// Altitude of the centre of the sun when its upper edge is on the horizon \[°\].
pub const SUNRISE_ALTITUDE: Constant = Constant {
    name: "sunrise_altitude",
    value: -0.833,
    unit: "deg",
    spread: Spread::Sd(0.1),
    basis: Basis::Memory,
    source: "convention of almanacs: 16' radius of the sun and 34' refraction (from memory)",
};

/// Altitude of the sun at the end of civil twilight \[°\]: below it, most plants count night.
pub const CIVIL_TWILIGHT_ALTITUDE: Constant = Constant {
    name: "civil_twilight_altitude",
    value: -6.0,
    unit: "deg",
    spread: Spread::None,
    basis: Basis::Definition,
    source: "definition of civil twilight",
};

pub(super) const CONSTANTS: &[Constant] =
    &[SOLAR_CONSTANT, SUNRISE_ALTITUDE, CIVIL_TWILIGHT_ALTITUDE];

/// A day of the year at a latitude, by the formulas of FAO-56.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct YearDay {
    latitude: f64,
    declination: f64,
    distance: f64,
}

impl YearDay {
    /// From latitude \[° north\] and day of the year \[1 to 366\].
    ///
    /// # Errors
    /// When one of them is outside its range.
    pub fn new(latitude: f64, day_of_year: u32) -> Result<Self, LightError> {
        let latitude = checked_latitude(latitude)?;
        let j = within(
            "day of the year",
            f64::from(day_of_year),
            (1.0, 366.0),
            "a whole number from 1 to 366",
            "count the days from 1 January as 1",
        )?;
        Ok(Self::at(latitude, j))
    }

    /// From latitude \[° north\] and day of the year, both within their ranges; the middle of a
    /// month may be no whole day.
    pub(crate) fn at(latitude: f64, day_of_year: f64) -> Self {
        let angle = 2.0 * PI * day_of_year / 365.0;
        Self {
            latitude: latitude.to_radians(),
            declination: 0.409 * (angle - 1.39).sin(),
            distance: 1.0 + 0.033 * angle.cos(),
        }
    }

    /// Inverse square of the distance from earth to sun, relative to its mean \[1\] (equation 23).
    #[must_use]
    pub const fn inverse_distance_squared(self) -> f64 {
        self.distance
    }

    /// Declination of the sun \[rad\] (equation 24).
    #[must_use]
    pub const fn declination(self) -> f64 {
        self.declination
    }

    /// Hour angle of sunset \[rad, 0 to π\] (equation 25): 0 in the polar night, π when the sun
    /// does not set.
    #[must_use]
    pub fn sunset_hour_angle(self) -> f64 {
        self.hour_angle_at(0.0)
    }

    /// Hours between sunrise and sunset \[h\] (equation 34): the centre of the sun above a flat
    /// horizon, without refraction.
    #[must_use]
    pub fn daylight_hours(self) -> f64 {
        24.0 / PI * self.sunset_hour_angle()
    }

    /// Hours with the centre of the sun above an altitude \[°\].
    #[must_use]
    pub fn hours_above(self, altitude: f64) -> f64 {
        24.0 / PI * self.hour_angle_at(altitude)
    }

    /// Radiation on a horizontal plane above the air \[MJ m⁻² d⁻¹\] (equation 21).
    #[must_use]
    pub fn extraterrestrial(self) -> f64 {
        let ws = self.sunset_hour_angle();
        let (sp, cp) = self.latitude.sin_cos();
        let (sd, cd) = self.declination.sin_cos();
        24.0 * 60.0 / PI
            * SOLAR_CONSTANT.value
            * self.distance
            * (ws * sp * sd + cp * cd * ws.sin())
    }

    /// Where the sun stands so many hours after true noon \[h, negative before\].
    #[must_use]
    pub fn sun(self, after_noon: f64) -> Sun {
        let (sh, ch) = (after_noon * PI / 12.0).sin_cos();
        let (sp, cp) = self.latitude.sin_cos();
        let (sd, cd) = self.declination.sin_cos();
        // In a frame whose axes point up, north and east.
        let up = sp * sd + cp * cd * ch;
        let north = cp * sd - sp * cd * ch;
        let east = -cd * sh;
        let azimuth = east.atan2(north).to_degrees();
        Sun { zenith: up.clamp(-1.0, 1.0).acos().to_degrees(), azimuth: azimuth.rem_euclid(360.0) }
    }

    fn hour_angle_at(self, altitude: f64) -> f64 {
        let (sp, cp) = self.latitude.sin_cos();
        let (sd, cd) = self.declination.sin_cos();
        let above = altitude.to_radians().sin() - sp * sd;
        let reach = cp * cd;
        if reach < 1e-12 {
            // At a pole the altitude does not change in the course of a day.
            return if above < 0.0 { PI } else { 0.0 };
        }
        (above / reach).clamp(-1.0, 1.0).acos()
    }
}

/// Whether the sun crosses the horizon on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Course {
    /// It rises, sets, or both.
    Crosses,
    /// It stays above all day.
    PolarDay,
    /// It stays below all day.
    PolarNight,
}

/// The sun's day at a place and date.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SunDay {
    /// Hours with the upper edge of the sun above the horizon \[h\].
    pub hours_above_minus0p833: f64,
    /// Hours of sun and civil twilight \[h\].
    pub hours_above_minus6: f64,
    /// When the upper edge rises; none when it does not.
    pub sunrise: Option<Moment>,
    /// When the upper edge sets for the last time that day; none when it does not. Within weeks of
    /// the midnight sun it can come before the rise, shortly after midnight.
    pub sunset: Option<Moment>,
    /// Whether it crosses the horizon.
    pub course: Course,
}

/// The sun's day at a place on a date (year, month, day).
///
/// The day is that of mean solar time at the place, from the middle of the night to the next, so
/// that day and night are whole wherever on the earth it is; rise and set are given in universal
/// time and may bear the date before or after.
///
/// # Errors
/// When there is no such date.
pub fn sun_day(place: Place, date: (i32, u32, u32)) -> Result<SunDay, LightError> {
    let start = solar_midnight(place, date)?;
    let main = Crossings::of(place, start, SUNRISE_ALTITUDE.value)?;
    let twilight = Crossings::of(place, start, CIVIL_TWILIGHT_ALTITUDE.value)?;
    let at = |julian: Option<f64>| julian.map(|j| start.plus_days(j - start.julian_date()));
    let course = match (main.rises.is_empty() && main.sets.is_empty(), main.above_at_start) {
        (false, _) => Course::Crosses,
        (true, true) => Course::PolarDay,
        (true, false) => Course::PolarNight,
    };
    Ok(SunDay {
        hours_above_minus0p833: main.hours(),
        hours_above_minus6: twilight.hours(),
        sunrise: at(main.rises.first().copied()),
        sunset: at(main.sets.last().copied()),
        course,
    })
}

/// The beginning of a date in mean solar time at a place.
///
/// # Errors
/// When there is no such date.
pub fn solar_midnight(place: Place, date: (i32, u32, u32)) -> Result<Moment, LightError> {
    Ok(Moment::utc(date, (0, 0, 0.0))?.plus_days(-place.longitude() / 360.0))
}

/// When the sun passes an altitude, within a day.
struct Crossings {
    start: f64,
    above_at_start: bool,
    rises: Vec<f64>,
    sets: Vec<f64>,
}

impl Crossings {
    fn of(place: Place, start: Moment, altitude: f64) -> Result<Self, LightError> {
        let from = start.julian_date();
        let found = SolarEvents::new()
            .for_interval_from_julian(
                from,
                from + 1.0,
                place.location(),
                start.delta_t(),
                Horizon::Custom(altitude),
            )
            .map_err(|e| no_time(&e))?;
        let (rise, set) = (found.rises.first(), found.sets.first());
        // On the horizon itself the state says nothing; what comes first does.
        let above_at_start = match (rise, set) {
            (Some(rise), Some(set)) => set < rise,
            (None, Some(_)) => true,
            (Some(_), None) => false,
            (None, None) => found.state_at_start == HorizonState::Above,
        };
        Ok(Self { start: from, above_at_start, rises: found.rises, sets: found.sets })
    }

    /// Hours above within the day: every set ends, every rise begins a stretch.
    fn hours(&self) -> f64 {
        let ended: f64 = self.sets.iter().map(|t| t - self.start).sum();
        let begun: f64 = self.rises.iter().map(|t| t - self.start).sum();
        let open = usize::from(self.above_at_start) + self.rises.len() > self.sets.len();
        let rest = if open { 1.0 } else { 0.0 };
        24.0 * (ended - begun + rest)
    }
}

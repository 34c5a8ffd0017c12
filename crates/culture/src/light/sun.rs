//! Where the sun stands.
//!
//! Positions are those of the solar position algorithm of Reda & Andreas (2004, Solar Energy
//! 76:577-589, doi:10.1016/j.solener.2003.12.003), as the library `solar-positioning` computes
//! them: ±0.0003° between the years −2000 and 6000.

use solar_positioning::{
    Location, RefractionCorrection, SolarPositions, delta_t, time::JulianDate,
};

use super::{LightError, within};

/// A place on the earth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    latitude: f64,
    longitude: f64,
    height: f64,
}

impl Place {
    /// A place at sea level: latitude \[° north, −90 to 90\], longitude \[° east, −180 to 180\].
    ///
    /// # Errors
    /// When one of them is outside its range.
    pub fn new(latitude: f64, longitude: f64) -> Result<Self, LightError> {
        let longitude = within(
            "longitude",
            longitude,
            (-180.0, 180.0),
            "between -180 and 180",
            "give degrees east, negative to the west",
        )?;
        Ok(Self { latitude: checked_latitude(latitude)?, longitude, height: 0.0 })
    }

    /// The same place at another height above the sea \[m, −500 to 9000\].
    ///
    /// # Errors
    /// When the height is outside its range.
    pub fn at_height(self, height: f64) -> Result<Self, LightError> {
        let next = "give metres above the sea";
        let height = within("height", height, (-500.0, 9000.0), "between -500 and 9000", next)?;
        Ok(Self { height, ..self })
    }

    /// Latitude \[° north\].
    #[must_use]
    pub const fn latitude(self) -> f64 {
        self.latitude
    }

    /// Longitude \[° east\].
    #[must_use]
    pub const fn longitude(self) -> f64 {
        self.longitude
    }

    /// Height above the sea \[m\].
    #[must_use]
    pub const fn height(self) -> f64 {
        self.height
    }

    pub(super) const fn location(self) -> Location {
        Location { latitude: self.latitude, longitude: self.longitude }
    }
}

pub(super) fn checked_latitude(latitude: f64) -> Result<f64, LightError> {
    within(
        "latitude",
        latitude,
        (-90.0, 90.0),
        "between -90 and 90",
        "give degrees north, negative to the south",
    )
}

/// A moment, in universal time.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Moment {
    julian: f64,
    delta_t: f64,
}

impl Moment {
    /// From the calendar and the clock in universal time; seconds may have a fraction. The
    /// difference to terrestrial time is estimated from the year.
    ///
    /// # Errors
    /// When there is no such date or time of day.
    pub fn utc(
        (year, month, day): (i32, u32, u32),
        (hour, minute, second): (u32, u32, f64),
    ) -> Result<Self, LightError> {
        let delta_t = delta_t::estimate_from_date(year, month).map_err(|e| no_time(&e))?;
        let julian = JulianDate::from_utc(year, month, day, hour, minute, second, delta_t)
            .map_err(|e| no_time(&e))?
            .julian_date();
        Ok(Self { julian, delta_t })
    }

    /// The same moment with another difference between terrestrial and universal time \[s\].
    #[must_use]
    pub const fn with_delta_t(self, seconds: f64) -> Self {
        Self { delta_t: seconds, ..self }
    }

    /// A moment later by so many days; earlier for a negative number.
    #[must_use]
    pub fn plus_days(self, days: f64) -> Self {
        Self { julian: self.julian + days, ..self }
    }

    /// Days since the beginning of the Julian period, in universal time.
    #[must_use]
    pub const fn julian_date(self) -> f64 {
        self.julian
    }

    /// Seconds since 1970-01-01T00:00:00Z, to a tenth of a millisecond.
    #[must_use]
    pub fn unix_seconds(self) -> f64 {
        (self.julian - 2_440_587.5) * 86_400.0
    }

    pub(super) const fn delta_t(self) -> f64 {
        self.delta_t
    }
}

/// Where the sun stands, seen from a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sun {
    /// Angle from straight up to the centre of the sun \[°, 0 to 180\].
    pub zenith: f64,
    /// Compass direction, clockwise from north \[°, 0 to 360\].
    pub azimuth: f64,
}

impl Sun {
    /// Height above the horizon \[°\], negative below.
    #[must_use]
    pub fn altitude(self) -> f64 {
        90.0 - self.zenith
    }
}

/// The geometric position of the sun, as if there were no air.
///
/// # Errors
/// When the moment is outside the years −2000 to 6000.
pub fn position(place: Place, moment: Moment) -> Result<Sun, LightError> {
    located(place, moment, None)
}

/// The position at which the sun is seen, lifted by the air (refraction) of a pressure \[hPa\] and
/// temperature \[°C\].
///
/// # Errors
/// As [`position`], and when there is no such pressure or temperature on the earth.
pub fn apparent(
    place: Place,
    moment: Moment,
    pressure: f64,
    temperature: f64,
) -> Result<Sun, LightError> {
    let air =
        RefractionCorrection::new(pressure, temperature).map_err(|_| LightError::OutOfRange {
            quantity: "pressure and temperature of the air",
            value: pressure,
            expected: "those of air on the earth",
            next: "give hPa and °C",
        })?;
    located(place, moment, Some(air))
}

fn located(
    place: Place,
    moment: Moment,
    air: Option<RefractionCorrection>,
) -> Result<Sun, LightError> {
    let time = JulianDate::new(moment.julian, moment.delta_t).map_err(|e| no_time(&e))?;
    let found = SolarPositions::new()
        .at_from_julian(time, place.location(), place.height, air)
        .map_err(|e| no_time(&e))?;
    Ok(Sun { zenith: found.zenith_angle(), azimuth: found.azimuth() })
}

pub(super) fn no_time(error: &solar_positioning::Error) -> LightError {
    LightError::Time {
        why: error.to_string(),
        next: "give an existing date, with a year between -500 and 3000",
    }
}

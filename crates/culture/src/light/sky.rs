//! Light outdoors: a clear sky, the share of it that is diffuse, and what falls on an upright plane.

use super::{
    LightError, amount,
    day::YearDay,
    share,
    sun::{self, Moment, Place, Sun},
    within,
};
use crate::{Basis, Constant, Spread};

const INEICHEN: &str = "Ineichen & Perez 2002, Solar Energy 73:151-157, doi:10.1016/S0038-092X(02)00045-2 (from memory)";
const MCCREE: &str = "McCree 1972, Agricultural Meteorology 10:443-453; Thimijan & Heins 1983, \
     HortScience 18:818-822 (from memory)";

/// Radiation of the sun above the air on a plane turned to it, as the clear-sky model of Ineichen
/// and Perez takes it all year \[W m⁻²\]; the true value swings by 3.3 % about 1361.
pub const EXTRATERRESTRIAL_NORMAL: Constant = Constant {
    name: "extraterrestrial_normal",
    value: 1364.0,
    unit: "W m-2",
    spread: Spread::Sd(32.0),
    basis: Basis::Memory,
    source: INEICHEN,
};

/// Linke turbidity of ordinary air \[1\]: 2 in clean mountain air, 3 in the country, 5 over towns.
pub const LINKE_TURBIDITY: Constant = Constant {
    name: "linke_turbidity",
    value: 3.0,
    unit: "1",
    spread: Spread::Range(2.0, 5.0),
    basis: Basis::CommonPractice,
    source: "",
};

/// Share of light that the ground sends back \[1\]: grass, soil, paving.
pub const ALBEDO: Constant = Constant {
    name: "albedo",
    value: 0.2,
    unit: "1",
    spread: Spread::Range(0.1, 0.35),
    basis: Basis::CommonPractice,
    source: "",
};

/// Share of global radiation that lies between 400 and 700 nm \[1\].
pub const PAR_SHARE: Constant = Constant {
    name: "par_share_of_global",
    value: 0.446,
    unit: "1",
    spread: Spread::LogSd(0.04),
    basis: Basis::Memory,
    source: MCCREE,
};

/// Photons in that light \[µmol J⁻¹\].
pub const PAR_PHOTONS: Constant = Constant {
    name: "photons_per_joule_of_par",
    value: 4.57,
    unit: "umol J-1",
    spread: Spread::LogSd(0.02),
    basis: Basis::Published,
    source: "Thimijan & Heins 1983, HortScience 18:818-822, as quoted in a public list of \
             conversions (sun and sky 4.57)",
};

/// Share of radiation above the air that reaches the ground in December at 50 to 55° N \[1\].
pub const CLEARNESS_DARKEST: Constant = Constant {
    name: "clearness_darkest_month",
    value: 0.30,
    unit: "1",
    spread: Spread::LogSd(0.20),
    basis: Basis::CommonPractice,
    source: "",
};

/// The same in June and July \[1\].
pub const CLEARNESS_BRIGHTEST: Constant = Constant {
    name: "clearness_brightest_month",
    value: 0.45,
    unit: "1",
    spread: Spread::LogSd(0.15),
    basis: Basis::CommonPractice,
    source: "",
};

/// The same below 40° of latitude, where nothing better is known \[1\].
pub const CLEARNESS_LOW_LATITUDE: Constant = Constant {
    name: "clearness_low_latitude",
    value: 0.50,
    unit: "1",
    spread: Spread::LogSd(0.25),
    basis: Basis::CommonPractice,
    source: "",
};

pub(super) const CONSTANTS: &[Constant] = &[
    EXTRATERRESTRIAL_NORMAL,
    LINKE_TURBIDITY,
    ALBEDO,
    PAR_SHARE,
    PAR_PHOTONS,
    CLEARNESS_DARKEST,
    CLEARNESS_BRIGHTEST,
    CLEARNESS_LOW_LATITUDE,
];

/// Photons in a megajoule of global radiation \[mol MJ⁻¹\].
#[must_use]
pub fn photons_per_megajoule() -> f64 {
    PAR_SHARE.value * PAR_PHOTONS.value
}

/// Radiation outdoors at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outdoors {
    /// On a horizontal plane, from sun and sky \[W m⁻²\].
    pub global: f64,
    /// From the sun alone, on a plane turned to it \[W m⁻²\].
    pub beam: f64,
    /// From the sky alone, on a horizontal plane \[W m⁻²\].
    pub diffuse: f64,
}

/// A cloudless sky (Ineichen & Perez 2002 with the air mass of Kasten & Young 1989).
///
/// `apparent_zenith` \[°\] is where the sun is seen, `turbidity` that of Linke \[1 to 12\], `height`
/// above the sea \[m\], `extraterrestrial` the radiation above the air on a plane turned to the sun
/// \[W m⁻²\], for which [`EXTRATERRESTRIAL_NORMAL`] will do.
///
/// # Errors
/// When the turbidity is outside of its range.
pub fn clear_sky(
    apparent_zenith: f64,
    turbidity: f64,
    height: f64,
    extraterrestrial: f64,
) -> Result<Outdoors, LightError> {
    let expected = "a Linke turbidity between 1 and 12";
    let next = "3 is ordinary country air, 5 the air of a town";
    let tl = within("turbidity", turbidity, (1.0, 12.0), expected, next)?;
    let cosine = apparent_zenith.to_radians().cos();
    if apparent_zenith >= 90.0 || cosine <= 0.0 {
        return Ok(Outdoors { global: 0.0, beam: 0.0, diffuse: 0.0 });
    }
    let mass = air_mass(apparent_zenith) * pressure_ratio(height);
    let (fh1, fh2) = ((-height / 8000.0).exp(), (-height / 1250.0).exp());
    let (cg1, cg2) = (5.09e-5 * height + 0.868, 3.92e-5 * height + 0.0387);
    let global = cg1 * extraterrestrial * cosine * (-cg2 * mass * (fh1 + fh2 * (tl - 1.0))).exp();
    let direct = extraterrestrial * (0.664 + 0.163 / fh1) * (-0.09 * mass * (tl - 1.0)).exp();
    let limit = global * (1.0 - (0.1 - 0.2 * (-tl).exp()) / (0.1 + 0.882 / fh1)) / cosine;
    let beam = direct.min(limit).max(0.0);
    Ok(Outdoors { global, beam, diffuse: (global - beam * cosine).max(0.0) })
}

/// Relative air mass for an apparent zenith \[°, 0 to 90\] (Kasten & Young 1989, Applied Optics
/// 28:4735-4738; from memory).
fn air_mass(apparent_zenith: f64) -> f64 {
    let altitude = 90.0 - apparent_zenith;
    1.0 / (apparent_zenith.to_radians().cos() + 0.505_72 * (altitude + 6.079_95).powf(-1.6364))
}

/// Pressure of the standard atmosphere relative to sea level.
fn pressure_ratio(height: f64) -> f64 {
    (1.0 - 2.255_77e-5 * height).powf(5.255_88)
}

/// Light on the outer face of an upright plane \[the unit of what was given\].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Facade {
    /// From the sun.
    pub direct: f64,
    /// From the sky, equally bright all over.
    pub sky: f64,
    /// From the ground.
    pub ground: f64,
}

impl Facade {
    /// All of it.
    #[must_use]
    pub fn total(self) -> f64 {
        self.direct + self.sky + self.ground
    }
}

/// Light on an upright plane that looks in a compass direction \[° clockwise from north\], under a
/// sky that is equally bright all over, with nothing in front of it.
///
/// # Errors
/// When the light is negative or the albedo no share.
pub fn on_facade(
    sun: Sun,
    light: Outdoors,
    direction: f64,
    albedo: f64,
) -> Result<Facade, LightError> {
    let albedo = share("albedo", albedo)?;
    let global = amount("global radiation", light.global)?;
    let beam = amount("beam radiation", light.beam)?;
    let diffuse = amount("diffuse radiation", light.diffuse)?;
    let (zenith, turn) = (sun.zenith.to_radians(), (sun.azimuth - direction).to_radians());
    Ok(Facade {
        direct: beam * (zenith.sin() * turn.cos()).max(0.0),
        sky: diffuse / 2.0,
        ground: albedo * global / 2.0,
    })
}

/// Sums over a cloudless day.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ClearDay {
    /// On a horizontal plane \[MJ m⁻²\].
    pub global: f64,
    /// On a plane turned to the sun \[MJ m⁻²\].
    pub beam: f64,
    /// From the sky, on a horizontal plane \[MJ m⁻²\].
    pub diffuse: f64,
    /// On the upright plane \[MJ m⁻²\].
    pub facade: Facade,
    /// Hours in which the sun shines on the upright plane \[h\].
    pub direct_hours: f64,
}

/// Steps in a day: ten minutes each, taken at their middle.
pub(super) const STEPS: u32 = 144;

/// A cloudless day on an upright plane, over the day of mean solar time at the place.
///
/// # Errors
/// When there is no such date, or turbidity or albedo are outside their range.
pub fn clear_day(
    place: Place,
    date: (i32, u32, u32),
    direction: f64,
    turbidity: f64,
    albedo: f64,
) -> Result<ClearDay, LightError> {
    let midnight = super::day::solar_midnight(place, date)?;
    let pressure = 1013.25 * pressure_ratio(place.height());
    let mut sum = ClearDay::default();
    let seconds = 86_400.0 / f64::from(STEPS);
    for step in 0..STEPS {
        let moment: Moment = midnight.plus_days((f64::from(step) + 0.5) / f64::from(STEPS));
        let seen = sun::apparent(place, moment, pressure, 12.0)?;
        let light =
            clear_sky(seen.zenith, turbidity, place.height(), EXTRATERRESTRIAL_NORMAL.value)?;
        let face = on_facade(seen, light, direction, albedo)?;
        let mj = seconds / 1e6;
        sum.global += light.global * mj;
        sum.beam += light.beam * mj;
        sum.diffuse += light.diffuse * mj;
        sum.facade.direct += face.direct * mj;
        sum.facade.sky += face.sky * mj;
        sum.facade.ground += face.ground * mj;
        sum.direct_hours += if face.direct > 0.0 { seconds / 3600.0 } else { 0.0 };
    }
    Ok(sum)
}

/// Global radiation on a cloudless day of a simpler model, by the zenith of the sun alone
/// \[W m⁻²\] (Haurwitz 1945, Journal of Meteorology 2:154-166; from memory): to see how far two
/// models differ.
#[must_use]
pub fn haurwitz(apparent_zenith: f64) -> f64 {
    let cosine = apparent_zenith.to_radians().cos();
    if cosine > 0.0 { 1098.0 * cosine * (-0.059 / cosine).exp() } else { 0.0 }
}

/// Share of diffuse light in the mean daily radiation of a month \[0 to 1\], from the clearness
/// (Erbs, Klein & Duffie 1982, Solar Energy 28:293-302, monthly form; from memory).
///
/// The formula holds for a clearness of 0.3 to 0.8; outside of that its end is taken. The form for
/// single hours is another one and must not be used on a month.
#[must_use]
pub fn diffuse_share(day: YearDay, clearness: f64) -> f64 {
    let k = clearness.clamp(0.3, 0.8);
    let cubic = |a: f64, b: f64, c: f64, d: f64| a - b * k + c * k * k - d * k * k * k;
    if day.sunset_hour_angle().to_degrees() <= 81.4 {
        cubic(1.391, 3.560, 4.189, 2.137)
    } else {
        cubic(1.311, 3.022, 3.427, 1.821)
    }
}

/// Clearness of a month \[1 to 12\] where the grower knows no better, as a constant with its spread.
///
/// Between 0.30 in the darkest and 0.45 in the brightest month above 50° of latitude (common
/// practice for 50 to 55° N), 0.50 below 40°, in between a mixture of both. A public solar atlas
/// gives better figures for any place.
///
/// # Errors
/// When the latitude or the month is outside its range.
pub fn usual_clearness(latitude: f64, month: u32) -> Result<Constant, LightError> {
    let latitude = sun::checked_latitude(latitude)?;
    let next = "give the number of the month";
    let month = within("month", f64::from(month), (1.0, 12.0), "from 1 to 12", next)?;
    let turned = if latitude < 0.0 { 6.0 } else { 0.0 };
    // Darkest in December, brightest half a year later.
    let phase = (month - 12.0 + turned) / 12.0 * std::f64::consts::TAU;
    let bright = (1.0 - phase.cos()) / 2.0;
    let high =
        CLEARNESS_DARKEST.value + bright * (CLEARNESS_BRIGHTEST.value - CLEARNESS_DARKEST.value);
    let north = ((latitude.abs() - 40.0) / 10.0).clamp(0.0, 1.0);
    let value = north * high + (1.0 - north) * CLEARNESS_LOW_LATITUDE.value;
    Ok(Constant { name: "clearness", value, ..CLEARNESS_LOW_LATITUDE })
}

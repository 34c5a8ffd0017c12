//! Light at a leaf in a room, behind a window.
//!
//! The sky is equally bright all over; what lies before the window up to an angle hides it and has
//! a share of its brightness; what lies below the leaf's horizon is ground. Light that walls send
//! back is not in it: see [`average_daylight_factor`]. Deeper in a room than about twice the height
//! of the glass, that part is the greater one.

use super::{
    LightError, amount,
    day::YearDay,
    factor::{self, Extent},
    glass::{Glazing, NET_CURTAIN, Transmission, WINDOW_DIRT},
    positive, share,
    sky::{self, ALBEDO, EXTRATERRESTRIAL_NORMAL, LINKE_TURBIDITY, STEPS},
    sun::Sun,
    within,
};
use crate::{Basis, Constant, Spread};

/// Brightness of houses and trees before a window, relative to the sky that they hide \[1\].
pub const OBSTRUCTION_BRIGHTNESS: Constant = Constant {
    name: "obstruction_brightness",
    value: 0.2,
    unit: "1",
    spread: Spread::Range(0.1, 0.4),
    basis: Basis::Published,
    source: "Tregenza & Sharples, daylighting algorithms, 2.21, after BRE Digest 309",
};
/// Brightness of a dull sky at the height at which a window sees it, relative to an even sky \[1\].
pub const DULL_SKY: Constant = Constant {
    name: "dull_sky",
    value: 0.8,
    unit: "1",
    spread: Spread::Range(0.75, 1.0),
    basis: Basis::Memory,
    source: "CIE overcast sky: 0.396 instead of 0.5 on an upright plane (from memory)",
};

pub(super) const CONSTANTS: &[Constant] = &[OBSTRUCTION_BRIGHTNESS, DULL_SKY];

/// A window and what is before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// The compass direction in which it looks \[° clockwise from north\].
    pub direction: f64,
    /// Width of the glass \[m\].
    pub width: f64,
    /// Height of the glass \[m\].
    pub height: f64,
    /// The kind of glass.
    pub glazing: Glazing,
    /// Whether a net curtain hangs before it.
    pub net_curtain: bool,
    /// What dirt leaves of the light \[0 to 1\].
    pub dirt: f64,
    /// Angle up to which houses or trees hide the sky, seen from the room \[°, 0 to 90\].
    pub obstruction: f64,
    /// Share of light that the ground sends back \[0 to 1\].
    pub albedo: f64,
    /// Brightness of the sky at the window relative to an even sky \[0 to 1\]: 1, or [`DULL_SKY`].
    pub sky: f64,
}

impl Window {
    /// A window with clean double glass and nothing before it.
    #[must_use]
    pub const fn new(direction: f64, width: f64, height: f64) -> Self {
        Self {
            direction,
            width,
            height,
            glazing: Glazing::Double,
            net_curtain: false,
            dirt: WINDOW_DIRT.value,
            obstruction: 0.0,
            albedo: ALBEDO.value,
            sky: 1.0,
        }
    }

    fn check(&self) -> Result<(), LightError> {
        let next = "0 is north, 90 east, 180 south, 270 west";
        within("direction", self.direction, (-360.0, 720.0), "a compass direction", next)?;
        positive("width of the glass", self.width)?;
        positive("height of the glass", self.height)?;
        share("share left by dirt", self.dirt)?;
        share("albedo", self.albedo)?;
        share("brightness of the sky", self.sky)?;
        let next = "0 is an open view, 90 a wall that hides all";
        within("obstruction", self.obstruction, (0.0, 90.0), "an angle from 0 to 90", next)?;
        Ok(())
    }

    /// What dirt and curtain leave of the light.
    fn clean(&self) -> f64 {
        self.dirt * if self.net_curtain { NET_CURTAIN.value } else { 1.0 }
    }
}

/// How a leaf is held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pose {
    /// It lies flat.
    Flat,
    /// It is turned to the glass.
    ToGlass,
    /// It is tilted from flat towards the glass \[°, 0 to 90\].
    Tilted(f64),
}

/// Where a leaf is, relative to the glass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// From the leaf to the glass, straight \[m, above 0\].
    pub distance: f64,
    /// The lower edge of the glass above the leaf \[m\]; negative when the leaf is higher.
    pub sill: f64,
    /// The middle of the glass to the right of the leaf, looking out \[m\]; negative to the left.
    pub sideways: f64,
    /// How the leaf is held.
    pub pose: Pose,
}

impl Spot {
    fn check(&self) -> Result<(), LightError> {
        positive("distance", self.distance)?;
        for (name, value) in [("sill", self.sill), ("offset to the side", self.sideways)] {
            within(name, value, (-1000.0, 1000.0), "a length in metres", "check the number")?;
        }
        if let Pose::Tilted(tilt) = self.pose {
            let next = "0 lies flat, 90 is turned to the glass";
            within("tilt", tilt, (0.0, 90.0), "an angle from 0 to 90", next)?;
        }
        Ok(())
    }

    fn normal(&self) -> [f64; 3] {
        let tilt = match self.pose {
            Pose::Flat => 0.0,
            Pose::ToGlass => 90.0_f64,
            Pose::Tilted(tilt) => tilt,
        };
        let (sine, cosine) = tilt.to_radians().sin_cos();
        [0.0, sine, cosine]
    }

    fn factor(&self, extent: Option<Extent>) -> f64 {
        let Some(extent) = extent else { return 0.0 };
        match self.pose {
            Pose::Flat => factor::perpendicular(extent, self.distance),
            Pose::ToGlass => factor::parallel(extent, self.distance),
            Pose::Tilted(_) => {
                let ((x0, x1), (z0, z1), y) = (extent.across, extent.along, self.distance);
                let corners = [[x0, y, z0], [x1, y, z0], [x1, y, z1], [x0, y, z1]];
                factor::polygon(&corners, self.normal())
            }
        }
    }
}

/// What of a leaf's hemisphere is filled by each part of the view through the glass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Open sky \[1\].
    pub sky: f64,
    /// Houses and trees above the horizon \[1\].
    pub obstruction: f64,
    /// Ground \[1\].
    pub ground: f64,
}

/// What a leaf sees through a window.
///
/// # Errors
/// When a length or angle is out of its range.
pub fn view(window: &Window, spot: &Spot) -> Result<View, LightError> {
    window.check()?;
    spot.check()?;
    Ok(seen(window, spot))
}

fn glass(window: &Window, spot: &Spot) -> Extent {
    let half = window.width / 2.0;
    Extent {
        across: (spot.sideways - half, spot.sideways + half),
        along: (spot.sill, spot.sill + window.height),
    }
}

/// Height on the glass, above the leaf, up to which the view is obstructed.
fn skyline(window: &Window, spot: &Spot) -> f64 {
    if window.obstruction >= 90.0 {
        f64::INFINITY
    } else {
        spot.distance * window.obstruction.to_radians().tan()
    }
}

fn seen(window: &Window, spot: &Spot) -> View {
    let glass = glass(window, spot);
    let line = skyline(window, spot);
    View {
        sky: spot.factor(glass.above(line)),
        obstruction: spot.factor(glass.above(0.0).and_then(|upper| upper.below(line))),
        ground: spot.factor(glass.below(0.0)),
    }
}

/// Light outdoors on a day, on a horizontal plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outside {
    /// From sun and sky \[mol m⁻² d⁻¹\].
    pub global: f64,
    /// From the sky alone \[mol m⁻² d⁻¹\].
    pub diffuse: f64,
}

impl Outside {
    /// The mean day of a month, from the clearness \[0 to 1\].
    ///
    /// # Errors
    /// When the clearness is no share.
    pub fn of_month(day: YearDay, clearness: f64) -> Result<Self, LightError> {
        let k = share("clearness", clearness)?;
        let global = k * day.extraterrestrial().max(0.0) * sky::photons_per_megajoule();
        Ok(Self { global, diffuse: global * sky::diffuse_share(day, k) })
    }
}

/// Light at a leaf on a day, by where it comes from \[mol m⁻² d⁻¹\].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Indoors {
    /// Outdoors, on the open ground.
    pub outside: Outside,
    /// From open sky.
    pub sky: f64,
    /// From houses and trees.
    pub obstruction: f64,
    /// From the ground.
    pub ground: f64,
    /// From the sun itself.
    pub beam: f64,
    /// Minutes in which the sun reaches the leaf, were the day cloudless \[min\]. A net curtain
    /// softens it; it is counted all the same.
    pub direct_minutes: f64,
}

impl Indoors {
    /// Daily light integral \[mol m⁻² d⁻¹\].
    #[must_use]
    pub fn dli(&self) -> f64 {
        self.sky + self.obstruction + self.ground + self.beam
    }
}

/// Light at a leaf on a day of the year.
///
/// The sun's part of the day's light is spread over the day as on a cloudless one, and followed in
/// steps of ten minutes of true solar time through the glass.
///
/// # Errors
/// When something of the window, the spot or the light is out of its range.
pub fn day(
    window: &Window,
    spot: &Spot,
    day: YearDay,
    outside: Outside,
) -> Result<Indoors, LightError> {
    window.check()?;
    spot.check()?;
    amount("light outdoors", outside.global)?;
    let expected = "no more than all light outdoors";
    let next = "the light of the sky is a part of it";
    within("light of the sky", outside.diffuse, (0.0, outside.global), expected, next)?;
    Ok(followed(window, spot, window.glazing.transmission(), day, outside))
}

fn followed(
    window: &Window,
    spot: &Spot,
    glass: Transmission,
    day: YearDay,
    outside: Outside,
) -> Indoors {
    let view = seen(window, spot);
    let through = glass.diffuse() * window.clean();
    let (share, direct_minutes) = beam(window, spot, glass, day);
    let sky = outside.diffuse * window.sky * through;
    Indoors {
        outside,
        sky: sky * view.sky,
        obstruction: sky * OBSTRUCTION_BRIGHTNESS.value * view.obstruction,
        ground: outside.global * window.albedo * through * view.ground,
        beam: (outside.global - outside.diffuse) * share * window.clean(),
        direct_minutes,
    }
}

/// Share of the day's horizontal beam that comes through the glass to the leaf, and the minutes in
/// which it does.
fn beam(window: &Window, spot: &Spot, glass: Transmission, day: YearDay) -> (f64, f64) {
    let step = 24.0 / f64::from(STEPS);
    let (mut outdoors, mut arriving, mut minutes) = (0.0, 0.0, 0.0);
    for k in 0..STEPS {
        let sun = day.sun(-12.0 + (f64::from(k) + 0.5) * step);
        if sun.zenith >= 90.0 {
            continue;
        }
        let normal = EXTRATERRESTRIAL_NORMAL.value;
        // Cannot fail: the turbidity is a constant within its range.
        let strength = sky::clear_sky(sun.zenith, LINKE_TURBIDITY.value, 0.0, normal)
            .map_or(0.0, |light| light.beam);
        outdoors += strength * sun.zenith.to_radians().cos();
        if let Some(ray) = ray(window, spot, sun) {
            let [_, ahead, _] = ray;
            let incidence = factor::dot(ray, spot.normal()).max(0.0);
            arriving += strength * incidence * glass.beam(ahead.clamp(-1.0, 1.0).acos());
            minutes += if incidence > 0.0 { step * 60.0 } else { 0.0 };
        }
    }
    (if outdoors > 0.0 { arriving / outdoors } else { 0.0 }, minutes)
}

/// The direction of the sun (right, ahead, up) where it is seen from the spot through the glass and
/// above what hides the sky.
fn ray(window: &Window, spot: &Spot, sun: Sun) -> Option<[f64; 3]> {
    let (sz, cz) = sun.zenith.to_radians().sin_cos();
    let (st, ct) = (sun.azimuth - window.direction).to_radians().sin_cos();
    let ray = [sz * st, sz * ct, cz];
    let [right, ahead, up] = ray;
    if ahead <= 0.0 || up <= 0.0 {
        return None;
    }
    let glass = glass(window, spot);
    let (x, z) = (spot.distance * right / ahead, spot.distance * up / ahead);
    let inside = (glass.across.0..=glass.across.1).contains(&x)
        && (glass.along.0..=glass.along.1).contains(&z);
    (inside && z > skyline(window, spot)).then_some(ray)
}

/// Day of the year whose radiation is nearest to the mean of each month (Klein 1977, Solar Energy
/// 19:325-329; from memory).
pub const MEAN_DAYS: [u32; 12] = [17, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344];

/// Light at a leaf in each month of the year, January first, from the clearness of each \[0 to 1\].
///
/// # Errors
/// As [`day`].
pub fn year(
    window: &Window,
    spot: &Spot,
    latitude: f64,
    clearness: &[f64; 12],
) -> Result<Vec<Indoors>, LightError> {
    window.check()?;
    spot.check()?;
    let glass = window.glazing.transmission();
    MEAN_DAYS
        .iter()
        .zip(clearness)
        .map(|(number, k)| {
            let day = YearDay::new(latitude, *number)?;
            Ok(followed(window, spot, glass, day, Outside::of_month(day, *k)?))
        })
        .collect()
}

/// The usual clearness of each month at a latitude, for [`year`] (see [`sky::usual_clearness`]).
///
/// # Errors
/// When the latitude is out of its range.
pub fn usual_clearness(latitude: f64) -> Result<[f64; 12], LightError> {
    let mut year = [0.0; 12];
    for (month, k) in (1..).zip(&mut year) {
        *k = sky::usual_clearness(latitude, month)?.value;
    }
    Ok(year)
}

/// Least and most daily light in each month over the eight directions of the compass, for a window
/// of which nobody knows where it looks \[mol m⁻² d⁻¹\].
///
/// # Errors
/// As [`year`].
pub fn any_direction(
    window: &Window,
    spot: &Spot,
    latitude: f64,
    clearness: &[f64; 12],
) -> Result<Vec<(f64, f64)>, LightError> {
    let mut found = vec![(f64::INFINITY, 0.0_f64); 12];
    for eighth in 0..8 {
        let turned = Window { direction: f64::from(eighth) * 45.0, ..*window };
        for (range, month) in found.iter_mut().zip(year(&turned, spot, latitude, clearness)?) {
            *range = (range.0.min(month.dli()), range.1.max(month.dli()));
        }
    }
    Ok(found)
}

/// Average daylight factor of a room \[%\]: mean light indoors, walls and all, for each hundred
/// parts outdoors under a dull sky (form of BRE and CIBSE; from memory).
///
/// `transmission` of glass, dirt and curtain \[0 to 1\], `glass_area` \[m²\], `sky_angle` of sky
/// seen from the middle of the window \[°, 0 to 90\], `room_area` of all walls, floor and ceiling
/// with windows \[m²\], `reflectance` their mean \[0 to below 1\].
///
/// # Errors
/// When one of them is out of its range.
pub fn average_daylight_factor(
    transmission: f64,
    glass_area: f64,
    sky_angle: f64,
    room_area: f64,
    reflectance: f64,
) -> Result<f64, LightError> {
    let t = share("transmission", transmission)?;
    let glass = amount("area of the glass", glass_area)?;
    let next = "90 is an open view";
    let angle = within("angle of sky", sky_angle, (0.0, 90.0), "an angle from 0 to 90", next)?;
    let room = positive("area of the room", room_area)?;
    let next = "white walls have 0.7, dark ones 0.3";
    let r = within("reflectance", reflectance, (0.0, 0.99), "a share from 0 to 0.99", next)?;
    Ok(t * glass * angle / (room * (1.0 - r * r)))
}

//! What a lamp gives off, and what of it arrives at a leaf.

use super::{
    LightError, amount,
    factor::{self, Extent, dot},
    positive, share, within,
};
use crate::{Basis, Constant, Spread};

const fn efficacy(
    name: &'static str,
    value: f64,
    range: (f64, f64),
    basis: Basis,
    source: &'static str,
) -> Constant {
    Constant {
        name,
        value,
        unit: "umol J-1",
        spread: Spread::Range(range.0, range.1),
        basis,
        source,
    }
}

/// A kind of lamp whose photons can be told from its watts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LampKind {
    /// A white LED bulb or strip without a label.
    WhiteLed,
    /// A white LED bar made for plants.
    PlantBar,
    /// The best fixtures, rich in red.
    RedRich,
    /// Double-ended high-pressure sodium.
    HighPressureSodium,
}

impl LampKind {
    /// All of them.
    pub const ALL: [Self; 4] =
        [Self::WhiteLed, Self::PlantBar, Self::RedRich, Self::HighPressureSodium];

    /// Photons for each joule taken from the wall \[µmol J⁻¹\].
    #[must_use]
    pub const fn efficacy(self) -> Constant {
        match self {
            Self::WhiteLed => WHITE_LED,
            Self::PlantBar => PLANT_BAR,
            Self::RedRich => RED_RICH,
            Self::HighPressureSodium => HIGH_PRESSURE_SODIUM,
        }
    }
}

const WHITE_LED: Constant =
    efficacy("photon_efficacy_white_led", 1.6, (1.1, 2.1), Basis::CommonPractice, "");
const PLANT_BAR: Constant = efficacy(
    "photon_efficacy_plant_bar",
    2.3,
    (1.9, 2.8),
    Basis::Memory,
    "lower end: least efficacy of a list of horticultural lights of 2018 (Runkle, Greenhouse \
     Product News); middle and upper end from memory",
);
const RED_RICH: Constant = efficacy(
    "photon_efficacy_red_rich",
    3.0,
    (2.7, 3.5),
    Basis::Memory,
    "figures of makers (from memory)",
);
const HIGH_PRESSURE_SODIUM: Constant = efficacy(
    "photon_efficacy_high_pressure_sodium",
    1.7,
    (1.6, 1.8),
    Basis::Published,
    "Runkle, Greenhouse Product News",
);

/// Hours after which a lamp gives nine tenths of its first light \[h\].
pub const HOURS_TO_NINE_TENTHS: Constant = Constant {
    name: "hours_to_nine_tenths",
    value: 36_000.0,
    unit: "h",
    spread: Spread::LogSd(0.4),
    basis: Basis::Memory,
    source: "exponential form of IES TM-21 (from memory)",
};

/// What dust leaves of a lamp's light when it is wiped now and then \[1\].
pub const DIRT_WIPED: Constant = dirt("lamp_dirt_wiped", 0.95, (0.90, 1.0));
/// What dust leaves of a lamp's light when it is never wiped \[1\].
pub const DIRT_NEVER_WIPED: Constant = dirt("lamp_dirt_never_wiped", 0.85, (0.70, 0.95));

const fn dirt(name: &'static str, value: f64, (low, high): (f64, f64)) -> Constant {
    Constant {
        name,
        value,
        unit: "1",
        spread: Spread::Range(low, high),
        basis: Basis::CommonPractice,
        source: "",
    }
}

pub(super) const CONSTANTS: &[Constant] = &[
    WHITE_LED,
    PLANT_BAR,
    RED_RICH,
    HIGH_PRESSURE_SODIUM,
    HOURS_TO_NINE_TENTHS,
    DIRT_WIPED,
    DIRT_NEVER_WIPED,
];

/// Photons that a lamp gives off \[µmol s⁻¹\] from the watts that it takes \[W\], after so many
/// hours of use \[h\] and with a share left by dust \[0 to 1\].
///
/// # Errors
/// When the watts or hours are negative or the share is none.
pub fn photon_flux(kind: LampKind, watts: f64, hours: f64, dirt: f64) -> Result<f64, LightError> {
    let watts = amount("watts", watts)?;
    Ok(watts
        * kind.efficacy().value
        * aged(hours, HOURS_TO_NINE_TENTHS.value)?
        * share("share left by dust", dirt)?)
}

/// Share of its first light that a lamp gives after so many hours \[h\], when nine tenths are left
/// after `hours_to_nine_tenths` \[h\].
///
/// # Errors
/// When the hours are negative.
pub fn aged(hours: f64, hours_to_nine_tenths: f64) -> Result<f64, LightError> {
    let hours = amount("hours of use", hours)?;
    Ok(0.9_f64.powf(hours / positive("hours to nine tenths", hours_to_nine_tenths)?))
}

/// How a lamp sends its light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Emitter {
    /// A flat panel, bar or tube without a lens, equally bright from all sides: width along x and
    /// length along y \[m\].
    Panel {
        /// Along x \[m\].
        width: f64,
        /// Along y \[m\].
        length: f64,
    },
    /// A bulb with a lens: the full angle within which it has at least half of its greatest
    /// intensity \[°, above 0 and below 180\].
    Bulb {
        /// Full angle to half intensity \[°\].
        beam: f64,
    },
}

/// A lamp that shines straight down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lamp {
    emitter: Emitter,
    photon_flux: f64,
    at: [f64; 3],
}

/// How a leaf is held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leaf {
    normal: [f64; 3],
}

impl Leaf {
    /// A leaf that lies flat.
    pub const FLAT: Self = Self { normal: [0.0, 0.0, 1.0] };

    /// A leaf tilted from flat \[°, 0 to 180\] towards a direction, counted from the x axis towards
    /// the y axis \[°\].
    ///
    /// # Errors
    /// When the tilt is outside of its range.
    pub fn tilted(tilt: f64, towards: f64) -> Result<Self, LightError> {
        let next = "0 lies flat, 90 stands upright";
        let tilt = within("tilt", tilt, (0.0, 180.0), "an angle from 0 to 180", next)?;
        let (st, ct) = tilt.to_radians().sin_cos();
        let (sa, ca) = towards.to_radians().sin_cos();
        Ok(Self { normal: [st * ca, st * sa, ct] })
    }

    /// Its unit normal.
    #[must_use]
    pub const fn normal(self) -> [f64; 3] {
        self.normal
    }
}

impl Lamp {
    /// A lamp that gives off so many photons \[µmol s⁻¹\], with its middle at x, y, z \[m\].
    ///
    /// # Errors
    /// When a length is not above zero, the beam no angle between 0 and 180°, or the flux negative.
    pub fn new(emitter: Emitter, photon_flux: f64, at: [f64; 3]) -> Result<Self, LightError> {
        match emitter {
            Emitter::Panel { width, length } => {
                positive("width", width)?;
                positive("length", length)?;
            }
            Emitter::Bulb { beam } => {
                let next = "give the full angle to half intensity, such as 60";
                within("beam angle", beam, (1.0, 179.0), "an angle from 1 to 179", next)?;
            }
        }
        for c in at {
            within("position", c, (-1e6, 1e6), "a length in metres", "check the number")?;
        }
        Ok(Self { emitter, photon_flux: amount("photon flux", photon_flux)?, at })
    }

    /// Photons that it gives off \[µmol s⁻¹\].
    #[must_use]
    pub const fn photon_flux(&self) -> f64 {
        self.photon_flux
    }

    /// The same lamp with all its light multiplied.
    #[must_use]
    pub fn scaled(self, gain: f64) -> Self {
        Self { photon_flux: self.photon_flux * gain, ..self }
    }

    /// Share of the hemisphere of a flat leaf at a point \[m\] that the lamp fills, for a panel; none
    /// for a bulb, which is a point.
    #[must_use]
    pub fn view_factor(&self, point: [f64; 3]) -> Option<f64> {
        let (x, y, drop) = self.towards(point);
        match self.emitter {
            Emitter::Panel { width, length } if drop > 0.0 => {
                Some(factor::parallel(centred(x, y, width, length), drop))
            }
            Emitter::Panel { .. } => Some(0.0),
            Emitter::Bulb { .. } => None,
        }
    }

    /// Photons that arrive straight from the lamp on a leaf at a point \[µmol m⁻² s⁻¹\]. Nothing
    /// arrives at or above the height of the lamp.
    #[must_use]
    pub fn ppfd(&self, point: [f64; 3], leaf: Leaf) -> f64 {
        let (x, y, drop) = self.towards(point);
        if drop <= 0.0 {
            return 0.0;
        }
        match self.emitter {
            Emitter::Panel { width, length } => {
                let exitance = self.photon_flux / (width * length);
                let extent = centred(x, y, width, length);
                if leaf == Leaf::FLAT {
                    return exitance * factor::parallel(extent, drop);
                }
                let ((x0, x1), (y0, y1)) = (extent.across, extent.along);
                let corners = [[x0, y0, drop], [x1, y0, drop], [x1, y1, drop], [x0, y1, drop]];
                exitance * factor::polygon(&corners, leaf.normal)
            }
            Emitter::Bulb { beam } => {
                let m = beam_exponent(beam);
                let square = x * x + y * y + drop * drop;
                let distance = square.sqrt();
                let cosine = drop / distance;
                let incidence = dot([x, y, drop], leaf.normal) / distance;
                self.photon_flux * (m + 1.0) / std::f64::consts::TAU
                    * cosine.powf(m)
                    * incidence.max(0.0)
                    / square
            }
        }
    }

    /// From a point to the middle of the lamp: across, along and up.
    fn towards(&self, point: [f64; 3]) -> (f64, f64, f64) {
        (self.at[0] - point[0], self.at[1] - point[1], self.at[2] - point[2])
    }
}

/// Power of the cosine with which the intensity of a bulb falls off, from its full angle to half
/// intensity \[°\]; 1 at 120° is an even emitter.
#[must_use]
pub fn beam_exponent(beam: f64) -> f64 {
    0.5_f64.ln() / (beam / 2.0).to_radians().cos().ln()
}

fn centred(x: f64, y: f64, width: f64, length: f64) -> Extent {
    Extent {
        across: (x - width / 2.0, x + width / 2.0),
        along: (y - length / 2.0, y + length / 2.0),
    }
}

/// Light of several lamps on a leaf at a point \[µmol m⁻² s⁻¹\].
#[must_use]
pub fn together(lamps: &[Lamp], point: [f64; 3], leaf: Leaf) -> f64 {
    lamps.iter().map(|lamp| lamp.ppfd(point, leaf)).sum()
}

//! What glass lets through.

use std::f64::consts::FRAC_PI_2;

use crate::{Basis, Constant, Spread};

const REFRACTIVE_INDEX: Constant = Constant {
    name: "refractive_index_of_glass",
    value: 1.526,
    unit: "1",
    spread: Spread::Sd(0.01),
    basis: Basis::Memory,
    source: "Duffie & Beckman, Solar Engineering of Thermal Processes, ch. 5 (from memory)",
};
const ABSORPTION: Constant = Constant {
    name: "absorption_of_a_pane",
    value: 0.02,
    unit: "1",
    spread: Spread::Range(0.01, 0.05),
    basis: Basis::CommonPractice,
    source: "",
};
/// What a net curtain lets through \[1\].
pub const NET_CURTAIN: Constant = Constant {
    name: "net_curtain",
    value: 0.5,
    unit: "1",
    spread: Spread::Range(0.35, 0.7),
    basis: Basis::CommonPractice,
    source: "",
};
/// What dirt leaves of the light through a window \[1\].
pub const WINDOW_DIRT: Constant = Constant {
    name: "window_dirt",
    value: 0.9,
    unit: "1",
    spread: Spread::Range(0.75, 1.0),
    basis: Basis::CommonPractice,
    source: "",
};

const fn diffuse(name: &'static str, value: f64, (low, high): (f64, f64)) -> Constant {
    Constant {
        name,
        value,
        unit: "1",
        spread: Spread::Range(low, high),
        basis: Basis::Memory,
        source: "handbooks of daylighting, visible light from all sides (from memory)",
    }
}

const SINGLE: Constant = diffuse("glass_single", 0.80, (0.75, 0.84));
const DOUBLE: Constant = diffuse("glass_double", 0.69, (0.65, 0.73));
const LOW_E: Constant = diffuse("glass_low_emissivity_double", 0.62, (0.55, 0.68));
const TRIPLE: Constant = diffuse("glass_triple", 0.55, (0.48, 0.62));

pub(super) const CONSTANTS: &[Constant] =
    &[SINGLE, DOUBLE, LOW_E, TRIPLE, NET_CURTAIN, WINDOW_DIRT, REFRACTIVE_INDEX, ABSORPTION];

/// A kind of window pane.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Glazing {
    /// No glass at all: an open window, a place outdoors.
    None,
    /// One clear pane.
    Single,
    /// Two clear panes.
    Double,
    /// Two panes, one of them coated against loss of heat.
    LowEmissivityDouble,
    /// Three panes.
    Triple,
}

impl Glazing {
    /// Share of visible light from all sides that passes, with its spread; none without glass.
    #[must_use]
    pub const fn diffuse(self) -> Option<Constant> {
        match self {
            Self::None => None,
            Self::Single => Some(SINGLE),
            Self::Double => Some(DOUBLE),
            Self::LowEmissivityDouble => Some(LOW_E),
            Self::Triple => Some(TRIPLE),
        }
    }

    const fn panes(self) -> f64 {
        match self {
            Self::None => 0.0,
            Self::Single => 1.0,
            Self::Double | Self::LowEmissivityDouble => 2.0,
            Self::Triple => 3.0,
        }
    }

    /// How it lets light through at each angle.
    #[must_use]
    pub fn transmission(self) -> Transmission {
        let Some(constant) = self.diffuse() else {
            return Transmission { panes: 0.0, scale: 1.0, diffuse: 1.0 };
        };
        let diffuse = constant.value;
        let plain = Transmission { panes: self.panes(), scale: 1.0, diffuse };
        Transmission { scale: diffuse / plain.mean_of_all_sides(), ..plain }
    }
}

/// How glass lets light through, by the angle at which it comes.
///
/// The shape over the angle is that of reflection at clear panes (Fresnel's equations, both
/// polarisations, with all reflections between the panes) and some absorption; its height is set so
/// that light from all sides passes as [`Glazing::diffuse`] says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Transmission {
    panes: f64,
    scale: f64,
    diffuse: f64,
}

impl Transmission {
    /// Share of light from all sides that passes \[1\].
    #[must_use]
    pub const fn diffuse(self) -> f64 {
        self.diffuse
    }

    /// Share of a beam that passes, at an angle to the perpendicular of the glass \[rad, 0 to π/2\].
    #[must_use]
    pub fn beam(self, angle: f64) -> f64 {
        if self.panes == 0.0 {
            return 1.0;
        }
        let outside = angle.cos();
        if outside <= 0.0 {
            return 0.0;
        }
        let n = REFRACTIVE_INDEX.value;
        let inside = (1.0 - (angle.sin() / n).powi(2)).sqrt();
        let upright = ((outside - n * inside) / (outside + n * inside)).powi(2);
        let parallel = ((n * outside - inside) / (n * outside + inside)).powi(2);
        let through = |r: f64| (1.0 - r) / (1.0 + (2.0 * self.panes - 1.0) * r);
        let absorbed = (-ABSORPTION.value * self.panes / inside).exp();
        self.scale * absorbed * (through(upright) + through(parallel)) / 2.0
    }

    /// The mean over a hemisphere that is equally bright all over.
    fn mean_of_all_sides(self) -> f64 {
        const N: u32 = 180;
        let step = FRAC_PI_2 / f64::from(N);
        (0..N)
            .map(|k| (f64::from(k) + 0.5) * step)
            .map(|a| self.beam(a) * (2.0 * a).sin() * step)
            .sum()
    }
}

//! Dew on glass and on leaves.

use serde::Serialize;

use crate::{Basis, Constant, Estimate, Spread, air::Air};

const INNER_RESISTANCE: Constant = Constant {
    name: "inner_surface_resistance",
    value: 0.13,
    unit: "m² K/W",
    spread: Spread::Range(0.10, 0.25),
    basis: Basis::Memory,
    source: "EN ISO 6946, horizontal heat flow",
};
const LEAF_MARGIN: Constant = Constant {
    name: "leaf_wetness_margin",
    value: 0.5,
    unit: "K",
    spread: Spread::Range(0.0, 1.0),
    basis: Basis::CommonPractice,
    source: "",
};

pub(super) const CONSTANTS: [Constant; 2] = [INNER_RESISTANCE, LEAF_MARGIN];

/// A kind of window.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Glazing {
    /// Its name.
    pub name: &'static str,
    /// Thermal transmittance \[W/(m² K)\].
    pub transmittance: Constant,
}

const fn glazing(
    name: &'static str,
    constant: &'static str,
    value: f64,
    least: f64,
    most: f64,
) -> Glazing {
    Glazing {
        name,
        transmittance: Constant {
            name: constant,
            value,
            unit: "W/(m² K)",
            spread: Spread::Range(least, most),
            basis: Basis::Memory,
            source: "tables of building physics; the frame and its edge are colder",
        },
    }
}

/// Kinds of windows with their transmittance.
pub const GLAZINGS: [Glazing; 4] = [
    glazing("single", "transmittance_single", 5.6, 5.0, 5.9),
    glazing("double", "transmittance_double", 2.8, 2.6, 3.1),
    glazing("double, coated", "transmittance_double_coated", 1.1, 1.0, 1.5),
    glazing("triple, coated", "transmittance_triple_coated", 0.6, 0.5, 0.8),
];

/// Temperature of the inner face of a pane \[°C\], from the air on both sides \[°C\] and the
/// thermal transmittance \[W/(m² K)\]. Source: EN ISO 6946.
pub fn glass_inner_face(inside: f64, outside: f64, transmittance: f64) -> f64 {
    inside - INNER_RESISTANCE.value * transmittance * (inside - outside)
}

/// A pane beside the air of a room.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Glass {
    /// Temperature of the inner face \[°C\].
    pub face: f64,
    /// Dew or frost point of the room's air \[°C\].
    pub dew_point: f64,
    /// How far the face is below the dew point \[K\]: above 0 it is wet. The interval holds the
    /// uncertainty of the surface resistance and 3 % points of humidity.
    pub wet_by: Estimate,
}

impl Glass {
    /// A pane of this transmittance \[W/(m² K)\] between the room's air and the temperature
    /// outside \[°C\]; `None` for air without any vapour.
    pub fn new(room: &Air, outside: f64, transmittance: f64) -> Option<Self> {
        let dew_point = room.dew_point()?.temperature;
        let inside = room.temperature();
        let face = glass_inner_face(inside, outside, transmittance);
        let Spread::Range(least, most) = INNER_RESISTANCE.spread else { return None };
        let face_sd = (most - least) / 4.0 * transmittance * (inside - outside).abs();
        // A relative error of the vapour pressure moves the dew point by that times e_s/slope.
        let humidity_sd = 3.0 / room.humidity() * super::saturation_pressure(dew_point)
            / super::saturation_slope(dew_point);
        let wet_by = Estimate::normal(dew_point - face, face_sd.hypot(humidity_sd));
        Some(Self { face, dew_point, wet_by })
    }

    /// Whether water settles, by the best single numbers.
    pub fn wet(&self) -> bool {
        self.wet_by.value > 0.0
    }
}

/// Whether a leaf of this temperature \[°C\] may be wet: the dew point is above it, or within half
/// a degree below, since the coolest spot of a leaf is cooler than its mean.
pub fn leaf_may_be_wet(air: &Air, leaf: f64) -> bool {
    air.dew_point().is_some_and(|d| d.temperature > leaf - LEAF_MARGIN.value)
}

/// A time during which a surface was below the dew point.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WetSpan {
    /// From when \[h\].
    pub from: f64,
    /// Until when \[h\].
    pub to: f64,
}

/// Times during which a surface was below the dew point, from readings in order of time: the hour,
/// the air, the temperature of the surface \[°C\].
///
/// The margin runs straight between two readings that are at most 2 h apart; over longer gaps
/// nothing is said.
pub fn wet_spans(readings: &[(f64, Air, f64)]) -> Vec<WetSpan> {
    let margin = |r: &(f64, Air, f64)| r.1.dew_point().map_or(-1.0, |d| d.temperature - r.2);
    let mut spans: Vec<WetSpan> = Vec::new();
    for pair in readings.windows(2) {
        let (from, to) = (pair[0].0, pair[1].0);
        if !(to > from && to - from <= 2.0) {
            continue;
        }
        let (first, second) = (margin(&pair[0]), margin(&pair[1]));
        let crossing = from + (to - from) * first / (first - second);
        let (start, end) = match (first > 0.0, second > 0.0) {
            (true, true) => (from, to),
            (true, false) => (from, crossing),
            (false, true) => (crossing, to),
            (false, false) => continue,
        };
        match spans.last_mut() {
            Some(last) if start - last.to < 1e-9 => last.to = end,
            _ => spans.push(WetSpan { from: start, to: end }),
        }
    }
    spans
}

/// On how many nights there was dew for at least so many hours; a night runs from noon to noon.
pub fn nights_with_dew(spans: &[WetSpan], least_hours: f64) -> usize {
    let mut nights: Vec<(i64, f64)> = Vec::new();
    for span in spans {
        let mut start = span.from;
        while start < span.to {
            let night = ((start - 12.0) / 24.0).floor();
            let end = (24.0 * (night + 1.0) + 12.0).min(span.to);
            match nights.last_mut() {
                Some((last, hours)) if *last == night as i64 => *hours += end - start,
                _ => nights.push((night as i64, end - start)),
            }
            start = end;
        }
    }
    nights.iter().filter(|(_, hours)| *hours >= least_hours).count()
}

//! The shape of a pot.

use serde::Serialize;

use crate::limits::{OutOfRange, within};

/// A round pot, straight or tapered, filled to a height.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Pot {
    height: f64,
    floor_radius: f64,
    top_radius: f64,
}

impl Pot {
    /// A pot with the height of its mix, the diameter of its floor and of the surface of the mix,
    /// all inside \[cm\].
    ///
    /// # Errors
    /// When a length is not from 0.5 to 200 cm.
    pub fn tapered(height: f64, floor: f64, surface: f64) -> Result<Self, OutOfRange> {
        Ok(Self {
            height: within("height of the mix", height, "cm", 0.5, 200.0)?,
            floor_radius: within("diameter of the floor", floor, "cm", 0.5, 200.0)? / 2.0,
            top_radius: within("diameter at the surface", surface, "cm", 0.5, 200.0)? / 2.0,
        })
    }

    /// A pot with straight walls, for which only the height of the mix \[cm\] matters.
    ///
    /// # Errors
    /// When the height is not from 0.5 to 200 cm.
    pub fn straight(height: f64) -> Result<Self, OutOfRange> {
        Self::tapered(height, 10.0, 10.0)
    }

    /// Height of the mix \[cm\].
    pub fn height(&self) -> f64 {
        self.height
    }

    /// Volume \[mL\].
    pub fn volume(&self) -> f64 {
        let (a, b) = (self.floor_radius, self.top_radius);
        std::f64::consts::PI * self.height / 3.0 * (a * a + a * b + b * b)
    }

    /// Level area \[cm²\] at a height above the floor \[cm\].
    pub fn area(&self, above: f64) -> f64 {
        let share = above / self.height;
        let radius = self.floor_radius + (self.top_radius - self.floor_radius) * share;
        std::f64::consts::PI * radius * radius
    }
}

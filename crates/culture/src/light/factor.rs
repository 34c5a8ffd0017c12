//! How much of its hemisphere a rectangle fills, seen from a point: configuration factors.
//!
//! The factor of a small flat receiver to an area is what it gets from that area, if the area is
//! evenly bright, divided by what it would get if all of its hemisphere were as bright. It lies
//! between 0 and 1. Formulas: catalogue of radiation configuration factors (Howell, B-4 and B-5;
//! Hamilton & Morgan 1952, NACA TN 2836), from memory; both agree here with a polygon sum of
//! another form and with plain numerical integration.

use std::f64::consts::TAU;

/// A rectangle in its own plane: from one side to the other, and from one end to the other \[m\],
/// counted from the foot of the perpendicular of the receiver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extent {
    /// Where it begins and ends along the first axis \[m\].
    pub across: (f64, f64),
    /// Where it begins and ends along the second axis \[m\].
    pub along: (f64, f64),
}

impl Extent {
    /// Area \[m²\].
    #[must_use]
    pub fn area(self) -> f64 {
        (self.across.1 - self.across.0) * (self.along.1 - self.along.0)
    }

    /// What of it lies at or above a value of the second axis; none when nothing does.
    #[must_use]
    pub fn above(self, along: f64) -> Option<Self> {
        (self.along.1 > along)
            .then(|| Self { along: (self.along.0.max(along), self.along.1), ..self })
    }

    /// What of it lies at or below a value of the second axis; none when nothing does.
    #[must_use]
    pub fn below(self, along: f64) -> Option<Self> {
        (self.along.0 < along)
            .then(|| Self { along: (self.along.0, self.along.1.min(along)), ..self })
    }
}

/// Factor of a receiver to a rectangle in a plane parallel to it at a distance \[m, above 0\].
///
/// The four corner rectangles are added with their signs, so the receiver may stand anywhere.
#[must_use]
pub fn parallel(extent: Extent, distance: f64) -> f64 {
    let Extent { across: (x0, x1), along: (y0, y1) } = extent;
    let corner = |x: f64, y: f64| parallel_corner(x / distance, y / distance);
    (corner(x1, y1) - corner(x0, y1) - corner(x1, y0) + corner(x0, y0)).max(0.0)
}

/// Corner at the foot of the perpendicular; odd in both sides.
fn parallel_corner(a: f64, b: f64) -> f64 {
    // Not `hypot`: nothing here is near an overflow, and a map asks 240 000 times.
    let (ra, rb) = ((1.0 + a * a).sqrt(), (1.0 + b * b).sqrt());
    (a / ra * (b / ra).atan() + b / rb * (a / rb).atan()) / TAU
}

/// Factor of a receiver to a rectangle in a plane that stands upright on its own plane, at a
/// distance \[m, above 0\]: a horizontal leaf and a window. The second axis counts from the
/// receiver's plane; what lies below it is not seen.
#[must_use]
pub fn perpendicular(extent: Extent, distance: f64) -> f64 {
    let Some(Extent { across: (x0, x1), along: (y0, y1) }) = extent.above(0.0) else { return 0.0 };
    let corner = |x: f64, y: f64| perpendicular_corner(x / distance, y / distance);
    (corner(x1, y1) - corner(x0, y1) - corner(x1, y0) + corner(x0, y0)).max(0.0)
}

/// From the receiver's plane up to `y`, from the perpendicular to `x`; odd in `x`.
fn perpendicular_corner(x: f64, y: f64) -> f64 {
    let r = (1.0 + y * y).sqrt();
    (x.atan() - (x / r).atan() / r) / TAU
}

/// Factor of a receiver at the origin with a unit normal to a flat convex polygon, by the sum over
/// its edges (Lambert 1760). What lies behind the receiver is cut off.
#[must_use]
pub fn polygon(corners: &[[f64; 3]], normal: [f64; 3]) -> f64 {
    let seen = in_front(corners, normal);
    let edges = seen.iter().zip(seen.iter().cycle().skip(1));
    let sum: f64 = edges
        .map(|(a, b)| {
            let c = cross(*a, *b);
            let area = dot(c, c).sqrt();
            if area == 0.0 { 0.0 } else { area.atan2(dot(*a, *b)) * dot(normal, c) / area }
        })
        .sum();
    sum.abs() / TAU
}

/// The part of a polygon in front of the plane through the origin.
fn in_front(corners: &[[f64; 3]], normal: [f64; 3]) -> Vec<[f64; 3]> {
    let mut seen = Vec::with_capacity(corners.len() + 1);
    for (a, b) in corners.iter().zip(corners.iter().cycle().skip(1)) {
        let (ha, hb) = (dot(*a, normal), dot(*b, normal));
        if ha >= 0.0 {
            seen.push(*a);
        }
        if (ha > 0.0 && hb < 0.0) || (ha < 0.0 && hb > 0.0) {
            let t = ha / (ha - hb);
            seen.push([0, 1, 2].map(|k| a[k] + t * (b[k] - a[k])));
        }
    }
    seen
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

pub(super) fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

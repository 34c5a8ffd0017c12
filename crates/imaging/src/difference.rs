//! How far apart two colours are.

use crate::lab::Lab;

/// ΔE*ab of 1976: the plain distance in CIELAB.
pub fn delta_e_1976(one: Lab, other: Lab) -> f64 {
    (one.l - other.l).hypot((one.a - other.a).hypot(one.b - other.b))
}

/// 25⁷, where the correction of blue and of weak chroma turns over.
const TURN: f64 = 6_103_515_625.0;

/// ΔE₀₀, CIEDE2000 with all weights 1 (CIE 142:2001; notation and treatment of hue after Sharma, Wu &
/// Dalal 2005, doi:10.1002/col.20070). About 1 is the least that is seen side by side.
pub fn ciede2000(one: Lab, other: Lab) -> f64 {
    let mean_chroma = 0.5 * (one.chroma() + other.chroma());
    let stretch = 1.0 + 0.5 * (1.0 - saturation(mean_chroma));
    let (a, b) = (stretched(one, stretch), stretched(other, stretch));

    let delta_l = b.l - a.l;
    let (chroma_a, chroma_b) = (a.chroma(), b.chroma());
    let delta_c = chroma_b - chroma_a;
    let grey = chroma_a * chroma_b == 0.0;
    let angle = if grey { 0.0 } else { turned(b.hue() - a.hue()) };
    let delta_h = 2.0 * (chroma_a * chroma_b).sqrt() * (angle / 2.0).to_radians().sin();

    let mean_l = 0.5 * (a.l + b.l);
    let mean_c = 0.5 * (chroma_a + chroma_b);
    let hue = if grey { a.hue() + b.hue() } else { mean_hue(a.hue(), b.hue()) };

    let off = (mean_l - 50.0).powi(2);
    let weight_l = 1.0 + 0.015 * off / (20.0 + off).sqrt();
    let weight_c = 1.0 + 0.045 * mean_c;
    let weight_h = 1.0 + 0.015 * mean_c * hue_weight(hue);
    let rotation = -(2.0 * blue_turn(hue)).to_radians().sin() * 2.0 * saturation(mean_c);

    let (l, c, h) = (delta_l / weight_l, delta_c / weight_c, delta_h / weight_h);
    (l * l + c * c + h * h + rotation * c * h).max(0.0).sqrt()
}

/// a* is stretched near grey, where hue was judged too small.
fn stretched(colour: Lab, stretch: f64) -> Lab {
    Lab { a: colour.a * stretch, ..colour }
}

/// √(C⁷ / (C⁷ + 25⁷)).
fn saturation(chroma: f64) -> f64 {
    let seventh = chroma.powi(7);
    (seventh / (seventh + TURN)).sqrt()
}

/// A difference of angles as the shorter way round \[°, −180 to 180\].
pub(crate) fn turned(difference: f64) -> f64 {
    if difference > 180.0 {
        difference - 360.0
    } else if difference < -180.0 {
        difference + 360.0
    } else {
        difference
    }
}

/// The mean of two hues on the shorter way round \[°\].
fn mean_hue(one: f64, other: f64) -> f64 {
    let sum = one + other;
    if (one - other).abs() <= 180.0 {
        sum / 2.0
    } else if sum < 360.0 {
        (sum + 360.0) / 2.0
    } else {
        (sum - 360.0) / 2.0
    }
}

/// T, the weight of hue round the circle.
fn hue_weight(hue: f64) -> f64 {
    let cos = |degrees: f64| degrees.to_radians().cos();
    1.0 - 0.17 * cos(hue - 30.0) + 0.24 * cos(2.0 * hue) + 0.32 * cos(3.0 * hue + 6.0)
        - 0.20 * cos(4.0 * hue - 63.0)
}

/// Δθ \[°\], the turn of the ellipses of blue.
fn blue_turn(hue: f64) -> f64 {
    30.0 * (-((hue - 275.0) / 25.0).powi(2)).exp()
}

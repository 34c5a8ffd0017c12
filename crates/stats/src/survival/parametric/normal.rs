//! Logarithms of normal probabilities, good in both tails.

use std::f64::consts::SQRT_2;

/// ln √(2π).
pub(crate) const LOG_ROOT_TWO_PI: f64 = 0.918_938_533_204_672_8;

/// The logarithm of the standard normal density.
pub(crate) fn log_density(z: f64) -> f64 {
    -0.5 * z * z - LOG_ROOT_TWO_PI
}

/// ln P(Z > z).
pub(crate) fn log_upper(z: f64) -> f64 {
    if z < -1.0 {
        (-0.5 * libm::erfc(-z / SQRT_2)).ln_1p()
    } else if z < 5.0 {
        (0.5 * libm::erfc(z / SQRT_2)).ln()
    } else {
        log_density(z) - mills_inverse(z).ln()
    }
}

/// ln P(Z ≤ z).
pub(crate) fn log_lower(z: f64) -> f64 {
    log_upper(-z)
}

/// Density over upper tail for z ≥ 5: Laplace's continued fraction z + 1/(z + 2/(z + 3/(z + …)))
/// (Abramowitz & Stegun 26.2.14; from memory), whose 30 terms reach machine precision there.
fn mills_inverse(z: f64) -> f64 {
    (1..=30u32).rev().fold(z, |rest, k| z + f64::from(k) / rest)
}

/// Below this tails are far from the smallest number that can be written.
const FAR: f64 = 30.0;

/// ln P(a < Z ≤ b) for a < b.
pub(crate) fn normal_between(a: f64, b: f64) -> f64 {
    if b < 0.0 {
        return normal_between(-b, -a);
    }
    let (w, m) = (b - a, 0.5 * (a + b));
    if w * (1.0 + m.abs()) < 1e-2 {
        // The density integrated term by term around the middle; the next term is below 1e-16.
        let (w2, m2) = (w * w, m * m);
        let even = (m2 - 1.0) * w2 / 24.0 + (m2 * m2 - 6.0 * m2 + 3.0) * w2 * w2 / 1920.0;
        return log_density(m) + w.ln() + even.ln_1p();
    }
    if a > 0.0 && b < FAR {
        // The two differ by a hundredth at least, so that two digits are lost at most.
        return (0.5 * (libm::erfc(a / SQRT_2) - libm::erfc(b / SQRT_2))).ln();
    }
    if a > 0.0 {
        let (upper_a, upper_b) = (log_upper(a), log_upper(b));
        return upper_a + super::law::log_one_minus(upper_a - upper_b);
    }
    (0.5 * (libm::erf(b / SQRT_2) + libm::erf(-a / SQRT_2))).ln()
}

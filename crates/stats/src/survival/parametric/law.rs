//! The distributions of W in log T = η + scale·W, written so that no tail loses its digits.

use serde::Serialize;

use super::normal::{log_density, log_lower, log_upper, normal_between};
use crate::special::normal_quantile;

/// The shape of a time to event: log T = η + scale·W.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Law {
    /// W smallest extreme value, scale fixed at 1.
    Exponential,
    /// W smallest extreme value; the Weibull shape is 1/scale.
    Weibull,
    /// W standard normal.
    Lognormal,
    /// W standard logistic.
    Loglogistic,
}

/// A function of one standardised time with its first two derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Curve1 {
    pub value: f64,
    pub first: f64,
    pub second: f64,
}

/// The logarithm of a probability between two standardised times, with its derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Curve2 {
    pub value: f64,
    pub a: f64,
    pub b: f64,
    pub aa: f64,
    pub ab: f64,
    pub bb: f64,
}

/// ln(1 + eˣ).
pub(crate) fn softplus(x: f64) -> f64 {
    if x > 0.0 { x + (-x).exp().ln_1p() } else { x.exp().ln_1p() }
}

/// 1 / (1 + e⁻ˣ).
pub(crate) fn logistic(x: f64) -> f64 {
    if x >= 0.0 {
        1.0 / (1.0 + (-x).exp())
    } else {
        let e = x.exp();
        e / (1.0 + e)
    }
}

impl Law {
    /// Whether the scale is estimated.
    pub fn has_scale(self) -> bool {
        self != Law::Exponential
    }

    /// The value of W below which a share `p` lies (p strictly between 0 and 1).
    pub fn quantile(self, p: f64) -> f64 {
        match self {
            Law::Exponential | Law::Weibull => (-(-p).ln_1p()).ln(),
            Law::Lognormal => normal_quantile(p),
            Law::Loglogistic => p.ln() - (-p).ln_1p(),
        }
    }

    /// The value of W above which a share with logarithm `log_share` (negative) lies.
    pub(crate) fn upper_quantile(self, log_share: f64) -> f64 {
        match self {
            Law::Exponential | Law::Weibull => (-log_share).ln(),
            Law::Loglogistic => (-log_share.exp_m1()).ln() - log_share,
            Law::Lognormal => {
                if log_share > -30.0 {
                    let z = if log_share > -1e-3 {
                        normal_quantile(-log_share.exp_m1())
                    } else {
                        -normal_quantile(log_share.exp())
                    };
                    return self.polish(z, log_share);
                }
                // Mills' ratio as a start, then Newton on the logarithm.
                self.polish((-2.0 * log_share).sqrt(), log_share)
            }
        }
    }

    fn polish(self, start: f64, log_share: f64) -> f64 {
        let mut z = start;
        for _ in 0..50 {
            let at = self.log_survival(z);
            if at.first == 0.0 {
                break;
            }
            let step = (log_share - at.value) / at.first;
            z += step;
            if step.abs() <= 1e-13 * (1.0 + z.abs()) {
                break;
            }
        }
        z
    }

    /// ln P(W > z).
    pub(crate) fn log_survival(self, z: f64) -> Curve1 {
        match self {
            Law::Exponential | Law::Weibull => {
                let e = -z.exp();
                Curve1 { value: e, first: e, second: e }
            }
            Law::Lognormal => {
                let value = log_upper(z);
                let hazard = (log_density(z) - value).exp();
                Curve1 { value, first: -hazard, second: -hazard * (hazard - z) }
            }
            Law::Loglogistic => {
                let f = logistic(z);
                Curve1 { value: -softplus(z), first: -f, second: -f * logistic(-z) }
            }
        }
    }

    /// ln P(W ≤ z).
    pub(crate) fn log_cdf(self, z: f64) -> Curve1 {
        match self {
            Law::Exponential | Law::Weibull => {
                let x = z.exp();
                let value = log_one_minus(x);
                let r = if x < 700.0 { ratio(x) } else { 0.0 };
                let second = if r == 0.0 { 0.0 } else { r * (1.0 - x - r) };
                Curve1 { value, first: r, second }
            }
            Law::Lognormal => {
                let value = log_lower(z);
                let r = (log_density(z) - value).exp();
                Curve1 { value, first: r, second: -r * (z + r) }
            }
            Law::Loglogistic => {
                let s = logistic(-z);
                Curve1 { value: -softplus(-z), first: s, second: -s * logistic(z) }
            }
        }
    }

    /// The logarithm of the density of W.
    pub(crate) fn log_density(self, z: f64) -> Curve1 {
        match self {
            Law::Exponential | Law::Weibull => {
                let x = z.exp();
                Curve1 { value: z - x, first: 1.0 - x, second: -x }
            }
            Law::Lognormal => Curve1 { value: log_density(z), first: -z, second: -1.0 },
            Law::Loglogistic => {
                let (f, s) = (logistic(z), logistic(-z));
                Curve1 { value: -softplus(z) - softplus(-z), first: s - f, second: -2.0 * f * s }
            }
        }
    }

    /// Whether the density hardly changes between a and b, so that differences of its integral would
    /// lose digits; the density in the middle times the width is then good to 1e-11.
    pub(crate) fn narrow(self, a: f64, b: f64) -> bool {
        let w = b - a;
        w < 1e-5 && w * (1.0 + self.log_density(0.5 * (a + b)).first.abs()) < 1e-5
    }

    /// The third derivative of the logarithm of the density.
    pub(crate) fn density_third(self, z: f64) -> f64 {
        match self {
            Law::Exponential | Law::Weibull => -z.exp(),
            Law::Lognormal => 0.0,
            Law::Loglogistic => {
                let (f, s) = (logistic(z), logistic(-z));
                -2.0 * f * s * (s - f)
            }
        }
    }

    /// The third derivative of ln P(W > z).
    pub(crate) fn survival_third(self, z: f64) -> f64 {
        let h = -self.log_survival(z).first;
        let g = self.log_density(z);
        // h' = h(g + h)
        let slope = h * (g.first + h);
        -(slope * g.first + h * g.second + 2.0 * h * slope)
    }

    /// The third derivative of ln P(W ≤ z).
    pub(crate) fn cdf_third(self, z: f64) -> f64 {
        let r = self.log_cdf(z).first;
        if r == 0.0 {
            return 0.0;
        }
        let g = self.log_density(z);
        let slope = r * (g.first - r);
        slope * (g.first - r) + r * (g.second - slope)
    }

    /// (∂a + ∂b)² of ln P(a < W ≤ b), and its derivatives in a and in b, from its logarithm.
    pub(crate) fn between_third(self, c: &Curve2, a: f64, b: f64) -> (f64, f64, f64) {
        let (p, q) = (-c.a, c.b);
        let first = self.log_density(a);
        // Beyond the far tail the upper end has no density left.
        let last = if q == 0.0 {
            Curve1 { value: f64::NEG_INFINITY, first: 0.0, second: 0.0 }
        } else {
            self.log_density(b)
        };
        let u = q - p;
        let (pa, pb) = (p * (first.first + p), -p * q);
        let (qa, qb) = (p * q, q * (last.first - q));
        let by_a = qa * last.first - pa * first.first - p * first.second - 2.0 * u * (qa - pa);
        let by_b = qb * last.first + q * last.second - pb * first.first - 2.0 * u * (qb - pb);
        (q * last.first - p * first.first - u * u, by_a, by_b)
    }

    /// ln P(a < W ≤ b) for a < b.
    pub(crate) fn log_between(self, a: f64, b: f64) -> Curve2 {
        let w = b - a;
        match self {
            Law::Exponential | Law::Weibull => {
                let x = a.exp();
                let d = x * w.exp_m1();
                let share = -(-d).exp_m1();
                let da = x / share;
                let db = if d < 700.0 { (x + d) / d.exp_m1() } else { 0.0 };
                let (ga, gb) = (1.0 - x, if db == 0.0 { 0.0 } else { 1.0 - x - d });
                Curve2 {
                    value: share.ln() - x,
                    a: -da,
                    b: db,
                    aa: -da * (ga + da),
                    ab: da * db,
                    bb: db * (gb - db),
                }
            }
            Law::Lognormal => {
                let value = normal_between(a, b);
                let da = (log_density(a) - value).exp();
                let db = (log_density(b) - value).exp();
                Curve2 { value, a: -da, b: db, aa: -da * (da - a), ab: da * db, bb: -db * (b + db) }
            }
            Law::Loglogistic => {
                // F(b) − F(a) = F(b)·S(a)·(1 − e^(a−b)), exactly.
                let (fa, sa) = (logistic(a), logistic(-a));
                let (fb, sb) = (logistic(b), logistic(-b));
                let m = w.exp_m1();
                let (q1, q2) =
                    if m.is_finite() { (1.0 / m, -(1.0 + m) / m / m) } else { (0.0, 0.0) };
                Curve2 {
                    value: (-(-w).exp_m1()).ln() - softplus(a) - softplus(-b),
                    a: -fa - q1,
                    b: sb + q1,
                    aa: -fa * sa + q2,
                    ab: -q2,
                    bb: -fb * sb + q2,
                }
            }
        }
    }
}

/// ln(1 − e⁻ˣ) for x > 0.
pub(crate) fn log_one_minus(x: f64) -> f64 {
    if x > std::f64::consts::LN_2 { (-(-x).exp()).ln_1p() } else { (-(-x).exp_m1()).ln() }
}

/// x / (eˣ − 1), 1 at 0.
fn ratio(x: f64) -> f64 {
    if x < 1e-300 { 1.0 } else { x / x.exp_m1() }
}

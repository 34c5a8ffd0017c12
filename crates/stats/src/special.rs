//! The few distribution functions that intervals and tests need. Tails and beta quantiles are good
//! to about 1e-11, normal quantiles to 1e-12.

/// Standard normal quantile: the `z` below which a share `p` lies (p strictly between 0 and 1).
pub fn normal_quantile(p: f64) -> f64 {
    // Φ(z) = erfc(−z/√2)/2
    -std::f64::consts::SQRT_2 * puruspe::inverfc(2.0 * p)
}

/// Standard normal distribution function: the share below `z`.
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z / std::f64::consts::SQRT_2)
}

/// Half-width factor of a two-sided interval with the given confidence (strictly between 0 and 1).
pub fn two_sided(confidence: f64) -> f64 {
    normal_quantile(0.5 + 0.5 * confidence)
}

/// Probability that a chi-square variable with `df` degrees of freedom exceeds `x`.
pub fn chi_square_tail(x: f64, df: u32) -> f64 {
    if x <= 0.0 { 1.0 } else { puruspe::gammq(0.5 * f64::from(df), 0.5 * x) }
}

/// Distribution function of the beta distribution Beta(a, b) at `x` (a and b positive), by the
/// continued fraction of the incomplete beta function in Lentz's way, on whichever side of
/// (a + 1)/(a + b + 2) it converges quickly. (The library changes sides at another place, where
/// a few hundred successes make it wrong in the first digit.)
pub fn beta_cdf(x: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - beta_cdf_below(1.0 - x, b, a);
    }
    beta_cdf_below(x, a, b)
}

fn beta_cdf_below(x: f64, a: f64, b: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let log = puruspe::ln_gamma(a + b) - puruspe::ln_gamma(a) - puruspe::ln_gamma(b)
        + a * x.ln()
        + b * (-x).ln_1p();
    let held = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / held(1.0 - (a + b) * x / (a + 1.0));
    let mut h = d;
    for m in 1..5000 {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / held(1.0 + even * d);
        c = held(1.0 + even / c);
        h *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / held(1.0 + odd * d);
        c = held(1.0 + odd / c);
        h *= d * c;
        if (d * c - 1.0).abs() < 1e-15 {
            break;
        }
    }
    log.exp() * h / a
}

/// Quantile of the beta distribution Beta(a, b) (p strictly between 0 and 1, a and b positive).
pub fn beta_quantile(p: f64, a: f64, b: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..1100 {
        let x: f64 = 0.5 * (low + high);
        if beta_cdf(x, a, b) < p {
            low = x;
        } else {
            high = x;
        }
        if high - low <= f64::EPSILON * high {
            break;
        }
    }
    0.5 * (low + high)
}

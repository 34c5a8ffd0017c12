//! Tails of the distributions that the test of two colours needs.

/// P(F > x) for an F with these degrees of freedom, by the incomplete beta function.
pub(crate) fn f_tail(x: f64, numerator: f64, denominator: f64) -> f64 {
    if x <= 0.0 {
        return 1.0;
    }
    beta_share(denominator / (denominator + numerator * x), denominator / 2.0, numerator / 2.0)
}

/// P(χ² > x) with three degrees of freedom, from the lower incomplete gamma function of 3/2.
pub(crate) fn chi_square_3_tail(x: f64) -> f64 {
    if x <= 0.0 {
        return 1.0;
    }
    let (a, x) = (1.5, x / 2.0);
    let front = (a * x.ln() - x - ln_gamma(a)).exp();
    if x < a + 1.0 {
        // Power series of the lower part.
        let (mut term, mut sum, mut n) = (1.0 / a, 1.0 / a, a);
        while term > sum * f64::EPSILON {
            n += 1.0;
            term *= x / n;
            sum += term;
        }
        return 1.0 - front * sum;
    }
    // Continued fraction of the upper part (Abramowitz & Stegun 6.5.31), by Lentz's method.
    let mut b = x + 1.0 - a;
    let (mut c, mut d) = (1.0 / TINY, 1.0 / b);
    let mut h = d;
    for i in 1..500 {
        let i = f64::from(i);
        let an = -i * (i - a);
        b += 2.0;
        d = 1.0 / away_from_zero(an * d + b);
        c = away_from_zero(b + an / c);
        h *= d * c;
        if (d * c - 1.0).abs() < f64::EPSILON {
            break;
        }
    }
    front * h
}

const TINY: f64 = 1e-300;

fn away_from_zero(v: f64) -> f64 {
    if v.abs() < TINY { TINY } else { v }
}

/// I_x(a, b), the regularised incomplete beta function.
fn beta_share(x: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 || x >= 1.0 {
        return x.clamp(0.0, 1.0);
    }
    // The fraction converges fast only on this side; the other is its mirror.
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - beta_share(1.0 - x, b, a);
    }
    let front = ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b) + a * x.ln() + b * (-x).ln_1p();
    front.exp() * beta_fraction(x, a, b) / a
}

/// The continued fraction of the incomplete beta function (Abramowitz & Stegun 26.5.8).
fn beta_fraction(x: f64, a: f64, b: f64) -> f64 {
    let mut c = 1.0;
    let mut d = 1.0 / away_from_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut h = d;
    for m in 1..500 {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / away_from_zero(1.0 + even * d);
        c = away_from_zero(1.0 + even / c);
        h *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / away_from_zero(1.0 + odd * d);
        c = away_from_zero(1.0 + odd / c);
        h *= d * c;
        if (d * c - 1.0).abs() < 4.0 * f64::EPSILON {
            break;
        }
    }
    h
}

/// ln Γ(x) for x > 0: Stirling's series after lifting x above 10.
fn ln_gamma(x: f64) -> f64 {
    let mut lifted = x;
    let mut product = 1.0;
    while lifted < 10.0 {
        product *= lifted;
        lifted += 1.0;
    }
    let square = 1.0 / (lifted * lifted);
    let series = (1.0 / 12.0
        - square
            * (1.0 / 360.0 - square * (1.0 / 1260.0 - square * (1.0 / 1680.0 - square / 1188.0))))
        / lifted;
    (lifted - 0.5) * lifted.ln() - lifted + 0.5 * std::f64::consts::TAU.ln() + series - product.ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected values by scipy 1.17.1 (`stats.f.sf`, `stats.chi2.sf`).
    #[test]
    fn tails_agree_with_scipy() {
        for (x, a, b, expected) in F_TAILS {
            let actual = f_tail(x, a, b);
            assert!((actual - expected).abs() < 1e-12 + 1e-10 * expected, "{x} {a} {b}: {actual}");
        }
        for (x, expected) in CHI_TAILS {
            let actual = chi_square_3_tail(x);
            assert!((actual - expected).abs() < 1e-12 + 1e-10 * expected, "{x}: {actual}");
        }
    }

    const F_TAILS: [(f64, f64, f64, f64); 20] = [
        (0.1, 3.0, 1.0, 0.9492181337135063),
        (0.9, 3.0, 1.0, 0.6307655909477015),
        (2.904, 3.0, 1.0, 0.4014362026068528),
        (25.0, 3.0, 1.0, 0.145729670753721),
        (0.1, 3.0, 2.0, 0.952892492270786),
        (0.9, 3.0, 2.0, 0.5645895386826296),
        (2.904, 3.0, 2.0, 0.26654925487966397),
        (25.0, 3.0, 2.0, 0.038706939182155696),
        (0.1, 3.0, 7.5, 0.9576258450669402),
        (0.9, 3.0, 7.5, 0.48476546568866363),
        (2.904, 3.0, 7.5, 0.10580390521537113),
        (25.0, 3.0, 7.5, 0.00028706756069575015),
        (0.1, 3.0, 17.0, 0.9589132858157436),
        (0.9, 3.0, 17.0, 0.46154751352064427),
        (2.904, 3.0, 17.0, 0.06496046953583706),
        (25.0, 3.0, 17.0, 1.832136391187761e-06),
        (0.1, 3.0, 60.0, 0.9597031536035953),
        (0.9, 3.0, 60.0, 0.44658794773835986),
        (2.904, 3.0, 60.0, 0.042029296440843036),
        (25.0, 3.0, 60.0, 1.284618494866295e-10),
    ];

    const CHI_TAILS: [(f64, f64); 5] = [
        (0.05, 0.9970706672353801),
        (1.0, 0.8012519569012009),
        (4.9, 0.17926780368434939),
        (7.814727903251179, 0.04999999999999998),
        (60.0, 5.878230727906921e-13),
    ];
}

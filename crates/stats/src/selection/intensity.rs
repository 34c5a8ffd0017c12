//! How far the mean of the best few lies above the mean of all, in standard deviations.

use super::SelectionError;
use crate::special::{normal_cdf, normal_quantile};

/// Selection intensity of the best `selected` of `of`: the expected mean of the highest order
/// statistics of a normal sample \[standard deviations, 0 when all are kept\].
///
/// With k of n and Y the (n − k)-th smallest of n − 1 standard normals, i = (n/k)·E φ(Y): the sum
/// of the k densities of order statistics is one binomial tail, integrated by parts. The
/// expectation is by the trapezoidal rule, which converges faster than any power of the step for
/// such an integrand; it is refined until it stands to 1e-13.
///
/// # Errors
/// None selected, or more than there are.
pub fn intensity(selected: u64, of: u64) -> Result<f64, SelectionError> {
    if selected == 0 || selected > of {
        return Err(SelectionError::Selected { selected, of });
    }
    if selected == of {
        return Ok(0.0);
    }
    let (k, n) = (selected as f64, of as f64);
    // log of the density of Y, but for a constant that cancels.
    let log = |x: f64| (n - k - 1.0) * ln_cdf(x) + (k - 1.0) * ln_cdf(-x) - 0.5 * x * x;
    let middle = top(&log);
    let height = log(middle);
    // exp(−45) is below the last digit of the sum.
    let reach = |sign: f64| {
        let mut far = 1e-9;
        while log(middle + sign * far) > height - 45.0 {
            far *= 2.0;
        }
        middle + sign * far
    };
    let (low, high) = (reach(-1.0), reach(1.0));
    let expectation = |steps: usize| {
        let h = (high - low) / steps as f64;
        let (mut above, mut below) = (0.0, 0.0);
        for j in 0..=steps {
            let x = low + h * j as f64;
            let f = (log(x) - height).exp();
            above += f * density(x);
            below += f;
        }
        above / below
    };
    let mut steps = 64;
    let mut last = expectation(steps);
    while steps < 1 << 14 {
        steps *= 2;
        let next = expectation(steps);
        let done = (next - last).abs() <= 1e-14 * next;
        last = next;
        if done {
            break;
        }
    }
    Ok(n / k * last)
}

/// Selection intensity where a share of very many is selected: φ(x)/p, x the limit above which the
/// share lies \[standard deviations\].
///
/// # Errors
/// A share that is not above 0 and at most 1.
pub fn intensity_of_share(share: f64) -> Result<f64, SelectionError> {
    if !(share > 0.0 && share <= 1.0) {
        return Err(SelectionError::Share { value: share });
    }
    if share == 1.0 {
        return Ok(0.0);
    }
    Ok(density(normal_quantile(share)) / share)
}

fn density(x: f64) -> f64 {
    (-0.5 * x * x).exp() / (2.0 * std::f64::consts::PI).sqrt()
}

/// log Φ(x). Far out Φ underflows; there the expansion of Mills' ratio serves.
fn ln_cdf(x: f64) -> f64 {
    if x > 0.0 {
        // Near 1 the rest is what counts.
        return (-normal_cdf(-x)).ln_1p();
    }
    if x > -30.0 {
        return normal_cdf(x).ln();
    }
    let s = 1.0 / (x * x);
    let series = 1.0 - s * (1.0 - 3.0 * s * (1.0 - 5.0 * s * (1.0 - 7.0 * s)));
    -0.5 * x * x - (-x).ln() - 0.5 * (2.0 * std::f64::consts::PI).ln() + series.ln()
}

/// Where a log-concave function is highest, by thirds.
fn top(f: &dyn Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (-40.0, 40.0);
    while high - low > 1e-9 {
        let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if f(a) < f(b) {
            low = a;
        } else {
            high = b;
        }
    }
    0.5 * (low + high)
}

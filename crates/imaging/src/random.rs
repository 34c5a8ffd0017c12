//! Random numbers that are the same every time.

/// A generator with 64 bits of state (SplitMix64: Steele, Lea & Flood 2014, doi:10.1145/2660193.2660195),
/// enough for some thousand draws.
pub(crate) struct Random {
    state: u64,
}

impl Random {
    pub(crate) fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Uniform, above 0 and below 1.
    pub(crate) fn uniform(&mut self) -> f64 {
        // 53 bits, and half a step so that neither end is reached.
        ((self.next() >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    /// Normal with mean 0 and variance 1 (Box and Muller, one of the pair).
    pub(crate) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * self.uniform().ln()).sqrt();
        radius * (std::f64::consts::TAU * self.uniform()).cos()
    }

    /// χ² with these degrees of freedom, by Wilson and Hilferty's cube (1931); within 1 % in the tails
    /// from 3 degrees on.
    pub(crate) fn chi_square(&mut self, degrees: f64) -> f64 {
        let spread = 2.0 / (9.0 * degrees);
        let cube = 1.0 - spread + self.normal() * spread.sqrt();
        degrees * cube.max(1e-3).powi(3)
    }

    /// Three of them.
    pub(crate) fn normals(&mut self) -> [f64; 3] {
        [self.normal(), self.normal(), self.normal()]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normals_have_mean_zero_and_variance_one() {
        let mut random = Random::new(1);
        let n = 100_000;
        let (mut sum, mut squares) = (0.0, 0.0);
        for _ in 0..n {
            let v = random.normal();
            sum += v;
            squares += v * v;
        }
        let n = f64::from(n);
        // Four standard errors: sqrt(1/n) of the mean, sqrt(2/n) of the variance.
        assert!((sum / n).abs() < 4.0 / n.sqrt());
        assert!((squares / n - 1.0).abs() < 4.0 * (2.0 / n).sqrt());
    }
}

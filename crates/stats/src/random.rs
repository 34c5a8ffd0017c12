//! A small seeded generator of pseudo-random numbers for resampling: the same seed gives the same
//! answer on every machine.

/// SplitMix64 (Steele, Lea & Flood 2014, "Fast splittable pseudorandom number generators";
/// constants from memory, checked in the tests against published first outputs).
#[derive(Debug, Clone)]
pub struct Random(u64);

impl Random {
    /// A generator that is fully determined by `seed`.
    pub fn new(seed: u64) -> Self {
        Random(seed)
    }

    /// The next 64 random bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number in [0, 1), with 53 random bits.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// A whole number in 0..n \[n ≥ 1\].
    pub fn below(&mut self, n: usize) -> usize {
        // The product keeps the high bits; the bias is below n/2⁶⁴.
        ((u128::from(self.bits()) * n as u128) >> 64) as usize
    }
}

impl Random {
    /// A standard normal number (Marsaglia & Bray's polar method; from memory).
    pub fn normal(&mut self) -> f64 {
        loop {
            let (u, v) = (2.0 * self.unit() - 1.0, 2.0 * self.unit() - 1.0);
            let s = u * u + v * v;
            if s > 0.0 && s < 1.0 {
                return u * (-2.0 * s.ln() / s).sqrt();
            }
        }
    }

    /// A number from the gamma distribution of this shape \[above 0\] and scale 1
    /// (Marsaglia & Tsang 2000, ACM Trans. Math. Softw. 26:363–372; from memory).
    pub fn gamma(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            // 1 − unit() is above 0, so its logarithm is finite.
            return self.gamma(shape + 1.0) * (1.0 - self.unit()).powf(1.0 / shape);
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.normal();
            let v = (1.0 + c * x).powi(3);
            if v > 0.0 && (1.0 - self.unit()).ln() < 0.5 * x * x + d - d * v + d * v.ln() {
                return d * v;
            }
        }
    }

    /// A number from the beta distribution \[both parameters above 0\].
    pub fn beta(&mut self, alpha: f64, beta: f64) -> f64 {
        let (a, b) = (self.gamma(alpha), self.gamma(beta));
        // Both can only vanish for parameters near 0, where the distribution sits at its ends.
        if a + b > 0.0 {
            a / (a + b)
        } else {
            f64::from(u8::from(self.unit() * (alpha + beta) < alpha))
        }
    }

    /// How many of `n` succeed when each does with probability `p` \[0 to 1\].
    ///
    /// Splits at the middle order statistic, which is beta-distributed, until few are left, and
    /// counts those (Devroye 1986, "Non-Uniform Random Variate Generation", chapter X; from memory).
    pub fn binomial(&mut self, n: u64, p: f64) -> u64 {
        let (mut n, mut p, mut found) = (n, p, 0);
        while n > 32 && p > 0.0 && p < 1.0 {
            let i = n / 2 + 1;
            let middle = self.beta(i as f64, (n + 1 - i) as f64);
            if middle <= p {
                found += i;
                n -= i;
                p = (p - middle) / (1.0 - middle);
            } else {
                n = i - 1;
                p /= middle;
            }
        }
        found + (0..n).filter(|_| self.unit() < p).count() as u64
    }
}

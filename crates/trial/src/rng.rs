//! A small generator of pseudo-random numbers, so that the same seed gives the same collection
//! on every machine and with every version of every library.

/// splitmix64 (Steele, Lea & Flood 2014): one 64-bit word of state, period 2⁶⁴.
#[derive(Debug, Clone)]
pub(crate) struct Rng(u64);

impl Rng {
    #[cfg(test)]
    pub(crate) const fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// A stream of its own for one thing, so that adding an entry here does not change all that
    /// comes after it there. The label is mixed in by FNV-1a.
    pub(crate) fn stream(seed: u64, label: &str) -> Self {
        let hash = label.bytes().fold(0xCBF2_9CE4_8422_2325_u64 ^ seed, |h, b| {
            (h ^ u64::from(b)).wrapping_mul(0x0000_0100_0000_01B3)
        });
        let mut rng = Self(hash);
        rng.next();
        rng
    }

    pub(crate) const fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Uniform in the open interval from 0 to 1.
    pub(crate) fn unit(&mut self) -> f64 {
        ((self.next() >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    pub(crate) fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }

    /// A whole number from `low` to `high`, both included.
    pub(crate) fn range(&mut self, low: i32, high: i32) -> i32 {
        let span = (high - low + 1).max(1);
        low + (self.unit() * f64::from(span)) as i32
    }

    /// Uniform from `low` to `high`.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + self.unit() * (high - low)
    }

    /// Standard normal (Box & Muller 1958).
    pub(crate) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * self.unit().ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }

    /// Log-normal with this median and this standard deviation of the logarithm.
    pub(crate) fn log_normal(&mut self, median: f64, sigma: f64) -> f64 {
        median * (sigma * self.normal()).exp()
    }

    /// Weibull with this median and shape.
    pub(crate) fn weibull(&mut self, median: f64, shape: f64) -> f64 {
        let scale = median / std::f64::consts::LN_2.powf(1.0 / shape);
        scale * (-self.unit().ln()).powf(1.0 / shape)
    }

    /// How many of `n` succeed, each with chance `p`.
    pub(crate) fn binomial(&mut self, n: u32, p: f64) -> u32 {
        (0..n).map(|_| u32::from(self.chance(p))).sum()
    }

    /// One of these; `list` must not be empty.
    pub(crate) fn pick<T: Copy>(&mut self, list: &[T]) -> T {
        let last = list.len() - 1;
        list[((self.unit() * list.len() as f64) as usize).min(last)]
    }

    pub(crate) fn shuffle<T>(&mut self, list: &mut [T]) {
        for i in (1..list.len()).rev() {
            let j = (self.next() % (i as u64 + 1)) as usize;
            list.swap(i, j);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn medians_are_what_was_asked_for() {
        let mut rng = Rng::new(5);
        for (median, mut draw) in [
            (9.0, Box::new(|r: &mut Rng| r.weibull(9.0, 5.0)) as Box<dyn FnMut(&mut Rng) -> f64>),
            (6.0, Box::new(|r: &mut Rng| r.log_normal(6.0, 0.2))),
        ] {
            let n = 20_000;
            let below = (0..n).filter(|_| draw(&mut rng) < median).count() as f64;
            // Four standard errors of a share of one half.
            let tolerance = 4.0 * (0.25 / f64::from(n)).sqrt();
            assert!((below / f64::from(n) - 0.5).abs() < tolerance, "{median}: {below} of {n}");
        }
    }

    #[test]
    fn the_first_numbers_are_those_of_the_published_generator() {
        // Reference values of splitmix64 with seed 1234567, from memory.
        let mut rng = Rng::new(1_234_567);
        assert_eq!(rng.next(), 6_457_827_717_110_365_317);
        assert_eq!(rng.next(), 3_203_168_211_198_807_973);
    }
}

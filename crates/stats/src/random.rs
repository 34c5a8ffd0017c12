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

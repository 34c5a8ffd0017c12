//! The two registers that speed is measured on, made with the numbers that numpy would draw.
//!
//! The reference values were computed from pedigrees drawn with numpy's `default_rng(20240611)`;
//! drawing the same here spares a file of 26 MB. The generator is PCG64 (O'Neill 2014) seeded by
//! numpy's SeedSequence, bounded numbers are by Lemire 2019 on 32 bits; all from memory, and proved
//! right by the reference values that come out.

/// numpy's PCG64.
pub struct Dice {
    state: u128,
    step: u128,
    /// The other half of a number of 64 bits of which one half was used.
    half: Option<u32>,
}

fn shifted(x: u32) -> u32 {
    x ^ (x >> 16)
}

impl Dice {
    pub fn new(seed: u32) -> Self {
        let mut constant = 0x43b0_d7e5u32;
        let mut hashed = |value: u32| {
            let value = value ^ constant;
            constant = constant.wrapping_mul(0x931e_8875);
            shifted(value.wrapping_mul(constant))
        };
        let mut pool = [seed, 0, 0, 0].map(&mut hashed);
        for from in 0..4 {
            for to in (0..4).filter(|&to| to != from) {
                let y = hashed(pool[from]).wrapping_mul(0x4973_f715);
                pool[to] = shifted(pool[to].wrapping_mul(0xca01_f9dd).wrapping_sub(y));
            }
        }
        let mut constant = 0x8b51_f9ddu32;
        let words: Vec<u64> = (0..8)
            .map(|i| {
                let value = pool[i % 4] ^ constant;
                constant = constant.wrapping_mul(0x58f3_8ded);
                u64::from(shifted(value.wrapping_mul(constant)))
            })
            .collect();
        let long = |i: usize| u128::from(words[2 * i] | words[2 * i + 1] << 32);
        let step = (long(2) << 64 | long(3)) << 1 | 1;
        let mut dice = Dice { state: 0, step, half: None };
        dice.advance();
        dice.state = dice.state.wrapping_add(long(0) << 64 | long(1));
        dice.advance();
        dice
    }

    fn advance(&mut self) {
        let by = 0x2360_ed05_1fc6_5da4_4385_df64_9fcc_f645u128;
        self.state = self.state.wrapping_mul(by).wrapping_add(self.step);
    }

    fn next64(&mut self) -> u64 {
        self.advance();
        ((self.state >> 64) as u64 ^ self.state as u64).rotate_right((self.state >> 122) as u32)
    }

    fn next32(&mut self) -> u32 {
        if let Some(half) = self.half.take() {
            return half;
        }
        let both = self.next64();
        self.half = Some((both >> 32) as u32);
        both as u32
    }

    /// `count` whole numbers from `low` to below `high`.
    pub fn integers(&mut self, low: u32, high: u32, count: usize) -> Vec<u32> {
        let range = high - low;
        let threshold = range.wrapping_neg() % range;
        let mut one = || loop {
            let wide = u64::from(self.next32()) * u64::from(range);
            if wide as u32 >= threshold {
                return low + (wide >> 32) as u32;
            }
        };
        (0..count).map(|_| one()).collect()
    }

    /// `count` numbers from 0 to below 1.
    pub fn random(&mut self, count: usize) -> Vec<f64> {
        (0..count).map(|_| (self.next64() >> 11) as f64 / (1u64 << 53) as f64).collect()
    }
}

/// What kind of register.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A season has 120 seed parents and 60 pollen parents, chosen among the last three seasons.
    Nursery,
    /// Parents are any plants of the last three seasons.
    Broad,
}

/// Seed and pollen parent of `n` plants: 500 founders, 40 seasons, of the seedlings 6 % selfed, 5 %
/// of unknown pollen, 4 % crossed back to a founder.
pub fn register(n: u32, kind: Kind) -> Vec<[Option<u32>; 2]> {
    let mut dice = Dice::new(20_240_611);
    let (founders, seasons) = (500, 40);
    let step = f64::from(n - founders) / f64::from(seasons);
    let edge = |season: u32| match season {
        s if s == seasons => n,
        s => (f64::from(s) * step + f64::from(founders)) as u32,
    };
    let mut rows = vec![[None; 2]; founders as usize];
    for season in 0..seasons {
        let (from, to) = (edge(season), edge(season + 1));
        let many = (to - from) as usize;
        let (low, high) = match season {
            0 => (0, founders),
            s => (edge(s.saturating_sub(3)), from),
        };
        let (seed, pollen) = (dice.integers(low, high, 120), dice.integers(low, high, 60));
        let (seed, pollen): (Vec<u32>, Vec<u32>) = match kind {
            Kind::Nursery => {
                let s = dice.integers(0, 120, many);
                let p = dice.integers(0, 60, many);
                (
                    s.into_iter().map(|i| seed[i as usize]).collect(),
                    p.into_iter().map(|i| pollen[i as usize]).collect(),
                )
            }
            Kind::Broad => {
                let s = dice.integers(low, high, many);
                (s, dice.integers(low, high, many))
            }
        };
        let (chance, founder) = (dice.random(many), dice.integers(0, founders, many));
        for i in 0..many {
            let other = match chance[i] {
                u if u < 0.06 => Some(seed[i]),
                u if u < 0.11 => None,
                u if u < 0.15 => Some(founder[i]),
                _ => Some(pollen[i]),
            };
            rows.push([Some(seed[i]), other]);
        }
    }
    rows
}

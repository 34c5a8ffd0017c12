//! Shares as exact fractions.

use std::{fmt, str::FromStr};

use serde::{Serialize, Serializer};

use super::GeneticsError;

/// A fraction of 0 or more, in lowest terms. Operations give nothing when a number would not fit
/// 128 bits; they never round.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Fraction {
    above: u128,
    below: u128,
}

impl Fraction {
    /// Nothing.
    pub const ZERO: Self = Self { above: 0, below: 1 };
    /// The whole.
    pub const ONE: Self = Self { above: 1, below: 1 };

    /// `above`/`below`; nothing for a denominator of 0.
    pub fn new(above: u128, below: u128) -> Option<Self> {
        if below == 0 {
            return None;
        }
        let common = common_divisor(above, below);
        Some(Self { above: above / common, below: below / common })
    }

    /// The sum.
    pub fn plus(self, other: Self) -> Option<Self> {
        let common = common_divisor(self.below, other.below);
        let left = self.above.checked_mul(other.below / common)?;
        let right = other.above.checked_mul(self.below / common)?;
        let below = self.below.checked_mul(other.below / common)?;
        Self::new(left.checked_add(right)?, below)
    }

    /// The product.
    pub fn times(self, other: Self) -> Option<Self> {
        let (a, b) =
            (common_divisor(self.above, other.below), common_divisor(other.above, self.below));
        let above = (self.above / a).checked_mul(other.above / b)?;
        let below = (self.below / b).checked_mul(other.below / a)?;
        Self::new(above, below)
    }

    /// What is missing to the whole; nothing for more than 1.
    pub fn rest(self) -> Option<Self> {
        Self::new(self.below.checked_sub(self.above)?, self.below)
    }

    /// The nearest number.
    pub fn value(self) -> f64 {
        self.above as f64 / self.below as f64
    }

    /// Whether it is 0.
    pub fn is_zero(self) -> bool {
        self.above == 0
    }

    /// Whether it is above `other`; nothing when the numbers grow too large.
    pub fn exceeds(self, other: Self) -> Option<bool> {
        Some(self.above.checked_mul(other.below)? > other.above.checked_mul(self.below)?)
    }

    /// This share against the rest, as `35:1`; nothing for more than 1.
    pub fn against_rest(self) -> Option<String> {
        let rest = self.rest()?;
        Some(format!("{}:{}", self.above, rest.above))
    }
}

/// The greatest common divisor (Euclid); 1 for two zeros.
fn common_divisor(a: u128, b: u128) -> u128 {
    let (mut a, mut b) = (a, b);
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a.max(1)
}

impl fmt::Display for Fraction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.below == 1 {
            write!(f, "{}", self.above)
        } else {
            write!(f, "{}/{}", self.above, self.below)
        }
    }
}

impl Serialize for Fraction {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl FromStr for Fraction {
    type Err = GeneticsError;

    /// Reads `1/6`, `0` or a decimal. A decimal of twelve digits or more that lies within 10⁻¹² of
    /// a fraction with a denominator up to 1,000 is that fraction: 0.16666666666666666 is 1/6.
    fn from_str(typed: &str) -> Result<Self, GeneticsError> {
        let refuse = || GeneticsError::Fraction(typed.to_owned());
        let whole = |text: &str| text.trim().parse::<u128>().ok();
        if let Some((above, below)) = typed.split_once('/') {
            return whole(above)
                .zip(whole(below))
                .and_then(|(a, b)| Self::new(a, b))
                .ok_or_else(refuse);
        }
        let (before, after) = typed.trim().split_once('.').unwrap_or((typed.trim(), ""));
        let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
        if !digits(before) || !digits(after) || (before.is_empty() && after.is_empty()) {
            return Err(refuse());
        }
        if after.len() >= 12 {
            let value: f64 = typed.trim().parse().map_err(|_| refuse())?;
            let near = (1..=1000_u32).find_map(|below| {
                let above = (value * f64::from(below)).round();
                let close = (above / f64::from(below) - value).abs() <= 1e-12;
                close.then(|| Self::new(above as u128, u128::from(below))).flatten()
            });
            if let Some(found) = near {
                return Ok(found);
            }
        }
        let below = 10_u128.checked_pow(after.len() as u32).ok_or(GeneticsError::TooLong)?;
        let number = format!("{before}{after}").parse::<u128>().map_err(|_| refuse())?;
        Self::new(number, below).ok_or_else(refuse)
    }
}

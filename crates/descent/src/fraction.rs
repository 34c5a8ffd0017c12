//! Exact shares.

use std::cmp::Ordering;
use std::fmt;

use serde::{Serialize, Serializer};

/// An exact fraction from 0 to 1 in lowest terms, with a denominator up to 2³⁰.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Fraction {
    num: u32,
    den: u32,
}

impl Fraction {
    /// The whole.
    pub const ONE: Fraction = Fraction { num: 1, den: 1 };
    const MOST: u32 = 1 << 30;

    /// `num` parts of `den`, unless that is over 1, or the denominator in lowest terms is over 2³⁰.
    pub fn new(num: u128, den: u128) -> Option<Self> {
        if den == 0 || num > den {
            return None;
        }
        let common = gcd(num, den);
        let den = u32::try_from(den / common).ok().filter(|d| *d <= Self::MOST)?;
        Some(Fraction { num: u32::try_from(num / common).ok()?, den })
    }

    /// `value` as a fraction, if it is exactly one whose denominator is a power of two up to 2³⁰
    /// \[0 to 1\].
    pub fn exactly(value: f64) -> Option<Self> {
        let scaled = value * f64::from(Self::MOST);
        if !(0.0..=f64::from(Self::MOST)).contains(&scaled) || scaled.fract() != 0.0 {
            return None;
        }
        Self::new(scaled as u128, u128::from(Self::MOST))
    }

    /// 1/2ⁿ, for a parent (1), grandparent (2) and so on up to 30 generations.
    pub fn of_generation(n: u8) -> Option<Self> {
        (n <= 30).then(|| Fraction { num: 1, den: 1 << n })
    }

    /// Numerator.
    pub fn num(self) -> u32 {
        self.num
    }

    /// Denominator; for diploids a power of two.
    pub fn den(self) -> u32 {
        self.den
    }

    /// The sum, unless it is over 1 or cannot be written. Used to add up founders that are one
    /// species.
    pub fn plus(self, other: Self) -> Option<Self> {
        let [a, b, c, d] = [self.num, self.den, other.num, other.den].map(u128::from);
        Self::new(a * d + c * b, b * d)
    }

    /// The product, unless it cannot be written.
    pub fn times(self, other: Self) -> Option<Self> {
        let [a, b, c, d] = [self.num, self.den, other.num, other.den].map(u128::from);
        Self::new(a * c, b * d)
    }

    /// As a decimal number.
    pub fn value(self) -> f64 {
        f64::from(self.num) / f64::from(self.den)
    }
}

fn gcd(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

/// A sum of products of shares while it is being added up; nothing once it does not fit.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sum(Option<(u128, u128)>);

impl Sum {
    pub const NOTHING: Sum = Sum(Some((0, 1)));
    pub const ALL: Sum = Sum(Some((1, 1)));

    pub fn times(self, num: u8, den: u8) -> Self {
        Sum(self.0.and_then(|(n, d)| {
            lowest(n.checked_mul(u128::from(num))?, d.checked_mul(u128::from(den))?)
        }))
    }

    pub fn plus(self, other: Self) -> Self {
        Sum(self.0.zip(other.0).and_then(|((a, b), (c, d))| {
            let num = a.checked_mul(d)?.checked_add(c.checked_mul(b)?)?;
            lowest(num, b.checked_mul(d)?)
        }))
    }

    pub fn fraction(self) -> Option<Fraction> {
        self.0.and_then(|(n, d)| Fraction::new(n, d))
    }
}

fn lowest(num: u128, den: u128) -> Option<(u128, u128)> {
    let common = gcd(num, den).max(1);
    Some((num / common, den / common))
}

impl PartialOrd for Fraction {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Fraction {
    fn cmp(&self, other: &Self) -> Ordering {
        let left = u64::from(self.num) * u64::from(other.den);
        left.cmp(&(u64::from(other.num) * u64::from(self.den)))
    }
}

impl fmt::Display for Fraction {
    /// "3/8"; "1" and "0" without a denominator.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.den == 1 {
            write!(f, "{}", self.num)
        } else {
            write!(f, "{}/{}", self.num, self.den)
        }
    }
}

impl Serialize for Fraction {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

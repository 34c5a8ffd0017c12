//! Gametes and offspring of plants with several like chromosome sets.

use super::{Fraction, GeneticsError};

/// The largest ploidy.
pub const LARGEST_PLOIDY: u32 = 16;

const NAMES: [&str; 9] = [
    "nulliplex",
    "simplex",
    "duplex",
    "triplex",
    "quadruplex",
    "quintuplex",
    "sextuplex",
    "septuplex",
    "octuplex",
];

/// The name of so many copies of the dominant allele; beyond eight the number.
pub fn dosage_name(copies: u32) -> String {
    NAMES.get(copies as usize).map_or_else(|| copies.to_string(), |n| (*n).to_owned())
}

/// Reads a dosage: a name, or a number of copies.
///
/// # Errors
/// A word that is neither.
pub fn read_dosage(typed: &str) -> Result<u32, GeneticsError> {
    let word = typed.trim().to_lowercase();
    let named = NAMES.iter().zip(0..).find(|(name, _)| **name == word).map(|(_, copies)| copies);
    named.or_else(|| word.parse().ok()).ok_or_else(|| GeneticsError::DosageName(typed.to_owned()))
}

/// The share of gametes with 0, 1, … copies, up to half the ploidy; they add up to 1.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gametes {
    /// Share by number of copies.
    pub shares: Vec<Fraction>,
}

/// The largest double reduction at this ploidy: 1/6 in tetraploids (complete equational
/// segregation; Mather 1936, from memory), 0 in diploids; elsewhere not known here.
pub fn most_double_reduction(ploidy: u32) -> Fraction {
    if ploidy == 4 { Fraction::new(1, 6).unwrap_or(Fraction::ZERO) } else { Fraction::ZERO }
}

/// Gametes of a plant with `copies` of the dominant allele on `ploidy` like chromosomes that pair
/// at random.
///
/// Without double reduction half of the chromosomes are drawn without putting back (Haldane 1930,
/// from memory). `alpha` is the share of a tetraploid's gametes whose two alleles are copies of one
/// and the same: 0 for a locus near the centromere, 1/7 for random chromatids, at most 1/6. A
/// diploid parent knows no double reduction, whatever `alpha` is.
///
/// # Errors
/// A ploidy that is odd, 0 or above [`LARGEST_PLOIDY`], more copies than chromosomes, or a double
/// reduction that is not possible or not known at this ploidy.
pub fn gametes(ploidy: u32, copies: u32, alpha: Fraction) -> Result<Gametes, GeneticsError> {
    if ploidy == 0 || !ploidy.is_multiple_of(2) || ploidy > LARGEST_PLOIDY {
        return Err(GeneticsError::Ploidy(ploidy));
    }
    if copies > ploidy {
        return Err(GeneticsError::Dosage { dosage: copies, ploidy });
    }
    let alpha = if ploidy == 2 { Fraction::ZERO } else { alpha };
    if ploidy > 4 && !alpha.is_zero() {
        return Err(GeneticsError::DoubleReductionAt(ploidy));
    }
    if alpha.exceeds(most_double_reduction(ploidy)).ok_or(GeneticsError::TooLong)? {
        return Err(GeneticsError::DoubleReduction { alpha: alpha.value() });
    }
    let half = ploidy / 2;
    let all = choose(ploidy, half);
    let one = |k: u32| {
        let ways = choose(copies, k) * choose(ploidy - copies, half - k);
        let apart = alpha.rest()?.times(Fraction::new(ways, all)?)?;
        // Both alleles from one: either both are the dominant one or none is.
        let twice = match k {
            0 => Fraction::new(u128::from(ploidy - copies), u128::from(ploidy))?,
            k if k == half => Fraction::new(u128::from(copies), u128::from(ploidy))?,
            _ => Fraction::ZERO,
        };
        apart.plus(alpha.times(twice)?)
    };
    let shares = (0..=half).map(one).collect::<Option<_>>().ok_or(GeneticsError::TooLong)?;
    Ok(Gametes { shares })
}

/// Ways to choose k of n.
fn choose(n: u32, k: u32) -> u128 {
    if k > n {
        return 0;
    }
    (0..u128::from(k)).fold(1, |ways, i| ways * (u128::from(n) - i) / (i + 1))
}

/// The seedlings of a cross at one locus.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offspring {
    /// Share by number of copies, 0 up to the seedlings' ploidy; they add up to 1.
    pub shares: Vec<Fraction>,
    /// Share with at least one copy: those that show a fully dominant trait.
    pub dominant: Fraction,
    /// Share without a copy.
    pub recessive: Fraction,
}

impl Offspring {
    /// Seedlings of two sorts of gametes.
    ///
    /// # Errors
    /// Fractions that grow too large.
    pub fn of(seed: &Gametes, pollen: &Gametes) -> Result<Self, GeneticsError> {
        let most = seed.shares.len() + pollen.shares.len() - 2;
        let share = |copies: usize| {
            let mut ways = seed.shares.iter().enumerate().filter_map(|(k, one)| {
                copies.checked_sub(k).and_then(|rest| pollen.shares.get(rest)).map(|two| (one, two))
            });
            ways.try_fold(Fraction::ZERO, |sum, (a, b)| sum.plus(a.times(*b)?))
        };
        let shares: Vec<Fraction> =
            (0..=most).map(share).collect::<Option<_>>().ok_or(GeneticsError::TooLong)?;
        let recessive = shares[0];
        let dominant = recessive.rest().ok_or(GeneticsError::TooLong)?;
        Ok(Self { shares, dominant, recessive })
    }
}

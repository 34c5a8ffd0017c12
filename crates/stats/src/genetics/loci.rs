//! Shares of genotypes over several independent loci.

use super::{Fraction, GeneticsError, Offspring, gametes};

/// One locus of a genotype.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Locus {
    /// Its letter, in lower case.
    letter: char,
    /// Capitals: copies of the dominant allele.
    capitals: u32,
    /// Letters and places left open.
    length: u32,
    /// Places left open (`_`), of a wanted genotype only.
    open: u32,
}

/// A parent: loci as runs of one letter, `AaBb`, with as many letters as chromosome sets.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plant {
    typed: String,
    loci: Vec<Locus>,
}

/// What is wanted among the seedlings: `aabb`, or with places left open, `A_bb` (at least one A).
/// A locus that is not named may be anything.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wanted {
    typed: String,
    loci: Vec<Locus>,
}

/// The share of the wanted among the seedlings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LocusShare {
    /// Exactly, as long as the numbers fit 128 bits.
    pub share: Option<Fraction>,
    /// The same as a number \[0 to 1\].
    pub value: f64,
}

/// Reads runs of one letter.
fn read(typed: &str, open_allowed: bool) -> Result<Vec<Locus>, GeneticsError> {
    let typed = typed.trim();
    let refuse = |what: String| GeneticsError::Genotype { typed: typed.to_owned(), what };
    let mut loci: Vec<Locus> = Vec::new();
    for c in typed.chars() {
        let open = open_allowed && matches!(c, '_' | '-');
        if !c.is_ascii_alphabetic() && !open {
            return Err(refuse(format!("“{c}” is not a letter from A to Z")));
        }
        let letter = c.to_ascii_lowercase();
        match loci.last_mut() {
            Some(last) if open || last.letter == letter => {
                last.length += 1;
                last.capitals += u32::from(c.is_ascii_uppercase());
                last.open += u32::from(open);
            }
            _ if open => return Err(refuse("it begins with an open place".to_owned())),
            _ => {
                if loci.iter().any(|l| l.letter == letter) {
                    return Err(refuse(format!("the letter {letter} stands in two places")));
                }
                let capitals = u32::from(c.is_ascii_uppercase());
                loci.push(Locus { letter, capitals, length: 1, open: 0 });
            }
        }
    }
    if loci.is_empty() {
        return Err(refuse("there is no letter".to_owned()));
    }
    Ok(loci)
}

impl Plant {
    /// Reads a parent's genotype.
    ///
    /// # Errors
    /// Other signs than letters, a letter in two places, loci of different length, or a length that
    /// is no even ploidy.
    pub fn read(typed: &str) -> Result<Self, GeneticsError> {
        let loci = read(typed, false)?;
        let first = loci[0];
        if let Some(other) = loci.iter().find(|l| l.length != first.length) {
            let what = format!(
                "locus {} has {} letters and locus {} has {}",
                first.letter, first.length, other.letter, other.length
            );
            return Err(GeneticsError::Genotype { typed: typed.trim().to_owned(), what });
        }
        gametes(first.length, first.capitals, Fraction::ZERO)?;
        Ok(Self { typed: typed.trim().to_owned(), loci })
    }

    /// Chromosome sets \[even\].
    pub fn ploidy(&self) -> u32 {
        self.loci[0].length
    }

    fn locus(&self, letter: char) -> Option<&Locus> {
        self.loci.iter().find(|l| l.letter == letter)
    }
}

impl Wanted {
    /// Reads a wanted genotype.
    ///
    /// # Errors
    /// Other signs than letters, `_` and `-`, or a letter in two places.
    pub fn read(typed: &str) -> Result<Self, GeneticsError> {
        Ok(Self { typed: typed.trim().to_owned(), loci: read(typed, true)? })
    }
}

/// The share of the wanted among the seedlings of two plants, loci being independent and
/// chromosomes pairing at random, without double reduction.
///
/// # Errors
/// Loci that only one plant names, a wanted locus that no plant names, or one with another number
/// of letters than seedlings have chromosome sets.
pub fn share_of(
    seed: &Plant,
    pollen: &Plant,
    wanted: &Wanted,
) -> Result<LocusShare, GeneticsError> {
    let lacks = |letter: char, of: &str, lacking: &str| GeneticsError::Locus {
        letter,
        of: of.to_owned(),
        lacking: lacking.to_owned(),
    };
    for (one, other) in [(seed, pollen), (pollen, seed)] {
        if let Some(l) = one.loci.iter().find(|l| other.locus(l.letter).is_none()) {
            return Err(lacks(l.letter, &one.typed, &other.typed));
        }
    }
    let expected = (seed.ploidy() + pollen.ploidy()) / 2;
    let mut whole = LocusShare { share: Some(Fraction::ONE), value: 1.0 };
    for want in &wanted.loci {
        let letter = want.letter;
        let (Some(a), Some(b)) = (seed.locus(letter), pollen.locus(letter)) else {
            return Err(lacks(letter, &wanted.typed, &seed.typed));
        };
        if want.length != expected {
            let (typed, given) = (wanted.typed.clone(), want.length);
            return Err(GeneticsError::WantedPloidy { letter, typed, given, expected });
        }
        let from = |l: &Locus| gametes(l.length, l.capitals, Fraction::ZERO);
        let offspring = Offspring::of(&from(a)?, &from(b)?)?;
        let range = want.capitals as usize..=(want.capitals + want.open) as usize;
        let one = offspring.shares[range]
            .iter()
            .try_fold(Fraction::ZERO, |sum, share| sum.plus(*share))
            .ok_or(GeneticsError::TooLong)?;
        whole.share = whole.share.and_then(|s| s.times(one));
        whole.value *= one.value();
    }
    if let Some(share) = whole.share {
        whole.value = share.value();
    }
    Ok(whole)
}

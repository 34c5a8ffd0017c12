//! Why a question about counts has no answer.

/// What was wrong, with its value; then the next step.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum GeneticsError {
    /// Text that is no ratio.
    #[error("“{0}” is not a ratio; write it as 3:1 or 9:3:3:1, every part above 0")]
    Ratio(String),
    /// As many counts as parts are needed.
    #[error("{counts} counts for a ratio of {parts} parts; give one count for each part")]
    Parts {
        /// Counts given.
        counts: usize,
        /// Parts of the ratio.
        parts: usize,
    },
    /// No plant at all.
    #[error("all counts are 0; count at least one seedling")]
    NoPlants,
    /// No family, or no ratio.
    #[error("there is nothing to compare; give at least {0}")]
    TooFew(&'static str),
    /// A family without plants.
    #[error("family {0} has no seedlings; leave it out")]
    EmptyFamily(String),
    /// Two ratios that say the same.
    #[error("the ratios {0} and {1} say the same; leave one out")]
    SameRatio(String, String),
    /// A chance of error that is none.
    #[error("a chance of error of {0}; give one above 0 and below 1/2")]
    Error(f64),
    /// More seedlings than anybody raises.
    #[error(
        "more than {limit} seedlings would be needed to tell {first} from {second}; allow a larger \
         chance of error"
    )]
    TooAlike {
        /// One ratio.
        first: String,
        /// The other.
        second: String,
        /// The largest number tried.
        limit: u64,
    },
    /// Text that is no fraction.
    #[error("“{0}” is not a number from 0 to 1; write it as 0, 1/6 or 0.15")]
    Fraction(String),
    /// Chromosome sets that do not pair.
    #[error("a ploidy of {0}; give an even number from 2 to {LARGEST_PLOIDY}", LARGEST_PLOIDY = super::LARGEST_PLOIDY)]
    Ploidy(u32),
    /// More copies than chromosomes.
    #[error("{dosage} copies in a plant of ploidy {ploidy}; give from 0 to {ploidy}")]
    Dosage {
        /// Copies.
        dosage: u32,
        /// Chromosome sets.
        ploidy: u32,
    },
    /// A word that is no dosage.
    #[error(
        "“{0}” is not a dosage; write nulliplex, simplex, duplex, triplex, quadruplex or a number"
    )]
    DosageName(String),
    /// Double reduction beyond what chromosomes can do.
    #[error("double reduction of {alpha} in a tetraploid; give from 0 to 1/6 (as a fraction)")]
    DoubleReduction {
        /// The value.
        alpha: f64,
    },
    /// Double reduction at a ploidy for which it is not known.
    #[error("double reduction at ploidy {0}; it is known here for tetraploids only, so give 0")]
    DoubleReductionAt(u32),
    /// Numbers too large for exact fractions.
    #[error("the exact fractions grow too large; give the double reduction with fewer digits")]
    TooLong,
    /// Text that is no genotype.
    #[error("“{typed}”: {what}; write a genotype as AaBb or AAaaBbbb, each locus in one piece")]
    Genotype {
        /// The text.
        typed: String,
        /// What is wrong.
        what: String,
    },
    /// Parents that do not name the same loci.
    #[error("locus {letter} of “{of}” is not in “{lacking}”; name the same loci in both parents")]
    Locus {
        /// The locus.
        letter: char,
        /// Where it stands.
        of: String,
        /// Where it is missing.
        lacking: String,
    },
    /// A wanted genotype of another length than seedlings have.
    #[error(
        "locus {letter} of “{typed}” has {given} letters, but the seedlings have {expected} \
         chromosome sets; write {expected} letters for each locus"
    )]
    WantedPloidy {
        /// The locus.
        letter: char,
        /// The text.
        typed: String,
        /// Letters given.
        given: u32,
        /// Letters expected.
        expected: u32,
    },
}

//! What is true in the simulated house, for tests that try to recover it from the journal.

use jiff::civil::Date;
use journal::Uid;

/// Shape of the Weibull distribution of the life of one flower or umbel \[no unit\]. With it, the
/// middle half of the lives lies between 0.84 and 1.15 of the median.
pub const FLOWER_SHAPE: f64 = 5.0;

/// Standard deviation of the natural logarithm of a drying time, from one watering to the next of
/// the same plant \[no unit\].
pub const SAME_DRYING: f64 = 0.16;

/// How much slower a pot dries in mid-January than at the equinoxes, and how much faster in
/// mid-July, as a share of the yearly median [no unit]: the median drying time on day `d` of the
/// year is `dry_days · (1 + SAME_WINTER · cos(2π (d − 15) / 365.25))`.
pub const SAME_WINTER: f64 = 0.35;

/// Shortest and longest time between two looks at an open flower \[d\].
pub const LOOK_DAYS: (i32, i32) = (2, 8);

/// One plant as it really is.
#[derive(Debug, Clone, PartialEq)]
pub struct PlantTruth {
    /// Its identifier.
    pub uid: Uid,
    /// Its number.
    pub number: i64,
    /// The clone it really is a piece of.
    pub clone: Uid,
    /// The day on which it really came or was potted as a plant.
    pub came: Date,
    /// The last day on which it was here and alive; the last day of the record if it still is.
    pub until: Date,
    /// `alive`, `dead`, `gone` or `unknown`, as the journal should say.
    pub state: &'static str,
    /// Median time from a watering to dry at the equinoxes \[d\].
    pub dry_days: f64,
    /// Whether every watering of it was written down.
    pub followed: bool,
}

/// One clone as it really is.
#[derive(Debug, Clone, PartialEq)]
pub struct CloneTruth {
    /// Its identifier.
    pub uid: Uid,
    /// What it is believed to be at the end of the record; empty for none.
    pub name: String,
    /// Genus, or empty.
    pub genus: String,
    /// Median life of one flower (Begonia, Streptocarpus, Aeschynanthus) or umbel (Dischidia) \[d\].
    pub flower_days: f64,
}

/// One flower or umbel that was followed.
#[derive(Debug, Clone, PartialEq)]
pub struct FlowerTruth {
    /// The part.
    pub part: Uid,
    /// Its plant.
    pub plant: Uid,
    /// Its clone.
    pub clone: Uid,
    /// The day on which it opened.
    pub opened: Date,
    /// Its life \[d\]; it ends on `opened` + the whole days of this.
    pub life: f64,
    /// Whether it was still open at the last look that is written down.
    pub censored: bool,
}

/// One cross as it really is.
#[derive(Debug, Clone, PartialEq)]
pub struct CrossTruth {
    /// Its identifier.
    pub uid: Uid,
    /// Its number.
    pub number: i64,
    /// Chance that one pollinated flower sets a pod that ripens.
    pub set: f64,
    /// Share of full seed among all seed.
    pub full: f64,
    /// Chance that one sown seed germinates.
    pub germination: f64,
    /// How far it has come: the kind of the last entry in the line from pollination to name.
    pub stage: String,
}

/// One jar of cuttings as it really is.
#[derive(Debug, Clone, PartialEq)]
pub struct BatchTruth {
    /// Its identifier.
    pub uid: Uid,
    /// How many cuttings were taken.
    pub taken: u32,
    /// Chance that one roots.
    pub rooting: f64,
    /// Median time to roots of those that root \[d\], log-normal with standard deviation of the
    /// logarithm 0.3.
    pub root_days: f64,
}

/// Everything that is true in the simulated house.
#[derive(Debug, Clone, PartialEq)]
pub struct Truth {
    /// First day of the record.
    pub start: Date,
    /// Last day of the record: the day before the one that was asked for, so that nothing is
    /// dated later than the clock of whoever looks at it.
    pub last: Date,
    /// Plants in order of their numbers.
    pub plants: Vec<PlantTruth>,
    /// Clones, also those without a plant.
    pub clones: Vec<CloneTruth>,
    /// Flowers and umbels that were followed.
    pub flowers: Vec<FlowerTruth>,
    /// Crosses in order of their numbers.
    pub crosses: Vec<CrossTruth>,
    /// Jars of cuttings.
    pub batches: Vec<BatchTruth>,
}

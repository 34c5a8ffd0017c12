//! How long flowers or umbels of a genus last, from all of them together.
//!
//! ln T = β₀ + β₁ (T̄ − 22 °C) + β₂ (D̄ − 0.8 kPa) + clone + umbel + s·e, e standard normal; T̄ and D̄
//! are the mean warmth and vapour pressure deficit of the days on which the flower was open.

use std::collections::{BTreeMap, HashMap};

use stats::{
    model::{Fixed, RandomTerm},
    prior::{NormalPrior, SpreadPrior},
    survival::{
        Time,
        parametric::{
            Beliefs, Law, ParametricError, Posterior, Remaining, Start, posterior_started,
        },
    },
};

use super::bloom::{Bloom, FlowerKind, clusters, to_f64};

/// Probability of the intervals.
pub(super) const LEVEL: f64 = 0.8;
/// Of each clone only so many of the latest flowers take part: more would not narrow nature's spread.
const OF_CLONE: usize = 20;
/// And so many of all: the time of a fit grows with the third power of the umbels.
const OF_ALL: usize = 60;

/// Warmth and dryness of the air, on average over some days.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Weather {
    /// Mean temperature \[°C\].
    pub warmth: Option<f64>,
    /// Mean vapour pressure deficit of the leaf \[kPa\].
    pub deficit: Option<f64>,
}

impl Weather {
    /// Means over days; what is known of fewer than half of them is not known.
    #[must_use]
    pub fn over(days: &[crate::climate::Day]) -> Self {
        let mean = |of: fn(&crate::climate::Day) -> Option<f64>| {
            let told: Vec<f64> = days.iter().filter_map(of).collect();
            (!told.is_empty() && 2 * told.len() >= days.len())
                .then(|| told.iter().sum::<f64>() / told.len() as f64)
        };
        Self { warmth: mean(|d| d.temperature), deficit: mean(|d| d.deficit) }
    }
}

/// A bloom with what else a fit needs of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Followed {
    /// The flower or umbel.
    pub bloom: Bloom,
    /// The clone of its plant.
    pub clone: i64,
    /// The place at which its plant stood, if it was told.
    pub place: Option<i64>,
    /// Air of the days on which it was open.
    pub weather: Weather,
}

/// What is believed of a kind of flower before anything is seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LifePrior {
    /// Median life at 22 °C and 0.8 kPa \[d\].
    pub median: f64,
    /// How far off it may be: standard deviation of its logarithm.
    pub off: f64,
    /// Where it was read; none for common practice.
    pub source: Option<&'static str>,
}

/// 10 to 18 days in eight taxa.
const GESNERIADS: &str = "Folia Hort. 2023, doi 10.2478/fhort-2023-0009";

/// ln Q₁₀/10 with Q₁₀ = 2, and its standard deviation: Q₁₀ from 1.3 to 3 for most. Common practice;
/// that warmth and dry air shorten flowers is published (Song et al. 2022, New Phytol., 818 species).
pub(super) const WARMTH: NormalPrior = NormalPrior { mean: -0.069_314_718_055_994_53, sd: 0.03 };
/// By the kilopascal. Common practice, no source.
pub(super) const DEFICIT: NormalPrior = NormalPrior { mean: -0.15, sd: 0.15 };
/// The air at which a prior holds: °C, kPa.
const AIR: [f64; 2] = [22.0, 0.8];
const CLONES: SpreadPrior = SpreadPrior::HalfNormal { scale: 0.3 };
const UMBELS: SpreadPrior = SpreadPrior::HalfNormal { scale: 0.2 };
/// Mean 0.25. Unlike a half-normal it is 0 at 0: flowers that all lasted a week by the day would
/// otherwise be taken for alike to the hour.
pub(super) const FLOWERS: SpreadPrior = SpreadPrior::Gamma { shape: 4.0, rate: 16.0 };

impl LifePrior {
    /// What is believed of a kind of flower of a genus.
    #[must_use]
    pub fn of(genus: &str, kind: FlowerKind) -> Self {
        let usual = |median, off| Self { median, off, source: None };
        match (kind, crate::feed::group_key(genus)) {
            (FlowerKind::Umbel, _) => usual(6.5, 0.5),
            // The middle of what was found, on the logarithm, and wide enough for its ends.
            (FlowerKind::Flower, Some("gesneriads")) => {
                Self { source: Some(GESNERIADS), ..usual(13.4, 0.4) }
            }
            (FlowerKind::Flower, _) => usual(9.0, 0.6),
        }
    }
}

/// What all flowers of one kind in a genus said together.
#[derive(Debug, Clone)]
pub struct LifeFit {
    posterior: Posterior,
    /// Level of each clone.
    clones: HashMap<i64, u32>,
    /// The level of clones without a flower.
    other: u32,
    /// Level of the umbel of each bloom, by its place among those that were given.
    umbels: Option<HashMap<usize, u32>>,
    /// The air around which effects are counted: °C, kPa.
    centre: [f64; 2],
    /// Which of the blooms that were given took part.
    pub used: Vec<usize>,
    /// Standard deviation of the logarithm of a clone's life before anything was seen.
    before: f64,
}

/// Which flowers take part: the latest of each clone, as many of one as of another. Where those are
/// too many, all of the clone that is asked about are among them.
fn chosen(followed: &[Followed], own: Option<i64>) -> Vec<usize> {
    let mut latest: Vec<usize> = (0..followed.len()).collect();
    latest.sort_by_key(|i| (-followed[*i].bloom.opened.1, *i));
    let mut of_clone: BTreeMap<i64, usize> = BTreeMap::new();
    let mut ranked = Vec::new();
    for i in latest {
        let clone = followed[i].clone;
        let rank = of_clone.entry(clone).or_default();
        if *rank < OF_CLONE {
            // The sort below is stable: of the same rank the latest comes first.
            ranked.push((if own == Some(clone) { 0 } else { *rank }, i));
        }
        *rank += 1;
    }
    ranked.sort_by_key(|r| r.0);
    ranked.truncate(OF_ALL);
    let mut used: Vec<usize> = ranked.into_iter().map(|r| r.1).collect();
    used.sort_unstable();
    used
}

/// Whether flowers are so many that not all of them take part in one fit.
pub(super) fn too_many(followed: &[Followed]) -> bool {
    let mut of_clone: BTreeMap<i64, usize> = BTreeMap::new();
    for f in followed {
        *of_clone.entry(f.clone).or_default() += 1;
    }
    of_clone.values().map(|n| (*n).min(OF_CLONE)).sum::<usize>() > OF_ALL
}

/// A random term of these levels.
fn term(name: &str, levels: usize, index: Vec<u32>) -> RandomTerm {
    let levels = (0..levels).map(|l| l.to_string()).collect();
    RandomTerm { name: name.to_owned(), levels, index, members: 1, slope: None }
}

/// The level of each key, in order of first appearance.
fn levels<K: std::hash::Hash + Eq + Copy>(keys: impl Iterator<Item = K>) -> HashMap<K, u32> {
    let mut out = HashMap::new();
    for key in keys {
        let next = u32::try_from(out.len()).unwrap_or(u32::MAX);
        out.entry(key).or_insert(next);
    }
    out
}

/// The mean of what is known; what the prior stands for where nothing is.
fn centre_of(of: impl Iterator<Item = Option<f64>>, usual: f64) -> f64 {
    let told: Vec<f64> = of.flatten().collect();
    if told.is_empty() { usual } else { told.iter().sum::<f64>() / told.len() as f64 }
}

/// The design of rows with this air, less the centre; what is not known stands at the centre.
fn design(air: &[Weather], centre: [f64; 2]) -> Result<Fixed, ParametricError> {
    let column = |of: fn(&Weather) -> Option<f64>, c: f64| -> Vec<f64> {
        air.iter().map(|w| of(w).map_or(0.0, |v| v - c)).collect()
    };
    let columns = [
        ("warmth".to_owned(), column(|w| w.warmth, centre[0])),
        ("deficit".to_owned(), column(|w| w.deficit, centre[1])),
    ];
    Ok(Fixed::of_columns(air.len(), columns)?)
}

/// Rows that say nothing stand at the end, so that each effect of the air has a column that is not
/// constant and its prior counts, also where no air is known.
const EMPTY: usize = 3;

fn with_empty(mut air: Vec<Weather>, centre: [f64; 2]) -> Vec<Weather> {
    air.push(Weather { warmth: Some(centre[0] + 1.0), deficit: None });
    air.push(Weather { warmth: None, deficit: Some(centre[1] + 1.0) });
    air.push(Weather::default());
    air
}

/// Fits all flowers of one kind.
///
/// # Errors
/// When the optimum was not reached.
pub fn fit_life(followed: &[Followed], prior: LifePrior) -> Result<LifeFit, ParametricError> {
    fit_life_for(followed, None, prior)
}

/// The same for one clone: all of its latest flowers take part, also where the genus has very many.
///
/// # Errors
/// When the optimum was not reached.
pub fn fit_life_for(
    followed: &[Followed],
    clone: Option<i64>,
    prior: LifePrior,
) -> Result<LifeFit, ParametricError> {
    let used = chosen(followed, clone);
    let air: Vec<Weather> = used.iter().map(|i| followed[*i].weather).collect();
    let centre = [
        centre_of(air.iter().map(|w| w.warmth), AIR[0]),
        centre_of(air.iter().map(|w| w.deficit), AIR[1]),
    ];
    let clones = levels(used.iter().map(|i| followed[*i].clone));
    let other = u32::try_from(clones.len()).unwrap_or(u32::MAX);
    let blooms: Vec<Bloom> = used.iter().map(|i| followed[*i].bloom).collect();
    let umbel = clusters(&blooms);
    let of_umbel = levels(umbel.iter().copied());
    let (mut times, mut starts): (Vec<Time>, Vec<Option<Start>>) =
        blooms.iter().map(Bloom::time).unzip();
    times.extend([Time::open(0.0); EMPTY]);
    starts.extend([None; EMPTY]);
    let mut of_clone: Vec<u32> = used.iter().map(|i| clones[&followed[*i].clone]).collect();
    of_clone.extend([other; EMPTY]);
    let mut terms = vec![term("clone", clones.len() + 1, of_clone)];
    let together = of_umbel.len() < blooms.len();
    let umbels = together.then(|| {
        let mut index: Vec<u32> = umbel.iter().map(|u| of_umbel[u]).collect();
        index.extend([0; EMPTY]);
        terms.push(term("umbel", of_umbel.len(), index.clone()));
        used.iter().copied().zip(index).collect()
    });
    let moved = [centre[0] - AIR[0], centre[1] - AIR[1]];
    let sd = prior.off.hypot(WARMTH.sd * moved[0]).hypot(DEFICIT.sd * moved[1]);
    let mean = prior.median.ln() + WARMTH.mean * moved[0] + DEFICIT.mean * moved[1];
    let beliefs = Beliefs {
        coefficients: vec![Some(NormalPrior { mean, sd }), Some(WARMTH), Some(DEFICIT)],
        scale: Some(FLOWERS),
        spreads: vec![Some(CLONES), Some(UMBELS)],
        sum_few: true,
    };
    let fixed = design(&with_empty(air, centre), centre)?;
    let posterior =
        posterior_started(&times, &starts, &fixed, Law::Lognormal, &terms, &beliefs, LEVEL)?;
    // The mean square of a half-normal variable is its scale squared.
    Ok(LifeFit { posterior, clones, other, umbels, centre, used, before: sd.hypot(0.3) })
}

impl LifeFit {
    fn levels(&self, clone: i64, bloom: Option<usize>) -> Vec<Option<u32>> {
        let own = self.clones.get(&clone).copied().unwrap_or(self.other);
        let umbel = self.umbels.as_ref().map(|u| bloom.and_then(|b| u.get(&b).copied()));
        std::iter::once(Some(own)).chain(umbel).collect()
    }

    /// Where the typical life of a clone lies in this air \[d\]: lower limit, middle, upper limit.
    ///
    /// # Errors
    /// Those of the engine.
    pub fn typical(&self, clone: i64, air: Weather) -> Result<[f64; 3], ParametricError> {
        let row = design(&[air], self.centre)?;
        self.posterior.typical(&row, &self.levels(clone, None), LEVEL)
    }

    /// How long this share of a clone's flowers (above 0, below 1) lasts in this air, or longer \[d\]:
    /// lower limit, middle, upper limit. One half is [`LifeFit::typical`].
    ///
    /// # Errors
    /// Those of the engine.
    pub fn lasting(
        &self,
        clone: i64,
        air: Weather,
        share: f64,
    ) -> Result<[f64; 3], ParametricError> {
        let row = design(&[air], self.centre)?;
        self.posterior.passed_by(&row, &self.levels(clone, None), 1.0 - share, LEVEL)
    }

    /// What is left of the life of a bloom that took part, from the last look on.
    ///
    /// # Errors
    /// Those of the engine.
    pub fn left(
        &self,
        clone: i64,
        (index, bloom): (usize, &Bloom),
        air: Weather,
    ) -> Result<Remaining, ParametricError> {
        let row = design(&[air], self.centre)?;
        self.posterior.remaining(&row, &self.levels(clone, Some(index)), &bloom.ages())
    }

    /// The life of a further bloom of a clone.
    ///
    /// # Errors
    /// Those of the engine.
    pub fn further(&self, clone: i64, air: Weather) -> Result<Remaining, ParametricError> {
        let row = design(&[air], self.centre)?;
        self.posterior.remaining(&row, &self.levels(clone, None), &[0.0])
    }

    /// How much of what is said of a clone comes from records: 1 − variance now / variance before.
    /// Below 0.2 it is mostly the default.
    ///
    /// # Errors
    /// Those of the engine.
    pub fn information(&self, clone: i64) -> Result<f64, ParametricError> {
        let [lower, _, upper] = self.typical(clone, Weather::default())?;
        let sd = (upper / lower).ln() / (2.0 * stats::special::two_sided(LEVEL));
        Ok(1.0 - (sd / self.before).powi(2))
    }

    /// By how much a degree more changes a life, as a factor: lower limit, middle, upper limit.
    #[must_use]
    pub fn by_a_degree(&self) -> [f64; 3] {
        let b = &self.posterior.coefficients[1].1;
        [b.lower, b.median, b.upper].map(f64::exp)
    }

    /// The largest derivative at any of the modes: what must be near 0.
    #[must_use]
    pub fn gradient_norm(&self) -> f64 {
        self.posterior.gradient_norm
    }

    /// Points of the grid over spreads and scale.
    #[must_use]
    pub fn points(&self) -> usize {
        self.posterior.points
    }
}

/// The day on which something ends that is left for so many days after a look at noon.
#[allow(clippy::cast_possible_truncation)]
pub(super) fn day_after(looked: i64, left: f64) -> i64 {
    (to_f64(looked) + 0.5 + left).floor() as i64
}

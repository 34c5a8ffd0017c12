//! The night's fit: what all pots of a house say together about how fast they dry.
//!
//! ln X = β₀ + pot, wall and mix + genus + species + plant + rooting + s·e on the demand clock;
//! X counts from a watering to the moment at which the pot is as dry as its keeper lets it become.
//! Plants of a species, then of a genus, borrow from each other; what has no record of its own
//! rests on published ranges and common practice, and says so.

use std::collections::{BTreeMap, HashMap};

use culture::clock::Exponents;
use serde::Serialize;
use stats::model::Fixed;
use stats::survival::drying::{
    Cycle, DryingFit, DryingPrior, PlantCycle, Plants, fit_drying, kept_precision,
    shared_information,
};
use stats::survival::parametric::Law;

use super::clocks::{Climate, Clocks, KEEP, Shared};
use super::looks::{Drying, Looks, Wish, follow};
use super::pots::{Facts, Pot};

/// Older dryings teach nothing about the present roots and seasons \[d\].
const REACH: i64 = 400;
/// And of each pot only so many of the latest.
const MOST: usize = 30;
/// Of more dryings than this only the latest eight of each pot are learnt from: what all share is
/// known from them, and each plant's own dryings are taken in by day.
const ENOUGH: usize = 20_000;
/// The clocks are learnt from so many pots at the most.
const FOR_CLOCK: usize = 600;
/// How often a look is misread, by common practice; no source.
pub(crate) const MISREAD: f64 = 0.05;
/// The law of a single drying.
pub(crate) const LAW: Law = Law::Lognormal;
/// How ln X changes with ln(days since potting + 30), mean and standard deviation: roots fill the
/// pot. Common practice, no source.
pub(crate) const ROOTING: (f64, f64) = (-0.15, 0.1);
/// Standard deviations tried for a week's weather that no logger told, on the log scale.
const WEATHER: [f64; 4] = [0.03, 0.08, 0.15, 0.25];
/// How much of a plant's own deviation survives its potting: correlation. Common practice, no
/// source.
const CARRIED: f64 = 0.7;

/// Coefficients: name, mean and standard deviation on the log scale. All are common practice but
/// for the wall of terracotta; none has a published value.
const COLUMNS: [(&str, f64, f64); 7] = [
    ("(intercept)", 1.8, 0.5),
    ("ln of the pot's volume, half a litre is 0", 0.5, 0.2),
    ("terracotta, wood or net", -0.25, 0.15),
    ("mount or basket", -0.6, 0.3),
    ("reservoir", 0.9, 0.5),
    ("share of coarse parts over one half", -0.3, 0.2),
    ("waits until dry through and through", 0.35, 0.2),
];
/// Genera with so many pots have a column of their own, at the most so many.
const GENUS: (usize, usize, f64) = (3, 12, 0.25);

/// A pot between two pottings, as the fit found it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Unit {
    /// ln of its usual drying on the demand clock.
    pub mean: f64,
    /// Its standard deviation.
    pub sd: f64,
    /// What its species, genus, pot and mix alone say.
    pub borrowed: f64,
    /// Standard deviation of that.
    pub borrowed_sd: f64,
    /// Its dryings that told something.
    pub cycles: usize,
    /// Those of them that ended dry.
    pub dried: usize,
}

/// What one night learnt.
#[derive(Debug, Clone)]
pub struct Night {
    /// The day up to which it read \[days since 1970-01-01\].
    pub day: i64,
    /// Pots, by key and how often they were potted.
    units: HashMap<(i64, usize), Unit>,
    /// Coefficients, in the order of the columns: mean and standard deviation.
    pub coefficients: Vec<(String, f64, f64)>,
    species: HashMap<String, (f64, f64)>,
    genera: Vec<String>,
    /// Standard deviations: species, plants, single dryings (log scale).
    pub spreads: [f64; 3],
    /// What the clocks do not know of the present week, as a standard deviation of ln X.
    pub weather_sd: f64,
    /// What the weeks to come may add to that, in days that are still ahead.
    pub week_ahead: f64,
    /// The standard deviation of weeks that was chosen.
    pub weeks_sd: f64,
    /// The clocks.
    pub clocks: Clocks,
    /// How many dryings it rests on, of how many pots.
    pub rests_on: (usize, usize),
    /// Norm of the gradient at the optimum; none where nothing was seen yet.
    pub gradient_norm: Option<f64>,
}

/// A drying made ready: which unit, its cycle, what the clocks share in it.
struct Ready {
    pot: usize,
    unit: u32,
    drying: Drying,
    potted: Option<i64>,
}

/// Fits all pots. Climates are those of places by their keys, as far as they are known.
///
/// # Errors
/// When the optimum was not reached.
pub fn night(
    pots: &[Pot],
    climates: &BTreeMap<i64, Climate>,
    today: i64,
) -> Result<Night, stats::survival::parametric::ParametricError> {
    let looks: Vec<Looks> = pots.iter().map(|p| follow(&p.happenings, p.wish, p.facts)).collect();
    let first = first_day(&looks, today);
    let design = Design::of(pots, &looks);
    let ready = design.ready(&looks, first);
    let mut clocks = Clocks::new(climates, Shared::usual(first, today), today);
    let mut fit = None;
    let mut found = (0.0, WEATHER[1]);
    if !ready.is_empty() {
        let mut start = None;
        // The clock is learnt from a part of the dryings, the plants then from all.
        for round in 0..4 {
            let part: Vec<&Ready> = match round {
                0..3 => thinned(&ready, FOR_CLOCK),
                _ if ready.len() > ENOUGH => thinned(&ready, usize::MAX),
                _ => ready.iter().collect(),
            };
            let (cycles, along) = counted(&part, pots, &clocks);
            let now = design.fit(&cycles, start)?;
            start = Some([now.species_sd, now.plant_sd, now.event_scale]);
            if round < 3
                && let Some((shared, weather)) = learnt(&cycles, &along, &now, &clocks)
            {
                clocks = clocks.rewound(shared);
                found = weather;
            }
            fit = Some(now);
        }
    }
    Ok(design.night(pots, &ready, fit, clocks, found, today))
}

/// The first day that counts.
fn first_day(looks: &[Looks], today: i64) -> i64 {
    let dryings = looks.iter().flat_map(|l| l.past.iter().chain(&l.now));
    let first = dryings.map(|d| d.since).filter(|d| *d >= today - REACH).min();
    first.unwrap_or(today).min(today)
}

/// Every unit's latest eight dryings; of more units than so many, that many spread evenly.
fn thinned(ready: &[Ready], units: usize) -> Vec<&Ready> {
    let all = ready.last().map_or(0, |r| r.unit as usize + 1);
    let step = all.div_ceil(units.min(all.max(1))).max(1);
    let mut left: HashMap<u32, usize> = HashMap::new();
    let mut out: Vec<&Ready> = (ready.iter().rev())
        .filter(|r| (r.unit as usize).is_multiple_of(step))
        .filter(|r| {
            let n = left.entry(r.unit).or_default();
            *n += 1;
            *n <= 8
        })
        .collect();
    out.reverse();
    out
}

/// The cycle of a drying on the clocks.
#[allow(clippy::cast_precision_loss)]
pub(crate) fn cycle(d: &Drying, pot: &Pot, clocks: &Clocks) -> Cycle {
    let x = |day: i64| clocks.between(pot, d.since as f64, day as f64);
    if let Some((day, gone)) = d.weighed {
        return Cycle::Exact((x(day) / gone).max(1e-3));
    }
    match d.limits() {
        (Some(_), Some(_)) => {
            let (low, high) = (x(d.moist.unwrap_or(d.since)), x(d.dry.unwrap_or(d.since)));
            if high > low { Cycle::Between(low, high) } else { Cycle::Unseen }
        }
        (None, Some(_)) => Cycle::FoundDry(x(d.dry.unwrap_or(d.since)).max(1e-3)),
        (Some(_), None) => Cycle::StillMoist(x(d.moist.unwrap_or(d.since))),
        (None, None) => Cycle::Unseen,
    }
}

fn counted(
    ready: &[&Ready],
    pots: &[Pot],
    clocks: &Clocks,
) -> (Vec<PlantCycle>, Vec<Vec<(u32, f64)>>) {
    let rooting = clocks.shared().rooting;
    let one = |r: &&Ready| {
        let (pot, d) = (&pots[r.pot], &r.drying);
        let root = Shared::since_potting(d.since, r.potted);
        let last = d.dry.or(d.moist).or(d.weighed.map(|w| w.0)).unwrap_or(d.since);
        let mut along = clocks.along(pot, d.since, last);
        if root != 0.0 {
            // The offset stands on the other side of the equation.
            along.push((2, -root));
        }
        let cycle =
            PlantCycle { plant: r.unit, cycle: cycle(d, pot, clocks), offset: rooting * root };
        (cycle, along)
    };
    ready.iter().map(one).unzip()
}

/// One step for what all pots share; the spread of weeks is that with the greatest evidence.
/// Gives the effects, the uncertainty of the present week and the spread.
fn learnt(
    cycles: &[PlantCycle],
    along: &[Vec<(u32, f64)>],
    fit: &DryingFit,
    clocks: &Clocks,
) -> Option<(Shared, (f64, f64))> {
    let now = clocks.shared();
    let (n, weeks) = (3 + now.weeks.len(), now.weeks.len());
    let at: Vec<f64> =
        [now.dryness, now.light, now.rooting].into_iter().chain(now.weeks.clone()).collect();
    let information = shared_information(cycles, along, fit, LAW, MISREAD, &at).ok()?;
    let usual = Exponents::default();
    let mut mean = vec![0.0; n];
    mean[..3].copy_from_slice(&[usual.a, usual.b, ROOTING.0]);
    let tried = WEATHER.iter().filter_map(|sd| {
        let mut q = vec![0.0; n * n];
        for (j, sd) in [usual.a_sd, usual.b_sd, ROOTING.1].into_iter().enumerate() {
            q[j * n + j] = 1.0 / (sd * sd);
        }
        let kept = kept_precision(weeks, KEEP, *sd);
        for i in 0..weeks {
            for j in 0..weeks {
                q[(3 + i) * n + 3 + j] = kept[i * weeks + j];
            }
        }
        Some((*sd, information.with_prior(&mean, &q)?))
    });
    let (sd, best) = tried.max_by(|a, b| a.1.log_evidence.total_cmp(&b.1.log_evidence))?;
    // A single step may overshoot where little is known; exponents stay sensible.
    let e = &best.estimate;
    let shared = Shared {
        dryness: e[0].clamp(0.0, 1.5),
        light: e[1].clamp(0.0, 1.5),
        rooting: e[2].clamp(-0.5, 0.2),
        first: now.first,
        weeks: e[3..].iter().map(|w| w.clamp(-1.2, 1.2)).collect(),
    };
    let last = best.covariance[n * n - 1].max(0.0);
    Some((shared, (last.sqrt(), sd)))
}

/// Columns of all units.
struct Design {
    units: Vec<(usize, usize)>,
    facts: Vec<Facts>,
    genera: Vec<String>,
    species: Vec<String>,
    of_species: Vec<u32>,
    fixed: Fixed,
    prior: DryingPrior,
}

fn columns(facts: &Facts, wish: Wish, genus: &str, genera: &[String]) -> Vec<f64> {
    let flag = |b: bool| f64::from(u8::from(b));
    let mut row = vec![
        1.0,
        facts.litres.filter(|l| *l > 0.0).map_or(0.0, |l| (l / 0.5).ln().clamp(-3.0, 4.0)),
        flag(facts.breathing),
        flag(facts.open),
        flag(facts.reservoir),
        facts.coarse.map_or(0.0, |c| c - 0.5),
        flag(wish == Wish::BoneDry),
    ];
    row.extend(genera.iter().map(|g| flag(g == genus)));
    row
}

impl Design {
    fn of(pots: &[Pot], looks: &[Looks]) -> Self {
        let mut count: BTreeMap<&str, usize> = BTreeMap::new();
        for p in pots.iter().filter(|p| !p.genus.is_empty()) {
            *count.entry(&p.genus).or_default() += 1;
        }
        let mut genera: Vec<(&str, usize)> = count.into_iter().filter(|g| g.1 >= GENUS.0).collect();
        genera.sort_by_key(|g| std::cmp::Reverse(g.1));
        let genera: Vec<String> =
            genera.into_iter().take(GENUS.1).map(|g| g.0.to_owned()).collect();
        let (mut units, mut facts, mut species, mut of_species) =
            (Vec::new(), Vec::new(), Vec::<String>::new(), Vec::new());
        let mut place: HashMap<String, u32> = HashMap::new();
        let mut rows: Vec<Vec<f64>> = Vec::new();
        for (i, (p, l)) in pots.iter().zip(looks).enumerate() {
            let name = if p.species.is_empty() { &p.genus } else { &p.species };
            let next = u32::try_from(species.len()).unwrap_or(u32::MAX);
            let s = *place.entry(name.clone()).or_insert_with(|| {
                species.push(name.clone());
                next
            });
            for (epoch, (_, f)) in l.epochs.iter().enumerate() {
                let seen = l.past.iter().any(|d| d.epoch == epoch);
                if !seen && epoch != l.epoch() {
                    continue;
                }
                units.push((i, epoch));
                facts.push(*f);
                of_species.push(s);
                rows.push(columns(f, p.wish, &p.genus, &genera));
            }
        }
        let named = COLUMNS.iter().map(|c| c.0.to_owned()).chain(genera.iter().cloned()).skip(1);
        let fixed = Fixed::of_columns(
            rows.len().max(1),
            named.enumerate().map(|(j, name)| {
                let mut column: Vec<f64> = rows.iter().map(|r| r[j + 1]).collect();
                column.resize(rows.len().max(1), 0.0);
                (name, column)
            }),
        );
        let mut prior = DryingPrior::usual(COLUMNS.len() + genera.len());
        prior.misread = MISREAD;
        prior.law = LAW;
        prior.coefficients = (COLUMNS.iter().map(|c| (c.1, c.2)))
            .chain(genera.iter().map(|_| (0.0, GENUS.2)))
            .collect();
        #[allow(clippy::expect_used, reason = "every column has one value for each unit")]
        let fixed = fixed.expect("columns of one length");
        Self { units, facts, genera, species, of_species, fixed, prior }
    }

    /// The dryings that count, by unit.
    fn ready(&self, looks: &[Looks], first: i64) -> Vec<Ready> {
        let mut out = Vec::new();
        for (unit, (pot, epoch)) in self.units.iter().enumerate() {
            let l = &looks[*pot];
            let of_epoch = l.past.iter().filter(|d| d.epoch == *epoch && d.since >= first);
            let all: Vec<&Drying> = of_epoch.collect();
            for d in &all[all.len().saturating_sub(MOST)..] {
                out.push(Ready {
                    pot: *pot,
                    unit: u32::try_from(unit).unwrap_or(u32::MAX),
                    drying: **d,
                    potted: l.epochs[*epoch].0,
                });
            }
        }
        out
    }

    fn fit(
        &self,
        cycles: &[PlantCycle],
        start: Option<[f64; 3]>,
    ) -> Result<DryingFit, stats::survival::parametric::ParametricError> {
        let plants = || Plants { species: &self.of_species, design: &self.fixed };
        // Misread looks give the likelihood more than one hill, on which a search can strand. Then
        // it begins anew from the priors, and at last takes every look at its word, which leaves
        // one hill only.
        fit_drying(cycles, plants(), &self.prior, start)
            .or_else(|_| fit_drying(cycles, plants(), &self.prior, None))
            .or_else(|_| {
                let sure = DryingPrior { misread: 0.0, ..self.prior.clone() };
                fit_drying(cycles, plants(), &sure, None)
            })
    }

    fn night(
        self,
        pots: &[Pot],
        ready: &[Ready],
        fit: Option<DryingFit>,
        clocks: Clocks,
        (weather_sd, weeks_sd): (f64, f64),
        today: i64,
    ) -> Night {
        let mut cycles = vec![(0, 0); self.units.len()];
        for r in ready {
            let c = &mut cycles[r.unit as usize];
            c.0 += 1;
            c.1 += usize::from(r.drying.dry.is_some() || r.drying.weighed.is_some());
        }
        let prior = &self.prior;
        let half = stats::special::normal_quantile(0.75);
        let (spreads, coefficients, species) = match &fit {
            Some(f) => (
                [f.species_sd, f.plant_sd, f.event_scale],
                (f.estimates.iter().copied().zip(f.ses.iter().copied())).collect::<Vec<_>>(),
                f.species.clone(),
            ),
            None => (
                [prior.species * half, prior.plant * half, prior.event * half],
                prior.coefficients.clone(),
                vec![(0.0, prior.species * half); self.species.len()],
            ),
        };
        let mut units = HashMap::new();
        for (k, (pot, epoch)) in self.units.iter().enumerate() {
            let p = &pots[*pot];
            let unit = match &fit {
                Some(f) => {
                    let found = f.plants[k];
                    Unit {
                        mean: found.mean,
                        sd: found.sd,
                        borrowed: found.borrowed,
                        borrowed_sd: found.borrowed_sd,
                        cycles: cycles[k].0,
                        dried: cycles[k].1,
                    }
                }
                None => {
                    let row = columns(&self.facts[k], p.wish, &p.genus, &self.genera);
                    let (mean, sd) = expected(&row, &coefficients, (0.0, spreads[0]), spreads[1]);
                    Unit {
                        mean,
                        sd,
                        borrowed: mean,
                        borrowed_sd: sd,
                        cycles: cycles[k].0,
                        dried: cycles[k].1,
                    }
                }
            };
            units.insert((p.key, *epoch), unit);
        }
        let of: std::collections::BTreeSet<usize> = ready.iter().map(|r| r.pot).collect();
        let names = self.fixed.coefficients.iter().map(|c| c.term.clone());
        Night {
            day: today,
            units,
            coefficients: names.zip(coefficients).map(|(n, (m, s))| (n, m, s)).collect(),
            species: self.species.into_iter().zip(species).collect(),
            genera: self.genera,
            spreads,
            weather_sd,
            // A drying that lies ahead reaches into the next week with about half of its days.
            week_ahead: (0.5 * (1.0 - KEEP * KEEP)).sqrt() * weeks_sd,
            weeks_sd,
            clocks,
            rests_on: (ready.len(), of.len()),
            gradient_norm: fit.map(|f| f.gradient_norm),
        }
    }
}

/// What columns and species alone say, with the spread of single plants.
fn expected(
    row: &[f64],
    coefficients: &[(f64, f64)],
    species: (f64, f64),
    plant_sd: f64,
) -> (f64, f64) {
    let mean = row.iter().zip(coefficients).map(|(x, c)| x * c.0).sum::<f64>() + species.0;
    let var = row.iter().zip(coefficients).map(|(x, c)| (x * c.1).powi(2)).sum::<f64>()
        + species.1.powi(2)
        + plant_sd.powi(2);
    (mean, var.sqrt())
}

impl Night {
    /// What the fit holds of a pot in its present mix; of one that it did not see, what its
    /// species, genus and pot say. After a potting a part of what the plant was before stays.
    #[must_use]
    pub fn unit(&self, pot: &Pot, looks: &Looks) -> Unit {
        let epoch = looks.epoch();
        let unit = self.units.get(&(pot.key, epoch)).copied().unwrap_or_else(|| {
            let row = columns(&looks.facts(), pot.wish, &pot.genus, &self.genera);
            let coefficients: Vec<(f64, f64)> =
                self.coefficients.iter().map(|c| (c.1, c.2)).collect();
            let name = if pot.species.is_empty() { &pot.genus } else { &pot.species };
            let species = self.species.get(name).copied().unwrap_or((0.0, self.spreads[0]));
            let (mean, sd) = expected(&row, &coefficients, species, self.spreads[1]);
            Unit { mean, sd, borrowed: mean, borrowed_sd: sd, cycles: 0, dried: 0 }
        });
        let before = (0..epoch).rev().find_map(|e| self.units.get(&(pot.key, e)));
        before.map_or(unit, |b| carried(unit, b, self.spreads[1]))
    }
}

/// Joins what was known of a plant before its potting with what its new pot has shown: the plant's
/// own deviation stays with a correlation.
fn carried(unit: Unit, before: &Unit, plant_sd: f64) -> Unit {
    let own = (before.mean - before.borrowed, before.sd.min(plant_sd));
    let shift = CARRIED * own.0;
    let sd = ((1.0 - CARRIED * CARRIED) * plant_sd.powi(2) + (CARRIED * own.1).powi(2)).sqrt();
    let rest = (unit.borrowed_sd.powi(2) - plant_sd.powi(2)).max(0.0);
    let (mean, var) = (unit.borrowed + shift, rest + sd * sd);
    // The new pot's own records, as a normal likelihood: posterior less prior.
    let (prior, posterior) = (unit.borrowed_sd.powi(-2), unit.sd.powi(-2));
    let own = (posterior - prior).max(0.0);
    let at =
        if own > 1e-9 { (unit.mean * posterior - unit.borrowed * prior) / own } else { unit.mean };
    let whole = own + 1.0 / var;
    Unit {
        mean: (at * own + mean / var) / whole,
        sd: whole.recip().sqrt(),
        borrowed: mean,
        borrowed_sd: var.sqrt(),
        ..unit
    }
}

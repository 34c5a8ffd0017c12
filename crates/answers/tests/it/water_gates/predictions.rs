//! What is said of each pot on the evening of a round, held against what was true.

use stats::scores::{Grid, Outcome};
use trial::water::{House, TrueDrying, Written};

use super::engine::{Average, as_of, learn, pots};

/// What came of the predictions of one grower.
#[derive(Debug, Clone, Default)]
pub struct Judged {
    pub count: usize,
    /// How many intervals for 80 % held the truth, and how many it came after.
    pub held: usize,
    pub later: usize,
    /// Sums of scores \[d\], of the engine and of the species' average.
    pub score: f64,
    pub average: f64,
    /// Chances to be dry by tomorrow and whether it was.
    pub tomorrow: Vec<(f64, bool)>,
}

/// Evenings of rounds that took place, at least 30 days apart: on these every pot was either watered
/// or found moist, whatever anybody believed of it. (On other days one looks at what one believes
/// dry, and not to have looked says something that is written nowhere.)
fn evenings(house: &House, most: usize) -> Vec<i64> {
    let first = house.world.first_day;
    let mut out: Vec<i64> = Vec::new();
    for days in house.written.chunk_by(|a, b| a.day == b.day) {
        let day = days[0].day;
        let looked = days.iter().filter(|w| w.detail.contains_key("round")).count();
        let far = out.last().is_none_or(|last| day - last >= 30);
        if day >= first + 280 && far && looked * 2 > house.pots.len() && out.len() < most {
            out.push(day);
        }
    }
    out
}

/// When a drying ends, by the hour at which the plant was watered: what a look at this hour of a day
/// would find. Entries have days and no hours.
pub fn by_the_day(d: &TrueDrying) -> f64 {
    d.watered as f64 + d.dry - d.moment
}

/// The drying that goes on in the evening of a day, if nothing overtakes it: no loss of roots and no
/// new pot.
fn running(house: &House, plant: usize, day: i64) -> Option<&TrueDrying> {
    let of_plant = |d: &&TrueDrying| d.plant == plant && d.watered <= day;
    let d = house.truth.dryings.iter().rfind(of_plant)?;
    untouched(house, d).then_some(d)
}

/// Whether neither roots were lost nor the pot changed while it dried.
pub fn untouched(house: &House, d: &TrueDrying) -> bool {
    let pot = &house.pots[d.plant];
    pot.loses_roots.is_none_or(|day| d.dry < day as f64)
        && pot.potted_on.is_none_or(|day| day <= d.watered || d.dry < day as f64)
}

/// Whether an entry is a look of a round, or the watering that followed it.
fn of_round(w: &Written, plant: usize, day: i64) -> bool {
    w.plant == plant && w.day == day && w.detail.contains_key("round")
}

/// Judges a grower on some evenings.
pub fn judge(house: &House, evenings_each: usize) -> Judged {
    let pots = pots(house);
    let mut out = Judged::default();
    for evening in evenings(house, evenings_each) {
        let night = learn(house, &pots, evening);
        let average = Average::learn(house, &pots, evening);
        for (plant, pot) in pots.iter().enumerate() {
            let looked = house.written.iter().any(|w| of_round(w, plant, evening));
            let Some(d) = running(house, plant, evening).filter(|_| looked) else { continue };
            let pot = as_of(pot, evening);
            let now = night.now(&pot);
            if !now.counts() {
                continue;
            }
            let (start, dry) = (evening as f64, by_the_day(d));
            let chance = |t: f64| now.dry_by(t).unwrap();
            let (low, high) = (now.due(0.1).unwrap(), now.due(0.9).unwrap());
            out.count += 1;
            out.held += usize::from((low..=high).contains(&dry));
            out.later += usize::from(dry > high);
            out.score += grid(start, chance).crps(Outcome::Exact(dry)).unwrap();
            let state = average.of(house.pots[plant].species);
            let since = d.watered as f64;
            let plain = |t: f64| state.dry_by(t - since, start - since, 0.0);
            out.average += grid(start, plain).crps(Outcome::Exact(dry)).unwrap();
            out.tomorrow.push((chance(start + 1.0), dry <= start + 1.0));
        }
    }
    out
}

/// The distribution of the moment of dryness from an evening on, in steps of half a day.
fn grid(start: f64, chance: impl Fn(f64) -> f64) -> Grid {
    let (mut points, mut below) = (vec![start], vec![0.0]);
    let mut sure = 0.0f64;
    for k in 1..=240 {
        let t = start + f64::from(k) * 0.5;
        sure = chance(t).clamp(sure, 1.0);
        points.push(t);
        below.push(sure);
        if sure > 0.9995 {
            break;
        }
    }
    Grid::new(points, below).unwrap()
}

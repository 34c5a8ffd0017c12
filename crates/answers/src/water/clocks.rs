//! The demand clocks of a house: one for each place, from its air and light where they are known
//! and from what the looks of all pots say about each week.

use std::collections::BTreeMap;

use culture::clock::{Clock, DayClimate, Exponents, demand};
use serde::{Deserialize, Serialize};

use super::pots::Pot;

/// How far the clocks run into the future \[d\].
const AHEAD: i64 = 90;
/// A deficit below this makes the logarithm useless \[kPa\].
const LEAST_DEFICIT: f64 = 0.02;

/// What all pots of a house share.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shared {
    /// How strongly demand follows the deficit.
    pub dryness: f64,
    /// How strongly it follows the light.
    pub light: f64,
    /// How much ln X grows with ln(days since potting + 30).
    pub rooting: f64,
    /// The first day of the first week \[days since 1970-01-01\].
    pub first: i64,
    /// ln of how much faster than its climate says each week ran.
    pub weeks: Vec<f64>,
}

/// A share of last week's weather stays for the next. Common practice, no source.
pub(crate) const KEEP: f64 = 0.85;

impl Shared {
    /// What is held before anything was seen.
    pub(crate) fn usual(first: i64, last: i64) -> Self {
        let usual = Exponents::default();
        let weeks = usize::try_from((last - first).div_euclid(7) + 1).unwrap_or(1);
        Self {
            dryness: usual.a,
            light: usual.b,
            rooting: super::night::ROOTING.0,
            first,
            weeks: vec![0.0; weeks],
        }
    }

    /// Which week a day falls into, and what is left of its effect: before the first it has none,
    /// after the last it fades.
    fn week(&self, day: i64) -> Option<(usize, f64)> {
        let week = usize::try_from((day - self.first).div_euclid(7)).ok()?;
        let last = self.weeks.len().checked_sub(1)?;
        let later = i32::try_from(week.saturating_sub(last)).unwrap_or(i32::MAX);
        Some((week.min(last), KEEP.powi(later)))
    }

    /// Days since potting as ln X sees them: 0 half a year after it.
    pub(crate) fn since_potting(since: i64, potted: Option<i64>) -> f64 {
        #[allow(clippy::cast_precision_loss)]
        potted.map_or(0.0, |p| (((since - p).max(0) as f64 + 30.0) / 210.0).ln())
    }
}

/// A day's drying power: logarithms, 0 on a standard day.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Power {
    dryness: f64,
    light: f64,
    /// Whether it was measured.
    known: bool,
}

/// Half-lives that a forecast may take its mean of past days with \[d\].
const HALF_LIVES: [f64; 4] = [1.5, 3.0, 7.0, 21.0];
/// How many days ahead the error of forecasts is told apart.
const HORIZON: usize = 14;
/// The error that is taken where fewer forecasts than this can be judged: standard deviation on the
/// log scale. Common practice, no source.
const UNJUDGED: (usize, f64) = (30, 0.2);

/// How far a place's weather can be foreseen, judged by its own past.
#[derive(Debug, Clone, PartialEq)]
struct Outlook {
    /// Mean of the last days' power, by the half-life that foresaw five days best.
    coming: Power,
    /// Root mean square of ln(demand that came / demand foreseen), over 1, 2, … days.
    errors: [f64; HORIZON],
}

impl Outlook {
    /// Judges every forecast that could have been made in this past.
    fn of(past: &[Power], s: &Shared) -> Self {
        let log = |p: &Power| s.dryness * p.dryness + s.light * p.light;
        let kept = |half: f64| 0.5f64.powf(1.0 / half);
        let mut best: Option<(f64, Self)> = None;
        for half in HALF_LIVES {
            let keep = kept(half);
            let (mut weight, mut dryness, mut light) = (0.0, 0.0, 0.0);
            let mut errors = [(0.0, 0usize); HORIZON];
            for (t, day) in past.iter().enumerate() {
                // Seven days are the least that a mean is taken of.
                if t >= 7 && weight > 0.0 {
                    let foreseen =
                        Power { dryness: dryness / weight, light: light / weight, known: true };
                    let rate = log(&foreseen).exp();
                    let mut came = 0.0;
                    for (h, error) in errors.iter_mut().enumerate() {
                        let Some(day) = past.get(t + h).filter(|p| p.known) else { break };
                        came += log(day).exp();
                        let off: f64 = (came / (rate * (h + 1) as f64)).ln();
                        error.0 += off * off;
                        error.1 += 1;
                    }
                }
                if day.known {
                    weight = keep * weight + 1.0;
                    dryness = keep * dryness + day.dryness;
                    light = keep * light + day.light;
                }
            }
            let errors = errors
                .map(|(sum, n)| if n < UNJUDGED.0 { UNJUDGED.1 } else { (sum / n as f64).sqrt() });
            let whole = weight.max(1e-9);
            let coming = Power { dryness: dryness / whole, light: light / whole, known: false };
            let five = errors[4];
            if best.as_ref().is_none_or(|b| five < b.0) {
                best = Some((five, Self { coming, errors }));
            }
        }
        best.map_or(Self { coming: Power::default(), errors: [UNJUDGED.1; HORIZON] }, |b| b.1)
    }
}

/// The clocks.
#[derive(Debug, Clone, PartialEq)]
pub struct Clocks {
    shared: Shared,
    /// Each place's climate from the first day on.
    powers: BTreeMap<i64, Vec<Power>>,
    outlooks: BTreeMap<i64, Outlook>,
    clocks: BTreeMap<i64, Clock>,
    plain: Clock,
    /// The last day of which something may be known.
    today: i64,
}

/// The climate of a place: from which day on, and its days. A day without either is filled by the
/// place's usual day.
pub type Climate = (i64, Vec<DayClimate>);

impl Clocks {
    /// Clocks from the climates of places, up to `today`.
    #[must_use]
    pub fn new(climates: &BTreeMap<i64, Climate>, shared: Shared, today: i64) -> Self {
        let days = usize::try_from(today + AHEAD - shared.first + 1).unwrap_or(0);
        let powers = climates.iter().map(|(k, c)| (*k, powers(c, shared.first, days))).collect();
        let mut clocks = Self {
            shared,
            powers,
            outlooks: BTreeMap::new(),
            clocks: BTreeMap::new(),
            plain: Clock::standard(),
            today,
        };
        clocks.wind(days);
        clocks
    }

    fn wind(&mut self, days: usize) {
        let ahead = usize::try_from(self.today + 1 - self.shared.first).unwrap_or(0);
        let past = |p: &Vec<Power>| Outlook::of(&p[..ahead.min(p.len())], &self.shared);
        self.outlooks = self.powers.iter().map(|(k, p)| (*k, past(p))).collect();
        let rates = |powers: Option<(&Vec<Power>, &Outlook)>| {
            let rate = |i: usize| {
                let p = powers.map(|(powers, outlook)| match powers.get(i) {
                    Some(p) if p.known || i + 1 < ahead => *p,
                    _ => outlook.coming,
                });
                let p = p.unwrap_or_default();
                let s = &self.shared;
                let week = s.week(s.first + i as i64).map_or(0.0, |(w, left)| s.weeks[w] * left);
                (s.dryness * p.dryness + s.light * p.light + week).exp().clamp(0.02, 50.0)
            };
            Clock::new(self.shared.first, (0..days).map(rate).collect())
                .unwrap_or_else(|_| Clock::standard())
        };
        let each = self.powers.iter().filter_map(|(k, p)| Some((*k, (p, self.outlooks.get(k)?))));
        let clocks = each.map(|(k, known)| (k, rates(Some(known)))).collect();
        let plain = rates(None);
        (self.clocks, self.plain) = (clocks, plain);
    }

    /// The same climates with other shared effects.
    #[must_use]
    pub(crate) fn rewound(&self, shared: Shared) -> Self {
        let days = self.powers.values().map(Vec::len).max().unwrap_or(0);
        let days = days.max(usize::try_from(AHEAD).unwrap_or(0) + 7 * shared.weeks.len());
        let mut clocks = Self { shared, ..self.clone() };
        clocks.wind(days);
        clocks
    }

    /// What they were made with.
    #[must_use]
    pub fn shared(&self) -> &Shared {
        &self.shared
    }

    fn clock(&self, place: Option<i64>) -> &Clock {
        place.and_then(|p| self.clocks.get(&p)).unwrap_or(&self.plain)
    }

    /// Demand of a pot between two times \[d\], wherever it stood.
    #[must_use]
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation)]
    pub fn between(&self, pot: &Pot, from: f64, to: f64) -> f64 {
        let mut sum = 0.0;
        let mut at = from;
        let mut place = pot.place_on(from.floor() as i64);
        for (day, next) in &pot.places {
            let day = *day as f64;
            if day > at && day < to {
                sum += self.clock(place).between(at, day);
                at = day;
            }
            if day <= at {
                place = Some(*next);
            }
        }
        if at < to { sum + self.clock(place).between(at, to) } else { sum }
    }

    /// The time \[d\] at which a demand has been reached since `from`.
    #[must_use]
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation)]
    pub fn reached(&self, pot: &Pot, from: f64, wanted: f64) -> f64 {
        // Moves within one drying are few and in the past.
        let mut at = from;
        let mut left = wanted;
        for (day, _) in &pot.places {
            let day = *day as f64;
            if day > at {
                let part = self.clock(pot.place_on(at.floor() as i64)).between(at, day);
                if part >= left {
                    break;
                }
                left -= part;
                at = day;
            }
        }
        self.clock(pot.place_on(at.floor() as i64)).reached(at, left)
    }

    /// How many times as fast as days the clock of a place ran between two days.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn speed(&self, place: Option<i64>, from: i64, to: i64) -> Option<f64> {
        self.clock(place).speed(from as f64, to as f64)
    }

    /// Demand of a pot up to a time \[d\]: what has come, what is still foreseen, and the standard
    /// deviation of the logarithm of the latter, as far as it comes from the climate.
    #[must_use]
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation)]
    pub fn foreseen(&self, pot: &Pot, from: f64, to: f64) -> (f64, f64, f64) {
        // Half of today is seen, on average over the hours at which somebody asks.
        let known = (self.today as f64 + 0.5).clamp(from, to.max(from));
        let past = self.between(pot, from, known);
        if to <= known {
            return (past, 0.0, 0.0);
        }
        let ahead = self.between(pot, known, to);
        let outlook = pot.place_on(known.floor() as i64).and_then(|p| self.outlooks.get(&p));
        let sd = outlook.map_or(0.0, |o| {
            // Between whole numbers of days on the straight line.
            let at = (to - known - 1.0).clamp(0.0, (HORIZON - 1) as f64);
            let (k, part) = (at.floor() as usize, at.fract());
            let next = o.errors[(k + 1).min(HORIZON - 1)];
            o.errors[k] + part * (next - o.errors[k])
        });
        (past, ahead, sd)
    }

    /// Whether the climate of this place is known at all.
    #[must_use]
    pub fn knows(&self, place: Option<i64>) -> bool {
        place.is_some_and(|p| self.powers.contains_key(&p))
    }

    /// Which way ln X of a stretch moves with each shared effect: dryness, light, then weeks from
    /// place 3 on (place 2 is the rooting, which is not of the clock).
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub(crate) fn along(&self, pot: &Pot, from: i64, to: i64) -> Vec<(u32, f64)> {
        let mut sum = 0.0;
        let (mut dryness, mut light) = (0.0, 0.0);
        let mut weeks: BTreeMap<u32, f64> = BTreeMap::new();
        for day in from..to.max(from + 1) {
            let place = pot.place_on(day);
            let x = self.clock(place).between(day as f64, (day + 1) as f64);
            sum += x;
            let index = usize::try_from(day - self.shared.first).ok();
            if let Some(p) =
                place.and_then(|p| self.powers.get(&p)).and_then(|p| index.and_then(|i| p.get(i)))
            {
                dryness += x * p.dryness;
                light += x * p.light;
            }
            if let Some((week, left)) = self.shared.week(day) {
                *weeks.entry(3 + u32::try_from(week).unwrap_or(0)).or_default() += x * left;
            }
        }
        if sum <= 0.0 {
            return Vec::new();
        }
        let mut out = vec![(0, dryness / sum), (1, light / sum)];
        out.extend(weeks.into_iter().map(|(w, x)| (w, x / sum)));
        out.retain(|(_, v)| *v != 0.0);
        out
    }
}

/// The climate as logarithms of drying power; what is missing takes the place's mean.
fn powers((from, days): &Climate, first: i64, wanted: usize) -> Vec<Power> {
    let only = |a: f64, b: f64| Exponents { a, a_sd: 0.0, b, b_sd: 0.0 };
    let log = |climate: DayClimate, e: Exponents| demand(climate, &e).ok().map(|x| x.value.ln());
    let dryness = |d: &DayClimate| {
        let deficit = Some(d.deficit?.max(LEAST_DEFICIT));
        log(DayClimate { deficit, light: None }, only(1.0, 0.0))
    };
    let light =
        |d: &DayClimate| log(DayClimate { deficit: None, light: Some(d.light?) }, only(0.0, 1.0));
    let mean = |of: &dyn Fn(&DayClimate) -> Option<f64>| {
        let (sum, n) = days.iter().filter_map(of).fold((0.0, 0.0), |(s, n), x| (s + x, n + 1.0));
        if n > 0.0 { sum / n } else { 0.0 }
    };
    let usual = Power { dryness: mean(&dryness), light: mean(&light), known: false };
    (0..wanted)
        .map(|i| {
            let at = first + i as i64 - from;
            let day = usize::try_from(at).ok().and_then(|i| days.get(i));
            let (d, l) = (day.and_then(dryness), day.and_then(light));
            Power {
                dryness: d.unwrap_or(usual.dryness),
                light: l.unwrap_or(usual.light),
                known: d.is_some() || l.is_some(),
            }
        })
        .collect()
}

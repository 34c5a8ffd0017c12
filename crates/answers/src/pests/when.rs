//! Dates from the temperatures that there were: when a generation is through, when to look and to
//! treat again.

use culture::heat::{Dates, HeatSeries, Stage, stage_dates};
use serde::Serialize;

use super::{
    house::House,
    species::{Pest, Suspect},
};
use crate::{AskError, Result, climate::Day};

/// Where no temperature is known it is taken to lie between these \[°C\]: a heated room. Common
/// practice, no source.
const ASSUMED: [f64; 3] = [20.0, 22.0, 24.0];
/// What the temperature after today is taken from: the mean of the known days of so many \[d\].
const RECENT: usize = 14;
/// Known temperatures so far apart are joined by a straight line \[d\].
const JOINED: i64 = 7;
/// The wait before something is treated again where nothing is published on what was spared \[d\].
/// Common practice, no source.
const PLAIN_WAIT: f64 = 7.0;

/// When something is through \[days since 1970-01-01\].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Span {
    /// The fastest tenth of the fastest it may be.
    pub fast: i64,
    /// The usual time of the slowest it may be.
    pub usual: i64,
    /// All but the slowest tenth.
    pub slow: i64,
}

/// When to treat again, so that what was spared is hit before it multiplies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Window {
    /// The day from which it helps \[days since 1970-01-01\].
    pub opens: i64,
    /// The last day on which it still helps \[days since 1970-01-01\].
    pub closes: i64,
    /// How often again after the first, at such intervals.
    pub repeats: u32,
    /// Whether one repeat may do: all that was spared is out before the first multiply.
    pub one_does: bool,
}

/// The warmth at a place from a day on, with the range of what is not known.
pub(crate) struct Warmth {
    /// As cool, as likely and as warm as it may have been.
    series: [HeatSeries; 3],
    after: [f64; 3],
    /// Days with a temperature, and days in all, up to today.
    pub known: usize,
    pub all: usize,
    /// Whether a day lay outside of 15 to 30 °C.
    pub beyond: bool,
}

/// The warmth at a place from a day on.
pub(crate) fn warmth(house: &House<'_, '_>, place: Option<i64>, from: i64) -> Result<Warmth> {
    let days = house.days_at(place, from)?;
    let joined = joined(&days);
    let recent: Vec<f64> = days.iter().rev().take(RECENT).filter_map(|d| d.temperature).collect();
    let after = if recent.is_empty() {
        ASSUMED
    } else {
        #[allow(clippy::cast_precision_loss)]
        let mean = recent.iter().sum::<f64>() / recent.len() as f64;
        [mean - 1.0, mean, mean + 1.0]
    };
    let series = |at: usize| {
        #[allow(clippy::cast_precision_loss)]
        let time = |i: usize| from as f64 + i as f64 + 0.5;
        let of = |t: &Option<f64>| t.unwrap_or(ASSUMED[at]);
        let first = joined.first().map_or(after[at], of);
        #[allow(clippy::cast_precision_loss)]
        let mut samples = vec![(from as f64, first)];
        samples.extend(joined.iter().enumerate().map(|(i, t)| (time(i), of(t))));
        HeatSeries::new(samples)
            .map_err(|e| AskError::field("temperature", &house.place_name(place), e.to_string()))
    };
    Ok(Warmth {
        series: [series(0)?, series(1)?, series(2)?],
        after,
        known: days.iter().filter(|d| d.temperature.is_some()).count(),
        all: days.len(),
        beyond: days.iter().filter_map(|d| d.temperature).any(|t| !Stage::linear_at(t)),
    })
}

/// Temperatures day by day, straight across short gaps.
fn joined(days: &[Day]) -> Vec<Option<f64>> {
    let mut out: Vec<Option<f64>> = days.iter().map(|d| d.temperature).collect();
    let known: Vec<usize> = (0..out.len()).filter(|i| out[*i].is_some()).collect();
    for pair in known.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        if let (Some(from), Some(to)) = (out[a], out[b])
            && (b - a) as i64 <= JOINED
        {
            for (i, day) in out.iter_mut().enumerate().take(b).skip(a + 1) {
                #[allow(clippy::cast_precision_loss)]
                let share = (i - a) as f64 / (b - a) as f64;
                *day = Some(from + share * (to - from));
            }
        }
    }
    out
}

#[allow(clippy::cast_possible_truncation)]
fn day(time: f64) -> i64 {
    time.round() as i64
}

impl Warmth {
    /// When stages in a row are through: fast in the warmest, slow in the coolest it may be. None
    /// when it will be too cold.
    fn through(&self, stages: &[&Stage], from: f64) -> Result<Option<Dates>> {
        let mut all = Vec::new();
        for (series, after) in self.series.iter().zip(self.after) {
            let dates = stage_dates(stages, series, from, after)
                .map_err(|e| AskError::field("heat", stages[0].pest, e.to_string()))?;
            match dates {
                Some(d) => all.push(d),
                None => return Ok(None),
            }
        }
        Ok(Some(Dates { fast: all[2].fast, usual: all[1].usual, slow: all[0].slow }))
    }

    /// When a generation is over for each of the species that it may be. None when it is too cold
    /// or nothing is known of its heat.
    #[allow(clippy::cast_precision_loss)]
    pub(crate) fn generation(&self, pest: &Pest, from: i64) -> Result<Option<Span>> {
        let mut span: Option<Span> = None;
        for suspect in pest.suspects {
            for stage in suspect.stages(suspect.generation) {
                let Some(d) = self.through(&[stage], from as f64)? else { return Ok(None) };
                let one = Span { fast: day(d.fast), usual: day(d.usual), slow: day(d.slow) };
                span = Some(span.map_or(one, |s| Span {
                    fast: s.fast.min(one.fast),
                    usual: s.usual.max(one.usual),
                    slow: s.slow.max(one.slow),
                }));
            }
        }
        Ok(span)
    }

    /// When to treat again after a contact treatment on a day. None where the stages of one of the
    /// species that it may be are not published, or it is too cold.
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    pub(crate) fn window(&self, pest: &Pest, treated: i64) -> Result<Option<Window>> {
        let from = treated as f64;
        let (mut spared_out, mut grown, mut middle) = (from, f64::INFINITY, from);
        for suspect in pest.suspects {
            if suspect.exposed.is_empty() {
                return Ok(None);
            }
            let Some((slow, usual)) = self.spared(suspect, from)? else { return Ok(None) };
            let Some(out) = self.through(&suspect.stages(suspect.exposed), from)? else {
                return Ok(None);
            };
            spared_out = spared_out.max(slow);
            middle = middle.max(usual);
            grown = grown.min(out.fast);
        }
        if !grown.is_finite() {
            return Ok(None);
        }
        let interval = (grown - from).max(1.0);
        let one_does = spared_out <= grown;
        // Where the window is closed, once half of what was spared is out.
        let opens = if one_does { spared_out } else { middle.min(grown) };
        Ok(Some(Window {
            opens: day(opens.ceil()),
            closes: day(grown.floor()).max(day(opens.ceil())),
            repeats: ((spared_out - from) / interval).ceil().max(1.0) as u32,
            one_does,
        }))
    }

    /// When the last of what a treatment spares are out, and half of them.
    fn spared(&self, suspect: &Suspect, from: f64) -> Result<Option<(f64, f64)>> {
        let mut out = (from + PLAIN_WAIT, from + PLAIN_WAIT);
        for (i, stage) in suspect.stages(suspect.spared).into_iter().enumerate() {
            let Some(d) = self.through(&[stage], from)? else { return Ok(None) };
            out = if i == 0 { (d.slow, d.usual) } else { (out.0.max(d.slow), out.1.max(d.usual)) };
        }
        Ok(Some(out))
    }
}

/// When to look again after a sign: a third of the fastest generation later, so that three looks
/// fall before new ones multiply, within 3 and 14 days; and the latest day, half a generation
/// later. A week where nothing is known of its heat (common practice).
pub(crate) fn next_look(sign: i64, generation: Option<Span>, from: i64) -> (i64, i64) {
    let Some(length) = generation.map(|g| g.fast - from) else { return (sign + 7, sign + 14) };
    (sign + (length / 3).clamp(3, 14), sign + (length / 2).clamp(4, 21))
}

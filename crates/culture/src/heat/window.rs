//! When to look again, and when to treat again.

use serde::Serialize;

use crate::{
    Spread,
    estimate::Z80,
    heat::{HeatError, HeatSeries, Stage, Thresholds, pest::LINEAR_TO},
};

/// When a stage is through \[d\].
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Dates {
    /// The fastest tenth.
    pub fast: f64,
    /// The usual time.
    pub usual: f64,
    /// All but the slowest tenth.
    pub slow: f64,
}

/// When the stages, one after the other, are through, from temperatures at times \[d\] and the
/// temperature \[°C\] expected afterwards. `None` when it will be too cold.
///
/// The heat needed is log-normal with a standard deviation of 0.2; stages of one animal are fast
/// or slow together.
///
/// # Errors
/// When a base temperature of a stage cannot be used.
pub fn stage_dates(
    stages: &[&Stage],
    series: &HeatSeries,
    from: f64,
    after: f64,
) -> Result<Option<Dates>, HeatError> {
    let at = |z: f64| -> Result<Option<f64>, HeatError> {
        let mut time = from;
        for stage in stages {
            let Spread::LogSd(sd) = stage.heat.spread else { continue };
            let thresholds = Thresholds::new(stage.base.value, Some(LINEAR_TO.value))?;
            let needed = stage.heat.value * (z * sd).exp();
            match series.reached_with(time, needed, &thresholds, after) {
                Some(reached) => time = reached,
                None => return Ok(None),
            }
        }
        Ok(Some(time))
    };
    Ok(match (at(-Z80)?, at(0.0)?, at(Z80)?) {
        (Some(fast), Some(usual), Some(slow)) => Some(Dates { fast, usual, slow }),
        _ => None,
    })
}

/// How often something that spares the eggs has to be repeated.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RepeatWindow {
    /// Egg time \[d after the first\]: the last eggs hatch at its slow end.
    pub eggs: Dates,
    /// Time from hatching to the adult \[d\].
    pub hatch_to_adult: Dates,
    /// Not longer between two \[d\]: before the fastest hatchlings lay.
    pub interval: f64,
    /// How often again after the first.
    pub repeats: u32,
    /// Whether one repeat would do, at the usual speed: after the eggs and before the adults.
    pub one_would_do_at_usual_speed: bool,
}

/// The window for a pest by its egg stage and the stages from hatching to the adult, at times
/// from `from` \[d\] on. `None` when it will be too cold.
///
/// It names no product and no dose; where a label asks for longer intervals or fewer treatments,
/// the label holds.
///
/// # Errors
/// When a base temperature of a stage cannot be used.
pub fn repeat_window(
    egg: &Stage,
    to_adult: &[&Stage],
    series: &HeatSeries,
    from: f64,
    after: f64,
) -> Result<Option<RepeatWindow>, HeatError> {
    let since =
        |d: Dates| Dates { fast: d.fast - from, usual: d.usual - from, slow: d.slow - from };
    let eggs = stage_dates(&[egg], series, from, after)?.map(since);
    let grown = stage_dates(to_adult, series, from, after)?.map(since);
    let (Some(eggs), Some(hatch_to_adult)) = (eggs, grown) else { return Ok(None) };
    let interval = hatch_to_adult.fast;
    Ok(Some(RepeatWindow {
        eggs,
        hatch_to_adult,
        interval,
        repeats: (eggs.slow / interval).ceil() as u32,
        one_would_do_at_usual_speed: eggs.usual < hatch_to_adult.usual,
    }))
}

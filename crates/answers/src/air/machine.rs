//! What a humidifier or dehumidifier would have to do.

use culture::{
    air::{Air, saturation_pressure},
    machine::{Room, load, size_for, warming},
};
use serde::Serialize;

use super::{AirSettings, Found, LEAST_DAYS, Usual, Wanted};
use crate::Result;

/// What a plant gives off a day \[g\]. Common practice, no source; the spread is that of the
/// calculation.
pub(super) const BY_PLANT: f64 = 30.0;
/// Air changes of a room whose windows are shut \[1/h\]. Common practice, no source.
pub(super) const AIR_CHANGES: f64 = 0.5;
/// Electric power of a dehumidifier by the litres on its box \[W d/L\]. Common practice.
const POWER: f64 = 20.0;
/// Heat that the walls of a room pass by its volume \[W/(m³ K)\]. Common practice, no source.
const WALLS: f64 = 1.0;

/// What a machine would have to do to bring the days to the middle of what is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Machine {
    /// Water to bring in (above 0) or to take out (below 0) \[L/d\].
    pub litres: Usual,
    /// What the plants give off of it \[L/d\].
    pub plants: f64,
    /// How dry or moist the air would be then \[%\].
    pub target: f64,
    /// The size of a dehumidifier as its box says \[L/d\], where water has to be taken out.
    pub size: Option<f64>,
    /// How much such a machine warms the room \[K\].
    pub warming: Option<f64>,
}

/// What a machine would do; none when the room is not known, there are too few days, or the days
/// are as wanted.
pub(super) fn machine(
    settings: &AirSettings,
    found: &Found,
    wanted: &Wanted,
    plants: i64,
) -> Result<Option<Machine>> {
    let days: Vec<f64> = found.days.iter().filter_map(|d| d.day_deficit).collect();
    let Some(volume) = settings.volume.filter(|_| days.len() >= LEAST_DAYS) else {
        return Ok(None);
    };
    let mean = days.iter().sum::<f64>() / days.len() as f64;
    if (wanted.least..=wanted.most).contains(&mean) {
        return Ok(None);
    }
    let lit: Vec<&Air> = found.readings.iter().filter(|r| r.lit).map(|r| &r.air).collect();
    let n = lit.len() as f64;
    let warm = lit.iter().map(|a| a.temperature()).sum::<f64>() / n;
    let humid = lit.iter().map(|a| a.humidity()).sum::<f64>() / n;
    let middle = 0.5 * (wanted.least + wanted.most);
    let leaf = saturation_pressure(warm + found.leaf.lit);
    let target = (100.0 * (leaf - middle) / saturation_pressure(warm)).clamp(5.0, 100.0);
    let air = |humidity: f64| Air::new(warm, humidity);
    let (Ok(now), Ok(then)) = (air(humid.clamp(0.0, 100.0)), air(target)) else { return Ok(None) };
    let room = Room { volume, air_changes: settings.air_changes.unwrap_or(AIR_CHANGES) };
    let by_plants = plants as f64 * BY_PLANT;
    // The readings were taken with the plants there: what they give off is in the air already, and
    // a change of the air has to be held against the air that comes in, which is as it was.
    let Ok(load) = load(&room, &now, &then, &now, 0.0) else { return Ok(None) };
    let out = load.per_day;
    let (a, b) = (-out.lower, -out.upper);
    let litres = Usual { value: -out.value, lower: a.min(b), upper: a.max(b) };
    let size = (out.value > 0.0)
        .then(|| {
            size_for(&culture::Estimate {
                value: out.value,
                lower: out.lower.min(out.upper),
                upper: out.lower.max(out.upper),
            })
        })
        .flatten()
        .map(|s| s.rated);
    let warms = size.and_then(|s| warming(s * POWER, WALLS * volume, &room).ok());
    Ok(Some(Machine { litres, plants: by_plants / 1000.0, target, size, warming: warms }))
}

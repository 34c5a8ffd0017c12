//! Moving a plant to more or less light without harm.

use super::{LightError, amount, positive};
use crate::{Basis, Constant, Spread};

const fn habit(
    name: &'static str,
    value: f64,
    unit: &'static str,
    (low, high): (f64, f64),
) -> Constant {
    Constant {
        name,
        value,
        unit,
        spread: Spread::Range(low, high),
        basis: Basis::CommonPractice,
        source: "",
    }
}

/// By how much daily light may rise in one step \[1\].
pub const STEP_UP: Constant = habit("step_up", 1.5, "1", (1.3, 1.6));
/// The same for variegated and velvet leaves \[1\].
pub const STEP_UP_TENDER: Constant = habit("step_up_tender", 1.25, "1", (1.15, 1.3));
/// Days to stay at a step, or until a new leaf has hardened \[d\].
pub const HOLD: Constant = habit("hold_step", 14.0, "d", (10.0, 14.0));
/// Days for each halving of the light \[d\].
pub const HALVING: Constant = Constant {
    name: "days_per_halving",
    value: 25.0,
    unit: "d",
    spread: Spread::Range(21.0, 28.0),
    basis: Basis::Published,
    source: "compensation point of Leea settled within 25 days, HortScience (about 1992), abstract",
};
/// Bleach index from which to warn \[1\].
pub const BLEACH_WARNING: Constant = habit("bleach_warning", 1.5, "1", (1.3, 1.8));
/// Bleach index from which leaves are in danger \[1\].
pub const BLEACH_ALARM: Constant = habit("bleach_alarm", 2.5, "1", (2.0, 3.0));
/// Minutes of new direct sun a day from which leaves are in danger \[min\].
pub const DIRECT_SUN_ALARM: Constant = habit("direct_sun_alarm", 20.0, "min", (10.0, 40.0));
/// Days over which a leaf remembers its light \[d\].
pub const MEMORY: Constant = habit("light_memory", 30.0, "d", (20.0, 40.0));

pub(super) const CONSTANTS: &[Constant] = &[
    STEP_UP,
    STEP_UP_TENDER,
    HOLD,
    HALVING,
    BLEACH_WARNING,
    BLEACH_ALARM,
    DIRECT_SUN_ALARM,
    MEMORY,
];

/// The days that a bleach index looks back over.
const LOOK_BACK: usize = 14;

/// A step of a move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Day on which it begins, 0 for the first \[d\].
    pub day: u32,
    /// Daily light from then on \[mol m⁻² d⁻¹\].
    pub dli: f64,
}

/// Steps from one daily light integral to another \[mol m⁻² d⁻¹, above 0\], equal in proportion; the
/// last one is the wanted light. `tender` is for variegated and velvet leaves.
///
/// # Errors
/// When one of them is not above zero.
pub fn steps(from: f64, to: f64, tender: bool) -> Result<Vec<Step>, LightError> {
    let ratio = positive("daily light wanted", to)? / positive("daily light now", from)?;
    let (most, hold) = match (ratio < 1.0, tender) {
        (true, _) => (0.5, HALVING.value),
        (false, true) => (STEP_UP_TENDER.value, HOLD.value),
        (false, false) => (STEP_UP.value, HOLD.value),
    };
    // A little slack, so that a move of exactly one step is one step.
    let n = (ratio.ln() / f64::ln(most) - 1e-9).ceil().max(0.0) as u32;
    let each = ratio.powf(1.0 / f64::from(n.max(1)));
    let step = |k: u32| Step {
        day: (f64::from(k) * hold) as u32,
        dli: if k + 1 == n { to } else { from * each.powi(k as i32 + 1) },
    };
    Ok((0..n).map(step).collect())
}

/// How much danger a change of light is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Danger {
    /// Nothing unusual.
    None,
    /// Look at the leaves.
    Warning,
    /// Shade the plant.
    Alarm,
}

/// Greatest ratio within the last fourteen days of a day's light to what the leaf was used to (a
/// mean in which each day counts less the longer ago it is).
///
/// `dlis` are the daily light integrals \[mol m⁻² d⁻¹\], the oldest first, without gaps. None with
/// fewer than fifteen days, or when it was dark before: then nothing is known of what the leaf is
/// used to.
///
/// # Errors
/// When one of them is negative.
pub fn bleach_index(dlis: &[f64]) -> Result<Option<f64>, LightError> {
    for dli in dlis {
        amount("daily light", *dli)?;
    }
    if dlis.len() <= LOOK_BACK {
        return Ok(None);
    }
    let weight = 2.0 / (MEMORY.value + 1.0);
    let first = dlis.len() - LOOK_BACK;
    // The days before the last fourteen say what the leaf was used to when they began.
    let mut used_to = dlis[0];
    let mut worst: Option<f64> = None;
    for (k, dli) in dlis.iter().enumerate().skip(1) {
        if k >= first && used_to > 0.0 {
            worst = Some(worst.unwrap_or(0.0).max(dli / used_to));
        }
        used_to += weight * (dli - used_to);
    }
    Ok(worst)
}

/// How dangerous a bleach index is, with minutes of direct sun a day that the leaf did not get
/// before \[min\].
///
/// # Errors
/// When one of them is negative.
pub fn danger(bleach_index: f64, new_direct_minutes: f64) -> Result<Danger, LightError> {
    let index = amount("bleach index", bleach_index)?;
    let minutes = amount("minutes of direct sun", new_direct_minutes)?;
    Ok(if index > BLEACH_ALARM.value || minutes > DIRECT_SUN_ALARM.value {
        Danger::Alarm
    } else if index > BLEACH_WARNING.value {
        Danger::Warning
    } else {
        Danger::None
    })
}

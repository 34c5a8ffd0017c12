//! What to mind about electricity, eyes and heat.

use culture::light::acclimatise;
use texts::Texts;

use super::place::Lit;

/// The cautions that this place wants.
pub(super) fn cautions(lit: &Lit, t: Texts) -> Vec<&'static str> {
    let said = [
        t.t("Lamps, drivers and timers on shelves that get wet need a rating for damp places and a residual-current breaker; unplug them before watering or misting."),
        t.t("Do not look into bare blue, violet or ultraviolet diodes; keep them below eye level or behind a screen."),
        t.t("Within 15 cm of a lamp, and in sun behind glass, leaves grow several degrees warmer than the air: feel or measure them before leaving a plant there."),
    ];
    let lamps = !lit.described.lamps.is_empty();
    let close = lit.described.lamps.iter().any(|l| l.height < 15.0);
    let sun = (1..=12).any(|m| {
        let most = lit.ways.iter().map(|w| w.1.most_direct_minutes(m)).fold(0.0, f64::max);
        most > acclimatise::DIRECT_SUN_ALARM.value
    });
    let [water, eyes, heat] = said;
    [(lamps, water), (lamps, eyes), (close || sun, heat)]
        .into_iter()
        .filter(|c| c.0)
        .map(|c| c.1)
        .collect()
}

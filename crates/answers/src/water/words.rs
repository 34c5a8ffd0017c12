//! What the page of the day says about a plant's water, in the reader's language.

use jiff::civil::Date;
use texts::Texts;

use super::today::{PlantToday, RestsOn};
use crate::Hand;

/// A chance in words: from “almost certainly moist” to “almost certainly dry”.
#[must_use]
pub fn dry_words(chance: f64, t: Texts) -> &'static str {
    match percent(chance) {
        95.. => t.t("almost certainly dry"),
        80..95 => t.t("very likely dry"),
        60..80 => t.t("likely dry"),
        40..60 => t.t("as likely dry as not"),
        20..40 => t.t("unlikely dry yet"),
        5..20 => t.t("very unlikely dry"),
        _ => t.t("almost certainly moist"),
    }
}

/// A chance in whole percent, never 0 and never 100.
#[must_use]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
pub fn percent(chance: f64) -> u8 {
    (100.0 * chance).round().clamp(1.0, 99.0) as u8
}

/// A number of days in words: whole from three on.
fn days_words(days: f64, t: Texts) -> String {
    let n = if days < 2.95 { format!("{days:.1}") } else { format!("{days:.0}") };
    t.f("{n} days", &[("n", &n)])
}

fn day(days: i64, hand: &Hand) -> String {
    let date = i32::try_from(days).ok().and_then(dates::from_days).unwrap_or(Date::MIN);
    dates::say(&dates::Edtf::from_day(date), hand.lang, Some(hand.today))
}

/// Why a plant stands where it does on the axis.
#[must_use]
pub fn reason(p: &PlantToday, hand: &Hand) -> String {
    let t = hand.texts();
    let watered = [("day", &day(p.watered, hand) as &dyn std::fmt::Display)];
    let mut said = match (p.waits_since, p.moist) {
        (Some(since), _) => {
            t.f("Found dry on {day} and not watered since", &[("day", &day(since, hand))])
        }
        (None, Some(moist)) => {
            t.f("Watered {day}, still moist on {look}", &[watered[0], ("look", &day(moist, hand))])
        }
        (None, None) => t.f("Watered {day}, no look since", &watered),
    };
    said.push_str("; ");
    said.push_str(&t.f("usually dry in {days}", &[("days", &days_words(p.usually[1], t))]));
    if p.speed > 1.15 {
        let by = format!("{:.1}", p.speed);
        said.push_str(&t.f("; its clock ran {n} times as fast as usual", &[("n", &by)]));
    } else if p.speed < 0.87 {
        let by = format!("{:.1}", p.speed);
        said.push_str(
            &t.f("; dull or cool days, its clock ran at {n} of its usual pace", &[("n", &by)]),
        );
    }
    match p.rests_on {
        RestsOn::Own => {}
        RestsOn::Others => said.push_str(t.t("; borrowed from similar plants here")),
        RestsOn::Nothing => said.push_str(t.t("; common practice, nothing is learnt here yet")),
    }
    said.push('.');
    said
}

/// What to look at when the last drying was odd.
#[must_use]
pub fn odd_words(p: &PlantToday, t: Texts) -> Option<&'static str> {
    let odd = p.odd?;
    Some(if odd > 0.0 {
        t.t("Drying much slower than usual: look at the roots.")
    } else {
        t.t("Drying much faster than usual: look whether roots fill the pot or the mix sheds water.")
    })
}

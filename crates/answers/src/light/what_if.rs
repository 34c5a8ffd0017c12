//! What a move would do to a plant: light now and then, and the steps on the way.

use culture::{
    Estimate,
    light::acclimatise::{self, DIRECT_SUN_ALARM, Danger},
};
use journal::{PlantRow, Reader};
use serde::Serialize;

use super::{
    model,
    place::{Amount, Lit, Standing, amount, enough_words, need_place, spot_of},
    spot,
    wants::Wants,
};
use crate::{AskError, Hand, NameText, Result, plant_page::display_name, said::number};

/// A step of a move.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MoveStep {
    /// From which day on \[days since 1970-01-01\].
    pub day: i64,
    /// The same in words.
    pub date: String,
    /// Daily light from then on, as it is shown \[mol m⁻² d⁻¹\].
    pub light: String,
}

/// What a move would do.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WhatIf {
    /// The plant.
    pub plant: i64,
    /// Its name.
    pub name: NameText,
    /// Where it stands; empty when that is not known.
    pub from: String,
    /// Where it would stand.
    pub to: String,
    /// Light now; none where its place is not described.
    pub now: Option<Amount>,
    /// What it is enough for.
    pub now_words: String,
    /// Light then.
    pub then: Amount,
    /// What it would be enough for.
    pub then_words: String,
    /// How many times as much as now, as it is shown.
    pub times: Option<String>,
    /// On which way there; one step where the move can be made at once.
    pub steps: Vec<MoveStep>,
    /// Minutes of direct sun on a cloudless day of this month that it does not get now \[min\].
    pub new_sun: f64,
    /// What is to be feared for its leaves, in a sentence.
    pub danger: String,
    /// The whole in a sentence.
    pub sentence: String,
    /// What to look at.
    pub cautions: Vec<String>,
}

/// Where somebody or something gets its light.
pub(crate) struct Stand {
    pub ways: Vec<Estimate>,
    pub sun: f64,
}

impl Stand {
    /// The light of a spot on a place, or of its middle where the spot is not known.
    pub fn new(lit: &Lit, spot: Option<(f64, f64)>, month: usize) -> Self {
        let at = spot.unwrap_or_else(|| lit.middle());
        Self { ways: lit.at(at, month), sun: lit.direct_minutes(at, month) }
    }

    /// One number for it: the middle of the ways by their ratio.
    pub fn typical(&self) -> f64 {
        let logs: f64 = self.ways.iter().map(|w| w.value.max(1e-3).ln()).sum();
        (logs / self.ways.len().max(1) as f64).exp()
    }
}

/// The light of a place, which must be known.
pub(crate) fn need_light(
    reader: &Reader<'_>,
    place: &journal::PlaceRow,
    hand: &Hand,
) -> Result<Lit> {
    let entries = reader.entries_about(place.id, usize::MAX)?;
    match Lit::read(reader, place.id, &entries, hand)? {
        Some(lit) if lit.standing == Standing::Known => Ok(lit),
        Some(lit) if lit.standing == Standing::NeedsLatitude => Err(AskError::NotThere {
            kind: "latitude of the house, without which the window says nothing for place",
            which: place.number.to_string(),
            next: "tell it once, under House or with `umbel places house --latitude`",
        }),
        _ => Err(AskError::NotThere {
            kind: "described light of place",
            which: place.number.to_string(),
            next: "describe its window and lamps first, on its page or with `umbel places describe`",
        }),
    }
}

/// What would become of a plant on a place, at a spot as typed or in its middle. `tender` is for
/// variegated and velvet leaves.
///
/// # Errors
/// If the plant or place is not there, the light of the place is not described, the spot cannot be
/// read, or the record cannot be read.
pub fn what_if(
    reader: &Reader<'_>,
    plant: i64,
    place: i64,
    spot_typed: &str,
    tender: bool,
    hand: &Hand,
) -> Result<WhatIf> {
    let row = crate::acts::plants::need_plant(reader, plant)?;
    let target = need_place(reader, place)?;
    let lit = need_light(reader, &target, hand)?;
    let spot = match spot_typed.trim() {
        "" => None,
        words => Some(spot::read(words, lit.described.width, lit.described.depth).ok_or_else(
            || AskError::field("spot", words, "is no spot there; write centimetres from the left and from the back, such as 40, 15, or words such as left front"),
        )?),
    };
    let month = model::month_of(hand.today_number());
    let then = Stand::new(&lit, spot, month);
    let now = now_of(reader, &row, month, hand)?;
    said(&row, &target.name, now, &then, tender, hand)
}

/// Where a plant stands now and what it gets there; none where that is not described.
fn now_of(reader: &Reader<'_>, row: &PlantRow, month: usize, hand: &Hand) -> Result<Option<Stand>> {
    let place = match row.place_id.map(|id| reader.subject_by_id(id)).transpose()?.flatten() {
        Some(subject) => reader.place(subject.number)?,
        None => None,
    };
    let Some(place) = place else { return Ok(None) };
    let Ok(lit) = need_light(reader, &place, hand) else { return Ok(None) };
    let size = (lit.described.width, lit.described.depth);
    let spot = spot_of(reader, row.id, &place, size)?;
    Ok(Some(Stand::new(&lit, spot, month)))
}

fn said(
    row: &PlantRow,
    to: &str,
    now: Option<Stand>,
    then: &Stand,
    tender: bool,
    hand: &Hand,
) -> Result<WhatIf> {
    let t = hand.texts();
    let wants = Wants::of_genus(&row.genus);
    let (_, then_words) = enough_words(&then.ways, &wants, t);
    let amount_then = amount(&then.ways, hand).ok_or_else(|| {
        AskError::field("light", "of this place", "cannot be computed; describe it again")
    })?;
    let steps = match &now {
        Some(now) => steps(now.typical(), then.typical(), tender, hand)?,
        None => Vec::new(),
    };
    let new_sun = (then.sun - now.as_ref().map_or(0.0, |n| n.sun)).max(0.0);
    let danger = match &now {
        Some(now) => Some(danger(now, then, new_sun)?),
        None => None,
    };
    let times = now.as_ref().map(|n| then.typical() / n.typical());
    let now_amount = now.as_ref().and_then(|n| amount(&n.ways, hand));
    let now_words = now.as_ref().map(|n| enough_words(&n.ways, &wants, t).1).unwrap_or_default();
    let sentence = match (&now_amount, times) {
        (Some(before), Some(times)) => t.f(
            "Now {now} mol m⁻² d⁻¹, {now_words}; there {then}, {then_words}: {times} times as much.",
            &[
                ("now", &before.shown),
                ("now_words", &now_words),
                ("then", &amount_then.shown),
                ("then_words", &then_words),
                ("times", &number(times, 1, hand.lang)),
            ],
        ),
        _ => t.f(
            "There {then} mol m⁻² d⁻¹, {then_words}. What it is used to is not known: where it stands now is not described, so look at a photo of its leaves before and two weeks after the move.",
            &[("then", &amount_then.shown), ("then_words", &then_words)],
        ),
    };
    let mut cautions = Vec::new();
    if steps.len() > 1 {
        cautions.push(t.t("Raise the light by half at most, by a quarter for variegated and velvet leaves, then wait two weeks or until a new leaf has hardened. Old leaves do not adapt fully: judge by the new ones.").to_owned());
    }
    if times.is_some_and(|x| x < 0.67) {
        cautions.push(t.t("Less light costs leaves: expect some to drop over the first weeks, and water less.").to_owned());
    }
    Ok(WhatIf {
        plant: row.number,
        name: display_name(&row.name, None, hand),
        from: row.place.clone(),
        to: to.to_owned(),
        now: now_amount,
        now_words,
        then: amount_then,
        then_words,
        times: times.map(|x| number(x, 1, hand.lang)),
        steps,
        new_sun,
        danger: danger.map(|d| danger_words(d, new_sun, hand)).unwrap_or_default(),
        sentence,
        cautions,
    })
}

/// The way from one light to another, with dates from today on.
pub(crate) fn steps(from: f64, to: f64, tender: bool, hand: &Hand) -> Result<Vec<MoveStep>> {
    if from <= 0.0 || to <= 0.0 {
        return Ok(Vec::new());
    }
    let today = hand.today_number();
    let steps = acclimatise::steps(from, to, tender).map_err(model::refused)?;
    let one = |step: acclimatise::Step| {
        let day = today + i64::from(step.day);
        let date = i32::try_from(day).ok().and_then(dates::from_days).unwrap_or(hand.today);
        MoveStep {
            day,
            date: dates::say(&dates::Edtf::from_day(date), hand.lang, Some(hand.today)),
            light: number(step.dli, 1, hand.lang),
        }
    };
    Ok(steps.into_iter().map(one).collect())
}

/// How dangerous it would be to move at once: a month as now, then a fortnight as then; the darkest
/// way now and the brightest then, since leaves cannot be mended.
fn danger(now: &Stand, then: &Stand, new_sun: f64) -> Result<Danger> {
    let least = now.ways.iter().map(|w| w.value).fold(f64::INFINITY, f64::min);
    let most = then.ways.iter().map(|w| w.value).fold(0.0, f64::max);
    let days = [vec![least.max(1e-3); 30], vec![most; 14]].concat();
    let index = acclimatise::bleach_index(&days).map_err(model::refused)?.unwrap_or(1.0);
    acclimatise::danger(index, new_sun).map_err(model::refused)
}

fn danger_words(danger: Danger, new_sun: f64, hand: &Hand) -> String {
    let t = hand.texts();
    let minutes = number(new_sun, 0, hand.lang);
    match danger {
        Danger::None => t.t("Nothing unusual for its leaves, if moved at once.").to_owned(),
        Danger::Warning => t
            .t("Moved at once, its leaves may pale: look at them every few days.")
            .to_owned(),
        Danger::Alarm if new_sun > DIRECT_SUN_ALARM.value => t.f(
            "Moved at once, its leaves are in danger: {minutes} minutes of direct sun a day that it does not get now. Shade it at first.",
            &[("minutes", &minutes)],
        ),
        Danger::Alarm => t
            .t("Moved at once, its leaves are in danger of bleaching. Go by steps, or shade it at first.")
            .to_owned(),
    }
}

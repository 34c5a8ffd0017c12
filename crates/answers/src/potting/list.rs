//! Which plants want a larger pot: the list, and the lines of Today.

use journal::{PlantRow, Reader, SubjectKind};
use serde::Serialize;
use serde_json::{Map, json};

use super::{
    held::{common_pot, pot_of},
    repot::{AllRoots, Chance, in_flower, key, months, present},
};
use crate::{
    Hand, NameText, Result,
    due::{About, Done, Due},
    feed::group_words,
    name_text,
    said::{chance_words, figures},
};

/// The next pot holds so many times as much: 1.5 to 2, common practice.
const LARGER: f64 = 1.75;
/// Lines of the list begin at this chance.
const LISTED: f64 = 0.4;
/// Lines of Today begin at this chance, and there are no more than so many of them.
const DUE: f64 = 2.0 / 3.0;
const MOST_DUE: usize = 12;

/// A plant that may want a larger pot.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PotLine {
    /// Its number.
    pub plant: i64,
    /// What it is called here.
    pub name: NameText,
    /// Where it stands.
    pub place: String,
    /// Its pot as typed; may be empty.
    pub pot: String,
    /// Width of the pot to take next \[cm\], to the half.
    pub next_pot: Option<f64>,
    /// How likely it needs it.
    pub chance: Chance,
    /// Whether it is in bud or flower and should be left alone.
    pub in_flower: bool,
    /// Why, in the reader's language.
    pub reason: String,
}

/// The plants that may want a larger pot, the likeliest first.
///
/// # Errors
/// If the record cannot be read.
pub fn to_pot(reader: &Reader<'_>, hand: &Hand) -> Result<Vec<PotLine>> {
    lines(reader, hand, LISTED)
}

fn lines(reader: &Reader<'_>, hand: &Hand, least: f64) -> Result<Vec<PotLine>> {
    let mut roots = AllRoots::read(reader)?;
    let now = present(reader)?;
    let today = hand.today_number();
    let mut out = Vec::new();
    for plant in reader.living()? {
        let Some(now) = now.get(&plant.id) else { continue };
        let group = key(&plant.genus);
        let chance = roots.chance(&group, now, today)?;
        if chance < least {
            continue;
        }
        let chance = Chance { chance, seen: now.full.is_some(), months: months(now, today) };
        out.push((chance, group, plant));
    }
    out.sort_by(|a, b| {
        b.0.seen
            .cmp(&a.0.seen)
            .then(b.0.chance.total_cmp(&a.0.chance))
            .then(a.2.number.cmp(&b.2.number))
    });
    out.into_iter().map(|(c, g, p)| line(reader, p, &g, c, hand)).collect()
}

fn line(
    reader: &Reader<'_>,
    plant: PlantRow,
    group: &str,
    chance: Chance,
    hand: &Hand,
) -> Result<PotLine> {
    let t = hand.texts();
    let potted = reader.entries_of_kinds(plant.id, &["potted"])?.pop();
    let detail = potted.map(|e| e.detail).unwrap_or_default();
    let typed = detail.get("pot").and_then(|p| p.get("typed")).and_then(|v| v.as_str());
    let months = figures(chance.months.round(), 2, t.lang());
    let reason = if chance.seen {
        t.f("potted {n} months ago, and its roots were seen to circle", &[("n", &months)])
    } else {
        t.f(
            "potted {n} months ago; roots of {group} fill it by now: {chance}",
            &[
                ("n", &months),
                ("group", &group_words(group, t)),
                ("chance", &chance_words(chance.chance, t)),
            ],
        )
    };
    let name = if plant.name.is_empty() {
        NameText::words(t.t("not named"))
    } else {
        name_text(&plant.name)
    };
    Ok(PotLine {
        plant: plant.number,
        name,
        place: plant.place.clone(),
        pot: typed.unwrap_or("").to_owned(),
        next_pot: next_pot(&detail),
        chance,
        in_flower: in_flower(reader, plant.id, hand.today_number())?,
        reason,
    })
}

/// The width of the next pot \[cm\], to the half: 1.75 times the volume.
pub(crate) fn next_pot(detail: &Map<String, serde_json::Value>) -> Option<f64> {
    let (_, volume) = pot_of(detail)?;
    let one = common_pot(10.0)?.volume();
    let width = 10.0 * (LARGER * volume.value / one).cbrt();
    Some((2.0 * width).round() / 2.0)
}

/// Lines for Today.
///
/// # Errors
/// If the record cannot be read.
pub(crate) fn due(reader: &Reader<'_>, hand: &Hand) -> Result<Vec<Due>> {
    let t = hand.texts();
    let ready = lines(reader, hand, DUE)?.into_iter().filter(|l| !l.in_flower).take(MOST_DUE);
    let look = |words: &'static str, roots: &str| Done {
        words: t.t(words).to_owned(),
        kind: "checked_roots",
        detail: json!({"roots": roots}).as_object().cloned().unwrap_or_default(),
    };
    Ok(ready
        .map(|l| {
            let about = About { kind: SubjectKind::Plant, number: l.plant };
            let (text, done) = if l.chance.seen {
                let detail = match l.next_pot {
                    Some(cm) => json!({"pot": format!("{cm} cm")}),
                    None => json!({}),
                };
                let detail = detail.as_object().cloned().unwrap_or_default();
                let text = match l.next_pot {
                    Some(cm) => t.f(
                        "Repot {} into about {n} cm",
                        &[("n", &figures(cm, 3, t.lang())), ("", &"{}")],
                    ),
                    None => t.f("Repot {}", &[("", &"{}")]),
                };
                (text, vec![Done { words: t.t("potted").to_owned(), kind: "potted", detail }])
            } else {
                let text = t.f("Look at the roots of {}", &[("", &"{}")]);
                (text, vec![look("they circle", "circling"), look("there is room", "few")])
            };
            Due {
                group: "Pots and feed",
                key: "repot".to_owned(),
                about,
                day: hand.today_number(),
                until: None,
                text,
                reason: l.reason,
                named: vec![(about, l.name.plain)],
                done,
                put_off: None,
            }
        })
        .collect())
}

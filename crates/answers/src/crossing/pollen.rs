//! Pollen in store: its age, where it lies, and the chance that it still works, learnt from use.

use journal::{Journal, OpId, Reader, SubjectKind, Uid};
use serde::Serialize;
use serde_json::json;
use stats::special::{normal_cdf, normal_quantile};

use super::{chance::Share, engine::Engine, groups::Group, model::effect};
use crate::{
    AskError, Hand, NameText, Result,
    acts::{
        Pen,
        plants::{journal_read, need_plant, write},
        read_date,
    },
    name_text,
    said::day_words,
};

/// How cold pollen is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Cold {
    /// In a room.
    Room,
    /// In a refrigerator, about 4 °C.
    Fridge,
    /// In a freezer, about −18 °C.
    Freezer,
}

impl Cold {
    /// The value of a word as typed.
    ///
    /// # Errors
    /// Another word.
    pub fn read(typed: &str) -> Result<Self> {
        match typed.trim().to_lowercase().as_str() {
            "" | "room" | "zimmer" => Ok(Self::Room),
            "fridge" | "refrigerator" | "kühlschrank" => Ok(Self::Fridge),
            "freezer" | "gefrierfach" | "gefrierschrank" => Ok(Self::Freezer),
            _ => Err(AskError::field("kept", typed, "is not one of room, fridge, freezer")),
        }
    }

    /// As it is written down.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Room => "room",
            Self::Fridge => "fridge",
            Self::Freezer => "freezer",
        }
    }
}

/// The half-life that is held of pollen of a group, dry and closed \[d\].
#[must_use]
pub fn half_life(group: Group, cold: Cold) -> f64 {
    let at = match cold {
        Cold::Room => 0,
        Cold::Fridge => 1,
        Cold::Freezer => 2,
    };
    group.facts().pollen[at]
}

/// A lot as it was put by.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Kept {
    /// Its identifier.
    pub uid: Uid,
    /// Its number.
    pub number: i64,
    /// The clone whose pollen it is.
    pub clone: Uid,
    /// When it was gathered \[days since 1970-01-01\].
    pub since: i64,
    /// How cold.
    pub cold: Cold,
    /// Where, in words, or empty.
    pub place: String,
    /// Whether it is used up or thrown away.
    pub gone: bool,
}

/// All lots, by number.
///
/// # Errors
/// If the record cannot be read.
pub fn kept(reader: &Reader<'_>) -> Result<Vec<Kept>> {
    let arrived = reader.all_of_kind("arrived")?;
    let lost: Vec<Uid> = reader.all_of_kind("lost")?.into_iter().map(|e| e.subject).collect();
    let mut out = Vec::new();
    for s in reader.subjects_of_kind(SubjectKind::PollenLot)? {
        let Some(clone) = s.of.map(|id| reader.clone_by_id(id)).transpose()?.flatten() else {
            continue;
        };
        let entry = arrived.iter().find(|e| e.subject == s.uid);
        let Some(since) = entry.and_then(|e| e.day_to.or(e.day_from)) else { continue };
        let claim = reader.claimed(s.id, "store")?.unwrap_or_default();
        let word = |key: &str| claim.get(key).and_then(|v| v.as_str()).unwrap_or("");
        out.push(Kept {
            uid: s.uid,
            number: s.number,
            clone: clone.uid,
            since,
            cold: Cold::read(word("cold")).unwrap_or(Cold::Room),
            place: word("place").to_owned(),
            gone: lost.contains(&s.uid),
        });
    }
    Ok(out)
}

/// A lot in store with what is said of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lot {
    /// The lot.
    pub kept: Kept,
    /// Whose pollen.
    pub name: NameText,
    /// Its age today \[d\].
    pub age: i64,
    /// How likely it works beside fresh pollen of the same plant.
    pub works: Share,
    /// Flowers that it was put on and whose outcome is known, and how many took.
    pub used: (u64, u64),
    /// In words.
    pub lines: Vec<String>,
}

impl Engine {
    /// Pollen in store, the freshest first.
    #[must_use]
    pub fn pollen(&self, hand: &Hand) -> Vec<Lot> {
        let mut out: Vec<Lot> =
            self.lots.iter().filter(|l| !l.gone).filter_map(|l| self.lot(l, hand)).collect();
        out.sort_by_key(|l| l.age);
        out
    }

    fn lot(&self, kept: &Kept, hand: &Hand) -> Option<Lot> {
        let t = hand.texts();
        let facts = self.facts.of(kept.clone)?;
        let age = (self.crosses.today - kept.since).max(0);
        let halves = age as f64 / half_life(facts.group, kept.cold);
        let works = self.works(halves);
        let (mut flowers, mut took) = (0, 0);
        for a in self.crosses.attempts.iter().filter(|a| a.lot == Some(kept.uid)) {
            if let Some(n) = a.took {
                (flowers, took) = (flowers + a.flowers, took + n);
            }
        }
        let percent = |x: f64| format!("{:.0}", (100.0 * x).clamp(0.0, 100.0));
        let mut lines = vec![
            t.f(
                "Gathered on {day}, {n} days old.",
                &[("day", &day_words(kept.since, hand)), ("n", &age)],
            ),
            t.f(
                "It still works, beside fresh pollen: {mean} % ({lower}–{upper} %).",
                &[
                    ("mean", &percent(works.mean)),
                    ("lower", &percent(works.lower)),
                    ("upper", &percent(works.upper)),
                ],
            ),
        ];
        if flowers > 0 {
            lines.push(
                t.f("Of {n} flowers that got it {k} took.", &[("n", &flowers), ("k", &took)]),
            );
        }
        if facts.group == Group::Asclepiad {
            lines.push(
                t.t("No figure for stored pollinia of this group was found: the half-life is a guess until your flowers tell.")
                    .to_owned(),
            );
        }
        let name = if facts.name.is_empty() {
            NameText::words(t.t("not named"))
        } else {
            name_text(&facts.name)
        };
        Some(Lot { kept: kept.clone(), name, age, works, used: (flowers, took), lines })
    }

    /// What is left after so many half-lives, by what stored pollen has done here.
    pub(super) fn works(&self, halves: f64) -> Share {
        let (m, s) = self.taking.fit.coefficient(effect("pollen_age"));
        works_after(halves, m, s)
    }
}

/// What is left after so many half-lives when the slope of the log odds by half-life is normal, and
/// pollen does not become better with age: mean and ends of 80 %.
fn works_after(halves: f64, mean: f64, sd: f64) -> Share {
    const STEPS: usize = 200;
    let falls = normal_cdf(-mean / sd).max(1e-12);
    let left = |p: f64| {
        let slope = mean + sd * normal_quantile((p * falls).clamp(1e-15, 1.0 - 1e-15));
        (slope.min(0.0) * halves).exp()
    };
    let sum: f64 = (0..STEPS).map(|k| left((k as f64 + 0.5) / STEPS as f64)).sum();
    Share { mean: sum / STEPS as f64, lower: left(0.1), upper: left(0.9) }
}

/// Puts pollen of a plant by. Returns the operation and the number of the lot.
///
/// # Errors
/// If there is no such plant, or a word or the date cannot be read.
pub fn store(
    journal: &Journal,
    hand: &Hand,
    plant: i64,
    when: &str,
    cold: &str,
    place: &str,
) -> Result<(OpId, i64)> {
    let gathered = read_date(when, hand)?;
    let cold = Cold::read(cold)?;
    let (operation, lot) = journal_read(journal, |reader| {
        let row = need_plant(reader, plant)?;
        let clone = reader.clone_by_id(row.clone)?.ok_or_else(|| AskError::NotThere {
            kind: "clone",
            which: plant.to_string(),
            next: "say what the plant is first",
        })?;
        let mut pen = Pen::new(reader, hand, "store_pollen", &format!("plant {plant}"));
        let lot = pen.draft.create(SubjectKind::PollenLot, Some(clone.uid));
        pen.draft.claim(lot, "store", json!({"cold": cold.as_str(), "place": place.trim()}));
        let detail = json!({"own": true});
        pen.entry(lot, "arrived", gathered, journal::Known::Seen, detail, None);
        Ok((pen.draft, lot))
    })?;
    let op = write(journal, operation)?;
    let number = journal_read(journal, |r| Ok(r.subject(lot)?.map_or(0, |s| s.number)))?;
    Ok((op, number))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A sure slope of −ln 2 halves with each half-life; after a hundred of them hardly anything is
    /// left, however little is known of the slope.
    #[test]
    fn pollen_does_not_become_better_with_age() {
        let sure = works_after(2.0, -std::f64::consts::LN_2, 1e-6);
        assert!((sure.mean - 0.25).abs() < 1e-4, "{sure:?}");
        assert!((works_after(0.0, -0.7, 0.3).mean - 1.0).abs() < 1e-12);
        let mut before = 1.0;
        for halves in [0.1, 1.0, 5.0, 20.0, 100.0] {
            let found = works_after(halves, 0.1, 0.3);
            assert!(found.mean < before && found.lower <= found.mean, "{halves}: {found:?}");
            before = found.mean;
        }
        assert!(before < 0.2, "{before}");
    }
}

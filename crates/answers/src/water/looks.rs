//! From entries to what they say about drying: looks at one pot between one watering and the next.

use journal::{EntryRow, Known};
use serde::Serialize;
use serde_json::Value;

/// How a pot was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Found {
    /// Water stands or the mix is soaked.
    Wet,
    /// Between wet and dry.
    Moist,
    /// Dry to the finger.
    Dry,
    /// Dry through and through.
    BoneDry,
}

impl Found {
    /// The word of an entry.
    #[must_use]
    pub fn of_word(word: &str) -> Option<Self> {
        match word {
            "wet" => Some(Self::Wet),
            "moist" => Some(Self::Moist),
            "dry" => Some(Self::Dry),
            "bone_dry" => Some(Self::BoneDry),
            _ => None,
        }
    }
}

/// How dry a plant is let become before it gets water.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Wish {
    /// Watered before it is dry.
    NeverDry,
    /// Watered when just dry.
    #[default]
    JustDry,
    /// Watered when dry through and through.
    BoneDry,
}

impl Wish {
    /// The word of a claim; `just_dry` for anything else.
    #[must_use]
    pub fn of_word(word: &str) -> Self {
        match word {
            "never_dry" => Self::NeverDry,
            "bone_dry" => Self::BoneDry,
            _ => Self::JustDry,
        }
    }

    /// The word of a claim.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::NeverDry => "never_dry",
            Self::JustDry => "just_dry",
            Self::BoneDry => "bone_dry",
        }
    }

    /// The state that counts as dry for this plant.
    const fn is_dry(self, found: Found) -> bool {
        match self {
            Self::NeverDry | Self::JustDry => matches!(found, Found::Dry | Found::BoneDry),
            Self::BoneDry => matches!(found, Found::BoneDry),
        }
    }
}

/// What one entry says about the water in one pot, on one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Happening {
    /// Days since 1970-01-01; first and last possible.
    pub from: i64,
    pub to: i64,
    pub what: What,
    pub known: Known,
}

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum What {
    /// Looked at; watered or not; limp or not.
    Look { found: Option<Found>, watered: bool, limp: bool },
    /// New mix, perhaps another pot: what was learnt before holds no longer in full.
    Potted,
}

/// One drying, from a watering on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Drying {
    /// The day of watering \[days since 1970-01-01\].
    pub since: i64,
    /// The last look at which it was not dry \[days since 1970-01-01\].
    pub moist: Option<i64>,
    /// The first look at which it was dry \[days since 1970-01-01\].
    pub dry: Option<i64>,
    /// How it is known.
    pub known: Known,
}

impl Drying {
    /// Days after the watering at which it was surely not dry, and surely dry. Neither known: the
    /// drying says nothing.
    pub(crate) fn limits(&self) -> (Option<i64>, Option<i64>) {
        (self.moist.map(|d| d - self.since).filter(|d| *d > 0), self.dry.map(|d| d - self.since))
    }

    /// Whether it says anything.
    pub(crate) fn tells(&self) -> bool {
        !matches!(self.limits(), (None, None))
    }
}

/// After so many days without an entry a watering has probably not been written down, and what is
/// found then says nothing about the one before \[d\]. Common practice, no source.
pub(crate) const UNWATCHED: i64 = 28;

/// The dryings of one pot and how it stands now.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Looks {
    /// Finished dryings that say something, earliest first.
    pub past: Vec<Drying>,
    /// The drying that goes on since the last watering, if its day is known.
    pub now: Option<Drying>,
    /// The day of the last potting \[days since 1970-01-01\].
    pub potted: Option<i64>,
    /// Dryings that went without an entry for so long that they are not counted.
    pub unwatched: usize,
    /// Looks with a limp plant in a pot that was not dry \[days since 1970-01-01\].
    pub limp_and_wet: Vec<i64>,
}

/// Follows one pot. `happenings` come earliest first.
pub(crate) fn follow(happenings: &[Happening], wish: Wish) -> Looks {
    let mut looks = Looks::default();
    for h in happenings {
        match h.what {
            What::Potted => {
                close(&mut looks);
                looks.potted = Some(h.to);
            }
            // Of a look whose day is vague only the watering counts: it ends what went before.
            What::Look { watered, .. } if h.from != h.to => {
                if watered {
                    close(&mut looks);
                }
            }
            What::Look { found, watered, limp } => {
                if limp && found.is_some_and(|f| f <= Found::Moist) {
                    looks.limp_and_wet.push(h.to);
                }
                look(&mut looks, h, found, wish);
                if watered {
                    close(&mut looks);
                    looks.now =
                        Some(Drying { since: h.to, moist: None, dry: None, known: h.known });
                }
            }
        }
    }
    looks
}

fn look(looks: &mut Looks, h: &Happening, found: Option<Found>, wish: Wish) {
    let (Some(now), Some(found)) = (looks.now.as_mut(), found) else { return };
    // On the day of watering every pot is wet.
    if h.to <= now.since {
        return;
    }
    let last = now.moist.unwrap_or(now.since);
    if now.dry.is_none() && h.to - last > UNWATCHED {
        looks.unwatched += 1;
        // Up to the last look it is known to have been moist.
        close(looks);
        return;
    }
    if h.known != Known::Seen {
        now.known = h.known;
    }
    if wish.is_dry(found) {
        now.dry.get_or_insert(h.to);
    } else if now.dry.is_none() {
        now.moist = Some(h.to);
    }
}

fn close(looks: &mut Looks) {
    if let Some(before) = looks.now.take()
        && before.tells()
    {
        looks.past.push(before);
    }
}

/// What an entry about a plant says about its water.
pub(crate) fn happening(e: &EntryRow) -> Option<Happening> {
    let (from, to) = (e.day_from?, e.day_to?);
    let word = |key: &str| e.detail.get(key).and_then(Value::as_str);
    let limp = e.detail.get("limp").and_then(Value::as_bool).unwrap_or(false);
    let found = word("found").and_then(Found::of_word);
    // A round looks at every pot of a place and names those that were still wet; what it watered
    // without naming it was dry.
    let round = e.detail.get("round").and_then(Value::as_bool).unwrap_or(false);
    let what = match e.kind.as_str() {
        "watered" => {
            let found = found.or(round.then_some(Found::Dry));
            What::Look { found, watered: true, limp }
        }
        "checked" => What::Look { found, watered: false, limp },
        "potted" => What::Potted,
        _ => return None,
    };
    Some(Happening { from, to, what, known: e.known })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(day: i64, found: Option<Found>, watered: bool) -> Happening {
        let what = What::Look { found, watered, limp: false };
        Happening { from: day, to: day, what, known: Known::Seen }
    }

    #[test]
    fn a_look_before_and_one_after_leave_an_interval() {
        let entries = [
            at(100, None, true),
            at(103, Some(Found::Moist), false),
            at(106, Some(Found::Dry), true),
            at(109, Some(Found::Wet), false),
        ];
        let looks = follow(&entries, Wish::JustDry);
        assert_eq!(looks.past.len(), 1);
        assert_eq!(looks.past[0].limits(), (Some(3), Some(6)));
        assert_eq!(looks.now.map(|n| (n.since, n.moist)), Some((106, Some(109))));
    }

    #[test]
    fn watering_without_a_look_teaches_only_what_looks_before_it_saw() {
        let entries = [at(100, None, true), at(105, None, true), at(107, None, true)];
        assert!(follow(&entries, Wish::JustDry).past.is_empty());
        let entries =
            [at(100, None, true), at(104, Some(Found::Moist), false), at(105, None, true)];
        let looks = follow(&entries, Wish::JustDry);
        // Still moist on day 4 and then watered unseen: at least four days, and no more is known.
        assert_eq!(looks.past[0].limits(), (Some(4), None));
    }

    /// A plant that is written about twice a year is watered in between all the same.
    #[test]
    fn long_silence_says_nothing() {
        let entries = [
            at(0, None, true),
            at(63, Some(Found::Dry), true),
            at(70, Some(Found::Moist), false),
            at(120, Some(Found::BoneDry), true),
        ];
        let looks = follow(&entries, Wish::JustDry);
        assert_eq!(looks.unwatched, 2);
        assert_eq!(looks.past.len(), 1);
        assert_eq!(looks.past[0].limits(), (Some(7), None));
        assert_eq!(looks.now.map(|n| n.since), Some(120));
    }

    #[test]
    fn bone_dry_is_what_some_plants_wait_for() {
        let entries =
            [at(0, None, true), at(6, Some(Found::Dry), false), at(9, Some(Found::BoneDry), true)];
        assert_eq!(follow(&entries, Wish::JustDry).past[0].limits(), (None, Some(6)));
        assert_eq!(follow(&entries, Wish::BoneDry).past[0].limits(), (Some(6), Some(9)));
    }

    #[test]
    fn a_vague_date_ends_a_drying_and_begins_none() {
        let vague = Happening { from: 104, to: 110, ..at(104, Some(Found::Dry), true) };
        let entries = [at(100, None, true), at(102, Some(Found::Wet), false), vague];
        let looks = follow(&entries, Wish::JustDry);
        assert_eq!(looks.past[0].limits(), (Some(2), None));
        assert_eq!(looks.now, None);
    }

    #[test]
    fn potting_ends_a_drying() {
        let potted = Happening { what: What::Potted, ..at(103, None, false) };
        let entries = [at(100, None, true), potted, at(108, Some(Found::Dry), true)];
        let looks = follow(&entries, Wish::JustDry);
        assert!(looks.past.is_empty());
        assert_eq!((looks.potted, looks.now.map(|n| n.since)), (Some(103), Some(108)));
    }
}

//! From entries to what they say about drying: looks at one pot between one watering and the next.

use journal::Known;
use serde::Serialize;
use serde_json::{Map, Value};

use super::pots::Facts;

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
pub struct Happening {
    /// First possible day \[days since 1970-01-01\].
    pub from: i64,
    /// Last possible day \[days since 1970-01-01\].
    pub to: i64,
    /// What happened.
    pub what: What,
    /// How it is known.
    pub known: Known,
}

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum What {
    /// Somebody was at the pot.
    Look {
        /// How it was found, if it was looked at.
        found: Option<Found>,
        /// Whether it got water.
        watered: bool,
        /// Whether the plant hung.
        limp: bool,
        /// Weight after watering \[g\].
        full: Option<f64>,
    },
    /// It was weighed, before any watering of that day.
    Weighed {
        /// Weight with pot and plant \[g\].
        grams: f64,
    },
    /// New mix, perhaps another pot: what was learnt before holds no longer in full.
    Potted(Facts),
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
    /// How often it had been potted before.
    pub epoch: usize,
    /// The last weighing at which at least half of the water was gone: its day and the share gone.
    pub weighed: Option<(i64, f64)>,
    /// The day on which the next watering or potting ended it \[days since 1970-01-01\].
    pub ended: Option<i64>,
}

impl Drying {
    /// Days after the watering at which it was surely not dry, and surely dry. Neither known: the
    /// drying says nothing.
    pub(crate) fn limits(&self) -> (Option<i64>, Option<i64>) {
        (self.moist.map(|d| d - self.since).filter(|d| *d > 0), self.dry.map(|d| d - self.since))
    }

    /// Whether it says anything.
    pub(crate) fn tells(&self) -> bool {
        !matches!(self.limits(), (None, None)) || self.weighed.is_some()
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
    /// Its pottings: from which day on, and what the pot was then. The first has no day.
    pub epochs: Vec<(Option<i64>, Facts)>,
    /// Dryings that went without an entry for so long that they are not counted.
    pub unwatched: usize,
    /// Looks with a limp plant in a pot that was not dry \[days since 1970-01-01\].
    pub limp_and_wet: Vec<i64>,
    /// The last day on which somebody was at it \[days since 1970-01-01\].
    pub last_look: Option<i64>,
}

impl Looks {
    /// How often it was potted.
    #[must_use]
    pub fn epoch(&self) -> usize {
        self.epochs.len().saturating_sub(1)
    }

    /// What the pot is now.
    #[must_use]
    pub fn facts(&self) -> Facts {
        self.epochs.last().map(|e| e.1).unwrap_or_default()
    }
}

/// What is remembered while a pot is followed.
struct Follower {
    looks: Looks,
    wish: Wish,
    /// Weight after the last watering \[g\].
    full: Option<f64>,
    /// Weights at which it was found dry since the last potting \[g\].
    dry: Vec<f64>,
    /// The weighings of the present drying.
    weights: Vec<(i64, f64)>,
}

/// Follows one pot. `happenings` come earliest first; `facts` are those before the first potting.
#[must_use]
pub fn follow(happenings: &[Happening], wish: Wish, facts: Facts) -> Looks {
    let looks = Looks { epochs: vec![(None, facts)], ..Looks::default() };
    let mut f = Follower { looks, wish, full: None, dry: Vec::new(), weights: Vec::new() };
    for h in happenings {
        match h.what {
            What::Potted(facts) => {
                f.close(h.to);
                f.looks.potted = Some(h.to);
                f.looks.epochs.push((Some(h.to), facts));
                f.dry.clear();
                f.full = None;
            }
            // Of a look whose day is vague only the watering counts: it ends what went before.
            What::Look { watered, .. } if h.from != h.to => {
                if watered {
                    f.close(h.to);
                    f.full = None;
                }
            }
            What::Weighed { grams } => {
                if h.from == h.to {
                    f.weights.push((h.to, grams));
                }
            }
            What::Look { found, watered, limp, full } => {
                if limp && found.is_some_and(|f| f <= Found::Moist) {
                    f.looks.limp_and_wet.push(h.to);
                }
                f.look(h, found);
                f.looks.last_look = Some(h.to);
                if watered {
                    f.close(h.to);
                    f.full = full;
                    f.looks.now = Some(Drying {
                        since: h.to,
                        moist: None,
                        dry: None,
                        known: h.known,
                        epoch: f.looks.epoch(),
                        weighed: None,
                        ended: None,
                    });
                }
            }
        }
    }
    f.weigh();
    f.looks
}

impl Follower {
    fn look(&mut self, h: &Happening, found: Option<Found>) {
        let (Some(now), Some(found)) = (self.looks.now.as_mut(), found) else { return };
        // On the day of watering every pot is wet.
        if h.to <= now.since {
            return;
        }
        let last = now.moist.unwrap_or(now.since);
        if now.dry.is_none() && h.to - last > UNWATCHED {
            self.looks.unwatched += 1;
            // Up to the last look it is known to have been moist.
            self.close(h.to);
            return;
        }
        if h.known != Known::Seen {
            now.known = h.known;
        }
        if self.wish.is_dry(found) {
            now.dry.get_or_insert(h.to);
            self.dry.extend(self.weights.iter().filter(|w| w.0 == h.to).map(|w| w.1));
        } else if now.dry.is_none() {
            now.moist = Some(h.to);
        }
    }

    /// The last weighing that tells, once it is known what the pot weighs full and dry.
    fn weigh(&mut self) {
        let (Some(full), Some(now)) = (self.full, self.looks.now.as_mut()) else { return };
        // Two weights at which it was dry are the least from which a third can be judged.
        if self.dry.len() < 2 {
            return;
        }
        #[allow(clippy::cast_precision_loss)]
        let dry = self.dry.iter().sum::<f64>() / self.dry.len() as f64;
        if full - dry < 10.0 {
            return;
        }
        now.weighed = self
            .weights
            .iter()
            .filter(|w| w.0 > now.since)
            .map(|w| (w.0, (full - w.1) / (full - dry)))
            .rfind(|w| (0.5..1.5).contains(&w.1));
    }

    fn close(&mut self, day: i64) {
        self.weigh();
        self.weights.clear();
        if let Some(mut before) = self.looks.now.take()
            && before.tells()
        {
            before.ended = Some(day);
            self.looks.past.push(before);
        }
    }
}

/// What an entry about a plant says about its water, whatever its pot is.
pub(crate) fn happening(e: &journal::EntryRow) -> Option<Happening> {
    Some(Happening {
        from: e.day_from?,
        to: e.day_to?,
        what: what(&e.kind, &e.detail, Facts::default())?,
        known: e.known,
    })
}

/// What the fields of an entry say about water; `before` is what the pot was until then.
pub(crate) fn what(kind: &str, detail: &Map<String, Value>, before: Facts) -> Option<What> {
    let word = |key: &str| detail.get(key).and_then(Value::as_str);
    let flag = |key: &str| detail.get(key).and_then(Value::as_bool).unwrap_or(false);
    let grams = |key: &str| detail.get(key)?.get("value")?.as_f64();
    let limp = flag("limp");
    let found = word("found").and_then(Found::of_word);
    match kind {
        // A round looks at every pot of a place and names those that were still wet; what it
        // watered without naming it was dry.
        "watered" => {
            let found = found.or(flag("round").then_some(Found::Dry));
            Some(What::Look { found, watered: true, limp, full: grams("weight_after") })
        }
        "checked" => Some(What::Look { found, watered: false, limp, full: None }),
        "reservoir" => {
            let found = match word("found") {
                Some("empty") => Some(Found::Dry),
                Some("water") => Some(Found::Moist),
                _ => None,
            };
            Some(What::Look { found, watered: flag("filled"), limp: false, full: None })
        }
        "weighed" => Some(What::Weighed { grams: grams("weight")? }),
        "potted" => Some(What::Potted(before.potted(detail))),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(day: i64, found: Option<Found>, watered: bool) -> Happening {
        let what = What::Look { found, watered, limp: false, full: None };
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
        let looks = follow(&entries, Wish::JustDry, Facts::default());
        assert_eq!(looks.past.len(), 1);
        assert_eq!(looks.past[0].limits(), (Some(3), Some(6)));
        assert_eq!(looks.now.map(|n| (n.since, n.moist)), Some((106, Some(109))));
    }

    #[test]
    fn watering_without_a_look_teaches_only_what_looks_before_it_saw() {
        let entries = [at(100, None, true), at(105, None, true), at(107, None, true)];
        assert!(follow(&entries, Wish::JustDry, Facts::default()).past.is_empty());
        let entries =
            [at(100, None, true), at(104, Some(Found::Moist), false), at(105, None, true)];
        let looks = follow(&entries, Wish::JustDry, Facts::default());
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
        let looks = follow(&entries, Wish::JustDry, Facts::default());
        assert_eq!(looks.unwatched, 2);
        assert_eq!(looks.past.len(), 1);
        assert_eq!(looks.past[0].limits(), (Some(7), None));
        assert_eq!(looks.now.map(|n| n.since), Some(120));
    }

    #[test]
    fn bone_dry_is_what_some_plants_wait_for() {
        let entries =
            [at(0, None, true), at(6, Some(Found::Dry), false), at(9, Some(Found::BoneDry), true)];
        assert_eq!(
            follow(&entries, Wish::JustDry, Facts::default()).past[0].limits(),
            (None, Some(6))
        );
        assert_eq!(
            follow(&entries, Wish::BoneDry, Facts::default()).past[0].limits(),
            (Some(6), Some(9))
        );
    }

    #[test]
    fn a_vague_date_ends_a_drying_and_begins_none() {
        let vague = Happening { from: 104, to: 110, ..at(104, Some(Found::Dry), true) };
        let entries = [at(100, None, true), at(102, Some(Found::Wet), false), vague];
        let looks = follow(&entries, Wish::JustDry, Facts::default());
        assert_eq!(looks.past[0].limits(), (Some(2), None));
        assert_eq!(looks.now, None);
    }

    #[test]
    fn potting_ends_a_drying() {
        let potted = Happening { what: What::Potted(Facts::default()), ..at(103, None, false) };
        let entries = [at(100, None, true), potted, at(108, Some(Found::Dry), true)];
        let looks = follow(&entries, Wish::JustDry, Facts::default());
        assert!(looks.past.is_empty());
        assert_eq!((looks.potted, looks.now.map(|n| n.since)), (Some(103), Some(108)));
    }

    /// Full 600 g, dry 400 g twice; then half the water is gone on the third day.
    #[test]
    fn weights_tell_how_much_is_gone() {
        let weighed =
            |day, grams| Happening { what: What::Weighed { grams }, ..at(day, None, false) };
        let watered = |day| Happening {
            what: What::Look {
                found: Some(Found::Dry),
                watered: true,
                limp: false,
                full: Some(600.0),
            },
            ..at(day, None, true)
        };
        let entries = [
            watered(100),
            weighed(106, 398.0),
            watered(106),
            weighed(112, 402.0),
            watered(112),
            weighed(115, 500.0),
        ];
        let looks = follow(&entries, Wish::JustDry, Facts::default());
        assert_eq!(looks.now.and_then(|n| n.weighed), Some((115, 0.5)));
        // With a single dry weight nothing is said.
        let looks = follow(&entries[..4], Wish::JustDry, Facts::default());
        assert_eq!(looks.now.and_then(|n| n.weighed), None);
    }

    #[test]
    fn a_reservoir_is_empty_or_holds_water() {
        let read = |detail: Value| what("reservoir", detail.as_object().unwrap(), Facts::default());
        let look = |found, watered| Some(What::Look { found, watered, limp: false, full: None });
        let cases = [
            (serde_json::json!({"found": "empty", "filled": true}), look(Some(Found::Dry), true)),
            (serde_json::json!({"found": "water"}), look(Some(Found::Moist), false)),
            (serde_json::json!({"filled": true}), look(None, true)),
        ];
        for (detail, expected) in cases {
            assert_eq!(read(detail), expected);
        }
    }
}

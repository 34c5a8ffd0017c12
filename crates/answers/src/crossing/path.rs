//! A cross from its first flower to its seedlings' flowers, as one thinning line.

use journal::{ParentClaim, Reader};
use serde::Serialize;
use stats::success::proportion;
use texts::Texts;

use super::{
    engine::Engine,
    record::{Attempt, Followed, Pollen},
    words,
};
use crate::{AskError, Hand, NameText, Result, cross_title};

/// What kind of cross it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum CrossKind {
    /// Two clones that are not known to be related.
    Single,
    /// A clone with its own pollen, or that of a sport of it.
    Own,
    /// Two seedlings of the same two parents.
    Sibs,
    /// One is a parent of the other.
    Back,
    /// Two clones that share ancestors in another way.
    Related,
    /// Left to insects.
    Open,
    /// Pollen of several clones.
    Mixed,
    /// The pollen parent is not known.
    Unknown,
}

impl CrossKind {
    /// The kind in words of the catalogue.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Single => "cross of two",
            Self::Own => "self",
            Self::Sibs => "cross of full sibs",
            Self::Back => "back-cross to a parent",
            Self::Related => "cross of two that share ancestors",
            Self::Open => "left to insects",
            Self::Mixed => "mixed pollen",
            Self::Unknown => "pollen parent not known",
        }
    }
}

/// One stage of the line.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StageLine {
    /// What is counted, in the reader's language.
    pub what: String,
    /// How many; none while nobody counted.
    pub count: Option<u64>,
    /// Of how many of the stage before it is the share; none where the two were not counted
    /// together.
    pub of: Option<u64>,
    /// Share of those with the ends of its 80 % interval (Wilson).
    pub share: Option<(f64, f64, f64)>,
    /// First and last day \[days since 1970-01-01\].
    pub days: Option<(i64, i64)>,
    /// In words.
    pub text: String,
}

/// A stage that lies ahead.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ExpectedStage {
    /// What will be counted, in the reader's language.
    pub what: String,
    /// Middle, and the ends of the 80 % interval.
    pub count: (u64, u64, u64),
    /// Whether it is counted in another measure than the stage before it.
    pub anew: bool,
}

/// A cross from end to end.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Path {
    /// Number of the cross.
    pub number: i64,
    /// Its parents, set.
    pub title: NameText,
    /// What kind of cross it is.
    pub kind: CrossKind,
    /// Its stages.
    pub stages: Vec<StageLine>,
    /// What may come after the last of them.
    pub expected: Vec<ExpectedStage>,
    /// Numbers of the crosses of the same two the other way round.
    pub reciprocal: Vec<i64>,
    /// What is said of it besides, a line each.
    pub lines: Vec<String>,
}

/// Adds days to a span.
fn span(days: impl Iterator<Item = i64>) -> Option<(i64, i64)> {
    days.fold(None, |s: Option<(i64, i64)>, d| {
        Some(s.map_or((d, d), |(a, b)| (a.min(d), b.max(d))))
    })
}

/// Counts of one stage: how many, of how many, when.
#[derive(Default)]
struct Counted {
    count: Option<u64>,
    of: Option<u64>,
    days: Option<(i64, i64)>,
}

fn add(slot: &mut Option<u64>, n: u64) {
    *slot = Some(slot.unwrap_or(0) + n);
}

impl Engine {
    /// The kind of a cross.
    #[must_use]
    pub fn kind(&self, cross: &Followed) -> CrossKind {
        let attempts = cross.attempts.iter().map(|i| &self.crosses.attempts[*i]);
        let open = |a: &Attempt| a.pollen == Pollen::Open;
        match (&cross.row.seed, &cross.row.pollen) {
            (_, ParentClaim::OneOf(_)) => CrossKind::Mixed,
            (ParentClaim::Clone(a), ParentClaim::Clone(b)) => {
                let (Some(a), Some(b)) = (self.facts.of(*a), self.facts.of(*b)) else {
                    return CrossKind::Single;
                };
                if a.root == b.root {
                    return CrossKind::Own;
                }
                self.facts.relation(a.root, b.root)
            }
            _ if attempts.clone().count() > 0 && attempts.clone().all(open) => CrossKind::Open,
            _ => CrossKind::Unknown,
        }
    }

    /// Crosses of the same two clones, the other way round.
    #[must_use]
    pub fn reciprocal(&self, cross: &Followed) -> Vec<i64> {
        let (ParentClaim::Clone(a), ParentClaim::Clone(b)) = (&cross.row.seed, &cross.row.pollen)
        else {
            return Vec::new();
        };
        let turned = |c: &&Followed| {
            a != b && c.row.seed == ParentClaim::Clone(*b) && c.row.pollen == ParentClaim::Clone(*a)
        };
        self.crosses.crosses.iter().filter(turned).map(|c| c.row.number).collect()
    }

    /// The whole path of a cross.
    ///
    /// # Errors
    /// If there is no such cross or the record cannot be read.
    pub fn path(&self, reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<Path> {
        let cross = self.crosses.cross(number).ok_or_else(|| AskError::NotThere {
            kind: "cross",
            which: number.to_string(),
            next: "the list of crosses shows which there are",
        })?;
        let t = hand.texts();
        let stages = self.stages_of(cross);
        let mut lines = Vec::new();
        let untold = cross.attempts.iter().filter(|i| self.crosses.attempts[**i].took.is_none());
        let untold = untold.count();
        if untold > 0 {
            lines.push(t.f(
                "Of one pollination nobody told what came of it; it does not count.|Of {n} pollinations nobody told what came of them; they do not count.",
                &[("n", &untold)],
            ));
        }
        let uncounted =
            cross.attempts.iter().filter(|i| !self.crosses.attempts[**i].counted).count();
        if uncounted > 0 {
            lines.push(t.f(
                "For one pollination the flowers were not counted; one is taken.|For {n} pollinations the flowers were not counted; one each is taken.",
                &[("n", &uncounted)],
            ));
        }
        let hanging: u64 = cross.attempts.iter().map(|i| self.crosses.attempts[*i].hanging()).sum();
        if hanging > 0 {
            lines.push(t.f("One pod still hangs.|{n} pods still hang.", &[("n", &hanging)]));
        }
        Ok(Path {
            number,
            title: cross_title(reader, &cross.row, t)?,
            kind: self.kind(cross),
            reciprocal: self.reciprocal(cross),
            expected: self.expected(cross, hand)?,
            stages: stages.into_iter().map(|(w, c)| line(w, &c, hand)).collect(),
            lines,
        })
    }

    /// What may come of a cross from where it stands.
    fn expected(&self, cross: &Followed, hand: &Hand) -> Result<Vec<ExpectedStage>> {
        const AHEAD: [&str; 6] =
            ["pods", "seeds", "full seeds", "germinated", "seedlings alive", "in flower"];
        let (ParentClaim::Clone(seed), ParentClaim::Clone(pollen)) =
            (&cross.row.seed, &cross.row.pollen)
        else {
            return Ok(Vec::new());
        };
        let (Some(a), Some(b)) = (self.facts.of(*seed), self.facts.of(*pollen)) else {
            return Ok(Vec::new());
        };
        let attempts = || cross.attempts.iter().map(|i| &self.crosses.attempts[*i]);
        let alive = cross.seedlings.iter().filter(|s| s.alive && s.flower.is_none()).count() as u64;
        let trays = || cross.trays.iter().filter(|t| !t.lost && t.pricked.is_none());
        let up: u64 = trays().filter_map(super::record::Tray::up).sum();
        let sown: u64 = trays().filter_map(|t| t.seeds).sum();
        let pods: u64 = attempts().map(Attempt::hanging).sum();
        let today = self.crosses.today;
        let open: u64 =
            attempts().filter(|a| a.took.is_none() && !a.untold(today)).map(|a| a.flowers).sum();
        // From the latest stage of which something is left; where each begins in the chain.
        let starts = [(5, alive), (4, up), (3, sown), (1, pods), (0, open)];
        let Some((from, start)) = starts.into_iter().find(|s| s.1 > 0) else {
            return Ok(Vec::new());
        };
        let takes = self.takes(a, b).0;
        let stages = self.stages(a, b, &takes)?;
        let wrong = |e: stats::success::ChainError| AskError::field("cross", "", e.to_string());
        let found = stats::success::follow(&stages[from..], start, 1, 0.8, 1).map_err(wrong)?;
        let t = hand.texts();
        let bloomed = cross.seedlings.iter().filter(|s| s.flower.is_some()).count() as u64;
        Ok(found
            .stages
            .iter()
            .enumerate()
            .map(|(i, s)| {
                let at = from + i;
                // Those that have flowered already are among those that will have.
                let more = if at == 5 && from == 5 { bloomed } else { 0 };
                ExpectedStage {
                    what: t.t(AHEAD[at]).to_owned(),
                    count: (s.median + more, s.lower + more, s.upper + more),
                    anew: at == 1,
                }
            })
            .collect())
    }

    /// Counts of a cross at each stage.
    fn stages_of(&self, cross: &Followed) -> Vec<(&'static str, Counted)> {
        let attempts: Vec<&Attempt> =
            cross.attempts.iter().map(|i| &self.crosses.attempts[*i]).collect();
        let mut flowers =
            Counted { days: span(attempts.iter().map(|a| a.day)), ..Counted::default() };
        let (mut pods, mut ripe, mut seeds, mut full) =
            (Counted::default(), Counted::default(), Counted::default(), Counted::default());
        for a in &attempts {
            add(&mut flowers.count, a.flowers);
            if let Some(took) = a.took {
                add(&mut pods.count, took);
                add(&mut pods.of, a.flowers);
                let ended = took - a.hanging();
                if ended > 0 {
                    add(&mut ripe.count, a.ripe.unwrap_or(0).min(ended));
                    add(&mut ripe.of, ended);
                }
            }
            let all = a.full.map(|f| f + a.empty.unwrap_or(0));
            if let Some(n) = all {
                add(&mut seeds.count, n);
            }
            if let Some(n) = a.full {
                add(&mut full.count, n);
                if let (Some(_), Some(all)) = (a.empty, all) {
                    add(&mut full.of, all);
                }
            }
        }
        ripe.days = span(attempts.iter().filter_map(|a| a.ripe_day));
        let mut sown =
            Counted { days: span(cross.trays.iter().filter_map(|t| t.sown)), ..Counted::default() };
        let (mut up, mut out) = (Counted::default(), Counted::default());
        for tray in &cross.trays {
            if let Some(n) = tray.seeds {
                add(&mut sown.count, n);
            }
            if let Some(n) = tray.up() {
                add(&mut up.count, n);
                if let Some(seeds) = tray.seeds {
                    add(&mut up.of, seeds);
                }
            }
            if let Some(n) = tray.pricked {
                add(&mut out.count, n);
                if let Some(up) = tray.up() {
                    add(&mut out.of, up);
                }
            }
        }
        up.days = span(cross.trays.iter().flat_map(|t| t.looks.iter().map(|l| l.0)));
        let potted = (!cross.seedlings.is_empty()).then_some(cross.seedlings.len() as u64);
        let alive = potted.map(|_| cross.seedlings.iter().filter(|s| s.alive).count() as u64);
        let bloomed = cross.seedlings.iter().filter(|s| s.flower.is_some()).count() as u64;
        vec![
            ("flowers treated", flowers),
            ("pods", pods),
            ("ripe pods", ripe),
            ("seeds counted", seeds),
            ("full seeds", full),
            ("seeds sown", sown),
            ("germinated", up),
            ("pricked out", out),
            (
                "seedlings in pots",
                Counted {
                    count: potted,
                    of: None,
                    days: span(cross.seedlings.iter().filter_map(|s| s.since)),
                },
            ),
            ("seedlings alive", Counted { count: alive, of: potted, days: None }),
            (
                "seedlings that flowered",
                Counted {
                    count: potted.map(|_| bloomed),
                    of: potted,
                    days: span(cross.seedlings.iter().filter_map(|s| s.flower)),
                },
            ),
        ]
    }
}

fn line(what: &'static str, c: &Counted, hand: &Hand) -> StageLine {
    let t: Texts = hand.texts();
    let words_of = t.t(what).to_owned();
    let of = c.of.filter(|n| *n > 0);
    let share = c.count.zip(of).filter(|(k, n)| k <= n).and_then(|(k, n)| {
        let p = proportion(k, n, 0.8).ok()?;
        Some((p.estimate, p.wilson[0], p.wilson[1]))
    });
    let mut text = match c.count {
        Some(n) => format!("{words_of}: {n}"),
        None => t.f("{what}: not counted", &[("what", &words_of)]),
    };
    if let (Some(n), Some((p, low, high))) = (of, share) {
        let share = super::chance::Share { mean: p, lower: low, upper: high };
        text.push_str(&t.f(" of {n}, {share}", &[("n", &n), ("share", &words::share(&share, t))]));
    }
    if let Some((from, to)) = c.days {
        let days = crate::said::said_days((from, to), hand);
        text.push_str(&format!("; {days}"));
    }
    StageLine { what: words_of, count: c.count, of, share, days: c.days, text }
}

//! Troubles: finds of one pest at one place that belong together, what was done, and whether some
//! are still there.

use std::collections::{BTreeMap, BTreeSet};

use culture::heat::{Chance, LookKind, Looks, TARGET, more_looks, still_there};
use journal::SubjectKind;
use serde::Serialize;

use super::{
    house::{House, Named, Sign, Unit},
    species::{Nature, Pest, population},
    when::{Span, Window, next_look, warmth},
    words::pest_words,
};
use crate::Result;

/// A find so long after the last sign begins a new trouble \[d\]. Common practice, no source.
const APART: i64 = 120;
/// After so long without a sign nothing is said about what is there now \[d\]. Common practice.
const SILENT: i64 = 180;

/// How a trouble stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// It may still be there.
    Open,
    /// A generation has passed with clean looks, and the chance is below the target.
    Over,
    /// Nothing has been written for half a year.
    Silent,
}

/// A treatment within a trouble.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Treatment {
    /// Its last possible day \[days since 1970-01-01\].
    pub day: i64,
    /// The product as written; none when it is unknown.
    pub product: Option<String>,
    /// The group as typed from the label.
    pub group: Option<String>,
    /// How it was done.
    pub how: Option<String>,
    /// Fewest days between two treatments, from the label.
    pub label_interval: Option<i64>,
    /// Most treatments a year, from the label.
    pub label_maximum: Option<i64>,
    /// What it was done to.
    pub unit: Unit,
    /// Whether it hits what it touches and spares the rest: not predators, traps, granules.
    pub contact: bool,
}

/// A find.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sighting {
    /// Its last possible day \[days since 1970-01-01\].
    pub day: i64,
    /// On what.
    pub unit: Unit,
    /// `one`, `few` or `many`.
    pub how_many: Option<String>,
}

/// A trouble: one pest at one place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Trouble {
    /// The pest as first typed.
    pub typed: String,
    /// What it is called in the reader's language.
    pub pest: String,
    /// Number and name of the place where it was found.
    pub place: Option<(i64, String)>,
    /// The plants and batches on which it was found; a place itself stands here too.
    pub on: Vec<Named>,
    /// The last look before that found nothing \[days since 1970-01-01\].
    pub clean_before: Option<i64>,
    /// Every find.
    pub found: Vec<Sighting>,
    /// Every treatment since the first find.
    pub treatments: Vec<Treatment>,
    /// Looks since the last find that found nothing, at each of the places where it was found.
    pub looks: u32,
    /// The last of them \[days since 1970-01-01\].
    pub last_look: Option<i64>,
    /// How many more are needed.
    pub more: Option<u32>,
    /// Whether some are still there. None where looks do not tell.
    pub chance: Option<Chance>,
    /// The same after one more look that finds nothing.
    pub after_next: Option<f64>,
    /// A generation since the last find or treatment.
    pub generation: Option<Span>,
    /// When to look again, and the latest day \[days since 1970-01-01\].
    pub next_look: Option<(i64, i64)>,
    /// When to treat again.
    pub window: Option<Window>,
    /// Repeats done within the course that began after the last find.
    pub repeated: u32,
    /// Before this day the label allows no other treatment \[days since 1970-01-01\].
    pub label_before: Option<i64>,
    /// The yearly maximum of the label, where it is reached.
    pub label_reached: Option<i64>,
    /// Days of known temperature, and of all.
    pub warmth: (usize, usize),
    /// Whether the place was colder or warmer than the straight line holds for.
    pub beyond: bool,
    /// How it stands.
    pub state: State,
}

impl Trouble {
    /// The first find \[days since 1970-01-01\].
    #[must_use]
    pub fn since(&self) -> i64 {
        self.found.first().map_or(0, |f| f.day)
    }

    /// The last find \[days since 1970-01-01\].
    #[must_use]
    pub fn last_found(&self) -> i64 {
        self.found.last().map_or(0, |f| f.day)
    }

    /// The last find, treatment or look \[days since 1970-01-01\].
    #[must_use]
    pub fn last_sign(&self) -> i64 {
        let treated = self.treatments.last().map_or(0, |t| t.day);
        self.last_found().max(treated).max(self.last_look.unwrap_or(0))
    }

    /// Where it is, in words.
    pub(crate) fn place_words(&self, house: &House<'_, '_>) -> String {
        house.place_name(self.place.as_ref().map(|p| p.0))
    }

    /// What a line about it is about: the one plant, or the place.
    pub(crate) fn about(&self) -> Option<Unit> {
        let here: Vec<Unit> = self.on.iter().filter(|n| n.here).map(|n| n.unit).collect();
        match here.as_slice() {
            [one] if one.kind != SubjectKind::Batch => Some(*one),
            _ => self.place.as_ref().map(|p| Unit { kind: SubjectKind::Place, number: p.0 }),
        }
    }

    /// What is known of the pest: the narrowest name among the finds is the first typed.
    pub(crate) fn species(&self) -> &'static Pest {
        super::species::read(&self.typed)
    }
}

/// A trouble with the signs that it is made of.
pub(crate) struct Followed<'h> {
    pub trouble: Trouble,
    pub key: String,
    pub finds: Vec<&'h Sign>,
    pub looks: Vec<&'h Sign>,
    pub treated: Vec<&'h Sign>,
}

/// All troubles, the latest sign first.
pub(crate) fn all<'h>(house: &'h House<'_, '_>) -> Result<Vec<Followed<'h>>> {
    let mut groups: BTreeMap<(String, Option<i64>), Vec<Vec<&Sign>>> = BTreeMap::new();
    for sign in &house.found {
        let key = (population(sign.typed()), house.place_at(sign.unit, sign.to));
        let runs = groups.entry(key.clone()).or_default();
        let joins = runs.last().and_then(|r| r.last()).is_some_and(|last| {
            let signs = house.clean.iter().chain(&house.treated);
            let between = signs
                .filter(|s| s.to >= last.to && s.to <= sign.to && s.meant_for(&key.0))
                .filter(|s| runs.last().is_some_and(|r| r.iter().any(|f| house.reaches(s, f.unit))))
                .map(|s| s.to)
                .max();
            sign.to - between.unwrap_or(last.to).max(last.to) <= APART
        });
        match runs.last_mut().filter(|_| joins) {
            Some(run) => run.push(sign),
            None => runs.push(vec![sign]),
        }
    }
    let mut out = Vec::new();
    for ((key, place), runs) in groups {
        for (i, run) in runs.iter().enumerate() {
            let until = runs.get(i + 1).and_then(|r| r.first()).map_or(i64::MAX, |s| s.to - 1);
            out.push(follow(house, &key, place, run, until)?);
        }
    }
    out.sort_by_key(|f| std::cmp::Reverse((f.trouble.last_sign(), f.trouble.last_found())));
    Ok(out)
}

/// How a look was made, for a pest.
fn kind_of(sign: &Sign, pest: &Pest) -> LookKind {
    match (sign.words("how"), pest.roots) {
        (Some("unpotted"), _) => LookKind::Unpotted,
        (_, true) => LookKind::RootsUnseen,
        (Some("naked_eye"), _) => LookKind::NakedEye,
        (Some("lens"), _) => LookKind::Lens,
        _ => LookKind::Unsaid,
    }
}

/// Looks of each kind, those of one day counted once, the best of them.
pub(crate) fn counted(signs: &[&Sign], pest: &Pest) -> Vec<Looks> {
    let mut days: BTreeMap<i64, LookKind> = BTreeMap::new();
    for s in signs {
        let kind = kind_of(s, pest);
        let best = days.entry(s.from).or_insert(kind);
        let better = |k: LookKind| !matches!(k, LookKind::NakedEye | LookKind::RootsUnseen);
        if better(kind) {
            *best = kind;
        }
    }
    let mut out: BTreeMap<LookKind, u32> = BTreeMap::new();
    for kind in days.into_values() {
        *out.entry(kind).or_default() += 1;
    }
    out.into_iter().map(|(kind, count)| Looks { kind, count }).collect()
}

fn follow<'h>(
    house: &'h House<'_, '_>,
    key: &str,
    place: Option<i64>,
    run: &[&'h Sign],
    until: i64,
) -> Result<Followed<'h>> {
    let (first, last) = (run[0], run[run.len() - 1]);
    let pest = first.pest();
    let units: BTreeSet<Unit> = run.iter().map(|s| s.unit).collect();
    let on = units.iter().map(|u| house.named(*u)).collect::<Result<Vec<_>>>()?;
    let of_it =
        |s: &&Sign| s.meant_for(key) && s.to <= until && units.iter().any(|u| house.reaches(s, *u));
    let treated: Vec<&Sign> =
        house.treated.iter().filter(|s| s.to >= first.to).filter(of_it).collect();
    let looks: Vec<&Sign> = house.clean.iter().filter(|s| s.from > last.to).filter(of_it).collect();
    let clean_before =
        house.clean.iter().filter(|s| s.to < first.from).filter(of_it).map(|s| s.to).max();
    // Where it was found on several, the one looked at least decides.
    let still: Vec<Unit> = on.iter().filter(|n| n.here).map(|n| n.unit).collect();
    let least = still
        .iter()
        .map(|u| looks.iter().copied().filter(|s| house.reaches(s, *u)).collect::<Vec<_>>())
        .min_by_key(|of| counted(of, pest).iter().map(|l| l.count).sum::<u32>())
        .unwrap_or_default();
    let counts = counted(&least, pest);
    let course: Vec<i64> = {
        let days: BTreeSet<i64> = treated.iter().map(|s| s.to).filter(|d| *d >= last.to).collect();
        days.into_iter().collect()
    };
    let treatments = u32::try_from(course.len()).unwrap_or(u32::MAX);
    let tells = pest.nature != Nature::Virus && !still.is_empty();
    let chance = tells.then(|| still_there(None, treatments, &counts));
    let last_event = course.last().copied().unwrap_or(last.to).max(last.to);
    let warm = warmth(house, place, last_event.min(house.today))?;
    let generation = warm.generation(pest, last_event)?;
    let last_look = looks.iter().map(|s| s.to).max();
    let sign = last_event.max(last_look.unwrap_or(0));
    let state = state(house, &chance, generation, last_look, sign, pest);
    let contact = treated.iter().copied().rfind(|s| s.to >= last.to && is_contact(s));
    let window = match contact {
        Some(s) if pest.nature == Nature::Animal => {
            warmth(house, place, s.to.min(house.today))?.window(pest, s.to)?
        }
        _ => None,
    };
    let repeated = treated.iter().filter(|s| s.to >= last.to && is_contact(s)).count();
    let trouble = Trouble {
        typed: narrowest(run),
        pest: pest_words(&narrowest(run), house.t()),
        place: place.map(|n| (n, house.place_name(Some(n)))),
        on,
        clean_before,
        found: run.iter().map(|s| sighting(s)).collect(),
        treatments: treated.iter().map(|s| treatment(s)).collect(),
        looks: counts.iter().map(|l| l.count).sum(),
        last_look,
        more: chance.and_then(|_| more_looks(None, treatments, &counts, LookKind::Unsaid, TARGET)),
        chance,
        after_next: chance.map(|_| still_there(None, treatments, &one_more(&counts)).value),
        generation,
        next_look: (state == State::Open && pest.nature != Nature::Virus)
            .then(|| next_look(sign, generation, last_event)),
        window: window.filter(|w| state == State::Open && repeated <= w.repeats as usize),
        repeated: u32::try_from(repeated.saturating_sub(1)).unwrap_or(0),
        label_before: label_before(&treated),
        label_reached: label_reached(house, &treated),
        warmth: (warm.known, warm.all),
        beyond: warm.beyond,
        state,
    };
    Ok(Followed { trouble, key: key.to_owned(), finds: run.to_vec(), looks, treated })
}

/// The same looks and one more, of which it is not said how.
pub(crate) fn one_more(looks: &[Looks]) -> Vec<Looks> {
    let mut all = looks.to_vec();
    // What is not said counts as with a lens, so those two are looks of one kind.
    match all.iter_mut().find(|l| matches!(l.kind, LookKind::Unsaid | LookKind::Lens)) {
        Some(same) => same.count += 1,
        None => all.push(Looks { kind: LookKind::Unsaid, count: 1 }),
    }
    all
}

/// The name typed for it that says most.
fn narrowest(run: &[&Sign]) -> String {
    let of = |s: &&&Sign| s.pest().suspects.len();
    run.iter().min_by_key(of).map(|s| s.typed().to_owned()).unwrap_or_default()
}

fn state(
    house: &House<'_, '_>,
    chance: &Option<Chance>,
    generation: Option<Span>,
    last_look: Option<i64>,
    sign: i64,
    pest: &Pest,
) -> State {
    let clean = chance.is_some_and(|c| c.value < TARGET);
    let passed = match pest.nature {
        Nature::Animal => generation.zip(last_look).is_some_and(|(g, look)| look >= g.usual),
        Nature::Rot => last_look.is_some(),
        Nature::Virus => false,
    };
    if clean && passed {
        State::Over
    } else if house.today - sign > SILENT {
        State::Silent
    } else {
        State::Open
    }
}

/// Whether a treatment hits what it touches and spares what it does not: not predators or traps.
fn is_contact(sign: &Sign) -> bool {
    if let Some(how) = sign.words("how") {
        return !["predators", "traps", "granules"].contains(&how);
    }
    let product = sign.words("product").unwrap_or("").to_lowercase();
    let lives = ["predator", "nematode", "card", "trap", "raubmilbe", "nematoden", "gelbtafel"];
    !lives.iter().any(|w| product.contains(w))
}

fn sighting(s: &Sign) -> Sighting {
    Sighting { day: s.to, unit: s.unit, how_many: s.words("how_many").map(str::to_owned) }
}

pub(crate) fn treatment(s: &Sign) -> Treatment {
    let words = |key: &str| s.words(key).map(str::to_owned);
    Treatment {
        day: s.to,
        product: words("product").filter(|_| !s.flag("unknown_product")),
        group: words("label_group"),
        how: words("how"),
        label_interval: s.count("label_days_between"),
        label_maximum: s.count("label_most_a_year"),
        unit: s.unit,
        contact: is_contact(s),
    }
}

/// The label's least interval after the last treatment that has one.
fn label_before(treated: &[&Sign]) -> Option<i64> {
    treated.iter().filter_map(|s| Some(s.to + s.count("label_days_between")?)).max()
}

/// The yearly maximum of a label that is reached with the treatments of this calendar year.
fn label_reached(house: &House<'_, '_>, treated: &[&Sign]) -> Option<i64> {
    let last = treated.iter().rfind(|s| s.count("label_most_a_year").is_some())?;
    let most = last.count("label_most_a_year")?;
    let year = i64::from(house.hand.today.year());
    let of_year = |s: &&Sign| {
        i32::try_from(s.to).ok().and_then(dates::from_days).map(|d| i64::from(d.year()))
            == Some(year)
    };
    let same = house
        .treated
        .iter()
        .filter(of_year)
        .filter(|s| s.words("product") == last.words("product"))
        .filter(|s| treated.iter().any(|t| house.reaches(s, t.unit)))
        .map(|s| s.to)
        .collect::<BTreeSet<_>>();
    (i64::try_from(same.len()).unwrap_or(i64::MAX) >= most).then_some(most)
}

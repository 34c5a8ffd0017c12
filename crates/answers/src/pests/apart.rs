//! Newcomers kept apart: whether they are clean, and when they may join the others.

use std::collections::BTreeMap;

use culture::heat::{Chance, LookKind, Looks, more_looks, still_there};
use journal::SubjectKind;
use serde::Serialize;

use super::{
    house::{House, Named, Sign, Unit},
    species::NEWCOMER,
    told::{Told, bare, evidence, told, virus_caution},
    trouble::{counted, one_more},
    when::{Span, next_look, warmth},
    words::{chance_bits, days_words, numbers, percent, plain, value},
};
use crate::{Basis, Bit, BitKind, Gap, Result, said::day_words};

/// A plant that came within so many days is still a newcomer if nobody has let it in \[d\]. Common
/// practice: with the slowest generation, 10 weeks in a cool room.
const NEW: i64 = 70;
/// Below this chance of carrying something a newcomer may join the others. Common practice.
pub const TARGET: f64 = 0.03;
/// Chance that a newcomer carries something, with the ends of its range: by mail or unknown, and
/// from a trusted hand. Common practice, no source.
const BY_MAIL: [f64; 3] = [0.1, 0.2, 0.4];
const TRUSTED: [f64; 3] = [0.02, 0.05, 0.1];

/// Newcomers that came together and stand together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Newcomers {
    /// Which.
    pub plants: Vec<Named>,
    /// Since when they are apart, or here \[days since 1970-01-01\].
    pub since: i64,
    /// Whether somebody wrote that they are kept apart.
    pub apart: bool,
    /// Where they stand: number and name.
    pub place: Option<(i64, String)>,
    /// From whom, or empty.
    pub from: String,
    /// Whether they come from a trusted hand.
    pub trusted: bool,
    /// Clean looks, of the one looked at least.
    pub looks: u32,
    /// The last of them \[days since 1970-01-01\].
    pub last_look: Option<i64>,
    /// How many more are needed.
    pub more: Option<u32>,
    /// That one of them carries something.
    pub chance: Chance,
    /// The same after one more look that finds nothing.
    pub after_next: f64,
    /// A generation of the slowest suspect since they came.
    pub generation: Option<Span>,
    /// When they may join the others at the earliest, by time and by looks
    /// \[days since 1970-01-01\].
    pub release: Option<i64>,
    /// When to look again, and the latest day \[days since 1970-01-01\].
    pub next_look: (i64, i64),
    /// Others that stand at the same place.
    pub beside: usize,
    /// Whether both conditions hold today.
    pub ready: bool,
}

/// All newcomers, the earliest first.
pub(crate) fn all(house: &House<'_, '_>) -> Result<Vec<(Newcomers, Told)>> {
    type Group = (i64, bool, Option<i64>, String, bool);
    let mut groups: BTreeMap<Group, Vec<Unit>> = BTreeMap::new();
    let arrived = house.signs("arrived")?;
    let kept = house.signs("kept_apart")?;
    let let_in = house.signs("let_in")?;
    for row in house.living.values() {
        let unit = Unit { kind: SubjectKind::Plant, number: row.number };
        let last =
            |signs: &[Sign]| signs.iter().filter(|s| house.reaches(s, unit)).map(|s| s.to).max();
        let released = last(&let_in);
        let apart = kept.iter().rfind(|s| house.reaches(s, unit));
        let came = arrived.iter().rfind(|s| s.unit == unit && !s.flag("own"));
        let (since, is_apart, trusted) = match (apart, came) {
            (Some(a), came) => (a.to.max(came.map_or(a.to, |c| c.to)), true, a.flag("trusted")),
            (None, Some(c)) if house.today - c.from <= NEW => (c.to.min(house.today), false, false),
            _ => continue,
        };
        if released.is_some_and(|day| day >= since) {
            continue;
        }
        let place = house.place_now(unit);
        groups.entry((since, is_apart, place, row.keeper.clone(), trusted)).or_default().push(unit);
    }
    let mut out = Vec::new();
    for ((since, apart, place, from, trusted), units) in groups {
        out.push(one(house, since, apart, place, from, trusted, &units)?);
    }
    Ok(out)
}

fn one(
    house: &House<'_, '_>,
    since: i64,
    apart: bool,
    place: Option<i64>,
    from: String,
    trusted: bool,
    units: &[Unit],
) -> Result<(Newcomers, Told)> {
    let looks_at = |unit: Unit| -> Vec<&Sign> {
        house.clean.iter().filter(|s| s.from > since && house.reaches(s, unit)).collect()
    };
    let least = units
        .iter()
        .map(|u| looks_at(*u))
        .min_by_key(|of| counted(of, &NEWCOMER).iter().map(|l| l.count).sum::<u32>())
        .unwrap_or_default();
    let counts: Vec<Looks> = counted(&least, &NEWCOMER);
    // A find since then makes it a trouble, not a newcomer that may be clean.
    let found = house.found.iter().any(|s| s.to >= since && units.contains(&s.unit));
    let prior = match (found, trusted) {
        (true, _) => [0.9, 0.95, 0.99],
        (_, true) => TRUSTED,
        _ => BY_MAIL,
    };
    let chance = still_there(Some(prior), 0, &counts);
    let generation = warmth(house, place, since)?.generation(&NEWCOMER, since)?;
    let last_look = least.iter().map(|s| s.to).max();
    let more = more_looks(Some(prior), 0, &counts, LookKind::Unsaid, TARGET);
    let next = next_look(last_look.unwrap_or(since), generation, since);
    // Looks a week apart at the least, so that each is a look of its own.
    let by_looks = more.map(|m| match m {
        0 => last_look.unwrap_or(since),
        m => next.0.max(house.today) + 7 * (i64::from(m) - 1),
    });
    let release = generation.zip(by_looks).map(|(g, looks)| g.usual.max(looks));
    let looked_after = generation.zip(last_look).is_some_and(|(g, l)| l >= g.usual);
    let beside = house
        .living
        .values()
        .filter(|_| place.is_some())
        .map(|p| Unit { kind: SubjectKind::Plant, number: p.number })
        .filter(|u| !units.contains(u) && house.place_now(*u) == place)
        .count();
    let newcomers = Newcomers {
        plants: units.iter().map(|u| house.named(*u)).collect::<Result<_>>()?,
        since,
        apart,
        place: place.map(|n| (n, house.place_name(Some(n)))),
        from,
        trusted,
        looks: counts.iter().map(|l| l.count).sum(),
        last_look,
        more,
        chance,
        after_next: still_there(Some(prior), 0, &one_more(&counts)).value,
        generation,
        release,
        next_look: next,
        beside,
        ready: !found && chance.value < TARGET && looked_after,
    };
    let words = said(&newcomers, house, &least);
    Ok((newcomers, words))
}

fn said(n: &Newcomers, house: &House<'_, '_>, looks: &[&Sign]) -> Told {
    let (t, hand) = (house.t(), house.hand);
    let who = super::words::capital(&numbers(&n.plants, t));
    let since = day_words(n.since, hand);
    let place = house.place_name(n.place.as_ref().map(|p| p.0));
    let values: [(&str, &dyn std::fmt::Display); 3] =
        [("who", &who), ("since", &since), ("place", &place)];
    let mut head = vec![plain(if n.apart {
        t.f("{who}, apart since {since}, {place}. That something came with them: ", &values)
    } else {
        t.f("{who}, new since {since}, {place}. That something came with them: ", &values)
    })];
    head.extend(chance_bits(n.chance, t));
    head.push(plain(t.t("; after a clean look ")));
    head.push(value(percent(n.after_next)));
    head.push(plain("."));
    let mut more = Vec::new();
    more.push(vec![plain(release_words(n, house))]);
    if !n.ready {
        more.push(vec![
            Bit { kind: BitKind::Weak, text: t.t("next: ").to_owned() },
            plain(t.f("look {n}, ", &[("n", &(n.looks + 1))])),
            value(days_words(n.next_look.0, n.next_look.1, hand)),
            plain("."),
        ]);
    }
    let mut gaps = Vec::new();
    if !n.apart {
        gaps.push(Gap {
            text: "Nobody wrote that it is kept apart; write “kept apart” if it is.",
            n: 0,
        });
    }
    if n.beside > 0 {
        gaps.push(Gap { text: "One other plant stands at the same place: it shares whatever came.|{n} other plants stand at the same place: they share whatever came.", n: n.beside });
    }
    gaps.push(Gap { text: if n.trusted {
        "Of twenty plants from a trusted hand one was taken to carry something, a guess."
    } else {
        "Of five plants by mail or from strangers one was taken to carry something, a guess; “trusted” takes one of twenty."
    }, n: 0 });
    let mut answer = bare(evidence(looks), Basis::CommonPractice, gaps, vec![virus_caution()]);
    answer.evidence.what = "one clean look|{n} clean looks";
    answer.evidence.plants = n.plants.len();
    told(answer, head, more, hand)
}

/// When it may join the others, and what is still needed.
pub(crate) fn release_words(n: &Newcomers, house: &House<'_, '_>) -> String {
    let (t, hand) = (house.t(), house.hand);
    if n.ready {
        return t.t("A generation of the slowest suspect is over and looks found nothing: they may join the others. A virus may have come all the same.").to_owned();
    }
    let generation = n.generation.map(|g| {
        t.f(
            "The slowest suspect, citrus mealybug, is through a generation by {day} ({range}).",
            &[("day", &day_words(g.usual, hand)), ("range", &days_words(g.fast, g.slow, hand))],
        )
    });
    let needed = match n.more {
        Some(0) => t.t("Looks enough; the last must fall after that day.").to_owned(),
        Some(m) => t.f(
            "One more clean look is needed, and the last after that day.|{n} more clean looks are needed, the last after that day.",
            &[("n", &m)],
        ),
        None => t.t("Looks alone do not bring the chance low enough.").to_owned(),
    };
    let until = n.release.map(|d| t.f("Not before {day}.", &[("day", &day_words(d, hand))]));
    [until, generation, Some(needed)].into_iter().flatten().collect::<Vec<_>>().join(" ")
}

//! Troubles and newcomers in words.

use serde::Serialize;

use super::{
    house::{House, Sign},
    species::Nature,
    trouble::{Followed, State, Trouble},
    words::{capital, chance_bits, days_words, label_first, numbers, percent, pets, plain, value},
};
use crate::{
    Answer, Basis, Bit, BitKind, Caution, Evidence, Gap, Hand, Mark, Said, said::day_words, say,
};

/// Something said with what it rests on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Told {
    /// Evidence, basis, gaps and cautions.
    pub answer: Answer,
    /// The sentence, and the rest in words.
    pub said: Said,
    /// Sentences that follow: what comes next and by when.
    pub more: Vec<Vec<Bit>>,
    /// Where the evidence line begins \[days since 1970-01-01\], and that day in words.
    pub start: (i64, String),
}

/// The evidence of entries.
pub(crate) fn evidence(signs: &[&Sign]) -> Evidence {
    let mut e = Evidence { what: "one entry|{n} entries", plants: 1, ..Evidence::default() };
    let mut all: Vec<&&Sign> = signs.iter().collect();
    all.sort_by_key(|s| s.to);
    for s in all {
        e.count(s.known());
        e.reach(s.from, s.to);
        let known = s.known();
        e.marks.push(if s.from == s.to {
            Mark::At { day: s.to, known }
        } else {
            Mark::Between { from: s.from, to: s.to, known }
        });
    }
    e
}

/// An answer without a value of its own, for its evidence, basis, gaps and cautions.
pub(crate) fn bare(
    evidence: Evidence,
    basis: Basis,
    gaps: Vec<Gap>,
    cautions: Vec<Caution>,
) -> Answer {
    Answer {
        question: "pests",
        frame: "",
        usually: None,
        next: None,
        evidence,
        basis,
        gaps,
        cautions,
        not_enough: None,
    }
}

/// Puts sentence and answer together.
pub(crate) fn told(answer: Answer, head: Vec<Bit>, more: Vec<Vec<Bit>>, hand: &Hand) -> Told {
    let said = Said { head, next: Vec::new(), ..say(&answer, hand) };
    let today = hand.today_number();
    // A fortnight before the first record, and a season at the least.
    let first = answer.evidence.first.map_or(today - 91, |f| (f - 14).min(today - 91));
    Told { start: (first, day_words(first, hand)), answer, said, more }
}

/// A trouble in words.
pub(crate) fn of_trouble(f: &Followed<'_>, house: &House<'_, '_>) -> Told {
    let signs: Vec<&Sign> = f.finds.iter().chain(&f.looks).chain(&f.treated).copied().collect();
    let basis = Basis::CommonPractice;
    let answer = bare(evidence(&signs), basis, gaps(&f.trouble, house), cautions(&f.trouble));
    told(answer, head(&f.trouble, house), more(&f.trouble, house), house.hand)
}

fn head(tr: &Trouble, house: &House<'_, '_>) -> Vec<Bit> {
    let (t, hand) = (house.t(), house.hand);
    let pest = capital(&tr.pest);
    let (place, since) = (tr.place_words(house), day_words(tr.since(), hand));
    let values: [(&str, &dyn std::fmt::Display); 3] =
        [("pest", &pest), ("place", &place), ("since", &since)];
    match (tr.state, tr.chance) {
        (State::Silent, _) => vec![
            plain(t.f("{pest}, {place}, found {since}: ", &values)),
            Bit {
                kind: BitKind::Absent,
                text: t.t("nothing was written for half a year; what is there now is not known").to_owned(),
            },
        ],
        (_, None) if tr.species().nature == Nature::Virus => vec![plain(t.f(
            "{pest}, {place}, found {since}. A look tells next to nothing about a virus: the plant is taken to carry it until a test says otherwise.",
            &values,
        ))],
        (_, None) => vec![
            plain(t.f("{pest}, {place}, found {since}: ", &values)),
            Bit {
                kind: BitKind::Absent,
                text: t.t("the plants on which it was found are no longer here; look at those that stood beside them").to_owned(),
            },
        ],
        (state, Some(chance)) => {
            let mut out = vec![plain(match state {
                State::Over => t.f("{pest}, {place}, since {since}, taken to be over. That some are still there: ", &values),
                _ => t.f("{pest}, {place}, since {since}. That some are still there: ", &values),
            })];
            out.extend(chance_bits(chance, t));
            if let Some(next) = tr.after_next.filter(|_| state == State::Open) {
                out.push(plain(t.t("; after a clean look ")));
                out.push(value(percent(next)));
            }
            out.push(plain("."));
            out
        }
    }
}

/// What follows: where, what was done, the next look, the next treatment.
fn more(tr: &Trouble, house: &House<'_, '_>) -> Vec<Vec<Bit>> {
    let t = house.t();
    let mut out = vec![vec![plain(seen_words(tr, house))]];
    if tr.state != State::Open {
        return out;
    }
    if let Some((from, to)) = tr.next_look {
        let nth = i64::from(tr.looks) + 1;
        let of = tr.more.map(|m| i64::from(tr.looks + m));
        let which = match of {
            Some(of) => t.f("look {n} of {of}", &[("n", &nth), ("of", &of)]),
            None => t.f("look {n}", &[("n", &nth)]),
        };
        out.push(vec![
            Bit { kind: BitKind::Weak, text: t.t("next: ").to_owned() },
            plain(format!("{which}, ")),
            value(days_words(from, to, house.hand)),
            plain("."),
        ]);
    }
    if let Some(g) = tr.generation {
        out.push(vec![
            plain(t.t("A generation since the last find or treatment is through ")),
            value(t.f("by {day}", &[("day", &day_words(g.usual, house.hand))])),
            Bit {
                kind: BitKind::Interval,
                text: format!(" ({})", days_words(g.fast, g.slow, house.hand)),
            },
            plain(t.t("; it is over only when a look after that finds nothing too.")),
            plain(format!(" {}", sources(tr, t))),
        ]);
    }
    out.extend(treat_again(tr, house));
    out
}

/// Where the times of development are from.
fn sources(tr: &Trouble, t: texts::Texts) -> String {
    let stages = tr.species().suspects.iter().flat_map(|s| s.stages(s.generation));
    let mut all: Vec<String> = stages
        .map(|s| match s.heat.basis {
            culture::Basis::Memory => t.f("{source}, from memory", &[("source", &s.heat.source)]),
            _ => s.heat.source.to_owned(),
        })
        .collect();
    all.dedup();
    // Of names that are not known every species stands here; the method's page lists them.
    if all.len() > 3 {
        return t.t("Times of development: table of heat sums.").to_owned();
    }
    t.f("Times of development: {sources}.", &[("sources", &all.join("; "))])
}

/// Where it was found, how many looks since, what was done.
fn seen_words(tr: &Trouble, house: &House<'_, '_>) -> String {
    let (t, hand) = (house.t(), house.hand);
    let on: Vec<_> =
        tr.on.iter().filter(|n| n.unit.kind == journal::SubjectKind::Plant).cloned().collect();
    let mut out = Vec::new();
    if !on.is_empty() {
        out.push(t.f("Found on {plants}.", &[("plants", &numbers(&on, t))]));
    }
    if let Some(before) = tr.clean_before {
        out.push(t.f(
            "Still clean on {before}, so it came between then and {since}.",
            &[("before", &day_words(before, hand)), ("since", &day_words(tr.since(), hand))],
        ));
    }
    if tr.last_found() != tr.since() {
        out.push(t.f("Last found on {day}.", &[("day", &day_words(tr.last_found(), hand))]));
    }
    out.push(match tr.looks {
        0 => t.t("No clean look since.").to_owned(),
        n => t.f("One clean look since.|{n} clean looks since.", &[("n", &n)]),
    });
    match tr.treatments.last() {
        None => out.push(t.t("No treatment is recorded.").to_owned()),
        Some(last) => {
            let what = product_words(last.product.as_deref(), t);
            out.push(t.f(
                "Treated once, on {day}, with {what}.|Treated {n} times, last on {day} with {what}.",
                &[("n", &tr.treatments.len()), ("day", &day_words(last.day, hand)), ("what", &what)],
            ));
        }
    }
    out.join(" ")
}

pub(crate) fn product_words(product: Option<&str>, t: texts::Texts) -> String {
    product.map_or_else(|| t.t("an unknown product").to_owned(), |p| format!("“{p}”"))
}

fn treat_again(tr: &Trouble, house: &House<'_, '_>) -> Vec<Vec<Bit>> {
    let (t, hand) = (house.t(), house.hand);
    let mut out = Vec::new();
    if let Some(most) = tr.label_reached {
        out.push(vec![plain(t.f(
            "The label's yearly maximum of {n} is reached: no more of it this year.",
            &[("n", &most)],
        ))]);
        return out;
    }
    match tr.window {
        Some(w) => {
            let opens = w.opens.max(tr.label_before.unwrap_or(w.opens));
            let dates = days_words(opens, w.closes.max(opens), hand);
            let repeats = t.f(
                "one repeat in all|{n} repeats in all, so far apart at the most",
                &[("n", &w.repeats)],
            );
            out.push(vec![
                plain(t.t("If it is treated again, then ")),
                value(dates),
                plain(t.t(", when what was spared is out and not yet old enough to multiply")),
                plain(format!("; {repeats}.")),
            ]);
            if tr.label_before.is_some_and(|d| d > w.closes) {
                out.push(vec![plain(t.f(
                    "The label allows nothing before {day}; the label holds, and the window is missed.",
                    &[("day", &day_words(tr.label_before.unwrap_or(0), hand))],
                ))]);
            } else if let Some(d) = tr.label_before.filter(|d| *d > w.opens) {
                out.push(vec![plain(t.f(
                    "The label allows nothing before {day}.",
                    &[("day", &day_words(d, hand))],
                ))]);
            }
        }
        None if tr.treatments.iter().any(|x| x.contact && x.day < tr.last_found())
            && tr.treatments.iter().all(|x| x.day < tr.last_found()) =>
        {
            out.push(vec![plain(
                t.t("It was found again after the last treatment, which counts no more."),
            )]);
        }
        None if tr.treatments.iter().any(|x| x.contact)
            && tr.species().nature == Nature::Animal =>
        {
            let all = tr.species().suspects.iter().all(|s| !s.exposed.is_empty());
            out.push(vec![plain(if all {
                t.t("The repeats that the dates ask for are done; more only as the label says.")
            } else {
                t.t("How long its eggs are spared is not published here: look every week, and repeat only as the label says.")
            })]);
        }
        None => {}
    }
    out
}

/// What is missing that would sharpen it.
fn gaps(tr: &Trouble, house: &House<'_, '_>) -> Vec<Gap> {
    let pest = tr.species();
    let mut out = Vec::new();
    if pest.words.is_empty() {
        out.push(Gap { text: "The name of the pest is not known here: the fastest and the slowest of what is common in houses give the dates.", n: 0 });
    } else if pest.stand_in {
        out.push(Gap {
            text: "No heat sum of this pest is published here; another species stands in for it.",
            n: 0,
        });
    } else if pest.suspects.len() > 1 {
        out.push(Gap {
            text: "Which species it is is not said: the fastest and the slowest give the dates.",
            n: 0,
        });
    }
    let (known, all) = tr.warmth;
    if pest.nature == Nature::Animal && known * 2 < all {
        out.push(Gap { text: "The temperature there is not recorded on most days: 20 to 24 °C were assumed for those.", n: 0 });
    }
    if tr.beyond {
        out.push(Gap { text: "It was colder than 15 °C or warmer than 30 °C there, where the straight line of development no longer holds.", n: 0 });
    }
    let moved = tr
        .on
        .iter()
        .filter(|n| n.here && house.place_now(n.unit) != tr.place.as_ref().map(|p| p.0))
        .count();
    if moved > 0 {
        out.push(Gap { text: "One plant on which it was found stands elsewhere now: look there too.|{n} plants on which it was found stand elsewhere now: look there too.", n: moved });
    }
    if tr.place.is_none() {
        out.push(Gap {
            text: "Where the plant stood is not recorded, so nobody can say who stood beside it.",
            n: 0,
        });
    }
    if tr.looks > 0 && tr.state == State::Open {
        out.push(Gap { text: "How good a look is, and what a treatment leaves, are guesses; the range is that of the guesses.", n: 0 });
    }
    out
}

fn cautions(tr: &Trouble) -> Vec<Caution> {
    let mut out = Vec::new();
    if tr.state == State::Open && tr.species().nature != Nature::Virus {
        out.push(label_first());
        let named = tr.treatments.iter().filter_map(|t| t.product.as_deref());
        let unknown = tr.treatments.iter().any(|t| t.product.is_none());
        if unknown
            || named.map(str::to_lowercase).any(|p| p.contains("thrin") || p.contains("pyreth"))
        {
            out.push(pets());
        }
    }
    if tr.species().nature == Nature::Virus {
        out.push(virus_caution());
    }
    out
}

/// What holds for viruses.
pub(crate) fn virus_caution() -> Caution {
    Caution {
        lead: "Viruses and tools.",
        text: "Keep the plant apart, take no cuttings and no pollen from it, and give none away until a test in a laboratory is negative. Sap on blades, hands, ties and in shared water carries viruses: a fresh blade or a flamed or disinfected one for each plant, the suspects last.",
    }
}

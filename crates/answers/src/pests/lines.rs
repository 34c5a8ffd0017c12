//! Lines of the page Today: looks, second treatments, releases.

use journal::{Reader, SubjectKind};

use super::{
    apart,
    house::{House, Named, Unit},
    trouble::{self, State, Trouble},
    words::{capital, chance_words, days_words, numbers, percent},
};
use crate::{
    Hand, Result,
    due::{About, Done, Due},
};

/// Lines are handed over so many days ahead \[d\].
const AHEAD: i64 = 14;
/// No more looks than these are told as a number in all.
const MOST_TOLD: u32 = 12;

/// What wants doing about pests.
pub(crate) fn due(reader: &Reader<'_>, hand: &Hand) -> Result<Vec<Due>> {
    let house = House::read(reader, hand)?;
    let mut out = Vec::new();
    for f in trouble::all(&house)? {
        if f.trouble.state == State::Open {
            out.extend(look(&f.trouble, &house));
            out.extend(treat(&f.trouble, &house));
        }
    }
    for (n, _) in apart::all(&house)? {
        out.extend(release(&n, &house));
    }
    Ok(out)
}

fn about(unit: Unit) -> About {
    About { kind: unit.kind, number: unit.number }
}

/// Two troubles of one plant are two lines, each done and put off by itself.
fn key(what: &str, tr: &Trouble) -> String {
    format!("{what} {}", tr.typed.trim().to_lowercase())
}

fn named(list: &[Named]) -> Vec<(About, String)> {
    list.iter().map(|n| (about(n.unit), n.name.plain.clone())).collect()
}

fn clean(house: &House<'_, '_>, pest: &str) -> Done {
    Done {
        words: house.t().t("looked and clean").to_owned(),
        kind: "clean",
        detail: House::detail(&[("looked_for", pest)]),
    }
}

fn still(house: &House<'_, '_>, pest: &str) -> Done {
    Done {
        words: house.t().t("still there").to_owned(),
        kind: "pest_seen",
        detail: House::detail(&[("pest", pest)]),
    }
}

/// Who and where, such as “West sill, plants 12 and 14”.
fn where_words(tr: &Trouble, house: &House<'_, '_>) -> String {
    let plants: Vec<Named> =
        tr.on.iter().filter(|n| n.here && n.unit.kind == SubjectKind::Plant).cloned().collect();
    if plants.is_empty() {
        return tr.place_words(house);
    }
    format!("{}, {}", capital(&tr.place_words(house)), numbers(&plants, house.t()))
}

fn look(tr: &Trouble, house: &House<'_, '_>) -> Option<Due> {
    let ((day, until), unit, chance) = (tr.next_look?, tr.about()?, tr.chance?);
    if day > house.today + AHEAD {
        return None;
    }
    let t = house.t();
    let place = where_words(tr, house);
    let nth = tr.looks + 1;
    // Where looks alone take dozens, their number only frightens.
    let text = match tr.more.map(|m| tr.looks + m).filter(|of| *of <= MOST_TOLD) {
        Some(of) => t.f(
            "{place}: {pest}, look {n} of {of}.",
            &[("place", &place), ("pest", &tr.pest), ("n", &nth), ("of", &of)],
        ),
        None => {
            t.f("{place}: {pest}, look {n}.", &[("place", &place), ("pest", &tr.pest), ("n", &nth)])
        }
    };
    let reason = t.f(
        "That some are still there: {chance}; after a clean look, {after}.",
        &[
            ("chance", &chance_words(chance.value, t)),
            ("after", &percent(tr.after_next.unwrap_or(chance.value))),
        ],
    );
    Some(Due {
        group: "Look again",
        key: key("look_again", tr),
        about: about(unit),
        day,
        until: Some(until),
        text,
        reason,
        named: named(&tr.on),
        done: vec![clean(house, &tr.typed), still(house, &tr.typed)],
        put_off: None,
    })
}

fn treat(tr: &Trouble, house: &House<'_, '_>) -> Option<Due> {
    let (w, unit) = (tr.window?, tr.about()?);
    let opens = w.opens.max(tr.label_before.unwrap_or(w.opens));
    if tr.label_reached.is_some() || opens > w.closes || opens > house.today + AHEAD {
        return None;
    }
    // Long past, it helps no more: the look says what to do.
    if w.closes < house.today - AHEAD {
        return None;
    }
    let t = house.t();
    let last = tr.treatments.last()?;
    let dates = days_words(opens, w.closes, house.hand);
    let text = t.f(
        "{place}: {pest}, second treatment {dates}, if the label allows it.",
        &[("place", &where_words(tr, house)), ("pest", &tr.pest), ("dates", &dates)],
    );
    let reason = t.f(
        "By then what was spared is out and not yet old enough to multiply; the label's interval and yearly maximum come first. Last time: {what}.",
        &[("what", &super::told::product_words(last.product.as_deref(), t))],
    );
    let mut detail = House::detail(&[
        ("against", &tr.typed),
        ("product", last.product.as_deref().unwrap_or("")),
        ("label_group", last.group.as_deref().unwrap_or("")),
        ("how", last.how.as_deref().unwrap_or("")),
    ]);
    if last.product.is_none() {
        detail.insert("unknown_product".to_owned(), true.into());
    }
    let again =
        Done { words: t.t("treated with the same again").to_owned(), kind: "treated", detail };
    Some(Due {
        group: "Look again",
        key: key("treat_again", tr),
        about: about(unit),
        day: opens,
        until: Some(w.closes),
        text,
        reason,
        named: named(&tr.on),
        done: vec![again, clean(house, &tr.typed), still(house, &tr.typed)],
        put_off: None,
    })
}

/// One line for newcomers that stand alone at a place, else one for each.
fn release(n: &apart::Newcomers, house: &House<'_, '_>) -> Vec<Due> {
    if !n.apart {
        return Vec::new();
    }
    let t = house.t();
    let alone = n
        .place
        .as_ref()
        .filter(|_| n.beside == 0 && n.plants.len() > 1)
        .map(|p| Unit { kind: SubjectKind::Place, number: p.0 });
    let units: Vec<(Unit, Vec<Named>)> = match alone {
        Some(place) => vec![(place, n.plants.clone())],
        None => n.plants.iter().map(|p| (p.unit, vec![p.clone()])).collect(),
    };
    let mut out = Vec::new();
    for (unit, plants) in units {
        let who = capital(&numbers(&plants, t));
        let look_due = n.next_look.0 <= house.today;
        let day = if n.ready || look_due { n.next_look.0.min(house.today) } else { n.next_look.0 };
        if day > house.today + AHEAD {
            continue;
        }
        let text = match (n.ready, n.release) {
            (true, _) => t.f("{who} may join the others.", &[("who", &who)]),
            (false, Some(d)) => t.f(
                "{who} from {keeper} stays apart, not before {day} with the others: look {n}.|{who} from {keeper} stay apart, not before {day} with the others: look {n}.",
                &[
                    ("count", &plants.len()),
                    ("who", &who),
                    ("keeper", &if n.from.is_empty() { t.t("unknown hands") } else { &n.from }),
                    ("day", &crate::said::day_words(d, house.hand)),
                    ("n", &(n.looks + 1)),
                ],
            ),
            (false, None) => t.f(
                "{who} stays apart.|{who} stay apart.",
                &[("count", &plants.len()), ("who", &who)],
            ),
        };
        let reason = t.f(
            "That something came with them: {chance}; after a clean look, {after}.",
            &[("chance", &chance_words(n.chance.value, t)), ("after", &percent(n.after_next))],
        );
        let let_in = Done {
            words: t.t("let in with the others").to_owned(),
            kind: "let_in",
            detail: House::detail(&[]),
        };
        let mut done = vec![
            Done { detail: House::detail(&[]), ..clean(house, "") },
            Done {
                words: t.t("something is on them").to_owned(),
                kind: "pest_seen",
                detail: House::detail(&[("pest", t.t("not yet named"))]),
            },
        ];
        if n.ready {
            done.insert(0, let_in);
        }
        out.push(Due {
            group: "Look again",
            key: "let_in".to_owned(),
            about: about(unit),
            day,
            until: None,
            text,
            reason,
            named: named(&plants),
            done,
            put_off: None,
        });
    }
    out
}

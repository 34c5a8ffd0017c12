//! Which column holds what: by its header, else by what stands in it.

use std::{collections::HashMap, sync::LazyLock};

use regex::Regex;

use crate::{
    Language, Role, amount, date,
    flora::FLORA,
    fold::fold,
    received,
    sheet::{Cell, Line, Value},
    words::{self, pattern},
};

fn role(name: &str) -> Option<Role> {
    Some(match name {
        "name" => Role::Name,
        "genus" => Role::Genus,
        "species" => Role::Species,
        "cultivar" => Role::Cultivar,
        "seed_parent" => Role::SeedParent,
        "pollen_parent" => Role::PollenParent,
        "parents" => Role::Parents,
        "source" => Role::Source,
        "date" => Role::Date,
        "sown" => Role::Sown,
        "received_as" => Role::ReceivedAs,
        "price" => Role::Price,
        "currency" => Role::Currency,
        "pot" => Role::Pot,
        "place" => Role::Place,
        "state" => Role::State,
        "tag" => Role::Tag,
        "count" => Role::Count,
        "notes" => Role::Notes,
        "ignore" => Role::Ignore,
        _ => return None,
    })
}

static BRACKET: LazyLock<Regex> = LazyLock::new(|| pattern(r"[(\[][^)\]]*[)\]]"));

fn is_unit(word: &str) -> bool {
    amount::unit(word).is_some() && word != "in"
        || amount::currency(word).is_some_and(|_| !matches!(word, "c" | "p"))
        || matches!(word, "ø" | "o" | "⌀" | "dd/mm/yyyy" | "dd.mm.yyyy")
}

/// The readings of one header cell, best first: role, language, how sure (3 exact to 1 loose).
pub(crate) fn readings(text: &str) -> Vec<(Role, Option<Language>, u8)> {
    let whole = fold(text).trim().trim_end_matches([':', '?', '*']).trim().to_owned();
    if whole.is_empty() || whole.chars().count() > 45 {
        return Vec::new();
    }
    let of = |t: &str, sure: u8| -> Vec<(Role, Option<Language>, u8)> {
        words::header(t).iter().filter_map(|(r, l)| role(r).map(|r| (r, *l, sure))).collect()
    };
    let exact = of(&whole, 3);
    if !exact.is_empty() {
        return exact;
    }
    let bare = BRACKET.replace_all(&whole, " ").into_owned();
    let kept: Vec<&str> =
        bare.split([' ', ',', '_']).filter(|w| !w.is_empty() && !is_unit(w)).collect();
    let joined = kept.join(" ");
    let trimmed = joined.trim_end_matches(['.', ':', '?']).trim();
    for candidate in [joined.as_str(), trimmed] {
        let found = of(candidate, 3);
        if !found.is_empty() {
            return found;
        }
    }
    if kept.is_empty() {
        // A header of nothing but a currency or a unit.
        return if whole.chars().any(|c| "£€$".contains(c)) || amount::currency(&whole).is_some()
        {
            vec![(Role::Price, None, 2)]
        } else if whole.split([' ', '(', ')', '[', ']', '/']).any(|w| is_unit(w) && w != "l") {
            vec![(Role::Pot, None, 2)]
        } else {
            Vec::new()
        };
    }
    if kept.len() > 5 {
        return Vec::new();
    }
    if kept.len() > 1
        && matches!(
            kept.last(),
            Some(&("from" | "von" | "van" | "av" | "fran" | "de" | "whom" | "wem" | "wie"))
        )
    {
        return vec![(Role::Source, None, 2)];
    }
    let mut loose = Vec::new();
    for n in (1..kept.len()).rev() {
        for window in kept.windows(n) {
            let phrase = window.join(" ");
            if n == 1 && (words::is(&phrase, "stop") || phrase.len() < 3) {
                continue;
            }
            loose.extend(of(&phrase, 1));
        }
        if !loose.is_empty() {
            break;
        }
    }
    if loose.is_empty() && whole.contains('/') {
        loose = whole.split('/').flat_map(|part| of(part.trim(), 1)).collect();
    }
    if loose.is_empty() { compound(&kept) } else { loose }
}

/// German, Dutch and Swedish compounds say what they are at their end ("Stellplatz").
fn compound(kept: &[&str]) -> Vec<(Role, Option<Language>, u8)> {
    let ends = [
        ("platz", Role::Place),
        ("plaats", Role::Place),
        ("plats", Role::Place),
        ("standort", Role::Place),
        ("plek", Role::Place),
        ("datum", Role::Date),
        ("preis", Role::Price),
        ("prijs", Role::Price),
        ("pris", Role::Price),
        ("kosten", Role::Price),
        ("topf", Role::Pot),
        ("topfgrosse", Role::Pot),
        ("nummer", Role::Tag),
        ("-nr", Role::Tag),
        ("nr", Role::Tag),
        ("zustand", Role::State),
        ("status", Role::State),
        ("quelle", Role::Source),
        ("herkunft", Role::Source),
        ("herkomst", Role::Source),
        ("bezeichnung", Role::Name),
        ("pflanzenname", Role::Name),
        ("namn", Role::Name),
        ("naam", Role::Name),
        ("bemerkung", Role::Notes),
        ("notiz", Role::Notes),
    ];
    let fits = |word: &str| {
        let word = word.trim_end_matches('.');
        ends.iter().find(|(e, _)| word.len() > e.len() + 1 && word.ends_with(e)).map(|(_, r)| *r)
    };
    let living =
        ["leben", "lebt", "leven", "leeft", "alive", "vivant", "vivante", "viva", "vivo", "lever"];
    if kept.iter().any(|w| living.contains(&w.trim_matches('?'))) {
        return vec![(Role::State, None, 1)];
    }
    kept.iter().rev().find_map(|w| fits(w)).map(|r| vec![(r, None, 1)]).unwrap_or_default()
}

/// Chooses among the readings of all header cells with the language they agree on.
pub(crate) fn by_header(cells: &[Cell], votes: &HashMap<Language, u32>) -> Vec<Option<(Role, u8)>> {
    let all: Vec<Vec<(Role, Option<Language>, u8)>> =
        cells.iter().map(|c| readings(&c.text)).collect();
    let mut tally = votes.clone();
    for readings in &all {
        let mut langs: Vec<Language> = readings.iter().filter_map(|r| r.1).collect();
        langs.sort_unstable();
        langs.dedup();
        for lang in &langs {
            *tally.entry(*lang).or_default() += if langs.len() == 1 { 4 } else { 1 };
        }
    }
    let weight = |lang: Option<Language>| lang.and_then(|l| tally.get(&l)).copied().unwrap_or(0);
    let mut chosen: Vec<Option<(Role, u8)>> = all
        .iter()
        .map(|readings| {
            // The first of equals wins, so the table's order counts.
            let mut best: Option<(Role, u8, u32)> = None;
            for (role, lang, sure) in readings {
                let w = weight(*lang);
                if best.is_none_or(|b| (*sure, w) > (b.1, b.2)) {
                    best = Some((*role, *sure, w));
                }
            }
            best.map(|b| (b.0, b.1))
        })
        .collect();
    second_readings(&mut chosen, &all);
    settle(&mut chosen);
    chosen
}

/// A header that repeats the meaning of another is read by its other meaning:
/// "Nom", "Variété" are name and cultivar.
fn second_readings(chosen: &mut [Option<(Role, u8)>], all: &[Vec<(Role, Option<Language>, u8)>]) {
    for i in 0..chosen.len() {
        let Some((role, sure)) = chosen[i] else { continue };
        let better = |(j, c): (usize, &Option<(Role, u8)>)| {
            j != i && c.is_some_and(|c| c.0 == role && (c.1 > sure || (c.1 == sure && j < i)))
        };
        if role == Role::Notes || !chosen.iter().enumerate().any(better) {
            continue;
        }
        let taken = |r: Role| chosen.iter().flatten().any(|c| c.0 == r);
        if let Some(other) = all[i].iter().find(|r| r.0 != role && r.2 >= 2 && !taken(r.0)) {
            chosen[i] = Some((other.0, other.2));
        }
    }
}

/// One column for each role where only one makes sense.
fn settle(chosen: &mut [Option<(Role, u8)>]) {
    let count = |c: &[Option<(Role, u8)>], role| c.iter().flatten().filter(|r| r.0 == role).count();
    // "Seed" and "pollen" are parents only as a pair.
    if count(chosen, Role::SeedParent) == 1 && count(chosen, Role::PollenParent) == 0 {
        for c in chosen.iter_mut().flatten() {
            if c.0 == Role::SeedParent && c.1 < 3 {
                c.0 = Role::Notes;
            }
        }
    }
    // Variety or "Sorte" beside a name column is the cultivar; without one it is the name.
    if count(chosen, Role::Name) == 0 && count(chosen, Role::Genus) == 0 {
        for wanted in [Role::Cultivar, Role::Species] {
            if let Some(c) = chosen.iter_mut().flatten().find(|c| c.0 == wanted) {
                c.0 = Role::Name;
                break;
            }
        }
    }
    for role in [
        Role::Name,
        Role::Genus,
        Role::Species,
        Role::Cultivar,
        Role::SeedParent,
        Role::PollenParent,
        Role::Source,
        Role::Date,
        Role::Sown,
        Role::ReceivedAs,
        Role::Price,
        Role::Pot,
        Role::State,
        Role::Tag,
        Role::Count,
        Role::Currency,
        Role::Parents,
    ] {
        let best = chosen.iter().flatten().filter(|c| c.0 == role).map(|c| c.1).max();
        let mut seen = false;
        for slot in chosen.iter_mut().filter(|c| c.is_some_and(|c| c.0 == role)) {
            if !seen && slot.map(|c| c.1) == best {
                seen = true;
            } else {
                // What stands in it may still tell.
                *slot = None;
            }
        }
    }
    if count(chosen, Role::Date) > 0 {
        for c in chosen.iter_mut().flatten().filter(|c| c.0 == Role::Sown) {
            c.0 = Role::Notes;
        }
    }
}

/// Whether a line can be the header: how many different meanings its cells have.
pub(crate) fn header_score(line: &Line) -> usize {
    let mut roles: Vec<Role> = Vec::new();
    let (mut filled, mut exact) = (0, 0);
    for cell in line.cells.iter().filter(|c| !c.is_empty()) {
        filled += 1;
        let digits = cell.text.trim().starts_with(|c: char| c.is_ascii_digit());
        // A plant, a number or a date stands in a row of data, not above it.
        if !matches!(cell.value, Value::Text) || digits || crate::layout::plant_like(&cell.text) {
            return 0;
        }
        let found = readings(&cell.text);
        let fresh = found.iter().find(|r| !roles.contains(&r.0));
        if let Some(r) = fresh {
            roles.push(r.0);
            exact += usize::from(r.2 >= 2);
        }
    }
    // A data row may hold a word or two that also head columns.
    if exact < 2 || roles.len() * 2 < filled { 0 } else { roles.len() + exact }
}

#[derive(Debug, Default, Clone)]
struct Column {
    filled: usize,
    name: usize,
    date: usize,
    price: usize,
    pot: usize,
    received: usize,
    state: usize,
    own: usize,
    giver: usize,
    whole: usize,
    words: usize,
    distinct: std::collections::HashSet<String>,
}

fn study(lines: &[&Line], col: usize, ctx: &date::Context) -> Column {
    let mut c = Column::default();
    for line in lines.iter().take(300) {
        let Some(cell) = line.cells.get(col).filter(|c| !c.is_empty()) else { continue };
        let t = fold(cell.text.trim());
        c.filled += 1;
        c.words += t.split(' ').count();
        c.distinct.insert(t.clone());
        let first = t.split(' ').next().unwrap_or_default().trim_end_matches('.');
        let plant = FLORA.genus(first).is_some()
            || words::vernacular(&t).is_some()
            || words::vernacular(first).is_some()
            || first.rsplit_once('-').is_some_and(|x| words::vernacular(x.1).is_some())
            || (t.contains("'") || t.contains('"')) && t.split(' ').count() < 8 && first.len() < 6
            || t.split_once(". ")
                .is_some_and(|(a, _)| a.len() < 7 && FLORA.starting(a).next().is_some());
        c.name += usize::from(plant);
        let whole = t.parse::<u32>().is_ok();
        c.whole += usize::from(whole);
        let read = date::read(&cell.text, ctx);
        let dated = matches!(cell.value, Value::Day(_))
            || (read.edtf.is_some() || read.ambiguous) && !read.embedded;
        c.date += usize::from(dated && (!whole || t.len() >= 4));
        c.price += usize::from(amount::price_in(&t).amount.is_some());
        let sized = matches!(amount::pot(&cell.text), amount::PotCell::Size(_, Some(_)))
            || amount::no_pot(&t);
        c.pot += usize::from(sized);
        c.received += usize::from(received::cell(&cell.text).is_some() && t.split(' ').count() < 4);
        let fate = ["alive", "dead", "given"].iter().any(|m| words::is(&t, m));
        c.state += usize::from(fate);
        c.own += usize::from(words::is(&t, "own"));
        c.giver += usize::from(words::has(&t, "giver"));
    }
    c
}

/// A header is not believed where the cells under it plainly say otherwise:
/// "Etikett" over numbers, with the names under a header that was not understood.
fn belied(chosen: &mut [Option<(Role, u8)>], columns: &[Column]) {
    let names = |r: Role| {
        matches!(
            r,
            Role::Genus | Role::Species | Role::Cultivar | Role::SeedParent | Role::PollenParent
        ) || r == Role::Parents
    };
    // "Lugar" over nurseries and "propia" is where plants come from, not where they stand.
    let role_at = |chosen: &[Option<(Role, u8)>], r: Role| {
        chosen.iter().position(|c| c.is_some_and(|c| c.0 == r))
    };
    // "Combien" over sums of money asks for the price, not the number.
    if role_at(chosen, Role::Price).is_none()
        && let Some(at) = role_at(chosen, Role::Count)
        && columns[at].price * 5 >= columns[at].filled * 2
        && columns[at].filled > 0
    {
        chosen[at] = Some((Role::Price, 1));
    }
    if role_at(chosen, Role::Source).is_none()
        && let Some(at) = role_at(chosen, Role::Place)
        && columns[at].own > 0
        && columns[at].giver > 0
    {
        chosen[at] = Some((Role::Source, 1));
    }
    // A list of crosses or of genera in a column of their own has its reasons.
    if chosen.iter().flatten().any(|c| names(c.0)) {
        return;
    }
    for (role, share) in
        [(Role::Name, (|c| c.name) as fn(&Column) -> usize), (Role::Date, |c| c.date)]
    {
        let Some(at) = chosen.iter().position(|c| c.is_some_and(|c| c.0 == role)) else { continue };
        let percent = |c: &Column| (share(c) * 100).checked_div(c.filled).unwrap_or(0);
        if columns[at].filled < 2 || percent(&columns[at]) > 15 {
            continue;
        }
        let better = (0..columns.len())
            .filter(|i| *i != at && columns[*i].filled * 2 >= columns[at].filled)
            .filter(|i| percent(&columns[*i]) >= 60)
            .max_by_key(|i| percent(&columns[*i]));
        let Some(better) = better else { continue };
        let c = &columns[at];
        let numbers = c.whole * 10 >= c.filled * 8 && c.distinct.len() * 10 >= c.filled * 8;
        let tagged = chosen.iter().flatten().any(|c| c.0 == Role::Tag);
        chosen[at] = (numbers && !tagged).then_some((Role::Tag, 1));
        chosen[better] = Some((role, 1));
    }
}

/// Fills in roles by content: all columns where there is no header, else those it left open.
pub(crate) fn by_content(
    lines: &[&Line],
    chosen: &mut Vec<Option<(Role, u8)>>,
    header: bool,
    ctx: &date::Context,
) {
    let width = lines.iter().map(|l| l.cells.len()).max().unwrap_or(0);
    chosen.resize(width.max(chosen.len()), None);
    let columns: Vec<Column> = (0..width).map(|c| study(lines, c, ctx)).collect();
    if header {
        belied(chosen, &columns);
    }
    let taken = |chosen: &[Option<(Role, u8)>], role| chosen.iter().flatten().any(|c| c.0 == role);
    let mut best = |role: Role, score: &dyn Fn(&Column) -> usize, percent: usize| {
        if taken(chosen, role) || (role == Role::Date && taken(chosen, Role::Sown)) {
            return;
        }
        let open = (0..width).filter(|i| chosen[*i].is_none() && columns[*i].filled > 0);
        let found =
            open.filter(|i| score(&columns[*i]) * 100 >= columns[*i].filled * percent).max_by_key(
                |i| (score(&columns[*i]) * 100 / columns[*i].filled, std::cmp::Reverse(*i)),
            );
        if let Some(i) = found {
            chosen[i] = Some((role, 1));
        }
    };
    // Under a header a name column is rarely left unrecognised, so more is asked of it.
    best(Role::Name, &|c| c.name, if header { 50 } else { 35 });
    best(Role::Date, &|c| c.date, 50);
    best(Role::Price, &|c| c.price, 50);
    best(Role::Pot, &|c| c.pot, 60);
    best(Role::ReceivedAs, &|c| c.received, 60);
    best(Role::State, &|c| c.state, 80);
    best(Role::Source, &|c| if c.own > 0 && c.words <= c.filled * 4 { c.filled } else { 0 }, 100);
    if !header {
        best(Role::Tag, &|c| if c.distinct.len() * 10 >= c.filled * 9 { c.whole } else { 0 }, 90);
        best(Role::Price, &|c| if c.distinct.len() > 2 { c.whole } else { 0 }, 101);
        best(Role::Source, &|c| if c.own > 0 { c.filled } else { 0 }, 100);
        let short = |c: &Column| {
            c.words <= c.filled * 3
                && c.distinct.len() * 10 <= c.filled * 8
                && c.whole * 2 < c.filled
        };
        best(Role::Source, &|c| if short(c) { c.filled } else { 0 }, 100);
        best(Role::Place, &|c| if short(c) { c.filled } else { 0 }, 100);
    }
}

//! Cells that hold several things at once: keeper and date in one cell, and
//! remarks that carry everything the list has no column for.

use std::collections::{HashMap, HashSet};

use crate::{
    Language, Role, amount, date,
    fold::{fold, squeeze},
    input::{About, Input},
    labels, read,
    sheet::Cell,
    words::{self, has},
};

/// A context for recognising dates before the file's own order is known.
pub(crate) fn plain() -> date::Context {
    date::Context {
        order: date::Order { day_first: Some(true), year_first: false },
        lang: Language::En,
        written: None,
        last_year: 2050,
    }
}

fn dated(text: &str, ctx: &date::Context) -> bool {
    let read = date::read(text, ctx);
    let said = ["date_impossible", "date_no_year", "date_relative"];
    let told = read.edtf.is_some() || read.ambiguous;
    !read.embedded && (told || read.codes.iter().any(|c| said.contains(c)))
}

/// Whether a text is a date and holds no other words.
fn only_dated(text: &str, ctx: &date::Context) -> bool {
    if !dated(text, ctx) {
        return false;
    }
    let mut t = fold(text);
    let kinds = [
        "holiday1",
        "holiday2",
        "holiday3",
        "holiday4",
        "holiday5",
        "holiday6",
        "holiday7",
        "holiday8",
        "holiday9",
        "holiday10",
        "holiday11",
        "holiday12",
        "easter",
        "pentecost",
        "carnival",
        "mothersday",
        "spring",
        "summer",
        "autumn",
        "winter",
        "about",
        "before",
        "after",
        "part",
        "sowing",
    ];
    for kind in kinds {
        while let Some(range) = words::find(&t, kind) {
            t.replace_range(range, " ");
        }
    }
    let other = |w: &&str| {
        let small = matches!(
            *w,
            "of" | "de"
                | "del"
                | "des"
                | "du"
                | "le"
                | "the"
                | "den"
                | "der"
                | "am"
                | "im"
                | "in"
                | "on"
                | "i"
                | "en"
                | "el"
                | "op"
                | "van"
                | "au"
                | "st"
                | "nd"
                | "rd"
                | "th"
                | "er"
                | "to"
                | "bis"
                | "a"
                | "tot"
                | "till"
                | "ii"
                | "iii"
                | "iv"
                | "v"
                | "vi"
                | "vii"
                | "viii"
                | "ix"
                | "x"
                | "xi"
                | "xii"
                | "l"
                | "d"
                | "talet"
                | "tal"
                | "s"
                | "ish"
        );
        let known = words::meanings(w)
            .iter()
            .any(|m| matches!(m.0, "or" | "last" | "this" | "year" | "unknown" | "ditto" | "ago"));
        !small && !known && words::month(w).is_none()
    };
    !t.split(|c: char| !c.is_alphabetic()).filter(|w| !w.is_empty()).any(|w| other(&w))
}

/// Spreads what stands together in one cell over the fields the sheet has no column for.
pub(crate) fn spread(inputs: &mut [Input], about: &About) {
    let dates = about.has(Role::Date) || about.has(Role::Sown);
    let ctx = plain();
    pairs(inputs, about);
    if !dates && about.has(Role::Source) {
        for input in inputs.iter_mut() {
            if let Some((source, date)) = apart(&input.source, &ctx) {
                input.date = Some(Cell::text(&with_sowing(&source, &date)));
                input.source = source;
            }
        }
    }
    if dates && !about.has(Role::Source) {
        for input in inputs.iter_mut() {
            keeper_beside_date(input, &ctx);
        }
    }
    let crosses = about.has(Role::SeedParent) && !about.has(Role::Name);
    if !about.has(Role::Source) && !crosses {
        remarks(inputs, about, &ctx);
    }
}

/// "9 cm, véranda" and "3 € / bouture": two things in one column.
fn pairs(inputs: &mut [Input], about: &About) {
    for input in inputs.iter_mut() {
        let pot = pieces(&input.pot);
        if pot.len() > 1 && matches!(amount::pot(&input.pot), amount::PotCell::NotASize) {
            let sized = |p: &String| matches!(amount::pot(p), amount::PotCell::Size(..));
            if let Some(at) = pot.iter().position(sized) {
                input.pot.clone_from(&pot[at]);
                if input.place.is_empty() && !about.has(Role::Place) {
                    let rest: Vec<String> = pot
                        .iter()
                        .enumerate()
                        .filter(|(i, _)| *i != at)
                        .map(|p| p.1.clone())
                        .collect();
                    input.place = rest.join(", ");
                }
            }
        }
        let price = input.price.as_ref().map(|c| pieces(&c.text)).unwrap_or_default();
        if price.len() > 1 && !about.has(Role::ReceivedAs) && input.received.is_empty() {
            let kind = price.iter().find(|p| labels::received_whole(&fold(p)));
            input.received = kind.cloned().unwrap_or_default();
        }
    }
}

fn pieces(text: &str) -> Vec<String> {
    text.split([';', '/', '|', '\n'])
        .flat_map(|p| p.split(", "))
        .flat_map(|p| p.split(" - "))
        .map(squeeze)
        .filter(|p| !p.is_empty())
        .collect()
}

/// "2019, Oma": a keeper in the column for dates.
fn keeper_beside_date(input: &mut Input, ctx: &date::Context) {
    let Some(cell) = &input.date else { return };
    let text = cell.text.clone();
    let found = parts(&text);
    if found.len() > 1 && !only_dated(&text, ctx) && input.source.is_empty() {
        several_beside_date(input, &found, ctx);
        return;
    }
    let Some((source, date)) = apart(&text, ctx) else { return };
    if source.starts_with(char::is_uppercase)
        || has(&fold(&source), "giver")
        || from(&source)
        || read::FROM.is_match(&fold(&source))
    {
        input.source = source;
        input.date = Some(Cell::text(&date));
    }
}

/// "ICA dec 2020, 99 kr" in the column for dates.
fn several_beside_date(input: &mut Input, found: &[String], ctx: &date::Context) {
    let mut label = Input::new(input.sheet, input.row, Vec::new());
    for part in found {
        match apart(part, ctx).filter(|_| label.date.is_none()) {
            Some((rest, date)) => {
                label.date = Some(Cell::text(&with_sowing(&rest, &date)));
                labels::place_part(&rest, &mut label, &HashMap::new(), ctx);
            }
            None => labels::place_part(part, &mut label, &HashMap::new(), ctx),
        }
    }
    if label.date.is_none() {
        return;
    }
    input.date = label.date;
    let own = found.iter().any(|p| words::is(&fold(p), "own"));
    input.source = if own { "own".to_owned() } else { label.source };
    input.notes.append(&mut label.notes);
    if input.price.is_none() {
        input.price = label.price;
    }
    if input.pot.is_empty() {
        input.pot = label.pot;
    }
    if input.received.is_empty() {
        input.received = label.received;
    }
}

fn from(text: &str) -> bool {
    let t = fold(text);
    ["from ", "von ", "van ", "de ", "du ", "fran ", "av ", "bei ", "chez ", "hos "]
        .iter()
        .any(|p| t.starts_with(p))
}

/// "eigene Aussaat, 4.2.2021": the date is that of the sowing.
fn with_sowing(other: &str, date: &str) -> String {
    let t = fold(other);
    match words::find(&t, "sowing") {
        Some(range) => format!("{} {date}", &t[range]),
        None => date.to_owned(),
    }
}

/// Without signs around it and without the "in" or "am" that stood before a date.
fn bare(s: &str) -> String {
    let signs = [',', ';', '/', '-', '–', '|', '(', ')', ' '];
    let mut s = s.trim_matches(signs);
    while let Some((head, last)) = s.rsplit_once(' ') {
        let joins =
            ["in", "en", "im", "am", "on", "i", "op", "au", "le", "el", "seit", "since", "den"];
        if !joins.contains(&fold(last).as_str()) {
            break;
        }
        s = head.trim_end_matches(signs);
    }
    s.to_owned()
}

/// Cuts "Börse Lüdigen, 22.9.2018" into keeper and date.
pub(crate) fn apart(text: &str, ctx: &date::Context) -> Option<(String, String)> {
    let text = squeeze(text);
    let says = text.chars().any(|c| c.is_ascii_digit() || c == '?')
        || fold(&text).split([' ', ',', '/']).any(|w| words::month(w).is_some());
    if !says || text.is_empty() || only_dated(&text, ctx) {
        return None;
    }
    let clean = bare;
    for sign in [", ", "; ", " / ", " - ", " – ", " | ", "(", ",", ";", "/"] {
        for (at, _) in text.match_indices(sign) {
            let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
            let after = text[at + sign.len()..].chars().next();
            if sign.len() == 1 && digit(text[..at].chars().last()) && digit(after) {
                continue;
            }
            let (a, b) = (clean(&text[..at]), clean(&text[at + sign.len()..]));
            if a.is_empty() || b.is_empty() {
                continue;
            }
            let unknown = |s: &str| words::is(&fold(s), "unknown");
            if only_dated(&b, ctx) || unknown(&b) {
                return Some((a, b));
            }
            if only_dated(&a, ctx) {
                return Some((b, a));
            }
        }
    }
    let tokens: Vec<&str> = text.split(' ').collect();
    for n in (1..tokens.len().min(5)).rev() {
        let (head, tail) = tokens.split_at(tokens.len() - n);
        if only_dated(&tail.join(" "), ctx) {
            return Some((clean(&head.join(" ")), tail.join(" ")));
        }
        let (head, tail) = tokens.split_at(n);
        if only_dated(&head.join(" "), ctx) {
            return Some((clean(&tail.join(" ")), head.join(" ")));
        }
    }
    None
}

/// Cuts remarks at commas, semicolons and the ends of sentences, but not inside numbers.
pub(crate) fn parts(text: &str) -> Vec<String> {
    let chars: Vec<char> = text.chars().collect();
    let mut out = vec![String::new()];
    let digit = |i: Option<usize>| i.and_then(|i| chars.get(i)).is_some_and(char::is_ascii_digit);
    for (i, c) in chars.iter().enumerate() {
        let number = digit(i.checked_sub(1)) && digit(Some(i + 1));
        let word = chars[..i].iter().rev().take_while(|c| c.is_alphabetic()).count();
        let next = chars.get(i + 2).is_some_and(|c| c.is_uppercase());
        let sentence = *c == '.'
            && chars.get(i + 1) == Some(&' ')
            && next
            && (word > 3 || digit(i.checked_sub(1)));
        let cut = matches!(c, ';' | '\n') || (*c == ',' && !number) || sentence;
        if cut {
            out.push(String::new());
        } else if let Some(last) = out.last_mut() {
            last.push(*c);
        }
    }
    out.iter().map(|p| squeeze(p)).filter(|p| !p.is_empty()).collect()
}

/// Reads remarks as a label is read, where the list has no columns for keeper and date.
fn remarks(inputs: &mut [Input], about: &About, ctx: &date::Context) {
    let mut repeated: HashMap<String, usize> = HashMap::new();
    for part in inputs.iter().flat_map(|i| &i.notes).flat_map(|n| parts(n)) {
        *repeated.entry(fold(&part)).or_default() += 1;
    }
    let mut keepers: HashSet<String> = HashSet::new();
    let mut alone: Vec<(usize, String)> = Vec::new();
    // "prop from Ann" makes Ann a keeper.
    for part in repeated.keys() {
        let joint = [" from ", " von ", " van ", " fran ", " chez ", " de "];
        if let Some(at) = joint.iter().find_map(|j| part.find(j).map(|a| a + j.len())) {
            keepers.insert(part[at..].to_owned());
        }
    }
    for (at, input) in inputs.iter_mut().enumerate() {
        let found: Vec<String> = input.notes.iter().flat_map(|n| parts(n)).collect();
        if found.is_empty() || !input.source.is_empty() {
            continue;
        }
        let mut label = Input::new(input.sheet, input.row, Vec::new());
        let dates = about.has(Role::Date) || about.has(Role::Sown);
        // What the sheet has a column for is not looked for in remarks.
        if about.has(Role::ReceivedAs) {
            label.received = "-".to_owned();
        }
        for part in &found {
            let t = fold(part);
            let other = has(&t, "dead") || has(&t, "given") || crate::read::later(&t);
            match apart(part, ctx).filter(|_| label.date.is_none() && !other) {
                Some((rest, date)) => {
                    label.date = Some(Cell::text(&with_sowing(&rest, &date)));
                    labels::place_part(&rest, &mut label, &repeated, ctx);
                }
                None => labels::place_part(part, &mut label, &repeated, ctx),
            }
        }
        let strong = {
            let t = fold(&label.source);
            has(&t, "giver")
                || words::is(&t, "own")
                || from(&label.source)
                || read::FROM.is_match(&t)
                || (label.source.starts_with(char::is_uppercase)
                    && repeated.get(&t).is_some_and(|n| *n > 1))
                || !found.contains(&label.source)
        };
        let told = label.date.is_some() || label.price.is_some() || !label.pot.is_empty();
        let first = found.first() == Some(&label.source) && found.len() > 1;
        let weak = first && (told || !label.received.is_empty());
        if !label.source.is_empty() && (strong || weak) {
            keepers.insert(fold(&label.source));
            input.source = label.source;
        } else if !label.source.is_empty() {
            alone.push((at, label.source));
        }
        if !dates && label.date.is_some() {
            input.date = label.date;
        }
        if !about.has(Role::Price) && label.price.is_some() {
            input.price = label.price;
        }
        if !about.has(Role::Pot) {
            input.pot = label.pot;
        }
        if !about.has(Role::ReceivedAs) {
            input.received = label.received;
        }
    }
    // A remark of one word is a keeper if other rows name that keeper or call it one.
    for (at, source) in alone {
        let t = fold(&source);
        let named = keepers.iter().any(|k| *k == t || k.ends_with(&format!(" {t}")));
        if named || has(&t, "giver") {
            inputs[at].source = source;
        }
    }
}

//! Everything of a row but its name and parents.

use std::sync::LazyLock;

use regex::Regex;

use super::draft::{Draft, Setting, crosses, is_ditto};
use crate::{
    Part, Pot, Role, amount, date,
    fate::{self, Fate},
    fold::{fold, squeeze},
    layout::Layout,
    received,
    sheet::Value,
    words::{self, find, has, pattern},
};

/// Gathers the remarks; "ditto" stands for those of the row above.
pub(super) fn said(d: &mut Draft, previous: Option<&Draft>) {
    let mut said = fold(&squeeze(&d.input.notes.join("; ")));
    let first = said.split([' ', ',', ';']).next().unwrap_or_default();
    if !first.is_empty()
        && words::is(first.trim_end_matches('.'), "ditto")
        && !said.starts_with("same ")
        && let Some(previous) = previous
    {
        said = format!("{}; {said}", previous.said);
    }
    d.said = said;
}

pub(super) fn tag(d: &mut Draft) {
    let typed = d.input.tag.trim().trim_end_matches('.').to_owned();
    if !typed.is_empty() && typed != "-" {
        d.tag = Some(typed);
    }
}

pub(super) fn date(d: &mut Draft, set: &Setting<'_>, previous: Option<&Draft>) {
    let about = &set.layout.sheets[d.input.sheet];
    let ctx = date::Context {
        order: set.order,
        lang: set.lang,
        written: about.written,
        last_year: set.options.read_on.map_or(2049, |r| r.year() + 1),
    };
    let cell = d.input.date.clone();
    let text = cell.as_ref().map(|c| c.text.trim().to_owned()).unwrap_or_default();
    d.date_text.clone_from(&text);
    if let Some(answer) = set.options.answers.get(&format!("date:{text}"))
        && !text.is_empty()
        && dates::Edtf::parse(answer).is_ok()
    {
        d.date = date::Read { edtf: Some(answer.clone()), ..date::Read::default() };
        return;
    }
    let mut read = match cell.as_ref().map(|c| c.value) {
        Some(Value::Day(day)) => {
            date::Read { edtf: Some(day.to_string()), ..date::Read::default() }
        }
        _ if is_ditto(&text) => {
            let mut read = previous.map(|p| p.date.clone()).unwrap_or_default();
            read.codes = vec!["date_ditto"];
            if read.sowing {
                read.codes.push("date_is_sowing");
            }
            read
        }
        _ => date::read(&text, &ctx),
    };
    if text.is_empty() {
        read = from_remarks(d, &ctx).unwrap_or(read);
        if !about.labels && !about.has(Role::Date) && !about.has(Role::Sown) {
            read.codes.retain(|c| *c != "date_missing");
        }
    }
    for code in &read.codes {
        d.code(*code);
    }
    let plain = read.edtf.as_deref() == Some(text.as_str());
    if !plain && read.edtf.is_some() && !read.codes.is_empty() {
        d.corrected(Part::Acquired);
    }
    d.date = read;
}

/// A date among the remarks, where there is no cell for it.
fn from_remarks(d: &Draft, ctx: &date::Context) -> Option<date::Read> {
    let none = d.input.date.is_none();
    d.input.notes.iter().flat_map(|n| n.split([';', ','])).find_map(|note| {
        let t = fold(note);
        // Where a date column exists, only a sowing date is taken from remarks.
        if !(none || has(&t, "sowing")) || has(&t, "dead") || has(&t, "given") {
            return None;
        }
        let read = date::read(note, ctx);
        // A lone year among words may be anything.
        let exact = read.edtf.as_ref().is_some_and(|e| e.len() >= 7 || t.ends_with(e.as_str()))
            || read.ambiguous;
        let later = later(&t);
        let fits = !read.embedded || has(&t, "sowing") || (none && exact && !later);
        ((read.edtf.is_some() || read.ambiguous) && fits).then_some(read)
    })
}

/// Whether a folded remark tells what happened later on, whose date is not that of the arrival.
pub(crate) fn later(t: &str) -> bool {
    [
        "repotted",
        "umgetopft",
        "verpot",
        "flower",
        "bloom",
        "rempot",
        "trasplant",
        "omplanter",
        "split",
        "pruned",
        "geblüht",
        "gebluht",
        "bluhte",
        "floreci",
        "fleuri",
        "gebloeid",
        "bloei",
        "blommade",
        "blomning",
        "checked",
        "watered",
        "label",
        "geteilt",
        "divid",
        "cut back",
    ]
    .iter()
    .any(|w| t.contains(w))
}

pub(crate) static FROM: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"^(?:(?:swap(?:ped)? with|swap(?:ped)? w/|swapped from|trade(?:d)? (?:with|w/)|exchanged? with|gift (?:from|of)|present from|bought (?:from|at)|got from|tausch mit|getauscht mit|geschenk von|gekauft bei|geruild met|ruil met|cadeau van|gekregen van|gekocht bij|echange avec|echange|troc avec|cadeau de|don de|offert par|achete chez|cambio con|intercambio con|regalo de|comprado en|byte med|bytt med|present fran|kopt (?:hos|av)|fatt av|offert(?:e|s|es)? par|donne(?:e|s|es)? par|recu(?:e|s|es)? d[eu]|(?:recupere|trouve|achete)(?:e|s|es)? (?:au|aux|a la|chez)|achete(?:e|s|es)? (?:a|au|chez)|regalad[oa]s? por|dad[oa] por|me l[oa] dio|comprad[oa]s? (?:en|a)|recibid[oa]s? de|geschenkt von|bekommen von|erhalten von|gekauft (?:von|in|auf|im)|gekocht (?:op|in|van)|kopt (?:pa|i|fran)|fick av|skankt av|bytt till mig av|given by|obtained from|received from|acquired from|purchased from|bought (?:off|in)|a gift from|swap from|trade from|echange de|ruil van|tausch von|from|ex|von|vom|van|fran|av|chez|via|at|bei|bij|hos|de chez|de la part de)\s+)",
    )
});
static FROM_ROMANCE: LazyLock<Regex> = LazyLock::new(|| pattern(r"^de(?:l)?\s+"));

pub(super) fn source(d: &mut Draft, set: &Setting<'_>, previous: Option<&Draft>) {
    let about = &set.layout.sheets[d.input.sheet];
    let typed = squeeze(&d.input.source);
    let t = fold(&typed);
    let bare = t.trim_end_matches(['.', '!', ',']);
    if is_ditto(&typed) {
        d.code("ditto");
        d.source = previous.and_then(|p| p.source.clone());
        return;
    }
    // "Piet †": what became of the plant stands beside the keeper.
    if typed.contains('†') {
        d.input.source = typed.replace('†', " ");
        d.said.push_str("; †");
        return source(d, set, previous);
    }
    if typed.is_empty() || typed == "-" {
        if !about.labels
            && !about.has(Role::Source)
            && let Some(from) = named_in_remarks(d)
        {
            d.source = Some(from);
            return;
        }
        let own_words = [
            "own cross",
            "own cutting",
            "own seed",
            "eigene kreuzung",
            "eigen kruising",
            "croisement maison",
            "egen korsning",
            "cruce propio",
        ];
        let own = has(&d.said, "mine")
            || (!about.has(Role::Source) && own_words.iter().any(|w| d.said.contains(w)))
            || (!about.has(Role::Source) && !about.labels && crosses(d, set.layout));
        if own {
            d.source = Some("own".to_owned());
            d.corrected(Part::Source);
        }
        return;
    }
    if let Some((kind, from)) = crate::labels::kind_from(&typed, &t) {
        // "seed from Hild" in the column for keepers.
        if d.input.received.is_empty() {
            d.input.received = kind;
        }
        d.source = Some(from);
        return;
    }
    if words::is(bare, "own") {
        d.source = Some("own".to_owned());
        d.corrected(Part::Source);
        return;
    }
    if has(&t, "swap") && FROM.is_match(&t) {
        d.code("received_in_swap");
    }
    let mut text = typed.clone();
    for prefix in [&*FROM, &*FROM_ROMANCE] {
        let folded = fold(&text);
        if prefix.as_str() == FROM_ROMANCE.as_str()
            && !about.labels
            && !d.input.source.starts_with("de ")
        {
            continue;
        }
        if let Some(m) = prefix.find(&folded) {
            let n = folded[..m.end()].chars().count();
            text = text.chars().skip(n).collect();
        }
    }
    text = with_how(text, d);
    // "Ruud (NL)", "Orla, gift": asides are no part of the name.
    if let Some(at) = text.find(['(', '[']).filter(|a| *a > 0) {
        let aside = fold(text[at..].trim_matches(['(', ')', '[', ']', ' ']));
        if words::is(&aside, "swap") {
            d.code("received_in_swap");
        } else if words::is(&aside, "free") {
            d.code("free");
        }
        text.truncate(at);
    }
    if let Some((head, tail)) = text.clone().split_once(',') {
        let tail = fold(tail.trim());
        if words::is(&tail, "swap") {
            d.code("received_in_swap");
            text = head.to_owned();
        } else if words::is(&tail, "free") {
            d.code("free");
            text = head.to_owned();
        }
    }
    let text = text.trim().to_owned();
    let t = fold(&text);
    if has(&t, "found") && t.split(' ').count() <= 4 {
        return;
    }
    if words::is(&t, "unknown") || t.is_empty() || t.chars().all(|c| c == '?') {
        d.code("source_unknown_stated");
        return;
    }
    if words::is(&t, "own") {
        d.source = Some("own".to_owned());
        return;
    }
    d.source = Some(text);
}

/// "Tausch Ute", "cadeau Perrine": how it came, then the keeper.
fn with_how(text: String, d: &mut Draft) -> String {
    let Some((first, rest)) = text.split_once(' ') else { return text };
    let how = fold(first.trim_end_matches([':', ',', '-']));
    let person = rest.starts_with(char::is_uppercase) && !has(&fold(rest), "giver");
    if !person {
        return text;
    }
    let code = match how.as_str() {
        "tausch" | "ruil" | "echange" | "byte" | "intercambio" => "received_in_swap",
        "geschenk" | "gift" | "cadeau" | "kado" | "regalo" | "present" | "gava" | "don" => "free",
        _ => return text,
    };
    d.code(code);
    rest.to_owned()
}

static KEEPER: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:^|[ ,;(])(?:from|with|von|vom|van|fran|av|hos|chez|bei|by|par|por|de|del|du)\s+((?:the )?[^\s,;.()]+(?:\s[^\s,;.()]+){0,3})",
    )
});

/// "from Merle", where the list has no column for keepers.
fn named_in_remarks(d: &Draft) -> Option<String> {
    let text = squeeze(&d.input.notes.join("; "));
    let folded = fold(&text);
    for c in KEEPER.captures_iter(&folded) {
        let typed = crate::fold::under(&text, &folded, c.get(1)?.range());
        let name: Vec<&str> =
            typed.split(' ').take_while(|w| w.starts_with(char::is_uppercase)).collect();
        // A month or a plant is no keeper.
        let dated = name.iter().any(|w| words::month(&fold(w)).is_some());
        if !name.is_empty()
            && !dated
            && !crate::layout::plant_like(typed)
            && crate::flora::FLORA.genus(&fold(name[0])).is_none()
        {
            return Some(name.join(" "));
        }
    }
    None
}

pub(super) fn received(d: &mut Draft, set: &Setting<'_>, previous: Option<&Draft>) {
    let about = &set.layout.sheets[d.input.sheet];
    let typed = d.input.received.trim();
    if !typed.is_empty() {
        d.received = received::cell(typed);
        if is_ditto(typed) {
            d.received = previous.and_then(|p| p.received);
        }
        return;
    }
    let pending = has(&d.said, "pending") || has(&fold(&d.date_text), "pending");
    if pending {
        return;
    }
    if d.date.sowing || about.has(Role::Sown) {
        let worded = received::in_notes(&d.said).filter(|k| *k == "seedling");
        d.received = worded.or(Some("seed"));
        return;
    }
    if about.has(Role::ReceivedAs) {
        return;
    }
    let aside = fold(&d.name.words.join("; "));
    d.received = received::in_notes(&d.said)
        .or_else(
            || if d.name.seedling && d.name.formula.is_none() { Some("seedling") } else { None },
        )
        .or_else(|| received::in_notes(&aside));
}

static PLAIN_FREE: [&str; 14] = [
    "free",
    "given",
    "nothing",
    "don",
    "fick",
    "fatt",
    "present",
    "niets",
    "donne",
    "donnee",
    "donated",
    "gava",
    "for nothing",
    "zugabe",
];

pub(super) fn price(d: &mut Draft, set: &Setting<'_>) {
    let about = &set.layout.sheets[d.input.sheet];
    if let Some(cell) = d.input.price.clone() {
        d.money = amount::price_cell(&cell.text);
        if let Value::Number(n) = cell.value {
            d.money.amount = Some((n * 100.0).round() / 100.0);
        }
        if cell.formula && d.money.amount.is_some() {
            d.code("price_is_formula");
        }
    }
    if d.money.amount.is_none() && !about.has(Role::Price) {
        let found = d.said.split(';').map(amount::price_in).find(|m| m.amount.is_some());
        if let Some(found) = found {
            d.money = found;
        }
    }
    if d.money.free {
        d.code("free");
    }
    let told_free = find(&d.said, "free").is_some_and(|r| !PLAIN_FREE.contains(&&d.said[r]))
        || d.said.split([';', ',']).any(|s| words::is(s.trim(), "free"));
    if told_free && d.money.amount.is_none() && !gave_away(d) {
        d.code("free");
    }
    let got = amount::price_cell(&d.said).swap || d.money.swap || partner(&d.said);
    if got && !gave_away(d) {
        d.code("received_in_swap");
    }
}

fn gave_away(d: &Draft) -> bool {
    matches!(fate::in_notes(&d.said), Some(Fate::Given | Fate::Unclear))
}

static PARTNER: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:she|he|they) (?:got|had|took|wanted) (?:a |some |one )?(?:bit|cutting|piece|leaf|pup|division|my|of mine)|contre (?:un|une|des|le|la|mon|ma) |in return for|dafur (?:einen|eine|ein) |gegen (?:einen|eine|ein) ",
    )
});

fn partner(t: &str) -> bool {
    PARTNER.is_match(t)
}

pub(super) fn pot(d: &mut Draft, set: &Setting<'_>) {
    let about = &set.layout.sheets[d.input.sheet];
    let typed = d.input.pot.clone();
    match amount::pot(&typed) {
        amount::PotCell::Nothing => {
            if !about.has(Role::Pot)
                && let Some((value, unit)) = amount::pot_in(&d.said)
            {
                d.pot = Some(Pot { value, unit: unit.to_owned() });
            }
        }
        amount::PotCell::NotASize => {
            if !about.labels {
                d.code("pot_not_a_size");
            }
        }
        amount::PotCell::Size(value, unit) => {
            let unit = match (unit, about.pot_unit) {
                (Some(unit), _) => Some(unit),
                (None, Some(unit)) => {
                    d.code("unit_from_header");
                    Some(unit)
                }
                (None, None) => set
                    .units
                    .get(d.input.sheet)
                    .copied()
                    .flatten()
                    .inspect(|_| d.code("unit_inferred")),
            };
            if let Some(unit) = unit {
                d.pot = Some(Pot { value, unit: unit.to_owned() });
            } else {
                d.code("pot_not_a_size");
            }
        }
    }
}

/// The unit nearly all pots of the sheet have.
pub(super) fn usual_unit(
    layout: &Layout,
    sheet: usize,
    lang: crate::Language,
) -> Option<&'static str> {
    let mut counts = std::collections::HashMap::new();
    let mut all = 0;
    for input in layout.inputs.iter().filter(|i| i.sheet == sheet).take(500) {
        if let amount::PotCell::Size(_, Some(unit)) = amount::pot(&input.pot)
            && unit != "l"
        {
            *counts.entry(unit).or_insert(0) += 1;
            all += 1;
        }
    }
    let Some((unit, n)) = counts.into_iter().max_by_key(|(_, n)| *n) else {
        // Where nobody counts in inches, a bare 9 is 9 cm: common practice, no source.
        return (lang != crate::Language::En).then_some("cm");
    };
    (n * 5 >= all * 4).then_some(unit)
}

pub(super) fn place(d: &mut Draft, previous: Option<&Draft>) {
    let place = squeeze(&d.input.place);
    if is_ditto(&place) {
        d.code("ditto");
        d.place = previous.and_then(|p| p.place.clone());
        return;
    }
    if place.is_empty() || place == "-" {
        return;
    }
    if d.input.place_merged {
        d.code("place_from_merged_cell");
        d.corrected(Part::Place);
    }
    d.place = Some(place);
}

pub(super) fn count(d: &mut Draft) {
    let typed: u32 = fold(&d.input.count)
        .trim()
        .trim_end_matches(|c: char| !c.is_ascii_digit())
        .parse()
        .unwrap_or(0);
    let price = d.input.price.as_ref().map(|c| fold(&c.text)).unwrap_or_default();
    let told = amount::how_many(&d.said);
    let n = [told, typed, d.money.lot.unwrap_or(1), amount::how_many(&price), d.count]
        .into_iter()
        .find(|n| *n > 1)
        .unwrap_or(1);
    d.count = n;
    if let Some(lot) = d.money.lot.filter(|l| *l > 1) {
        d.money.lot = Some(lot);
        d.code("price_for_lot");
    }
}

pub(super) fn state(d: &mut Draft, set: &Setting<'_>) {
    let about = &set.layout.sheets[d.input.sheet];
    let aside = fold(&d.name.words.join("; "));
    let seed_date = fold(&d.date_text);
    let cross = d.unnamed || d.name.seedling || crosses(d, set.layout);
    let mut fate = fate::in_state_cell(&fold(&d.input.state))
        .or_else(|| fate::in_notes(&d.said))
        .or_else(|| fate::in_notes(&aside))
        .or(if d.name.dead { Some(Fate::Dead) } else { None })
        .or(d.input.heading_fate);
    if fate.is_none() && d.input.colour_fate.is_some() {
        fate = d.input.colour_fate;
        d.code("state_by_colour_only");
    }
    if fate.is_none() && cross && has(&d.said, "failed") {
        d.state = "unknown";
        d.code("failed_cross");
        return;
    }
    if fate.is_none()
        && crosses(d, set.layout)
        && (has(&d.said, "pending") || has(&seed_date, "pending"))
    {
        d.state = "unknown";
        d.code("pending_cross");
        return;
    }
    // Swapped for something, and neither pot nor place: it may be the one that left.
    let homeless = d.place.is_none()
        && d.input.pot.trim().is_empty()
        && about.has(Role::Place)
        && about.has(Role::Pot);
    if fate.is_none() && homeless && has(&d.said, "swap") {
        fate = Some(Fate::Unclear);
    }
    match fate {
        None => {}
        Some(Fate::Dead) => {
            d.state = "dead";
            d.code("dead");
            d.corrected(Part::State);
        }
        Some(Fate::Given) => {
            d.state = "given_away";
            d.code("given_away");
            d.corrected(Part::State);
        }
        Some(Fate::Unclear) => {
            d.state = "unknown";
            d.code("state_unclear");
        }
    }
    if fate.is_some() {
        d.drop_code("received_in_swap");
    }
    let gone = matches!(fate, Some(Fate::Dead | Fate::Given));
    if gone && !d.has("price_for_lot") && !d.has("several_kinds_in_one_row") {
        d.count = 1;
    }
    if d.count > 1 {
        let n = d.count;
        d.code(format!("several_in_one_row:{n}"));
    }
}

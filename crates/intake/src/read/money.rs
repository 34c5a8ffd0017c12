//! Prices with their currency: from the cell, the header, or another row.

use std::collections::HashMap;

use super::draft::Draft;
use crate::{Language, Options, Part, Price, Role, amount, fold::fold, layout::Layout};

pub(super) fn settle(drafts: &mut [Draft], layout: &Layout, lang: Language, options: &Options) {
    let mut of_source: HashMap<String, Vec<String>> = HashMap::new();
    let mut of_sheet: HashMap<usize, Vec<String>> = HashMap::new();
    for d in drafts.iter() {
        if let Some(code) = d.money.currency.as_ref().filter(|c| !matches!(c.as_str(), "$" | "kr"))
        {
            if let Some(source) = &d.source {
                of_source.entry(source.clone()).or_default().push(code.clone());
            }
            of_sheet.entry(d.input.sheet).or_default().push(code.clone());
        }
    }
    for d in drafts.iter_mut() {
        let Some(amount) = d.money.amount else { continue };
        if d.has("price_for_lot") || d.has("free") {
            continue;
        }
        let about = &layout.sheets[d.input.sheet];
        let header = about.currency.clone().filter(|c| c != "$");
        let (code, why) = match d.money.currency.as_deref() {
            Some("$") => dollar(d, &of_source, header.as_deref(), options),
            Some("kr") => crown(header.as_deref(), lang),
            Some(code) => (Some(code.to_owned()), None),
            None => {
                bare(d, crowns(header, lang), of_sheet.get(&d.input.sheet), about.has(Role::Price))
            }
        };
        if let Some(why) = why {
            d.code(why);
            if code.is_some() {
                d.corrected(Part::Price);
            }
        }
        d.price = Some(Price { amount, currency: code });
    }
}

type Settled = (Option<String>, Option<&'static str>);

/// A bare `$`: settled by another row of the same keeper, the header or the owner.
fn dollar(
    d: &Draft,
    of_source: &HashMap<String, Vec<String>>,
    header: Option<&str>,
    options: &Options,
) -> Settled {
    if let Some(header) = header.filter(|h| matches!(*h, "USD" | "CAD" | "AUD" | "NZD")) {
        return (Some(header.to_owned()), Some("currency_from_header"));
    }
    let mut known: Vec<&String> =
        d.source.as_ref().and_then(|s| of_source.get(s)).into_iter().flatten().collect();
    known.retain(|c| matches!(c.as_str(), "USD" | "CAD" | "AUD" | "NZD"));
    known.sort();
    known.dedup();
    if let [one] = known.as_slice() {
        return (Some((*one).clone()), Some("currency_inferred"));
    }
    if let Some(answer) = options.answers.get("currency:$").filter(|a| a.len() == 3) {
        return (Some(answer.clone()), Some("currency_inferred"));
    }
    (None, Some("currency_unclear"))
}

/// "kr" above the prices of a Swedish list.
fn crowns(header: Option<String>, lang: Language) -> Option<String> {
    header.map(|h| if h == "kr" && lang == Language::Sv { "SEK".to_owned() } else { h })
}

fn crown(header: Option<&str>, lang: Language) -> Settled {
    match header {
        Some(code @ ("SEK" | "NOK" | "DKK")) => {
            (Some(code.to_owned()), Some("currency_from_header"))
        }
        _ if lang == Language::Sv => (Some("SEK".to_owned()), None),
        _ => (None, Some("currency_unclear")),
    }
}

fn bare(d: &Draft, header: Option<String>, sheet: Option<&Vec<String>>, column: bool) -> Settled {
    if let Some(code) =
        amount::currency(&fold(d.input.currency.trim())).filter(|c| *c != "$" && *c != "kr")
    {
        return (Some(code.to_owned()), None);
    }
    if let Some(code) = header.filter(|c| c != "kr") {
        return (Some(code), Some("currency_from_header"));
    }
    let mut codes: Vec<&String> = sheet.into_iter().flatten().collect();
    codes.sort();
    codes.dedup();
    match codes.as_slice() {
        [one] if column => (Some((*one).clone()), Some("currency_inferred")),
        _ => (None, Some("currency_unclear")),
    }
}

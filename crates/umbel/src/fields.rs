//! Fields of an entry, typed as the declaration of its kind says.

use journal::{EntryKind, FieldSpec, FieldType, Reader, SubjectKind, Uid};
use serde_json::{Map, Value, json};

use crate::{
    filter::{keeper_number, place_number},
    problem::{Problem, Result},
};

/// Takes the words that are fields of this kind; the others are targets.
pub fn split(kind: &EntryKind, words: &[String]) -> (Vec<String>, Vec<(String, String)>) {
    let mut targets = Vec::new();
    let mut fields = Vec::new();
    for word in words {
        if let Some((key, value)) = word.split_once('=') {
            fields.push((key.trim().replace('-', "_"), value.trim().to_owned()));
            continue;
        }
        let key = word.replace('-', "_");
        match kind.field(&key) {
            Some(f) if f.holds == FieldType::Flag => fields.push((key, "yes".to_owned())),
            _ => targets.push(word.clone()),
        }
    }
    (targets, fields)
}

/// Reads the fields.
pub fn read(
    reader: &Reader<'_>,
    kind: &EntryKind,
    typed: &[(String, String)],
) -> Result<Map<String, Value>> {
    let mut out = Map::new();
    for (key, value) in typed {
        let Some(spec) = kind.field(key) else {
            let known: Vec<_> = kind.fields.iter().map(|f| f.key).collect();
            let next = if known.is_empty() {
                format!("“{}” has no fields; write it with --note", kind.key)
            } else {
                format!("its fields are {}", known.join(", "))
            };
            return Err(Problem::input(format!("“{}” has no field “{key}”", kind.key), next));
        };
        if !value.is_empty() {
            out.insert(key.clone(), one(reader, kind, spec, value)?);
        }
    }
    Ok(out)
}

fn wrong(kind: &EntryKind, spec: &FieldSpec, typed: &str, expected: &str, next: &str) -> Problem {
    Problem::input(
        format!("{}, {}: “{typed}” is not {expected}", kind.key, spec.key),
        format!("write {}={next}", spec.key),
    )
}

fn one(reader: &Reader<'_>, kind: &EntryKind, spec: &FieldSpec, typed: &str) -> Result<Value> {
    let bad = |expected: &str, next: &str| wrong(kind, spec, typed, expected, next);
    Ok(match spec.holds {
        FieldType::Words | FieldType::Quantity(_) => json!(typed),
        FieldType::Choice(words) => {
            let word = typed.to_lowercase().replace([' ', '-'], "_");
            if !words.contains(&word.as_str()) {
                return Err(bad("one of its words", &words.join("|")));
            }
            json!(word)
        }
        FieldType::Count => {
            let n: u64 = typed.parse().map_err(|_| bad("a whole number, zero or more", "12"))?;
            json!(n)
        }
        FieldType::Number(..) => {
            let n: f64 = typed.replace(',', ".").parse().map_err(|_| bad("a number", "12.5"))?;
            json!(n)
        }
        FieldType::Flag => match typed.to_lowercase().as_str() {
            "yes" | "true" | "ja" | "y" => json!(true),
            "no" | "false" | "nein" | "n" => json!(false),
            _ => return Err(bad("yes or no", "yes")),
        },
        FieldType::Money => money(typed).ok_or_else(|| bad("an amount", "\"8.50 GBP\""))?,
        FieldType::Mix => {
            mix(typed).ok_or_else(|| bad("parts by volume", "\"bark 4, perlite 3\""))?
        }
        FieldType::Subject(kinds) => json!(subject(reader, kinds, typed)?.to_string()),
        FieldType::Subjects(kinds) => {
            let all = typed.split([',', ';']).map(str::trim).filter(|t| !t.is_empty());
            let uids: Vec<String> =
                all.map(|t| Ok(subject(reader, kinds, t)?.to_string())).collect::<Result<_>>()?;
            json!(uids)
        }
    })
}

/// An amount with its currency, which may be left open: `8.50 GBP`, `8,5 EUR`, `12`.
pub fn money(typed: &str) -> Option<Value> {
    let mut words = typed.split_whitespace();
    let (first, second) = (words.next()?, words.next());
    if words.next().is_some() {
        return None;
    }
    let code = |w: &str| w.len() == 3 && w.chars().all(|c| c.is_ascii_alphabetic());
    let (amount, currency) = match (first, second) {
        (c, Some(a)) if code(c) => (a, Some(c)),
        (a, Some(c)) if code(c) => (a, Some(c)),
        (a, None) => (a, None),
        _ => return None,
    };
    let amount: f64 = amount.replace(',', ".").parse().ok()?;
    (amount.is_finite() && amount >= 0.0)
        .then(|| json!({"amount": amount, "currency": currency.map(str::to_uppercase)}))
}

/// A substrate as parts by volume: `bark 4, perlite 3` or `bark:4,perlite:3`.
fn mix(typed: &str) -> Option<Value> {
    let mut out = Map::new();
    for part in typed.split([',', ';', '+']).map(str::trim).filter(|p| !p.is_empty()) {
        let (what, n) = part.rsplit_once([':', ' '])?;
        let n: f64 = n.trim().parse().ok()?;
        out.insert(what.trim().to_owned(), json!(n));
    }
    (!out.is_empty()).then_some(Value::Object(out))
}

/// Another thing by its number, its name (keepers, places) or its kind and number.
fn subject(reader: &Reader<'_>, kinds: &[SubjectKind], typed: &str) -> Result<Uid> {
    let (kind, word) = match typed.split_once(':') {
        Some((k, rest)) => match SubjectKind::of_word(&k.replace('-', "_")) {
            Some(kind) if kinds.contains(&kind) => (kind, rest),
            _ => (kinds[0], typed),
        },
        None => (kinds[0], typed),
    };
    let number = match kind {
        SubjectKind::Keeper => keeper_number(reader, word)?,
        SubjectKind::Place => place_number(reader, word)?,
        _ => word.trim_start_matches('#').parse().map_err(|_| {
            Problem::input(
                format!("“{typed}” is not the number of a {}", kind.as_str().replace('_', " ")),
                "write its number",
            )
        })?,
    };
    // Clones have no number that a reader sees: a plant's number means its clone here.
    if kind == SubjectKind::Clone && !typed.starts_with("clone:") {
        let plant = reader.plant(number)?.ok_or_else(|| crate::target::no_plant(number))?;
        return Ok(reader.clone_by_id(plant.clone)?.map_or(plant.uid, |c| c.uid));
    }
    let found = reader.subject_numbered(kind, number)?;
    found.map(|s| s.uid).ok_or_else(|| {
        Problem::undone(
            format!("there is no {} {number}", kind.as_str().replace('_', " ")),
            "look its number up; nothing was guessed",
        )
    })
}

/// How a field is written, for help texts.
pub fn how(spec: &FieldSpec) -> String {
    let what = match spec.holds {
        FieldType::Words => "words".to_owned(),
        FieldType::Choice(words) => words.join("|"),
        FieldType::Quantity(d) => example(d).to_owned(),
        FieldType::Count => "count".to_owned(),
        FieldType::Number(low, high) if high - low < 1000.0 => format!("{low} to {high}"),
        FieldType::Number(..) => "number".to_owned(),
        FieldType::Flag => return flag(spec),
        FieldType::Money => "8.50 GBP".to_owned(),
        FieldType::Mix => "bark 4, perlite 3".to_owned(),
        FieldType::Subject(kinds) => named(kinds[0]).to_owned(),
        FieldType::Subjects(kinds) => format!("{}, …", named(kinds[0])),
    };
    let field = format!("{}={what}", spec.key);
    if spec.needed { field } else { format!("[{field}]") }
}

fn flag(spec: &FieldSpec) -> String {
    if spec.needed { spec.key.to_owned() } else { format!("[{}]", spec.key) }
}

fn named(kind: SubjectKind) -> &'static str {
    match kind {
        SubjectKind::Keeper => "keeper",
        SubjectKind::Place => "place",
        SubjectKind::Plant | SubjectKind::Clone => "plant number",
        other => match other.as_str() {
            "pollen_lot" => "pollen lot number",
            "batch" => "batch number",
            "cross" => "cross number",
            _ => "number",
        },
    }
}

fn example(dimension: journal::Dimension) -> &'static str {
    use journal::Dimension as D;
    match dimension {
        D::Length => "3.5 cm",
        D::Volume => "250 ml",
        D::Mass => "412 g",
        D::Temperature => "21 °C",
        D::Percent => "65 %",
        D::Illuminance => "9000 lx",
        D::PhotonFlux => "120 µmol",
        D::Conductivity => "1.2 mS",
        D::Time => "3 days",
        D::Pot => "9 cm",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_are_read_in_either_order_and_never_guessed() {
        assert_eq!(money("8.50 GBP"), Some(json!({"amount": 8.5, "currency": "GBP"})));
        assert_eq!(money("eur 8,5"), Some(json!({"amount": 8.5, "currency": "EUR"})));
        assert_eq!(money("12"), Some(json!({"amount": 12.0, "currency": null})));
        for wrong in ["cheap", "8 pounds sterling", "", "-3 EUR", "8 $"] {
            assert_eq!(money(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn mixes_are_parts_by_volume() {
        assert_eq!(mix("bark 4, perlite 3"), Some(json!({"bark": 4.0, "perlite": 3.0})));
        assert_eq!(mix("fine bark:2;peat:1"), Some(json!({"fine bark": 2.0, "peat": 1.0})));
        assert_eq!(mix("bark"), None);
    }
}

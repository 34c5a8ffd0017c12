//! Forms: fields of entries made from their declaration, and read back.

use std::collections::HashMap;

use journal::{EntryKind, FieldSpec, FieldType, Reader, SubjectKind};
use maud::{Markup, html};
use serde_json::{Map, Value, json};
use texts::Texts;

use crate::WebError;

/// What a form sent.
pub(crate) type Sent = HashMap<String, String>;

/// A field as sent, trimmed; empty if it was left open.
pub(crate) fn field<'a>(sent: &'a Sent, key: &str) -> &'a str {
    sent.get(key).map_or("", |v| v.trim())
}

/// A field that holds something.
pub(crate) fn filled(sent: &Sent, key: &str) -> Option<String> {
    Some(field(sent, key)).filter(|v| !v.is_empty()).map(str::to_owned)
}

/// A labelled line to write on.
pub(crate) fn line(label: &str, key: &str, value: &str, hint: &str) -> Markup {
    html! {
        label.line {
            span { (label) }
            input name=(key) value=(value) autocomplete="off";
            @if !hint.is_empty() { small { (hint) } }
        }
    }
}

/// A labelled choice; the first is nothing.
pub(crate) fn choice(label: &str, key: &str, options: &[(String, String)], chosen: &str) -> Markup {
    html! {
        label.line {
            span { (label) }
            select name=(key) {
                option value="" { "—" }
                @for (value, words) in options {
                    option value=(value) selected[value == chosen] { (words) }
                }
            }
        }
    }
}

fn label_of(key: &str, t: Texts) -> String {
    let word = t.word(&key.replace('_', " "));
    let mut chars = word.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// Example of what a field takes.
fn hint(spec: &FieldSpec, t: Texts) -> String {
    match spec.holds {
        FieldType::Quantity(d) => {
            t.f("a number, in {unit} unless you write another unit", &[("unit", &d.canonical())])
        }
        FieldType::Count => t.t("a whole number").to_owned(),
        FieldType::Money => t.t("such as 8.50 GBP").to_owned(),
        FieldType::Mix => t.t("parts by volume, such as bark 4, perlite 3").to_owned(),
        FieldType::Subject(_) | FieldType::Subjects(_) => {
            t.t("a plant's number, or a name").to_owned()
        }
        _ => String::new(),
    }
}

/// The fields of a kind of entry.
pub(crate) fn entry_fields(
    kind: &EntryKind,
    detail: &Map<String, Value>,
    keepers: &[String],
    places: &[String],
    t: Texts,
) -> Markup {
    html! {
        @for spec in kind.fields {
            @let label = if spec.needed { format!("{} *", label_of(spec.key, t)) } else { label_of(spec.key, t) };
            @let value = detail.get(spec.key).map(shown).unwrap_or_default();
            @match spec.holds {
                FieldType::Choice(words) => {
                    (choice(&label, spec.key, &words.iter().map(|w| ((*w).to_owned(), t.word(&w.replace('_', " ")))).collect::<Vec<_>>(), &value))
                }
                FieldType::Flag => {
                    label.tick { input type="checkbox" name=(spec.key) value="yes" checked[value == "true"]; (label) }
                }
                FieldType::Subject(kinds) if kinds == [SubjectKind::Keeper] => {
                    (pick(&label, spec.key, &value, keepers, "keepers"))
                }
                FieldType::Subject(kinds) if kinds == [SubjectKind::Place] => {
                    (pick(&label, spec.key, &value, places, "places"))
                }
                FieldType::Subject(kinds) if kinds == [SubjectKind::Photo] => {}
                _ => { (line(&label, spec.key, &value, &hint(spec, t))) }
            }
        }
    }
}

/// A line with a list of known names to choose from; another may be typed.
pub(crate) fn pick(label: &str, key: &str, value: &str, names: &[String], list: &str) -> Markup {
    html! {
        label.line {
            span { (label) }
            input name=(key) value=(value) list=(format!("{list}-{key}")) autocomplete="off";
        }
        datalist id=(format!("{list}-{key}")) { @for n in names { option value=(n) {} } }
    }
}

fn shown(value: &Value) -> String {
    match value {
        Value::String(s) => s.clone(),
        Value::Object(o) => match (o.get("typed"), o.get("amount")) {
            (Some(Value::String(s)), _) => s.clone(),
            (_, Some(amount)) => {
                let currency = o.get("currency").and_then(Value::as_str).unwrap_or("");
                format!("{amount} {currency}").trim().to_owned()
            }
            _ => o.iter().map(|(k, v)| format!("{k} {v}")).collect::<Vec<_>>().join(", "),
        },
        Value::Null => String::new(),
        other => other.to_string(),
    }
}

/// Reads the fields of a kind of entry from a form. Keepers and places may be given by name; one
/// that is not known yet is an error here and is made by its own form.
pub(crate) fn read_detail(
    reader: &Reader<'_>,
    kind: &EntryKind,
    sent: &Sent,
) -> Result<Map<String, Value>, WebError> {
    let mut out = Map::new();
    for spec in kind.fields {
        let typed = field(sent, spec.key);
        if typed.is_empty() {
            continue;
        }
        out.insert(spec.key.to_owned(), read_field(reader, spec, typed)?);
    }
    Ok(out)
}

fn read_field(reader: &Reader<'_>, spec: &FieldSpec, typed: &str) -> Result<Value, WebError> {
    let wrong = |problem: &str| WebError::form(spec.key, typed, problem);
    Ok(match spec.holds {
        FieldType::Words | FieldType::Choice(_) | FieldType::Quantity(_) => json!(typed),
        FieldType::Count => json!(
            typed
                .parse::<u64>()
                .map_err(|_| wrong("is not a whole number; write one, such as 3"))?
        ),
        FieldType::Number(..) => json!(
            typed
                .replace(',', ".")
                .parse::<f64>()
                .map_err(|_| wrong("is not a number; write one, such as 3.5"))?
        ),
        FieldType::Flag => json!(typed == "yes"),
        FieldType::Money => {
            money(typed).ok_or_else(|| wrong("is not an amount; write it as 8.50 GBP"))?
        }
        FieldType::Mix => {
            mix(typed).ok_or_else(|| wrong("is not a mix; write it as bark 4, perlite 3"))?
        }
        FieldType::Subject(kinds) => json!(subject(reader, kinds, typed)?.ok_or_else(|| {
            wrong("is not known here; add it first, or write the number of a plant")
        })?),
        FieldType::Subjects(kinds) => {
            let mut list = Vec::new();
            for one in typed.split([',', ';']).map(str::trim).filter(|s| !s.is_empty()) {
                list.push(subject(reader, kinds, one)?.ok_or_else(|| {
                    wrong("is not known here; add it first, or write numbers of plants")
                })?);
            }
            json!(list)
        }
    })
}

fn money(typed: &str) -> Option<Value> {
    let split =
        typed.find(|c: char| !(c.is_ascii_digit() || ".,".contains(c))).unwrap_or(typed.len());
    let amount: f64 = typed[..split].replace(',', ".").parse().ok()?;
    let currency = typed[split..].trim().to_uppercase();
    Some(match currency.as_str() {
        "" => json!({"amount": amount}),
        "£" => json!({"amount": amount, "currency": "GBP"}),
        "€" => json!({"amount": amount, "currency": "EUR"}),
        c if c.len() == 3 => json!({"amount": amount, "currency": c}),
        _ => return None,
    })
}

fn mix(typed: &str) -> Option<Value> {
    let mut map = Map::new();
    for part in typed.split([',', ';']).map(str::trim).filter(|p| !p.is_empty()) {
        let (what, n) = part.rsplit_once(' ')?;
        let n: f64 = n.replace(',', ".").parse().ok()?;
        map.insert(what.trim().to_owned(), json!(n));
    }
    (!map.is_empty()).then_some(Value::Object(map))
}

/// Finds a subject by number or name.
fn subject(
    reader: &Reader<'_>,
    kinds: &[SubjectKind],
    typed: &str,
) -> Result<Option<String>, WebError> {
    for kind in kinds {
        let found = match kind {
            SubjectKind::Keeper => reader.keeper_named(typed)?.map(|k| k.uid),
            SubjectKind::Place => reader.place_named(typed)?.map(|p| p.uid),
            SubjectKind::Plant => match typed.trim_start_matches('#').parse::<i64>() {
                Ok(n) => reader.plant(n)?.map(|p| p.uid),
                Err(_) => None,
            },
            SubjectKind::Clone => match typed.trim_start_matches('#').parse::<i64>() {
                Ok(n) => match reader.plant(n)? {
                    Some(p) => reader.clone_by_id(p.clone)?.map(|c| c.uid),
                    None => None,
                },
                Err(_) => reader.clones_named(typed)?.first().map(|c| c.uid),
            },
            other => match typed.parse::<i64>() {
                Ok(n) => reader.subject_numbered(*other, n)?.map(|s| s.uid),
                Err(_) => None,
            },
        };
        if let Some(uid) = found {
            return Ok(Some(uid.to_string()));
        }
    }
    Ok(None)
}

/// Names of keepers and places, to choose from.
pub(crate) fn known_names(reader: &Reader<'_>) -> Result<(Vec<String>, Vec<String>), WebError> {
    Ok((
        reader.keepers()?.into_iter().map(|k| k.name).collect(),
        reader.places()?.into_iter().map(|p| p.name).collect(),
    ))
}

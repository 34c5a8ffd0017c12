//! Whether an entry says what its kind can say.

use serde_json::{Map, Value};

use super::{EntryKind, FieldSpec, FieldType, entry_kind};
use crate::{Quantity, SubjectKind, Uid, error::ChangeError};

/// Checks an entry against the declaration of its kind and returns the kind and the details with
/// quantities completed by their canonical value.
///
/// `kind_of` finds the kind of another subject.
pub(crate) fn check_entry(
    key: &str,
    subject: SubjectKind,
    detail: &Map<String, Value>,
    kind_of: &dyn Fn(&Uid) -> Option<SubjectKind>,
) -> Result<(&'static EntryKind, Map<String, Value>), ChangeError> {
    let kind = entry_kind(key).ok_or_else(|| ChangeError::UnknownKind(key.to_owned()))?;
    if !kind.about.contains(&subject) {
        let allowed: Vec<_> = kind.about.iter().map(|k| k.as_str()).collect();
        return Err(ChangeError::WrongSubject {
            kind: kind.key,
            subject: subject.as_str(),
            allowed: allowed.join(", "),
        });
    }
    let mut out = Map::new();
    for (name, value) in detail {
        let Some(spec) = kind.field(name) else {
            let known: Vec<_> = kind.fields.iter().map(|f| f.key).collect();
            return Err(bad(kind, name, format!("no such field; it has {}", known.join(", "))));
        };
        if !value.is_null() {
            out.insert(name.clone(), check_field(kind, spec, value, kind_of)?);
        }
    }
    if let Some(missing) = kind.fields.iter().find(|f| f.needed && !out.contains_key(f.key)) {
        return Err(bad(
            kind,
            missing.key,
            "is missing, and without it the entry says nothing".to_owned(),
        ));
    }
    Ok((kind, out))
}

fn bad(kind: &EntryKind, field: &str, problem: String) -> ChangeError {
    ChangeError::Field { kind: kind.key.to_owned(), field: field.to_owned(), problem }
}

fn check_field(
    kind: &EntryKind,
    spec: &FieldSpec,
    value: &Value,
    kind_of: &dyn Fn(&Uid) -> Option<SubjectKind>,
) -> Result<Value, ChangeError> {
    let wrong =
        |expected: &str| bad(kind, spec.key, format!("“{}” is not {expected}", plain(value)));
    match spec.holds {
        FieldType::Words => value
            .as_str()
            .filter(|s| !s.trim().is_empty())
            .map(|_| value.clone())
            .ok_or_else(|| wrong("words")),
        FieldType::Choice(words) => value
            .as_str()
            .filter(|s| words.contains(s))
            .map(|_| value.clone())
            .ok_or_else(|| wrong(&format!("one of {}", words.join(", ")))),
        FieldType::Quantity(dimension) => {
            let typed = match value {
                Value::String(s) => s.clone(),
                Value::Number(n) => n.to_string(),
                Value::Object(o) => match o.get("typed").and_then(Value::as_str) {
                    Some(s) => s.to_owned(),
                    None => return Err(wrong("a quantity such as 9 cm")),
                },
                _ => return Err(wrong("a quantity such as 9 cm")),
            };
            let q = Quantity::read(&typed, dimension)
                .map_err(|source| ChangeError::Quantity { field: spec.key.to_owned(), source })?;
            serde_json::to_value(q).map_err(|e| bad(kind, spec.key, e.to_string()))
        }
        FieldType::Count => value
            .as_u64()
            .filter(|n| *n <= 1_000_000_000)
            .map(|_| value.clone())
            .ok_or_else(|| wrong("a whole number, zero or more")),
        FieldType::Number(low, high) => value
            .as_f64()
            .filter(|n| n.is_finite() && *n >= low && *n <= high)
            .map(|_| value.clone())
            .ok_or_else(|| wrong(&format!("a number from {low} to {high}"))),
        FieldType::Flag => {
            value.as_bool().map(|_| value.clone()).ok_or_else(|| wrong("true or false"))
        }
        FieldType::Money => money(value).ok_or_else(|| {
            wrong("an amount with a currency, such as {\"amount\":8.5,\"currency\":\"GBP\"}")
        }),
        FieldType::Mix => {
            mix(value).ok_or_else(|| wrong("parts by volume, such as {\"bark\":4,\"perlite\":3}"))
        }
        FieldType::Subject(kinds) => subject(value, kinds, kind_of)
            .ok_or_else(|| wrong(&among(kinds)))
            .map(|()| value.clone()),
        FieldType::Subjects(kinds) => {
            let list =
                value.as_array().filter(|a| !a.is_empty()).ok_or_else(|| wrong(&among(kinds)))?;
            for one in list {
                subject(one, kinds, kind_of).ok_or_else(|| wrong(&among(kinds)))?;
            }
            Ok(value.clone())
        }
    }
}

fn among(kinds: &[SubjectKind]) -> String {
    let words: Vec<_> = kinds.iter().map(|k| k.as_str()).collect();
    format!("a {} of this record", words.join(" or "))
}

fn subject(
    value: &Value,
    kinds: &[SubjectKind],
    kind_of: &dyn Fn(&Uid) -> Option<SubjectKind>,
) -> Option<()> {
    let uid: Uid = value.as_str()?.parse().ok()?;
    kinds.contains(&kind_of(&uid)?).then_some(())
}

fn money(value: &Value) -> Option<Value> {
    let map = value.as_object()?;
    let amount = map.get("amount")?.as_f64().filter(|a| a.is_finite() && *a >= 0.0)?;
    let currency = match map.get("currency") {
        None | Some(Value::Null) => Value::Null,
        Some(Value::String(c)) if c.len() == 3 && c.bytes().all(|b| b.is_ascii_uppercase()) => {
            Value::String(c.clone())
        }
        Some(_) => return None,
    };
    let mut out = Map::new();
    out.insert("amount".to_owned(), serde_json::json!(amount));
    out.insert("currency".to_owned(), currency);
    Some(Value::Object(out))
}

fn mix(value: &Value) -> Option<Value> {
    let map = value.as_object().filter(|m| !m.is_empty())?;
    let sound = map
        .iter()
        .all(|(k, v)| !k.trim().is_empty() && v.as_f64().is_some_and(|p| p > 0.0 && p.is_finite()));
    sound.then(|| value.clone())
}

fn plain(value: &Value) -> String {
    value.as_str().map_or_else(|| value.to_string(), str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn check(key: &str, subject: SubjectKind, detail: &Value) -> Result<Value, String> {
        check_entry(key, subject, detail.as_object().unwrap(), &|_| Some(SubjectKind::Place))
            .map(|(_, d)| Value::Object(d))
            .map_err(|e| e.to_string())
    }

    #[test]
    fn each_kind_of_field_is_checked_and_named_in_the_error() {
        let uid = Uid::new().to_string();
        let ok = [
            ("watered", json!({"amount":"200 ml","water":"rain","found":"dry"})),
            ("placed", json!({"place": uid})),
            ("potted", json!({"pot":"9 cm","mix":{"bark":4,"perlite":3}})),
            ("note", json!({})),
        ];
        for (key, detail) in ok {
            check(key, SubjectKind::Plant, &detail).unwrap();
        }
        let amount = check("watered", SubjectKind::Plant, &json!({"amount":"200 ml"})).unwrap();
        assert_eq!(amount["amount"]["value"], json!(0.2));
        let wrong = [
            ("watered", json!({"water":"wine"}), "wine"),
            ("watered", json!({"amount":"much"}), "much"),
            ("checked", json!({}), "found"),
            ("placed", json!({"place":"kitchen"}), "kitchen"),
            ("potted", json!({"mix":{"bark":-1}}), "bark"),
            ("arrived", json!({"price":{"amount":3,"currency":"pounds"}}), "pounds"),
            ("waterd", json!({}), "waterd"),
            ("watered", json!({"colour":"red"}), "colour"),
            ("germinated", json!({"so_far":3}), "batch"),
            ("rooted", json!({"rooted":-1}), "-1"),
        ];
        for (key, detail, named) in wrong {
            let error = check(key, SubjectKind::Plant, &detail).unwrap_err();
            assert!(error.contains(named), "{key} {detail}: {error}");
        }
    }
}

//! Comparison of rows as read with their truth, field by field.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

pub const FIELDS: [&str; 12] = [
    "name",
    "needs_a_person",
    "seed_parent",
    "pollen_parent",
    "source",
    "acquired",
    "acquired_ambiguous",
    "received_as",
    "price",
    "pot",
    "place",
    "state",
];

#[derive(Default)]
pub struct Score {
    pub right: BTreeMap<String, (usize, usize)>,
    pub wrong: Vec<String>,
    pub rows: usize,
    pub lost: usize,
    pub extra: usize,
    /// Names given as sure that only the owner can know.
    pub falsely_sure: usize,
    pub told: usize,
    pub found: usize,
    pub agreed: usize,
    pub missed_codes: BTreeMap<String, usize>,
    pub extra_codes: BTreeMap<String, usize>,
}

impl Score {
    fn count(&mut self, field: &str, right: bool) {
        let entry = self.right.entry(field.to_owned()).or_default();
        entry.1 += 1;
        entry.0 += usize::from(right);
    }

    pub fn percent(&self, field: &str) -> f64 {
        let (right, all) = self.right.get(field).copied().unwrap_or((0, 1));
        100.0 * right as f64 / all as f64
    }

    pub fn recall(&self) -> f64 {
        100.0 * self.agreed as f64 / self.told.max(1) as f64
    }

    pub fn precision(&self) -> f64 {
        100.0 * self.agreed as f64 / self.found.max(1) as f64
    }

    pub fn table(&self) -> String {
        let mut out = format!(
            "rows {} lost {} extra {} falsely sure {}\n",
            self.rows, self.lost, self.extra, self.falsely_sure
        );
        for (field, (right, all)) in &self.right {
            out.push_str(&format!(
                "{field:20} {right:4} of {all:4}  {:6.2} %\n",
                self.percent(field)
            ));
        }
        out.push_str(&format!(
            "problem codes: recall {:.1} %, precision {:.1} %\n",
            self.recall(),
            self.precision()
        ));
        out
    }
}

fn loose(text: &str) -> String {
    text.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect()
}

fn same(field: &str, truth: &Value, read: &Value, whole_truth: &Value, whole: &Value) -> bool {
    match field {
        "source" | "place" => match (truth.as_str(), read.as_str()) {
            (Some(a), Some(b)) => loose(a) == loose(b),
            _ => truth == read,
        },
        "name" => {
            let both_parents = whole["seed_parent"].is_string()
                && whole["seed_parent"] == whole_truth["seed_parent"]
                && whole["pollen_parent"] == whole_truth["pollen_parent"];
            let formula =
                read.as_str().is_some_and(|n| n.contains(" × ") && n.matches(' ').count() > 2);
            truth == read || (formula && both_parents)
        }
        "price" | "pot" => match (truth.as_object(), read.as_object()) {
            (Some(a), Some(b)) => a.iter().all(|(k, v)| {
                b.get(k).is_some_and(|w| {
                    v == w || v.as_f64().zip(w.as_f64()).is_some_and(|(x, y)| (x - y).abs() < 1e-9)
                })
            }),
            _ => truth == read,
        },
        _ => truth == read,
    }
}

/// Adds the comparison of one file.
pub fn compare(file: &str, truth: &[Value], read: &Value, score: &mut Score) {
    let rows = read["rows"].as_array().expect("rows");
    let at = |r: &Value| (r["sheet"].as_str().map(str::to_owned), r["row"].as_u64());
    let index: BTreeMap<_, &Value> = rows.iter().map(|r| (at(r), r)).collect();
    let known: BTreeSet<_> = truth.iter().map(at).collect();
    for extra in rows.iter().filter(|r| !known.contains(&at(r))) {
        score.extra += 1;
        score.wrong.push(format!("{file} {:?}: not a plant: {}", at(extra), extra["name"]));
    }
    for t in truth {
        score.rows += 1;
        let Some(r) = index.get(&at(t)) else {
            score.lost += 1;
            score.wrong.push(format!("{file} {:?}: lost", at(t)));
            continue;
        };
        if t["needs_a_person"] == true && r["needs_a_person"] == false {
            score.falsely_sure += 1;
        }
        for field in FIELDS.iter().chain(&["tag"]) {
            if t.get(*field).is_none() {
                continue;
            }
            let right = same(field, &t[*field], &r[*field], t, r);
            score.count(field, right);
            if !right {
                score.wrong.push(format!(
                    "{file} {} {field}: {} but read {}",
                    t["row"], t[*field], r[*field]
                ));
            }
        }
        codes(file, t, r, score);
    }
}

fn codes(file: &str, t: &Value, r: &Value, score: &mut Score) {
    let set = |v: &Value| -> BTreeSet<String> {
        v["problems"]
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(|c| c.as_str().map(str::to_owned))
            .collect()
    };
    if t.get("problems").is_none() {
        return;
    }
    let (a, b) = (set(t), set(r));
    score.told += a.len();
    score.found += b.len();
    score.agreed += a.intersection(&b).count();
    let stem = |c: &str| c.split(':').next().unwrap_or(c).to_owned();
    for code in a.difference(&b) {
        *score.missed_codes.entry(stem(code)).or_default() += 1;
        score.wrong.push(format!("{file} {} code missed: {code}", t["row"]));
    }
    for code in b.difference(&a) {
        *score.extra_codes.entry(stem(code)).or_default() += 1;
        score.wrong.push(format!("{file} {} code extra: {code}", t["row"]));
    }
}

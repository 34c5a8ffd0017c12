//! What is believed of crosses before this house's records: each number with its source, and each
//! can be changed.

use journal::{Journal, Reader};
use serde::Serialize;
use serde_json::{Map, Value, json};
use stats::prior::NormalPrior;

use super::groups::{FACTS, Group};
use crate::{AskError, Result};

/// The setting of the house under which changed beliefs are kept.
pub const KEY: &str = "crossing";

/// One belief.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Belief {
    /// The word by which it is changed.
    pub key: String,
    /// What it says, in words of the catalogue.
    pub words: &'static str,
    /// Mean on the scale of log odds.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
    /// Where it comes from, in words of the catalogue.
    pub source: &'static str,
    /// Whether this house has changed it.
    pub own: bool,
}

const CP: &str = "common practice, no source";

/// Key, words, mean, standard deviation, source. Effects on log odds; from models of crossing as
/// growers tell them, each a belief and no fact about a genus that was not tried.
const DEFAULTS: [(&str, &str, f64, f64, &str); 11] = [
    ("same_species", "both of one species", 1.0, 0.7, CP),
    ("same_section", "both of one section", 0.5, 0.5, CP),
    ("same_clade", "both of one clade", 0.7, 0.5, CP),
    ("other_genus", "of two genera", -4.0, 1.0, CP),
    ("other_family", "of two families", -6.0, 1.0, CP),
    ("range", "native in the same areas", 0.2, 0.4, CP),
    (
        "ploidy",
        "for each doubling of chromosomes between them",
        -1.5,
        0.7,
        "common practice; Doorenbos 1973: of 36 tetraploid begonias 14 set seed with a diploid, of 9 diploids one gave a seedling",
    ),
    (
        "kinship",
        "for a kinship of one quarter, as of full sibs",
        -0.5,
        0.6,
        "common practice; in one milkweed sibs share incompatible alleles (Lipow & Wyatt 2000)",
    ),
    (
        "own_pollen",
        "own pollen in the flower too",
        -0.8,
        0.5,
        "Broyles & Wyatt 1993: own pollinia cut the set of a milkweed by 29 to 81 %",
    ),
    ("pollen_age", "for each half-life of stored pollen", -0.69, 0.3, "the meaning of a half-life"),
    ("other_house", "told by another house", 0.0, 0.7, CP),
];

/// All beliefs, those that this house changed in their new form.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Beliefs {
    /// Every belief.
    pub all: Vec<Belief>,
}

/// Logarithm of the odds.
pub(crate) fn logit(p: f64) -> f64 {
    (p / (1.0 - p)).ln()
}

impl Default for Beliefs {
    fn default() -> Self {
        let mut all: Vec<Belief> = Vec::new();
        for f in FACTS {
            let source = if f.group == Group::Asclepiad {
                "common practice, no source: 8 of 100 hand-pollinated flowers for a beginner; 23 to 35 for practised hands (Broyles & Wyatt 1993)"
            } else {
                CP
            };
            all.push(Belief {
                key: format!("take_{}", f.group.as_str()),
                words: "a flower makes a pod",
                mean: logit(f.take),
                sd: 1.2,
                source,
                own: false,
            });
            all.push(Belief {
                key: format!("self_{}", f.group.as_str()),
                words: "with its own pollen",
                mean: f.own,
                sd: 1.0,
                source: if f.group == Group::Asclepiad {
                    "common practice; Broyles & Wyatt 1993 and Huebner 2003: nearly all selfs failed"
                } else {
                    CP
                },
                own: false,
            });
        }
        for (key, words, mean, sd, source) in DEFAULTS {
            all.push(Belief { key: key.to_owned(), words, mean, sd, source, own: false });
        }
        Self { all }
    }
}

impl Beliefs {
    /// What holds in this house.
    ///
    /// # Errors
    /// If the record cannot be read.
    pub fn read(reader: &Reader<'_>) -> Result<Self> {
        let mut out = Self::default();
        let Some(kept) = kept(reader)? else { return Ok(out) };
        for belief in &mut out.all {
            let Some(own) = kept.get(&belief.key) else { continue };
            let number = |k: &str| own.get(k).and_then(Value::as_f64);
            if let Some(mean) = number("mean") {
                (belief.mean, belief.own) = (mean, true);
            }
            if let Some(sd) = number("sd").filter(|s| *s > 0.0) {
                (belief.sd, belief.own) = (sd, true);
            }
        }
        Ok(out)
    }

    /// The belief of this key as a prior; flat zero where there is none.
    #[must_use]
    pub fn prior(&self, key: &str) -> NormalPrior {
        self.get(key)
            .map_or(NormalPrior { mean: 0.0, sd: 1.0 }, |b| NormalPrior { mean: b.mean, sd: b.sd })
    }

    /// The belief of this key.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&Belief> {
        self.all.iter().find(|b| b.key == key)
    }
}

/// What the house changed, by key.
fn kept(reader: &Reader<'_>) -> Result<Option<Map<String, Value>>> {
    Ok(reader.setting(KEY)?.and_then(|text| serde_json::from_str(&text).ok()))
}

/// Changes a belief of the house; an empty text brings the default back. What is typed is the mean,
/// then, if wanted, `±` and the standard deviation; the chance that a flower makes a pod is typed as
/// a percentage.
///
/// # Errors
/// A key that is not known or a text that cannot be read.
pub fn change(journal: &Journal, key: &str, typed: &str) -> Result<()> {
    let defaults = Beliefs::default();
    if defaults.get(key).is_none() {
        let known: Vec<&str> = defaults.all.iter().map(|b| b.key.as_str()).collect();
        let problem = format!("is not known; write one of {}", known.join(", "));
        return Err(AskError::field("belief", key, problem));
    }
    let belief = match typed.trim() {
        "" => None,
        words => Some(typed_belief(key, words)?),
    };
    let change = |before: Option<String>| {
        let mut all: Map<String, Value> =
            before.and_then(|text| serde_json::from_str(&text).ok()).unwrap_or_default();
        match belief {
            Some(belief) => all.insert(key.to_owned(), belief),
            None => all.remove(key),
        };
        (Value::Object(all).to_string(), ())
    };
    journal.change_setting(KEY, change)?;
    Ok(())
}

fn typed_belief(key: &str, typed: &str) -> Result<Value> {
    let plain = typed.replace(',', ".").replace('−', "-");
    let (mean, sd) = match plain.split_once('±') {
        Some((mean, sd)) => (mean.to_owned(), Some(sd.trim().to_owned())),
        None => (plain, None),
    };
    let wrong = |what: &str| AskError::field(key, typed, format!("is not {what}"));
    let percent = key.starts_with("take_");
    let value: f64 = mean
        .trim()
        .trim_end_matches(['%', ' '])
        .parse()
        .map_err(|_| wrong("a number; write it as 25 % or −1.5 ± 0.7"))?;
    let mean = if percent {
        if !(value > 0.0 && value < 100.0) {
            return Err(wrong("between 0 and 100 %; write the share of flowers that make a pod"));
        }
        logit(value / 100.0)
    } else {
        if !(-8.0..=8.0).contains(&value) {
            return Err(wrong("between −8 and 8 on the scale of log odds"));
        }
        value
    };
    let mut out = json!({"mean": mean});
    if let Some(sd) = sd {
        let sd: f64 = sd
            .parse()
            .ok()
            .filter(|s: &f64| (0.01..=5.0).contains(s))
            .ok_or_else(|| wrong("a standard deviation between 0.01 and 5 after ±"))?;
        out["sd"] = json!(sd);
    }
    Ok(out)
}

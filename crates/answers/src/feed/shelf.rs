//! The shelf in words: what page and command show of what is kept.

use journal::Reader;
use serde::Serialize;
use texts::Texts;

use super::kept::{FeedKept, Kept, MixKept, Price, WaterKept, kept};
use crate::{Hand, Result, said::figures, sentence::money};

/// Something kept, in the reader's language.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ShelfLine {
    /// Its number among what is kept.
    pub number: i64,
    /// What it is called here.
    pub name: String,
    /// What is known of it.
    pub facts: String,
    /// What is not known and would be of use; may be empty.
    pub missing: String,
}

/// The shelf.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shelf {
    /// Feeds.
    pub feeds: Vec<ShelfLine>,
    /// Waters.
    pub waters: Vec<ShelfLine>,
    /// Materials.
    pub materials: Vec<ShelfLine>,
    /// Mixes.
    pub mixes: Vec<ShelfLine>,
    /// The same as figures.
    pub kept: Kept,
}

/// What is kept, in words.
///
/// # Errors
/// If the record cannot be read.
pub fn shelf(reader: &Reader<'_>, hand: &Hand) -> Result<Shelf> {
    let t = hand.texts();
    let kept = kept(reader)?;
    Ok(Shelf {
        feeds: kept.feeds.iter().map(|f| feed(f, t)).collect(),
        waters: kept.waters.iter().map(|w| water(w, t)).collect(),
        materials: (kept.materials.iter())
            .map(|m| ShelfLine {
                number: m.number,
                name: m.name.clone(),
                facts: m.price.as_ref().map(|p| price(p, t)).unwrap_or_default(),
                missing: if m.price.is_some() {
                    String::new()
                } else {
                    t.t("its price").to_owned()
                },
            })
            .collect(),
        mixes: kept.mixes.iter().map(|m| mix(m, t)).collect(),
        kept,
    })
}

fn some(parts: Vec<Option<String>>) -> String {
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn missing(parts: &[(bool, &str)]) -> String {
    let out: Vec<&str> = parts.iter().filter(|p| p.0).map(|p| p.1).collect();
    out.join(", ")
}

fn feed(f: &FeedKept, t: Texts) -> ShelfLine {
    let n = |v: f64| figures(v, 3, t.lang());
    let share = |v: f64, what: &str| (v > 0.0).then(|| format!("{what} {} %", n(v)));
    let l = &f.label;
    let forms = f.forms.as_ref().map(|x| {
        t.f(
            "nitrogen as nitrate {a} %, ammonium {b} %, urea {c} %",
            &[("a", &n(x.nitrate)), ("b", &n(x.ammonium)), ("c", &n(x.urea))],
        )
    });
    let facts = some(vec![
        Some(format!("{}–{}–{}", n(l.nitrogen), n(l.phosphate), n(l.potash))),
        share(l.calcium, "Ca"),
        share(l.magnesium, "Mg"),
        forms,
        Some(match f.density {
            Some(d) => t.f("liquid, {n} kg/L", &[("n", &n(d))]),
            None => t.t("powder").to_owned(),
        }),
        f.scoop.map(|s| t.f("own scoop {n} g", &[("n", &n(s))])),
        f.usual.map(|u| t.f("label advises {n} g/L", &[("n", &n(u))])),
        f.at.map(|(ppm, ec)| t.f("{c} mS/cm at {n} mg/L", &[("c", &n(ec)), ("n", &n(ppm))])),
        f.price.as_ref().map(|p| price(p, t)),
    ]);
    let missing = missing(&[
        (f.forms.is_none(), t.t("its forms of nitrogen")),
        (f.at.is_none(), t.t("the label's row of conductivity")),
        (f.scoop.is_none() && f.density.is_none(), t.t("a weighed scoop")),
    ]);
    ShelfLine { number: f.number, name: f.name.clone(), facts, missing }
}

fn water(w: &WaterKept, t: Texts) -> ShelfLine {
    let n = |v: f64| figures(v, 3, t.lang());
    let salt = |v: Option<f64>, what: &str| v.map(|v| format!("{what} {}", n(v)));
    let how = match w.how.as_str() {
        "report" => Some(t.t("from its report").to_owned()),
        "strip" => Some(t.t("by a strip").to_owned()),
        "meter" => Some(t.t("by a meter").to_owned()),
        _ => None,
    };
    let facts = some(vec![
        Some(t.word(&w.kind)),
        w.alkalinity.map(|a| t.f("alkalinity {n} mg/L CaCO₃", &[("n", &n(a))])),
        w.conductivity.map(|c| t.f("{n} mS/cm", &[("n", &n(c))])),
        salt(w.calcium, "Ca"),
        salt(w.magnesium, "Mg"),
        salt(w.sodium, "Na").map(|s| format!("{s} mg/L")),
        how,
    ]);
    let missing = missing(&[
        (w.alkalinity.is_none(), t.t("its alkalinity: a strip is enough")),
        (w.conductivity.is_none(), t.t("its conductivity")),
        (w.calcium.is_none() || w.magnesium.is_none(), t.t("calcium and magnesium")),
    ]);
    ShelfLine { number: w.number, name: w.name.clone(), facts, missing }
}

fn mix(m: &MixKept, t: Texts) -> ShelfLine {
    let n = |v: f64| figures(v, 3, t.lang());
    let parts: Vec<String> = m.recipe.iter().map(|(k, v)| format!("{k} {}", n(*v))).collect();
    let test = m.test.map(|x| {
        t.f(
            "tested: {v} mL of mix took {f} mL, {d} mL drained",
            &[("v", &n(x.volume)), ("f", &n(x.filled)), ("d", &n(x.drained))],
        )
    });
    let untested = m.test.is_none();
    ShelfLine {
        number: m.number,
        name: m.name.clone(),
        facts: some(vec![Some(parts.join(", ")), test]),
        missing: missing(&[(untested, t.t("a test of a pot at the sink"))]),
    }
}

/// A price with what it buys.
pub(crate) fn price(p: &Price, t: Texts) -> String {
    let n = |v: f64| figures(v, 3, t.lang());
    let paid = money(&serde_json::json!({"amount": p.amount, "currency": p.currency}));
    match (p.litres, p.grams) {
        (Some(l), _) => t.f("{paid} for {n} L", &[("paid", &paid), ("n", &n(l))]),
        (None, Some(g)) => t.f("{paid} for {n} g", &[("paid", &paid), ("n", &n(g))]),
        (None, None) => paid,
    }
}

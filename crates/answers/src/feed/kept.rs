//! What is kept on the shelf: feeds, waters, materials and mixes, read from their claims.

use std::collections::BTreeMap;

use culture::{
    Estimate,
    feed::{Label, Nitrogen, Water, cations_to_conductivity},
    substrate::PotTest,
};
use journal::{Reader, SubjectKind};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::Result;

/// Whether a plant grows, as its keeper says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Growth {
    /// It grows, or nobody said otherwise.
    #[default]
    Growing,
    /// It rests.
    Resting,
    /// It has no roots to speak of.
    Rootless,
}

impl Growth {
    /// All, in the order of a choice.
    pub const ALL: [Self; 3] = [Self::Growing, Self::Resting, Self::Rootless];

    /// The word of a claim; `growing` for anything else.
    #[must_use]
    pub fn of_word(word: &str) -> Self {
        Self::ALL.into_iter().find(|g| g.as_str() == word).unwrap_or_default()
    }

    /// The word of a claim.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Growing => "growing",
            Self::Resting => "resting",
            Self::Rootless => "rootless",
        }
    }
}

/// What a label says of conductivity: so many mS/cm at so many mg/L of nitrogen.
pub type EcAt = (f64, f64);

/// What a label says; % by mass.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub(crate) struct LabelClaim {
    pub n: f64,
    pub p2o5: f64,
    pub k2o: f64,
    #[serde(default)]
    pub ca: Option<f64>,
    #[serde(default)]
    pub mg: Option<f64>,
    #[serde(default)]
    pub nitrate: Option<f64>,
    #[serde(default)]
    pub ammonium: Option<f64>,
    #[serde(default)]
    pub urea: Option<f64>,
    #[serde(default)]
    pub sulphate: bool,
    #[serde(default)]
    pub density: Option<f64>,
    #[serde(default)]
    pub scoop: Option<f64>,
    #[serde(default)]
    pub usual: Option<f64>,
    #[serde(default)]
    pub at: Option<EcAt>,
}

/// What a report says of a water.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub(crate) struct ReportClaim {
    pub kind: String,
    #[serde(default)]
    pub alkalinity: Option<f64>,
    #[serde(default)]
    pub conductivity: Option<f64>,
    #[serde(default)]
    pub calcium: Option<f64>,
    #[serde(default)]
    pub magnesium: Option<f64>,
    #[serde(default)]
    pub sodium: Option<f64>,
    #[serde(default)]
    pub how: String,
}

/// What was paid, and for how much.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Price {
    /// The amount.
    pub amount: f64,
    /// ISO 4217 currency, if it was told.
    #[serde(default)]
    pub currency: Option<String>,
    /// Litres that it buys.
    #[serde(default)]
    pub litres: Option<f64>,
    /// Grams that it buys \[g\].
    #[serde(default)]
    pub grams: Option<f64>,
}

/// A feed on the shelf.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FeedKept {
    /// Its number among what is kept.
    pub number: i64,
    /// What it is called here.
    pub name: String,
    /// Its analysis, % by mass.
    pub label: Label,
    /// Its nitrogen by form, % by mass, where the label tells all of it.
    pub forms: Option<Nitrogen>,
    /// Urea as far as the label tells \[% by mass\].
    pub urea: Option<f64>,
    /// Whether it brings sulphate, as far as known.
    pub sulphate: bool,
    /// Density of a liquid \[kg/L\]; none for a powder.
    pub density: Option<f64>,
    /// What the keeper's own scoop holds \[g\], weighed.
    pub scoop: Option<f64>,
    /// What the label advises \[g/L\].
    pub usual: Option<f64>,
    /// Its row of conductivity: mg/L of nitrogen, mS/cm.
    pub at: Option<EcAt>,
    /// What was paid.
    pub price: Option<Price>,
}

/// A water that is at hand.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WaterKept {
    /// Its number among what is kept.
    pub number: i64,
    /// What it is called here.
    pub name: String,
    /// `tap`, `rain`, `osmosis` and so on, as in an entry about watering.
    pub kind: String,
    /// Alkalinity \[mg/L CaCO₃\].
    pub alkalinity: Option<f64>,
    /// Conductivity \[mS/cm\].
    pub conductivity: Option<f64>,
    /// Calcium \[mg/L\].
    pub calcium: Option<f64>,
    /// Magnesium \[mg/L\].
    pub magnesium: Option<f64>,
    /// Sodium \[mg/L\].
    pub sodium: Option<f64>,
    /// `report`, `strip` or `meter`.
    pub how: String,
}

impl WaterKept {
    /// With what is not known taken as none: for sums in which the unknown is said beside.
    pub(crate) fn known(&self) -> Water {
        Water {
            alkalinity: self.alkalinity.unwrap_or(0.0),
            conductivity: self.conductivity.unwrap_or(0.0),
            calcium: self.calcium.unwrap_or(0.0),
            magnesium: self.magnesium.unwrap_or(0.0),
            sodium: self.sodium.unwrap_or(0.0),
        }
    }

    /// Its conductivity: measured, or what its salts imply \[mS/cm\].
    pub(crate) fn conducts(&self) -> Option<Estimate> {
        if let Some(c) = self.conductivity {
            return Some(Estimate::exact(c));
        }
        let (calcium, magnesium) = (self.calcium?, self.magnesium?);
        Some(cations_to_conductivity(calcium, magnesium, self.sodium.unwrap_or(0.0), 0.0))
    }
}

/// A material of mixes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MaterialKept {
    /// Its number among what is kept.
    pub number: i64,
    /// What it is called in mixes.
    pub name: String,
    /// What was paid.
    pub price: Option<Price>,
}

/// A mix that is made here.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MixKept {
    /// Its number among what is kept.
    pub number: i64,
    /// What it is called here.
    pub name: String,
    /// Parts by volume.
    pub recipe: BTreeMap<String, f64>,
    /// The test of a pot of it: volume, filled, drained \[mL\], height \[cm\].
    pub test: Option<MixTest>,
}

/// A test of a pot at the sink.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct MixTest {
    /// Volume of the mix \[mL\].
    pub volume: f64,
    /// Water that filled it \[mL\].
    pub filled: f64,
    /// Water that drained \[mL\].
    pub drained: f64,
    /// Height of the mix \[cm\].
    pub height: f64,
}

impl MixTest {
    /// For the calculator; a reading is good to 5 mL or 1 % of the pot. Common practice, no source.
    pub(crate) fn pot_test(&self) -> PotTest {
        let reading_sd = (0.01 * self.volume).max(5.0);
        PotTest { volume: self.volume, filled: self.filled, drained: self.drained, reading_sd }
    }
}

/// Everything on the shelf, by name.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Kept {
    /// Feeds.
    pub feeds: Vec<FeedKept>,
    /// Waters.
    pub waters: Vec<WaterKept>,
    /// Materials.
    pub materials: Vec<MaterialKept>,
    /// Mixes.
    pub mixes: Vec<MixKept>,
}

impl Kept {
    /// The feed of this name or number.
    #[must_use]
    pub fn feed(&self, typed: &str) -> Option<&FeedKept> {
        self.feeds.iter().find(|f| called(&f.name, f.number, typed))
    }

    /// The water of this name, kind or number.
    #[must_use]
    pub fn water(&self, typed: &str) -> Option<&WaterKept> {
        (self.waters.iter().find(|w| called(&w.name, w.number, typed)))
            .or_else(|| self.waters.iter().find(|w| w.kind == typed.trim().to_lowercase()))
    }

    /// The mix of this name or number.
    #[must_use]
    pub fn mix(&self, typed: &str) -> Option<&MixKept> {
        self.mixes.iter().find(|m| called(&m.name, m.number, typed))
    }

    /// The mix with these parts by volume, however large the parts were written.
    pub(crate) fn mix_of(&self, recipe: &BTreeMap<String, f64>) -> Option<&MixKept> {
        let shares = shares(recipe);
        self.mixes.iter().find(|m| {
            let own = self::shares(&m.recipe);
            own.len() == shares.len()
                && own.iter().zip(&shares).all(|(a, b)| a.0 == b.0 && (a.1 - b.1).abs() < 1e-6)
        })
    }
}

fn shares(recipe: &BTreeMap<String, f64>) -> Vec<(String, f64)> {
    let sum: f64 = recipe.values().sum();
    recipe.iter().map(|(k, v)| (k.trim().to_lowercase(), v / sum)).collect()
}

fn called(name: &str, number: i64, typed: &str) -> bool {
    let typed = typed.trim();
    name.to_lowercase() == typed.to_lowercase() || typed.parse::<i64>().is_ok_and(|n| n == number)
}

/// What is kept on the shelf and not used up.
///
/// # Errors
/// If the record cannot be read.
pub fn kept(reader: &Reader<'_>) -> Result<Kept> {
    let field = |name: &str| -> Result<BTreeMap<i64, Value>> {
        let claims = reader.claims_of_all(SubjectKind::Supply, name)?;
        Ok(claims.into_iter().map(|c| (c.0, c.1)).collect())
    };
    let [what, name, gone] = [field("what")?, field("name")?, field("gone")?];
    let [label, report, recipe] = [field("label")?, field("report")?, field("recipe")?];
    let [test, price] = [field("test")?, field("price")?];
    let mut out = Kept::default();
    for (id, what) in &what {
        if gone.get(id).and_then(Value::as_bool).unwrap_or(false) {
            continue;
        }
        let Some(row) = reader.subject_by_id(*id)? else { continue };
        let number = row.number;
        let name = name.get(id).and_then(Value::as_str).unwrap_or("").to_owned();
        let price: Option<Price> = read(price.get(id));
        match what.as_str() {
            Some("feed") => out.feeds.push(feed(number, name, read(label.get(id)), price)),
            Some("water") => out.waters.push(water(number, name, read(report.get(id)))),
            Some("mix") => {
                let recipe = read(recipe.get(id)).unwrap_or_default();
                out.mixes.push(MixKept { number, name, recipe, test: read(test.get(id)) });
            }
            _ => out.materials.push(MaterialKept { number, name, price }),
        }
    }
    out.feeds.sort_by_key(|f| f.name.to_lowercase());
    out.waters.sort_by_key(|w| w.name.to_lowercase());
    out.materials.sort_by_key(|m| m.name.to_lowercase());
    out.mixes.sort_by_key(|m| m.name.to_lowercase());
    Ok(out)
}

fn read<T: serde::de::DeserializeOwned>(value: Option<&Value>) -> Option<T> {
    value.and_then(|v| serde_json::from_value(v.clone()).ok())
}

fn feed(number: i64, name: String, label: Option<LabelClaim>, price: Option<Price>) -> FeedKept {
    let l = label.unwrap_or_default();
    let forms = match (l.nitrate, l.ammonium, l.urea) {
        (None, None, None) => None,
        (nitrate, ammonium, urea) => {
            let [nitrate, ammonium, urea] = [nitrate, ammonium, urea].map(|f| f.unwrap_or(0.0));
            let forms = Nitrogen { nitrate, ammonium, urea };
            // Labels round each form to a tenth.
            ((forms.total() - l.n).abs() <= 0.3).then_some(forms)
        }
    };
    FeedKept {
        number,
        name,
        label: Label {
            nitrogen: l.n,
            phosphate: l.p2o5,
            potash: l.k2o,
            calcium: l.ca.unwrap_or(0.0),
            magnesium: l.mg.unwrap_or(0.0),
        },
        forms,
        urea: l.urea,
        sulphate: l.sulphate,
        density: l.density,
        scoop: l.scoop,
        usual: l.usual,
        at: l.at,
        price,
    }
}

fn water(number: i64, name: String, report: Option<ReportClaim>) -> WaterKept {
    let r = report.unwrap_or_default();
    WaterKept {
        number,
        name,
        kind: r.kind,
        alkalinity: r.alkalinity,
        conductivity: r.conductivity,
        calcium: r.calcium,
        magnesium: r.magnesium,
        sodium: r.sodium,
        how: r.how,
    }
}

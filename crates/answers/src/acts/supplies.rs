//! What is kept on the shelf: feeds, waters, materials and mixes; and whether a plant grows.

use journal::{Journal, OpId, SubjectKind};
use serde_json::{Map, Value, json};

use super::plants::{journal_read, numbers_of, write};
use crate::{AskError, Hand, Result, feed::number};

/// A feed as typed; what is left open is not known.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FeedInput {
    /// What it is called here.
    pub name: String,
    /// N–P₂O₅–K₂O as on the label: `13-3-15`.
    pub label: String,
    /// Ca \[%\].
    pub calcium: String,
    /// Mg \[%\].
    pub magnesium: String,
    /// Nitrogen as nitrate \[%\].
    pub nitrate: String,
    /// Nitrogen as ammonium \[%\].
    pub ammonium: String,
    /// Nitrogen as urea \[%\].
    pub urea: String,
    /// `yes` if the label names sulphate or sulphur.
    pub sulphate: String,
    /// Density of a liquid \[kg/L\]; empty for a powder.
    pub density: String,
    /// What the own scoop holds \[g\].
    pub scoop: String,
    /// What the label advises \[g/L\].
    pub usual: String,
    /// The label's row of conductivity: mg/L of nitrogen, then mS/cm, such as `100 0.7`.
    pub at: String,
    /// What was paid, and for how much: `12 EUR for 1 kg`.
    pub price: String,
}

/// A water as typed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct WaterInput {
    /// What it is called here.
    pub name: String,
    /// `tap`, `rain`, `osmosis` and so on.
    pub kind: String,
    /// Alkalinity \[mg/L CaCO₃\], or in `°dH`.
    pub alkalinity: String,
    /// Conductivity \[mS/cm\], or in `µS/cm`.
    pub conductivity: String,
    /// Calcium \[mg/L\].
    pub calcium: String,
    /// Magnesium \[mg/L\].
    pub magnesium: String,
    /// Sodium \[mg/L\].
    pub sodium: String,
    /// `report`, `strip` or `meter`.
    pub how: String,
}

/// A mix as typed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct MixInput {
    /// What it is called here.
    pub name: String,
    /// Parts by volume: `bark 4, perlite 3`.
    pub recipe: String,
    /// Volume of the pot that was tested \[mL\].
    pub volume: String,
    /// Water that filled it \[mL\].
    pub filled: String,
    /// Water that drained \[mL\].
    pub drained: String,
    /// Height of the mix in the test \[cm\].
    pub height: String,
}

const WATERS: [&str; 6] = ["rain", "tap", "osmosis", "distilled", "mixed", "melted"];

/// Mass of calcium carbonate that is as hard as one German degree \[mg/L\]: 10 mg/L of CaO, by the
/// definition of the degree and atomic weights.
const GERMAN_DEGREE: f64 = 17.848;

/// Keeps a feed, or writes anew what is known of the one of this number.
///
/// # Errors
/// If the name has no words, or something cannot be read.
pub fn keep_feed(
    journal: &Journal,
    hand: &Hand,
    number: Option<i64>,
    input: &FeedInput,
) -> Result<(OpId, i64)> {
    let mut claims = vec![("label", label(input)?)];
    if let Some(price) = price(&input.price)? {
        claims.push(("price", price));
    }
    keep(journal, hand, number, ("feed", &input.name), claims)
}

/// Keeps a water, or writes anew what is known of the one of this number.
///
/// # Errors
/// If the name has no words, or something cannot be read.
pub fn keep_water(
    journal: &Journal,
    hand: &Hand,
    number: Option<i64>,
    input: &WaterInput,
) -> Result<(OpId, i64)> {
    keep(journal, hand, number, ("water", &input.name), vec![("report", report(input)?)])
}

/// Keeps a mix, or writes anew what is known of the one of this number.
///
/// # Errors
/// If the name has no words, or something cannot be read.
pub fn keep_mix(
    journal: &Journal,
    hand: &Hand,
    number: Option<i64>,
    input: &MixInput,
) -> Result<(OpId, i64)> {
    let mut claims = vec![("recipe", recipe(&input.recipe)?)];
    if let Some(test) = test(input)? {
        claims.push(("test", test));
    }
    keep(journal, hand, number, ("mix", &input.name), claims)
}

/// Keeps a material with its price, such as `9 EUR for 50 L`.
///
/// # Errors
/// If the name has no words, or the price cannot be read.
pub fn keep_material(
    journal: &Journal,
    hand: &Hand,
    number: Option<i64>,
    name: &str,
    typed: &str,
) -> Result<(OpId, i64)> {
    let claims = price(typed)?.map(|p| ("price", p)).into_iter().collect();
    keep(journal, hand, number, ("material", name), claims)
}

/// Says that something of the shelf is used up; what was written about it stays.
///
/// # Errors
/// If it is not on the shelf.
pub fn use_up(journal: &Journal, hand: &Hand, number: i64) -> Result<OpId> {
    let uid = journal_read(journal, |r| supply(r, number))?;
    let mut draft = hand.draft("use_up", &format!("supply {number}"));
    draft.claim(uid, "gone", json!(true));
    write(journal, draft)
}

fn supply(reader: &journal::Reader<'_>, number: i64) -> Result<journal::Uid> {
    let row = reader.subject_numbered(SubjectKind::Supply, number)?;
    row.map(|s| s.uid).ok_or_else(|| AskError::NotThere {
        kind: "supply",
        which: number.to_string(),
        next: "`umbel feed` and `umbel potting shelf` list what is kept, with its numbers",
    })
}

fn keep(
    journal: &Journal,
    hand: &Hand,
    number: Option<i64>,
    (what, name): (&str, &str),
    claims: Vec<(&str, Value)>,
) -> Result<(OpId, i64)> {
    let name = name.trim();
    if name.is_empty() {
        return Err(AskError::field("name", name, "has no words; write a name"));
    }
    let mut draft = hand.draft("keep", &format!("{what} {name}"));
    let uid = match number {
        Some(n) => journal_read(journal, |r| supply(r, n))?,
        None => {
            let uid = draft.create(SubjectKind::Supply, None);
            draft.claim(uid, "what", json!(what));
            uid
        }
    };
    draft.claim(uid, "name", json!(name));
    for (field, value) in claims {
        draft.claim(uid, field, value);
    }
    let op = write(journal, draft)?;
    Ok((op, numbers_of(journal, &[uid])?.first().copied().unwrap_or(0)))
}

/// A map without what is not known.
fn known(pairs: Vec<(&str, Value)>) -> Value {
    let kept = pairs.into_iter().filter(|(_, v)| !v.is_null());
    Value::Object(kept.map(|(k, v)| (k.to_owned(), v)).collect::<Map<_, _>>())
}

fn label(input: &FeedInput) -> Result<Value> {
    let parts: Vec<&str> =
        input.label.split(|c: char| "-–—+/ :".contains(c)).filter(|p| !p.is_empty()).collect();
    let share = |text: &str| text.replace(',', ".").parse::<f64>().ok();
    let wrong = |problem: String| AskError::field("label", &input.label, problem);
    let shares: Vec<f64> = parts.iter().filter_map(|p| share(p)).collect();
    let [n, p2o5, k2o] = shares.as_slice() else {
        let problem = "is not N-P2O5-K2O; write the three figures of the label, such as 13-3-15";
        return Err(wrong(problem.to_owned()));
    };
    if parts.len() != 3 {
        return Err(wrong("has more than three figures; write N-P2O5-K2O alone".to_owned()));
    }
    let percent = |field: &str, typed: &str| number(field, typed, 0.0, 100.0);
    let (ca, mg) = (percent("calcium", &input.calcium)?, percent("magnesium", &input.magnesium)?);
    let read = culture::feed::Label {
        nitrogen: *n,
        phosphate: *p2o5,
        potash: *k2o,
        calcium: ca.unwrap_or(0.0),
        magnesium: mg.unwrap_or(0.0),
    };
    read.checked().map_err(|e| wrong(e.to_string()))?;
    let forms = [
        percent("nitrate", &input.nitrate)?,
        percent("ammonium", &input.ammonium)?,
        percent("urea", &input.urea)?,
    ];
    let sum: f64 = forms.iter().flatten().sum();
    if sum > n + 0.3 {
        let problem = format!("is more nitrogen than the {n} % of the label; write % of the feed");
        return Err(AskError::field("nitrate, ammonium and urea", &sum.to_string(), problem));
    }
    Ok(known(vec![
        ("n", json!(n)),
        ("p2o5", json!(p2o5)),
        ("k2o", json!(k2o)),
        ("ca", json!(ca)),
        ("mg", json!(mg)),
        ("nitrate", json!(forms[0])),
        ("ammonium", json!(forms[1])),
        ("urea", json!(forms[2])),
        ("sulphate", json!(input.sulphate.trim() == "yes")),
        ("density", json!(number("density", &input.density, 0.7, 2.5)?)),
        ("scoop", json!(number("scoop", &input.scoop, 0.01, 5_000.0)?)),
        ("usual", json!(number("usual", &input.usual, 0.001, 100.0)?)),
        ("at", json!(row(&input.at)?)),
    ]))
}

/// A label's row of conductivity: `100 0.7`.
fn row(typed: &str) -> Result<Option<(f64, f64)>> {
    if typed.trim().is_empty() {
        return Ok(None);
    }
    let numbers: Vec<f64> = typed
        .replace(',', ".")
        .split(|c: char| !(c.is_ascii_digit() || c == '.'))
        .filter_map(|p| p.parse().ok())
        .collect();
    match numbers.as_slice() {
        [n, ec] if *n > 0.0 && *ec > 0.0 && *ec < 20.0 => Ok(Some((*n, *ec))),
        _ => {
            let problem = "is not a row of the label; write mg/L of nitrogen, then mS/cm: 100 0.7";
            Err(AskError::field("conductivity row", typed, problem))
        }
    }
}

fn report(input: &WaterInput) -> Result<Value> {
    let kind = input.kind.trim().to_lowercase();
    if !WATERS.contains(&kind.as_str()) {
        let problem = format!("is no water here; write one of {}", WATERS.join(", "));
        return Err(AskError::field("kind", &input.kind, problem));
    }
    let how = input.how.trim();
    if !["", "report", "strip", "meter"].contains(&how) {
        return Err(AskError::field("how", how, "is not one of report, strip, meter"));
    }
    let salt = |field: &str, typed: &str| number(field, typed, 0.0, 5_000.0);
    Ok(known(vec![
        ("kind", json!(kind)),
        ("alkalinity", json!(alkalinity(&input.alkalinity)?)),
        ("conductivity", json!(conductivity(&input.conductivity)?)),
        ("calcium", json!(salt("calcium", &input.calcium)?)),
        ("magnesium", json!(salt("magnesium", &input.magnesium)?)),
        ("sodium", json!(salt("sodium", &input.sodium)?)),
        ("how", json!(how)),
    ]))
}

fn alkalinity(typed: &str) -> Result<Option<f64>> {
    let text = typed.trim().to_lowercase();
    let (figures, factor) = match text.strip_suffix("dh") {
        Some(rest) => (rest.trim_end_matches(['°', ' ']), GERMAN_DEGREE),
        None => (text.trim_end_matches("mg/l").trim_end(), 1.0),
    };
    Ok(number("alkalinity", figures, 0.0, 1000.0)?.map(|v| v * factor))
}

fn conductivity(typed: &str) -> Result<Option<f64>> {
    if typed.trim().is_empty() {
        return Ok(None);
    }
    let read = journal::Quantity::read(typed, journal::Dimension::Conductivity)
        .map_err(|e| AskError::field("conductivity", typed, e.to_string()))?;
    Ok(Some(read.value))
}

/// Parts by volume as typed.
pub(crate) fn recipe(typed: &str) -> Result<Value> {
    let wrong = || AskError::field("recipe", typed, "is not a mix; write it as bark 4, perlite 3");
    let mut map = Map::new();
    for part in typed.split([',', ';']).map(str::trim).filter(|p| !p.is_empty()) {
        let (what, n) = part.rsplit_once(' ').ok_or_else(wrong)?;
        let n: f64 = n.replace(',', ".").parse().map_err(|_| wrong())?;
        if !(n > 0.0 && n < 1e6) {
            return Err(wrong());
        }
        map.insert(what.trim().to_owned(), json!(n));
    }
    if map.is_empty() { Err(wrong()) } else { Ok(Value::Object(map)) }
}

fn test(input: &MixInput) -> Result<Option<Value>> {
    let [volume, filled, drained] = [&input.volume, &input.filled, &input.drained];
    let fields = [("volume", volume), ("filled", filled), ("drained", drained)];
    let read: Vec<Option<f64>> =
        fields.iter().map(|(f, typed)| number(f, typed, 0.0, 1e6)).collect::<Result<_>>()?;
    let height = number("height", &input.height, 0.5, 200.0)?;
    if read.iter().all(Option::is_none) && height.is_none() {
        return Ok(None);
    }
    let [Some(volume), Some(filled), Some(drained)] = read.as_slice() else {
        let problem = "leaves out a figure; write volume, filled and drained, all in mL";
        return Err(AskError::field("pot test", "", problem));
    };
    let Some(height) = height else {
        let problem = "is missing; measure the height of the mix in cm";
        return Err(AskError::field("height", "", problem));
    };
    let test = crate::feed::MixTest { volume: *volume, filled: *filled, drained: *drained, height };
    test.pot_test().result().map_err(|e| AskError::field("pot test", "", e.to_string()))?;
    Ok(Some(json!(test)))
}

/// A price as typed: `9 EUR for 50 L`, `12.50 GBP for 1 kg`.
fn price(typed: &str) -> Result<Option<Value>> {
    let text = typed.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let wrong = || {
        let problem = "is not a price; write what was paid and for how much: 9 EUR for 50 L";
        AskError::field("price", typed, problem)
    };
    let lower = text.to_lowercase();
    let cut = lower.find(" for ").or_else(|| lower.find(" für ")).ok_or_else(wrong)?;
    let (paid, rest) = text.split_at(cut);
    let bought = rest.trim_start().split_once(' ').map(|p| p.1).ok_or_else(wrong)?;
    let end = paid.find(|c: char| !(c.is_ascii_digit() || ".,".contains(c))).unwrap_or(paid.len());
    let amount: f64 = paid[..end].replace(',', ".").parse().map_err(|_| wrong())?;
    let currency = match paid[end..].trim().to_uppercase().as_str() {
        "" => Value::Null,
        "€" => json!("EUR"),
        "£" => json!("GBP"),
        c if c.len() == 3 && c.bytes().all(|b| b.is_ascii_uppercase()) => json!(c),
        _ => return Err(wrong()),
    };
    let read = |dimension| journal::Quantity::read(bought, dimension).ok().map(|q| q.value);
    let (litres, grams) = (read(journal::Dimension::Volume), read(journal::Dimension::Mass));
    if litres.or(grams).is_none_or(|q| q <= 0.0) {
        return Err(wrong());
    }
    Ok(Some(known(vec![
        ("amount", json!(amount)),
        ("currency", currency),
        ("litres", json!(litres)),
        ("grams", json!(if litres.is_some() { None } else { grams })),
    ])))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_reports_and_prices_are_read_as_they_are_written() {
        let feed = |label: &str, at: &str| {
            label_of(&FeedInput { label: label.into(), at: at.into(), ..FeedInput::default() })
        };
        fn label_of(input: &FeedInput) -> Result<Value> {
            label(input)
        }
        for typed in ["13-3-15", "13 – 3 – 15", "13+3+15", "13:3:15"] {
            let read = feed(typed, "100 mg/L 0,7 mS/cm").unwrap();
            assert_eq!((&read["n"], &read["k2o"]), (&json!(13.0), &json!(15.0)), "{typed}");
            assert_eq!(read["at"], json!([100.0, 0.7]));
            assert!(read.get("ca").is_none(), "what is not known is left out: {read}");
        }
        for wrong in ["13-3", "13-3-15-2", "NPK", "60-30-30"] {
            assert!(feed(wrong, "").is_err(), "{wrong}");
        }
        // 17.848 mg/L for one degree, by definition.
        assert!((alkalinity("12,5 °dH").unwrap().unwrap() - 223.1).abs() < 1e-9);
        assert_eq!(alkalinity("220 mg/L").unwrap(), Some(220.0));
        assert_eq!(alkalinity("").unwrap(), None);
        assert_eq!(conductivity("650 µS/cm").unwrap(), Some(0.65));
        let nine = price("9 EUR for 50 L").unwrap().unwrap();
        assert_eq!(nine, json!({"amount": 9.0, "currency": "EUR", "litres": 50.0}));
        let kilo = price("12.50 £ for 1 kg").unwrap().unwrap();
        assert_eq!(kilo, json!({"amount": 12.5, "currency": "GBP", "grams": 1000.0}));
        assert!(price("cheap").is_err() && price("9 EUR").is_err());
    }

    #[test]
    fn more_nitrogen_in_its_forms_than_on_the_label_is_refused() {
        let input = FeedInput {
            label: "13-3-15".to_owned(),
            nitrate: "12".to_owned(),
            urea: "3".to_owned(),
            ..FeedInput::default()
        };
        assert!(label(&input).unwrap_err().to_string().contains("15"));
    }

    #[test]
    fn a_pot_test_is_whole_or_none() {
        let input = |filled: &str, drained: &str| MixInput {
            volume: "600".to_owned(),
            filled: filled.to_owned(),
            drained: drained.to_owned(),
            height: "9".to_owned(),
            ..MixInput::default()
        };
        assert!(test(&MixInput::default()).unwrap().is_none());
        assert!(test(&input("400", "")).is_err());
        assert!(test(&input("400", "450")).is_err(), "more drained than was filled in");
        assert_eq!(test(&input("400", "200")).unwrap().unwrap()["drained"], json!(200.0));
    }
}

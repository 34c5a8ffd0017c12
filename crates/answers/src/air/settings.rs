//! What is said about the air of a place: its hours of light, room, window and limits.

use journal::{Journal, OpId, Reader, SubjectKind};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value, json};

use crate::{
    AskError, Hand, Result,
    acts::plants::{journal_read, write},
};

/// Keys of what is wanted, in the order of the bands of deficit.
pub const PURPOSES: [&str; 4] = ["cuttings", "rooted", "thin", "thick"];

/// What was said about the air of a place; what was not is absent.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct AirSettings {
    /// From which hour of the clock on it is day there.
    pub day_from: Option<f64>,
    /// Until which hour.
    pub day_to: Option<f64>,
    /// For what the air should suit: one of [`PURPOSES`].
    pub wanted: Option<String>,
    /// Volume of the room or cabinet \[m³\].
    pub volume: Option<f64>,
    /// How often its air is renewed \[1/h\].
    pub air_changes: Option<f64>,
    /// The window: `single`, `double`, `coated`, `triple`.
    pub glass: Option<String>,
    /// How cold nights are outside \[°C\].
    pub outside: Option<f64>,
    /// The number of the place whose logger hangs outside.
    pub outside_place: Option<i64>,
    /// Below which temperature an alarm is wanted \[°C\].
    pub cold: Option<f64>,
    /// Above which temperature an alarm is wanted \[°C\].
    pub heat: Option<f64>,
}

/// Below this it is too cold for most plants of warm forests \[°C\]. Common practice, no source.
pub(super) const COLD: f64 = 12.0;
/// Above this leaves and buds suffer \[°C\]. Common practice, no source.
pub(super) const HEAT: f64 = 33.0;

impl AirSettings {
    /// The limit of cold \[°C\]: as said, or 12, common practice.
    #[must_use]
    pub fn cold_limit(&self) -> f64 {
        self.cold.unwrap_or(COLD)
    }

    /// The limit of heat \[°C\]: as said, or 33, common practice.
    #[must_use]
    pub fn heat_limit(&self) -> f64 {
        self.heat.unwrap_or(HEAT)
    }
}

/// What was said about the air of the place of this row.
///
/// # Errors
/// If the record cannot be read.
pub fn settings_of(reader: &Reader<'_>, place: i64) -> Result<AirSettings> {
    let claimed = reader.claimed(place, "air")?;
    let mut said: AirSettings =
        claimed.and_then(|v| serde_json::from_value(v).ok()).unwrap_or_default();
    if said.glass.is_none() {
        // The window may be described with the light of the place.
        let light = reader.claimed(place, "light")?;
        let glass = light.as_ref().and_then(|l| l.get("window")?.get("glass")?.as_str());
        said.glass = glass.filter(|g| WORDS[1].1.contains(g)).map(str::to_owned);
    }
    Ok(said)
}

/// The least and most of each number, with its unit.
const NUMBERS: [(&str, f64, f64, &str); 8] = [
    ("day_from", 0.0, 24.0, "an hour from 0 to 24"),
    ("day_to", 0.0, 24.0, "an hour from 0 to 24"),
    ("volume", 0.01, 10_000.0, "a volume from 0.01 to 10000 m³"),
    ("air_changes", 0.0, 100.0, "air changes an hour from 0 to 100"),
    ("outside", -40.0, 45.0, "a temperature from −40 to 45 °C"),
    ("outside_place", 1.0, 1e9, "the number of a place"),
    ("cold", -10.0, 40.0, "a temperature from −10 to 40 °C"),
    ("heat", 0.0, 60.0, "a temperature from 0 to 60 °C"),
];
const WORDS: [(&str, &[&str]); 2] =
    [("wanted", &PURPOSES), ("glass", &["single", "double", "coated", "triple"])];

/// Says something about the air of a place; an empty text takes back what was said. What is not
/// named stays as it was.
///
/// # Errors
/// If there is no such place, or something typed cannot be read.
pub fn change_settings(
    journal: &Journal,
    hand: &Hand,
    number: i64,
    typed: &[(&str, &str)],
) -> Result<OpId> {
    let (uid, mut all) = journal_read(journal, |r| {
        let row = r.subject_numbered(SubjectKind::Place, number)?.ok_or_else(|| {
            let next = "the list of places shows which there are";
            AskError::NotThere { kind: "place", which: number.to_string(), next }
        })?;
        let claimed = r.claimed(row.id, "air")?;
        Ok((row.uid, claimed.and_then(|v| v.as_object().cloned()).unwrap_or_default()))
    })?;
    for (key, text) in typed {
        set(&mut all, key, text.trim())?;
    }
    let mut draft = hand.draft("describe", &format!("place {number}"));
    draft.claim(uid, "air", Value::Object(all));
    write(journal, draft)
}

fn set(all: &mut Map<String, Value>, key: &str, text: &str) -> Result<()> {
    if text.is_empty() {
        all.remove(key);
        return Ok(());
    }
    if let Some((_, choices)) = WORDS.iter().find(|w| w.0 == key) {
        if !choices.contains(&text) {
            let problem = format!("is not one of {}", choices.join(", "));
            return Err(AskError::field(key, text, problem));
        }
        all.insert(key.to_owned(), json!(text));
        return Ok(());
    }
    let Some((_, least, most, what)) = NUMBERS.iter().find(|n| n.0 == key) else {
        let known: Vec<&str> =
            NUMBERS.iter().map(|n| n.0).chain(WORDS.iter().map(|w| w.0)).collect();
        let problem = format!("is not known; write one of {}", known.join(", "));
        return Err(AskError::field("air", key, problem));
    };
    let plain = text.replace(',', ".").replace('−', "-");
    let hour = plain
        .split_once(':')
        .filter(|_| key.starts_with("day_"))
        .and_then(|(h, m)| Some(h.parse::<f64>().ok()? + m.parse::<f64>().ok()? / 60.0));
    let value = hour.or_else(|| plain.trim_end_matches(['°', 'C', ' ']).parse().ok());
    match value.filter(|v: &f64| (*least..=*most).contains(v)) {
        Some(v) if key == "outside_place" => all.insert(key.to_owned(), json!(v as i64)),
        Some(v) => all.insert(key.to_owned(), json!(v)),
        None => return Err(AskError::field(key, text, format!("is not {what}"))),
    };
    Ok(())
}

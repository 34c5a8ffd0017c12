//! What a grower says about the light of a place, as it is kept and as it is typed.

use std::collections::BTreeMap;

use culture::light::{glass::Glazing, lamp, shelf};
use journal::{Dimension, Quantity, Reader};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::{AskError, Hand, Result};

/// The claim that holds it.
pub(crate) const FIELD: &str = "light";

/// The most lamps that a place may have.
pub const MOST_LAMPS: usize = 12;

/// The light of a place as described.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Described {
    /// From left to right, seen from the front \[cm\].
    pub width: f64,
    /// From back to front \[cm\].
    pub depth: f64,
    /// What stands at its sides.
    #[serde(default)]
    pub walls: Walls,
    /// The window it gets light from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub window: Option<WindowSaid>,
    /// The lamps above it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lamps: Vec<LampSaid>,
}

/// What stands at the sides of a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Walls {
    /// Nothing.
    #[default]
    Open,
    /// Wood.
    Wood,
    /// White paint.
    White,
    /// Reflecting film or mirrors.
    Film,
}

/// A side of the place, seen from the front.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// Behind it.
    #[default]
    Back,
    /// At its left end.
    Left,
    /// At its right end.
    Right,
    /// In front of it.
    Front,
}

/// What is seen through a window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum View {
    /// Open sky down to the horizon.
    Open,
    /// Houses.
    Houses,
    /// Trees.
    Trees,
}

/// A window as described.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WindowSaid {
    /// Where it looks, one of eight points of the compass; none when not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub direction: Option<String>,
    /// Width of the glass \[cm\].
    pub width: f64,
    /// Height of the glass \[cm\].
    pub height: f64,
    /// From the glass to the nearest edge of the place \[cm\].
    pub distance: f64,
    /// The lower edge of the glass above the leaves \[cm\]; negative when the leaves are higher.
    pub sill: f64,
    /// At which side of the place it is.
    #[serde(default)]
    pub side: Side,
    /// The kind of glass: `none`, `single`, `double`, `coated`, `triple`.
    pub glass: String,
    /// Whether a net curtain hangs before it.
    #[serde(default)]
    pub curtain: bool,
    /// What is seen outside; none when not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub view: Option<View>,
    /// Up to which angle houses or trees hide the sky \[°\].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub angle: Option<f64>,
}

/// A lamp as described.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LampSaid {
    /// `white_led`, `plant_bar`, `red_rich` or `sodium`.
    pub kind: String,
    /// Watts at the plug \[W\]; none when not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub watts: Option<f64>,
    /// Photons by its label \[µmol s⁻¹\], where it says so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ppf: Option<f64>,
    /// Width of what shines \[cm\].
    pub width: f64,
    /// Depth of what shines \[cm\].
    pub depth: f64,
    /// Full angle to half brightness of a bulb with a lens \[°\]; none for what shines evenly.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub beam: Option<f64>,
    /// Above the leaves \[cm\].
    pub height: f64,
    /// Its middle from the left \[cm\]; none for the middle of the place.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub x: Option<f64>,
    /// Its middle from the back \[cm\]; none for the middle of the place.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub y: Option<f64>,
    /// Hours a day \[h\].
    pub hours: f64,
    /// Hours a day from April to September, where they differ \[h\].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub summer_hours: Option<f64>,
    /// The day on which it was new, as typed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub new: Option<String>,
    /// Whether it is never wiped.
    #[serde(default)]
    pub dusty: bool,
}

/// Points of the compass.
pub const DIRECTIONS: [&str; 8] =
    ["north", "north_east", "east", "south_east", "south", "south_west", "west", "north_west"];
/// Kinds of glass.
pub const GLASS: [&str; 5] = ["none", "single", "double", "coated", "triple"];
/// Kinds of lamps.
pub const LAMPS: [&str; 4] = ["white_led", "plant_bar", "red_rich", "sodium"];
/// What may stand at the sides.
pub const WALLS: [&str; 4] = ["open", "wood", "white", "film"];
/// Sides of a place.
pub const SIDES: [&str; 4] = ["back", "left", "right", "front"];
/// What is seen outside.
pub const VIEWS: [&str; 3] = ["open", "houses", "trees"];
/// Descriptions to begin with.
pub const PRESETS: [&str; 2] = ["lamp", "window"];

impl WindowSaid {
    /// The direction in degrees from north, clockwise; none when it is not known.
    #[must_use]
    pub fn degrees(&self) -> Option<f64> {
        let direction = self.direction.as_deref()?;
        DIRECTIONS.iter().position(|d| *d == direction).map(|k| k as f64 * 45.0)
    }

    pub(crate) fn glazing(&self) -> Glazing {
        match self.glass.as_str() {
            "none" => Glazing::None,
            "single" => Glazing::Single,
            "coated" => Glazing::LowEmissivityDouble,
            "triple" => Glazing::Triple,
            _ => Glazing::Double,
        }
    }
}

impl LampSaid {
    pub(crate) fn kind(&self) -> lamp::LampKind {
        match self.kind.as_str() {
            "plant_bar" => lamp::LampKind::PlantBar,
            "red_rich" => lamp::LampKind::RedRich,
            "sodium" => lamp::LampKind::HighPressureSodium,
            _ => lamp::LampKind::WhiteLed,
        }
    }

    /// Hours a day in a month \[1 to 12\].
    #[must_use]
    pub fn hours_in(&self, month: usize) -> f64 {
        if (4..=9).contains(&month) { self.summer_hours.unwrap_or(self.hours) } else { self.hours }
    }
}

impl Walls {
    pub(crate) const fn of_shelf(self) -> shelf::Walls {
        match self {
            Self::Open => shelf::Walls::Open,
            Self::Wood => shelf::Walls::Wood,
            Self::White => shelf::Walls::WhitePaint,
            Self::Film => shelf::Walls::Film,
        }
    }
}

impl Described {
    /// One lamp over one shelf: 90 by 40 cm, a bar of 22 W, 30 cm above the leaves, 12 hours.
    /// Common practice, no source; each of them is shown and can be changed.
    #[must_use]
    pub fn one_lamp() -> Self {
        let lamp = LampSaid {
            kind: "plant_bar".to_owned(),
            watts: Some(22.0),
            ppf: None,
            width: 90.0,
            depth: 3.0,
            beam: None,
            height: 30.0,
            x: None,
            y: None,
            hours: 12.0,
            summer_hours: None,
            new: None,
            dusty: false,
        };
        Self { width: 90.0, depth: 40.0, walls: Walls::Open, window: None, lamps: vec![lamp] }
    }

    /// One window: a sill of 120 by 25 cm behind double glass of 110 by 120 cm whose direction and
    /// view are still to be said. Common practice, no source.
    #[must_use]
    pub fn one_window() -> Self {
        let window = WindowSaid {
            direction: None,
            width: 110.0,
            height: 120.0,
            distance: 5.0,
            sill: -15.0,
            side: Side::Back,
            glass: "double".to_owned(),
            curtain: false,
            view: None,
            angle: None,
        };
        Self {
            width: 120.0,
            depth: 25.0,
            walls: Walls::Open,
            window: Some(window),
            lamps: Vec::new(),
        }
    }

    /// The description to begin with of this name.
    #[must_use]
    pub fn preset(name: &str) -> Option<Self> {
        match name {
            "lamp" => Some(Self::one_lamp()),
            "window" => Some(Self::one_window()),
            _ => None,
        }
    }
}

/// A description with the day from which on it holds; none for always.
pub(crate) struct Dated {
    pub described: Described,
    pub from: Option<i64>,
}

/// All descriptions of a place in the order in which they began to hold.
pub(crate) fn history(reader: &Reader<'_>, place: i64) -> Result<Vec<Dated>> {
    let mut out: Vec<Dated> = Vec::new();
    // The oldest first; of two from the same day the one that was written last holds.
    for claim in reader.claims(place, FIELD)?.into_iter().rev().filter(|c| c.live) {
        let Ok(described) = serde_json::from_value::<Described>(claim.value) else { continue };
        let from = claim.as_of.as_ref().and_then(dates::Edtf::earliest);
        let from = from.map(|d| i64::from(dates::to_days(d)));
        out.retain(|d| d.from != from);
        out.push(Dated { described, from });
    }
    out.sort_by_key(|d| d.from);
    Ok(out)
}

/// The description that holds on a day.
pub(crate) fn on_day(history: &[Dated], day: i64) -> Option<&Dated> {
    history.iter().rev().find(|d| d.from.is_none_or(|from| from <= day))
}

/// What was typed about the light of a place: a value for each key.
pub type Typed = BTreeMap<String, String>;

/// What was typed in full: the place with its window, and each lamp.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LightTyped {
    /// `width`, `depth`, `walls`; for a window `window` (its direction, or `unknown`),
    /// `glass_width`, `glass_height`, `distance`, `sill`, `side`, `glass`, `curtain`, `view`,
    /// `angle`. No window where `window` is empty.
    pub place: Typed,
    /// For each lamp `kind`, `watts`, `ppf`, `width`, `depth`, `beam`, `height`, `x`, `y`,
    /// `hours`, `summer_hours`, `new`, `dusty`. None where `kind` is empty.
    pub lamps: Vec<Typed>,
}

fn text<'a>(typed: &'a Typed, key: &str) -> Option<&'a str> {
    typed.get(key).map(|v| v.trim()).filter(|v| !v.is_empty())
}

fn number(
    typed: &Typed,
    key: &str,
    dimension: Option<Dimension>,
    (low, high): (f64, f64),
) -> Result<Option<f64>> {
    let Some(words) = text(typed, key) else { return Ok(None) };
    let field = key.replace('_', " ");
    let value = match dimension {
        Some(d) => Quantity::read(words.trim_start_matches('-'), d)
            .map(|q| if words.starts_with('-') { -q.value } else { q.value })
            .map_err(|e| AskError::field(&field, words, e.to_string()))?,
        None => words
            .trim_end_matches(|c: char| c.is_alphabetic() || "°/²⁻¹ ".contains(c))
            .replace(',', ".")
            .parse()
            .map_err(|_| {
                AskError::field(&field, words, "is not a number; write one, such as 22")
            })?,
    };
    if !(low..=high).contains(&value) {
        let problem = format!("lies outside {low} to {high}; check the number and its unit");
        return Err(AskError::field(&field, words, problem));
    }
    Ok(Some(value))
}

fn length(typed: &Typed, key: &str, range: (f64, f64), usual: f64) -> Result<f64> {
    Ok(number(typed, key, Some(Dimension::Length), range)?.unwrap_or(usual))
}

fn choice(typed: &Typed, key: &str, words: &[&str], usual: &str) -> Result<String> {
    let said = text(typed, key).unwrap_or(usual).to_lowercase().replace([' ', '-'], "_");
    if words.contains(&said.as_str()) {
        return Ok(said);
    }
    let problem = format!("is none of {}; write one of them", words.join(", "));
    Err(AskError::field(&key.replace('_', " "), &said, problem))
}

fn yes(typed: &Typed, key: &str) -> bool {
    matches!(text(typed, key), Some("yes" | "true" | "on" | "ja"))
}

/// A word of a choice as the type that it stands for.
fn word<T: serde::de::DeserializeOwned + Default>(said: String) -> T {
    serde_json::from_value(Value::String(said)).unwrap_or_default()
}

/// Reads a description as typed. What is left open is taken as in the descriptions to begin with.
///
/// # Errors
/// If a number cannot be read or lies outside of what is possible, or a word is not known.
pub fn read_description(typed: &LightTyped, hand: &Hand) -> Result<Described> {
    let place = &typed.place;
    let usual = Described::one_lamp();
    let window = read_window(place)?;
    let (width, depth) = match &window {
        Some(_) => (120.0, 25.0),
        None => (usual.width, usual.depth),
    };
    let width = length(place, "width", (5.0, 1000.0), width)?;
    let depth = length(place, "depth", (5.0, 1000.0), depth)?;
    let mut lamps = Vec::new();
    for lamp in &typed.lamps {
        if text(lamp, "kind").is_some() {
            lamps.push(read_lamp(lamp, (width, depth), hand)?);
        }
    }
    if lamps.len() > MOST_LAMPS {
        let problem = format!("lamps are more than {MOST_LAMPS}; describe rows of lamps as one");
        return Err(AskError::field("lamps", &lamps.len().to_string(), problem));
    }
    Ok(Described {
        width,
        depth,
        walls: word(choice(place, "walls", &WALLS, "open")?),
        window,
        lamps,
    })
}

fn read_window(place: &Typed) -> Result<Option<WindowSaid>> {
    if text(place, "window").is_none() {
        return Ok(None);
    }
    let usual = Described::one_window()
        .window
        .map_or((110.0, 120.0, 5.0, -15.0), |w| (w.width, w.height, w.distance, w.sill));
    let mut directions = DIRECTIONS.to_vec();
    directions.push("unknown");
    let short =
        [("n", 0), ("ne", 1), ("e", 2), ("se", 3), ("s", 4), ("sw", 5), ("w", 6), ("nw", 7)];
    let typed = text(place, "window").unwrap_or_default().to_lowercase();
    let direction = match short.iter().find(|(s, _)| *s == typed) {
        Some((_, k)) => DIRECTIONS[*k].to_owned(),
        None => choice(place, "window", &directions, "unknown")?,
    };
    let mut views = VIEWS.to_vec();
    views.push("unknown");
    let view = choice(place, "view", &views, "unknown")?;
    let view = match view.as_str() {
        "open" => Some(View::Open),
        "houses" => Some(View::Houses),
        "trees" => Some(View::Trees),
        _ => None,
    };
    Ok(Some(WindowSaid {
        direction: Some(direction).filter(|d| d != "unknown"),
        width: length(place, "glass_width", (5.0, 2000.0), usual.0)?,
        height: length(place, "glass_height", (5.0, 1000.0), usual.1)?,
        distance: length(place, "distance", (0.0, 2000.0), usual.2)?,
        sill: length(place, "sill", (-500.0, 500.0), usual.3)?,
        side: word(choice(place, "side", &SIDES, "back")?),
        glass: choice(place, "glass", &GLASS, "double")?,
        curtain: yes(place, "curtain"),
        view,
        angle: number(place, "angle", None, (0.0, 90.0))?,
    }))
}

fn read_lamp(typed: &Typed, (width, depth): (f64, f64), hand: &Hand) -> Result<LampSaid> {
    if let Some(unknown) = typed.keys().find(|k| !LAMP_KEYS.contains(&k.as_str())) {
        let problem = format!("is not known of a lamp; known are {}", LAMP_KEYS.join(", "));
        return Err(AskError::field("lamp", unknown, problem));
    }
    let cm = Some(Dimension::Length);
    let new = match text(typed, "new") {
        Some(words) => Some(crate::acts::read_date(words, hand)?.as_str().to_owned()),
        None => None,
    };
    let beam = number(typed, "beam", None, (5.0, 175.0))?;
    let usual = if beam.is_some() { (6.0, 6.0) } else { (width.min(90.0), 3.0) };
    Ok(LampSaid {
        kind: choice(typed, "kind", &LAMPS, "white_led")?,
        watts: number(typed, "watts", None, (0.1, 3000.0))?,
        ppf: number(typed, "ppf", None, (0.1, 9000.0))?,
        width: length(typed, "width", (0.5, 1000.0), usual.0)?,
        depth: length(typed, "depth", (0.5, 1000.0), usual.1)?,
        beam,
        height: length(typed, "height", (1.0, 1000.0), 30.0)?,
        x: number(typed, "x", cm, (-1000.0, 2.0 * width + 1000.0))?,
        y: number(typed, "y", cm, (-1000.0, 2.0 * depth + 1000.0))?,
        hours: number(typed, "hours", None, (0.0, 24.0))?.unwrap_or(12.0),
        summer_hours: number(typed, "summer_hours", None, (0.0, 24.0))?,
        new,
        dusty: yes(typed, "dusty"),
    })
}

/// What can be said of a lamp.
const LAMP_KEYS: [&str; 13] = [
    "kind",
    "watts",
    "ppf",
    "width",
    "depth",
    "beam",
    "height",
    "x",
    "y",
    "hours",
    "summer_hours",
    "new",
    "dusty",
];

/// A lamp behind an option of the command: `kind=plant_bar,watts=22,width=90,height=26`.
///
/// # Errors
/// If a part is not `key=value`.
pub fn read_lamp_words(words: &str) -> Result<Typed> {
    let mut out = Typed::new();
    for part in words.split(',').map(str::trim).filter(|p| !p.is_empty()) {
        let Some((key, value)) = part.split_once('=') else {
            let problem = "is not of the form key=value; write kind=plant_bar,watts=22,height=26";
            return Err(AskError::field("lamp", part, problem));
        };
        out.insert(key.trim().to_owned(), value.trim().to_owned());
    }
    out.entry("kind".to_owned()).or_insert_with(|| "white_led".to_owned());
    Ok(out)
}

/// A description as it would be typed: what stands in the form.
#[must_use]
pub fn typed_of(d: &Described) -> LightTyped {
    let json = |value: Value| -> Typed {
        let pairs = value.as_object().cloned().unwrap_or_default().into_iter();
        pairs
            .filter_map(|(k, v)| {
                let words = match v {
                    Value::String(s) => s,
                    Value::Bool(true) => "yes".to_owned(),
                    Value::Number(n) => n.as_f64().map(|x| format!("{x}"))?,
                    _ => return None,
                };
                Some((k, words))
            })
            .collect()
    };
    let mut place = json(serde_json::to_value(d).unwrap_or_default());
    if let Some(window) = &d.window {
        let mut said = json(serde_json::to_value(window).unwrap_or_default());
        for (from, to) in
            [("width", "glass_width"), ("height", "glass_height"), ("direction", "window")]
        {
            if let Some(v) = said.remove(from) {
                said.insert(to.to_owned(), v);
            }
        }
        said.entry("window".to_owned()).or_insert_with(|| "unknown".to_owned());
        place.extend(said);
    }
    let lamps = d.lamps.iter().map(|l| json(serde_json::to_value(l).unwrap_or_default())).collect();
    LightTyped { place, lamps }
}

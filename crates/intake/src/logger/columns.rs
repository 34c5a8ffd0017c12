//! What each column holds: by its heading in the languages of loggers, by the units in its cells.

use serde::Serialize;

/// What a column of values holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Channel {
    /// Temperature.
    Temperature,
    /// Relative humidity.
    Humidity,
    /// Illuminance.
    Light,
}

/// Headings of what is passed over though it sounds like a channel: dew point, deficit, absolute
/// humidity, batteries, extremes.
const NOT: [&str; 22] = [
    "dew",
    "tau",
    "rosée",
    "rosee",
    "rocío",
    "rocio",
    "rugiada",
    "dauw",
    "dagg",
    "vpd",
    "deficit",
    "defizit",
    "absolut",
    "g/m",
    "batt",
    "akku",
    "druck",
    "pressure",
    "pression",
    "heat index",
    "feels",
    "wet bulb",
];
const TEMPERATURE: [&str; 8] =
    ["temp", "tempé", "wärme", "lämpö", "celsius", "fahrenheit", "°c", "°f"];
const HUMIDITY: [&str; 14] = [
    "humid", "feucht", "humed", "umid", "vocht", "fukt", "fugt", "hygro", "moisture", "rel. h",
    "relh", "%rh", "% rh", "rh %",
];
const LIGHT: [&str; 8] = ["lux", "light", "licht", "beleucht", "illum", "éclair", "luz", "ljus"];
const TIME: [&str; 14] = [
    "date", "time", "datum", "zeit", "uhr", "fecha", "hora", "heure", "data", "ora", "tijd", "tid",
    "stamp", "horodat",
];

/// Whether a heading speaks of a stamp.
pub(super) fn is_time(heading: &str) -> bool {
    let heading = heading.to_lowercase();
    TIME.iter().any(|w| heading.contains(w))
}

/// The channel that a heading names.
pub(super) fn channel(heading: &str) -> Option<Channel> {
    let heading = heading.to_lowercase().replace('º', "°").replace('℃', "°c").replace('℉', "°f");
    if NOT.iter().any(|w| heading.contains(w)) {
        return None;
    }
    let words: Vec<&str> =
        heading.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).collect();
    let word = |list: &[&str]| words.iter().any(|w| list.contains(w));
    // Minimum and maximum of a step are no reading of it.
    if word(&["min", "max", "minimum", "maximum"]) {
        return None;
    }
    let holds = |list: &[&str]| list.iter().any(|w| heading.contains(w));
    if holds(&HUMIDITY) || word(&["rh", "hr", "rf", "rlf", "lf", "ur", "hum", "h"]) {
        Some(Channel::Humidity)
    } else if holds(&TEMPERATURE) || word(&["t", "t1", "degc", "degf", "c", "f"]) {
        Some(Channel::Temperature)
    } else if holds(&LIGHT) || word(&["lx", "lum"]) {
        Some(Channel::Light)
    } else if heading.trim() == "%" {
        Some(Channel::Humidity)
    } else {
        None
    }
}

/// Whether words name °F (true) or °C (false).
pub(super) fn fahrenheit(words: &str) -> Option<bool> {
    let low = words.to_lowercase().replace('º', "°").replace('℃', "°c").replace('℉', "°f");
    let word = |w: &str| low.split(|c: char| !c.is_alphanumeric()).any(|part| part == w);
    if low.contains("°f")
        || low.contains("° f")
        || low.contains("fahrenheit")
        || word("degf")
        || word("f")
    {
        Some(true)
    } else if low.contains("°c")
        || low.contains("° c")
        || low.contains("celsius")
        || word("degc")
        || word("c")
    {
        Some(false)
    } else {
        None
    }
}

/// The channel that the unit behind a number names.
pub(super) fn channel_of_unit(unit: &str) -> Option<Channel> {
    let low = unit.to_lowercase();
    if low.starts_with('%') {
        Some(Channel::Humidity)
    } else if low.starts_with("lux") || low.starts_with("lx") {
        Some(Channel::Light)
    } else if fahrenheit(unit).is_some() {
        Some(Channel::Temperature)
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_in_the_languages_of_loggers_are_understood() {
        use Channel::{Humidity, Light, Temperature};
        for (heading, expected) in [
            ("Temperature (°C)", Some(Temperature)),
            ("Temp. [°F]", Some(Temperature)),
            ("Température", Some(Temperature)),
            ("Lufttemperatur", Some(Temperature)),
            ("T", Some(Temperature)),
            ("Relative Luftfeuchte %", Some(Humidity)),
            ("Humedad relativa", Some(Humidity)),
            ("Umidità", Some(Humidity)),
            ("RH", Some(Humidity)),
            ("%rF", Some(Humidity)),
            ("Vochtigheid", Some(Humidity)),
            ("Beleuchtungsstärke (lx)", Some(Light)),
            ("Light", Some(Light)),
            ("Dew point (°C)", None),
            ("Taupunkt °C", None),
            ("VPD (kPa)", None),
            ("Absolute humidity g/m³", None),
            ("Battery %", None),
            ("Temp max", None),
            ("No.", None),
            ("Date", None),
        ] {
            assert_eq!(channel(heading), expected, "{heading}");
        }
        assert!(is_time("Datum/Uhrzeit") && is_time("Timestamp") && !is_time("RH"));
        assert_eq!(fahrenheit("Temp (°F)"), Some(true));
        assert_eq!(fahrenheit("Temperature, degC"), Some(false));
        assert_eq!(fahrenheit("Temperature"), None);
        assert_eq!(channel_of_unit("%RH"), Some(Humidity));
    }
}

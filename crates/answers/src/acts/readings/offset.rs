//! How far a logger is off: by another beside it, or by damp cooking salt.

use culture::air::SaltTest;
use journal::{Journal, OpId, Reader, SubjectKind, Uid};
use serde::Serialize;
use serde_json::{Map, Value, json};

use super::place_of;
use crate::{
    AskError, Hand, Result,
    acts::plants::{journal_read, write},
};

/// How close in time two readings must be to be compared \[s\].
const CLOSE: i64 = 900;
/// The least time side by side \[h\]; common practice.
const LEAST: f64 = 24.0;
/// How far apart readings are whose errors are taken as independent \[h\]: sensors drift slowly
/// against each other, so that 144 readings of a day are not 144 comparisons. Common practice.
const INDEPENDENT: f64 = 3.0;

/// Two loggers that lay side by side.
#[derive(Debug, Clone, PartialEq)]
pub struct LoggerPair {
    /// Place and name of the logger that is compared.
    pub logger: (i64, String),
    /// Place and name of the one that is trusted.
    pub against: (i64, String),
    /// From \[s since 1970 UTC\].
    pub from: i64,
    /// Up to and with \[s since 1970 UTC\].
    pub to: i64,
}

/// What has to be added to the readings of a logger.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Corrected {
    /// To temperatures \[K\], with its standard deviation.
    pub temperature: Option<(f64, f64)>,
    /// To relative humidities \[% points\], with its standard deviation.
    pub humidity: Option<(f64, f64)>,
    /// How it was found: `side_by_side` or `salt`.
    pub how: &'static str,
    /// The logger that it was compared with.
    pub against: Option<String>,
    /// Hours side by side.
    pub hours: Option<f64>,
    /// How many readings were compared.
    pub readings: usize,
}

/// A logger in a closed box beside damp cooking salt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SaltReading {
    /// The humidity it showed after some hours \[%\].
    pub humidity: f64,
    /// The temperature in the box \[°C\].
    pub temperature: f64,
}

fn side(
    reader: &Reader<'_>,
    (place, name): &(i64, String),
    pair: &LoggerPair,
) -> Result<Vec<journal::Timed>> {
    let row = place_of(reader, *place)?;
    if !reader.loggers(row.id)?.iter().any(|l| l.name == *name) {
        let next = "the page of the place names its loggers";
        return Err(AskError::NotThere { kind: "logger", which: name.clone(), next });
    }
    Ok(reader.readings(row.id, name, pair.from, pair.to)?)
}

/// Compares two loggers reading by reading.
///
/// The offset is the mean difference; its uncertainty counts one comparison for every three
/// hours, since the errors of neighbouring readings are alike.
///
/// # Errors
/// When one of them is not there, or they lay side by side for less than 24 hours.
pub fn compare_loggers(journal: &Journal, pair: &LoggerPair) -> Result<Corrected> {
    if pair.logger == pair.against {
        return Err(AskError::field(
            "against",
            &pair.against.1,
            "is the same logger; name the other",
        ));
    }
    let (ours, theirs) = journal_read(journal, |r| {
        Ok((side(r, &pair.logger, pair)?, side(r, &pair.against, pair)?))
    })?;
    let (mut warm, mut humid) = (Vec::new(), Vec::new());
    let mut covered = 0.0;
    let mut last: Option<i64> = None;
    for one in &ours {
        let at = theirs.partition_point(|t| t.reading.time < one.reading.time);
        let near = [at.checked_sub(1), Some(at)];
        let near = near.into_iter().flatten().filter_map(|i| theirs.get(i));
        let Some(other) = near.min_by_key(|t| (t.reading.time - one.reading.time).abs()) else {
            continue;
        };
        if (other.reading.time - one.reading.time).abs() > CLOSE {
            continue;
        }
        let step = last.map_or(0, |l| one.reading.time - l);
        covered += if step <= 7200 { step as f64 / 3600.0 } else { 0.0 };
        last = Some(one.reading.time);
        let pairs = [
            (&mut warm, other.reading.temperature, one.reading.temperature),
            (&mut humid, other.reading.humidity, one.reading.humidity),
        ];
        for (list, theirs, ours) in pairs {
            list.extend(theirs.zip(ours).map(|(t, o)| t - o));
        }
    }
    if covered < LEAST - 1e-9 {
        let problem = format!(
            "lay beside it for {covered:.0} hours; at least {LEAST:.0} are needed for an offset"
        );
        return Err(AskError::field("logger", &pair.logger.1, problem));
    }
    let independent = (covered / INDEPENDENT).max(2.0);
    let readings = warm.len().max(humid.len());
    let mean = |list: &[f64]| {
        let n = list.len() as f64;
        let mean = list.iter().sum::<f64>() / n;
        let spread = (list.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
        (list.len() >= 8).then(|| (mean, spread / independent.min(n).sqrt()))
    };
    Ok(Corrected {
        temperature: mean(&warm),
        humidity: mean(&humid),
        how: "side_by_side",
        against: Some(pair.against.1.clone()),
        hours: Some(covered),
        readings,
    })
}

/// The offset of a logger by its reading beside damp cooking salt; the humidity alone.
///
/// # Errors
/// When a number is out of range.
pub fn salt_test(reading: SaltReading) -> Result<Corrected> {
    // A reading of a display is taken as exact to a point and a half.
    let test = SaltTest::new(reading.humidity, reading.temperature, 1.5)
        .map_err(|e| AskError::field("salt test", &e.value.to_string(), e.to_string()))?;
    Ok(Corrected {
        humidity: Some((test.offset, test.sd)),
        how: "salt",
        readings: 1,
        ..Corrected::default()
    })
}

/// Keeps an offset as a claim, wherever a logger of this name recorded; readings are corrected by
/// it from then on, and it can be undone.
///
/// # Errors
/// When no place has such a logger.
pub fn correct(journal: &Journal, hand: &Hand, logger: &str, found: &Corrected) -> Result<OpId> {
    let places: Vec<(Uid, Map<String, Value>)> = journal_read(journal, |r| {
        let mut out = Vec::new();
        for row in r.all_loggers()?.into_iter().filter(|l| l.name == logger) {
            let Some(place) = r.subject_by_id(row.place)? else { continue };
            if place.kind == SubjectKind::Place {
                let claimed = r.claimed(row.place, "loggers")?;
                out.push((
                    place.uid,
                    claimed.and_then(|v| v.as_object().cloned()).unwrap_or_default(),
                ));
            }
        }
        Ok(out)
    })?;
    if places.is_empty() {
        let next = "the page of a place names its loggers";
        return Err(AskError::NotThere { kind: "logger", which: logger.to_owned(), next });
    }
    let mut draft = hand.draft("correct_logger", logger);
    for (uid, mut all) in places {
        let mut own = all.get(logger).and_then(|v| v.as_object().cloned()).unwrap_or_default();
        let round = |x: f64| (x * 1000.0).round() / 1000.0;
        for (key, told) in [("temperature", found.temperature), ("humidity", found.humidity)] {
            if let Some((value, sd)) = told {
                own.insert(key.to_owned(), json!(round(value)));
                own.insert(format!("{key}_sd"), json!(round(sd)));
            }
        }
        own.insert("how".to_owned(), json!(found.how));
        own.insert("against".to_owned(), json!(found.against));
        own.insert("hours".to_owned(), json!(found.hours.map(round)));
        own.retain(|_, v| !v.is_null());
        all.insert(logger.to_owned(), Value::Object(own));
        draft.claim(uid, "loggers", Value::Object(all));
    }
    write(journal, draft)
}

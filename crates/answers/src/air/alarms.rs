//! What wants looking at: a logger that went silent or stands still, cold, heat, dew to come.

use journal::{LoggerRow, PlaceRow, Reader, SubjectKind};

use super::{place_air, settings_of};
use crate::{
    Hand, Result,
    due::{About, Due},
    said::day_words,
};

/// Days without a reading after which a logger is called silent; common practice.
const SILENT: i64 = 14;
/// How many days back an alarm reaches.
const RECENT: i64 = 3;
/// Hours a day without change that are worth a line.
const FLAT: f64 = 6.0;

/// Lines about the air of all places.
///
/// # Errors
/// If the record cannot be read.
pub(crate) fn due(reader: &Reader<'_>, hand: &Hand) -> Result<Vec<Due>> {
    let loggers = reader.all_loggers()?;
    let mut out = Vec::new();
    for place in reader.places()? {
        let here: Vec<&LoggerRow> = loggers.iter().filter(|l| l.place == place.id).collect();
        if here.is_empty() {
            continue;
        }
        for logger in &here {
            out.extend(logger_line(reader, &place, logger, hand)?);
        }
        out.extend(temperatures(reader, &place, hand)?);
        let settings = settings_of(reader, place.id)?;
        let today = hand.today_number();
        let fresh = here.iter().any(|l| today - l.last / 86_400 <= RECENT);
        if settings.glass.is_some() && fresh {
            out.extend(dew_line(reader, &place, hand)?);
        }
    }
    Ok(out)
}

/// A line about a place; `which` tells alarms of one kind apart.
fn line(place: &PlaceRow, which: &str, day: i64, text: String, reason: String) -> Due {
    let about = About { kind: SubjectKind::Place, number: place.number };
    Due {
        group: "Air",
        // Each day's alarm is one of its own: dealing with it does not silence the next.
        key: format!("{which} {day}"),
        about,
        day,
        until: None,
        text,
        reason,
        named: vec![(about, place.name.clone())],
        done: Vec::new(),
        put_off: None,
    }
}

fn logger_line(
    reader: &Reader<'_>,
    place: &PlaceRow,
    logger: &LoggerRow,
    hand: &Hand,
) -> Result<Option<Due>> {
    let t = hand.texts();
    let (today, last) = (hand.today_number(), logger.last / 86_400);
    if today - last > SILENT {
        // A logger that was put away months ago is no news.
        if today - last > 6 * SILENT {
            return Ok(None);
        }
        let text = t.f("Read the logger {logger} at {}", &[("logger", &logger.name), ("", &"{}")]);
        let reason = t.f("no reading since {day}", &[("day", &day_words(last, hand))]);
        let which = format!("silent {}", logger.name);
        return Ok(Some(line(place, &which, last + SILENT, text, reason)));
    }
    let rows = reader.air_days(place.id, last - 1, last)?;
    let flat: f64 = rows.iter().filter(|r| r.logger == logger.name).map(|r| r.flat_hours).sum();
    if flat < FLAT {
        return Ok(None);
    }
    let text = t.f("Look at the logger {logger} at {}", &[("logger", &logger.name), ("", &"{}")]);
    let reason = t.f(
        "it showed the same for {n} hours up to {day}",
        &[("n", &format!("{flat:.0}")), ("day", &day_words(last, hand))],
    );
    Ok(Some(line(place, &format!("flat {}", logger.name), last, text, reason)))
}

/// Cold and heat of the last days.
fn temperatures(reader: &Reader<'_>, place: &PlaceRow, hand: &Hand) -> Result<Vec<Due>> {
    let t = hand.texts();
    let today = hand.today_number();
    let settings = settings_of(reader, place.id)?;
    let rows = reader.air_days(place.id, today - RECENT, today)?;
    let mut out = Vec::new();
    let cold = rows.iter().filter_map(|r| Some((r.coldest?, r.day)));
    let cold = cold.filter(|c| c.0 < settings.cold_limit()).min_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((degrees, day)) = cold {
        let reason = t.f(
            "{degrees} °C on {day}, below {limit}",
            &[
                ("degrees", &format!("{degrees:.1}")),
                ("day", &day_words(day, hand)),
                ("limit", &settings.cold_limit()),
            ],
        );
        out.push(line(place, "cold", day, t.t("It was too cold at {}").to_owned(), reason));
    }
    let heat = rows.iter().filter_map(|r| Some((r.warmest?, r.day)));
    let heat = heat.filter(|c| c.0 > settings.heat_limit()).max_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((degrees, day)) = heat {
        let reason = t.f(
            "{degrees} °C on {day}, above {limit}",
            &[
                ("degrees", &format!("{degrees:.1}")),
                ("day", &day_words(day, hand)),
                ("limit", &settings.heat_limit()),
            ],
        );
        out.push(line(place, "heat", day, t.t("It was too hot at {}").to_owned(), reason));
    }
    Ok(out)
}

fn dew_line(reader: &Reader<'_>, place: &PlaceRow, hand: &Hand) -> Result<Option<Due>> {
    let t = hand.texts();
    let Some(dew) = place_air(reader, place.number, hand)?.dew.filter(|d| d.tonight >= 0.5) else {
        return Ok(None);
    };
    let text = t.t("Dew is expected on the glass at {}").to_owned();
    let reason = t.f("on {n} of the last {of} nights", &[("n", &dew.nights), ("of", &dew.of)]);
    Ok(Some(line(place, "dew", hand.today_number(), text, reason)))
}

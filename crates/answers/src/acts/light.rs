//! The light of a place described, plants put on their spots, and what is known of the house.

use journal::{Change, Journal, Known, OpId, Uid};
use serde_json::{Map, json};

use super::{
    plants::{journal_read, need_plant, write},
    read_date,
};
use crate::{
    AskError, Hand, Result,
    light::{self, LightTyped},
};

/// Describes the light of a place: its size, its window and its lamps. The description holds from
/// `since` on (as typed); left open, the first one holds always and a later one from today.
///
/// # Errors
/// If there is no such place or something typed cannot be read.
pub fn describe_light(
    journal: &Journal,
    hand: &Hand,
    place: i64,
    typed: &LightTyped,
    since: &str,
) -> Result<OpId> {
    let described = light::read_description(typed, hand)?;
    let value = serde_json::to_value(&described)
        .map_err(|e| AskError::field("light", "as typed", e.to_string()))?;
    let (subject, first) = journal_read(journal, |r| {
        let row = light::need_place(r, place)?;
        Ok((row.uid, r.claimed(row.id, light::FIELD)?.is_none()))
    })?;
    let as_of = match (since.trim(), first) {
        ("", true) => None,
        (typed, _) => Some(read_date(typed, hand)?),
    };
    let mut draft = hand.draft("describe_light", &format!("place {place}"));
    draft.push(Change::Claim {
        uid: Uid::new(),
        subject,
        field: light::FIELD.to_owned(),
        value,
        as_of,
        said_by: None,
        reason: None,
        known: Known::Seen,
    });
    write(journal, draft)
}

/// Says where on a place plants stand: number and spot, in centimetres from the left and from the
/// back or in words. Each becomes an entry of today.
///
/// # Errors
/// If the place has no size yet, a plant is not there, or a spot cannot be read or lies outside.
pub fn put_on_spots(
    journal: &Journal,
    hand: &Hand,
    place: i64,
    spots: &[(i64, String)],
) -> Result<OpId> {
    let moves: Vec<(i64, i64, String)> =
        spots.iter().map(|(plant, spot)| (*plant, place, spot.clone())).collect();
    put(journal, hand, &format!("place {place}"), &moves)
}

/// Puts plants on spots of several places, as one step: plant, place, spot.
///
/// # Errors
/// Those of [`put_on_spots`].
pub fn put_at_places(journal: &Journal, hand: &Hand, moves: &[(i64, i64, String)]) -> Result<OpId> {
    let mut places: Vec<i64> = moves.iter().map(|m| m.1).collect();
    places.sort_unstable();
    places.dedup();
    let words: Vec<String> = places.iter().map(ToString::to_string).collect();
    put(journal, hand, &format!("place {}", words.join(", ")), moves)
}

fn put(journal: &Journal, hand: &Hand, about: &str, moves: &[(i64, i64, String)]) -> Result<OpId> {
    let draft = journal_read(journal, |r| {
        let mut draft = hand.draft("put", about);
        for (number, place, spot) in moves {
            let row = light::need_place(r, *place)?;
            let value = r.claimed(row.id, light::FIELD)?.unwrap_or_default();
            let Ok(described) = serde_json::from_value::<light::Described>(value) else {
                return Err(AskError::NotThere {
                    kind: "size of place",
                    which: place.to_string(),
                    next: "describe its light first, with its width and depth",
                });
            };
            let plant = need_plant(r, *number)?;
            if light::read_spot(spot, described.width, described.depth).is_none() {
                let problem = format!(
                    "is no spot on a place of {} × {} cm; write centimetres from the left and from the back, such as 40, 15, or words such as left front",
                    described.width, described.depth
                );
                return Err(AskError::field("spot", spot, problem));
            }
            let mut detail = Map::new();
            detail.insert("place".to_owned(), json!(row.uid.to_string()));
            detail.insert("spot".to_owned(), json!(spot.trim()));
            let today = dates::Edtf::from_day(hand.today);
            draft.entry(plant.uid, "placed", today, Known::Seen, detail, None);
        }
        Ok(draft)
    })?;
    if draft.is_empty() {
        return Err(AskError::field("spots", "", "names no plant; write a spot beside one"));
    }
    write(journal, draft)
}

/// What is known of the house, as typed: none to leave it as it is, empty to forget it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct HouseTyped {
    /// Latitude \[° north\].
    pub latitude: Option<String>,
    /// Longitude \[° east\].
    pub longitude: Option<String>,
    /// Price of a kilowatt-hour with its currency, such as `0.32 EUR`.
    pub price: Option<String>,
}

/// Sets what is known of the house. It belongs to this house, not to the record, and is not undone.
///
/// # Errors
/// If a number cannot be read or lies outside its range.
pub fn set_house(journal: &Journal, typed: &HouseTyped) -> Result<()> {
    let read = |typed: &Option<String>, as_one: &dyn Fn(&str) -> Result<String>| {
        typed.as_deref().map(as_one).transpose()
    };
    let kept = [
        ("latitude", read(&typed.latitude, &|v| angle("latitude", v, 90.0, ["n", "s"]))?),
        ("longitude", read(&typed.longitude, &|v| angle("longitude", v, 180.0, ["e", "w"]))?),
        ("price_per_kwh", read(&typed.price, &price_kept)?),
    ];
    for (key, value) in kept {
        if let Some(value) = value {
            journal.set_setting(key, &value)?;
        }
    }
    Ok(())
}

/// A price as it is kept; empty stays empty.
fn price_kept(words: &str) -> Result<String> {
    if words.trim().is_empty() {
        return Ok(String::new());
    }
    let Some((amount, currency)) = price_of(words) else {
        let problem = "is not a price; write the amount for a kilowatt-hour and the currency, such as 0.32 EUR";
        return Err(AskError::field("price of a kilowatt-hour", words, problem));
    };
    Ok(format!("{amount} {currency}").trim().to_owned())
}

/// An angle in degrees, with a sign or a letter for its side; empty stays empty.
fn angle(field: &str, typed: &str, most: f64, sides: [&str; 2]) -> Result<String> {
    let words = typed.trim().to_lowercase().replace('°', "").replace(',', ".");
    if words.is_empty() {
        return Ok(String::new());
    }
    let side = words.trim_end_matches(char::is_whitespace).chars().last().map(String::from);
    let negative = side.as_deref() == Some(sides[1]);
    let number = words.trim_end_matches(|c: char| c.is_alphabetic() || c.is_whitespace());
    let value: f64 = number.trim().parse().map_err(|_| {
        AskError::field(field, typed, "is not an angle; write degrees, such as 52.4 or 33.9 S")
    })?;
    let value = if negative { -value } else { value };
    if value.abs() > most {
        let problem =
            format!("lies outside −{most} to {most}; write degrees, south and west negative");
        return Err(AskError::field(field, typed, problem));
    }
    Ok(format!("{value}"))
}

/// Amount and currency of a price as typed.
pub(crate) fn price_of(words: &str) -> Option<(f64, String)> {
    let words = words.trim();
    let symbol = words.chars().find(|c| "€£$".contains(*c));
    let kept: String = words.chars().filter(|c| !"€£$".contains(*c)).collect();
    let end = kept
        .trim()
        .find(|c: char| !(c.is_ascii_digit() || ".,".contains(c)))
        .unwrap_or(kept.trim().len());
    let (number, rest) = kept.trim().split_at(end);
    let amount: f64 = number.replace(',', ".").parse().ok()?;
    let currency = match symbol {
        Some('€') => "EUR".to_owned(),
        Some('£') => "GBP".to_owned(),
        Some(_) => "USD".to_owned(),
        None => rest.trim().to_uppercase(),
    };
    let sound = (currency.is_empty() || currency.chars().count() == 3)
        && amount.is_finite()
        && (0.0..1000.0).contains(&amount);
    sound.then_some((amount, currency))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prices_and_angles_are_read_as_people_write_them() {
        let euro = |x: f64| Some((x, "EUR".to_owned()));
        assert_eq!(price_of("0,32 €"), euro(0.32));
        assert_eq!(price_of("0.32 eur"), euro(0.32));
        assert_eq!(price_of("£0.28"), Some((0.28, "GBP".to_owned())));
        assert_eq!(price_of("cheap"), None);
        let read = |text: &str| angle("latitude", text, 90.0, ["n", "s"]);
        assert_eq!(read("52,4° N").unwrap(), "52.4");
        assert_eq!(read("33.9 S").unwrap(), "-33.9");
        assert_eq!(read("-12").unwrap(), "-12");
        assert_eq!(read("").unwrap(), "");
        assert!(read("91").unwrap_err().to_string().contains("lies outside"));
        assert!(read("north").is_err());
    }
}

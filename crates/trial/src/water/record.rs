//! A simulated house as a record.

use dates::Edtf;
use jiff::{Timestamp, civil::Date};
use journal::{Draft, Journal, Known, SubjectKind, Uid};
use serde_json::{Map, Value, json};

use super::House;

/// Names of the species, in turn.
const SPECIES: [&str; 12] = [
    "Peperomia caperata",
    "Begonia bowerae",
    "Dischidia hirsuta",
    "Aeschynanthus parvifolius",
    "Streptocarpus rexii",
    "Peperomia obtusifolia",
    "Begonia luxurians",
    "Dischidia nummularia",
    "Aeschynanthus speciosus",
    "Streptocarpus cyaneus",
    "Peperomia prostrata",
    "Begonia venosa",
];

/// Writes a house into a record: places, plants with clone, name and place, one operation for each,
/// and one for the entries of each day. Air and light of places are not written; they are the
/// [`House`]'s. The first plant of an empty record has number 1, and so on.
///
/// # Errors
/// Those of writing an operation; the operations before it have been written then.
pub fn write_house(journal: &Journal, house: &House) -> Result<(), journal::Error> {
    let first = house.world.first_day;
    let mut places = Vec::new();
    for index in 1..=house.places.len() {
        let mut draft = begin("add", &format!("place {index}"), first);
        let uid = draft.create(SubjectKind::Place, None);
        draft.claim(uid, "name", json!(format!("spot {index}")));
        journal.write(&draft.finish())?;
        places.push(uid);
    }
    let mut plants = Vec::new();
    for pot in &house.pots {
        let name = SPECIES[pot.species % SPECIES.len()];
        let mut draft = begin("add", name, first);
        let clone = draft.create(SubjectKind::Clone, None);
        let plant = draft.create(SubjectKind::Plant, None);
        draft.claim(plant, "clone", json!(clone.to_string()));
        let genus = name.split(' ').next();
        draft.claim(clone, "name", json!({"text": name, "normal": name, "genus": genus}));
        let came = Edtf::from_day(date(pot.potted));
        draft.entry(plant, "arrived", came.clone(), Known::Remembered, Map::new(), None);
        let place = Map::from_iter([("place".to_owned(), json!(places[pot.place].to_string()))]);
        draft.entry(plant, "placed", came, Known::Remembered, place, None);
        journal.write(&draft.finish())?;
        plants.push(plant);
    }
    let days = house.written.chunk_by(|a, b| a.day == b.day);
    for day in days {
        let when = day[0].day.max(first);
        let mut draft = begin("log", "the round", when);
        for w in day {
            let uid: Uid = plants[w.plant];
            let detail: Map<String, Value> = w.detail.clone();
            draft.entry(uid, w.kind, Edtf::from_day(date(w.day)), Known::Seen, detail, None);
        }
        journal.write(&draft.finish())?;
    }
    Ok(())
}

fn date(day: i64) -> Date {
    i32::try_from(day).ok().and_then(dates::from_days).unwrap_or(Date::ZERO)
}

/// An operation in the evening of a day.
fn begin(act: &str, about: &str, day: i64) -> Draft {
    let at = Timestamp::from_second(day * 86_400 + 68_000).unwrap_or(Timestamp::UNIX_EPOCH);
    Draft::new(act, about, crate::grower(), "bench", at)
}

//! Readings of loggers: kept, read back, undone, and what the days of a place follow from.

use journal::{
    AirReading, Block, Change, Correction, Error, Journal, NewRefused, NewSeries, RefusedLine, Uid,
};
use serde_json::json;

use crate::house::{act, agrees, now, open, place};

const START: i64 = 1_760_000_000;

/// Readings every ten minutes that rise and fall.
fn readings(start: i64, count: usize) -> Vec<AirReading> {
    // What is read at an instant does not depend on the block that holds it.
    let before = (start - START) / 600;
    (before..before + count as i64)
        .map(|i| {
            let x = i as f64;
            let round = |v: f64| (v * 1000.0).round() / 1000.0;
            AirReading {
                time: START + 600 * i,
                temperature: Some(round(21.0 + 3.0 * (x / 23.0).sin())),
                humidity: Some(round(60.0 + 9.0 * (x / 31.0).cos())),
                light: (i % 3 == 0).then_some(100.0),
            }
        })
        .collect()
}

/// A change with some readings of a logger.
pub fn some(place: Uid, logger: &str, start: i64, count: usize) -> Change {
    Change::Series(NewSeries {
        uid: Uid::new(),
        subject: place,
        logger: logger.to_owned(),
        origin: "=hygro.csv".to_owned(),
        block: Block::pack(&readings(start, count), 3600).unwrap(),
    })
}

/// A logger with 5,000 readings and two lines that were not taken, at a place of its own.
pub fn hang_logger(journal: &Journal) -> Uid {
    let uid = place(journal, "glass cabinet");
    act(journal, "readings", |d| {
        d.push(some(uid, "+north", START, 4096));
        d.push(some(uid, "+north", START + 600 * 4096, 904));
        let line =
            |row, text: &str| RefusedLine { row, why: "no_time".to_owned(), text: text.to_owned() };
        d.push(Change::Refused(NewRefused {
            uid: Uid::new(),
            subject: uid,
            logger: "+north".to_owned(),
            origin: "=hygro.csv".to_owned(),
            lines: vec![line(7, "=1+1;--"), line(9, "\"battery\"")],
        }));
    });
    uid
}

fn id(journal: &Journal, place: Uid) -> i64 {
    journal.read(|r| Ok(r.subject(place)?.unwrap().id)).unwrap()
}

fn all(journal: &Journal, place: Uid, logger: &str) -> Vec<AirReading> {
    let id = id(journal, place);
    let list = journal.read(|r| r.readings(id, logger, i64::MIN, i64::MAX)).unwrap();
    list.into_iter().map(|t| t.reading).collect()
}

#[test]
fn readings_come_back_and_the_days_follow_from_them() {
    let (_folder, journal) = open();
    let uid = hang_logger(&journal);
    assert!(all(&journal, uid, "+north") == readings(START, 5000));
    let id = id(&journal, uid);
    let (rows, refused) =
        journal.read(|r| Ok((r.air_days(id, 0, 40_000)?, r.refused(id)?))).unwrap();
    // 5,000 readings of ten minutes are 34.7 days.
    assert_eq!(rows.len(), 36);
    assert_eq!(refused[0].lines.len(), 2);
    let middle = &rows[10];
    assert!((middle.hours - 24.0).abs() < 1e-9 && middle.flat_hours == 0.0, "{middle:?}");
    // The slow and obvious way: the readings of that day, each with its neighbours' weight.
    let of_day: Vec<AirReading> = readings(START, 5000)
        .into_iter()
        .filter(|r| (r.time + 3600).div_euclid(86_400) == middle.day)
        .collect();
    assert_eq!(of_day.len(), 144);
    let mean = of_day.iter().map(|r| r.temperature.unwrap()).sum::<f64>() / 144.0;
    // The first reading is not at midnight, so that the edges differ by a part of a step.
    assert!((middle.temperature.unwrap() - mean).abs() < 0.02, "{mean} {middle:?}");
    let lowest = of_day.iter().map(|r| r.temperature.unwrap()).fold(f64::INFINITY, f64::min);
    assert_eq!(middle.coldest, Some(lowest));
    agrees(&journal);
}

#[test]
fn an_import_undone_takes_its_days_along_and_redone_brings_them_back() {
    let (_folder, journal) = open();
    let uid = hang_logger(&journal);
    let before = journal.projection_text().unwrap();
    let more = act(&journal, "readings", |d| {
        d.push(some(uid, "+north", START + 600 * 5000, 300));
        d.push(some(uid, "south", START, 300));
    });
    let id = id(&journal, uid);
    let count = |j: &Journal| j.read(|r| Ok(r.air_days(id, 0, 40_000)?.len())).unwrap();
    let with = count(&journal);
    assert!(with > 36);
    let by = journal.undo(more.id, false, "Ines", "bench", now()).unwrap().by;
    assert_eq!((count(&journal), all(&journal, uid, "south").len()), (36, 0));
    let derived = |text: &str| -> Vec<String> {
        let of = |l: &&str| l.contains("air_day") || l.contains("\"logger\"");
        text.lines().filter(of).map(str::to_owned).collect()
    };
    assert_eq!(derived(&journal.projection_text().unwrap()), derived(&before));
    agrees(&journal);
    journal.undo(by, false, "Ines", "bench", now()).unwrap();
    assert_eq!(count(&journal), with);
    agrees(&journal);
}

#[test]
fn of_two_blocks_with_the_same_instants_the_first_made_holds() {
    let (_folder, journal) = open();
    let uid = place(&journal, "sill");
    let first = some(uid, "north", START, 200);
    let mut other = readings(START + 600 * 100, 200);
    for r in &mut other {
        r.temperature = Some(30.0 + (r.time % 7) as f64);
    }
    let second = Change::Series(NewSeries {
        uid: Uid::new(),
        subject: uid,
        logger: "north".to_owned(),
        origin: "later.csv".to_owned(),
        block: Block::pack(&other, 3600).unwrap(),
    });
    // Written in the other order, as when two machines are joined.
    act(&journal, "readings", |d| d.push(second));
    act(&journal, "readings", |d| d.push(first));
    let found = all(&journal, uid, "north");
    assert_eq!(found.len(), 300);
    assert_eq!(found[..200], readings(START, 200)[..]);
    assert_eq!(found[200..], other[100..]);
    agrees(&journal);
}

#[test]
fn a_correction_is_added_to_the_days_and_not_to_the_readings() {
    let (_folder, journal) = open();
    let uid = hang_logger(&journal);
    let id = id(&journal, uid);
    let day = |j: &Journal| j.read(|r| Ok(r.air_days(id, 0, 40_000)?[10].clone())).unwrap();
    let before = day(&journal);
    let claim = act(&journal, "correct", |d| {
        d.claim(uid, "loggers", json!({"+north": {"temperature": -0.5, "humidity": 4.0}}));
    });
    let after = day(&journal);
    assert!((after.temperature.unwrap() - before.temperature.unwrap() + 0.5).abs() < 1e-9);
    assert!((after.humidity.unwrap() - before.humidity.unwrap() - 4.0).abs() < 1e-9);
    assert!(after.deficit.unwrap() < before.deficit.unwrap());
    assert!(all(&journal, uid, "+north") == readings(START, 5000));
    let row = journal.read(|r| Ok(r.loggers(id)?[0].clone())).unwrap();
    assert_eq!(row.correction, Correction { temperature: -0.5, humidity: 4.0 });
    agrees(&journal);
    journal.undo(claim.id, false, "Ines", "bench", now()).unwrap();
    assert_eq!(day(&journal), before);
    agrees(&journal);
}

#[test]
fn readings_of_what_is_no_place_or_lies_ahead_are_refused() {
    let (_folder, journal) = open();
    let keeper = crate::house::keeper(&journal, "Tansy");
    let mut d = crate::house::draft("readings", "x");
    d.push(some(keeper, "north", START, 5));
    let error = journal.write(&d.finish()).unwrap_err().to_string();
    assert!(error.contains("a keeper has no logger"), "{error}");
    let uid = place(&journal, "sill");
    let ahead = now().as_second() + 3 * 86_400;
    let mut d = crate::house::draft("readings", "x");
    d.push(some(uid, "north", ahead, 5));
    let error = journal.write(&d.finish()).unwrap_err().to_string();
    assert!(error.contains("lies after"), "{error}");
    let mut d = crate::house::draft("readings", "x");
    d.push(some(uid, " ", START, 5));
    assert!(journal.write(&d.finish()).unwrap_err().to_string().contains("without a name"));
}

#[test]
fn a_damaged_block_is_found_and_named() {
    let (_folder, journal) = open();
    let uid = hang_logger(&journal);
    assert!(journal.doctor().unwrap().sound());
    let conn = rusqlite::Connection::open(journal.path()).unwrap();
    let sql = "UPDATE series SET packed = CAST(substr(packed, 1, 99) || x'EE' || substr(packed, 101) AS BLOB)
               WHERE count = 904";
    assert_eq!(conn.execute(sql, []).unwrap(), 1);
    drop(conn);
    let health = journal.doctor().unwrap();
    assert!(!health.sound());
    assert_eq!(health.damaged_readings.len(), 1);
    assert!(health.damaged_readings[0].contains("+north"), "{:?}", health.damaged_readings);
    let id = id(&journal, uid);
    let error = journal.read(|r| r.readings(id, "+north", i64::MIN, i64::MAX)).unwrap_err();
    assert!(matches!(error, Error::Readings { .. }), "{error}");
    // What lies in sound blocks is still read.
    let until = START + 600 * 4000;
    assert_eq!(journal.read(|r| r.readings(id, "+north", START, until)).unwrap().len(), 4001);
}

#[test]
fn what_stands_beside_a_block_must_be_what_it_holds() {
    let (_folder, journal) = open();
    hang_logger(&journal);
    let conn = rusqlite::Connection::open(journal.path()).unwrap();
    assert_eq!(
        conn.execute("UPDATE series SET last = last + 600 WHERE count = 904", []).unwrap(),
        1
    );
    drop(conn);
    assert_eq!(journal.doctor().unwrap().damaged_readings.len(), 1);
}

#[test]
fn a_place_that_is_taken_back_takes_its_readings_along() {
    let (_folder, journal) = open();
    let mut d = crate::house::draft("add", "shelf");
    let uid = d.create(journal::SubjectKind::Place, None);
    d.claim(uid, "name", json!("shelf"));
    let made = d.finish();
    journal.write(&made).unwrap();
    act(&journal, "readings", |d| d.push(some(uid, "north", START, 300)));
    let alone = journal.undo(made.id, false, "Ines", "bench", now());
    assert!(matches!(alone, Err(Error::RestsOn(ref list)) if list.len() == 1));
    journal.undo(made.id, true, "Ines", "bench", now()).unwrap();
    assert_eq!(journal.read(|r| r.all_loggers()).unwrap(), []);
    agrees(&journal);
}

//! Files of loggers taken in, and the air of a place.

use std::collections::BTreeMap;

use answers::{
    AskError, acts,
    acts::{LoggerPair, Look, ReadingsInput, SaltReading, Taken},
    air::{DayState, LEAST_DAYS, LitHow, PlaceAir, change_settings, place_air},
    climate, due,
};
use jiff::{Timestamp, tz::TimeZone};
use journal::Journal;

use crate::house::{hand, open};

/// 2025-10-25T00:00Z: four weeks before the day after the hand's today.
const START: i64 = 1_761_350_400;
const DAYS: i64 = 28;

/// A file with a reading every half hour; hour of the clock, temperature, humidity by `air`.
fn file(days: std::ops::Range<i64>, air: impl Fn(i64, f64) -> Option<(f64, f64)>) -> String {
    let mut out = "time,temperature °C,humidity %\n".to_owned();
    for day in days {
        for half in 0..48 {
            let hour = half as f64 / 2.0;
            let time = Timestamp::from_second(START + 86_400 * day + 1800 * half).unwrap();
            if let Some((warm, humid)) = air(day, hour) {
                out.push_str(&format!("{time},{warm:.2},{humid:.2}\n"));
            }
        }
    }
    out
}

/// Warm dry days and cool moist nights; never twice the same.
fn usual(day: i64, hour: f64) -> Option<(f64, f64)> {
    let jitter = ((day * 48) as f64 + hour * 2.0).sin() * 0.1;
    let by_day = (7.0..19.0).contains(&hour);
    let (warm, humid) = if by_day { (24.0, 50.0) } else { (19.0, 75.0) };
    Some((warm + jitter, humid + jitter))
}

fn place(journal: &Journal, name: &str) -> i64 {
    acts::add_place(journal, &hand(), name).unwrap().1
}

fn look(journal: &Journal, place: i64, logger: &str, text: &str) -> Look {
    let input = ReadingsInput {
        place,
        logger: logger.to_owned(),
        file: "hygro.csv",
        bytes: text.as_bytes(),
        answers: BTreeMap::new(),
        zone: TimeZone::UTC,
        lines: None,
    };
    acts::look_at_readings(journal, &hand(), &input).unwrap()
}

fn take(journal: &Journal, place: i64, logger: &str, text: &str) -> Taken {
    acts::take_readings(journal, &hand(), &look(journal, place, logger, text)).unwrap()
}

fn air(journal: &Journal, place: i64) -> PlaceAir {
    journal.read(|r| Ok(place_air(r, place, &hand()).unwrap())).unwrap()
}

fn words(air: &PlaceAir) -> String {
    let sentence = |s: &Vec<answers::Bit>| s.iter().map(|b| b.text.as_str()).collect::<String>();
    air.sentences.iter().map(sentence).collect::<Vec<_>>().join(" ")
}

#[test]
fn the_same_file_twice_adds_nothing_and_one_undo_takes_it_back() {
    let (_folder, journal) = open();
    let sill = place(&journal, "sill");
    let text = file(0..DAYS - 1, usual);
    let first = take(&journal, sill, "", &text);
    assert_eq!((first.new, first.before, first.refused), (1296, 0, 0));
    let again = take(&journal, sill, "", &text);
    assert_eq!((again.op, again.new, again.before), (None, 0, 1296));
    // A longer file adds what is new of it, however it is written.
    let longer = take(&journal, sill, "", &file(0..DAYS, usual).replace(',', " ,"));
    assert_eq!((longer.new, longer.before), (48, 1296));
    assert_eq!(air(&journal, sill).loggers[0].readings, 1344);
    let hand = hand();
    for op in [longer.op.unwrap(), first.op.unwrap()] {
        journal.undo(op, true, &hand.who, &hand.device, hand.now).unwrap();
    }
    assert!(air(&journal, sill).loggers.is_empty());
    journal.rebuild().unwrap();
}

#[test]
fn nonsense_is_counted_by_kind_and_its_lines_can_be_seen_again() {
    let (_folder, journal) = open();
    let sill = place(&journal, "sill");
    let mut rows: Vec<String> = file(0..4, usual).lines().map(str::to_owned).collect();
    // A spike of one reading, a value that cannot be, a line of words.
    let spoiled = rows[50].rsplit_once("Z,").unwrap().0.to_owned();
    rows[50] = format!("{spoiled}Z,59.0,75.0");
    rows.insert(90, "2025-10-26T23:15:00Z,-127,40".to_owned());
    rows.insert(100, "*** battery ***".to_owned());
    // The reader takes half hours: a jump within them must be of 48 K to be one.
    let dense: Vec<String> = (0..40)
        .map(|i| {
            let time = Timestamp::from_second(START + 20 * 86_400 + 60 * i).unwrap();
            let warm = if i == 20 { 45.0 } else { 21.0 + i as f64 / 100.0 };
            format!("{time},{warm:.2},60")
        })
        .collect();
    rows.extend(dense);
    let found = look(&journal, sill, "", &rows.join("\n"));
    let kinds: BTreeMap<&str, usize> =
        found.refused_by_kind.iter().map(|(k, n)| (k.as_str(), *n)).collect();
    assert_eq!(kinds["impossible"], 1);
    assert_eq!(kinds["no_reading"], 1);
    assert_eq!(kinds["spike"], 1);
    let taken = acts::take_readings(&journal, &hand(), &found).unwrap();
    assert_eq!(taken.refused, 3);
    let kept = journal
        .read(|r| {
            let id = r.place(sill)?.unwrap().id;
            r.refused(id)
        })
        .unwrap();
    assert_eq!(kept[0].lines, found.refused);
    assert!(kept[0].lines.iter().any(|l| l.text == "*** battery ***" && l.row == 101));
    // The other value of the impossible line was taken.
    assert_eq!(found.read.readings.iter().filter(|r| r.temperature.is_none()).count(), 1);
}

#[test]
fn an_open_question_keeps_a_file_out() {
    let (_folder, journal) = open();
    let sill = place(&journal, "sill");
    let text = "time,temp C,rh\n05/06/2025 10:00,20,50\n05/06/2025 11:00,21,51\n";
    let found = look(&journal, sill, "", text);
    assert_eq!((found.new, found.read.open()), (0, 1));
    let error = acts::take_readings(&journal, &hand(), &found).unwrap_err();
    assert!(matches!(&error, AskError::Field { field, .. } if field == "date_order"), "{error}");
    // Of several loggers one has to be named.
    take(&journal, sill, "a", &file(0..1, usual));
    take(&journal, sill, "b", &file(0..1, usual));
    let input = ReadingsInput {
        place: sill,
        logger: String::new(),
        file: "x",
        bytes: text.as_bytes(),
        answers: BTreeMap::new(),
        zone: TimeZone::UTC,
        lines: None,
    };
    let error = acts::look_at_readings(&journal, &hand(), &input).unwrap_err().to_string();
    assert!(error.contains("a, b"), "{error}");
}

#[test]
fn what_was_answered_for_a_logger_is_not_asked_again() {
    let (_folder, journal) = open();
    let (sill, bench) = (place(&journal, "sill"), place(&journal, "bench"));
    let file = |hour: u32| {
        format!("time,temp C,rh\n05/06/2025 {hour}:00,20,50\n05/06/2025 {hour}:30,21,51\n")
    };
    let first = file(10);
    let answers = |order: &str| [("date_order".to_owned(), order.to_owned())].into();
    let input = ReadingsInput {
        place: sill,
        logger: String::new(),
        file: "June.csv",
        bytes: first.as_bytes(),
        answers: answers("day_first"),
        zone: TimeZone::UTC,
        lines: None,
    };
    let found = acts::look_at_readings(&journal, &hand(), &input).unwrap();
    acts::take_readings(&journal, &hand(), &found).unwrap();
    let next = look(&journal, sill, "", &file(12));
    assert_eq!((next.new, next.read.open()), (2, 0));
    // 5 June 2025, 12:00 UTC.
    assert_eq!(next.span.unwrap().from, 1_749_124_800);
    // It can be answered otherwise, and another logger is asked about.
    let other = file(14);
    let input = ReadingsInput { bytes: other.as_bytes(), answers: answers("month_first"), ..input };
    let changed = acts::look_at_readings(&journal, &hand(), &input).unwrap();
    assert_eq!(changed.span.unwrap().from, 1_746_540_000);
    assert_eq!(look(&journal, bench, "", &file(10)).read.open(), 1);
    // Undoing the file takes the answer back as well.
    let op = journal.read(|r| r.operations(1)).unwrap()[0].uid;
    journal.undo(op, false, "Ines", "bench", hand().now).unwrap();
    assert_eq!(look(&journal, sill, "", &file(12)).read.open(), 1);
}

#[test]
fn day_and_night_are_told_apart_with_what_is_wanted() {
    let (_folder, journal) = open();
    let sill = place(&journal, "sill");
    let nothing = air(&journal, sill);
    assert!(words(&nothing).contains("not enough yet") && nothing.by_day.is_none());
    take(&journal, sill, "", &file(0..4, usual));
    assert_eq!(air(&journal, sill).valued, 4);
    assert!(air(&journal, sill).by_day.is_none(), "fewer than {LEAST_DAYS} days are no profile");
    take(&journal, sill, "", &file(4..DAYS, usual));
    let found = air(&journal, sill);
    // The last day ends at its last reading, half an hour before midnight: 27 or 28 days have 20 h.
    assert!(found.valued >= 27, "{}", found.valued);
    let (day, night) = (found.by_day.unwrap(), found.by_night.unwrap());
    // The slow way: deficit of a leaf 1 K cooler by day, as warm by night.
    let es = |t: f64| 0.6108 * (17.27 * t / (t + 237.3)).exp();
    let by_day = es(23.0) - 0.50 * es(24.0);
    let by_night = es(19.0) - 0.75 * es(19.0);
    // The half hours between day and night run from the one to the other: within 3 %.
    assert!((day.value / by_day - 1.0).abs() < 0.03, "{} {by_day}", day.value);
    assert!((night.value / by_night - 1.0).abs() < 0.06, "{} {by_night}", night.value);
    assert!(day.lower < day.value && day.value < day.upper);
    assert!(found.lit.how == LitHow::Assumed && found.basis.iter().any(|b| b.contains("7 to 19")));
    assert_eq!(found.drier, found.valued, "1.3 kPa is drier than 1.0");
    assert!(words(&found).contains("drier than wanted"));
}

#[test]
fn a_machine_is_told_by_the_room_and_says_its_cautions() {
    let (_folder, journal) = open();
    let sill = place(&journal, "sill");
    take(&journal, sill, "", &file(0..DAYS, usual));
    assert!(air(&journal, sill).machine.is_none());
    let set = |typed: &[(&str, &str)]| change_settings(&journal, &hand(), sill, typed).unwrap();
    set(&[("volume", "30"), ("air_changes", "0,5"), ("wanted", "thin")]);
    let found = air(&journal, sill);
    let m = found.machine.unwrap();
    // 30 m³ at half a change: 15 m³ an hour, from the air as it is to the middle of the band.
    let es = |t: f64| 0.6108 * (17.27 * t / (t + 237.3)).exp();
    let vapour = |e: f64| 2167.0 * e / (24.0 + 273.15);
    let wanted = es(23.0) - 0.75;
    let litres = 15.0 * 24.0 * (vapour(wanted) - vapour(0.5 * es(24.0))) / 1000.0;
    assert!((m.litres.value / litres - 1.0).abs() < 0.02, "{} {litres}", m.litres.value);
    assert!(m.litres.lower < litres && litres < m.litres.upper && m.size.is_none());
    assert!(found.cautions.iter().any(|c| c.0 == "White dust."), "{:?}", found.cautions);
    // Far too moist a room wants water taken out, with a size and its warming.
    let moist = place(&journal, "cabinet");
    let wet = |d: i64, h: f64| usual(d, h).map(|(t, h)| (t, h.min(75.0) + 22.0));
    let all = |d: i64, h: f64| wet(d, h).map(|(t, _)| (t, 95.0 + (d as f64 + h).sin()));
    take(&journal, moist, "", &file(0..DAYS, all));
    change_settings(&journal, &hand(), moist, &[("volume", "30")]).unwrap();
    let found = air(&journal, moist);
    let m = found.machine.unwrap();
    assert!(m.litres.value < 0.0 && m.size.is_some() && m.warming.unwrap() > 0.0, "{m:?}");
    assert!(!found.cautions.iter().any(|c| c.0 == "White dust."));
    assert!(found.cautions.iter().any(|c| c.0 == "Water and lamps."));
}

#[test]
fn what_is_said_about_the_air_is_checked_and_can_be_taken_back() {
    let (_folder, journal) = open();
    let sill = place(&journal, "sill");
    let set = |typed: &[(&str, &str)]| change_settings(&journal, &hand(), sill, typed);
    for (key, value) in [
        ("volume", "large"),
        ("glass", "stained"),
        ("cold", "80"),
        ("colour", "red"),
        ("day_to", "25"),
    ] {
        assert!(set(&[(key, value)]).is_err(), "{key}={value}");
    }
    set(&[("day_from", "6:30"), ("day_to", "20"), ("cold", "14 °C")]).unwrap();
    let found = air(&journal, sill);
    assert_eq!((found.lit.from, found.lit.to, found.lit.how), (6.5, 20.0, LitHow::Said));
    assert_eq!(found.settings.cold_limit(), 14.0);
    set(&[("cold", "")]).unwrap();
    assert_eq!(air(&journal, sill).settings.cold_limit(), 12.0);
}

#[test]
fn day_is_by_the_lamps_or_the_sun_where_they_are_known() {
    let (_folder, journal) = open();
    let sill = place(&journal, "sill");
    take(&journal, sill, "", &file(0..DAYS, usual));
    journal.set_setting("latitude", "51.48").unwrap();
    journal.set_setting("longitude", "0").unwrap();
    let lit = air(&journal, sill).lit;
    // Greenwich on 7 November by the almanac, from memory: 07:05 to 16:23, to some minutes.
    assert_eq!(lit.how, LitHow::Sun);
    assert!((lit.from - 7.08).abs() < 0.15 && (lit.to - 16.38).abs() < 0.15, "{lit:?}");
    let uid = journal.read(|r| Ok(r.place(sill)?.unwrap().uid)).unwrap();
    let mut draft = hand().draft("describe", "place 1");
    draft.claim(uid, "light", serde_json::json!({"lamps": [{"hours": 12}, {"hours": 13.5}]}));
    journal.write(&draft.finish()).unwrap();
    let lit = air(&journal, sill).lit;
    assert_eq!((lit.from, lit.to, lit.how), (7.0, 20.5, LitHow::Lamps));
}

#[test]
fn dew_on_the_glass_is_told_from_window_and_outside() {
    let (_folder, journal) = open();
    let sill = place(&journal, "sill");
    take(&journal, sill, "", &file(0..DAYS, usual));
    assert!(air(&journal, sill).dew.is_none());
    let set = |typed: &[(&str, &str)]| change_settings(&journal, &hand(), sill, typed).unwrap();
    // 19 °C and 75 %: dew point 14.5 °C. A single pane at −5 °C outside is at 1.5 °C: wet all night.
    set(&[("glass", "single"), ("outside", "-5")]);
    let wet = air(&journal, sill).dew.unwrap();
    assert!((wet.hours_a_week.value - 84.0).abs() < 6.0, "{wet:?}");
    assert!(wet.tonight > 0.9 && wet.nights == wet.of && !wet.measured);
    assert!(words(&air(&journal, sill)).contains("tonight, almost certainly"));
    // A triple pane at 5 °C is at 17.9 °C: dry.
    set(&[("glass", "triple"), ("outside", "5")]);
    let dry = air(&journal, sill).dew.unwrap();
    assert!(dry.hours_a_week.upper < 0.25 && dry.tonight < 0.1, "{dry:?}");
    // A logger outside tells it hour by hour.
    let outside = place(&journal, "balcony");
    take(
        &journal,
        outside,
        "",
        &file(0..DAYS, |d, h| Some((-5.0 + (d as f64 + h).sin(), 80.0 + h / 10.0))),
    );
    set(&[("glass", "single"), ("outside", ""), ("outside_place", &outside.to_string())]);
    let told = air(&journal, sill).dew.unwrap();
    assert!(told.measured && told.outside < -5.0, "{told:?}");
    // By day 24 °C at 50 % has its dew point at 12.9 °C, above the pane at 2.9 °C as well.
    assert!((told.hours_a_week.value - 168.0).abs() < 8.0, "{told:?}");
}

#[test]
fn a_logger_that_stands_still_is_left_out_and_told() {
    let (_folder, journal) = open();
    let sill = place(&journal, "sill");
    let still =
        |d: i64, h: f64| if (10..14).contains(&d) { Some((21.4, 58.0)) } else { usual(d, h) };
    let text = file(0..DAYS, |d, h| if d == 20 { None } else { still(d, h) });
    assert_eq!(look(&journal, sill, "", &text).flat.len(), 1);
    take(&journal, sill, "", &text);
    let found = air(&journal, sill);
    let state = |day: i64| found.days.iter().find(|d| d.day == START / 86_400 + day).unwrap().state;
    assert_eq!(
        [state(11), state(12), state(20), state(9)],
        [DayState::Flat, DayState::Flat, DayState::None, DayState::Enough]
    );
    assert!(found.gaps.iter().any(|g| g.contains("did not change")), "{:?}", found.gaps);
    assert!(found.gaps.iter().any(|g| g.contains("without a record")));
}

#[test]
fn two_loggers_side_by_side_tell_an_offset_that_is_applied() {
    let (_folder, journal) = open();
    let sill = place(&journal, "sill");
    take(&journal, sill, "good", &file(0..DAYS, usual));
    take(
        &journal,
        sill,
        "off",
        &file(0..DAYS, |d, h| usual(d, h).map(|(t, r)| (t + 0.8, r - 5.0))),
    );
    let pair = LoggerPair {
        logger: (sill, "off".to_owned()),
        against: (sill, "good".to_owned()),
        from: START,
        to: START + 3 * 86_400,
    };
    let found = acts::compare_loggers(&journal, &pair).unwrap();
    let (warm, warm_sd) = found.temperature.unwrap();
    let (humid, humid_sd) = found.humidity.unwrap();
    assert!((warm + 0.8).abs() < 0.01 && (humid - 5.0).abs() < 0.01, "{found:?}");
    assert!(warm_sd < 0.05 && humid_sd < 0.05);
    let op = acts::correct(&journal, &hand(), "off", &found).unwrap();
    let day = START / 86_400 + 5;
    let rows = |j: &Journal| {
        j.read(|r| {
            let id = r.place(sill)?.unwrap().id;
            r.air_days(id, day, day)
        })
        .unwrap()
    };
    let (good, off) = (rows(&journal)[0].clone(), rows(&journal)[1].clone());
    // To a thousandth, as offsets are kept.
    assert!((good.deficit.unwrap() - off.deficit.unwrap()).abs() < 2e-3, "{good:?} {off:?}");
    let hand = hand();
    journal.undo(op, false, &hand.who, &hand.device, hand.now).unwrap();
    assert!(
        (rows(&journal)[1].temperature.unwrap() - good.temperature.unwrap() - 0.8).abs() < 1e-2
    );
    // Half a day is too short.
    let short = LoggerPair { to: START + 40_000, ..pair.clone() };
    assert!(
        acts::compare_loggers(&journal, &short).unwrap_err().to_string().contains("at least 24")
    );
    let same = LoggerPair { against: pair.logger.clone(), ..pair };
    assert!(acts::compare_loggers(&journal, &same).is_err());
}

#[test]
fn damp_salt_tells_the_offset_of_the_humidity_alone() {
    let found = acts::salt_test(SaltReading { humidity: 71.3, temperature: 25.0 }).unwrap();
    let (offset, sd) = found.humidity.unwrap();
    // 75.3 % at 25 °C: Greenspan 1977, from memory.
    assert!((offset - 4.0).abs() < 1e-9 && sd > 1.0 && found.temperature.is_none());
    assert!(acts::salt_test(SaltReading { humidity: 20.0, temperature: 25.0 }).is_err());
    let (_folder, journal) = open();
    assert!(acts::correct(&journal, &hand(), "nowhere", &found).is_err());
}

#[test]
fn the_climate_of_a_place_comes_from_its_loggers() {
    let (_folder, journal) = open();
    let sill = place(&journal, "sill");
    take(&journal, sill, "", &file(0..DAYS, usual));
    let from = START / 86_400;
    let days = journal
        .read(|r| {
            let id = r.place(sill)?.unwrap().id;
            Ok(climate::days(r, id, from - 1, from + 5).unwrap())
        })
        .unwrap();
    assert_eq!((days.len(), days[0].temperature), (7, None));
    assert!((days[3].temperature.unwrap() - 21.5).abs() < 0.1, "{:?}", days[3]);
    assert!(days[3].deficit.unwrap() > 0.5);
}

#[test]
fn what_wants_looking_at_stands_among_the_lines_of_today() {
    let (_folder, journal) = open();
    let keys = |j: &Journal| -> Vec<(i64, String)> {
        let lines = j.read(|r| Ok(due::due(r, &hand()).unwrap())).unwrap();
        // The last word of a key is the day of its alarm.
        let what = |key: &str| key.rsplit_once(' ').map(|k| k.0.trim().to_owned()).unwrap();
        lines.iter().filter(|l| l.group == "Air").map(|l| (l.about.number, what(&l.key))).collect()
    };
    let fine = place(&journal, "sill");
    take(&journal, fine, "", &file(0..DAYS - 1, usual));
    assert_eq!(keys(&journal), []);
    let cold = place(&journal, "cold frame");
    take(&journal, cold, "", &file(0..DAYS - 1, |d, h| usual(d, h).map(|(t, r)| (t - 9.0, r))));
    let hot = place(&journal, "attic");
    take(&journal, hot, "", &file(0..DAYS - 1, |d, h| usual(d, h).map(|(t, r)| (t + 12.0, r))));
    let silent = place(&journal, "cellar");
    take(&journal, silent, "", &file(0..8, usual));
    let flat = place(&journal, "cabinet");
    let still = |d: i64, h: f64| if d > 24 { Some((21.4, 58.0)) } else { usual(d, h) };
    take(&journal, flat, "", &file(0..DAYS - 1, still));
    let expected =
        [(cold, "cold"), (hot, "heat"), (silent, "silent logger"), (flat, "flat logger")]
            .map(|k| (k.0, k.1.to_owned()));
    let mut found = keys(&journal);
    found.sort_unstable();
    assert_eq!(found, expected);
    change_settings(&journal, &hand(), cold, &[("cold", "5")]).unwrap();
    assert!(
        !keys(&journal).contains(&(cold, "cold".to_owned())),
        "the limit can be changed by place"
    );
    change_settings(&journal, &hand(), fine, &[("glass", "single"), ("outside", "-5")]).unwrap();
    assert!(keys(&journal).contains(&(fine, "dew".to_owned())));
}

/// `cargo test --release -p answers -- --ignored --nocapture million`: reading, looking at and
/// writing a file of a million readings into an empty record takes 5 s at most, and what the pages
/// ask of ten years at ten places stays quick.
#[test]
#[ignore = "a measurement, for a release build"]
fn a_million_readings_are_taken_in_within_five_seconds() {
    use std::{fmt::Write as _, time::Instant};
    let mut text = "time,temperature °C,humidity %\n".to_owned();
    for i in 0..1_000_000i64 {
        let time = Timestamp::from_second(START - 600 * (1_000_000 - i)).unwrap();
        let x = i as f64;
        let (warm, humid) = (21.0 + 4.0 * (x / 23.0).sin(), 60.0 + 20.0 * (x / 31.0).cos());
        let _ = writeln!(text, "{time},{warm:.2},{humid:.2}");
    }
    let (_folder, journal) = open();
    let sill = place(&journal, "sill");
    let began = Instant::now();
    let found = look(&journal, sill, "", &text);
    let looked = began.elapsed();
    let taken = acts::take_readings(&journal, &hand(), &found).unwrap();
    let written = began.elapsed();
    assert_eq!(taken.new, 1_000_000);
    println!(
        "{} MB of text: looked at in {looked:?}, written after {written:?}",
        text.len() / 1_000_000
    );
    let size = std::fs::metadata(journal.path()).unwrap().len();
    println!("record {} MB", size / 1_000_000);
    assert!(written.as_secs_f64() <= 5.0, "{written:?}");

    // Nine further places with ten years of ten minutes each.
    let years = text.lines().skip(1_000_000 - 525_600).collect::<Vec<_>>().join("\n");
    let years = format!("time,temperature °C,humidity %\n{years}");
    for n in 0..9 {
        let other = place(&journal, &format!("place {n}"));
        take(&journal, other, "", &years);
    }
    let began = Instant::now();
    let days = journal
        .read(|r| {
            let mut n = 0;
            for p in r.places()? {
                n += climate::days(r, p.id, START / 86_400 - 3650, START / 86_400).unwrap().len();
            }
            Ok(n)
        })
        .unwrap();
    println!("{days} days of climate read in {:?}", began.elapsed());
    let began = Instant::now();
    let lines = journal.read(|r| Ok(due::due(r, &hand()).unwrap())).unwrap();
    println!("{} lines of Today in {:?}", lines.len(), began.elapsed());
    let began = Instant::now();
    let found = air(&journal, sill);
    println!("air of a place, {} days with a value, in {:?}", found.valued, began.elapsed());
    let began = Instant::now();
    assert!(journal.doctor().unwrap().sound());
    println!("looked over in {:?}", began.elapsed());
}

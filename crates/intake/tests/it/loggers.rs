//! Files in the habits of many makers, each with its truth: the same two days of readings written
//! in every way, and what each way adds to them.

use std::collections::BTreeMap;

use intake::{Channel, LoggerFile, LoggerOptions, ReadError, StampKind, Why, read_logger};
use jiff::{Timestamp, civil::DateTime, tz::TimeZone};
use proptest::prelude::*;

fn berlin() -> TimeZone {
    TimeZone::get("Europe/Berlin").unwrap()
}

fn options(answers: &[(&str, &str)]) -> LoggerOptions {
    let mut options = LoggerOptions::new(berlin());
    options.answers =
        answers.iter().map(|(k, v)| ((*k).to_owned(), (*v).to_owned())).collect::<BTreeMap<_, _>>();
    options
}

fn read(text: &str, answers: &[(&str, &str)]) -> LoggerFile {
    read_logger(text.as_bytes(), "logger.csv", &options(answers)).unwrap()
}

/// A reading of the truth: the clock in Berlin, °C, %.
#[derive(Clone, Copy)]
struct Truth {
    civil: DateTime,
    time: i64,
    warm: f64,
    humid: f64,
}

/// Two days, a reading each half hour, from 2025-11-20 to 21; decimals that every way can write.
fn truth() -> Vec<Truth> {
    let start: DateTime = "2025-11-20T00:00".parse().unwrap();
    (0..96i32)
        .map(|i| {
            let civil = start + jiff::ToSpan::minutes(30 * i64::from(i));
            let time = civil.to_zoned_datetime(berlin()).unwrap().timestamp().as_second();
            let warm = 18.0 + f64::from(i % 13) * 0.5;
            Truth { civil, time, warm, humid: 50.0 + f64::from(i % 17) }
        })
        .collect()
}

fn written(header: &str, row: impl Fn(usize, &Truth) -> String) -> String {
    let rows: Vec<String> = truth().iter().enumerate().map(|(i, t)| row(i, t)).collect();
    format!("{header}{}\n", rows.join("\n"))
}

/// Every reading is there, in order, with its values to a thousandth.
fn agrees(found: &LoggerFile) {
    let expected = truth();
    assert_eq!(found.open(), 0, "{:?}", found.questions);
    assert_eq!(found.readings.len(), expected.len(), "{:?}", found.refused);
    for (r, t) in found.readings.iter().zip(&expected) {
        assert_eq!(r.time, t.time, "line {}", r.row);
        assert!((r.temperature.unwrap() - t.warm).abs() < 6e-4, "line {}: {r:?}", r.row);
        assert!((r.humidity.unwrap() - t.humid).abs() < 6e-4, "line {}: {r:?}", r.row);
        assert_eq!(r.east, 3600);
    }
    assert_eq!((found.step, found.gaps.len()), (Some(1800), 0));
}

fn comma(x: f64) -> String {
    format!("{x:.1}").replace('.', ",")
}

fn fahrenheit(c: f64) -> f64 {
    c * 1.8 + 32.0
}

#[test]
fn plain_iso_with_commas() {
    let text = written("timestamp,temperature_c,humidity_pct\n", |_, t| {
        format!("{},{:.1},{:.0}", t.civil.strftime("%Y-%m-%d %H:%M:%S"), t.warm, t.humid)
    });
    let found = read(&text, &[]);
    agrees(&found);
    assert_eq!((found.delimiter, found.stamps, found.header), (',', StampKind::YearFirst, Some(1)));
    assert!(found.refused.is_empty());
}

#[test]
fn iso_with_an_offset_that_is_respected() {
    let text = written("time;temp °C;rh\n", |_, t| {
        let instant = Timestamp::from_second(t.time).unwrap();
        let tokyo = instant.to_zoned_datetime(TimeZone::get("Asia/Tokyo").unwrap());
        format!("{};{:.1};{:.0}", tokyo.strftime("%Y-%m-%dT%H:%M:%S%:z"), t.warm, t.humid)
    });
    agrees(&read(&text, &[]));
}

#[test]
fn german_words_semicolons_decimal_commas_and_lines_above() {
    let header = "Datenlogger Messprotokoll\nSeriennummer: 00417\n\nDatum/Uhrzeit;Temperatur [°C];rel. Feuchte [%];Taupunkt [°C]\n";
    let text = written(header, |_, t| {
        format!("{};{};{};9,9", t.civil.strftime("%d.%m.%Y %H:%M"), comma(t.warm), comma(t.humid))
    });
    let found = read(&text, &[]);
    agrees(&found);
    assert!(found.decimal_comma);
    assert_eq!((found.header, found.above, found.stamps), (Some(4), 2, StampKind::DayFirst));
    assert_eq!(found.columns[3].channel, None, "the dew point is passed over");
}

#[test]
fn american_dates_twelve_hours_and_fahrenheit() {
    let text = written("\"No.\",\"Date Time, GMT+01:00\",\"Temp, °F\",\"RH, %\"\n", |i, t| {
        let stamp = t.civil.strftime("%m/%d/%y %I:%M:%S %p");
        format!("{},{stamp},{:.3},{:.1}", i + 1, fahrenheit(t.warm), t.humid)
    });
    let found = read(&text, &[]);
    agrees(&found);
    assert_eq!((found.stamps, found.fahrenheit), (StampKind::MonthFirst, Some(true)));
}

#[test]
fn seconds_since_1970() {
    let text = written("epoch,t,h\n", |_, t| format!("{},{:.2},{:.2}", t.time, t.warm, t.humid));
    let found = read(&text, &[]);
    agrees(&found);
    assert_eq!(found.stamps, StampKind::Unix);
}

#[test]
fn milliseconds_since_1970_with_light() {
    let text = written("time,temp,hum,lux\n", |i, t| {
        format!("{}000,{:.2},{:.2},{}", t.time, t.warm, t.humid, i * 100)
    });
    let found = read(&text, &[]);
    agrees(&found);
    assert_eq!(found.readings[95].light, Some(9500.0));
}

#[test]
fn serial_numbers_of_a_spreadsheet() {
    let text = written("Zeit\tTemp °C\tFeuchte %\n", |_, t| {
        let days = f64::from(t.civil.date().day()) - 20.0 + 45_981.0;
        let part = f64::from(t.civil.hour()) / 24.0 + f64::from(t.civil.minute()) / 1440.0;
        format!(
            "{}\t{}\t{}",
            format!("{:.6}", days + part).replace('.', ","),
            comma(t.warm),
            comma(t.humid)
        )
    });
    let found = read(&text, &[]);
    agrees(&found);
    assert_eq!((found.stamps, found.delimiter), (StampKind::Serial, '\t'));
}

#[test]
fn date_and_time_in_two_columns_in_french() {
    let text = written("N°;Date;Heure;Température (°C);Humidité (%)\n", |i, t| {
        let (day, hour) = (t.civil.strftime("%d/%m/%Y"), t.civil.strftime("%H:%M"));
        format!("{i};{day};{hour};{};{}", comma(t.warm), comma(t.humid))
    });
    agrees(&read(&text, &[]));
}

#[test]
fn time_before_date_and_units_behind_each_number() {
    let text = written("Time|Date|Reading 1|Reading 2\n", |_, t| {
        let (hour, day) = (t.civil.strftime("%H:%M:%S"), t.civil.strftime("%Y/%m/%d"));
        format!("{hour}|{day}|{:.1} °C|{:.0} %RH", t.warm, t.humid)
    });
    // The headings say nothing, so that the columns are asked about unless the cells tell them.
    let found = read(&text, &[]);
    if found.open() > 0 {
        agrees(&read(&text, &[("columns", "temperature_humidity")]));
    } else {
        agrees(&found);
    }
}

#[test]
fn the_newest_first_with_month_words() {
    let mut rows: Vec<String> = truth()
        .iter()
        .map(|t| format!("{},{:.1},{:.0}", t.civil.strftime("%d-%b-%Y %H:%M"), t.warm, t.humid))
        .collect();
    rows.reverse();
    agrees(&read(&format!("Date,Temperature (C),Humidity (%)\n{}", rows.join("\n")), &[]));
}

#[test]
fn sixteen_bit_text_with_a_byte_order_mark() {
    let text = written("Fecha;Temperatura;Humedad\n", |_, t| {
        format!("{};{};{}", t.civil.strftime("%Y-%m-%d %H:%M"), comma(t.warm), comma(t.humid))
    });
    let mut bytes = vec![0xFF, 0xFE];
    bytes.extend(text.encode_utf16().flat_map(u16::to_le_bytes));
    agrees(&read_logger(&bytes, "x.csv", &options(&[])).unwrap());
}

#[test]
fn decimal_commas_that_are_delimiters_too() {
    let text = written("Data,Temperatura,Umidità\n", |_, t| {
        format!("{},{},{}", t.civil.strftime("%Y-%m-%d %H:%M"), comma(t.warm), comma(t.humid))
    });
    agrees(&read(&text, &[]));
}

#[test]
fn a_line_of_units_under_the_header_and_packed_stamps() {
    let text = written("STAMP,AIRT,RH\n,degC,%\n", |_, t| {
        format!("{},{:.1},{:.0}", t.civil.strftime("%Y%m%dT%H%M%S"), t.warm, t.humid)
    });
    let found = read(&text, &[]);
    agrees(&found);
    assert_eq!(found.fahrenheit, Some(false));
}

#[test]
fn quoted_lines_and_carriage_returns_alone() {
    let text = written("Timestamp;Celsius;Humidity\n", |_, t| {
        format!("\"{}\";\"{:.1}\";\"{:.0}\"", t.civil.strftime("%Y-%m-%d %H:%M"), t.warm, t.humid)
    });
    agrees(&read(&text.replace('\n', "\r"), &[]));
}

#[test]
fn day_and_month_are_asked_about_where_they_cannot_be_told() {
    // One day only, 5 June or 6 May.
    let rows: Vec<String> =
        (0..24).map(|h| format!("05/06/2025 {h:02}:00,21.{},60", h % 10)).collect();
    let text = format!("Date,Temp C,RH\n{}", rows.join("\n"));
    let found = read(&text, &[]);
    assert_eq!((found.open(), found.readings.len()), (1, 0));
    assert_eq!((found.questions[0].key, found.stamps), ("date_order", StampKind::Unsettled));
    let first = |answer| {
        let found = read(&text, &[("date_order", answer)]);
        Timestamp::from_second(found.readings[0].time).unwrap().to_string()
    };
    assert_eq!(first("day_first"), "2025-06-04T22:00:00Z");
    assert_eq!(first("month_first"), "2025-05-05T22:00:00Z");
    // An answer that is none leaves the question open.
    assert_eq!(read(&text, &[("date_order", "sideways")]).open(), 1);
}

#[test]
fn twelve_days_in_a_row_settle_day_and_month_by_themselves() {
    let rows: Vec<String> = (1..=12)
        .flat_map(|d| (0..24).map(move |h| format!("{d:02}/11/2025 {h:02}:00,20.5,6{}", h % 10)))
        .collect();
    let found = read(&format!("Date,Temp C,RH\n{}", rows.join("\n")), &[]);
    assert_eq!((found.open(), found.stamps, found.readings.len()), (0, StampKind::DayFirst, 288));
}

#[test]
fn the_unit_is_asked_about_where_either_could_be() {
    let rows: Vec<String> =
        (0..24).map(|h| format!("2025-11-20 {h:02}:00,4{}.5,60", h % 10)).collect();
    let text = format!("Date,Temp,RH\n{}", rows.join("\n"));
    let found = read(&text, &[]);
    assert_eq!(found.questions[0].key, "unit");
    let celsius = read(&text, &[("unit", "celsius")]);
    assert_eq!(celsius.readings[0].temperature, Some(40.5));
    let f = read(&text, &[("unit", "fahrenheit")]);
    assert_eq!(f.readings[0].temperature, Some(4.722));
    // Seventy is a room in °F alone.
    let warm = read("Date,Temp,RH\n2025-11-20 10:00,70,60\n2025-11-20 11:00,71,60\n", &[]);
    assert_eq!((warm.fahrenheit, warm.unit_by_values, warm.open()), (Some(true), true, 0));
}

#[test]
fn columns_without_a_header_are_asked_about() {
    let text = written("", |_, t| {
        format!("{},{:.1},{:.0}", t.civil.strftime("%Y-%m-%d %H:%M"), t.warm, t.humid)
    });
    let found = read(&text, &[]);
    assert_eq!(found.questions[0].key, "columns");
    agrees(&read(&text, &[("columns", "temperature_humidity")]));
}

/// 2025-10-26: from 02:00 to 03:00 the clocks of Berlin pass twice.
#[test]
fn the_hour_that_comes_twice_is_read_twice() {
    let mut rows = Vec::new();
    let start: Timestamp = "2025-10-25T22:00:00Z".parse().unwrap();
    for i in 0..48 {
        let at = start + jiff::SignedDuration::from_mins(10 * i);
        let clock = at.to_zoned_datetime(berlin());
        rows.push(format!("{},20.{},55", clock.strftime("%Y-%m-%d %H:%M"), i % 10));
    }
    let header = "Date,Temp C,RH\n";
    let found = read(&format!("{header}{}", rows.join("\n")), &[]);
    assert_eq!((found.open(), found.readings.len(), found.refused.len()), (0, 48, 0));
    for (i, r) in (0..).zip(&found.readings) {
        assert_eq!(r.time, start.as_second() + 600 * i);
    }
    assert_eq!((found.readings[0].east, found.readings[47].east), (7200, 3600));
    // Written the newest first it is the same.
    rows.reverse();
    let turned = read(&format!("{header}{}", rows.join("\n")), &[]);
    let times = |f: &LoggerFile| f.readings.iter().map(|r| r.time).collect::<Vec<_>>();
    assert_eq!(times(&turned), times(&found));
}

#[test]
fn a_clock_that_is_not_put_forward_is_asked_about() {
    // 2025-03-30: there is no 02:10 in Berlin, but this logger wrote it.
    let rows: Vec<String> = (0..36)
        .map(|i| format!("2025-03-30 {:02}:{:02},20.{},55", i / 6, 10 * (i % 6), i % 10))
        .collect();
    let text = format!("Date,Temp C,RH\n{}", rows.join("\n"));
    let found = read(&text, &[]);
    assert_eq!((found.questions[0].key, found.readings.len()), ("clock", 0));
    let winter = read(&text, &[("clock", "standard")]);
    assert_eq!((winter.readings.len(), winter.refused.len()), (36, 0));
    assert!(winter.readings.windows(2).all(|w| w[1].time - w[0].time == 600));
    let house = read(&text, &[("clock", "house")]);
    assert_eq!(house.refused_by_kind(), [(Why::SkippedHour, 6)]);
    // In autumn an hour passed once says the same.
    let rows: Vec<String> = (0..36)
        .map(|i| format!("2025-10-26 {:02}:{:02},20.{},55", i / 6, 10 * (i % 6), i % 10))
        .collect();
    let text = format!("Date,Temp C,RH\n{}", rows.join("\n"));
    assert_eq!(read(&text, &[]).questions[0].key, "clock");
    assert!(
        read(&text, &[("clock", "standard")])
            .readings
            .windows(2)
            .all(|w| w[1].time - w[0].time == 600)
    );
}

#[test]
fn a_fifth_of_nonsense_is_counted_by_kind_and_nothing_is_lost() {
    let bad = [
        ("-- battery changed --", Why::NoReading),
        ("2025-11-20 99:99:00,20.0,50", Why::NoTime),
        ("2025-11-20 12:05:00,error,--", Why::NoValue),
        ("2025-11-20 12:15:00,-127,50", Why::Impossible),
        ("2025-11-20 12:25:00,21,255", Why::Impossible),
        ("1999-12-31 00:00:00,21,50", Why::OutOfTime),
        ("2025-11-20 00:00:00,18.0,50", Why::Again),
        ("2025-11-20 00:30:00,44.0,50", Why::SameTime),
    ];
    let mut rows: Vec<String> = truth()
        .iter()
        .map(|t| format!("{},{:.1},{:.0}", t.civil.strftime("%Y-%m-%d %H:%M:%S"), t.warm, t.humid))
        .collect();
    for round in 0..3 {
        for (i, (line, _)) in bad.iter().enumerate() {
            rows.insert(10 + 20 * round + 2 * i, (*line).to_owned());
        }
    }
    let text = format!("time,temp C,rh\n{}\n", rows.join("\n"));
    let found = read(&text, &[]);
    assert_eq!(found.refused.len(), 24, "{:?}", found.refused);
    let lines: Vec<&str> = text.lines().collect();
    for r in &found.refused {
        assert_eq!(r.text, lines[r.row as usize - 1], "the line stands there as it was");
    }
    for (line, why) in bad {
        let told: Vec<Why> =
            found.refused.iter().filter(|r| r.text == line).map(|r| r.why).collect();
        assert_eq!(told.len(), 3, "{line}");
        // Repeated nonsense is nonsense first and a repetition second.
        assert!(told.iter().all(|w| *w == why || *w == Why::Again), "{line}: {told:?}");
    }
    // What can be used of a line is used: the other value of the two impossible ones.
    let half = found.readings.iter().find(|r| r.humidity == Some(50.0) && r.temperature.is_none());
    assert!(half.is_some());
    let whole = found.readings.iter().filter(|r| r.time % 1800 == 0).count();
    assert_eq!(whole, 96, "no good reading was lost");
}

#[test]
fn gaps_are_told() {
    let text = written("time,temp C,rh\n", |_, t| {
        format!("{},{:.1},{:.0}", t.civil.strftime("%Y-%m-%d %H:%M"), t.warm, t.humid)
    });
    let some: Vec<&str> = text.lines().filter(|l| !l.contains("2025-11-20 1")).collect();
    let found = read(&some.join("\n"), &[]);
    assert_eq!(found.gaps.len(), 1);
    assert_eq!(found.gaps[0].to - found.gaps[0].from, 10 * 3600 + 1800);
}

#[test]
fn files_that_hold_no_readings_say_what_to_do() {
    let check = |bytes: &[u8], expected: fn(&ReadError) -> bool| {
        let error = read_logger(bytes, "x", &options(&[])).unwrap_err();
        assert!(expected(&error), "{error}");
        assert!(error.to_string().contains("Next: "), "{error}");
    };
    check(b"", |e| matches!(e, ReadError::Empty { .. }));
    check(b"PK\x03\x04....", |e| matches!(e, ReadError::Workbook { .. }));
    check(b"name,count\nBegonia,4\n", |e| matches!(e, ReadError::NoReadings { .. }));
    let mut small = options(&[]);
    small.most_bytes = 3;
    assert!(matches!(read_logger(b"12345", "x", &small), Err(ReadError::TooLarge { .. })));
}

#[test]
fn a_column_is_told_by_its_heading_in_any_order() {
    let text = "RH;Date;Licht lux;Temp °C\n60;2025-11-20 10:00;100;21\n61;2025-11-20 11:00;0;22\n";
    let found = read(text, &[]);
    let channels: Vec<_> = found.columns.iter().map(|c| c.channel).collect();
    use Channel::{Humidity, Light, Temperature};
    assert_eq!(channels, [Some(Humidity), None, Some(Light), Some(Temperature)]);
    assert_eq!(found.readings[1].temperature, Some(22.0));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Whatever the bytes, it ends without a panic, and every line below the header is either a
    /// reading or among those refused.
    #[test]
    fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        let _ = read_logger(&bytes, "x", &options(&[]));
    }

    #[test]
    fn no_line_is_lost(lines in prop::collection::vec("[0-9T:/.,; -]{0,24}|2025-0[1-9]-1[0-9] 1[0-9]:[0-5][0-9],[12][0-9]\\.[0-9],[5-7][0-9]", 1..60)) {
        let text = format!("time,temp C,rh\n2025-01-01 00:00,20.5,60\n{}", lines.join("\n"));
        if let Ok(found) = read_logger(text.as_bytes(), "x", &options(&[("date_order", "day_first"), ("clock", "house"), ("unit", "celsius")])) {
            if found.open() > 0 {
                return Ok(());
            }
            let header = found.header.unwrap_or(0) as usize;
            for (i, line) in text.split('\n').enumerate().skip(header) {
                if line.trim().is_empty() {
                    continue;
                }
                let row = i as u32 + 1;
                let known = found.readings.iter().any(|r| r.row == row)
                    || found.refused.iter().any(|r| r.row == row && r.text == line);
                prop_assert!(known, "line {row} is lost: {line:?}");
            }
            prop_assert!(found.readings.windows(2).all(|w| w[0].time < w[1].time));
        }
    }

    /// Every second of five years comes back from the clocks of a house, the repeated hour in order.
    #[test]
    fn instants_come_back_from_the_clocks(start in 1_600_000_000i64..1_760_000_000, step in 60i64..7000) {
        let rows: Vec<String> = (0..40)
            .map(|i| {
                let at = Timestamp::from_second(start + i * step).unwrap().to_zoned_datetime(berlin());
                format!("{},21.{},60", at.strftime("%Y-%m-%d %H:%M:%S"), i % 10)
            })
            .collect();
        let found = read(&format!("time,temp C,rh\n{}", rows.join("\n")), &[]);
        // Steps of more than an hour may pass the repeated hour once; that is asked about.
        prop_assume!(found.open() == 0);
        let times: Vec<i64> = found.readings.iter().map(|r| r.time).collect();
        let expected: Vec<i64> = (0..40).map(|i| start + i * step).collect();
        // A single reading within the repeated hour is taken as the first passing.
        prop_assume!(step <= 1800);
        prop_assert_eq!(times, expected);
    }
}

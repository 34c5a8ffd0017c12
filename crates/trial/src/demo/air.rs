//! Two loggers: one in the cabinet for a year, one on the sill for seven weeks. Each was read every
//! few weeks; one stood still for some days, one was forgotten on the table while its battery was
//! changed.

use journal::{AirReading, Block, Change, NewRefused, NewSeries, RefusedLine, Uid};
use serde_json::json;

use super::{
    Day,
    scribe::{About, line},
    stock::PLACES,
    timeline::{between, date, winter},
    world::World,
};
use crate::rng::Rng;

/// A logger of the demo.
struct Hung {
    place: usize,
    name: &'static str,
    /// How many days of readings there are.
    days: Day,
    /// Every so many days it was read.
    read_every: Day,
    /// Minutes between readings.
    step: i64,
    /// Days before the last on which it stood still, from and to.
    flat: Option<(Day, Day)>,
    /// Days before the last without a record, from and to.
    gap: Option<(Day, Day)>,
    /// How far the humidity falls by day \[% points\].
    dry_by_day: f64,
}

const LOGGERS: [Hung; 2] = [
    Hung {
        place: 2,
        name: "cabinet",
        days: 364,
        read_every: 28,
        step: 30,
        flat: Some((17, 14)),
        gap: Some((141, 133)),
        dry_by_day: 14.0,
    },
    Hung {
        place: 0,
        name: "sill",
        days: 49,
        read_every: 7,
        step: 10,
        flat: None,
        gap: Some((12, 10)),
        dry_by_day: 9.0,
    },
];

pub(super) fn all(world: &mut World) {
    for (at, hung) in LOGGERS.iter().enumerate() {
        let subject = world.places[hung.place];
        let mut rng = world.rng(if at == 0 { "cabinet air" } else { "sill air" });
        let air = match at {
            0 => {
                json!({"day_from": 6, "day_to": 18, "wanted": "thin", "volume": 0.6, "air_changes": 4})
            }
            _ => json!({"volume": 34, "glass": "double", "outside": 1, "wanted": "thin"}),
        };
        let words = About::Words(PLACES[hung.place].0.to_owned());
        let pen = world.scribe.act("describe", words, world.last - hung.days);
        world.scribe.claim(pen, subject, "air", air);
        let mut from = world.last - hung.days;
        while from < world.last {
            let to = (from + hung.read_every - 1).min(world.last - 1);
            read_out(world, hung, subject, &mut rng, (from, to));
            from = to + 1;
        }
    }
}

/// What was read out of a logger on the day after the last one it recorded.
fn read_out(world: &mut World, hung: &Hung, subject: Uid, rng: &mut Rng, days: (Day, Day)) {
    let list = readings(hung, world.last, rng, days);
    if list.is_empty() {
        return;
    }
    let file = format!("{}-{}.csv", hung.name, date(days.1 + 1));
    let pen = world.scribe.act("readings", About::Words(file.clone()), days.1 + 1);
    for part in list.chunks(Block::MOST) {
        // Each is in order, and holds numbers: it can always be packed.
        let Ok(block) = Block::pack(part, 0) else { continue };
        let uid = world.scribe.fresh(pen);
        let (logger, origin) = (hung.name.to_owned(), file.clone());
        world.scribe.change(pen, Change::Series(NewSeries { uid, subject, logger, origin, block }));
    }
    let lines = vec![
        RefusedLine {
            row: 3,
            why: "no_reading".to_owned(),
            text: "--- battery low ---".to_owned(),
        },
        RefusedLine {
            row: 40,
            why: "impossible".to_owned(),
            text: format!("{} 19:30,-127.0,0", date(days.0)),
        },
    ];
    let uid = world.scribe.fresh(pen);
    let (logger, origin) = (hung.name.to_owned(), file.clone());
    world.scribe.change(pen, Change::Refused(NewRefused { uid, subject, logger, origin, lines }));
    let detail = json!({
        "logger": hung.name, "file": file, "readings": list.len(), "refused": 2,
    });
    world.scribe.put(pen, line(subject, "logger_read", between(days.0, days.1), detail));
}

fn within(span: Option<(Day, Day)>, last: Day, day: Day) -> bool {
    span.is_some_and(|(from, to)| (last - from..=last - to).contains(&day))
}

fn readings(hung: &Hung, last: Day, rng: &mut Rng, (from, to): (Day, Day)) -> Vec<AirReading> {
    let (_, _, mean, swing, humid, ..) = PLACES[hung.place];
    let mut out = Vec::new();
    for day in from..=to {
        // Each day is a little warmer or moister than the one before.
        let (warm, moist) = (rng.normal() * 0.5, rng.normal() * 2.5);
        if within(hung.gap, last, day) {
            continue;
        }
        let flat = within(hung.flat, last, day);
        for k in 0..86_400 / (60 * hung.step) {
            let of_day = 60 * hung.step * k;
            let hour = of_day as f64 / 3600.0;
            // Warmest and driest in the early afternoon.
            let sun = ((hour - 8.5) / 24.0 * std::f64::consts::TAU).sin();
            let jitter = rng.normal();
            let (temperature, humidity) = if flat {
                (21.4, 58.0)
            } else {
                (
                    mean + swing * (0.6 * sun - 0.35 * winter(day)) + warm + 0.08 * jitter,
                    (humid + moist + hung.dry_by_day * (0.25 - 0.6 * sun)
                        - 4.0 * winter(day)
                        - 0.3 * jitter)
                        .clamp(25.0, 98.0),
                )
            };
            let tenth = |v: f64| Some((v * 10.0).round() / 10.0);
            out.push(AirReading {
                time: i64::from(day) * 86_400 + of_day,
                temperature: tenth(temperature),
                humidity: tenth(humidity),
                light: None,
            });
        }
    }
    out
}

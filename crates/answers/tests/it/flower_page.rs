//! What pages show of flowers: an invented genus, written through the same operations as any other,
//! read whole, kept, and renewed by what is written.
//!
//! `UMBEL_LONG` makes it 300 plants with ten years of flowers and prints how long each part takes.

use std::time::{Duration, Instant};

use answers::{
    Hand, acts,
    flowers::{By, Flowers, Grown, PlantFlowers, plant_flowers},
};
use dates::Edtf;
use journal::{Draft, Journal, Known, SubjectKind, Uid};
use serde_json::{Map, Value, json};

use crate::house::{hand, open};

/// The multiplicative generator of Knuth's MMIX: enough for invented data.
struct Dice(u64);

impl Dice {
    fn share(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn days(&mut self, low: f64, high: f64) -> i64 {
        (low + (high - low) * self.share()) as i64
    }
}

fn map(value: Value) -> Map<String, Value> {
    value.as_object().unwrap().clone()
}

fn on(day: i64) -> Edtf {
    Edtf::from_day(dates::from_days(i32::try_from(day).unwrap()).unwrap())
}

struct Size {
    plants: usize,
    clones: usize,
    places: usize,
    years: i64,
}

fn long() -> bool {
    std::env::var_os("UMBEL_LONG").is_some()
}

fn size() -> Size {
    if long() {
        Size { plants: 300, clones: 120, places: 8, years: 10 }
    } else {
        Size { plants: 6, clones: 4, places: 2, years: 3 }
    }
}

/// Flowers two by two, three times a year, that are looked at every other day near their end; air of
/// each place by the day in the last two years.
fn invent(journal: &Journal, size: &Size) {
    let (mut dice, hand) = (Dice(5), hand());
    let draft = || Draft::new("bring_in", "invented", "Ines", "bench", hand.now);
    let today = hand.today_number();
    let first = today - 365 * size.years;
    let mut d = draft();
    let places: Vec<Uid> = (0..size.places)
        .map(|i| {
            let uid = d.create(SubjectKind::Place, None);
            d.claim(uid, "name", json!(format!("shelf {}", i + 1)));
            uid
        })
        .collect();
    let clones: Vec<Uid> = (0..size.clones)
        .map(|i| {
            let uid = d.create(SubjectKind::Clone, None);
            let name = format!("Begonia 'Lantern {}'", i + 1);
            d.claim(uid, "name", json!({"text": name, "genus": "Begonia"}));
            uid
        })
        .collect();
    for (i, place) in places.iter().enumerate() {
        for day in first.max(today - 730)..today {
            let warm = 20.0 + 0.5 * i as f64 + 4.0 * dice.share();
            let detail = json!({
                "temperature": format!("{warm:.1} °C"),
                "humidity": "60 %",
            });
            d.entry(*place, "reading", on(day), Known::Seen, map(detail), None);
        }
    }
    journal.write(&d.finish()).unwrap();
    for i in 0..size.plants {
        let mut d = draft();
        let uid = d.create(SubjectKind::Plant, None);
        d.claim(uid, "clone", json!(clones[i % size.clones].to_string()));
        d.entry(uid, "arrived", on(first), Known::Seen, Map::new(), None);
        let at = json!({"place": places[i % size.places].to_string()});
        d.entry(uid, "placed", on(first), Known::Seen, map(at), None);
        let usual = 7.0 + 5.0 * (i % size.clones) as f64 / size.clones as f64;
        let mut day = first + dice.days(10.0, 120.0);
        while day < today {
            for k in 0..2 {
                let opened = day + k;
                let ends = opened + (usual * (0.4 * (dice.share() - 0.5)).exp()) as i64;
                let part = d.create(SubjectKind::Part, Some(uid));
                d.claim(part, "what", json!("flower"));
                let mut put = |kind: &str, day: i64| {
                    if day <= today {
                        d.entry(part, kind, on(day), Known::Seen, Map::new(), None);
                    }
                };
                put("opened", opened);
                put("still_open", ends - 3);
                put("ended", ends);
            }
            day += dice.days(100.0, 140.0);
        }
        let mut day = first;
        while day < today {
            d.entry(uid, "watered", on(day), Known::Seen, Map::new(), None);
            day += 14;
        }
        journal.write(&d.finish()).unwrap();
    }
}

fn page(journal: &Journal, kept: &mut Flowers, plant: i64, hand: &Hand) -> PlantFlowers {
    journal.read(|r| Ok(plant_flowers(kept, r, plant, hand))).unwrap().unwrap()
}

fn timed<T>(what: &str, f: impl FnOnce() -> T) -> (T, Duration) {
    let start = Instant::now();
    let out = f();
    let took = start.elapsed();
    println!("{what}: {:.1} ms", 1e3 * took.as_secs_f64());
    (out, took)
}

fn write(journal: &Journal, hand: &Hand, kind: &str, when: &str) {
    let input = acts::EntryInput {
        kind: kind.to_owned(),
        when: when.to_owned(),
        known: Known::Seen,
        ..acts::EntryInput::default()
    };
    acts::log(journal, hand, &[acts::Target::Plant(1)], &input).unwrap();
}

#[test]
fn a_page_is_read_once_and_renewed_by_what_is_written() {
    let (_folder, journal) = open();
    let hand = hand();
    let size = size();
    invent(&journal, &size);
    let mut kept = Flowers::default();
    let (first, _) = timed("first page of the genus", || page(&journal, &mut kept, 1, &hand));
    let (again, quick) =
        timed("the same from what is kept", || page(&journal, &mut kept, 1, &hand));
    assert_eq!(first, again);
    let (_, second) = timed("another plant of it", || page(&journal, &mut kept, 2, &hand));

    // What is not about flowers leaves the fit as it is; what is kept and what is read anew agree.
    write(&journal, &hand, "watered", "2025-11-20");
    let (beside, watered) = timed("after a watering", || page(&journal, &mut kept, 1, &hand));
    assert_eq!(beside, page(&journal, &mut Flowers::default(), 1, &hand));
    // A flower is taken in.
    write(&journal, &hand, "opened", "2025-11-21");
    let (opened, flower) = timed("after a flower", || page(&journal, &mut kept, 1, &hand));
    assert_eq!(opened, page(&journal, &mut Flowers::default(), 1, &hand));
    let open = |p: &PlantFlowers| p.curve.as_ref().unwrap().lived.iter().filter(|l| l.open).count();
    assert_eq!(open(&opened), open(&beside) + 1);
    let (_, read) = timed("of which reading", || {
        journal
            .read(|r| Ok(Grown::read(r, &r.plant(1)?.unwrap(), &hand).unwrap().followed.len()))
            .unwrap()
    });
    if long() {
        for (took, least) in [(quick, 150), (second, 150), (watered, 150), (flower, 1000)] {
            assert!(took < Duration::from_millis(least), "{took:?} {read:?}");
        }
    }
}

#[test]
fn curves_sides_and_lists_hang_together() {
    let (_folder, journal) = open();
    let hand = hand();
    let size = size();
    invent(&journal, &size);
    let mut kept = Flowers::default();
    let p = page(&journal, &mut kept, 1, &hand);
    let curve = p.curve.as_ref().unwrap();
    // A curve falls, its band holds it, and one half is what usually is said.
    for pair in curve.points.windows(2) {
        assert!(pair[0].open > pair[1].open, "{pair:?}");
        assert!((0..3).all(|k| pair[0].days[k] < pair[1].days[k]), "{pair:?}");
    }
    assert!(curve.points.iter().all(|c| c.days[0] < c.days[1] && c.days[1] < c.days[2]));
    let half = curve.points.iter().find(|c| (c.open - 0.5).abs() < 1e-9).unwrap();
    let usually = p.answers[0].usually.as_ref().unwrap();
    assert_eq!(usually.value, Some(half.days[1]));
    assert_eq!(curve.lived.len(), p.answers[0].evidence.records.max(curve.evidence.records));
    assert!(curve.lived.iter().all(|l| l.at_most.is_none_or(|m| m > l.at_least)));
    let ahead = p.ahead.as_ref().unwrap();
    assert_eq!(ahead.weeks.len(), 12);
    assert!(ahead.weeks.iter().all(|w| (0.0..=1.0).contains(&w.chance) && w.to == w.from + 6));
    assert!(p.months.as_ref().unwrap().years >= 2);
    // All of it can be written down.
    assert!(serde_json::to_value(&p).unwrap()["curve"]["points"][0]["days"].is_array());

    let (list, _) = timed("all plants in a month", || {
        journal.read(|r| Ok(kept.likely_in_month(r, &hand, (2026, 1)))).unwrap().unwrap()
    });
    assert_eq!(list.len(), size.plants);
    assert!(list.windows(2).all(|w| w[0].chance >= w[1].chance));
    let today = hand.today_number();
    let (together, _) = timed("two plants together", || {
        journal
            .read(|r| Ok(kept.together(r, &hand, (1, 2), (today, today + 90))))
            .unwrap()
            .unwrap()
            .unwrap()
    });
    let m = together.meeting;
    assert!((0.0..=1.0).contains(&m.chance) && m.usable <= m.days && m.days > 0.0, "{m:?}");
    assert_eq!(together.store, m.chance < 0.3);

    for by in [By::Clone, By::Place] {
        let (sides, _) = timed("side by side", || {
            journal
                .read(|r| {
                    let plant = r.plant(1)?.unwrap();
                    let grown = kept.of(r, &plant, &hand).unwrap();
                    Ok(grown.sides(r, Some(&plant), by).unwrap().unwrap())
                })
                .unwrap()
        });
        assert_eq!(
            sides.sides.len(),
            6.min(if by == By::Clone { size.clones } else { size.places })
        );
        assert!(sides.sides[0].ratio.is_none() && sides.sides[0].words.is_empty());
        assert!(sides.sides[1..].iter().all(|s| s.ratio.is_some() && !s.words.is_empty()));
        assert!(sides.sides.iter().all(|s| !s.name.is_empty() && s.number > 0), "{sides:?}");
        assert!(sides.sides.iter().any(|s| s.number == 1), "its own is among them: {sides:?}");
    }
    let month = journal.read(|r| Ok(kept.likely_in_month(r, &hand, (2026, 13)))).unwrap();
    assert!(month.unwrap_err().to_string().contains("13"));
}

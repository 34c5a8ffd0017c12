//! The keeper: looks, forgets, cuts, pollinates, writes.

use journal::Known;

use super::{Flower, Plant, World, Written, stream};
use crate::rng::Rng;

/// Days of a month, for what is remembered to the month only.
const MONTH: i64 = 30;

/// What the keeper holds of a flower.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Held {
    NotSeen,
    Open,
    Done,
}

/// Everything that is written; the last look at each flower is noted on it.
pub(super) fn written(world: &World, plants: &[Plant], flowers: &mut [Flower]) -> Vec<Written> {
    let mut book = Vec::new();
    for (index, plant) in plants.iter().enumerate() {
        let mut rng = stream(world, &format!("keeper {index}"));
        let own: Vec<usize> = (0..flowers.len()).filter(|f| flowers[*f].plant == index).collect();
        let mut held = vec![Held::NotSeen; own.len()];
        let mut before: Option<f64> = None;
        let mut day = world.first_day + i64::from(rng.range(0, 6));
        while day < world.first_day + world.days {
            if !rng.chance(world.forgets) {
                let now = day as f64 + rng.between(0.35, 0.65);
                for (k, f) in own.iter().enumerate() {
                    let flower = &mut flowers[*f];
                    look(world, (*f, flower), &mut held[k], (before, now), &mut rng, &mut book);
                }
                before = Some(now);
            }
            day += plant.every;
        }
    }
    book.sort_by_key(|w| (w.to, w.plant, w.flower));
    book
}

fn look(
    world: &World,
    (index, flower): (usize, &mut Flower),
    held: &mut Held,
    (before, now): (Option<f64>, f64),
    rng: &mut Rng,
    book: &mut Vec<Written>,
) {
    let day = now.floor() as i64;
    let earlier = before.map_or(day - 7, |b| b.floor() as i64);
    let mut write = |kind, cut, from, to, known| {
        book.push(Written { plant: flower.plant, flower: index, kind, cut, from, to, known });
    };
    let open = flower.opened <= now && now < flower.opened + flower.life;
    match *held {
        Held::NotSeen if open && before.is_some_and(|b| b < flower.opened) => {
            *held = Held::Open;
            if rng.chance(world.remembers) {
                let from = (flower.opened.floor() as i64) - i64::from(rng.range(0, 29));
                // A month that ends later than today would be no memory.
                let to = (from + MONTH - 1).min(day);
                write("opened", false, from, to, Known::Remembered);
            } else {
                write("opened", false, earlier, day, Known::Seen);
            }
            flower.looked = Some(now);
        }
        Held::Open if open => {
            if rng.chance(world.loses) {
                *held = Held::Done;
                flower.looked = None;
                return;
            }
            // Of a day's chance to be cut or pollinated the looks make the whole.
            if rng.chance(world.cuts) {
                let cut = rng.chance(0.5);
                write(if cut { "ended" } else { "pollinated" }, cut, day, day, Known::Seen);
                *held = Held::Done;
                flower.looked = None;
                return;
            }
            if rng.chance(0.8) {
                write("still_open", false, day, day, Known::Seen);
                flower.looked = Some(now);
            } else {
                flower.looked = None;
            }
        }
        Held::Open => {
            write("ended", false, earlier, day, Known::Seen);
            *held = Held::Done;
            flower.looked = None;
        }
        _ => {}
    }
}

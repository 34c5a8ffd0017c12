//! The demo: three years of an invented grower's journal.

mod air;
mod care;
mod crosses;
mod cuttings;
mod flowers;
mod happenings;
mod light;
mod people;
mod pests;
mod photos;
mod plants;
mod scribe;
mod shelf;
mod stock;
mod stories;
mod talk;
mod timeline;
mod world;

use jiff::civil::Date;

use crate::{Demo, Truth};
use world::World;

pub(crate) use light::HOUSE;
pub(crate) use photos::files as photo_files;

/// Days since 1970-01-01.
type Day = i32;

/// The seed of the demo. Any number would do.
const SEED: u64 = 0x0B5E_55ED;

/// How long the record is [d]: three years.
const LENGTH: Day = 1096;

/// The demo as it stands on a day: three years of journal up to the day before.
#[must_use]
pub fn demo(today: Date) -> Demo {
    let last = dates::to_days(today) - 1;
    let mut world = World::new(SEED, last - LENGTH, last);
    people::settle(&mut world);
    plants::first_list(&mut world);
    plants::arrivals(&mut world);
    crosses::all(&mut world);
    cuttings::all(&mut world);
    stories::all(&mut world);
    plants::endings(&mut world);
    shelf::all(&mut world);
    care::all(&mut world);
    flowers::all(&mut world);
    happenings::all(&mut world);
    air::all(&mut world);
    pests::all(&mut world);
    light::all(&mut world);
    photos::all(&mut world);
    talk::all(&mut world);
    finish(world)
}

fn finish(world: World) -> Demo {
    let World { scribe, start, last, plants, clones, flowers, crosses, batches, .. } = world;
    let (operations, numbers) = scribe.finish();
    let mut plants: Vec<_> = plants
        .into_iter()
        .map(|p| {
            let (clone, number) = (clones[p.clone].uid, numbers.get(&p.uid).copied());
            p.truth(clone, number.unwrap_or_default())
        })
        .collect();
    plants.sort_by_key(|p| p.number);
    let truth = Truth {
        start: timeline::date(start),
        last: timeline::date(last),
        plants,
        clones: clones.into_iter().map(world::CloneSim::truth).collect(),
        flowers,
        crosses,
        batches,
    };
    Demo { operations, truth }
}

/// Names in the demo that are doubtful, misspelt or none at all, on purpose.
#[must_use]
pub fn doubtful_names() -> Vec<&'static str> {
    stock::DOUBTFUL.iter().map(|(name, _)| *name).collect()
}

/// The invented grower.
#[must_use]
pub fn grower() -> &'static str {
    stock::GROWER
}

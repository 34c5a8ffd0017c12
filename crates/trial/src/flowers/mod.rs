//! Simulated growers of whom it is known how long every flower really lasted.
//!
//! [`Grower::new`] makes one grower for one [`World`]: places with air of their own, clones, plants
//! that flower again and again, a true law of life, and a keeper who looks on some days, forgets, and
//! now and then cuts or pollinates a flower. What the keeper wrote comes as plain data ([`Written`]);
//! what was true stands beside it.
//!
//! Two laws are to be had, since a simulation that shares the form of what is fitted to it proves
//! only the algebra: [`Law::LogNormal`] has the very form that the program fits, with numbers drawn
//! from its defaults; [`Law::DegreeDays`] lets flowers age by warmth above a threshold, with other
//! noise, in umbels that open one flower after another.
//!
//! Time is counted in days since 1970-01-01; a day is that which begins at its number.

mod keeper;
mod lives;

use journal::Known;

use crate::rng::Rng;

/// The true law by which flowers end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Law {
    /// Log-normal, with effects of warmth, deficit, clone and umbel.
    LogNormal,
    /// A sum of warmth above 8 °C that has to be reached, faster in dry air, with gamma noise.
    DegreeDays,
}

/// One world: everything that is settled before the first day.
#[derive(Debug, Clone, PartialEq)]
pub struct World {
    /// The same seed gives the same grower.
    pub seed: u64,
    /// By which law flowers end.
    pub law: Law,
    /// How many clones.
    pub clones: usize,
    /// How many plants; every clone has one where there are enough.
    pub plants: usize,
    /// At how many places.
    pub places: usize,
    /// The first day \[days since 1970-01-01\].
    pub first_day: i64,
    /// How many days.
    pub days: i64,
    /// Chance that a look at a plant is forgotten.
    pub forgets: f64,
    /// Chance that a flower is cut, and that it is pollinated, before it ends.
    pub cuts: f64,
    /// Chance that nobody looks at a flower any more, after each look.
    pub loses: f64,
    /// Chance that an opening is written down from memory, to the month.
    pub remembers: f64,
    /// Share of the plants that are looked at once a week; others every second day.
    pub weekly: f64,
    /// Share of the places whose air nobody writes down.
    pub without_logger: f64,
}

impl World {
    /// A year and a bit of 8 plants of 6 clones at 2 places.
    #[must_use]
    pub fn small(seed: u64, law: Law) -> Self {
        Self {
            seed,
            law,
            clones: 6,
            plants: 8,
            places: 2,
            // 2023-03-01.
            first_day: 19_417,
            days: 420,
            forgets: 0.12,
            cuts: 0.05,
            loses: 0.02,
            remembers: 0.03,
            weekly: 0.5,
            without_logger: match law {
                Law::LogNormal => 0.0,
                Law::DegreeDays => 0.25,
            },
        }
    }
}

/// What the keeper wrote of a flower.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Written {
    /// Which plant, from 0.
    pub plant: usize,
    /// Which flower, from 0: an index of [`Grower::flowers`].
    pub flower: usize,
    /// `opened`, `still_open`, `ended` or `pollinated`.
    pub kind: &'static str,
    /// Of `ended`: whether it was cut.
    pub cut: bool,
    /// First and last possible day.
    pub from: i64,
    /// The last possible day; the day on which it was written, but for what is remembered.
    pub to: i64,
    /// How it is known.
    pub known: Known,
}

/// One flower as it really was, also if nobody ever saw it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flower {
    /// Which plant, from 0.
    pub plant: usize,
    /// Which umbel of all, from 0.
    pub umbel: usize,
    /// The moment of opening \[d since 1970-01-01\].
    pub opened: f64,
    /// How long it lasted, or would have lasted had it not been cut or pollinated \[d\].
    pub life: f64,
    /// The moment of the last look at it that was written down while it was open, if that was the
    /// last look of all at its plant.
    pub looked: Option<f64>,
}

/// A day's air at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Mean temperature \[°C\].
    pub temperature: f64,
    /// Vapour pressure deficit \[kPa\].
    pub deficit: f64,
}

/// A place with all its days.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Whether its air is written down.
    pub logged: bool,
    /// The first of its days.
    pub first_day: i64,
    /// Its days; they go on for some weeks after the end of the record.
    pub days: Vec<Air>,
}

impl Place {
    /// A day's air; those before the first and after the last are like these.
    #[must_use]
    pub fn on(&self, day: i64) -> Air {
        let last = self.days.len().saturating_sub(1);
        self.days[usize::try_from(day - self.first_day).unwrap_or(0).min(last)]
    }
}

/// A plant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plant {
    /// Which clone, from 0.
    pub clone: usize,
    /// Which place, from 0.
    pub place: usize,
    /// Days between two looks.
    pub every: i64,
}

/// A simulated grower.
#[derive(Debug, Clone)]
pub struct Grower {
    /// By what it was made.
    pub world: World,
    /// Places with their days.
    pub places: Vec<Place>,
    /// Plants.
    pub plants: Vec<Plant>,
    /// Every flower, by the order of opening within each plant.
    pub flowers: Vec<Flower>,
    /// What was written, oldest first.
    pub written: Vec<Written>,
    truth: lives::Truth,
}

impl Grower {
    /// Lives through a world.
    #[must_use]
    pub fn new(world: &World) -> Self {
        let places = places(world);
        let plants = plants(world);
        let truth = lives::Truth::new(world);
        let mut flowers = lives::flowers(world, &plants, &places, &truth);
        let written = keeper::written(world, &plants, &mut flowers);
        Self { world: world.clone(), places, plants, flowers, written, truth }
    }

    /// The median life of a clone's flowers in constant air \[d\].
    #[must_use]
    pub fn median(&self, clone: usize, air: Air) -> f64 {
        self.truth.median(clone, air)
    }
}

fn stream(world: &World, label: &str) -> Rng {
    Rng::stream(world.seed, &format!("flowers {label}"))
}

/// Days of air beyond the end of the record.
const BEYOND: i64 = 90;

/// Air indoors: a season, spells of some days, and what makes a place warmer, moister or drier.
fn places(world: &World) -> Vec<Place> {
    let mut rng = stream(world, "weather");
    let days = world.days + BEYOND;
    let mut spell = 0.0;
    let weather: Vec<f64> = (world.first_day..world.first_day + days)
        .map(|day| {
            // The coldest day is in the third week of January (day 19 of the year 1970).
            let turn = (std::f64::consts::TAU * (day - 19) as f64 / 365.25).cos();
            spell = 0.85 * spell + 0.8 * rng.normal();
            22.0 - 2.5 * turn + spell
        })
        .collect();
    (0..world.places)
        .map(|index| {
            let mut rng = stream(world, &format!("place {index}"));
            let (warmer, drier) = (1.2 * rng.normal(), 0.25 * rng.normal());
            let days = weather.iter().map(|t| {
                let temperature = t + warmer + 0.3 * rng.normal();
                let dry = 0.8 + 0.07 * (temperature - 22.0) + drier + 0.1 * rng.normal();
                Air { temperature, deficit: dry.max(0.1) }
            });
            let days = days.collect();
            let logged = !rng.chance(world.without_logger);
            Place { logged, first_day: world.first_day, days }
        })
        .collect()
}

fn plants(world: &World) -> Vec<Plant> {
    let mut rng = stream(world, "plants");
    (0..world.plants)
        .map(|index| Plant {
            clone: index % world.clones,
            place: (rng.unit() * world.places as f64) as usize % world.places,
            every: if rng.chance(world.weekly) { 7 } else { 2 },
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_gives_the_same_grower() {
        for law in [Law::LogNormal, Law::DegreeDays] {
            let world = World::small(3, law);
            let (a, b) = (Grower::new(&world), Grower::new(&world));
            assert_eq!((&a.written, &a.flowers), (&b.written, &b.flowers));
            let other = Grower::new(&World::small(4, law));
            assert_ne!(a.written, other.written);
            assert!(a.flowers.len() > 20, "{law:?}: {}", a.flowers.len());
        }
    }

    /// Half of the flowers last longer than the median of their clone in the air they had, in many
    /// worlds together. Four standard errors, umbels of three being one.
    #[test]
    fn half_of_the_flowers_last_longer_than_the_median() {
        for law in [Law::LogNormal, Law::DegreeDays] {
            let (mut n, mut longer) = (0.0, 0.0);
            for seed in 0..60 {
                let g = Grower::new(&World::small(seed, law));
                for f in &g.flowers {
                    let plant = g.plants[f.plant];
                    let days = f.opened.floor() as i64..=(f.opened + f.life).floor() as i64;
                    let count = days.clone().count() as f64;
                    let air = days.map(|d| g.places[plant.place].on(d));
                    let (t, d) =
                        air.fold((0.0, 0.0), |s, a| (s.0 + a.temperature, s.1 + a.deficit));
                    let air = Air { temperature: t / count, deficit: d / count };
                    n += 1.0;
                    longer += f64::from(u8::from(f.life > g.median(plant.clone, air)));
                }
            }
            let off = 4.0 * (0.25 / (n / 3.0_f64)).sqrt();
            assert!((longer / n - 0.5).abs() < off, "{law:?}: {longer} of {n}");
        }
    }

    /// What is written is true: within its days the flower opened and ended.
    #[test]
    fn looks_bound_what_happened() {
        for law in [Law::LogNormal, Law::DegreeDays] {
            let g = Grower::new(&World::small(9, law));
            let mut ended = 0;
            for w in &g.written {
                let f = &g.flowers[w.flower];
                let (from, to) = (w.from as f64, w.to as f64 + 1.0);
                match w.kind {
                    "opened" => assert!((from..to).contains(&f.opened), "{w:?} {f:?}"),
                    "still_open" => assert!(f.opened <= to && f.opened + f.life >= from),
                    "ended" if !w.cut => {
                        ended += 1;
                        assert!((from..to).contains(&(f.opened + f.life)), "{w:?} {f:?}");
                    }
                    _ => {}
                }
            }
            assert!(ended > 10, "{law:?}: {ended} ends");
        }
    }
}

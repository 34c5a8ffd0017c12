//! Flowers as they really are: how they open and how long they last.

use super::{Air, Flower, Law, Place, Plant, World, stream};
use crate::rng::Rng;

/// Warmth below which nothing ages in [`Law::DegreeDays`] \[°C\].
const THRESHOLD: f64 = 8.0;

/// The numbers of a world's law.
#[derive(Debug, Clone)]
pub(super) struct Truth {
    law: Law,
    /// Median life of each clone at 22 °C and 0.8 kPa \[d\].
    medians: Vec<f64>,
    /// Effects of a degree and of a kilopascal on the logarithm of a life.
    warmth: f64,
    deficit: f64,
    /// Spreads of umbels and of single flowers: of the logarithm, or shapes of gamma noise.
    umbel: f64,
    flower: f64,
    /// Median of the noise of a single flower.
    middle: f64,
}

/// Gamma noise of mean 1 by sums of exponentials.
fn gamma(rng: &mut Rng, shape: u32) -> f64 {
    (0..shape).map(|_| -rng.unit().ln()).sum::<f64>() / f64::from(shape)
}

const UMBEL_SHAPE: u32 = 60;
const FLOWER_SHAPE: u32 = 24;

impl Truth {
    pub(super) fn new(world: &World) -> Self {
        let mut rng = stream(world, "law");
        let usual = rng.log_normal(9.0, 0.6);
        let half_normal = |rng: &mut Rng, scale: f64| (scale * rng.normal()).abs();
        match world.law {
            Law::LogNormal => {
                let spread = half_normal(&mut rng, 0.3);
                Self {
                    law: world.law,
                    medians: (0..world.clones).map(|_| rng.log_normal(usual, spread)).collect(),
                    warmth: -0.069_3 + 0.03 * rng.normal(),
                    deficit: -0.15 + 0.15 * rng.normal(),
                    umbel: half_normal(&mut rng, 0.2),
                    // Gamma of shape 4 and mean 0.25.
                    flower: 0.25 * gamma(&mut rng, 4),
                    middle: 1.0,
                }
            }
            Law::DegreeDays => {
                // Umbels and flowers vary as single draws do; the median of their product is drawn.
                let mut products: Vec<f64> = (0..4_001)
                    .map(|_| gamma(&mut rng, UMBEL_SHAPE) * gamma(&mut rng, FLOWER_SHAPE))
                    .collect();
                products.sort_by(f64::total_cmp);
                let usual = usual.clamp(4.0, 20.0);
                Self {
                    law: world.law,
                    medians: (0..world.clones).map(|_| usual * rng.between(0.65, 1.5)).collect(),
                    warmth: 0.0,
                    deficit: rng.between(0.05, 0.3),
                    umbel: 0.0,
                    flower: 0.0,
                    middle: products[2_000],
                }
            }
        }
    }

    pub(super) fn median(&self, clone: usize, air: Air) -> f64 {
        let (warm, dry) = (air.temperature - 22.0, air.deficit - 0.8);
        match self.law {
            Law::LogNormal => self.medians[clone] * (self.warmth * warm + self.deficit * dry).exp(),
            Law::DegreeDays => self.medians[clone] * (22.0 - THRESHOLD) / self.speed(air),
        }
    }

    /// How fast a flower ages in this air \[K\].
    fn speed(&self, air: Air) -> f64 {
        let dry = 1.0 + self.deficit * (air.deficit - 0.8);
        (air.temperature - THRESHOLD).max(0.5) * dry.max(0.3)
    }

    /// What an umbel has of its own.
    fn of_umbel(&self, rng: &mut Rng) -> f64 {
        match self.law {
            Law::LogNormal => (self.umbel * rng.normal()).exp(),
            Law::DegreeDays => gamma(rng, UMBEL_SHAPE),
        }
    }

    /// How long a flower lasts that opens at a moment \[d\].
    fn life(&self, clone: usize, opened: f64, umbel: f64, place: &Place, rng: &mut Rng) -> f64 {
        let own = match self.law {
            Law::LogNormal => umbel * (self.flower * rng.normal()).exp(),
            Law::DegreeDays => umbel * gamma(rng, FLOWER_SHAPE) / self.middle,
        };
        match self.law {
            Law::LogNormal => {
                // The mean air hangs on how long it lasts: a few rounds settle it.
                let mut life = self.medians[clone] * own;
                for _ in 0..12 {
                    life = own * self.median(clone, mean(place, opened, life));
                }
                life
            }
            Law::DegreeDays => {
                let needed = own * self.medians[clone] * (22.0 - THRESHOLD);
                let (mut now, mut sum) = (opened, 0.0);
                loop {
                    let speed = self.speed(place.on(now.floor() as i64));
                    let step = now.floor() + 1.0 - now;
                    if sum + speed * step >= needed {
                        return now + (needed - sum) / speed - opened;
                    }
                    (sum, now) = (sum + speed * step, now + step);
                }
            }
        }
    }
}

fn mean(place: &Place, opened: f64, life: f64) -> Air {
    let days = opened.floor() as i64..=(opened + life).floor() as i64;
    let n = days.clone().count() as f64;
    let sum =
        days.map(|d| place.on(d)).fold((0.0, 0.0), |s, a| (s.0 + a.temperature, s.1 + a.deficit));
    Air { temperature: sum.0 / n, deficit: sum.1 / n }
}

/// All flowers of all plants.
pub(super) fn flowers(
    world: &World,
    plants: &[Plant],
    places: &[Place],
    truth: &Truth,
) -> Vec<Flower> {
    let mut out = Vec::new();
    let mut umbels = 0;
    for (index, plant) in plants.iter().enumerate() {
        let mut rng = stream(world, &format!("plant {index}"));
        let pause = rng.log_normal(75.0, 0.3);
        let mut at = world.first_day as f64 + pause * rng.unit();
        while at < (world.first_day + world.days) as f64 {
            let own = truth.of_umbel(&mut rng);
            let mut opened = at;
            for _ in 0..rng.range(1, 3) {
                let place = &places[plant.place];
                let life = truth.life(plant.clone, opened, own, place, &mut rng);
                let (plant, umbel) = (index, umbels);
                out.push(Flower { plant, umbel, opened, life, looked: None });
                opened += match world.law {
                    Law::LogNormal => 0.5 * rng.unit(),
                    // One after another.
                    Law::DegreeDays => rng.between(0.5, 3.0),
                };
            }
            umbels += 1;
            at = opened + rng.log_normal(pause, 0.25).max(25.0);
        }
    }
    out
}

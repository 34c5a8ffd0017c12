//! Pots and what is in them.

use super::{Place, World, stream};

/// What a pot is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Material {
    /// Tight.
    Plastic,
    /// Loses water through its wall.
    Terracotta,
}

impl Material {
    /// The word of an entry.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Plastic => "plastic",
            Self::Terracotta => "terracotta",
        }
    }
}

/// A pot at the beginning of the record, with what is true of its plant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pot {
    /// Which species, from 0.
    pub species: usize,
    /// Which place, from 0.
    pub place: usize,
    /// Width at the rim \[cm\].
    pub width: f64,
    /// What it is made of.
    pub material: Material,
    /// When it was potted \[days since 1970-01-01\]; before the record begins.
    pub potted: i64,
    /// The day on which it is potted on \[days since 1970-01-01\].
    pub potted_on: Option<i64>,
    /// ln of how much slower than usual the species dries.
    pub species_effect: f64,
    /// ln of how much slower than its species the plant dries.
    pub plant_effect: f64,
    /// Whether the keeper weighs it.
    pub weighed: bool,
    /// The day on which its roots rot \[days since 1970-01-01\].
    pub loses_roots: Option<i64>,
    /// How many times as fast it dries from then on; at most one half.
    pub without_roots: f64,
}

/// Volume of a pot of this width at the rim \[l\]: a cone's stump, 0.9 times as high as wide, with a
/// foot of three quarters of the rim.
pub(super) fn volume(width: f64) -> f64 {
    let (rim, foot, height) = (width / 2.0, 0.75 * width / 2.0, 0.9 * width);
    std::f64::consts::PI * height / 3.0 * (rim * rim + rim * foot + foot * foot) / 1000.0
}

pub(super) fn pots(world: &World, places: &[Place]) -> Vec<Pot> {
    let species: Vec<f64> = {
        let mut rng = stream(world, "species");
        (0..world.species.max(1)).map(|_| 0.25 * rng.normal()).collect()
    };
    (0..world.plants)
        .map(|index| {
            let mut rng = stream(world, &format!("pot {index}"));
            let kind = index % species.len();
            // Some are potted on as they outgrow their pots, every 20 months or so.
            let age = rng.range(20, 500);
            let on = i64::from(rng.range(500, 700) - age);
            Pot {
                species: kind,
                place: (rng.next() % places.len().max(1) as u64) as usize,
                width: f64::from(rng.range(8, 14)),
                material: if rng.chance(0.25) { Material::Terracotta } else { Material::Plastic },
                potted: world.first_day - i64::from(age),
                potted_on: (on < world.days).then_some(world.first_day + on),
                species_effect: species[kind],
                plant_effect: 0.25 * rng.normal(),
                weighed: rng.chance(world.keeper.weighs),
                loses_roots: rng.chance(world.lose_roots).then(|| {
                    let (from, to) = (world.days * 2 / 3, world.days - 45);
                    world.first_day + from + (rng.unit() * (to - from).max(1) as f64) as i64
                }),
                without_roots: rng.between(0.25, 0.5),
            }
        })
        .collect()
}

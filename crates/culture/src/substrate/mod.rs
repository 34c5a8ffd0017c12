//! Air and water in a pot.
//!
//! Shares are in % of the volume of the pot. The same mix is wetter in a shallow pot: the zone
//! above the floor stays wet to the same height whatever stands above it.

mod material;
mod mix;
mod pot;
mod pot_test;
mod retention;
mod weighing;

pub use material::{MATERIALS, Material, TARGETS, material};
pub use mix::{Mix, MixEstimate, Part, loose_volume};
pub use pot::Pot;
pub use pot_test::{PotTest, Tested, from_drained_density};
pub use retention::{Held, RetentionCurve, RetentionError};
pub use weighing::{Drying, Weighing, available_water};

use crate::Constant;

/// What must be said beside these numbers.
pub const CAUTIONS: [&str; 2] = [
    "Dust of perlite, bark and clay harms the lungs: damp it and wear a mask.",
    "These numbers never water a plant by themselves: a plant without roots, at rest or just \
     repotted dries differently.",
];

/// Every constant of this module.
pub fn constants() -> Vec<Constant> {
    let mut all = material::constants();
    all.extend(mix::CONSTANTS);
    all.extend(retention::CONSTANTS);
    all.extend(pot_test::CONSTANTS);
    all.extend(weighing::CONSTANTS);
    all
}

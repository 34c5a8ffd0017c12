//! Potting: what is due and why, how much of each material to prepare, what a mix holds in a pot.

mod held;
mod list;
mod plan;
mod repot;
mod roots;
mod trend;

pub use held::{HeldWater, MixHeld, mix_in_pot};
pub use list::{PotLine, to_pot};
pub use plan::{MixInput, MixPart, MixPlan, PlannedPot, plan};
pub use repot::Chance;
pub use trend::{Trend, trend};

pub(crate) use held::held_water;
pub(crate) use list::due;
pub(crate) use repot::{repot, repot_with};

use crate::Caution;

/// What must stand beside every number of this page.
pub const CAUTIONS: [Caution; 3] = [
    Caution {
        lead: "Dust.",
        text: "Perlite, bark and clay give off dust that harms the lungs: damp them and wear a mask.",
    },
    Caution {
        lead: "Coir.",
        text: "Some lots bring much potassium, sodium and chloride: buffer or rinse it, and measure what runs out.",
    },
    Caution {
        lead: "Sap.",
        text: "The sap of many plants burns skin and eyes and harms pets: gloves, and no children or animals at the table.",
    },
];

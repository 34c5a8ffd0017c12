//! Crosses: what was tried and what came of it, the chance of what is not tried yet, pollen in store,
//! and what wants doing.

mod barred;
mod chance;
pub(crate) mod check;
mod engine;
mod facts;
mod genes;
mod groups;
mod hypotheses;
mod lines;
mod model;
mod others;
mod path;
mod pollen;
mod record;
mod scores;
mod season;
mod settings;
pub mod slash;
mod table;
mod times;
mod words;

pub use chance::{PairChance, PairLine, Share, Tally, Term, Wanted, chance, limit_of_none};
pub use engine::{Engine, says_nothing_of_crosses};
pub use facts::{CLAIM as FACTS_CLAIM, CloneFacts, Facts, describe, described};
pub use genes::{Genes, Segregates};
pub use groups::{FACTS, Group, GroupFacts};
pub use hypotheses::{Hypothesis, PRIOR, SHOWN, Trial, one_way, shared_alleles};
pub(crate) use lines::due;
pub use others::{Told, bring_in as bring_in_told, told};
pub use path::{CrossKind, ExpectedStage, Path, StageLine};
pub(crate) use pollen::kept;
pub use pollen::{Cold, Kept, Lot, half_life, store as store_pollen};
pub use record::{Attempt, Crosses, Followed, Pollen, Seedling, TELLS_AFTER, Tray};
pub use scores::{Score, traits};
pub use season::{Candidate, CurveChoice, Meets, Offered, SeasonAsked, SeasonPlan};
pub use settings::{Belief, Beliefs, change as change_belief};
pub use table::{Cell, Table};
pub use times::next_range;

use crate::Caution;

/// What must stand beside every plan of a cross.
pub const CAUTIONS: [Caution; 5] = [
    Caution {
        lead: "Protected cultivars.",
        text: "To propagate a protected cultivar, or one that is essentially derived from it, needs the breeder's consent; crossing it for yourself is mostly allowed, selling what comes of it may not be. Ask before you name or sell.",
    },
    Caution {
        lead: "Collected plants.",
        text: "Plants and seed from the wild need the permits of their country, and protected species papers at every border; hybrids usually follow their parents.",
    },
    Caution {
        lead: "Sap.",
        text: "Milky sap harms eyes and skin, and some of it the heart; aroids hold needles of oxalate. Gloves and glasses at the flowers, and no children or animals near.",
    },
    Caution {
        lead: "Seed that spreads.",
        text: "Do not let seed or seedlings of a species that runs wild where you live out of the house, and destroy what you do not keep.",
    },
    Caution {
        lead: "Parentage.",
        text: "What is said here is likely and no certificate: that a seedling comes of the cross on its label is told by markers alone.",
    },
];

//! Materials, with what has been measured of them.

use serde::Serialize;

use crate::{
    Basis, Constant, Estimate, Spread,
    substrate::{Held, Pot, RetentionCurve, RetentionError, retention::held},
};

/// A material. Shares hold for a column of `height`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Material {
    /// Its name.
    pub name: &'static str,
    /// Air after draining \[% of volume\].
    pub air: Constant,
    /// Water after draining \[% of volume\].
    pub capacity: Constant,
    /// Dry mass \[g/cm³\].
    pub bulk_density: Constant,
    /// Height of the column for which it holds \[cm\].
    pub height: f64,
}

impl Material {
    /// Pores that air and water share \[% of volume\]; closed pores are not among them.
    pub fn pores(&self) -> f64 {
        self.air.value + self.capacity.value
    }

    /// Its curve of water against height, for pots of other heights than the table's.
    ///
    /// # Errors
    /// When the table's numbers make no curve.
    pub fn curve(&self) -> Result<RetentionCurve, RetentionError> {
        RetentionCurve::through(self.pores(), self.capacity.value, self.height)
    }

    /// What it holds in a pot, with the spread of the table and of the curve's shape.
    ///
    /// # Errors
    /// When the table's numbers make no curve.
    pub fn in_pot(&self, pot: &Pot) -> Result<Held, RetentionError> {
        let capacity = Estimate::spread(self.capacity.value, self.capacity.spread);
        held(self.pores(), &capacity, self.height, pot)
    }
}

const NC_STATE: &str = "porometer values in Int. J. Agronomy 2012:978528, table 1";
const EVANS: &str = "Evans, Konduru & Stamps 1996, HortScience 31:965-967, five lots of coir dust";
const MEMORY: &str = "handbooks of container media; measure your own";

/// Height of the column in porometers.
const COLUMN: Constant = Constant {
    name: "height of a porometer",
    value: 7.6,
    unit: "cm",
    spread: Sd(0.3),
    basis: Memory,
    source: "cylinders of 7.6 cm as used by the laboratories of the table",
};

macro_rules! material {
    ($name:literal, $air:expr, $air_spread:expr, $capacity:expr, $capacity_spread:expr,
     $bulk:expr, $bulk_spread:expr, $basis:expr, $source:expr) => {
        Material {
            name: $name,
            air: Constant {
                name: concat!($name, ", air"),
                value: $air,
                unit: "%",
                spread: $air_spread,
                basis: $basis,
                source: $source,
            },
            capacity: Constant {
                name: concat!($name, ", container capacity"),
                value: $capacity,
                unit: "%",
                spread: $capacity_spread,
                basis: $basis,
                source: $source,
            },
            bulk_density: Constant {
                name: concat!($name, ", bulk density"),
                value: $bulk,
                unit: "g/cm³",
                spread: $bulk_spread,
                basis: $basis,
                source: $source,
            },
            height: COLUMN.value,
        }
    };
}

use Basis::{Memory, Published};
use Spread::{Range, Sd};

/// Materials with measured or remembered values; the spread of single lots is taken as 5 points.
pub const MATERIALS: [Material; 8] = [
    material!("sphagnum peat", 11.0, Sd(5.0), 87.0, Sd(5.0), 0.11, Sd(0.02), Published, NC_STATE),
    material!("pine bark", 31.0, Sd(5.0), 48.0, Sd(5.0), 0.18, Sd(0.03), Published, NC_STATE),
    material!(
        "chip residual 4.8 mm",
        28.0,
        Sd(5.0),
        57.0,
        Sd(5.0),
        0.22,
        Sd(0.03),
        Published,
        NC_STATE
    ),
    material!(
        "chip residual 9.5 mm",
        48.0,
        Sd(5.0),
        42.0,
        Sd(5.0),
        0.19,
        Sd(0.03),
        Published,
        NC_STATE
    ),
    material!(
        "coir dust",
        11.0,
        Range(9.5, 12.6),
        76.5,
        Range(73.0, 80.0),
        0.06,
        Range(0.04, 0.08),
        Published,
        EVANS
    ),
    material!(
        "coarse perlite",
        45.0,
        Range(30.0, 55.0),
        25.0,
        Range(15.0, 35.0),
        0.10,
        Range(0.07, 0.13),
        Memory,
        MEMORY
    ),
    material!(
        "orchid bark 10-20 mm",
        60.0,
        Range(50.0, 70.0),
        20.0,
        Range(12.0, 28.0),
        0.20,
        Range(0.15, 0.25),
        Memory,
        MEMORY
    ),
    material!(
        "expanded clay 8-16 mm",
        45.0,
        Range(38.0, 52.0),
        15.0,
        Range(8.0, 25.0),
        0.35,
        Range(0.28, 0.45),
        Memory,
        MEMORY
    ),
];

/// Air \[% of volume\] that is aimed at.
pub const TARGETS: [Constant; 2] = [
    Constant {
        name: "air aimed at, share of the pores",
        value: 22.5,
        unit: "% of pores",
        spread: Range(20.0, 25.0),
        basis: Published,
        source: "Purdue Extension, porosity of growing media",
    },
    Constant {
        name: "air aimed at for epiphytes",
        value: 40.0,
        unit: "% of volume",
        spread: Range(30.0, 50.0),
        basis: Basis::CommonPractice,
        source: "",
    },
];

/// The material of this name.
pub fn material(name: &str) -> Option<&'static Material> {
    MATERIALS.iter().find(|m| m.name == name)
}

pub(super) fn constants() -> Vec<Constant> {
    let mut all: Vec<_> =
        MATERIALS.iter().flat_map(|m| [m.air, m.capacity, m.bulk_density]).collect();
    all.extend(TARGETS);
    all.push(COLUMN);
    all
}

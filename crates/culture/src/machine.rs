//! What a humidifier or dehumidifier has to do, and how much it warms the room.

use serde::Serialize;

use crate::{
    Basis, Constant, Estimate, Spread,
    air::Air,
    limits::{OutOfRange, within},
};

const AIR_HEAT: Constant = Constant {
    name: "heat_of_air_by_volume",
    value: 0.33,
    unit: "W h/(m³ K)",
    spread: Spread::Range(0.32, 0.35),
    basis: Basis::Memory,
    source: "density times heat capacity of air at room temperature",
};
const AIR_CHANGE_SPREAD: Constant = habit("air_changes_log_sd", 0.5);
const PLANT_SPREAD: Constant = habit("transpiration_log_sd", 0.4);
const DERATING: Constant = Constant {
    name: "dehumidifier_at_room_conditions",
    value: 0.5,
    unit: "1",
    spread: Spread::Range(0.3, 0.7),
    basis: Basis::CommonPractice,
    source: "",
};

const fn habit(name: &'static str, value: f64) -> Constant {
    Constant {
        name,
        value,
        unit: "1",
        spread: Spread::None,
        basis: Basis::CommonPractice,
        source: "",
    }
}

/// Every constant of this module.
pub fn constants() -> Vec<Constant> {
    vec![AIR_HEAT, AIR_CHANGE_SPREAD, PLANT_SPREAD, DERATING]
}

/// What must be said beside these numbers.
pub const CAUTIONS: [&str; 3] = [
    "Ultrasonic humidifiers throw the salts of the water into the air, onto leaves and into lungs: \
     use rain or demineralised water.",
    "Standing warm water breeds germs that travel in fine droplets: empty, clean and dry a \
     humidifier every week.",
    "Electricity near water: keep plugs above the splash line and use a residual-current device.",
];

/// A room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Volume \[m³\].
    pub volume: f64,
    /// How often its air is renewed \[1/h\].
    pub air_changes: f64,
}

/// Water to take out of a room; below 0, to bring in.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Load {
    /// Once, to reach the target \[g\].
    pub once: f64,
    /// By the air that comes in, to hold it \[g/h\].
    pub by_air: Estimate,
    /// By the plants, to hold it \[g/h\].
    pub by_plants: Estimate,
    /// Both together \[g/h\].
    pub per_hour: Estimate,
    /// Both together \[L/d\].
    pub per_day: Estimate,
}

/// The load of a room from the air as it is, as it should be, and outside, and what the plants
/// give off \[g/d\].
///
/// The larger of the two numbers decides: plants go on giving off water every hour.
///
/// # Errors
/// When volume, air changes or transpiration are out of range.
pub fn load(
    room: &Room,
    now: &Air,
    target: &Air,
    outside: &Air,
    plants: f64,
) -> Result<Load, OutOfRange> {
    within("volume of the room", room.volume, "m³", 0.0, 100_000.0)?;
    within("air changes", room.air_changes, "1/h", 0.0, 100.0)?;
    within("transpiration", plants, "g/d", 0.0, 1e7)?;
    let wanted = target.absolute_humidity();
    let once = room.volume * (now.absolute_humidity() - wanted);
    let by_air = room.volume * room.air_changes * (outside.absolute_humidity() - wanted);
    let by_air = signed(by_air, AIR_CHANGE_SPREAD.value);
    let by_plants = Estimate::lognormal(plants / 24.0, PLANT_SPREAD.value);
    let value = by_air.value + by_plants.value;
    // Two independent errors: their widths add as squares, on each side apart.
    let side = |a: f64, b: f64| (a - by_air.value).hypot(b - by_plants.value);
    let per_hour = Estimate {
        value,
        lower: value - side(by_air.lower, by_plants.lower),
        upper: value + side(by_air.upper, by_plants.upper),
    };
    Ok(Load { once, by_air, by_plants, per_hour, per_day: per_hour.map(|g| g * 0.024) })
}

fn signed(value: f64, log_sd: f64) -> Estimate {
    if value < 0.0 {
        Estimate::lognormal(-value, log_sd).map(|v| -v)
    } else {
        Estimate::lognormal(value, log_sd)
    }
}

/// How much a machine warms a room \[K\] by its electric power \[W\], with the heat that the walls
/// pass \[W/K\]: P / (UA + 0.33 n V).
///
/// Vapour that plants gave off cooled the room before and gives the same heat back; only vapour
/// from outside brings more.
///
/// # Errors
/// When a number is out of range, or no heat leaves the room at all.
pub fn warming(power: f64, wall_heat: f64, room: &Room) -> Result<f64, OutOfRange> {
    within("electric power", power, "W", 0.0, 1e6)?;
    within("heat through the walls", wall_heat, "W/K", 0.0, 1e6)?;
    let lost = wall_heat + AIR_HEAT.value * room.air_changes * room.volume;
    within("heat lost", lost, "W/K", 1e-9, f64::MAX)?;
    Ok(power / lost)
}

/// A size of dehumidifier as it is sold.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SizeClass {
    /// What the box says, measured at 30 °C and 80 % \[L/d\].
    pub rated: f64,
    /// What it takes out at 20 to 22 °C and 60 to 70 % \[L/d\]: about half, from 0.3 to 0.7.
    pub at_room: Estimate,
}

/// Usual ratings of dehumidifiers \[L/d\], common practice.
const RATINGS: [f64; 8] = [6.0, 10.0, 12.0, 16.0, 20.0, 25.0, 30.0, 50.0];

/// The smallest size that takes out so much water \[L/d\], by the upper end of what is needed;
/// `None` when more than one machine is needed.
pub fn size_for(per_day: &Estimate) -> Option<SizeClass> {
    RATINGS
        .iter()
        .map(|rated| SizeClass {
            rated: *rated,
            at_room: Estimate::spread(DERATING.value, DERATING.spread).map(|d| rated * d),
        })
        .find(|size| size.at_room.value >= per_day.upper)
}

//! Refusing numbers that cannot be.

/// A number outside of what a calculation can use.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{quantity} is {value} {unit}, and was expected from {least} to {most}; correct it")]
pub struct OutOfRange {
    /// What the number is.
    pub quantity: &'static str,
    /// The number.
    pub value: f64,
    /// Its unit.
    pub unit: &'static str,
    /// The least that is taken.
    pub least: f64,
    /// The most that is taken.
    pub most: f64,
}

/// Passes a finite number within its limits.
pub(crate) fn within(
    quantity: &'static str,
    value: f64,
    unit: &'static str,
    least: f64,
    most: f64,
) -> Result<f64, OutOfRange> {
    if value >= least && value <= most {
        Ok(value)
    } else {
        Err(OutOfRange { quantity, value, unit, least, most })
    }
}

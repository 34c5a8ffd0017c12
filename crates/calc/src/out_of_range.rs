//! A number that the physics refuses, placed in its cell.

use culture::OutOfRange;

use crate::{Problem, table::Row};

/// The problem of a row whose column holds a number outside of its limits.
pub fn cell(row: &Row<'_>, column: &str, error: &OutOfRange) -> Problem {
    row.refuse(column, limits(error), "correct the cell")
}

/// The limits in words, to stand after "is not".
pub fn limits(error: &OutOfRange) -> String {
    let unit = if error.unit == "1" { "" } else { error.unit };
    let range = match (error.least, error.most) {
        (least, most) if most >= f64::MAX => format!("from {least} {unit}"),
        (least, most) => format!("from {least} to {most} {unit}"),
    };
    format!("a {} {}", error.quantity, range.trim_end())
}

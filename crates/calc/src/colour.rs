//! `umbel calc colour`.

use std::path::PathBuf;

use clap::Args;
use imaging::{ColourError, Lab, Srgb8, ciede2000};
use serde_json::Value;

use crate::{
    Problem, Result,
    table::{Input, Row},
};

/// How far apart two colours are, or CIELAB of a colour in hexadecimal
#[derive(Debug, Args)]
pub struct ColourArgs {
    /// A CSV with the columns L1, a1, b1, L2, a2, b2 (gives dE00), or hex (gives L65, a65, b65, L50, a50,
    /// b50, C65, h65), or all of them
    #[arg(default_value = "-")]
    pub file: PathBuf,
}

/// The columns of two colours.
const PAIR: [[&str; 3]; 2] = [["L1", "a1", "b1"], ["L2", "a2", "b2"]];
/// What is calculated from them.
const APART: [&str; 1] = ["dE00"];
/// The column of one colour.
const HEX: &str = "hex";
/// What is calculated from it.
const SEEN: [&str; 8] = ["L65", "a65", "b65", "L50", "a50", "b50", "C65", "h65"];

/// Runs it.
pub fn run(args: &ColourArgs) -> Result {
    let input = Input::read(&args.file)?;
    let pair = PAIR.iter().flatten().any(|column| input.has(column));
    let hex = input.has(HEX);
    if !pair && !hex {
        return Err(Problem::input(
            format!("{}, row 1: neither the columns L1,a1,b1,L2,a2,b2 nor hex", input.file()),
            "name the columns so, or give one column hex with colours such as #2E8B57",
        ));
    }
    let mut new = Vec::new();
    if pair {
        new.extend(APART);
    }
    if hex {
        new.extend(SEEN);
    }
    input.each_row(&new, |row| {
        let mut cells = Vec::with_capacity(new.len());
        if pair {
            cells.push(ciede2000(lab(row, PAIR[0])?, lab(row, PAIR[1])?).into());
        }
        if hex {
            cells.extend(seen(row)?);
        }
        Ok(cells)
    })
}

/// A colour from three cells.
fn lab(row: &Row<'_>, columns: [&str; 3]) -> Result<Lab> {
    let [l, a, b] = columns;
    let numbers = [row.number(l)?, row.number(a)?, row.number(b)?];
    Lab::checked(numbers[0], numbers[1], numbers[2]).map_err(|e| match e {
        ColourError::OutOfRange { coordinate, low, high, .. } => {
            let column = match coordinate {
                "L" => l,
                "a" => a,
                _ => b,
            };
            row.refuse(column, format!("a number from {low} to {high}"), "correct the cell")
        }
        other => row.refuse(l, other, "correct the cell"),
    })
}

/// CIELAB of a pixel, under both whites.
fn seen(row: &Row<'_>) -> Result<Vec<Value>> {
    let text = row.text(HEX).unwrap_or("");
    let light = text
        .parse::<Srgb8>()
        .map_err(|_| row.refuse(HEX, "a colour in hexadecimal", "write it as #2E8B57"))?
        .linear();
    let (d65, d50) = (light.lab_d65(), light.lab_d50());
    let numbers = [d65.l, d65.a, d65.b, d50.l, d50.a, d50.b, d65.chroma(), d65.hue()];
    Ok(numbers.map(Value::from).to_vec())
}

//! `umbel calc feed`.

use std::path::PathBuf;

use clap::Args;
use culture::feed::{Label, Nutrients, ec25, label_slope, ppm_from_conductivity, tank};
use serde_json::Value;

use crate::{
    Found, Problem, Result, Table, out_of_range,
    table::{Input, Row},
};

/// Fertiliser: label to mg/L, tanks, conductivity
#[derive(Debug, Args)]
#[command(after_help = "\
With N_pct, P2O5_pct, K2O_pct and either g_per_L or target_ppm_N: adds g_per_L, ppm_N, ppm_P, ppm_K.
With tank as well: rows of one tank are followed by a row of their total, marked in the column total.
With label_ppm, label_ec, water_ec, measured_ec: adds ppm_from_ec.
With ec, T_C and, unless it is 0.02 for each kelvin, coefficient: adds ec25.
ppm is mg/L, ec is mS/cm. Keep fertiliser away from children, pets and food.")]
pub struct FeedArgs {
    /// A CSV with the columns of one or more of the three groups below
    pub file: PathBuf,
}

const MEASURED: [&str; 4] = ["label_ppm", "label_ec", "water_ec", "measured_ec"];
const LABEL: [&str; 4] = ["g_per_L", "ppm_N", "ppm_P", "ppm_K"];

/// Which groups of columns there are.
struct Wanted {
    label: bool,
    ppm: bool,
    ec25: bool,
    tank: bool,
}

/// Runs it.
pub fn run(args: &FeedArgs) -> Result {
    let input = Input::read(&args.file)?;
    let wanted = Wanted {
        label: input.has("N_pct"),
        ppm: MEASURED.iter().all(|c| input.has(c)),
        ec25: input.has("ec") && input.has("T_C"),
        tank: input.has("N_pct") && input.has("tank"),
    };
    if !(wanted.label || wanted.ppm || wanted.ec25) {
        return Err(Problem::input(
            format!(
                "{}, row 1: “{}” has neither N_pct, nor {}, nor ec and T_C",
                input.file(),
                input.header().join(","),
                MEASURED.join(", ")
            ),
            "give the columns of a label, of a measured feed, or of a reading; see --help",
        ));
    }
    let mut new: Vec<&str> = Vec::new();
    if wanted.label {
        new.extend(LABEL.iter().filter(|c| **c != "g_per_L" || !input.has("g_per_L")));
    }
    new.extend(wanted.ppm.then_some("ppm_from_ec"));
    new.extend(wanted.ec25.then_some("ec25"));
    new.extend(wanted.tank.then_some("total"));
    // A column of the input that is called like a calculated one gives way to it.
    new.retain(|c| !input.has(c));
    let mut table =
        Table::new(input.header().iter().map(String::as_str).chain(new.iter().copied()));
    let columns = table.columns.clone();
    let set = |cells: &mut Vec<Value>, column: &str, value: Value| {
        if let Some(at) = columns.iter().position(|c| c == column) {
            cells[at] = value;
        }
    };
    let mut tanks = Tanks::default();
    let last_of = last_rows(&input, &wanted);
    for (at, row) in input.each().enumerate() {
        let mut cells = row.cells();
        cells.resize(columns.len(), Value::Null);
        if wanted.label {
            let (label, has, grams) = label_of(&row)?;
            fill(&set, &mut cells, grams, &label.at(grams), has);
            tanks.add(row.text("tank"), label, grams, has);
        }
        if wanted.ppm {
            set(&mut cells, "ppm_from_ec", ppm_of(&row)?.into());
        }
        if wanted.ec25 {
            set(&mut cells, "ec25", ec25_of(&row)?.into());
        }
        if wanted.tank {
            set(&mut cells, "total", false.into());
        }
        table.row(cells);
        for name in last_of.iter().filter(|(_, last)| *last == at).map(|(n, _)| n.as_str()) {
            if let Some(one) = tanks.get(name) {
                let mut cells = vec![Value::Null; columns.len()];
                set(&mut cells, "tank", crate::table::repeated(name));
                set(&mut cells, "total", true.into());
                fill(&set, &mut cells, one.grams, &tank(&one.parts), one.has);
                table.row(cells);
            }
        }
    }
    Ok(Found::rows(table))
}

/// The tanks in order of their last row, with that row.
fn last_rows(input: &Input, wanted: &Wanted) -> Vec<(String, usize)> {
    let mut last: Vec<(String, usize)> = Vec::new();
    if !wanted.tank {
        return last;
    }
    for (at, row) in input.each().enumerate() {
        let Some(name) = row.text("tank") else { continue };
        match last.iter_mut().find(|(n, _)| n == name) {
            Some((_, l)) => *l = at,
            None => last.push((name.to_owned(), at)),
        }
    }
    last
}

/// Which of phosphate and potash are known: both are left blank where they are not.
#[derive(Clone, Copy)]
struct Has {
    phosphate: bool,
    potash: bool,
}

struct OneTank {
    name: String,
    parts: Vec<(Label, f64)>,
    grams: f64,
    has: Has,
}

#[derive(Default)]
struct Tanks(Vec<OneTank>);

impl Tanks {
    fn add(&mut self, name: Option<&str>, label: Label, grams: f64, has: Has) {
        let Some(name) = name else { return };
        match self.0.iter_mut().find(|t| t.name == name) {
            Some(one) => {
                one.parts.push((label, grams));
                one.grams += grams;
                one.has.phosphate &= has.phosphate;
                one.has.potash &= has.potash;
            }
            None => self.0.push(OneTank {
                name: name.to_owned(),
                parts: vec![(label, grams)],
                grams,
                has,
            }),
        }
    }

    fn get(&self, name: &str) -> Option<&OneTank> {
        self.0.iter().find(|t| t.name == name)
    }
}

fn fill(
    set: &impl Fn(&mut Vec<Value>, &str, Value),
    cells: &mut Vec<Value>,
    grams: f64,
    found: &Nutrients,
    has: Has,
) {
    set(cells, "g_per_L", grams.into());
    set(cells, "ppm_N", found.nitrogen.into());
    set(cells, "ppm_P", has.phosphate.then_some(found.phosphorus).into());
    set(cells, "ppm_K", has.potash.then_some(found.potassium).into());
}

/// The label of a row, and its amount \[g/L\], given or from the nitrogen wanted.
fn label_of(row: &Row<'_>) -> Result<(Label, Has, f64)> {
    let nitrogen = row.number("N_pct")?;
    let (phosphate, potash) = (row.maybe("P2O5_pct")?, row.maybe("K2O_pct")?);
    let has = Has { phosphate: phosphate.is_some(), potash: potash.is_some() };
    let label = Label::npk(nitrogen, phosphate.unwrap_or(0.0), potash.unwrap_or(0.0))
        .map_err(|e| out_of_range::cell(row, label_column(e.quantity), &e))?;
    let given = row.maybe("g_per_L")?;
    if given.is_some_and(|g| !(0.0..=2000.0).contains(&g)) {
        return Err(row.refuse("g_per_L", "an amount from 0 to 2000 g/L", "correct the cell"));
    }
    let from_target = match row.maybe("target_ppm_N")? {
        Some(target) => Some(label.for_nitrogen(target).map_err(|e| {
            let column = if e.quantity == "nitrogen wanted" { "target_ppm_N" } else { "N_pct" };
            out_of_range::cell(row, column, &e)
        })?),
        None => None,
    };
    match (given, from_target) {
        (Some(grams), None) | (None, Some(grams)) => Ok((label, has, grams)),
        // Both are taken when they say the same, to the four digits that tables print.
        (Some(grams), Some(other)) if (grams - other).abs() <= 1e-3 * other.abs() => {
            Ok((label, has, grams))
        }
        (Some(_), Some(other)) => Err(row.refuse(
            "g_per_L",
            format!("the {other} g/L that target_ppm_N needs"),
            "give one of the two",
        )),
        (None, None) => Err(row.refuse("g_per_L", "an amount", "give g_per_L or target_ppm_N")),
    }
}

fn label_column(quantity: &str) -> &'static str {
    match quantity {
        "P2O5 of the label" => "P2O5_pct",
        "K2O of the label" => "K2O_pct",
        _ => "N_pct",
    }
}

fn ppm_of(row: &Row<'_>) -> Result<f64> {
    let at_label = (row.number("label_ppm")?, row.number("label_ec")?);
    let slope = label_slope(Some(at_label)).map_err(|e| {
        let column = if e.unit == "mg/L" { "label_ppm" } else { "label_ec" };
        out_of_range::cell(row, column, &e)
    })?;
    let water = row.number("water_ec")?;
    if !(0.0..=100.0).contains(&water) {
        return Err(row.refuse("water_ec", "from 0 to 100 mS/cm", "correct the cell"));
    }
    let measured = row.number("measured_ec")?;
    if !(water..=200.0).contains(&measured) {
        return Err(row.refuse(
            "measured_ec",
            format!("from the {water} mS/cm of the water to 200 mS/cm"),
            "measure both again; feed conducts at least as well as its water",
        ));
    }
    Ok(ppm_from_conductivity(measured, water, slope.value))
}

fn ec25_of(row: &Row<'_>) -> Result<f64> {
    let (reading, temperature) = (row.number("ec")?, row.number("T_C")?);
    let found =
        ec25(reading, temperature, row.maybe("coefficient")?).map_err(|e| match e.quantity {
            "coefficient" => row.refuse(
                "coefficient",
                out_of_range::limits(&e),
                "write 0.02 for 2 % for each kelvin",
            ),
            "conductivity" => out_of_range::cell(row, "ec", &e),
            _ => out_of_range::cell(row, "T_C", &e),
        })?;
    Ok(found.value)
}

//! `umbel calc index`.

use std::path::PathBuf;

use clap::Args;
use serde_json::{Map, Value, json};
use stats::selection::{Covariances, Index, SelectionError, Warning, intensity};

use crate::{Found, Problem, Result, Table, table};

/// One number of several traits: by worth, by the gains wanted, or with some held still
#[derive(Debug, Args)]
#[command(after_help = "\
FILE is JSON: {\"P\": [[…]], \"G\": [[…]], \"weights\": […], \"intensity\": 1.755,
\"desired_gains\": […], \"restricted\": [1]}. P and G are the phenotypic and the genetic covariance
matrix. Traits to be held still are numbered from 1. Without an intensity there are no responses.")]
pub struct IndexArgs {
    /// A JSON file with matrices and weights, or - for standard input
    #[arg(value_name = "FILE", required_unless_present = "intensity_of")]
    pub file: Option<PathBuf>,
    /// The intensity when the best K of N are kept; alone it is all that is printed
    #[arg(long, value_name = "K,N", value_parser = pair)]
    pub intensity_of: Option<(u64, u64)>,
}

/// What is asked in the file.
struct Asked {
    known: Covariances,
    weights: Option<Vec<f64>>,
    intensity: Option<f64>,
    desired: Option<Vec<f64>>,
    restricted: Option<Vec<usize>>,
    warnings: Vec<String>,
}

/// The names that the file may have.
const NAMES: [&str; 6] = ["P", "G", "weights", "intensity", "desired_gains", "restricted"];

fn pair(typed: &str) -> std::result::Result<(u64, u64), String> {
    let whole = |text: &str| text.trim().parse::<u64>().ok();
    let read = typed.split_once(',').and_then(|(k, n)| Some((whole(k)?, whole(n)?)));
    read.ok_or_else(|| "expected two whole numbers, such as 5,100".to_owned())
}

/// Runs it.
pub fn run(args: &IndexArgs) -> Result {
    let finite = match args.intensity_of {
        Some((selected, of)) => {
            Some(intensity(selected, of).map_err(|e| problem("--intensity-of", &e))?)
        }
        None => None,
    };
    let Some(path) = &args.file else {
        let mut table = Table::new(["i"]);
        table.row(vec![finite.into()]);
        return Found::one(&json!({ "i": finite }), table);
    };
    let (text, file) = table::text(path)?;
    let mut asked = read(&text, &file)?;
    if finite.is_some() {
        asked.intensity = finite;
    }
    answer(&asked, &file)
}

fn answer(asked: &Asked, file: &str) -> Result {
    let failed = |e: SelectionError| problem(file, &e);
    let none = vec![0.0; asked.known.traits()];
    let weights = asked.weights.as_deref();
    let mut warnings = asked.warnings.clone();
    warnings.extend(asked.known.warnings().into_iter().map(|w| w.text().to_owned()));
    let best = weights.map(|w| asked.known.smith_hazel(w)).transpose().map_err(failed)?;
    let mut out = match &best {
        Some(index) => said(index, asked, &mut warnings),
        None => Map::new(),
    };
    out.insert("intensity".into(), asked.intensity.into());
    if let Some(gains) = &asked.desired {
        let index = asked.known.desired_gains(gains, weights.unwrap_or(&none)).map_err(failed)?;
        let mut more = said(&index, asked, &mut warnings);
        more.insert("gains_per_unit_i".into(), json!(index.gains));
        more.insert("i_needed".into(), json!(index.sd));
        out.insert("desired_gains".into(), more.into());
    }
    if let Some(held) = &asked.restricted {
        let Some(weights) = weights else {
            return Err(Problem::input(
                format!("{file}: restricted is given without weights"),
                "give weights, a number for each trait",
            ));
        };
        let index = asked.known.restricted(weights, held).map_err(failed)?;
        let more = said(&index, asked, &mut warnings);
        out.insert("restricted".into(), more.into());
    }
    warnings.dedup();
    out.insert("warnings".into(), json!(warnings));
    Found::one(&Value::Object(out), as_table(best.as_ref(), asked))
}

/// An index in the words of the face.
fn said(index: &Index, asked: &Asked, warnings: &mut Vec<String>) -> Map<String, Value> {
    // Rounding may leave an accuracy of 1 a little above.
    if index.accuracy.is_some_and(|a| a > 1.0 + 1e-9) {
        let text = Warning::Accuracy.text().to_owned();
        if !warnings.contains(&text) {
            warnings.push(text);
        }
    }
    let i = asked.intensity;
    let worth = asked.weights.is_some();
    let aggregate = index.aggregate.filter(|_| worth).zip(i).map(|(a, i)| a * i);
    let traits: Vec<Option<f64>> =
        index.gains.iter().map(|g| g.zip(i).map(|(g, i)| g * i)).collect();
    let mut out = Map::new();
    out.insert("b".into(), json!(index.b));
    out.insert("sd_index".into(), json!(index.sd));
    out.insert("response_aggregate".into(), json!(aggregate));
    out.insert("response_traits".into(), json!(traits));
    out.insert("accuracy".into(), json!(index.accuracy.filter(|_| worth)));
    out
}

fn as_table(best: Option<&Index>, asked: &Asked) -> Table {
    let mut table = Table::new(["trait", "b", "response"]);
    for (t, b) in best.iter().flat_map(|index| index.b.iter().enumerate()) {
        let gain = best.and_then(|index| index.gains[t]);
        let response = gain.zip(asked.intensity).map(|(g, i)| g * i);
        table.row(vec![(t + 1).into(), (*b).into(), response.into()]);
    }
    table
}

fn read(text: &str, file: &str) -> Result<Asked> {
    let value: Value = serde_json::from_str(text).map_err(|e| {
        let what = format!("{file}, line {}, column {}: {e}", e.line(), e.column());
        Problem::input(what, "write JSON as `umbel calc index --help` shows")
    })?;
    let Value::Object(map) = value else {
        let what = format!("{file}: “{value}” is not an object with P and G");
        return Err(Problem::input(what, "write {\"P\": [[…]], \"G\": [[…]], …}"));
    };
    let given = |name: &str| map.get(name).filter(|v| !v.is_null());
    let needed = |name: &str| {
        given(name).ok_or_else(|| {
            Problem::input(format!("{file}: there is no {name}"), "give it as a list of rows")
        })
    };
    let (p, g) = (matrix(file, "P", needed("P")?)?, matrix(file, "G", needed("G")?)?);
    let known = Covariances::new(&p, &g).map_err(|e| problem(file, &e))?;
    let list = |name: &str| given(name).map(|v| numbers(file, name, v)).transpose();
    let (weights, desired) = (list("weights")?, list("desired_gains")?);
    if weights.is_none() && desired.is_none() {
        let what = format!("{file}: there are neither weights nor desired_gains");
        return Err(Problem::input(what, "give one of them, a number for each trait"));
    }
    let intensity = given("intensity").map(|v| number(file, "intensity", v)).transpose()?;
    if let Some(i) = intensity.filter(|i| *i < 0.0) {
        let what = format!("{file}: the intensity “{i}” is not a number from 0 on");
        return Err(Problem::input(what, "take it from --intensity-of K,N"));
    }
    let restricted = given("restricted").map(|v| traits(file, v)).transpose()?;
    let others = map.keys().filter(|k| !NAMES.contains(&k.as_str()));
    let warnings =
        others.map(|k| format!("“{k}” is no name that is known, and was not used")).collect();
    Ok(Asked { known, weights, intensity, desired, restricted, warnings })
}

fn number(file: &str, place: &str, value: &Value) -> Result<f64> {
    value.as_f64().filter(|v| v.is_finite()).ok_or_else(|| {
        let shown = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
        let what = format!("{file}, {place}: “{shown}” is not a number");
        Problem::input(what, "write numbers without quotes, with a dot for the decimals")
    })
}

fn numbers(file: &str, place: &str, value: &Value) -> Result<Vec<f64>> {
    let Value::Array(list) = value else {
        let what = format!("{file}, {place}: “{value}” is not a list of numbers");
        return Err(Problem::input(what, "write it in brackets, such as [1, 0.5]"));
    };
    let each = list.iter().enumerate();
    each.map(|(i, v)| number(file, &format!("{place}, number {}", i + 1), v)).collect()
}

fn matrix(file: &str, name: &str, value: &Value) -> Result<Vec<Vec<f64>>> {
    let Value::Array(rows) = value else {
        let what = format!("{file}, {name}: “{value}” is not a list of rows");
        return Err(Problem::input(what, "write it as [[1, 0.2], [0.2, 1]]"));
    };
    let each = rows.iter().enumerate();
    each.map(|(i, row)| numbers(file, &format!("{name}, row {}", i + 1), row)).collect()
}

/// Numbers of traits from 1, as they are counted here from 0.
fn traits(file: &str, value: &Value) -> Result<Vec<usize>> {
    let read = |v: &f64| {
        // Exact: a whole number that is no fraction and no negative one.
        (v.fract() == 0.0 && *v >= 1.0 && *v <= 1e6).then(|| *v as usize - 1).ok_or_else(|| {
            let what = format!("{file}, restricted: “{v}” is not the number of a trait");
            Problem::input(what, "number traits from 1")
        })
    };
    numbers(file, "restricted", value)?.iter().map(read).collect()
}

fn problem(place: &str, error: &SelectionError) -> Problem {
    let text = error.to_string();
    let (what, next) = text.rsplit_once("; ").unwrap_or((&text, "correct the file"));
    Problem::input(format!("{place}: {what}"), next)
}

//! `umbel calc mixed`.

use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::{Value, json};
use stats::{
    mixed::{InverseRelation, MixedError, MixedFit, Random, Settings, ZeroTest, fit, test_zero},
    model::{Fixed, Frame, RandomSpec, RandomTerm, split_terms},
};

use crate::{
    Found, Problem, Result, Table,
    descent::{DescentArgs, pedigree},
    model::{Terms, coefficient, in_file, random},
    table::Input,
};

/// Variances, effects and breeding values from records: linear mixed models
#[derive(Debug, Args)]
#[command(after_help = "\
Variances are called by their random term, those of slopes x|g by g and g:x, those of a pedigree
additive and permanent, that of the rest residual.")]
pub struct MixedArgs {
    /// A table with one row for each record
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// The column of what was measured
    #[arg(long, value_name = "COLUMN")]
    pub response: String,
    #[command(flatten)]
    pub terms: Terms,
    /// Random terms: g, g:h, g/h (h within g), x|g (an intercept and a slope on x, correlated),
    /// mm(a,b) (one effect for each parent, whichever side)
    #[arg(long, value_name = "TERM,…")]
    pub random: Option<String>,
    /// A table of parents (id, seed_parent, pollen_parent, clone_of): individuals are as alike as
    /// their descent says
    #[arg(long, value_name = "FILE", requires = "individual")]
    pub pedigree: Option<PathBuf>,
    /// The column of the individual
    #[arg(long, value_name = "COLUMN")]
    pub individual: Option<String>,
    /// Gives each individual with records a lasting effect that it does not pass on
    #[arg(long, requires = "individual")]
    pub permanent: bool,
    /// Variances that are given; the others are estimated by restricted maximum likelihood
    #[arg(long, value_name = "NAME=VALUE,…")]
    pub variances: Option<String>,
    /// Tests each random term against its absence (of a term with slopes, the slopes)
    #[arg(long)]
    pub test: bool,
}

/// What the variance of breeding values is called.
const ADDITIVE: &str = "additive";
/// What that of lasting effects of individuals is called.
const PERMANENT: &str = "permanent";

/// Runs it.
pub fn run(args: &MixedArgs) -> Result {
    let input = Input::read(&args.file)?;
    let response = response(&input, &args.response)?;
    let terms = args.terms.read()?;
    let specs = random("--random", args.random.as_deref())?;
    let frame = args.terms.frame(&input, &terms, &specs)?;
    let fixed = Fixed::build(&frame, &terms).map_err(|e| in_file(&input, &e))?;
    let random = random_terms(&input, args, &frame, &specs)?;
    let settings = Settings { given: given(args.variances.as_deref())?, ..Settings::default() };
    let found = fit(&response, &fixed, &random, &settings);
    let found = found.map_err(|e| problem(&input, &e))?;
    let mut tests = Vec::new();
    if args.test {
        for r in &random {
            let test = test_zero(&response, &fixed, &random, &settings, &r.name);
            tests.push(test.map_err(|e| problem(&input, &e))?);
        }
    }
    Found::one(&as_json(&found, args.test.then_some(&tests)), as_table(&found))
}

fn response(input: &Input, column: &str) -> Result<Vec<f64>> {
    let cells = input.numbers(column)?.into_iter().zip(2..);
    cells
        .map(|(value, row)| {
            value.ok_or_else(|| {
                let next = "fill the cell in, or leave the row out";
                Problem::cell(input.file(), row, column, "", "a number", next)
            })
        })
        .collect()
}

/// The random terms, those of individuals last.
fn random_terms(
    input: &Input,
    args: &MixedArgs,
    frame: &Frame,
    specs: &[RandomSpec],
) -> Result<Vec<Random>> {
    let mut random = Vec::new();
    for spec in specs {
        let term = RandomTerm::build(frame, spec).map_err(|e| in_file(input, &e))?;
        random.push(Random::independent(term));
    }
    let Some(column) = &args.individual else { return Ok(random) };
    if args.pedigree.is_none() && !args.permanent {
        return Err(Problem::input(
            format!("--individual {column}: nothing is asked of the individuals"),
            "give --pedigree, --permanent or both",
        ));
    }
    if let Some(path) = &args.pedigree {
        random.push(additive(input, column, path)?);
    }
    if args.permanent {
        let words = input.column(column)?.into_iter().map(|(_, word)| word.to_owned()).collect();
        let frame = Frame::new(input.len()).with(column, stats::model::Column::Words(words));
        let spec = RandomSpec::Intercept(vec![column.clone()]);
        let term = frame.and_then(|frame| RandomTerm::build(&frame, &spec));
        let term = term.map_err(|e| in_file(input, &e))?;
        random.push(Random { name: PERMANENT.to_owned(), ..Random::independent(term) });
    }
    Ok(random)
}

/// Breeding values of all individuals of the pedigree, those without records too.
fn additive(input: &Input, column: &str, path: &Path) -> Result<Random> {
    let parents = Input::read(path)?;
    let known = pedigree(&parents, &DescentArgs::parents(path.to_path_buf()))?;
    let failed = |what: String, next: &str| {
        Problem::input(format!("{}: {what}", parents.file()), next.to_owned())
    };
    let mut levels: Vec<String> = Vec::new();
    let mut place = std::collections::HashMap::new();
    for id in known.ids() {
        // Pieces of a clone are one individual.
        if known.clone_id(id).is_ok_and(|own| own == id) {
            place.insert(id.to_owned(), levels.len());
            levels.push(id.to_owned());
        }
    }
    let inverse = known.inverse().map_err(|e| {
        let text = e.to_string();
        let (what, next) = text.rsplit_once("; ").unwrap_or((&text, "correct the table"));
        failed(what.to_owned(), next)
    })?;
    let triplets: Vec<(usize, usize, f64)> =
        inverse.iter().map(|e| (place[&e.a], place[&e.b], e.value)).collect();
    let inverse = InverseRelation::new(levels.len(), &triplets);
    let inverse = inverse.map_err(|e| {
        failed(e.to_string(), "look for individuals without a variance of their own")
    })?;
    let mut index = Vec::with_capacity(input.len());
    for (row, id) in input.column(column)? {
        let own = known.clone_id(id).map_err(|_| {
            let expected = format!("an individual of {}", parents.file());
            let next = "add it to the pedigree, without parents if they are unknown";
            Problem::cell(input.file(), row, column, id, expected, next)
        })?;
        index.push(place[own] as u32);
    }
    let term = RandomTerm { name: ADDITIVE.to_owned(), levels, index, members: 1, slope: None };
    Ok(Random::related(ADDITIVE, term, inverse))
}

/// Variances that are given.
fn given(typed: Option<&str>) -> Result<Vec<(String, f64)>> {
    let mut given: Vec<(String, f64)> = Vec::new();
    for pair in split_terms(typed.unwrap_or("")) {
        let read = pair.rsplit_once('=').and_then(|(name, value)| {
            let value = value.trim().parse::<f64>().ok().filter(|v| v.is_finite())?;
            Some((name.trim().to_owned(), value))
        });
        let Some((name, value)) = read else {
            return Err(Problem::input(
                format!("--variances: “{pair}” is not NAME=NUMBER"),
                "write it as --variances additive=4,residual=6",
            ));
        };
        if given.iter().any(|(n, _)| *n == name) {
            let what = format!("--variances: {name} is given twice");
            return Err(Problem::input(what, "leave one of them out"));
        }
        given.push((name, value));
    }
    Ok(given)
}

fn as_json(found: &MixedFit, tests: Option<&Vec<ZeroTest>>) -> Value {
    let terms: Vec<Value> =
        found.terms.iter().map(|t| coefficient(&t.coefficient, t.estimate, Some(t.se))).collect();
    let mut value = json!({
        "terms": terms,
        "variances": found.variances,
        "covariances": found.covariances,
        "log_restricted_likelihood": found.log_restricted_likelihood,
        "levels": found.levels,
        "n": found.n,
        "iterations": found.iterations,
        "gradient_norm": found.gradient_norm,
    });
    if let Some(tests) = tests {
        value["tests"] = json!(tests);
    }
    value
}

fn as_table(found: &MixedFit) -> Table {
    let mut table =
        Table::new(["group", "level", "estimate", "pev", "conditional_sd", "reliability"]);
    for l in &found.levels {
        table.row(vec![
            l.group.clone().into(),
            l.level.clone().into(),
            l.estimate.into(),
            l.pev.into(),
            l.conditional_sd.into(),
            l.reliability.into(),
        ]);
    }
    table
}

/// Places an error in the file; what has no end is told from what cannot be read.
fn problem(input: &Input, error: &MixedError) -> Problem {
    if let MixedError::Model(e) = error {
        return in_file(input, e);
    }
    let text = error.to_string();
    let (what, next) = text.rsplit_once("; ").unwrap_or((&text, "correct the table"));
    let what = format!("{}: {what}", input.file());
    match error {
        MixedError::NotReached { .. }
        | MixedError::NotIdentified { .. }
        | MixedError::ResidualZero => Problem::unfinished(what, next),
        _ => Problem::input(what, next),
    }
}

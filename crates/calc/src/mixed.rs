//! `umbel calc mixed`.

use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};
use stats::{
    mixed::{
        LevelEffect, MixedError, MixedFit, Random, Relation, Settings, ZeroTest, chance_best,
        draws, fit, test_zero,
    },
    model::{Fixed, Frame, RandomSpec, RandomTerm, split_terms},
    random::Random as Dice,
};

use crate::{
    Found, Problem, Result, Table, breeding,
    lines::Parents,
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
    /// The column of how many measurements a record is the mean of: its residual variance is that of
    /// one over them
    #[arg(long, value_name = "COLUMN")]
    pub weight: Option<String>,
    /// The column of the known variance of each record's own error, in the place of a residual
    /// variance
    #[arg(long, value_name = "COLUMN", conflicts_with = "weight")]
    pub record_variance: Option<String>,
    /// Tests each random term against its absence (of a term with slopes, the slopes)
    #[arg(long)]
    pub test: bool,
    /// Draws effects together this many times and tells how often each level is the highest of its
    /// group
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pub draws: Option<u32>,
    /// Where the draws begin: the same number draws the same
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub seed: u64,
}

/// What the variance of breeding values is called.
pub const ADDITIVE: &str = "additive";
/// What that of lasting effects of individuals is called.
pub const PERMANENT: &str = "permanent";

/// Runs it.
pub fn run(args: &MixedArgs) -> Result {
    let input = Input::read(&args.file)?;
    let response = response(&input, &args.response)?;
    let terms = args.terms.read()?;
    let specs = random("--random", args.random.as_deref())?;
    let frame = args.terms.frame(&input, &terms, &specs)?;
    let fixed = Fixed::build(&frame, &terms).map_err(|e| in_file(&input, &e))?;
    let weights = weights(&input, args)?;
    let mut given = given(args.variances.as_deref())?;
    if args.record_variance.is_some() {
        given_residual(&mut given)?;
    }
    let parents = args.pedigree.as_deref().map(Parents::read).transpose()?;
    let (mut random, settings) = (
        random_terms(&input, args, &frame, &specs, parents.as_ref())?,
        Settings { given, weights, ..Settings::default() },
    );
    if let (Some(parents), false) = (&parents, args.test)
        && let Some(asked) = breeding::Asked::of(parents, &random, &settings)?
    {
        return asked.answer(&input, args, &response, &fixed);
    }
    for r in random.iter_mut().filter(|r| r.name == ADDITIVE) {
        if let Some(parents) = &parents {
            r.relation = Relation::Inverse(parents.inverse()?);
        }
    }
    let found = fit(&response, &fixed, &random, &settings);
    let found = found.map_err(|e| problem(&input, &e))?;
    let mut tests = Vec::new();
    if args.test {
        for r in &random {
            let test = test_zero(&response, &fixed, &random, &settings, &r.name);
            tests.push(test.map_err(|e| problem(&input, &e))?);
        }
    }
    let mut value = as_json(&found, args.test.then_some(&tests));
    if let Some(count) = args.draws {
        let mut dice = Dice::new(args.seed);
        let drawn = draws(&response, &fixed, &random, &settings, count as usize, &mut dice);
        let drawn = drawn.map_err(|e| problem(&input, &e))?;
        let groups: Vec<&str> = found.levels.iter().map(|l| l.group.as_str()).collect();
        add_best(&mut value, &chance_best(&groups, &drawn.levels));
    }
    Found::one(&value, as_table(&found.levels))
}

/// Adds to each level how often it was the highest of its group.
pub fn add_best(value: &mut Value, chances: &[f64]) {
    let levels = value["levels"].as_array_mut().into_iter().flatten();
    for (level, chance) in levels.zip(chances) {
        level["chance_best"] = json!(chance);
    }
}

/// Weights of records: their measurements, or 1 over their known variances.
fn weights(input: &Input, args: &MixedArgs) -> Result<Option<Vec<f64>>> {
    let (column, variance) = match (&args.weight, &args.record_variance) {
        (Some(column), _) => (column, false),
        (None, Some(column)) => (column, true),
        (None, None) => return Ok(None),
    };
    let read = |(value, row): (Option<f64>, usize)| match value {
        Some(v) if v > 0.0 => Ok(if variance { 1.0 / v } else { v }),
        other => {
            let typed = other.map_or(String::new(), |v| v.to_string());
            let next = "correct the cell, or leave the row out";
            Err(Problem::cell(input.file(), row, column, &typed, "a number above 0", next))
        }
    };
    input.numbers(column)?.into_iter().zip(2..).map(read).collect::<Result<_>>().map(Some)
}

/// With known variances of records the residual variance is their unit.
fn given_residual(given: &mut Vec<(String, f64)>) -> Result<()> {
    if given.iter().any(|(name, _)| name == stats::mixed::RESIDUAL) {
        return Err(Problem::input(
            "--variances: residual is given beside --record-variance, which takes its place",
            "leave one of them out",
        ));
    }
    given.push((stats::mixed::RESIDUAL.to_owned(), 1.0));
    Ok(())
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
    parents: Option<&Parents>,
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
    if let Some(parents) = parents {
        // All individuals of the pedigree, those without records too.
        let (levels, index) = (parents.levels.clone(), parents.of_records(input, column)?);
        let name = ADDITIVE.to_owned();
        let term = RandomTerm { name, levels, index, members: 1, slope: None };
        random.push(Random { name: ADDITIVE.to_owned(), ..Random::independent(term) });
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

fn as_table(levels: &[LevelEffect]) -> Table {
    let mut table =
        Table::new(["group", "level", "estimate", "pev", "conditional_sd", "reliability"]);
    for l in levels {
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
pub fn problem(input: &Input, error: &MixedError) -> Problem {
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

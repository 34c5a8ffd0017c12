//! `umbel calc success`.

use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};
use stats::{
    laplace::{LaplaceError, LevelMode},
    model::{Frame, RandomSpec, Term},
    success::{
        Batch, BetaBinomialError, Logistic, Model, NextCount, Small, Spread, SuccessError,
        beta_binomial, logistic, logistic_small,
    },
};

use crate::{
    Confidence, Found, Problem, Result, Table,
    model::{Terms, coefficient, in_file, random},
    prior,
    table::Input,
};

/// Success rates of batches: logistic models with random effects
#[derive(Debug, Args)]
pub struct SuccessArgs {
    /// A table with one row for each batch
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// The column of the successes
    #[arg(long, value_name = "COLUMN", default_value = "successes")]
    pub successes: String,
    /// The column of the trials
    #[arg(long, value_name = "COLUMN", default_value = "trials")]
    pub trials: String,
    #[command(flatten)]
    pub terms: Terms,
    /// Random terms: g, g:h, g/h (h within g), x|g (a slope on x), mm(a,b) (one effect for each
    /// parent, whichever side)
    #[arg(long, value_name = "TERM,…")]
    pub random: Option<String>,
    /// Quadrature nodes; 1 is Laplace's approximation, more need exactly one random intercept
    #[arg(long, value_name = "NUMBER", default_value_t = 1,
          value_parser = clap::value_parser!(u32).range(1..=180))]
    pub quadrature: u32,
    /// Gives each row a random effect of its own: batches differ by more than chance
    #[arg(long)]
    pub overdispersion: bool,
    /// Fits batches whose rates differ as a beta distribution, without terms
    #[arg(long, conflicts_with_all = ["random", "overdispersion", "prior", "predict", "quadrature"])]
    pub beta_binomial: bool,
    /// What is believed beforehand, as JSON: normal priors of coefficients, half-normal or gamma
    /// priors of the spread of random terms
    #[arg(long, value_name = "FILE")]
    pub prior: Option<PathBuf>,
    /// A table of rows whose rate is wanted; with a column of trials also the count of the next
    /// batch
    #[arg(long, value_name = "FILE")]
    pub predict: Option<PathBuf>,
    #[command(flatten)]
    pub confidence: Confidence,
}

/// The seed of the draws with a prior.
const SEED: u64 = 1;

/// Runs it.
pub fn run(args: &SuccessArgs) -> Result {
    let input = Input::read(&args.file)?;
    let batches = batches(&input, args)?;
    if args.beta_binomial {
        return beta(&input, args, &batches);
    }
    let terms = args.terms.read()?;
    let specs = random("--random", args.random.as_deref())?;
    let frame = args.terms.frame(&input, &terms, &specs)?;
    let wanted = args.predict.as_ref().map(|path| Wanted::read(path, args, &terms, &specs));
    let wanted = wanted.transpose()?;
    let model = Model {
        terms,
        random: specs,
        overdispersion: args.overdispersion,
        nodes: args.quadrature as usize,
        test_spread: true,
    };
    let failed = |e: SuccessError| problem(&input, args, &e);
    let Some(path) = &args.prior else {
        let fit = logistic(&batches, &frame, &model).map_err(failed)?;
        return likely(&fit, batches.len(), wanted.as_ref(), args);
    };
    let beliefs = prior::read(path)?;
    let rows = wanted.as_ref().map(|w| &w.frame);
    let confidence = args.confidence.confidence;
    let fit = logistic_small(&batches, &frame, &model, &beliefs, rows, confidence, SEED);
    believed(&fit.map_err(failed)?, batches.len(), wanted.as_ref(), args)
}

/// The beta-binomial: each row with its rate drawn towards the mean.
fn beta(input: &Input, args: &SuccessArgs, batches: &[Batch]) -> Result {
    if args.terms.typed.is_some() {
        let what = "--terms: a beta-binomial has no terms";
        return Err(Problem::input(what, "leave them out, or use --overdispersion in its place"));
    }
    let fit = beta_binomial(batches).map_err(|e| {
        let (what, next) = halves(&e.to_string());
        let what = format!("{}: {what}", input.file());
        match e {
            BetaBinomialError::Optimum(_) | BetaBinomialError::AllAlike { .. } => {
                Problem::unfinished(what, next)
            }
            _ => Problem::input(what, next),
        }
    })?;
    let mut table = Table::new(["row", "successes", "trials", "shrunk"]);
    let mut shrunk = Vec::new();
    for (i, batch) in batches.iter().enumerate() {
        let rate = fit.shrunk(*batch);
        shrunk.push(rate);
        table.row(vec![(i + 1).into(), batch.successes.into(), batch.trials.into(), rate.into()]);
    }
    let mut found = json!(fit);
    found["shrunk"] = json!(shrunk);
    Found::one(&found, table)
}

/// Reads the batches.
fn batches(input: &Input, args: &SuccessArgs) -> Result<Vec<Batch>> {
    let successes = counts(input, &args.successes)?;
    let trials = counts(input, &args.trials)?;
    let pairs = successes.into_iter().zip(trials).enumerate();
    pairs
        .map(|(i, (successes, trials))| {
            if successes <= trials {
                return Ok(Batch { successes, trials });
            }
            Err(Problem::cell(
                input.file(),
                i + 2,
                &args.successes,
                &successes.to_string(),
                format!("at most the trials, which are {trials}"),
                "correct one of the two; give the trials, not the failures",
            ))
        })
        .collect()
}

fn counts(input: &Input, column: &str) -> Result<Vec<u64>> {
    let cells = input.column(column)?;
    let read = |(row, text): (usize, &str)| {
        text.parse::<u64>().ok().filter(|n| *n <= 1 << 52).ok_or_else(|| {
            let next = "write how many; leave out a row of which nothing is known";
            Problem::cell(input.file(), row, column, text, "a whole number from 0 on", next)
        })
    };
    cells.into_iter().map(read).collect()
}

/// Rows to be predicted.
struct Wanted {
    frame: Frame,
    rows: Vec<serde_json::Map<String, Value>>,
    trials: Option<Vec<u64>>,
}

impl Wanted {
    fn read(
        path: &std::path::Path,
        args: &SuccessArgs,
        terms: &[Term],
        specs: &[RandomSpec],
    ) -> Result<Wanted> {
        let input = Input::read(path)?;
        // A reference level need not be among these rows.
        let plain = Terms { typed: args.terms.typed.clone(), reference: Vec::new() };
        let frame = plain.frame(&input, terms, specs)?;
        let there = input.has(&args.trials);
        let trials = there.then(|| counts(&input, &args.trials)).transpose()?;
        let found = input.each_row(&[], |_| Ok(Vec::new()))?;
        let named = |row: &Vec<Value>| {
            found.table.columns.iter().cloned().zip(row.iter().cloned()).collect()
        };
        Ok(Wanted { frame, rows: found.table.rows.iter().map(named).collect(), trials })
    }

    /// Each row with its rate and the next count.
    fn answer(
        &self,
        mut rate: impl FnMut(usize) -> (f64, f64, f64),
        mut next: impl FnMut(usize, u64) -> std::result::Result<NextCount, SuccessError>,
    ) -> Result<Vec<Value>> {
        let mut out = Vec::new();
        for (i, row) in self.rows.iter().enumerate() {
            let mut row = row.clone();
            let (estimate, lower, upper) = rate(i);
            row.insert("estimate".to_owned(), json!(estimate));
            row.insert("lower".to_owned(), json!(lower));
            row.insert("upper".to_owned(), json!(upper));
            if let Some(trials) = &self.trials {
                let count = next(i, trials[i])
                    .map_err(|e| Problem::unfinished(e.to_string(), "leave out the trials"))?;
                row.insert("next".to_owned(), json!(count));
            }
            out.push(Value::Object(row));
        }
        Ok(out)
    }
}

/// The answer without priors.
fn likely(fit: &Logistic, n: usize, wanted: Option<&Wanted>, args: &SuccessArgs) -> Result {
    let mut table = table();
    let mut terms = Vec::new();
    for e in &fit.effects {
        terms.push(coefficient(&e.coefficient, e.estimate, e.se));
        let (term, level) = (e.coefficient.term.clone(), json!(e.coefficient.level));
        table.row(vec!["term".into(), term.into(), level, e.estimate.into(), json!(e.se)]);
    }
    let random: Vec<Value> = fit.spreads.iter().map(|s| spread(s, &mut table)).collect();
    let mut found = json!({
        "terms": terms,
        "random": random,
        "log_likelihood": fit.log_likelihood,
        "n": n,
        "gradient_norm": fit.gradient_norm,
        "iterations": fit.iterations,
    });
    if let Some(wanted) = wanted {
        let confidence = args.confidence.confidence;
        let rates = fit.rates(&wanted.frame, confidence).map_err(|e| {
            let (what, next) = halves(&e.to_string());
            Problem::input(format!("--predict: {what}"), next)
        })?;
        found["predictions"] = Value::Array(wanted.answer(
            |i| (rates[i].estimate, rates[i].lower, rates[i].upper),
            |i, trials| rates[i].next_count(trials, confidence),
        )?);
    }
    Found::one(&found, table)
}

fn spread(s: &Spread, table: &mut Table) -> Value {
    let group = || Value::from(s.group.clone());
    table.row(vec!["sd".into(), group(), Value::Null, s.sd.into(), json!(s.se)]);
    // Levels without spread are 0 by definition, not by measurement.
    let none = s.boundary && s.slope.is_none();
    let level = |l: &LevelMode| {
        let se = if none { Value::Null } else { l.se.into() };
        let mut found = json!({"level": l.level, "estimate": l.estimate, "se": se});
        if let Some((slope, se)) = l.slope {
            found["slope"] = json!({"estimate": slope, "se": se});
        }
        found
    };
    let levels: Vec<Value> = s.levels.iter().map(level).collect();
    for l in &levels {
        let cells = ["level", "estimate", "se"].map(|k| l[k].clone());
        table.row([Value::from("level"), group()].into_iter().chain(cells).collect());
    }
    let mut found = json!({
        "group": s.group, "sd": s.sd, "se": s.se, "boundary": s.boundary, "levels": levels,
    });
    if let Some(slope) = &s.slope {
        found["slope"] = json!(slope);
    }
    if let Some(test) = &s.test {
        found["test"] = json!(test);
    }
    found
}

/// The answer with priors: means and standard deviations of the posterior.
fn believed(fit: &Small, n: usize, wanted: Option<&Wanted>, args: &SuccessArgs) -> Result {
    let mut table = table();
    let mut terms = Vec::new();
    for e in &fit.effects {
        let s = e.summary;
        let mut found = coefficient(&e.coefficient, s.mean, Some(s.sd));
        found["lower"] = s.lower.into();
        found["upper"] = s.upper.into();
        terms.push(found);
        let (term, level) = (e.coefficient.term.clone(), json!(e.coefficient.level));
        table.row(vec!["term".into(), term.into(), level, s.mean.into(), s.sd.into()]);
    }
    let mut random = Vec::new();
    for r in &fit.spreads {
        let (group, s) = (r.group.clone(), r.summary);
        table.row(vec!["sd".into(), group.clone().into(), Value::Null, s.mean.into(), s.sd.into()]);
        for l in &r.levels {
            let (name, level) = (group.clone().into(), l.level.clone().into());
            table.row(vec!["level".into(), name, level, l.estimate.into(), l.se.into()]);
        }
        random.push(json!({
            "group": group, "sd": s.mean, "se": s.sd, "lower": s.lower, "upper": s.upper,
            "boundary": false, "levels": r.levels,
        }));
    }
    let mut found = json!({
        "terms": terms,
        "random": random,
        "log_likelihood": Value::Null,
        "n": n,
        "effective_draws": fit.effective,
        "seed": fit.seed,
    });
    if let Some(wanted) = wanted {
        let confidence = args.confidence.confidence;
        found["predictions"] = Value::Array(wanted.answer(
            |i| fit.rate(i, confidence),
            |i, trials| fit.next_count(i, trials, confidence),
        )?);
    }
    Found::one(&found, table)
}

fn table() -> Table {
    Table::new(["part", "name", "level", "estimate", "se"])
}

/// What happened, and the next step.
fn halves(text: &str) -> (String, String) {
    let (what, next) = text.rsplit_once("; ").unwrap_or((text, "correct the table"));
    (what.to_owned(), next.to_owned())
}

/// Places the calculator's error.
fn problem(input: &Input, args: &SuccessArgs, error: &SuccessError) -> Problem {
    let file = input.file();
    let (what, next) = halves(&error.to_string());
    match error {
        SuccessError::Model(e) => in_file(input, e),
        SuccessError::NoTrials => Problem::cell(
            file,
            2,
            &args.trials,
            "0",
            "a number of trials above 0, nor is any other row",
            next,
        ),
        SuccessError::Fit(LaplaceError::Quadrature { .. }) => {
            Problem::input(format!("--quadrature: {what}"), next)
        }
        SuccessError::Prior(_) | SuccessError::PriorOfNothing { .. } => {
            Problem::input(format!("--prior: {what}"), next)
        }
        e if e.is_unfinished() => Problem::unfinished(format!("{file}: {what}"), next),
        _ => Problem::input(format!("{file}: {what}"), next),
    }
}

//! Fits by a formula: exponential, Weibull, log-normal, log-logistic.

use std::path::PathBuf;

use clap::Args;
use serde_json::{Map, Value, json};
use stats::laplace::LaplaceError;
use stats::model::{Fixed, Frame, ModelError, RandomSpec, RandomTerm, Term};
use stats::survival::Time;
use stats::survival::parametric::{
    Fit, Law, Misread, Options, ParametricError, Predicted, RandomFit, RandomModel,
    fit as fit_parametric, fit_random, posterior,
};

use crate::{
    Found, Problem, Result, Table,
    model::{Terms, coefficient, in_file, random},
    table::Input,
};

use super::{TimeToEventArgs, believed, clock};

/// What a fit by a formula can be asked.
#[derive(Debug, Clone, Args)]
pub struct ParametricArgs {
    #[command(flatten)]
    pub terms: Terms,
    /// A column whose levels differ at random (a normal intercept on log time), or several
    #[arg(long, value_name = "TERM,…", conflicts_with_all = ["cure", "misread"])]
    pub random: Option<String>,
    /// Nodes of the integral over one random term; 1 is Laplace's approximation
    #[arg(long, value_name = "N", default_value_t = 41, requires = "random",
          value_parser = clap::value_parser!(u16).range(1..=180))]
    pub quadrature: u16,
    /// A share of the records never has the event
    #[arg(long)]
    pub cure: bool,
    /// Columns on which that share depends, in place of none
    #[arg(long, value_name = "TERM,…", requires = "cure")]
    pub cure_terms: Option<String>,
    /// How often a look is misread: a rate below 0.5, or “learn”
    #[arg(long, value_name = "RATE", value_parser = misread)]
    pub misread: Option<Misread>,
    /// A JSON of what was believed before: {"coefficients":[{"term","level","mean","sd"}],
    /// "scale":{"half_normal":{"scale"}}, "random":[{"group","gamma":{"shape","rate"}}]}
    #[arg(long, value_name = "FILE", conflicts_with_all = ["cure", "misread"])]
    pub prior: Option<PathBuf>,
    /// A CSV subject,day,rate: times are read on each subject's clock, which runs at that rate from
    /// that day on; the table names its subject in the column subject
    #[arg(long, value_name = "FILE")]
    pub clock: Option<PathBuf>,
    /// A CSV with the columns of --terms: for each row, when it is usually over and when the next
    /// one will be
    #[arg(long, value_name = "FILE")]
    pub predict: Option<PathBuf>,
    /// Predict for plants of which it is known that nothing happened by this time
    #[arg(long, value_name = "TIME")]
    pub given_after: Option<f64>,
}

fn misread(typed: &str) -> std::result::Result<Misread, String> {
    match (typed, typed.parse::<f64>()) {
        ("learn", _) => Ok(Misread::Estimated),
        (_, Ok(rate)) if (0.0..0.5).contains(&rate) => Ok(Misread::Fixed(rate)),
        _ => Err("expected a rate from 0 to below 0.5, or “learn”".to_owned()),
    }
}

/// Runs it.
pub fn run(args: &TimeToEventArgs, law: Law, input: &Input, times: &[Time]) -> Result {
    let asked = &args.parametric;
    if args.by.is_some() {
        return Err(Problem::input(
            "--by gives one curve for each group and has no meaning with a fit by a formula",
            "name the column in --terms",
        ));
    }
    let terms = asked.terms.read()?;
    let share_terms = match &asked.cure_terms {
        None => Vec::new(),
        Some(_) => Terms { typed: asked.cure_terms.clone(), ..asked.terms.clone() }.read()?,
    };
    let all: Vec<Term> = terms.iter().chain(&share_terms).cloned().collect();
    let specs = random("--random", asked.random.as_deref())?;
    let frame = asked.terms.frame(input, &all, &specs)?;
    let build = |terms: &[Term]| Fixed::build(&frame, terms).map_err(|e| in_file(input, &e));
    let fixed = build(&terms)?;
    let cure = if asked.cure { Some(build(&share_terms)?) } else { None };
    let rows = PredictRows::read(args, &all, &specs)?;
    let fail = |e| failed(input, args, &e);
    let clocked = match &asked.clock {
        None => None,
        Some(path) => Some(clock::read(path, input, times)?),
    };
    let times = clocked.as_deref().unwrap_or(times);
    let design = rows.design(input, &frame, &fixed)?;
    let (after, confidence) = (asked.given_after, args.confidence.confidence);
    let terms = random_terms(input, &frame, &specs)?;
    if let Some(path) = &asked.prior {
        let beliefs = believed::read(path, &fixed, &terms)?;
        let found = posterior(times, &fixed, law, &terms, &beliefs, confidence).map_err(fail)?;
        let predicted = match &design {
            None => Vec::new(),
            Some(design) => {
                let levels = rows.levels(input, &specs, &terms)?;
                found.predict(design, &levels, &args.quantiles, after, confidence).map_err(fail)?
            }
        };
        return believed::report(&found, predictions(&rows, &predicted));
    }
    if specs.is_empty() {
        let options = Options { cure, misread: asked.misread.unwrap_or_default() };
        let found = fit_parametric(times, &fixed, law, &options).map_err(fail)?;
        let predicted = match &design {
            None => Vec::new(),
            Some(design) => {
                let share = match &options.cure {
                    None => None,
                    Some(share) => rows.design(input, &frame, share)?,
                };
                let quantiles = &args.quantiles;
                found.predict(design, share.as_ref(), quantiles, after, confidence).map_err(fail)?
            }
        };
        return report(&found, None, &rows, &predicted);
    }
    // Several terms have no product of sums of their own: Laplace's approximation.
    let nodes = if terms.len() == 1 { usize::from(asked.quadrature) } else { 1 };
    let model = RandomModel { law, terms: &terms, nodes };
    let found = fit_random(times, &fixed, model).map_err(fail)?;
    let predicted = match &design {
        None => Vec::new(),
        Some(design) => {
            let levels = rows.levels(input, &specs, &terms)?;
            found.predict(design, &levels, &args.quantiles, after, confidence).map_err(fail)?
        }
    };
    report(&found.fit, Some(&found), &rows, &predicted)
}

/// The rows to be predicted: those of a file, or one without columns.
struct PredictRows {
    input: Option<Input>,
    frame: Option<Frame>,
}

impl PredictRows {
    fn read(args: &TimeToEventArgs, terms: &[Term], random: &[RandomSpec]) -> Result<Self> {
        let asked = &args.parametric;
        Ok(match &asked.predict {
            Some(path) => {
                let input = Input::read(path)?;
                // A random term whose columns are not given means levels not seen before.
                let there: Vec<RandomSpec> =
                    random.iter().filter(|s| has_columns(&input, s)).cloned().collect();
                let frame = asked.terms.frame(&input, terms, &there)?;
                Self { input: Some(input), frame: Some(frame) }
            }
            None if terms.is_empty() => Self { input: None, frame: Some(Frame::new(1)) },
            None => Self { input: None, frame: None },
        })
    }

    fn place(&self, trained: &Input, error: &ModelError) -> Problem {
        in_file(self.input.as_ref().unwrap_or(trained), error)
    }

    /// The columns of a fit for these rows.
    fn design(&self, trained: &Input, known: &Frame, fixed: &Fixed) -> Result<Option<Fixed>> {
        let for_rows = |frame| fixed.for_rows(frame, known).map_err(|e| self.place(trained, &e));
        self.frame.as_ref().map(for_rows).transpose()
    }

    /// Which known level each row has in each random term.
    fn levels(
        &self,
        trained: &Input,
        specs: &[RandomSpec],
        known: &[RandomTerm],
    ) -> Result<Vec<Vec<Option<u32>>>> {
        let Some(frame) = &self.frame else { return Ok(Vec::new()) };
        let mut levels = vec![Vec::new(); frame.rows()];
        for (spec, term) in specs.iter().zip(known) {
            let here = match &self.input {
                Some(input) if has_columns(input, spec) => {
                    Some(RandomTerm::build(frame, spec).map_err(|e| self.place(trained, &e))?)
                }
                _ => None,
            };
            for (row, levels) in levels.iter_mut().enumerate() {
                let name = here.as_ref().map(|h| &h.levels[h.of_row(row)[0] as usize]);
                let at = name.and_then(|n| term.levels.iter().position(|l| l == n));
                levels.push(at.map(|l| l as u32));
            }
        }
        Ok(levels)
    }

    fn cells(&self, row: usize) -> Map<String, Value> {
        self.input.as_ref().map(|i| i.cells(row)).unwrap_or_default()
    }
}

fn random_terms(input: &Input, frame: &Frame, specs: &[RandomSpec]) -> Result<Vec<RandomTerm>> {
    let build = |s: &RandomSpec| RandomTerm::build(frame, s).map_err(|e| in_file(input, &e));
    specs.iter().map(build).collect()
}

fn predictions(rows: &PredictRows, predicted: &[Predicted]) -> Vec<Value> {
    predicted
        .iter()
        .enumerate()
        .map(|(i, p)| {
            let mut row = rows.cells(i);
            row.insert("quantiles".into(), json!(p.quantiles));
            row.insert("next".into(), json!(p.next));
            if let Some(ever) = p.ever {
                row.insert("ever".into(), json!(ever));
            }
            Value::Object(row)
        })
        .collect()
}

fn has_columns(input: &Input, spec: &RandomSpec) -> bool {
    match spec {
        RandomSpec::Intercept(columns)
        | RandomSpec::Members(columns)
        | RandomSpec::Slope { group: columns, .. } => columns.iter().all(|c| input.has(c)),
    }
}

fn report(
    found: &Fit,
    mixed: Option<&RandomFit>,
    rows: &PredictRows,
    predicted: &[Predicted],
) -> Result {
    let coefficients = |of: &[stats::model::Coefficient], first: usize| -> Vec<Value> {
        of.iter()
            .enumerate()
            .map(|(j, c)| coefficient(c, found.parameters[first + j], Some(found.se(first + j))))
            .collect()
    };
    let (log_scale, log_scale_se) = found.log_scale();
    let mut json = json!({
        "fit": found.law,
        "terms": coefficients(&found.coefficients, 0),
        "scale": found.scale,
        "log_scale": log_scale,
        "log_scale_se": log_scale_se,
        "random_sd": mixed.and_then(|r| (r.terms.len() == 1).then(|| r.terms[0].sd)),
        "log_likelihood": found.log_likelihood,
        "log_likelihood_null": found.log_likelihood_null,
        "n": found.n,
        "events": found.events,
        "iterations": found.iterations,
        "gradient_norm": found.gradient_norm,
        "predictions": predictions(rows, predicted),
    });
    if let Some(mixed) = mixed {
        json["random"] = json!(mixed.terms);
        json["log_likelihood_no_random"] = json!(mixed.log_likelihood_no_random);
        json["quadrature"] = json!(mixed.nodes);
    }
    if let Some(plateau) = &found.plateau {
        json["cure"] = json!({
            "terms": coefficients(&found.share, found.share_place()),
            "identified": plateau.identified,
            "last_event": plateau.last_event,
            "longest_open": plateau.longest_open,
            "open_beyond": plateau.open_beyond,
            "expected_after": plateau.expected_after,
        });
    }
    if let Some(misread) = &found.misread {
        json["misread"] = json!(misread);
    }
    let mut table = Table::new(["term", "level", "estimate", "se"]);
    for (j, c) in found.coefficients.iter().enumerate() {
        let level = c.level.clone().map_or(Value::Null, Value::from);
        table.row(vec![
            c.term.clone().into(),
            level,
            found.parameters[j].into(),
            found.se(j).into(),
        ]);
    }
    table.row(vec!["log(scale)".into(), Value::Null, log_scale.into(), json!(log_scale_se)]);
    Found::one(&json, table)
}

/// Places the calculator's error in the file, whose first row is the header.
pub fn failed(input: &Input, args: &TimeToEventArgs, error: &ParametricError) -> Problem {
    let text = error.to_string();
    let (what, next) = text.rsplit_once("; ").unwrap_or((&text, "correct the table"));
    let file = input.file();
    match error {
        ParametricError::Times(e) => super::bad_times(input, args, e),
        ParametricError::Model(e) => in_file(input, e),
        ParametricError::NotAfterStart { row } => Problem::cell(
            file,
            row + 1,
            args.time.as_ref().unwrap_or(&args.right),
            "0",
            "a time after the start",
            "give the time at which it can have come at the latest",
        ),
        ParametricError::Laplace(
            LaplaceError::TooLarge { .. } | LaplaceError::Quadrature { .. },
        ) => Problem::input(format!("{file}: {what}"), next),
        ParametricError::Laplace(_)
        | ParametricError::AllOpen { .. }
        | ParametricError::AllOver { .. }
        | ParametricError::Unbounded { .. }
        | ParametricError::NoSpread
        | ParametricError::TooCoarse { .. }
        | ParametricError::NotDetermined { .. }
        | ParametricError::NotReached { .. } => {
            Problem::unfinished(format!("{file}: {what}"), next)
        }
        _ => Problem::input(format!("{file}: {what}"), next),
    }
}

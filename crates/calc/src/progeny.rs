//! `umbel calc progeny`.

use clap::Args;
use stats::success::{CountError, RateKnown, needed};

use crate::{Confidence, Found, Problem, Result, Table};

/// How many are needed for at least so many of a kind
#[derive(Debug, Args)]
pub struct ProgenyArgs {
    /// The share of the wanted kind, such as 0.0625 or 1/16
    #[arg(long, value_name = "SHARE", conflicts_with_all = ["successes", "trials"], value_parser = fraction)]
    pub share: Option<f64>,
    /// In place of a share: how many earlier trials succeeded
    #[arg(long, value_name = "COUNT", requires = "trials")]
    pub successes: Option<u64>,
    /// Of how many earlier trials
    #[arg(long, value_name = "COUNT", requires = "successes")]
    pub trials: Option<u64>,
    /// How many of the kind are wanted
    #[arg(long, value_name = "COUNT", default_value_t = 1, value_parser = clap::value_parser!(u64).range(1..))]
    pub at_least: u64,
    /// How alike the fates within the one batch are, from 0 to below 1
    #[arg(long, value_name = "CORRELATION", default_value_t = 0.0)]
    pub rho: f64,
    #[command(flatten)]
    pub confidence: Confidence,
}

/// Reads a share, also as a fraction.
fn fraction(typed: &str) -> std::result::Result<f64, String> {
    let number = |text: &str| text.trim().parse::<f64>().ok();
    let value = match typed.split_once('/') {
        Some((above, below)) => number(above).zip(number(below)).map(|(a, b)| a / b),
        None => number(typed),
    };
    value
        .filter(|v| *v > 0.0 && *v < 1.0)
        .ok_or_else(|| "expected a number between 0 and 1, such as 0.25 or 1/4".to_owned())
}

/// Runs it.
pub fn run(args: &ProgenyArgs) -> Result {
    let bad = |e: CountError| {
        let text = e.to_string();
        let (what, next) = text.rsplit_once("; ").unwrap_or((&text, "correct the options"));
        Problem::input(what, next)
    };
    let rate = match (args.share, args.successes, args.trials) {
        (Some(share), ..) => RateKnown::share(share),
        (None, Some(successes), Some(trials)) => RateKnown::estimated(successes, trials),
        _ => {
            let next = "give --share P, or --successes K --trials N of earlier trials";
            return Err(Problem::input("neither a share nor earlier trials are given", next));
        }
    };
    let rate = rate.and_then(|r| r.in_one_batch(args.rho)).map_err(bad)?;
    let found = needed(rate, args.at_least, args.confidence.confidence).map_err(bad)?;
    let mut table = Table::new(["n", "exact"]);
    table.row(vec![found.n.into(), found.exact.into()]);
    Found::one(&found, table)
}

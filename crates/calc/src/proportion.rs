//! `umbel calc proportion`.

use clap::Args;
use stats::success::proportion;

use crate::{Confidence, Found, Problem, Result, Table};

/// Intervals for a share of successes
#[derive(Debug, Args)]
pub struct ProportionArgs {
    /// How many successes
    #[arg(long, value_name = "COUNT")]
    pub successes: u64,
    /// In how many trials
    #[arg(long, value_name = "COUNT")]
    pub trials: u64,
    #[command(flatten)]
    pub confidence: Confidence,
}

/// Runs it.
pub fn run(args: &ProportionArgs) -> Result {
    let found =
        proportion(args.successes, args.trials, args.confidence.confidence).map_err(|e| {
            Problem::input(e.to_string(), "give --successes K --trials N with K up to N")
        })?;
    let mut table = Table::new(["method", "estimate", "lower", "upper"]);
    for (method, [lower, upper]) in [
        ("clopper_pearson", found.clopper_pearson),
        ("wilson", found.wilson),
        ("jeffreys", found.jeffreys),
    ] {
        table.row(vec![method.into(), found.estimate.into(), lower.into(), upper.into()]);
    }
    Found::one(&found, table)
}

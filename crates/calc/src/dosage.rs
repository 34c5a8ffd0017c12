//! `umbel calc dosage`.

use clap::Args;
use serde_json::{Map, Value, json};
use stats::genetics::{Fraction, Gametes, Offspring, dosage_name, gametes, read_dosage};

use crate::{Found, Result, Table, ratio::refused};

/// Gametes and seedlings of parents with several like chromosome sets
#[derive(Debug, Args)]
pub struct DosageArgs {
    /// Copies of the dominant allele in the seed parent: nulliplex to quadruplex, or a number
    #[arg(long, value_name = "DOSAGE")]
    pub seed: String,
    /// Copies of the dominant allele in the pollen parent
    #[arg(long, value_name = "DOSAGE")]
    pub pollen: String,
    /// The share of a tetraploid's gametes with two copies of one and the same allele, from 0 to 1/6
    #[arg(long, value_name = "SHARE", default_value = "0")]
    pub double_reduction: String,
    /// Chromosome sets of the seed parent, an even number
    #[arg(long, value_name = "NUMBER", default_value_t = 4)]
    pub ploidy: u32,
    /// Chromosome sets of the pollen parent [default: as the seed parent]
    #[arg(long, value_name = "NUMBER")]
    pub pollen_ploidy: Option<u32>,
}

/// Runs it.
pub fn run(args: &DosageArgs) -> Result {
    let option = |name: &'static str| move |e| refused(name, &e);
    let alpha: Fraction = args.double_reduction.parse().map_err(option("--double-reduction"))?;
    let pollen_ploidy = args.pollen_ploidy.unwrap_or(args.ploidy);
    let of = |name: &'static str, typed: &str, ploidy: u32| -> Result<Gametes> {
        let copies = read_dosage(typed).map_err(option(name))?;
        gametes(ploidy, copies, alpha).map_err(option(name))
    };
    let seed = of("--seed", &args.seed, args.ploidy)?;
    let pollen = of("--pollen", &args.pollen, pollen_ploidy)?;
    let offspring = Offspring::of(&seed, &pollen).map_err(option("--double-reduction"))?;

    let numbered = |shares: &[Fraction], name: &dyn Fn(u32) -> String| -> Value {
        let pairs = shares.iter().zip(0..).map(|(share, k)| (name(k), json!(share)));
        Value::Object(pairs.collect::<Map<_, _>>())
    };
    let values: Vec<f64> = offspring.shares.iter().map(|s| s.value()).collect();
    let found = json!({
        "gametes_seed": numbered(&seed.shares, &|k| k.to_string()),
        "gametes_pollen": numbered(&pollen.shares, &|k| k.to_string()),
        "offspring": numbered(&offspring.shares, &dosage_name),
        "offspring_values": values,
        "dominant": offspring.dominant,
        "recessive": offspring.recessive,
        "ratio": offspring.dominant.against_rest(),
    });
    let mut table = Table::new(["what", "copies", "share", "value"]);
    for (what, shares) in [
        ("gametes_seed", &seed.shares),
        ("gametes_pollen", &pollen.shares),
        ("offspring", &offspring.shares),
    ] {
        for (copies, share) in shares.iter().enumerate() {
            table.row(vec![what.into(), copies.into(), json!(share), share.value().into()]);
        }
    }
    Found::one(&found, table)
}

//! `umbel calc ratio`.

use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
};

use clap::Args;
use serde_json::{Value, json};
use stats::genetics::{
    self, Family, Fit, GeneticsError, Hypothesis, Plant, Ratio, Wanted, share_of,
};

use crate::{Found, Problem, Result, Table, table::Input};

/// Do counts fit a ratio; which share of the seedlings is of a kind
#[derive(Debug, Args)]
pub struct RatioArgs {
    /// Seedlings of each class, such as 5474,1850
    #[arg(long, value_name = "COUNT,…", conflicts_with_all = ["families", "alleles"])]
    pub observed: Option<String>,
    /// The ratio, such as 3:1
    #[arg(long, value_name = "RATIO", conflicts_with = "alleles")]
    pub expected: Option<String>,
    /// A table of families: family,class_1,class_2,…
    #[arg(long, value_name = "FILE", conflicts_with = "alleles")]
    pub families: Option<PathBuf>,
    /// Ratios to compare, such as 3:1,9:7,13:3
    #[arg(long, value_name = "RATIO,…", requires = "observed", conflicts_with = "expected")]
    pub among: Option<String>,
    /// Two ratios of two classes: how many seedlings tell them apart, such as 3:1,9:7
    #[arg(long, value_name = "RATIO,RATIO",
        conflicts_with_all = ["observed", "expected", "families", "alleles", "among"])]
    pub tell_apart: Option<String>,
    /// With --tell-apart: the chance of taking the wrong one, whichever holds
    #[arg(long, value_name = "CHANCE", default_value_t = 0.05)]
    pub error: f64,
    /// Parents at independent loci, such as "AaBb x AaBb"; as many letters as chromosome sets
    #[arg(long, value_name = "CROSS", requires = "want")]
    pub alleles: Option<String>,
    /// The kind wanted, such as aabb; _ leaves a place open (A_bb: at least one A)
    #[arg(long, value_name = "GENOTYPE", requires = "alleles")]
    pub want: Option<String>,
    /// The seed of tests that have to draw
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub draws_seed: u64,
}

/// An error of these calculators, with the option that it is about.
pub fn refused(option: &str, error: &GeneticsError) -> Problem {
    let text = error.to_string();
    let (what, next) = text.rsplit_once("; ").unwrap_or((&text, "correct the option"));
    Problem::input(format!("{option}: {what}"), next)
}

/// Runs it.
pub fn run(args: &RatioArgs) -> Result {
    if let (Some(cross), Some(want)) = (&args.alleles, &args.want) {
        return alleles(cross, want);
    }
    if let Some(pair) = &args.tell_apart {
        return tell_apart(pair, args.error);
    }
    if let (Some(observed), Some(among)) = (&args.observed, &args.among) {
        return compare(&counts(observed)?, among, args.draws_seed);
    }
    let Some(expected) = &args.expected else {
        let next = "give --observed and --expected, --observed and --among, --families and \
                    --expected, --tell-apart, or --alleles and --want";
        return Err(Problem::input("it is not said what is asked", next));
    };
    let ratio: Ratio = expected.parse().map_err(|e| refused("--expected", &e))?;
    match (&args.observed, &args.families) {
        (Some(observed), None) => one(&counts(observed)?, &ratio, args.draws_seed),
        (None, Some(file)) => families(file, &ratio),
        _ => {
            let next = "give --observed COUNT,COUNT, or --families FILE";
            Err(Problem::input("there are no counts beside --expected", next))
        }
    }
}

/// Counts as typed.
fn counts(typed: &str) -> Result<Vec<u64>> {
    let read = |text: &str| {
        text.trim().parse::<u64>().ok().filter(|k| *k <= MOST_PLANTS).ok_or_else(|| {
            Problem::input(
                format!("--observed: “{}” is not a count", text.trim()),
                format!("write whole numbers from 0 to {MOST_PLANTS}, such as 5474,1850"),
            )
        })
    };
    typed.split(',').map(read).collect()
}

/// More plants in one class than this are a slip.
const MOST_PLANTS: u64 = 1_000_000_000;

/// Small expected counts make the chi-square distribution rough.
fn warnings(fits: &[&Fit]) -> Vec<String> {
    let least = fits.iter().flat_map(|f| &f.expected).copied().fold(f64::INFINITY, f64::min);
    let text = format!(
        "the smallest expected count is {least}, below 5: go by the exact test, chi-square and G \
         are rough"
    );
    if least < 5.0 { vec![text] } else { Vec::new() }
}

fn one(observed: &[u64], ratio: &Ratio, seed: u64) -> Result {
    let bad = |e: GeneticsError| refused("--observed", &e);
    let fit = genetics::fit(observed, ratio).map_err(bad)?;
    let exact = genetics::exact(observed, ratio, seed).map_err(bad)?;
    let mut table = Table::new(["class", "observed", "expected"]);
    for (i, (o, e)) in observed.iter().zip(&fit.expected).enumerate() {
        table.row(vec![(i + 1).into(), (*o).into(), (*e).into()]);
    }
    let warnings = warnings(&[&fit]);
    let mut found = json!(fit);
    found["exact"] = json!(exact);
    found["warnings"] = json!(warnings);
    Found::one(&found, table)
}

fn compare(observed: &[u64], among: &str, seed: u64) -> Result {
    let ratios: Vec<Ratio> = among
        .split(',')
        .map(|r| r.trim().parse().map_err(|e| refused("--among", &e)))
        .collect::<Result<_>>()?;
    let found = genetics::compare(observed, &ratios, seed).map_err(|e| refused("--among", &e))?;
    let mut table = Table::new(["ratio", "posterior", "exact_p", "consistent"]);
    for Hypothesis { ratio, posterior, exact, consistent } in &found {
        let cells = [json!(ratio), json!(posterior), json!(exact.p), json!(consistent)];
        table.row(cells.to_vec());
    }
    let with: Vec<&str> = found.iter().filter(|h| h.consistent).map(|h| h.ratio.as_str()).collect();
    let value = json!({"hypotheses": found, "consistent_with": with});
    Found::one(&value, table)
}

fn tell_apart(pair: &str, error: f64) -> Result {
    let bad = |e: GeneticsError| refused("--tell-apart", &e);
    let Some((first, second)) = pair.split_once(',') else {
        let what = format!("--tell-apart: “{pair}” is not two ratios");
        return Err(Problem::input(what, "write them as 3:1,9:7"));
    };
    let (first, second) = (first.parse().map_err(bad)?, second.parse().map_err(bad)?);
    let found = genetics::tell_apart(&first, &second, error).map_err(bad)?;
    let mut table = Table::new(["n", "from", "wrong_if_smaller", "wrong_if_larger"]);
    table.row(vec![
        found.n.into(),
        found.from.into(),
        found.wrong_if_smaller.into(),
        found.wrong_if_larger.into(),
    ]);
    Found::one(&found, table)
}

/// Two genotypes with a cross between them.
fn alleles(cross: &str, want: &str) -> Result {
    let spaced = cross.replace(['×', '✕'], " x ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let [seed, "x" | "X", pollen] = words[..] else {
        let what = format!("--alleles: “{cross}” is not a cross of two plants");
        return Err(Problem::input(what, "write it as \"AaBb x AaBb\", the seed parent first"));
    };
    let plant = |typed: &str| Plant::read(typed).map_err(|e| refused("--alleles", &e));
    let wanted = Wanted::read(want).map_err(|e| refused("--want", &e))?;
    let (seed, pollen) = (plant(seed)?, plant(pollen)?);
    let found = share_of(&seed, &pollen, &wanted).map_err(|e| match e {
        GeneticsError::WantedPloidy { .. } => refused("--want", &e),
        _ => refused("--alleles", &e),
    })?;
    let mut table = Table::new(["share", "value"]);
    table.row(vec![json!(found.share), found.value.into()]);
    Found::one(&json!({"share": found.share, "value": found.value}), table)
}

/// The counts of a table of families, with the names of the families.
fn family_table(input: &Input, parts: usize) -> Result<Vec<Family>> {
    let columns: Vec<String> = (1..=parts).map(|i| format!("class_{i}")).collect();
    let further = format!("class_{}", parts + 1);
    if input.has(&further) {
        let header = input.header().join(",");
        let expected = format!("a header without {further}, as the ratio has {parts} parts");
        let next = "give a ratio with as many parts as there are classes";
        return Err(Problem::cell(input.file(), 1, &further, &header, expected, next));
    }
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let mut families = Vec::new();
    for (at, (row, name)) in input.column("family")?.into_iter().enumerate() {
        let bad = |column: &str, value: &str, expected: &str, next: &str| {
            Err(Problem::cell(input.file(), row, column, value, expected, next))
        };
        if name.is_empty() {
            return bad("family", "", "a name", "name the family");
        }
        if let Some(before) = seen.insert(name, row) {
            let expected = format!("a new family; it stands in row {before} too");
            return bad("family", name, &expected, "join the two rows, or rename one");
        }
        let mut counts = Vec::new();
        for column in &columns {
            let typed = input.column(column)?[at].1;
            match typed.parse::<u64>() {
                Ok(k) if k <= MOST_PLANTS => counts.push(k),
                _ => {
                    let next = "write a whole number of seedlings, 0 where there are none";
                    return bad(column, typed, "a count", next);
                }
            }
        }
        if counts.iter().all(|k| *k == 0) {
            let next = "leave the row out, or count the seedlings";
            return bad(&columns[0], "0", "the count of a family with seedlings", next);
        }
        families.push(Family { name: name.to_owned(), counts });
    }
    Ok(families)
}

fn families(file: &Path, ratio: &Ratio) -> Result {
    let input = Input::read(file)?;
    let read = family_table(&input, ratio.parts().len())?;
    let found = genetics::families(&read, ratio).map_err(|e| refused("--families", &e))?;
    let mut table = Table::new(["what", "chi_square", "df", "p", "g", "g_p"]);
    let row = |name: &str, numbers: [Value; 5]| [&[Value::from(name)], &numbers[..]].concat();
    for (name, part) in [
        ("total", &found.total),
        ("pooled", &found.pooled),
        ("heterogeneity", &found.heterogeneity),
    ] {
        let numbers =
            [part.chi_square.into(), part.df.into(), part.p.into(), part.g.into(), part.g_p.into()];
        table.row(row(name, numbers));
    }
    let mut each = Vec::new();
    for (family, fit) in read.iter().zip(&found.families) {
        let numbers =
            [fit.chi_square.into(), fit.df.into(), fit.p.into(), fit.g.into(), fit.g_p.into()];
        table.row(row(&family.name, numbers));
        let mut one = json!({"family": family.name});
        if let (Some(one), Value::Object(fit)) = (one.as_object_mut(), json!(fit)) {
            one.extend(fit);
        }
        each.push(one);
    }
    let value = json!({
        "total": found.total,
        "pooled": found.pooled,
        "heterogeneity": found.heterogeneity,
        "families": each,
        "warnings": warnings(&found.families.iter().collect::<Vec<_>>()),
    });
    Found::one(&value, table)
}

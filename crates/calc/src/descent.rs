//! `umbel calc descent`.

mod parents;

use std::path::PathBuf;

use clap::Args;
use descent::{Draws, Pedigree, Report, ReportOptions, report};

use crate::{Found, Problem, Result, Table, table::Input};

/// Inbreeding, kinship, shares of founders from a table of parents
#[derive(Debug, Args)]
#[command(after_help = "\
Columns that may be there: clone_of (the plant of which a row is a piece); tau_seed and tau_pollen
(copies of each gene in the gamete of either parent: 1 and 1 for a diploid, 2 and 2 for a
tetraploid); lambda_seed and lambda_pollen (chance that two copies of a gamete are one gene by
double reduction). Blank cells there are those of a diploid.")]
pub struct DescentArgs {
    /// A CSV with the columns id, seed_parent, pollen_parent; blank parents are unknown
    pub file: PathBuf,
    /// A CSV of parents in doubt, columns id, side (seed or pollen), parent and, if some are likelier,
    /// weight: kinship is then what is to be expected
    #[arg(long, value_name = "FILE")]
    pub candidates: Option<PathBuf>,
    /// A CSV of pairs whose kinship is wanted, columns a and b
    #[arg(long, value_name = "FILE")]
    pub pairs: Option<PathBuf>,
    /// The kinship of all pairs
    #[arg(long)]
    pub all_pairs: bool,
    /// The inverse of the relationship matrix
    #[arg(long)]
    pub inverse: bool,
    /// Shares of founders
    #[arg(long)]
    pub founders: bool,
    /// The most recent common ancestors of each pair, with the generations up to them
    #[arg(long, requires = "pairs")]
    pub common_ancestors: bool,
    /// Effective founders and founder genome equivalents of the individuals, with each founder's
    /// share p and retention r (by dropping genes through the pedigree)
    #[arg(long)]
    pub diversity: bool,
    /// How often genes are dropped
    #[arg(long, value_name = "N", default_value_t = Draws::default().number,
        value_parser = clap::value_parser!(u32).range(2..), requires = "diversity")]
    pub draws: u32,
    /// The seed of the draws; the same one gives the same numbers
    #[arg(long, value_name = "N", default_value_t = Draws::default().seed, requires = "diversity")]
    pub seed: u64,
    /// Only these
    #[arg(long, value_name = "ID,…", value_delimiter = ',')]
    pub only: Option<Vec<String>>,
    /// The column of the id
    #[arg(long, value_name = "COLUMN", default_value = "id")]
    pub id: String,
    /// The column of the seed parent
    #[arg(long, value_name = "COLUMN", default_value = "seed_parent")]
    pub seed_parent: String,
    /// The column of the pollen parent
    #[arg(long, value_name = "COLUMN", default_value = "pollen_parent")]
    pub pollen_parent: String,
    /// The column that says of which a row is a piece
    #[arg(long, value_name = "COLUMN", default_value = "clone_of")]
    pub clone_of: String,
}

impl DescentArgs {
    /// A table of parents with the columns as they are called unless said otherwise.
    pub fn parents(file: PathBuf) -> Self {
        let [id, seed_parent, pollen_parent, clone_of] =
            ["id", "seed_parent", "pollen_parent", "clone_of"].map(str::to_owned);
        let Draws { number: draws, seed } = Draws::default();
        DescentArgs {
            file,
            candidates: None,
            pairs: None,
            all_pairs: false,
            inverse: false,
            founders: false,
            common_ancestors: false,
            diversity: false,
            draws,
            seed,
            only: None,
            id,
            seed_parent,
            pollen_parent,
            clone_of,
        }
    }
}

/// Reads the pedigree from a table that is there already.
pub fn pedigree(input: &Input, args: &DescentArgs) -> Result<Pedigree> {
    parents::from_input(input, args)
}

/// Runs it.
pub fn run(args: &DescentArgs) -> Result {
    let pedigree = parents::read(args)?;
    let options = ReportOptions {
        pairs: pairs(args)?,
        all_pairs: args.all_pairs,
        inverse: args.inverse,
        founders: args.founders,
        only: args.only.clone(),
        common_ancestors: args.common_ancestors,
        diversity: args.diversity.then_some(Draws { number: args.draws, seed: args.seed }),
    };
    let found = report(&pedigree, &options).map_err(|e| {
        let text = e.to_string();
        let (what, next) = text.rsplit_once("; ").unwrap_or((&text, "correct the table"));
        Problem::input(format!("{}: {what}", args.file.display()), next)
    })?;
    Found::one(&found, as_table(&found, args))
}

fn pairs(args: &DescentArgs) -> Result<Vec<(String, String)>> {
    let Some(path) = &args.pairs else { return Ok(Vec::new()) };
    let table = Input::read(path)?;
    let (a, b) = (table.column("a")?, table.column("b")?);
    Ok(a.iter().zip(&b).map(|(a, b)| (a.1.to_owned(), b.1.to_owned())).collect())
}

fn as_table(found: &Report, args: &DescentArgs) -> Table {
    if let Some(inverse) = found.inverse.as_ref().filter(|_| args.inverse) {
        let mut table = Table::new(["a", "b", "value"]);
        for e in inverse {
            table.row(vec![e.a.clone().into(), e.b.clone().into(), e.value.into()]);
        }
        return table;
    }
    if let Some(common) = &found.common_ancestors {
        let mut table = Table::new(["a", "b", "id", "from_a", "from_b"]);
        for pair in common {
            for c in &pair.ancestors {
                let (a, b) = (pair.a.clone(), pair.b.clone());
                let id = c.id.clone();
                table.row(vec![a.into(), b.into(), id.into(), c.from_a.into(), c.from_b.into()]);
            }
        }
        return table;
    }
    if let Some(diversity) = &found.diversity {
        let mut table = Table::new(["founder", "share", "retention", "retention_se"]);
        for f in &diversity.founders {
            let name = f.founder.clone();
            let (r, se) = (f.retention, f.retention_se);
            table.row(vec![name.into(), f.share.into(), r.into(), se.into()]);
        }
        return table;
    }
    if let Some(pairs) = &found.pairs {
        let mut table = Table::new(["a", "b", "kinship"]);
        for p in pairs {
            table.row(vec![p.a.clone().into(), p.b.clone().into(), p.kinship.into()]);
        }
        return table;
    }
    if args.founders {
        let mut table = Table::new(["id", "founder", "share"]);
        for i in &found.individuals {
            for f in i.founders.iter().flatten() {
                table.row(vec![i.id.clone().into(), f.founder.clone().into(), f.share.into()]);
            }
        }
        return table;
    }
    let mut table = Table::new(["id", "inbreeding", "self_kinship"]);
    for i in &found.individuals {
        table.row(vec![i.id.clone().into(), i.inbreeding.into(), i.self_kinship.into()]);
    }
    table
}

//! `umbel calc descent`.

use std::path::PathBuf;

use clap::Args;
use descent::{Individual, Parent, Pedigree, PedigreeError, Report, ReportOptions, report};

use crate::{Found, Problem, Result, Table, table::Input};

/// Inbreeding, kinship, shares of founders from a table of parents
#[derive(Debug, Args)]
pub struct DescentArgs {
    /// A CSV with the columns id, seed_parent, pollen_parent and, if any are pieces, clone_of
    pub file: PathBuf,
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
        let (pairs, only) = (None, None);
        let (all_pairs, inverse, founders) = (false, false, false);
        DescentArgs {
            file,
            pairs,
            all_pairs,
            inverse,
            founders,
            only,
            id,
            seed_parent,
            pollen_parent,
            clone_of,
        }
    }
}

/// Reads the pedigree.
pub fn pedigree(input: &Input, args: &DescentArgs) -> Result<Pedigree> {
    refuse_ploidy(input)?;
    let ids = input.column(&args.id)?;
    let seeds = input.column(&args.seed_parent)?;
    let pollens = input.column(&args.pollen_parent)?;
    let clones = if input.has(&args.clone_of) { Some(input.column(&args.clone_of)?) } else { None };
    let individuals = (0..input.len())
        .map(|i| Individual {
            id: ids[i].1.to_owned(),
            seed_parent: Parent::from_cell(seeds[i].1),
            pollen_parent: Parent::from_cell(pollens[i].1),
            clone_of: clones.as_ref().map(|c| c[i].1.to_owned()).filter(|c| !c.is_empty()),
        })
        .collect();
    Pedigree::new(individuals).map_err(|e| bad_pedigree(input, args, &e))
}

/// Runs it.
pub fn run(args: &DescentArgs) -> Result {
    let input = Input::read(&args.file)?;
    let pedigree = pedigree(&input, args)?;
    let pairs = match &args.pairs {
        None => Vec::new(),
        Some(path) => {
            let table = Input::read(path)?;
            let (a, b) = (table.column("a")?, table.column("b")?);
            a.iter().zip(&b).map(|(a, b)| (a.1.to_owned(), b.1.to_owned())).collect()
        }
    };
    let options = ReportOptions {
        pairs,
        all_pairs: args.all_pairs,
        inverse: args.inverse,
        founders: args.founders,
        only: args.only.clone(),
    };
    let found = report(&pedigree, &options).map_err(|e| {
        let text = e.to_string();
        let (what, next) = text.rsplit_once("; ").unwrap_or((&text, "correct the table"));
        Problem::input(format!("{}: {what}", input.file()), next)
    })?;
    Found::one(&found, as_table(&found, args))
}

/// Other ploidies than two are not handled yet; they must not be taken for diploids in silence.
fn refuse_ploidy(input: &Input) -> Result<()> {
    for (column, plain) in
        [("tau_seed", 1.0), ("tau_pollen", 1.0), ("lambda_seed", 0.0), ("lambda_pollen", 0.0)]
    {
        if !input.has(column) {
            continue;
        }
        for (row, value) in input.numbers(column)?.into_iter().zip(2..).map(|(v, row)| (row, v)) {
            if let Some(v) = value.filter(|v| (*v - plain).abs() > 0.0) {
                return Err(Problem::cell(
                    input.file(),
                    row,
                    column,
                    &v.to_string(),
                    format!("{plain}, the value of a diploid"),
                    "only diploids can be calculated; leave the others out",
                ));
            }
        }
    }
    Ok(())
}

/// Rows of the calculator count from 1 below the header; in the file the header is row 1.
fn bad_pedigree(input: &Input, args: &DescentArgs, error: &PedigreeError) -> Problem {
    let file = input.file();
    match error {
        PedigreeError::BlankId { row } => {
            Problem::cell(file, row + 1, &args.id, "", "an id", "give the plant an id")
        }
        PedigreeError::Duplicate { id, first, second } => Problem::cell(
            file,
            second + 1,
            &args.id,
            id,
            format!("new: row {} has it too", first + 1),
            "keep one of the rows, or give the second another id",
        ),
        PedigreeError::CloneOfTwo { id, first, second, row } => Problem::cell(
            file,
            row + 1,
            &args.clone_of,
            second,
            format!("possible: “{id}” is already said to be a piece of “{first}”"),
            "keep the one that is right",
        ),
        PedigreeError::PiecesDisagree { .. } | PedigreeError::Circle(_) => {
            let text = error.to_string();
            let (what, next) = text.rsplit_once("; ").unwrap_or((&text, "correct the table"));
            Problem::input(format!("{file}: {what}"), next)
        }
    }
}

fn as_table(found: &Report, args: &DescentArgs) -> Table {
    if let Some(inverse) = found.inverse.as_ref().filter(|_| args.inverse) {
        let mut table = Table::new(["a", "b", "value"]);
        for e in inverse {
            table.row(vec![e.a.clone().into(), e.b.clone().into(), e.value.into()]);
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

//! Parents of a clone, and which plants are pieces of one.

use answers::{
    acts::{self, ParentInput},
    water::Wish,
};
use clap::Args;
use journal::OpId;

use crate::{
    add::both_parents,
    house::House,
    out::{Form, Table},
    problem::{Problem, Result},
    target,
};

/// Say who the parents of a plant are
#[derive(Debug, Args)]
pub struct ParentsArgs {
    /// The plant, by number or code
    pub plant: String,
    /// Both parents, as "A x B"
    #[arg(value_name = "A x B", conflicts_with_all = ["seed", "pollen"])]
    pub both: Option<String>,
    /// Seed parent: a name, a plant number, unknown, or "A or B"
    #[arg(long, value_name = "PARENT")]
    pub seed: Option<String>,
    /// Pollen parent, likewise
    #[arg(long, value_name = "PARENT")]
    pub pollen: Option<String>,
    /// Why you think so
    #[arg(long, value_name = "WORDS")]
    pub why: Option<String>,
}

/// Say that a plant is a piece of the same clone as another
#[derive(Debug, Args)]
pub struct JoinArgs {
    /// The plant that joins
    pub plant: String,
    /// A plant of the clone that it joins
    pub other: String,
    /// Why you think so
    #[arg(long, value_name = "WORDS")]
    pub why: Option<String>,
}

/// Say that a plant is no piece of the clone it was held to be
#[derive(Debug, Args)]
pub struct SplitArgs {
    /// The plant that becomes a clone of its own
    pub plant: String,
    /// Why you think so
    #[arg(long, value_name = "WORDS")]
    pub why: Option<String>,
}

/// Give a plant your own tag, or take it away
#[derive(Debug, Args)]
pub struct TagArgs {
    /// The plant, by number or code
    pub plant: String,
    /// The tag; left out to take it away
    #[arg(default_value = "", hide_default_value = true)]
    pub tag: String,
}

/// Say how dry a plant is let become before it gets water
#[derive(Debug, Args)]
pub struct WishArgs {
    /// The plant, by number or code
    pub plant: String,
    /// How dry
    #[arg(value_enum)]
    pub wish: WishArg,
}

/// How dry.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum WishArg {
    /// Watered before it is dry
    #[value(name = "never-dry")]
    Never,
    /// Watered when just dry
    #[value(name = "just-dry")]
    Just,
    /// Watered when dry through and through
    #[value(name = "bone-dry")]
    Bone,
}

/// Say what a plant is suspected to be, or take the suspicion back
#[derive(Debug, Args)]
pub struct SuspectArgs {
    /// The plant, by number or code
    pub plant: String,
    /// What it may be in truth; left out to take it back
    #[arg(default_value = "", hide_default_value = true)]
    pub words: String,
}

pub(crate) fn number(house: &House, journal: &journal::Journal, typed: &str) -> Result<i64> {
    house.read(journal, |r| target::plant(r, &house.hand, typed))
}

/// Says what was done, in the form that was asked for.
pub fn done(house: &House, what: &str, op: OpId) -> Result {
    if house.out.form() == Form::Table {
        house.out.line(what);
        return Ok(());
    }
    let mut table = Table::new(&["done", "operation"]);
    table.row(vec![what.into(), op.to_string().into()]);
    house.out.table(&table)
}

/// Runs `parents`.
pub fn parents(house: &House, args: &ParentsArgs) -> Result {
    let (seed, pollen) = match &args.both {
        Some(both) => both_parents(both)?,
        None if args.seed.is_none() && args.pollen.is_none() => {
            return Err(Problem::input(
                "it is not said who the parents are",
                "write \"A x B\" after the plant, or --seed and --pollen; `umbel show` shows what is recorded",
            ));
        }
        None => (
            ParentInput::read(args.seed.as_deref().unwrap_or("")),
            ParentInput::read(args.pollen.as_deref().unwrap_or("")),
        ),
    };
    let journal = house.journal()?;
    let plant = number(house, &journal, &args.plant)?;
    let op = acts::set_parents(&journal, &house.hand, plant, &seed, &pollen, args.why.as_deref())?;
    let said = house.read(&journal, |r| Ok(r.plant(plant)?))?.map(|p| p.parents);
    done(house, &format!("plant {plant}: {}", said.unwrap_or_default()), op)
}

/// Runs `join`.
pub fn join(house: &House, args: &JoinArgs) -> Result {
    let journal = house.journal()?;
    let plant = number(house, &journal, &args.plant)?;
    let other = number(house, &journal, &args.other)?;
    let op = acts::join_clones(&journal, &house.hand, plant, other, args.why.as_deref())?;
    done(house, &format!("plant {plant} is a piece of the same clone as plant {other}"), op)
}

/// Runs `split`.
pub fn split(house: &House, args: &SplitArgs) -> Result {
    let journal = house.journal()?;
    let plant = number(house, &journal, &args.plant)?;
    let op = acts::split_clone(&journal, &house.hand, plant, args.why.as_deref())?;
    done(house, &format!("plant {plant} is a clone of its own"), op)
}

/// Runs `tag`.
pub fn tag(house: &House, args: &TagArgs) -> Result {
    let journal = house.journal()?;
    let plant = number(house, &journal, &args.plant)?;
    let op = acts::tag_plant(&journal, &house.hand, plant, &args.tag)?;
    done(house, &format!("plant {plant}: tag “{}”", args.tag), op)
}

/// Runs `wish`.
pub fn wish(house: &House, args: &WishArgs) -> Result {
    let journal = house.journal()?;
    let plant = number(house, &journal, &args.plant)?;
    let wish = match args.wish {
        WishArg::Never => Wish::NeverDry,
        WishArg::Just => Wish::JustDry,
        WishArg::Bone => Wish::BoneDry,
    };
    let op = acts::set_wish(&journal, &house.hand, plant, wish)?;
    done(house, &format!("plant {plant}: {}", wish.as_str().replace('_', " ")), op)
}

/// Runs `suspect`.
pub fn suspect(house: &House, args: &SuspectArgs) -> Result {
    let journal = house.journal()?;
    let plant = number(house, &journal, &args.plant)?;
    let op = acts::suspect(&journal, &house.hand, plant, &args.words)?;
    done(house, &format!("plant {plant}: suspected “{}”", args.words), op)
}

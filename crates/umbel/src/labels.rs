//! `umbel labels`.

#[cfg(feature = "pages")]
mod set;

use std::path::PathBuf;

use clap::Args;

use crate::{house::House, problem::Result};

/// Print labels as a PDF
#[derive(Debug, Args)]
#[command(after_help = "\
Sizes in mm, width x height: 60x25 and 75x20 for stakes, 50x30 for hanging tags, tape:40x12 for the
tape of small label printers, or any other such as 70x30.

Examples:
  umbel labels 12-18 --out labels.pdf
  umbel labels --where place=3 --size 75x20 --back fold --out shelf.pdf
  umbel labels 31 --size tape:40x12 --out tape.pdf
  umbel labels --cross 7 --size 50x30 --out tag.pdf")]
pub struct LabelsArgs {
    /// Plants by number, range or code
    #[arg(value_name = "PLANT", required_unless_present_any = ["conditions", "crosses"])]
    pub plants: Vec<String>,
    /// Labels for each plant that meets this condition, such as place=3; may be given several times
    #[arg(long = "where", value_name = "KEY=VALUE", id = "conditions")]
    pub conditions: Vec<String>,
    /// A tag with the number of this cross, for its latest pollination; may be given several times
    #[arg(long = "cross", value_name = "CROSS", id = "crosses")]
    pub crosses: Vec<i64>,
    /// The size of a label in mm
    #[arg(long, value_name = "WIDTHxHEIGHT", default_value = "60x25")]
    pub size: String,
    /// The sheet: a4, single (one label a page), or its measures as
    /// page=210x297,margin=8x12,columns=3,rows=11,gap=0x0
    #[arg(long, value_name = "SHEET", default_value = "a4")]
    pub sheet: String,
    /// Where the back is printed
    #[arg(long, value_enum, default_value = "none")]
    pub back: BackArg,
    /// Large letters on dotted guides, to copy with a pen
    #[arg(long)]
    pub hand: bool,
    /// How many labels of the first sheet are used up already
    #[arg(long, value_name = "COUNT", default_value_t = 0)]
    pub skip: usize,
    /// The file
    #[arg(long, value_name = "FILE.pdf")]
    pub out: PathBuf,
}

/// Where the back goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum BackArg {
    /// Front only
    None,
    /// Below a fold, so that it reads upright once folded behind
    Fold,
    /// On the next page, the sheet turned over its long edge
    Long,
    /// On the next page, the sheet turned over its short edge
    Short,
}

/// Runs it.
#[cfg(feature = "pages")]
pub fn run(house: &House, args: &LabelsArgs) -> Result {
    set::run(house, args)
}

/// Says that this build has no typesetter.
#[cfg(not(feature = "pages"))]
pub fn run(_: &House, _: &LabelsArgs) -> Result {
    Err(crate::serve::built_without())
}

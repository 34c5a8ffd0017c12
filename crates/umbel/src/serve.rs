//! `umbel open`: the pages, on this machine.

#[cfg(feature = "pages")]
mod listen;

use clap::Args;

use crate::{house::House, problem::Result};

/// Open the collection in the browser; this is what `umbel` alone does
#[derive(Debug, Default, Args)]
pub struct OpenArgs {
    /// The port to listen on; 0 for any that is free
    #[arg(long, value_name = "PORT", default_value_t = PORT)]
    pub port: u16,
    /// Begin in the demo, the record of an invented grower
    #[arg(long)]
    pub demo: bool,
    /// Let in phones of this network, over an encrypted connection, once they were paired or gave
    /// the passcode; set one first on the page House
    #[arg(long)]
    pub phones: bool,
    /// With --phones: do not encrypt. Whoever listens in the network can then read what goes
    /// between, the passcode too, and write in a phone's name
    #[arg(long, requires = "phones")]
    pub plain: bool,
    /// Do not open a browser, only print the address
    #[arg(long)]
    pub no_browser: bool,
}

/// The usual port.
pub const PORT: u16 = 8465;

/// Runs it until it is stopped.
#[cfg(feature = "pages")]
pub fn run(house: &House, args: &OpenArgs) -> Result {
    listen::run(house, args)
}

/// Says that this build has no pages.
#[cfg(not(feature = "pages"))]
pub fn run(_: &House, _: &OpenArgs) -> Result {
    Err(built_without())
}

/// What a build without pages and labels says of them.
#[cfg(not(feature = "pages"))]
pub fn built_without() -> crate::problem::Problem {
    crate::problem::Problem::undone(
        "this umbel was built without pages and labels",
        "build it again without --no-default-features",
    )
}

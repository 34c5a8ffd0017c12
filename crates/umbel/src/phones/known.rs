//! The phones of a record.

use std::io::IsTerminal as _;

use jiff::{Timestamp, tz::TimeZone};
use printing::Square;
use web::{Devices, Ways, roles::Role};

use super::{EndArgs, PairArgs, RoleArg};
use crate::{
    house::House,
    out::{Form, Table},
    problem::{Problem, Result},
};

impl From<RoleArg> for Role {
    fn from(role: RoleArg) -> Self {
        match role {
            RoleArg::Guest => Self::Guest,
            RoleArg::Helper => Self::Helper,
            RoleArg::Owner => Self::Owner,
        }
    }
}

fn clock(at: Timestamp) -> String {
    at.to_zoned_datetime(TimeZone::system()).strftime("%Y-%m-%d %H:%M").to_string()
}

/// Lists them.
pub fn list(house: &House) -> Result {
    let journal = house.journal()?;
    let devices = Devices(&journal).known(house.hand.now)?;
    let mut table = Table::new(&["phone", "name", "kind", "role", "since", "last_seen", "until"]);
    for d in &devices {
        table.row(vec![
            d.id().into(),
            (&d.name).into(),
            (&d.device).into(),
            d.role.as_str().into(),
            clock(d.since).into(),
            d.seen.map(clock).into(),
            clock(d.until).into(),
        ]);
    }
    if devices.is_empty() && house.out.form() == Form::Table {
        house.out.note("no phone is let in; `umbel phones pair` lets one in");
        return Ok(());
    }
    house.out.table(&table)
}

/// Makes a code and shows it as a square.
pub fn pair(house: &House, args: &PairArgs) -> Result {
    let journal = house.journal()?;
    let Some(ways) = Ways::kept(&journal)? else {
        return Err(Problem::undone(
            "this house was never opened to phones, so no address is known for the square",
            "run `umbel open --phones` and, while it runs, this again",
        ));
    };
    let pairing = Devices(&journal).offer(args.role.into(), &args.name, house.hand.now)?;
    let address = pairing.address(&ways.by_name);
    if house.out.form() != Form::Table {
        return house.out.json(&serde_json::json!({
            "address": address,
            "code": pairing.code,
            "role": pairing.role.as_str(),
            "name": pairing.name,
            "until": pairing.until.to_string(),
            "fingerprint": ways.fingerprint,
        }));
    }
    let square = Square::of(&address)
        .map_err(|e| Problem::undone(e, "choose a shorter name on the page House"))?;
    house.out.line(&drawn(&square, std::io::stdout().is_terminal()));
    house.out.line(&format!("or open {}/door and type {}", ways.by_name, pairing.grouped()));
    if !ways.by_number.is_empty() {
        house.out.line(&format!("or {}/door", ways.by_number));
    }
    if !ways.fingerprint.is_empty() {
        house.out.line(&format!(
            "the phone warns once; the fingerprint (SHA-256) that it shows must be {}",
            ways.fingerprint
        ));
    }
    let until =
        pairing.until.to_zoned_datetime(TimeZone::system()).strftime("%H:%M:%S").to_string();
    house.out.note(&format!(
        "good once, until {until}, while `umbel open --phones` runs; who has it can come in as {}",
        pairing.role.as_str()
    ));
    Ok(())
}

/// The square in characters that are half as wide as high, two rows of modules in each line, with
/// the four blank modules that a camera needs. `ink` says dark on light whatever the terminal's
/// colours are; without, what is printed is light where the terminal's letters are.
pub fn drawn(square: &Square, ink: bool) -> String {
    const QUIET: i32 = 4;
    let side = i32::try_from(square.side).unwrap_or(0);
    let mut text = String::new();
    for row in (-QUIET..side + QUIET).step_by(2) {
        if ink {
            text.push_str("\u{1b}[30;107m");
        }
        for column in -QUIET..side + QUIET {
            let (above, below) = (square.is_dark(column, row), square.is_dark(column, row + 1));
            let letter = match (above == ink, below == ink) {
                (true, true) => '█',
                (true, false) => '▀',
                (false, true) => '▄',
                (false, false) => ' ',
            };
            text.push(letter);
        }
        if ink {
            text.push_str("\u{1b}[0m");
        }
        text.push('\n');
    }
    text
}

/// Ends one or all.
pub fn end(house: &House, args: &EndArgs) -> Result {
    let journal = house.journal()?;
    let devices = Devices(&journal);
    match &args.phone {
        None => {
            let ended = devices.end_all()?;
            house.out.line(&format!("{ended} ended"));
        }
        Some(phone) if devices.end(phone)? => house.out.line(&format!("{phone} ended")),
        Some(phone) => {
            return Err(Problem::undone(
                format!("no phone “{phone}” is let in"),
                "`umbel phones` lists them",
            ));
        }
    }
    Ok(())
}

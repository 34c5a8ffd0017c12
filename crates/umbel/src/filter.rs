//! Which plants: the same conditions for lists, bulk entries and labels.

use clap::Args;
use journal::{PlantFilter, Reader};

use crate::problem::{Problem, Result};

/// Conditions that plants must meet.
#[derive(Debug, Clone, Default, Args)]
#[command(next_help_heading = "Which plants")]
pub struct FilterArgs {
    /// Only this genus
    #[arg(long, value_name = "GENUS")]
    pub genus: Option<String>,
    /// Only plants that stand at this place (number or name)
    #[arg(long, value_name = "PLACE")]
    pub place: Option<String>,
    /// Only plants that came from this keeper (number or name)
    #[arg(long, value_name = "KEEPER")]
    pub keeper: Option<String>,
    /// In this state; `any` for all of them
    #[arg(long, value_name = "STATE", default_value = "alive",
          value_parser = ["alive", "dead", "gone", "unknown", "any"])]
    pub state: String,
    /// Only plants that came as this
    #[arg(long, value_name = "WHAT",
          value_parser = ["cutting", "rooted_cutting", "plant", "seed", "seedling", "division"])]
    pub came_as: Option<String>,
    /// Only plants raised here
    #[arg(long, conflicts_with = "not_own")]
    pub own: bool,
    /// Only plants that came from others
    #[arg(long)]
    pub not_own: bool,
    /// Only plants of which this is not recorded
    #[arg(long, value_name = "WHAT", value_parser = ["name", "came", "parents", "place"])]
    pub missing: Option<String>,
}

impl FilterArgs {
    /// The filter, with names of places and keepers looked up.
    pub fn filter(&self, reader: &Reader<'_>, words: &[String]) -> Result<PlantFilter> {
        let words = words.join(" ");
        Ok(PlantFilter {
            words: Some(words).filter(|w| !w.trim().is_empty()),
            genus: self.genus.clone(),
            place: self.place.as_deref().map(|p| place_number(reader, p)).transpose()?,
            keeper: self.keeper.as_deref().map(|k| keeper_number(reader, k)).transpose()?,
            state: Some(self.state.clone()).filter(|s| s != "any"),
            received_as: self.came_as.clone(),
            own: match (self.own, self.not_own) {
                (true, _) => Some(true),
                (_, true) => Some(false),
                _ => None,
            },
            missing: self.missing.clone(),
            ..PlantFilter::default()
        })
    }

    /// Takes conditions written as `key=value`.
    pub fn read_conditions(conditions: &[String]) -> Result<(Self, Vec<String>)> {
        let mut args = Self { state: "alive".to_owned(), ..Self::default() };
        let mut words = Vec::new();
        for condition in conditions {
            let (key, value) = condition.split_once('=').unwrap_or((condition.as_str(), ""));
            let value = value.trim().to_owned();
            match key.trim() {
                "genus" => args.genus = Some(value),
                "place" => args.place = Some(value),
                "keeper" => args.keeper = Some(value),
                "state" => args.state = value,
                "came-as" | "came_as" => args.came_as = Some(value),
                "own" => {
                    args.own = value != "no";
                    args.not_own = value == "no";
                }
                "missing" => args.missing = Some(value),
                "words" => words.push(value),
                other => {
                    return Err(Problem::input(
                        format!("--where: “{other}” is not a condition"),
                        "write genus=, place=, keeper=, state=, came-as=, own=yes, missing= or words=",
                    ));
                }
            }
        }
        Ok((args, words))
    }
}

/// The number of a place given by number or name.
pub fn place_number(reader: &Reader<'_>, typed: &str) -> Result<i64> {
    let row = match typed.parse::<i64>() {
        Ok(n) => reader.place(n)?,
        Err(_) => reader.place_named(typed)?,
    };
    row.map(|p| p.number).ok_or_else(|| {
        Problem::undone(
            format!("there is no place “{typed}”"),
            format!("`umbel places` lists them; `umbel places add \"{typed}\"` makes one"),
        )
    })
}

/// The number of a keeper given by number or name.
pub fn keeper_number(reader: &Reader<'_>, typed: &str) -> Result<i64> {
    let row = match typed.parse::<i64>() {
        Ok(n) => reader.keeper(n)?,
        Err(_) => reader.keeper_named(typed)?,
    };
    row.map(|k| k.number).ok_or_else(|| {
        Problem::undone(
            format!("there is no keeper “{typed}”"),
            format!("`umbel keepers` lists them; `umbel keepers add \"{typed}\"` makes one"),
        )
    })
}

//! Where the record lies, and who asks: the only module that looks at the clock and the
//! surroundings.

use std::{
    env, fs,
    io::IsTerminal as _,
    path::{Path, PathBuf},
};

use answers::Hand;
use clap::Args;
use jiff::{Timestamp, ZonedDateTime};
use journal::{Journal, Opened, Reader};
use texts::Lang;

use crate::{
    out::{Form, Out},
    problem::{Problem, Result},
};

/// Options that every subcommand takes.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Everywhere")]
pub struct Everywhere {
    /// The collection [default: collection.umbel in your data folder]
    #[arg(
        long,
        global = true,
        value_name = "FILE",
        env = "UMBEL_COLLECTION",
        hide_env_values = true
    )]
    pub collection: Option<PathBuf>,
    /// Print as a table, as JSON or as CSV [default: table; JSON for `umbel calc`]
    #[arg(long = "as", global = true, value_name = "FORM", value_enum)]
    pub form: Option<Form>,
    /// The language of answers and dates [default: that of the system]
    #[arg(long, global = true, value_name = "LANGUAGE", value_enum)]
    pub lang: Option<Language>,
    /// Who writes [default: the name you are logged in under]
    #[arg(long, global = true, value_name = "NAME", env = "UMBEL_WHO", hide_env_values = true)]
    pub who: Option<String>,
}

/// The languages of answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Language {
    En,
    De,
}

/// The record, the hand and the way out of one run.
pub struct House {
    path: PathBuf,
    /// Who asks, and when.
    pub hand: Hand,
    /// Where things are printed.
    pub out: Out,
}

impl House {
    /// Looks at the options and the surroundings.
    pub fn new(every: &Everywhere) -> Self {
        let now = Timestamp::now();
        let lang = match every.lang {
            Some(Language::De) => Lang::De,
            Some(Language::En) => Lang::En,
            None => language_of_system(),
        };
        let hand = Hand {
            who: every.who.clone().or_else(|| set("USER")).unwrap_or_else(|| "keeper".to_owned()),
            device: device(),
            now,
            today: ZonedDateTime::now().date(),
            lang,
            op: None,
        };
        let path = every.collection.clone().unwrap_or_else(default_collection);
        Self { path, hand, out: Out::new(every.form) }
    }

    /// The file of the record.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The file of the checklist of accepted names that was loaded for this record.
    pub fn checklist(&self) -> PathBuf {
        self.path.with_extension("checklist")
    }

    /// Opens the record, which must be there.
    pub fn journal(&self) -> Result<Journal> {
        if !self.path.exists() {
            return Err(Problem {
                what: format!("there is no collection at {}", self.path.display()),
                kept: Some("none was made"),
                next: "`umbel add` or `umbel import FILE` begins one; `umbel demo FILE` writes one to look at; `--collection FILE` names another".to_owned(),
                status: 1,
            });
        }
        self.journal_or_new()
    }

    /// Opens the record, or begins one.
    pub fn journal_or_new(&self) -> Result<Journal> {
        let (journal, opened) = Journal::open(&self.path)?;
        match opened {
            Opened::New => {
                self.out.note(&format!("began a new collection: {}", self.path.display()))
            }
            Opened::Upgraded { from, backup } => self.out.note(&format!(
                "the collection had file form {from}; it was copied to {} and brought up to date",
                backup.display()
            )),
            Opened::Existing => {}
        }
        Ok(journal)
    }

    /// Reads from the record with errors of this crate.
    pub fn read<T>(
        &self,
        journal: &Journal,
        ask: impl FnOnce(&Reader<'_>) -> Result<T>,
    ) -> Result<T> {
        journal.read(|reader| Ok(ask(reader)))?
    }
}

fn set(key: &str) -> Option<String> {
    env::var(key).ok().filter(|v| !v.is_empty())
}

fn device() -> String {
    fs::read_to_string("/etc/hostname")
        .ok()
        .map(|h| h.trim().to_owned())
        .filter(|h| !h.is_empty())
        .or_else(|| set("HOSTNAME"))
        .unwrap_or_else(|| "this machine".to_owned())
}

fn language_of_system() -> Lang {
    let said = ["LC_ALL", "LC_MESSAGES", "LANG"].into_iter().find_map(set).unwrap_or_default();
    if said.to_lowercase().starts_with("de") { Lang::De } else { Lang::En }
}

/// `collection.umbel` in the user's data folder (XDG Base Directory Specification).
fn default_collection() -> PathBuf {
    let folder = set("XDG_DATA_HOME")
        .map(PathBuf::from)
        .or_else(|| set("HOME").map(|h| PathBuf::from(h).join(".local/share")))
        .unwrap_or_default();
    folder.join("umbel/collection.umbel")
}

/// Asks on the terminal; where there is none, the answer is no.
pub fn agreed(question: &str) -> bool {
    if !std::io::stdin().is_terminal() || !std::io::stderr().is_terminal() {
        return false;
    }
    eprint!("{question} [y/N] ");
    let mut line = String::new();
    let _ = std::io::stdin().read_line(&mut line);
    matches!(line.trim().to_lowercase().as_str(), "y" | "yes" | "j" | "ja")
}

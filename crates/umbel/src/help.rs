//! The words of `--help` as a whole, and completions for shells.

use clap::{Args, Command};

use crate::problem::Result;

/// Subcommands in the order of the help, under the headings of the job.
pub const GROUPS: &[(&str, &[&str])] = &[
    ("Pages", &["open", "phones"]),
    (
        "Plants",
        &[
            "list", "find", "show", "add", "name", "parents", "join", "split", "tag", "suspect",
            "wish", "growth", "photo", "labels",
        ],
    ),
    ("Journal", &["log", "statement", "question", "undo", "history"]),
    ("Answers", &["today", "ask", "predictions", "kin", "pests"]),
    ("Places and keepers", &["places", "readings", "keepers"]),
    ("Feed and potting", &["feed", "potting"]),
    ("Crosses", &["crosses", "crossing", "flowers", "pollinate", "sow", "prick-out"]),
    ("Lists and names", &["import", "left-over", "names"]),
    ("Safety of the record", &["backup", "verify", "restore", "doctor", "export", "read-export"]),
    ("Besides", &["demo", "calc", "completions"]),
];

/// Adds the grouped list of subcommands to the help of the whole command.
pub fn finished(command: Command) -> Command {
    let mut groups = String::new();
    for (heading, names) in GROUPS {
        groups.push_str(&format!("\n{heading}:\n"));
        for name in *names {
            let about = command
                .get_subcommands()
                .find(|c| c.get_name() == *name)
                .and_then(Command::get_about)
                .map(ToString::to_string)
                .unwrap_or_default();
            groups.push_str(&format!("  {name:<12} {about}\n"));
        }
    }
    let template = format!(
        "{{about}}\n\nUsage: umbel [SUBCOMMAND] [OPTIONS]\n{groups}\n{{options}}\n\n\
         `umbel SUBCOMMAND --help` says more about each.\n"
    );
    command.help_template(template)
}

/// Write completions for a shell
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  umbel completions bash > ~/.local/share/bash-completion/completions/umbel
  umbel completions fish > ~/.config/fish/completions/umbel.fish")]
pub struct CompletionsArgs {
    /// The shell
    #[arg(value_enum)]
    pub shell: clap_complete::Shell,
}

/// Runs `completions`.
pub fn completions(args: &CompletionsArgs) -> Result {
    clap_complete::generate(args.shell, &mut crate::command(), "umbel", &mut std::io::stdout());
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_subcommand_stands_under_exactly_one_heading() {
        let mut grouped: Vec<&str> = GROUPS.iter().flat_map(|g| g.1).copied().collect();
        let command = crate::command();
        let mut there: Vec<&str> = command.get_subcommands().map(Command::get_name).collect();
        grouped.sort_unstable();
        there.sort_unstable();
        assert_eq!(grouped, there);
    }
}

//! The command reference, written from the definitions.

use clap::{Arg, Command};

/// Every subcommand with its arguments and options, as Markdown.
#[must_use]
pub fn reference() -> String {
    let mut command = crate::command();
    command.build();
    let mut out = String::from(
        "# The command `umbel`\n\n\
         Written from the definitions of the command; a test compares the two.\n\n\
         ## Options of every subcommand\n\n",
    );
    for arg in command.get_arguments().filter(|a| a.is_global_set()) {
        out.push_str(&line(arg));
    }
    for (heading, names) in crate::help::GROUPS {
        out.push_str(&format!("\n## {heading}\n"));
        for name in *names {
            if let Some(sub) = command.get_subcommands().find(|c| c.get_name() == *name) {
                section(sub, "umbel", &mut out);
            }
        }
    }
    out
}

fn section(command: &Command, path: &str, out: &mut String) {
    let path = format!("{path} {}", command.get_name());
    out.push_str(&format!("\n### `{path}`\n\n"));
    if let Some(about) = command.get_about() {
        out.push_str(&format!("{about}.\n"));
    }
    let usage = command.clone().render_usage().to_string();
    let usage: Vec<&str> = usage.trim_start_matches("Usage:").lines().map(str::trim).collect();
    out.push_str(&format!("\n    {}\n\n", usage.join("\n    ")));
    for arg in command.get_arguments().filter(|a| !a.is_global_set() && !is_help(a)) {
        out.push_str(&line(arg));
    }
    for sub in command.get_subcommands().filter(|c| c.get_name() != "help") {
        section(sub, &path, out);
    }
}

fn is_help(arg: &Arg) -> bool {
    matches!(arg.get_id().as_str(), "help" | "version")
}

fn line(arg: &Arg) -> String {
    let value = arg
        .get_value_names()
        .map(|names| names.iter().map(ToString::to_string).collect::<Vec<_>>().join(" "))
        .unwrap_or_default();
    let takes = arg.get_action().takes_values();
    let name = match arg.get_long() {
        Some(long) if takes => format!("--{long} {value}"),
        Some(long) => format!("--{long}"),
        None => value,
    };
    let help = arg.get_help().map(ToString::to_string).unwrap_or_default();
    let mut text = format!("- `{name}`: {help}");
    let choices: Vec<String> = arg
        .get_possible_values()
        .iter()
        .filter(|_| takes)
        .map(|v| format!("`{}`", v.get_name()))
        .collect();
    if !choices.is_empty() && choices.len() < 20 {
        text.push_str(&format!(": {}", choices.join(", ")));
    }
    let default = arg.get_default_values().iter().filter_map(|v| v.to_str());
    let default: Vec<&str> = default.filter(|v| !v.is_empty()).collect();
    if takes && !default.is_empty() && !arg.is_hide_default_value_set() {
        text.push_str(&format!("; `{}` unless said otherwise", default.join(" ")));
    }
    text.push('\n');
    text
}

//! Help and reference: every option says what it does, and the reference is that of the command.

use clap::Command;

use crate::support::House;

fn walk(command: &Command, path: &str, visit: &mut impl FnMut(&Command, &str)) {
    let path = format!("{path} {}", command.get_name()).trim().to_owned();
    visit(command, &path);
    for sub in command.get_subcommands() {
        walk(sub, &path, visit);
    }
}

#[test]
fn everything_that_can_be_typed_is_explained() {
    let mut looked_at = 0;
    walk(&umbel::command(), "", &mut |command, path| {
        assert!(command.get_about().is_some(), "`{path}` has no help");
        for arg in command.get_arguments() {
            let help = arg.get_help().map(ToString::to_string).unwrap_or_default();
            assert!(help.len() > 3, "`{path}`: {} has no help", arg.get_id());
            assert!(!help.ends_with('.'), "`{path}`: {} ends in a full stop", arg.get_id());
            looked_at += 1;
        }
    });
    assert!(looked_at > 100, "only {looked_at} arguments were looked at");
}

#[test]
fn help_of_every_subcommand_names_its_options() {
    let house = House::new();
    let mut paths = Vec::new();
    walk(&umbel::command(), "", &mut |command, path| {
        let options: Vec<String> = command
            .get_arguments()
            .filter_map(|a| a.get_long().map(|l| format!("--{l}")))
            .collect();
        paths.push((path.to_owned(), options));
    });
    for (path, options) in paths {
        let mut words: Vec<&str> = path.split(' ').skip(1).collect();
        words.push("--help");
        let ran = house.good(&words);
        for option in options {
            assert!(ran.out.contains(&option), "`{path} --help` does not name {option}");
        }
    }
}

#[test]
fn help_of_log_has_every_kind_with_its_fields() {
    let help = House::new().good(&["log", "--help"]).out;
    for kind in journal::KINDS {
        assert!(help.contains(&format!("\n  {}  (about: ", kind.key)), "{}", kind.key);
        for field in kind.fields {
            assert!(help.contains(field.key), "{}.{}", kind.key, field.key);
        }
    }
}

/// Set this to write the reference anew.
const REWRITE: &str = "UMBEL_WRITE_COMMANDS";

#[test]
fn the_reference_is_that_of_the_command() {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/COMMANDS.md");
    let now = umbel::reference();
    if std::env::var_os(REWRITE).is_some() {
        std::fs::write(file, &now).unwrap();
    }
    let kept = std::fs::read_to_string(file).unwrap_or_default();
    let differs = kept.lines().zip(now.lines()).find(|(a, b)| a != b);
    assert!(kept == now, "COMMANDS.md differs ({differs:?}); run the tests with {REWRITE}=1");
}

#[test]
fn completions_know_the_subcommands() {
    let house = House::new();
    for shell in ["bash", "zsh", "fish"] {
        let script = house.good(&["completions", shell]).out;
        for word in ["pollinate", "left-over", "--collection"] {
            let word = word.trim_start_matches('-');
            assert!(script.contains(word), "{shell} does not know {word}");
        }
    }
}

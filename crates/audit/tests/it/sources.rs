//! What no source may hold.

use std::{fs, path::PathBuf};

use proc_macro2::TokenTree;

use crate::{
    tokens::{code_of, every_run, ident, punct},
    workspace::{files, members, root, shown},
};

/// Lines that a hand-written file may have.
const LINES: usize = 800;

fn all_rust() -> Vec<PathBuf> {
    let found = files(&root().join("crates"), &["rs"]);
    assert!(found.len() > 100, "only {} sources were found", found.len());
    found
}

#[test]
fn no_source_is_too_long_to_read() {
    for file in all_rust() {
        let lines = fs::read_to_string(&file).unwrap().lines().count();
        assert!(lines <= LINES, "{} has {lines} lines", shown(&file));
    }
}

#[test]
fn nothing_is_left_undone_or_switched_off() {
    for file in all_rust() {
        every_run(&code_of(&file), &mut |run| {
            for (at, token) in run.iter().enumerate() {
                // `#[ignore]` without a reason; a reason says when the test is run all the same.
                let switched_off = matches!(token, TokenTree::Group(g)
                    if g.stream().to_string() == "ignore")
                    && at > 0
                    && punct(&run[at - 1]) == Some('#');
                assert!(!switched_off, "{} ignores a test without a reason", shown(&file));
                let undone = ident(token).filter(|w| {
                    ["todo", "unimplemented", "dbg"].contains(&w.as_str())
                        && run.get(at + 1).and_then(punct) == Some('!')
                });
                assert!(undone.is_none(), "{} holds {undone:?}", shown(&file));
            }
        });
    }
}

#[test]
fn no_source_names_a_machine() {
    // Spelt in pieces, so that this file passes its own test.
    let unwanted = [
        concat!("/ho", "me/"),
        concat!("/ro", "ot/"),
        concat!("/Us", "ers/"),
        concat!("/wo", "rk/"),
        concat!("C:\\", "Users"),
        concat!("index.", "crates.io"),
        concat!("static.", "crates.io"),
        concat!("registry.", "npmjs"),
        concat!("pypi", ".org"),
    ];
    let endings = ["rs", "toml", "md", "css", "js", "tsv", "csv", "sh", "typ", "svg"];
    let mut looked = files(&root().join("crates"), &endings);
    for name in ["check", ".ci/run", "scripts/release-archive", "Cargo.toml", "deny.toml"] {
        looked.extend(Some(root().join(name)).filter(|p| p.is_file()));
    }
    looked.extend(
        fs::read_dir(root())
            .unwrap()
            .map(|e| e.unwrap().path())
            .filter(|p| p.extension().is_some_and(|e| e == "md")),
    );
    for file in looked {
        let bytes = fs::read(&file).unwrap();
        let text = String::from_utf8_lossy(&bytes);
        for word in unwanted {
            assert!(!text.contains(word), "{} names {word}", shown(&file));
        }
    }
}

#[test]
fn every_crate_takes_its_lints_from_the_workspace_and_says_what_it_is() {
    for member in members() {
        let lints = member.manifest.get("lints").and_then(|l| l.get("workspace"));
        assert_eq!(lints.and_then(toml::Value::as_bool), Some(true), "{}", member.name);
        let package = member.manifest["package"].as_table().unwrap();
        let described = package.get("description").and_then(toml::Value::as_str);
        assert!(described.is_some_and(|d| d.len() > 4), "{} has no description", member.name);
        let first = ["lib.rs", "main.rs"]
            .iter()
            .filter_map(|f| fs::read_to_string(member.folder.join("src").join(f)).ok())
            .next()
            .unwrap();
        assert!(first.starts_with("//! "), "{} does not say what it is", member.name);
    }
}

#[test]
fn every_crate_has_one_test_program_at_most() {
    for member in members() {
        let tests: Vec<PathBuf> = fs::read_dir(member.folder.join("tests"))
            .map(|d| d.map(|e| e.unwrap().path()).collect())
            .unwrap_or_default();
        let loose: Vec<String> = tests
            .iter()
            .filter(|p| p.extension().is_some_and(|e| e == "rs"))
            .map(|p| shown(p))
            .collect();
        // Each further program would link the whole tree of dependencies once more.
        assert!(loose.is_empty(), "move these into tests/it: {loose:?}");
    }
}

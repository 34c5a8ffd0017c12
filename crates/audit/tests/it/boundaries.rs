//! Which crate may know which.

use std::collections::{BTreeMap, BTreeSet};

use crate::{
    tokens::{code_of, paths},
    workspace::{Member, members, shown},
};

/// Crates that compute and see nothing of the world.
const CALCULATORS: [&str; 10] = [
    "dates", "texts", "names", "descent", "stats", "culture", "imaging", "drawing", "intake",
    "planning",
];

/// What a calculator may depend on inside the workspace: `dates` alone, which is how they all
/// write a vague date.
const SHARED_BY_CALCULATORS: [&str; 1] = ["dates"];

/// Paths by which the world could be reached: files, network, environment, processes, clock.
const WORLD: [&str; 12] = [
    "std::fs",
    "std::net",
    "std::env",
    "std::process",
    "std::os",
    "std::time::SystemTime",
    "std::time::Instant",
    "SystemTime::now",
    "Instant::now",
    "Timestamp::now",
    "Zoned::now",
    "TimeZone::system",
];

fn by_name() -> BTreeMap<String, Member> {
    members().into_iter().map(|m| (m.name.clone(), m)).collect()
}

fn own(needs: BTreeSet<String>, all: &BTreeMap<String, Member>) -> BTreeSet<String> {
    needs.into_iter().filter(|n| all.contains_key(n)).collect()
}

#[test]
fn a_calculator_knows_no_other_crate_than_dates() {
    let all = by_name();
    for name in CALCULATORS {
        let needs: Vec<String> = own(all[name].needs(), &all)
            .into_iter()
            .filter(|n| !SHARED_BY_CALCULATORS.contains(&n.as_str()))
            .collect();
        assert!(needs.is_empty(), "{name} is a calculator and depends on {needs:?}");
    }
}

#[test]
fn a_calculator_sees_no_file_no_network_and_no_clock() {
    let all = by_name();
    let mut seen = 0;
    for name in CALCULATORS.iter().chain(&["printing"]) {
        for file in all[*name].rust("src") {
            seen += 1;
            for path in paths(&code_of(&file)) {
                let world = WORLD.iter().find(|w| {
                    path == **w
                        || path.starts_with(&format!("{w}::"))
                        || path.ends_with(&format!("::{w}"))
                });
                assert!(world.is_none(), "{} reaches for {path}", shown(&file));
            }
        }
    }
    assert!(seen > 50, "only {seen} files were looked at");
}

#[test]
fn one_crate_alone_knows_sql_and_one_alone_knows_typst() {
    for member in members() {
        let needs = member.needs();
        assert_eq!(
            needs.contains("rusqlite"),
            member.name == "journal",
            "only the record knows SQL: {}",
            member.name
        );
        let typst = needs.iter().any(|n| n.starts_with("typst"));
        assert_eq!(typst, member.name == "printing", "only printing knows Typst: {}", member.name);
        let tests: Vec<String> = member
            .tests_need()
            .into_iter()
            .filter(|n| n == "rusqlite" || n.starts_with("typst"))
            .collect();
        assert!(tests.is_empty(), "the tests of {} depend on {tests:?}", member.name);
    }
}

/// For each crate that is no calculator, the crates of the workspace it may depend on, and why.
const MAY: [(&str, &[&str], &str); 9] = [
    (
        "journal",
        &["culture", "dates"],
        "the record keeps vague dates, and what a day was like by its loggers is part of the \
         projection; it knows no statistics and no HTML",
    ),
    ("printing", &[], "plain data in, bytes out"),
    (
        "answers",
        &[
            "culture", "dates", "texts", "names", "descent", "imaging", "stats", "intake",
            "journal", "planning",
        ],
        "the only crate that knows both the record and what computes",
    ),
    (
        "trial",
        &["dates", "names", "journal"],
        "it makes the records from which engines must recover the truth, so it imports none of \
         them; names only for the normal form that the record keeps beside what was typed",
    ),
    (
        "web",
        &["answers", "dates", "drawing", "journal", "names", "printing", "texts", "trial"],
        "lays out; names for styles of type and verdicts (which types only), journal to hand a \
         reader on, trial for the demo",
    ),
    (
        "umbel",
        &[
            "answers", "calc", "dates", "drawing", "intake", "journal", "names", "printing",
            "texts", "trial", "web",
        ],
        "the command only asks and prints; it computes nothing",
    ),
    (
        "calc",
        &["culture", "descent", "imaging", "names", "stats"],
        "gives each calculator a face of its own, on what was typed",
    ),
    ("audit", &[], "reads sources"),
    ("browser", &[], "drives a browser; only its tests start `web`"),
];

#[test]
fn no_crate_depends_on_what_it_has_no_reason_to() {
    let all = by_name();
    for name in all.keys() {
        if CALCULATORS.contains(&name.as_str()) {
            continue;
        }
        let Some((_, may, why)) = MAY.iter().find(|(n, ..)| n == name) else {
            panic!("{name} is new: say in this table what it may depend on, and why");
        };
        for needed in own(all[name].needs(), &all) {
            assert!(may.contains(&needed.as_str()), "{name} depends on {needed}; it: {why}");
        }
    }
}

/// Pages compute nothing: of what computes they name types, and call no function. (`dates` is how
/// every crate writes a vague date; saying one in words is layout.)
#[test]
fn pages_call_no_calculator() {
    let all = by_name();
    let computing = ["names", "stats", "descent", "intake"];
    for file in all["web"].rust("src") {
        // Here `names` is the module of the pages about names.
        if shown(&file) == "crates/web/src/pages.rs" {
            continue;
        }
        for path in paths(&code_of(&file)) {
            let (head, last) = (path.split("::").next(), path.rsplit("::").next());
            let calls =
                path.contains("::") && last.is_some_and(|l| l.starts_with(char::is_lowercase));
            let computes = head.is_some_and(|h| computing.contains(&h));
            assert!(
                !computes || !calls,
                "{} calls {path}; a module of `answers` should",
                shown(&file)
            );
        }
    }
}

#[test]
fn no_crate_depends_on_a_crate_it_does_not_use() {
    let all = by_name();
    for (name, member) in &all {
        let mut used = BTreeSet::new();
        for file in member.rust("src") {
            used.extend(
                paths(&code_of(&file))
                    .iter()
                    .filter_map(|p| p.split("::").next().map(str::to_owned)),
            );
        }
        for needed in own(member.needs(), &all) {
            assert!(used.contains(&needed), "{name} depends on {needed} and does not use it");
        }
    }
}

#[test]
fn no_dependency_runs_in_a_circle() {
    let all = by_name();
    let needs: BTreeMap<&str, BTreeSet<String>> =
        all.iter().map(|(n, m)| (n.as_str(), own(m.needs(), &all))).collect();
    let mut settled: BTreeSet<&str> = BTreeSet::new();
    while settled.len() < needs.len() {
        let next: Vec<&str> = needs
            .iter()
            .filter(|(n, of)| !settled.contains(*n) && of.iter().all(|o| settled.contains(&**o)))
            .map(|(n, _)| *n)
            .collect();
        let left: Vec<&&str> = needs.keys().filter(|n| !settled.contains(**n)).collect();
        assert!(!next.is_empty(), "these depend on each other in a circle: {left:?}");
        settled.extend(next);
    }
}

//! The catalogue of texts: everything that is shown is in it, and nothing else is.
//!
//! `UMBEL_TEXTS=list cargo test -p audit texts -- --nocapture` prints what is missing, one a line.

use std::{collections::BTreeMap, fs};

use proc_macro2::{Delimiter, TokenTree};

use crate::{
    tokens::{code_of, every_run, ident, inside, literal, literals, punct},
    workspace::{members, root, shown},
};

/// Crates whose words a reader sees.
const SPEAKING: [&str; 3] = ["answers", "web", "umbel"];

/// Functions that look their words up, and which of their arguments are such words.
const LOOKING_UP: [(&str, &[usize]); 4] =
    [("joined", &[0]), ("with_count", &[0, 1]), ("handed", &[0]), ("part", &[1])];

/// Fields that hold words to be looked up, with the type they belong to.
const FIELDS: [(&str, &[&str]); 8] = [
    ("Due", &["group"]),
    ("Answer", &["frame"]),
    ("Forecast", &["frame"]),
    ("Evidence", &["what"]),
    ("Gap", &["text"]),
    ("Caution", &["lead", "text"]),
    ("NotEnough", &["record"]),
    ("Question", &["words", "method"]),
];

/// Functions and constants whose literals are all words to be looked up.
const WHOLE: [(&str, &str); 6] = [
    ("answers/src/flowers/compare.rs", "words"),
    ("answers/src/flowers/lasts.rs", "frame"),
    ("answers/src/flowers/months.rs", "in_month"),
    ("answers/src/said.rs", "kinds"),
    ("web/src/pages/entries.rs", "GROUPS"),
    ("web/src/pages/import.rs", "WORDS"),
];

/// The texts that the sources look up, each with a place where they do.
fn looked_up() -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    for member in members().iter().filter(|m| SPEAKING.contains(&m.name.as_str())) {
        for file in member.rust("src") {
            let place = shown(&file);
            let code = code_of(&file);
            let mut keep = |texts: Vec<String>| {
                for text in texts.into_iter().filter(|t| has_words(t)) {
                    found.entry(text).or_insert_with(|| place.clone());
                }
            };
            every_run(&code, &mut |run| {
                for at in 0..run.len() {
                    keep(called(run, at));
                    keep(in_fields(run, at));
                    for (_, name) in WHOLE.iter().filter(|(f, _)| place.ends_with(f)) {
                        keep(whole(run, at, name));
                    }
                }
            });
        }
    }
    for file in members().iter().find(|m| m.name == "journal").unwrap().rust("src/kinds") {
        if file.ends_with("declared.rs") {
            for word in literals(&code_of(&file)) {
                let place = shown(&file);
                found.entry(word.replace('_', " ")).or_insert(place);
            }
        }
    }
    found
}

fn has_words(text: &str) -> bool {
    text.chars().any(char::is_alphabetic)
}

/// `….t("…")`, `….f("…", …)`, `….word("…")` and the functions that do the same.
fn called(run: &[TokenTree], at: usize) -> Vec<String> {
    let (Some(name), Some(TokenTree::Group(group))) = (ident(&run[at]), run.get(at + 1)) else {
        return Vec::new();
    };
    if group.delimiter() != Delimiter::Parenthesis {
        return Vec::new();
    }
    let method = at > 0 && punct(&run[at - 1]) == Some('.');
    let wanted: &[usize] = match name.as_str() {
        "t" | "f" | "word" if method => &[0],
        other => match LOOKING_UP.iter().find(|(n, _)| *n == other) {
            Some((_, which)) => which,
            None => return Vec::new(),
        },
    };
    let arguments = arguments(&inside(group));
    wanted.iter().filter_map(|i| arguments.get(*i)).flat_map(|a| own_literals(a)).collect()
}

/// `Type { field: "…" }`.
fn in_fields(run: &[TokenTree], at: usize) -> Vec<String> {
    let (Some(name), Some(TokenTree::Group(group))) = (ident(&run[at]), run.get(at + 1)) else {
        return Vec::new();
    };
    let Some((_, fields)) = FIELDS.iter().find(|(n, _)| *n == name) else { return Vec::new() };
    let mut out = Vec::new();
    for field in arguments(&inside(group)) {
        let named = field.first().and_then(ident);
        if named.is_some_and(|n| fields.contains(&n.as_str())) {
            out.extend(literals(&field));
        }
    }
    out
}

/// Everything in `fn name … {…}`, `let name = …;` or `const NAME: … = …;`.
fn whole(run: &[TokenTree], at: usize, name: &str) -> Vec<String> {
    let declared = at > 0
        && ident(&run[at]).is_some_and(|i| i == name)
        && ident(&run[at - 1]).is_some_and(|i| ["fn", "let", "const"].contains(&i.as_str()));
    if !declared {
        return Vec::new();
    }
    let body: Vec<TokenTree> = run[at..]
        .iter()
        .take_while(|t| punct(t) != Some(';'))
        .scan(false, |done, t| {
            if *done {
                return None;
            }
            *done = matches!(t, TokenTree::Group(g) if g.delimiter() == Delimiter::Brace);
            Some(t.clone())
        })
        .collect();
    // Keys of entries stand beside the words; a reader never sees their underscores.
    literals(&body).into_iter().map(|w| w.replace('_', " ")).collect()
}

/// Cuts at the commas.
fn arguments(tokens: &[TokenTree]) -> Vec<Vec<TokenTree>> {
    tokens.split(|t| punct(t) == Some(',')).map(<[TokenTree]>::to_vec).collect()
}

/// Literals of an argument that are not handed to a further call: of `if a { "x" } else { "y" }`
/// both, of `&key.replace('_', " ")` none.
fn own_literals(tokens: &[TokenTree]) -> Vec<String> {
    let mut out = Vec::new();
    for (at, token) in tokens.iter().enumerate() {
        out.extend(literal(token));
        if let TokenTree::Group(g) = token {
            let call = g.delimiter() == Delimiter::Parenthesis
                && at > 0
                && (ident(&tokens[at - 1]).is_some() || punct(&tokens[at - 1]) == Some('!'));
            if !call {
                out.extend(own_literals(&inside(g)));
            }
        }
    }
    out
}

fn catalogue() -> Vec<(String, String)> {
    let text = fs::read_to_string(root().join("crates/texts/src/catalogue.tsv")).unwrap();
    text.lines()
        .filter(|l| !l.starts_with('#') && !l.is_empty())
        .map(|l| l.split_once('\t').unwrap_or_else(|| panic!("no tab in the catalogue: {l}")))
        .map(|(english, german)| (english.replace("\\n", "\n"), german.replace("\\n", "\n")))
        .collect()
}

#[test]
fn texts_are_all_in_the_catalogue() {
    let known: Vec<String> = catalogue().into_iter().map(|(english, _)| english).collect();
    let looked_up = looked_up();
    assert!(looked_up.len() > 300, "only {} texts were found in the sources", looked_up.len());
    let missing: Vec<(&String, &String)> =
        looked_up.iter().filter(|(text, _)| !known.contains(text)).collect();
    if std::env::var_os("UMBEL_TEXTS").is_some() {
        for (text, place) in &missing {
            println!("{}\t{place}", text.replace('\n', "\\n"));
        }
    }
    let first: Vec<_> = missing.iter().take(12).collect();
    assert!(missing.is_empty(), "{} texts are not in the catalogue: {first:#?}", missing.len());
}

#[test]
fn every_text_of_the_catalogue_is_used() {
    let looked_up = looked_up();
    let mut spelt: Vec<String> = Vec::new();
    for member in members() {
        for file in member.rust("src") {
            spelt.extend(literals(&code_of(&file)).into_iter().map(|w| w.replace('_', " ")));
        }
    }
    spelt.sort();
    for (english, _) in catalogue() {
        assert!(
            looked_up.contains_key(&english) || spelt.binary_search(&english).is_ok(),
            "the catalogue holds a text that nothing shows: {english}"
        );
    }
}

#[test]
fn no_text_is_in_the_catalogue_twice() {
    let mut seen = std::collections::BTreeSet::new();
    for (english, german) in catalogue() {
        assert!(!german.trim().is_empty(), "{english} has no German");
        assert!(seen.insert(english.clone()), "twice in the catalogue: {english}");
    }
}

#[test]
fn literals_are_found_where_they_are_looked_up() {
    let source = r#"fn f(t: Texts) { t.t("one"); t.f("two {n}", &[("n", &1)]);
        t.t(if a { "three" } else { "four" }); t.word(&key.replace('_', "no"));
        Gap { text: "five", n: 0 }; self.with_count("six", "seven"); other("no"); }"#;
    let tokens: Vec<TokenTree> =
        source.parse::<proc_macro2::TokenStream>().unwrap().into_iter().collect();
    let mut found = Vec::new();
    every_run(&tokens, &mut |run| {
        for at in 0..run.len() {
            found.extend(called(run, at));
            found.extend(in_fields(run, at));
        }
    });
    found.sort();
    assert_eq!(found, ["five", "four", "one", "seven", "six", "three", "two {n}"]);
}

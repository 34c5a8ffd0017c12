//! Sources as tokens, so that comments and texts are never mistaken for code.

use std::path::Path;

use proc_macro2::{Delimiter, Group, TokenStream, TokenTree};

/// The tokens of a source, without what is only compiled for tests.
pub fn code_of(path: &Path) -> Vec<TokenTree> {
    let text = std::fs::read_to_string(path).unwrap();
    let stream: TokenStream =
        text.parse().unwrap_or_else(|e| panic!("{} does not read as Rust: {e}", path.display()));
    without_tests(stream.into_iter().collect())
}

/// Leaves out the item after each `#[cfg(test)]`.
fn without_tests(tokens: Vec<TokenTree>) -> Vec<TokenTree> {
    let mut out = Vec::with_capacity(tokens.len());
    let mut rest = tokens.into_iter().peekable();
    while let Some(token) = rest.next() {
        let test = punct(&token) == Some('#')
            && matches!(rest.peek(), Some(TokenTree::Group(g))
                if g.stream().to_string().replace(' ', "") == "cfg(test)");
        if !test {
            out.push(token);
            continue;
        }
        for skipped in rest.by_ref() {
            let ends = match &skipped {
                TokenTree::Group(g) => g.delimiter() == Delimiter::Brace,
                other => punct(other) == Some(';'),
            };
            if ends {
                break;
            }
        }
    }
    out
}

/// The character of a punctuation mark.
pub fn punct(token: &TokenTree) -> Option<char> {
    match token {
        TokenTree::Punct(p) => Some(p.as_char()),
        _ => None,
    }
}

/// The words of an identifier.
pub fn ident(token: &TokenTree) -> Option<String> {
    match token {
        TokenTree::Ident(i) => Some(i.to_string()),
        _ => None,
    }
}

/// The text of a string literal.
pub fn literal(token: &TokenTree) -> Option<String> {
    let TokenTree::Literal(l) = token else { return None };
    syn::parse_str::<syn::LitStr>(&l.to_string()).ok().map(|s| s.value())
}

/// The tokens of a group, without what is only compiled for tests.
pub fn inside(group: &Group) -> Vec<TokenTree> {
    without_tests(group.stream().into_iter().collect())
}

/// Calls `look` with every run of tokens: that of the file, and that of every group in it, save
/// attributes (comments that document something are attributes, too).
pub fn every_run(tokens: &[TokenTree], look: &mut dyn FnMut(&[TokenTree])) {
    look(tokens);
    for (at, token) in tokens.iter().enumerate() {
        if let TokenTree::Group(g) = token
            && !is_attribute(tokens, at)
        {
            every_run(&inside(g), look);
        }
    }
}

fn is_attribute(tokens: &[TokenTree], at: usize) -> bool {
    let before = |n: usize| at.checked_sub(n).and_then(|i| punct(&tokens[i]));
    before(1) == Some('#') || (before(1) == Some('!') && before(2) == Some('#'))
}

/// All string literals, also inside groups.
pub fn literals(tokens: &[TokenTree]) -> Vec<String> {
    let mut out = Vec::new();
    every_run(tokens, &mut |run| out.extend(run.iter().filter_map(literal)));
    out
}

/// The paths that a file names or imports, as `std::fs`, groups in imports spelt out.
pub fn paths(tokens: &[TokenTree]) -> Vec<String> {
    let mut out = Vec::new();
    every_run(tokens, &mut |run| {
        let mut at = 0;
        while at < run.len() {
            if ident(&run[at]).is_some() && !(at >= 2 && two_colons(&run[at - 2..])) {
                let (mut found, next) = path_at(run, at);
                out.append(&mut found);
                at = next;
            } else {
                at += 1;
            }
        }
    });
    out
}

fn two_colons(tokens: &[TokenTree]) -> bool {
    tokens.len() >= 2 && punct(&tokens[0]) == Some(':') && punct(&tokens[1]) == Some(':')
}

fn path_at(run: &[TokenTree], start: usize) -> (Vec<String>, usize) {
    let mut path = ident(&run[start]).unwrap_or_default();
    let mut at = start + 1;
    while two_colons(&run[at..]) {
        match run.get(at + 2) {
            Some(TokenTree::Ident(i)) => {
                path = format!("{path}::{i}");
                at += 3;
            }
            Some(TokenTree::Group(g)) if g.delimiter() == Delimiter::Brace => {
                let inner = paths(&inside(g));
                return (inner.into_iter().map(|p| format!("{path}::{p}")).collect(), at + 3);
            }
            _ => break,
        }
    }
    (vec![path], at)
}

#[test]
fn paths_are_spelt_out() {
    let tokens: Vec<TokenTree> =
        "use std::{fs, collections::{HashMap, BTreeMap}}; fn f() { jiff::Timestamp::now() }"
            .parse::<TokenStream>()
            .unwrap()
            .into_iter()
            .collect();
    let found = paths(&tokens);
    for wanted in [
        "std::fs",
        "std::collections::HashMap",
        "std::collections::BTreeMap",
        "jiff::Timestamp::now",
    ] {
        assert!(found.iter().any(|p| p == wanted), "{wanted} is missing from {found:?}");
    }
}

#[test]
fn what_is_for_tests_is_left_out() {
    let source =
        "/// dropped\nfn a() { \"kept\" } #[cfg(test)] mod tests { \"dropped\" } fn b() {}";
    let tokens = without_tests(source.parse::<TokenStream>().unwrap().into_iter().collect());
    assert_eq!(literals(&tokens), ["kept"]);
}

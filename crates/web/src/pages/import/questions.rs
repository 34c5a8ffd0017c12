//! Questions, each put once for all its rows.

use answers::{
    Hand,
    acts::bring_in::{Ask, Question, Reading, Row},
    name_text,
};
use dates::{Edtf, say};
use maud::{Markup, html};
use texts::Texts;

use crate::markup;

/// Questions that stand open on the page; more are folded.
const OPEN: usize = 60;
/// Most questions of a page: the rest is asked once these are answered.
const MOST: usize = 400;

/// The questions.
pub(super) fn section(r: &Reading, hand: &Hand) -> Markup {
    let t = hand.texts();
    let (first, more) = r.questions.split_at(r.questions.len().min(OPEN));
    html! {
        @if !r.questions.is_empty() {
            section {
                h2.under { (t.t("Questions, each answered once for all its rows")) }
                ol.ask { @for (i, q) in first.iter().enumerate() { (one(r, q, i + 1, hand)) } }
                @if !more.is_empty() {
                    details.more {
                        summary { (t.f("One more question|{n} more questions", &[("n", &more.len())])) }
                        ol.ask { @for (i, q) in more.iter().take(MOST).enumerate() { (one(r, q, i + 1 + OPEN, hand)) } }
                    }
                }
                div.printrow { button.btn { (t.t("Take these answers")) } span.note { (t.t("What is left open is written as it is known, and can be settled later.")) } }
            }
        }
    }
}

/// The number under which a question stands on the page.
pub(super) fn number(r: &Reading, id: &str) -> Option<usize> {
    r.questions.iter().position(|q| q.id == id).map(|i| i + 1)
}

fn one(r: &Reading, q: &Question, n: usize, hand: &Hand) -> Markup {
    let t = hand.texts();
    let title = asked(r, q, t);
    let answer = r.answers.get(&q.id).map(String::as_str);
    let key = format!("q:{}", q.id);
    let choices = choices(q, hand);
    let free = matches!(q.ask, Ask::Name { .. } | Ask::Date { .. } | Ask::Genus { .. });
    let other = answer.filter(|a| *a != "leave" && !choices.iter().any(|c| c.0 == *a));
    html! {
        li id=(format!("question-{n}")) {
            div {
                h3 { (n) ". " (title) }
                p { (settles(r, q, t)) }
                (about(r, q, hand))
            }
            fieldset {
                legend.vh { (title) }
                @for (value, words) in &choices {
                    label.tick { input type="radio" name=(key) value=(value) checked[answer == Some(value)]; span { (words) } }
                }
                @if free {
                    label.other {
                        span { (other_words(q, t)) }
                        input name=(format!("o:{}", q.id)) value=(other.unwrap_or("")) autocomplete="off";
                    }
                }
                label.tick { input type="radio" name=(key) value="leave" checked[answer == Some("leave")]; (leave(q, t)) }
            }
        }
    }
}

fn rows_words(r: &Reading, rows: &[usize], t: Texts) -> String {
    let shown: Vec<String> = rows.iter().take(6).filter_map(|i| r.rows.get(*i)).map(at).collect();
    let more = rows.len().saturating_sub(shown.len());
    let list = shown.join(", ");
    let head = t.f("row {list}|rows {list}", &[("n", &rows.len()), ("list", &list)]);
    if more > 0 { format!("{head} {}", t.f("and {n} more", &[("n", &more)])) } else { head }
}

/// Where a row stands.
pub(super) fn at(row: &Row) -> String {
    match &row.sheet {
        Some(sheet) => format!("{} ({sheet})", row.row),
        None => row.row.to_string(),
    }
}

fn asked(r: &Reading, q: &Question, t: Texts) -> String {
    match &q.ask {
        Ask::DateOrder { example } => {
            t.f("Which comes first in {example}?", &[("example", example)])
        }
        Ask::Currency { example } => t.f("Whose dollar is “{example}”?", &[("example", example)]),
        Ask::Keeper { kept, other } => {
            t.f("Are “{kept}” and “{other}” one keeper?", &[("kept", kept), ("other", other)])
        }
        Ask::SamePlant { first, second } => {
            let place = |i: &usize| r.rows.get(*i).map(at).unwrap_or_default();
            t.f(
                "Rows {a} and {b}: one plant or two?",
                &[("a", &place(first)), ("b", &place(second))],
            )
        }
        Ask::Genus { typed } => t.f("Which genus is meant by “{typed}”?", &[("typed", typed)]),
        Ask::Name { typed } => t.f("Which name is meant by “{typed}”?", &[("typed", typed)]),
        Ask::Date { typed } => t.f("Which day is meant by “{typed}”?", &[("typed", typed)]),
    }
}

fn settles(r: &Reading, q: &Question, t: Texts) -> String {
    let n = q.rows.len();
    let what = match &q.ask {
        Ask::DateOrder { .. } => t.f("Settles one date|Settles {n} dates", &[("n", &n)]),
        Ask::Currency { .. } => t.f("Settles one price|Settles {n} prices", &[("n", &n)]),
        _ => t.f("Settles one row|Settles {n} rows", &[("n", &n)]),
    };
    format!("{what}: {}.", rows_words(r, &q.rows, t))
}

/// What the rows say that a question about two of them is about.
fn about(r: &Reading, q: &Question, hand: &Hand) -> Markup {
    let Ask::SamePlant { first, second } = &q.ask else { return html! {} };
    html! { @for i in [first, second] { @if let Some(row) = r.rows.get(*i) { p {
        (at(row)) ": "
        @if let Some(name) = &row.name { (markup::name(&name_text(name))) }
        @for words in [row.source.clone(), row.acquired.as_deref().map(|d| date(d, hand)), row.place.clone(), row.tag.clone()].into_iter().flatten() { ", " (words) }
    } } } }
}

/// A date in words.
pub(super) fn date(edtf: &str, hand: &Hand) -> String {
    Edtf::parse(edtf).map_or_else(|_| edtf.to_owned(), |d| say(&d, hand.lang, None))
}

fn choices(q: &Question, hand: &Hand) -> Vec<(String, Markup)> {
    let t = hand.texts();
    q.choices
        .iter()
        .map(|c| {
            let words = match (&q.ask, c.as_str()) {
                (Ask::DateOrder { example }, "day_first") => {
                    html! { (t.t("the day")) (as_read(example, true, hand)) }
                }
                (Ask::DateOrder { example }, "month_first") => {
                    html! { (t.t("the month")) (as_read(example, false, hand)) }
                }
                (Ask::Currency { .. }, "USD") => html! { (t.t("US dollar")) },
                (Ask::Currency { .. }, "CAD") => html! { (t.t("Canadian dollar")) },
                (Ask::Currency { .. }, "AUD") => html! { (t.t("Australian dollar")) },
                (Ask::Currency { .. }, "NZD") => html! { (t.t("New Zealand dollar")) },
                (Ask::Keeper { kept, .. }, "one") => {
                    html! { (t.f("one keeper: {kept}", &[("kept", kept)])) }
                }
                (Ask::Keeper { .. }, "two") => html! { (t.t("two keepers")) },
                (Ask::SamePlant { .. }, "one_plant") => html! { (t.t("one plant, written twice")) },
                (Ask::SamePlant { .. }, "one_clone") => html! { (t.t("two plants of one clone")) },
                (Ask::SamePlant { .. }, "two_plants") => {
                    html! { (t.t("two plants, nothing known")) }
                }
                (Ask::Genus { .. } | Ask::Name { .. }, name) => markup::name(&name_text(name)),
                (_, other) => html! { (other) },
            };
            (c.clone(), words)
        })
        .collect()
}

/// A date of three figures read in one order, after a colon.
fn as_read(example: &str, day_first: bool, hand: &Hand) -> String {
    let figures: Vec<i16> = example
        .split(|c: char| !c.is_ascii_digit())
        .filter(|p| !p.is_empty())
        .filter_map(|p| p.parse().ok())
        .collect();
    let [a, b, year] = figures.as_slice() else { return String::new() };
    let year = if *year < 100 { 2000 + year } else { *year };
    let (day, month) = if day_first { (a, b) } else { (b, a) };
    Edtf::parse(&format!("{year:04}-{month:02}-{day:02}"))
        .map_or_else(|_| String::new(), |d| format!(": {}", say(&d, hand.lang, None)))
}

fn other_words(q: &Question, t: Texts) -> &'static str {
    match q.ask {
        Ask::Date { .. } => t.t("the day, as exactly as you know it"),
        Ask::Genus { .. } => t.t("another genus"),
        _ => t.t("another name"),
    }
}

fn leave(q: &Question, t: Texts) -> &'static str {
    match q.ask {
        Ask::DateOrder { .. } => t.t("leave each as either"),
        Ask::Name { .. } | Ask::Genus { .. } => t.t("keep it as typed, in doubt"),
        _ => t.t("leave it open"),
    }
}

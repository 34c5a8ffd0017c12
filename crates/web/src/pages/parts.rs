//! Statements by others and questions to ask.

use answers::acts::{self, StatementInput};
use axum::{
    Form,
    extract::{Path, Query},
};
use journal::SubjectKind;
use maud::{Markup, html};
use texts::Texts;

use super::ask::{Answered, Ask, go};
use crate::{
    forms::{Sent, choice, field, known_names, line, pick},
    layout::{Nav, title},
};

fn over(number: i64, t: Texts) -> Markup {
    html! { a href=(format!("/plants/{number}")) { (t.f("Plant {n}", &[("n", &number)])) } }
}

fn words(list: &[&str], t: Texts) -> Vec<(String, String)> {
    list.iter().map(|w| ((*w).to_owned(), t.word(w))).collect()
}

/// The form for a statement.
pub(crate) async fn statement_form(
    ask: Ask,
    Path(number): Path<i64>,
    Query(sent): Query<Sent>,
) -> Answered {
    let t = ask.t();
    let (keepers, _) = ask.read(known_names)?;
    let media = ["letter", "message", "talk", "video", "book", "page", "label", "list"];
    let trust = ["certain", "probable", "claimed", "doubted", "refuted"];
    let body = html! {
        (title(&over(number, t), &html! { (t.t("What somebody said")) },
            Some(t.t("Kept apart from what was seen here, with who said it, where and when, and how far you trust it."))))
        form.form method="post" data-draft="statement" {
            input type="hidden" name="answers" value=(field(&sent, "answers"));
            label.line { span { (t.t("The words")) } textarea name="text" rows="3" required {} }
            (pick(t.t("Who said it"), "said_by", "", &keepers, "k"))
            (choice(t.t("Where"), "medium", &words(&media, t), ""))
            (line(t.t("Address or title"), "address", "", ""))
            (line(t.t("Page or minute"), "spot", "", ""))
            (line(t.t("When"), "said_on", "", t.t("2021, spring 2021, 2021-03-07; empty if not known")))
            (choice(t.t("Trusted as"), "trust", &words(&trust, t), "claimed"))
            button.btn.main { (t.t("Keep it")) }
        }
    };
    ask.show(Nav::Plants, t.t("What somebody said"), &body)
}

/// Keeps a statement.
pub(crate) async fn statement(
    ask: Ask,
    Path(number): Path<i64>,
    Form(sent): Form<Sent>,
) -> Answered {
    let word = |key: &str| field(&sent, key).to_owned();
    let input = StatementInput {
        text: word("text"),
        said_by: word("said_by"),
        medium: word("medium"),
        address: word("address"),
        spot: word("spot"),
        said_on: word("said_on"),
        trust: word("trust"),
        answers: field(&sent, "answers").parse().ok(),
    };
    acts::add_statement(&ask.journal(), &ask.hand, SubjectKind::Plant, number, &input)
        .map_err(|e| ask.failed(e))?;
    go(&format!("/plants/{number}"))
}

/// The form for a question.
pub(crate) async fn question_form(ask: Ask, Path(number): Path<i64>) -> Answered {
    let t = ask.t();
    let (keepers, _) = ask.read(known_names)?;
    let body = html! {
        (title(&over(number, t), &html! { (t.t("Something to ask")) }, None))
        form.form method="post" data-draft="question" {
            label.line { span { (t.t("What to ask")) } textarea name="text" rows="2" required {} }
            (pick(t.t("Whom"), "whom", "", &keepers, "k"))
            button.btn.main { (t.t("Note it")) }
        }
    };
    ask.show(Nav::Plants, t.t("Something to ask"), &body)
}

/// Notes a question.
pub(crate) async fn question(
    ask: Ask,
    Path(number): Path<i64>,
    Form(sent): Form<Sent>,
) -> Answered {
    acts::add_question(
        &ask.journal(),
        &ask.hand,
        SubjectKind::Plant,
        number,
        field(&sent, "text"),
        Some(field(&sent, "whom")),
    )
    .map_err(|e| ask.failed(e))?;
    go(&format!("/plants/{number}"))
}

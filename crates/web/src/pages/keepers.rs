//! Keepers: whom plants come from and go to.

use answers::{acts, keeper_page, name_text};
use axum::{Form, extract::Path};
use maud::html;

use super::ask::{Answered, Ask, go};
use crate::{
    WebError,
    forms::{Sent, choice, field, line},
    layout::{Nav, thousands, title},
    markup,
};

/// All keepers.
pub(crate) async fn list(ask: Ask) -> Answered {
    let t = ask.t();
    let (keepers, questions) = ask.read(|r| Ok((r.keepers()?, r.open_questions(None)?)))?;
    let body = html! {
        (title(&html! { (t.t("Whom plants come from and go to")) }, &html! { (t.f("one keeper|{n} keepers", &[("n", &keepers.len())])) }, None))
        @if !keepers.is_empty() {
            table class="t list stack" {
                thead { tr { th { (t.t("Keeper")) } th.r { (t.t("Plants from them")) } th { (t.t("To ask")) } } }
                tbody {
                    @for k in &keepers {
                        @let asked: Vec<_> = questions.iter().filter(|q| q.keeper == k.name).collect();
                        tr data-row {
                            td { a href=(format!("/keepers/{}", k.number)) { (k.name) } }
                            td class="r num" { (thousands(k.plants)) }
                            td.q { @if let Some(q) = asked.first() { (q.text) @if asked.len() > 1 { " " (t.f("and {n} more", &[("n", &(asked.len() - 1))])) } } }
                        }
                    }
                }
            }
        } @else { p { (t.t("No keeper is named yet.")) } }
        form.inline method="post" action="/keepers" {
            (line(t.t("A new keeper"), "name", "", t.t("a person, a nursery, a fair")))
            button.btn data-new { (t.t("Add it")) }
        }
    };
    ask.show(Nav::Keepers, t.t("Keepers"), &body)
}

/// Adds a keeper.
pub(crate) async fn add(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let (_, number) = acts::add_keeper(&ask.journal(), &ask.hand, field(&sent, "name"))
        .map_err(|e| ask.failed(e))?;
    go(&format!("/keepers/{number}"))
}

/// One keeper.
pub(crate) async fn keeper(ask: Ask, Path(number): Path<i64>) -> Answered {
    let t = ask.t();
    let page = ask.read(|r| Ok(keeper_page(r, number, &ask.hand)?))?;
    let sent = Sent::from([("keeper".to_owned(), number.to_string())]);
    let kinds: Vec<(String, String)> = ["person", "nursery", "fair", "garden", "shop"]
        .iter()
        .map(|w| ((*w).to_owned(), t.word(w)))
        .collect();
    let body = html! {
        (title(&html! { a href="/keepers" { (t.t("Keepers")) } @if !page.kind.is_empty() { ", " (page.kind) } },
            &html! { (page.keeper.name) }, Some(&page.note).filter(|n| !n.is_empty()).map(String::as_str)))
        section {
            h2.under { (t.f("one plant from them|{n} plants from them", &[("n", &thousands(page.plants.total))])) }
            @if page.plants.total > 0 { (super::plants::table(&page.plants, &sent, t)) }
            @if page.plants.pages > 1 { p.after { a href=(format!("/plants?keeper={number}&state=any")) { (t.t("All of them")) } } }
        }
        @if !page.went.is_empty() {
            section.sect {
                h2 { (t.t("Went to them, or is promised")) }
                ol.dated { @for (date, plant, name, words) in &page.went {
                    li { time { (date) } p { (markup::linked(name, *plant)) ": " (words) } }
                } }
            }
        }
        section.sect {
            h2 { (t.t("To ask them")) }
            @if page.questions.is_empty() { p.open { (t.t("No question waits.")) } }
            ol.dated { @for q in &page.questions {
                li { p { (q.text) } @if !q.about.is_empty() { span.small { (markup::name(&name_text(&q.about))) } } }
            } }
        }
        @if !page.statements.is_empty() {
            section.sect {
                h2 { (t.t("Said by them")) }
                ol.dated { @for s in &page.statements {
                    li {
                        time { @match &s.said_on { Some(d) => { (dates::say(d, ask.hand.lang, None)) } None => { (t.t("date not known")) } } }
                        p { (t.f("“{words}”", &[("words", &s.text)])) }
                    }
                } }
            }
        }
        section.sect {
            h2 { (t.t("About this keeper")) }
            form.form method="post" {
                (line(t.t("Name"), "name", &page.keeper.name, ""))
                (choice(t.t("Kind"), "kind", &kinds, ""))
                label.line { span { (t.t("Notes")) } textarea name="note" rows="2" { (page.note) } }
                button.btn { (t.t("Keep")) }
            }
        }
    };
    ask.show(Nav::Keepers, &page.keeper.name, &body)
}

/// Renames or describes a keeper.
pub(crate) async fn change(ask: Ask, Path(number): Path<i64>, Form(sent): Form<Sent>) -> Answered {
    let before = ask.read(|r| Ok(keeper_page(r, number, &ask.hand)?))?;
    let name = field(&sent, "name");
    if name.is_empty() {
        return Err(ask.failed(WebError::form("name", "", "has no words; write a name")));
    }
    if name != before.keeper.name {
        acts::rename_keeper(&ask.journal(), &ask.hand, number, name).map_err(|e| ask.failed(e))?;
    }
    let (kind, note) = (field(&sent, "kind"), field(&sent, "note"));
    if note != before.note || !kind.is_empty() {
        acts::describe_keeper(&ask.journal(), &ask.hand, number, kind, note)
            .map_err(|e| ask.failed(e))?;
    }
    go(&format!("/keepers/{number}"))
}

//! How answers are computed, and which keys do what.

use answers::QUESTIONS;
use axum::extract::Path;
use maud::html;

use super::ask::{Answered, Ask};
use crate::{
    WebError,
    layout::{Nav, title},
};

/// How one question is answered.
pub(crate) async fn how(ask: Ask, Path(key): Path<String>) -> Answered {
    let t = ask.t();
    let known = QUESTIONS.iter().find(|q| q.key == key).map(|q| (t.t(q.words), t.t(q.method)));
    let (words, method) = known
        .or_else(|| (key == "pests").then(|| super::pests::method(t)))
        .ok_or_else(|| ask.failed(WebError::NoPage(format!("/how/{key}"))))?;
    let body = html! {
        (title(&html! { (t.t("How this was computed")) }, &html! { (words) }, Some(method)))
        section.text {
            p { (t.t("An interval always says which it is: “usually” is where the typical value lies and shrinks with more records; “next” is where the coming event lies and does not shrink below nature's own spread.")) }
            p { (t.t("Under each answer stands a time axis with one mark for each record that it rests on, hollow where the record is an interval.")) }
        }
    };
    ask.show(Nav::None, t.t("How this was computed"), &body)
}

/// The keys.
pub(crate) async fn keys(ask: Ask) -> Answered {
    let t = ask.t();
    let keys = [
        ("/", t.t("find")),
        ("?", t.t("this list")),
        ("j  k", t.t("next and previous in a list")),
        ("e", t.t("add an entry")),
        ("n", t.t("add a plant, place, keeper or cross")),
        ("g t", t.t("go to Today")),
        ("g p", t.t("go to Plants")),
        ("g o", t.t("go to Places")),
        ("g c", t.t("go to Crosses")),
        ("g k", t.t("go to Keepers")),
        ("g s", t.t("go to Show")),
    ];
    let body = html! {
        (title(&html! { (t.t("By keyboard")) }, &html! { (t.t("Keys")) }, None))
        dl.facts { @for (key, words) in keys { dt { kbd { (key) } } dd { (words) } } }
    };
    ask.show(Nav::None, t.t("Keys"), &body)
}

//! How answers are computed, and which keys do what.

use answers::QUESTIONS;
use axum::extract::Path;
use maud::html;
use texts::Texts;

use super::ask::{Answered, Ask};
use crate::{
    WebError,
    layout::{Nav, title},
};

/// How one question is answered.
pub(crate) async fn how(ask: Ask, Path(key): Path<String>) -> Answered {
    let t = ask.t();
    let question = QUESTIONS.iter().find(|q| q.key == key);
    let (words, method) = question
        .map(|q| (t.t(q.words), t.t(q.method)))
        .or_else(|| (key == "pests").then(|| super::pests::method(t)))
        .or_else(|| of_places(&key, t))
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

/// Questions about a place, and how they are answered.
fn of_places(key: &str, t: Texts) -> Option<(&'static str, &'static str)> {
    match key {
        "light" => Some((
            t.t("How much light is there on this place?"),
            t.t("Lamps: photons from the watts at the plug and the kind of lamp, aged and dusty, spread by the geometry of a panel or a beam; walls send some back. Window: the sky that a leaf sees through the glass, month by month, with the usual clearness of the air at this latitude, and the sun followed every ten minutes. Each source is known within a factor; readings with a meter set that factor, and the range shrinks. What light is enough for is common practice, by genus."),
        )),
        _ => None,
    }
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

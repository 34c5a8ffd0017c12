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
        "cross_chance" => Some((
            t.t("Will it take?"),
            t.t("The log odds that a flower makes a pod are a sum: what is believed of the group, of shared species, section, clade and range, of kinship, chromosomes, own pollen and the age of pollen, and what the seed parent, the pollen parent, the pair, its direction, the method and the hand have shown here. Beside that stands a chance that something bars the pair altogether. Beliefs are normal with the spread that is shown and give way to records. Later stages (ripe, full, up, alive, in flower) have shares of their own, and the whole way is followed by drawing."),
        )),
        "season" => Some((
            t.t("Crosses worth the pots"),
            t.t("Each pair is worth the chance of a pod, times the chance to meet where it is known, times how far the chosen one of its flowering seedlings would stand above the mean of the candidates: the middle of the parents, and the spread within a family times what a choice among so many gains. The set is the best that pots, flowers and hands allow, less kinship by its weight; where it could not be proven best, the gap is told."),
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

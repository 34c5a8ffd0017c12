//! What is known of a clone for breeding: ploidy, section, clade, genes, the plant it is a sport of.

use answers::{
    AskError,
    crossing::{describe, described},
};
use axum::{Form, extract::Path};
use journal::{PlantRow, Reader};
use maud::html;

use crate::{
    WebError,
    forms::{Sent, field, line},
    layout::{Nav, title},
    markup,
    pages::ask::{Answered, Ask, go},
};

const KEYS: [&str; 5] = ["ploidy", "section", "clade", "genes", "sport_of"];

fn row(r: &Reader<'_>, number: i64) -> Result<PlantRow, WebError> {
    r.plant(number)?.ok_or_else(|| {
        WebError::from(AskError::NotThere {
            kind: "plant",
            which: number.to_string(),
            next: "the list of plants shows which there are",
        })
    })
}

/// The form.
pub(crate) async fn form(ask: Ask, Path(number): Path<i64>) -> Answered {
    let t = ask.t();
    let (plant, known) = ask.read(|r| {
        let plant = row(r, number)?;
        let known = described(r, plant.clone)?;
        Ok((plant, known))
    })?;
    let name =
        answers::name_text(if plant.name.is_empty() { t.t("not named") } else { &plant.name });
    let value = |key: &str| known.get(key).map_or("", String::as_str);
    let body = html! {
        (title(&html! { a href=(format!("/plants/{number}")) { (t.f("Plant {n}", &[("n", &number)])) } ", " (markup::name(&name)) },
            &html! { (t.t("For breeding")) },
            Some(t.t("What bears on its crosses. It holds for every piece of the clone; an emptied line takes back what was said."))))
        form.form method="post" {
            (line(t.t("Sets of chromosomes"), "ploidy", value("ploidy"), t.t("2, 4x, tetraploid; counted, not guessed")))
            (line(t.t("Section"), "section", value("section"), ""))
            (line(t.t("Clade"), "clade", value("clade"), ""))
            (line(t.t("Genes"), "genes", value("genes"), t.t("traits that follow one gene, such as: variegation Vv; double dd. The capital shows with one copy, ? is not known")))
            (line(t.t("Sport of clone"), "sport_of", value("sport_of"), t.t("number of the clone it arose on")))
            button.btn { (t.t("Keep")) }
        }
    };
    ask.show(Nav::Plants, t.t("For breeding"), &body)
}

/// Writes what was typed.
pub(crate) async fn keep(ask: Ask, Path(number): Path<i64>, Form(sent): Form<Sent>) -> Answered {
    let clone = ask.read(|r| {
        let plant = row(r, number)?;
        let clone = r.clone_by_id(plant.clone)?.map(|c| c.number);
        Ok((clone, described(r, plant.clone)?))
    })?;
    let (Some(clone), known) = clone else { return go(&format!("/plants/{number}")) };
    // Lines that were left as they are say nothing new.
    let typed: Vec<(&str, &str)> = KEYS
        .iter()
        .map(|key| (*key, field(&sent, key)))
        .filter(|(key, text)| known.get(*key).map_or("", String::as_str) != *text)
        .collect();
    if !typed.is_empty() {
        describe(&ask.journal(), &ask.hand, clone, &typed).map_err(|e| ask.failed(e))?;
    }
    go(&format!("/plants/{number}"))
}

//! What was tried of everything: seed parents against pollen parents, attempts of others, pollen in
//! store.

use std::collections::HashMap;

use answers::crossing::{self, Cell, slash};
use axum::Form;
use journal::Uid;
use maud::html;
use texts::Texts;

use crate::{
    WebError,
    forms::{Sent, choice, field, line},
    layout::{Nav, title},
    markup,
    pages::ask::{Answered, Ask, go},
};

/// Seed parents against pollen parents.
pub(crate) async fn table(ask: Ask) -> Answered {
    let t = ask.t();
    let engine = ask.engine()?;
    let table = engine.table(&ask.hand).map_err(|e| ask.failed(e))?;
    let cells: HashMap<(Uid, Uid), &Cell> =
        table.cells.iter().map(|c| ((c.seed, c.pollen), c)).collect();
    let number = |uid: &Uid| engine.facts.of(*uid).map(|f| f.number);
    let body = html! {
        (title(&html! { a href="/crosses" { (t.t("Crosses")) } }, &html! { (t.t("What takes with what")) },
            Some(t.t("Seed parents down, pollen parents across: how many of the flowers took, and what that says."))))
        @if table.seeds.is_empty() { p.open { (t.t("Nothing was tried yet.")) } }
        @else {
            div class="scroller" {
                table class="t grid-of" {
                    thead { tr { th { (t.t("Seed parent")) } @for (_, name) in &table.pollens { th { "× " (markup::name(name)) } } } }
                    tbody { @for (seed, name) in &table.seeds { tr {
                        th scope="row" { (markup::name(name)) @if let Some(n) = number(seed) { " " span.q { (t.f("clone {n}", &[("n", &n)])) } } }
                        @for (pollen, _) in &table.pollens {
                            @match cells.get(&(*seed, *pollen)) {
                                None => { td.q { "·" } }
                                Some(c) => { td {
                                    span.q { (c.text) }
                                } }
                            }
                        }
                    } } }
                }
            }
            div class="narrow pairs" {
                @for c in &table.cells {
                    @let name = |u: &Uid| table.seeds.iter().chain(&table.pollens).find(|x| x.0 == *u).map(|x| markup::name(&x.1));
                    p { @if let Some(n) = name(&c.seed) { (n) } " × " @if let Some(n) = name(&c.pollen) { (n) } br; span.q { (c.text) } }
                }
            }
        }
        section.sect {
            h2.under { (t.t("Barriers")) }
            @if table.hypotheses.is_empty() {
                p.open { (t.t("Nothing that your records could speak for at nine in ten.")) }
            }
            @for h in &table.hypotheses { p { (h.text) } }
            p.note { (t.t("A barrier is shown only from a chance of nine in ten, beginning at one in ten; that is no proof. The flower that would settle it is worth more than the words.")) }
        }
        section.sect {
            h2 { (t.t("Attempts by others")) }
            p.note { (t.t("A table with the columns seed, pollen, flowers, pods, by. Flowers that came to nothing belong in it: without them a chance would be told too high. Successes without their failures are kept as statements.")) }
            @if !engine.told.is_empty() { p { (t.f("One line was brought in.|{n} lines were brought in.", &[("n", &engine.told.len())])) } }
            form.form method="post" action="/crosses/others" {
                label.line { span { (t.t("Table")) } textarea name="table" rows="5" placeholder="seed,pollen,flowers,pods,by" {} }
                button.btn { (t.t("Bring in")) }
            }
        }
    };
    ask.show(Nav::Crosses, t.t("What takes with what"), &body)
}

/// Brings in what others tried.
pub(crate) async fn others(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    crossing::bring_in_told(&ask.journal(), &ask.hand, field(&sent, "table"))
        .map_err(|e| ask.failed(e))?;
    ask.app.crossing().forget();
    go("/crosses/table")
}

/// A line of descent as breeders write it.
pub(crate) async fn written(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let (_, number) = slash::bring_in(&ask.journal(), &ask.hand, field(&sent, "text"))
        .map_err(|e| ask.failed(e))?;
    go(&format!("/crosses/{number}"))
}

fn cold_words(cold: &str, t: Texts) -> &'static str {
    match cold {
        "fridge" => t.t("refrigerator"),
        "freezer" => t.t("freezer"),
        _ => t.t("room temperature"),
    }
}

/// Pollen in store.
pub(crate) async fn pollen(ask: Ask) -> Answered {
    let t = ask.t();
    let engine = ask.engine()?;
    let lots = engine.pollen(&ask.hand);
    let cold = ["room", "fridge", "freezer"].map(|c| (c.to_owned(), cold_words(c, t).to_owned()));
    let body = html! {
        (title(&html! { a href="/crosses" { (t.t("Crosses")) } }, &html! { (t.t("Pollen in store")) },
            Some(t.t("What is put by, how old it is, and how likely it still works."))))
        @if lots.is_empty() { p.open { (t.t("None is put by.")) } }
        @else {
            table class="t list stack" {
                thead { tr { th.no { (t.t("Lot")) } th { (t.t("Pollen of")) } th { (t.t("Kept")) } th.r { (t.t("Days")) } th.r { (t.t("Still works")) } th { (t.t("Used")) } } }
                tbody { @for lot in &lots { tr {
                    td class="no num" { (lot.kept.number) }
                    td { (markup::name(&lot.name)) small { @for l in &lot.lines { (l) " " } } }
                    td { (cold_words(lot.kept.cold.as_str(), t)) @if !lot.kept.place.is_empty() { ", " (lot.kept.place) } }
                    td class="r num" data-of=(t.t("Days")) { (lot.age) }
                    td class="r num c" data-of=(t.t("Still works")) { (format!("{:.0} % ({:.0}–{:.0})", 100.0 * lot.works.mean, 100.0 * lot.works.lower, 100.0 * lot.works.upper)) }
                    td { (t.f("{k} of {n} took", &[("k", &lot.used.1), ("n", &lot.used.0)])) }
                } } }
            }
        }
        section.sect {
            h2 { (t.t("Put pollen by")) }
            form.form method="post" action="/pollen" {
                (line(t.t("Of plant"), "plant", "", t.t("number of a plant")))
                (choice(t.t("How cold"), "cold", &cold, "fridge"))
                (line(t.t("Place"), "place", "", t.t("such as box in the fridge door")))
                (line(t.t("Gathered"), "when", "", t.t("empty for today")))
                button.btn { (t.t("Write it")) }
            }
        }
    };
    ask.show(Nav::Crosses, t.t("Pollen in store"), &body)
}

/// Puts pollen by.
pub(crate) async fn put_by(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let typed = field(&sent, "plant").trim_start_matches('#');
    let plant = typed
        .parse()
        .map_err(|_| ask.failed(WebError::form("plant", typed, "is not a plant's number")))?;
    crossing::store_pollen(
        &ask.journal(),
        &ask.hand,
        plant,
        field(&sent, "when"),
        field(&sent, "cold"),
        field(&sent, "place"),
    )
    .map_err(|e| ask.failed(e))?;
    go("/pollen")
}

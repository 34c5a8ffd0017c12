//! Places in walking order.

pub(crate) mod air;
pub(crate) mod light;
mod reading;
pub(crate) mod readings;

use answers::{acts, air::place_air, light::place_light, place_page};
use axum::{Form, extract::Path};
use maud::{Markup, html};
use texts::Texts;

use super::ask::{Answered, Ask, go};
use crate::{
    WebError,
    forms::{Sent, field, line},
    layout::{Nav, thousands, title},
    markup,
};

/// All places.
pub(crate) async fn list(ask: Ask) -> Answered {
    let t = ask.t();
    let places = ask.read(|r| Ok(r.places()?))?;
    let body = html! {
        (title(&html! { (t.t("In walking order")) }, &html! { (t.f("one place|{n} places", &[("n", &places.len())])) }, None))
        @if places.is_empty() { p { (t.t("No place is named yet.")) } }
        @else {
            table class="t list stack" {
                thead { tr { th.no { (t.t("No.")) } th { (t.t("Place")) } th.r { (t.t("Living plants")) } th { (t.t("Walk")) } } }
                tbody {
                    @for (i, p) in places.iter().enumerate() {
                        tr data-row {
                            td class="no num" { (i + 1) }
                            td { a href=(format!("/places/{}", p.number)) { (p.name) } }
                            td class="r num" { (thousands(p.plants)) }
                            td {
                                @if i > 0 {
                                    form.undo method="post" action="/places" {
                                        input type="hidden" name="do" value="up";
                                        input type="hidden" name="number" value=(p.number);
                                        button aria-label=(t.f("Walk to {place} earlier", &[("place", &p.name)])) { (t.t("earlier")) }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
        p.after { a href="/pests" { (t.t("Pests: where they are and when to look again")) } }
        form.inline method="post" action="/places" {
            (line(t.t("A new place"), "name", "", t.t("such as north shelf, upper")))
            button.btn data-new { (t.t("Add it")) }
        }
    };
    ask.show(Nav::Places, t.t("Places"), &body)
}

/// Adds a place, or moves one in walking order.
pub(crate) async fn add(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    if field(&sent, "do") == "up" {
        let number: i64 = field(&sent, "number").parse().unwrap_or(0);
        let mut order: Vec<i64> = ask.read(|r| Ok(r.places()?))?.iter().map(|p| p.number).collect();
        if let Some(i) = order.iter().position(|n| *n == number).filter(|i| *i > 0) {
            order.swap(i, i - 1);
        }
        acts::order_places(&ask.journal(), &ask.hand, &order).map_err(|e| ask.failed(e))?;
    } else {
        acts::add_place(&ask.journal(), &ask.hand, field(&sent, "name"))
            .map_err(|e| ask.failed(e))?;
    }
    go("/places")
}

/// One place.
pub(crate) async fn place(ask: Ask, Path(number): Path<i64>) -> Answered {
    let t = ask.t();
    let (page, light) =
        ask.read(|r| Ok((place_page(r, number, &ask.hand)?, place_light(r, number, &ask.hand)?)))?;
    let lede = Some(if light.cases.is_empty() { &page.note } else { &light.lede });
    let of_air = ask.read(|r| Ok(place_air(r, number, &ask.hand)?))?;
    let pests = ask.read(|r| Ok(answers::pests::of_place(r, number, &ask.hand)?))?;
    let sent = Sent::from([("place".to_owned(), number.to_string())]);
    let body = html! {
        (title(
            &html! { a href="/places" { (t.t("Places")) } @if !light.over.is_empty() { " · " (light.over) } },
            &html! { (page.place.name) },
            lede.filter(|n| !n.is_empty()).map(String::as_str),
        ))
        div.n-row {
            a href=(format!("/places/{number}/log")) data-entry { (t.t("Add an entry")) }
            a href=(format!("/plants/log?place={number}")) { (t.t("Write an entry for each plant here")) }
            @if page.plants.total > 0 { a href="#round" { (t.t("The round")) } }
            a href=(format!("/labels?place={number}")) { (t.t("Print their labels")) }
        }
        (light::sections(&light, t))
        section.sect {
            h2.under { (t.f("one living plant|{n} living plants", &[("n", &thousands(page.plants.total))])) }
            (super::plants::table(&page.plants, &sent, t))
            @if page.plants.pages > 1 { p.after { a href=(format!("/plants?place={number}")) { (t.t("All of them")) } } }
        }
        (air::section(&of_air, t))
        @if page.plants.total > 0 { (round_form(number, page.plants.total, t)) }
        (super::pests::place_section(&pests, number, &ask))
        section class="sect journal whole" { h2 { (t.t("Journal")) } (markup::journal_list(&page.journal, t, None)) }
        section.sect {
            h2 { (t.t("About this place")) }
            form.form method="post" {
                (line(t.t("Name"), "name", &page.place.name, ""))
                label.line { span { (t.t("Lamps, window, air")) } textarea name="note" rows="2" { (page.note) } }
                button.btn { (t.t("Keep")) }
            }
        }
    };
    ask.show(Nav::Places, &page.place.name, &body)
}

/// The round as a sentence to complete.
fn round_form(number: i64, plants: i64, t: Texts) -> Markup {
    html! {
        section.sect id="round" {
            h2.under { (t.t("The round")) }
            form.form method="post" action=(format!("/places/{number}/round")) data-round {
                p { (t.f("The one plant was looked at and watered.|All {n} were looked at and watered, but", &[("n", &plants)])) }
                (line(t.t("still wet"), "still_wet", "", t.t("numbers of plants, such as 12 17; these got nothing")))
                (line(t.t("limp"), "limp", "", t.t("numbers of plants; these were watered")))
                (line(t.t("left out"), "left_out", "", t.t("numbers of plants that nobody looked at")))
                (line(t.t("Feed in the water"), "feed", "", ""))
                (line(t.t("When"), "when", "", t.t("empty for today")))
                button.btn.main { (t.t("Write the round down")) }
            }
        }
    }
}

/// Writes a round down.
pub(crate) async fn round(ask: Ask, Path(number): Path<i64>, Form(sent): Form<Sent>) -> Answered {
    let numbers = |key: &'static str| {
        let typed = field(&sent, key).replace([',', ';'], " ");
        let read = |n: &str| {
            let problem = "is not the number of a plant; write numbers with spaces between";
            let named = key.replace('_', " ");
            n.parse::<i64>().map_err(|_| ask.failed(WebError::form(&named, n, problem)))
        };
        typed.split_whitespace().map(read).collect::<Result<Vec<i64>, _>>()
    };
    let round = acts::Round {
        place: number,
        when: field(&sent, "when").to_owned(),
        still_wet: numbers("still_wet")?,
        limp: numbers("limp")?,
        left_out: numbers("left_out")?,
        feed: field(&sent, "feed").to_owned(),
        ..acts::Round::default()
    };
    acts::round(&ask.journal(), &ask.hand, &round).map_err(|e| ask.failed(e))?;
    // Only a place on the page of the day is led back to; anything else stays here.
    match field(&sent, "back") {
        back if back.starts_with("/#place-") => go(back),
        _ => go(&format!("/places/{number}")),
    }
}

/// Renames or describes a place.
pub(crate) async fn change(ask: Ask, Path(number): Path<i64>, Form(sent): Form<Sent>) -> Answered {
    let before = ask.read(|r| Ok(place_page(r, number, &ask.hand)?))?;
    let (name, note) = (field(&sent, "name"), field(&sent, "note"));
    if name.is_empty() {
        return Err(ask.failed(WebError::form("name", "", "has no words; write a name")));
    }
    if name != before.place.name {
        acts::rename_place(&ask.journal(), &ask.hand, number, name).map_err(|e| ask.failed(e))?;
    }
    if note != before.note {
        acts::describe_place(&ask.journal(), &ask.hand, number, note).map_err(|e| ask.failed(e))?;
    }
    go(&format!("/places/{number}"))
}

//! Rows that did not fit: what waits, mending it, dismissing it.

use answers::{
    acts::{self, NewPlant, ParentInput},
    left_over,
};
use axum::{Form, extract::Path};
use journal::{Known, Uid};
use maud::html;

use super::ask::{Answered, Ask, go};
use crate::{
    WebError,
    forms::{Sent, field, filled, known_names, line, pick},
    layout::{Nav, title},
};

/// Rows on one page.
const SHOWN: usize = 200;

/// What waits to be mended.
pub(crate) async fn list(ask: Ask) -> Answered {
    let t = ask.t();
    let rows = left_over::waiting(&ask.journal()).map_err(|e| ask.failed(e))?;
    let heading = match rows.len() {
        0 => t.t("Nothing is left over").to_owned(),
        n => t.f("One row left over|{n} rows left over", &[("n", &n)]),
    };
    let body = html! {
        (title(&html! { a href="/plants" { (t.t("Plants")) } }, &html! { (heading) },
            Some(t.t("What was brought in and could not be written waits here, word for word, until it is mended or dismissed."))))
        ol class="left waiting" { @for row in rows.iter().take(SHOWN) { li {
            span class="q num" { (row.origin) }
            div {
                p { (row.cells.iter().map(|c| c.trim()).filter(|c| !c.is_empty()).collect::<Vec<_>>().join(" | ")) }
                p.note { (row.why) }
            }
            div.acts {
                a href=(format!("/left-over/{}", row.uid)) { (t.t("Mend it")) }
                form.undo method="post" action=(format!("/left-over/{}/dismiss", row.uid)) { button { (t.t("Dismiss it")) } }
            }
        } } }
        @if rows.len() > SHOWN { p.note { (t.f("The oldest {a} of {n} are shown; mend or dismiss some to see the others.", &[("a", &SHOWN), ("n", &rows.len())])) } }
        div.printrow { a href="/import" { (t.t("Bring in a list")) } }
    };
    ask.show(Nav::Plants, &heading, &body)
}

fn uid(ask: &Ask, typed: &str) -> Result<Uid, crate::layout::Failed> {
    typed.parse().map_err(|_| ask.failed(WebError::NoPage(format!("left-over/{typed}"))))
}

/// A form with what was recognised in the cells.
pub(crate) async fn mend_form(ask: Ask, Path(typed): Path<String>) -> Answered {
    let t = ask.t();
    let uid = uid(&ask, &typed)?;
    let row = left_over::one(&ask.journal(), uid).map_err(|e| ask.failed(e))?;
    let (keepers, places) = ask.read(known_names)?;
    let read = left_over::recognised(&row, &ask.hand);
    let known = |take: fn(&acts::bring_in::Row) -> Option<String>| {
        read.as_ref().and_then(take).unwrap_or_default()
    };
    let pot = read.as_ref().and_then(|r| r.pot.clone()).map(|p| format!("{} {}", p.value, p.unit));
    let body = html! {
        (title(&html! { a href="/left-over" { (t.t("Left over")) } ": " (row.origin) }, &html! { (t.t("Mend it")) },
            Some(&row.why)))
        p.raw { (row.cells.join(" | ")) }
        form.form method="post" {
            (line(t.t("Name"), "name", &known(|r| r.name.clone()), ""))
            (line(t.t("Number"), "number", "", t.t("empty for the next free one")))
            (pick(t.t("From"), "keeper", &known(|r| r.source.clone().filter(|s| s != "own")), &keepers, "k"))
            (line(t.t("Came"), "came", &known(|r| r.acquired.clone()), t.t("as exactly as you remember: 7 May 2024, May 2024, spring 2024, 1998~")))
            label.tick { input type="checkbox" name="own" value="yes" checked[known(|r| r.source.clone()) == "own"]; (t.t("raised here")) }
            (pick(t.t("Stands"), "place", &known(|r| r.place.clone()), &places, "p"))
            (line(t.t("Pot"), "pot", &pot.unwrap_or_default(), t.t("a number in cm, or with its unit: 9 cm, 2 l, 3.5 in")))
            (line(t.t("Seed parent"), "seed", &known(|r| r.seed_parent.clone()), t.t("a name, a plant's number, unknown, or A or B")))
            (line(t.t("Pollen parent"), "pollen", &known(|r| r.pollen_parent.clone()), t.t("a name, a plant's number, unknown, or A or B")))
            (line(t.t("Tag"), "tag", &known(|r| r.tag.clone()), t.t("a number or word of your own that is not part of the name")))
            label.line { span { (t.t("Words")) } textarea name="note" rows="2" { (known(|r| Some(r.notes.join("\n")))) } }
            div.printrow { button.btn.main { (t.t("Write the plant")) } a href="/left-over" { (t.t("Leave it")) } }
        }
    };
    ask.show(Nav::Plants, t.t("Mend it"), &body)
}

/// Writes the plant and takes the row off the list, in one step.
pub(crate) async fn mend(ask: Ask, Path(typed): Path<String>, Form(sent): Form<Sent>) -> Answered {
    let uid = uid(&ask, &typed)?;
    let number = match field(&sent, "number") {
        "" => None,
        n => Some(n.parse().map_err(|_| {
            ask.failed(WebError::form(
                "number",
                n,
                "is not a whole number; leave it empty for the next free one",
            ))
        })?),
    };
    let came = match field(&sent, "came") {
        "" => None,
        words => Some(acts::read_date(words, &ask.hand).map_err(|e| ask.failed(e))?),
    };
    let here = came.as_ref().and_then(dates::Edtf::day) == Some(ask.hand.today);
    let new = NewPlant {
        number,
        name: filled(&sent, "name"),
        standing: Some("as_received".to_owned()),
        keeper: filled(&sent, "keeper"),
        own: field(&sent, "own") == "yes",
        came,
        known: if here { Known::Seen } else { Known::Remembered },
        place: filled(&sent, "place"),
        pot: filled(&sent, "pot"),
        tag: filled(&sent, "tag"),
        note: filled(&sent, "note"),
        seed: ParentInput::read(field(&sent, "seed")),
        pollen: ParentInput::read(field(&sent, "pollen")),
        ..NewPlant::default()
    };
    let (_, number) =
        left_over::mend(&ask.journal(), &ask.hand, uid, &new).map_err(|e| ask.failed(e))?;
    go(&format!("/plants/{number}"))
}

/// Takes a row off the list.
pub(crate) async fn dismiss(ask: Ask, Path(typed): Path<String>) -> Answered {
    let uid = uid(&ask, &typed)?;
    left_over::dismiss(&ask.journal(), &ask.hand, uid).map_err(|e| ask.failed(e))?;
    go("/left-over")
}

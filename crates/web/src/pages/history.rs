//! What was written when, and undo.

use axum::{Form, extract::Path};
use journal::{OperationRow, Uid};
use maud::{Markup, html};
use texts::Texts;

use super::ask::{Answered, Ask, go, own_path};
use crate::{
    WebError,
    forms::{Sent, field},
    layout::{Failed, Nav, title},
    roles::Role,
};

/// How many operations a page shows.
const SHOWN: usize = 200;

fn instant(ms: i64) -> String {
    jiff::Timestamp::from_millisecond(ms)
        .map(|i| {
            i.to_zoned_datetime(jiff::tz::TimeZone::system()).strftime("%Y-%m-%d %H:%M").to_string()
        })
        .unwrap_or_default()
}

fn operation(op: &OperationRow, t: Texts) -> Markup {
    let act = t.word(&op.act.replace('_', " "));
    html! {
        td class="num q" { (instant(op.recorded)) }
        td { @if op.live { (act) ", " (op.about) } @else { s { (act) ", " (op.about) } } }
        td.q { (op.who) ", " (op.device) }
    }
}

/// The newest operations.
pub(crate) async fn history(ask: Ask) -> Answered {
    let t = ask.t();
    let ops = ask.read(|r| Ok(r.operations(SHOWN)?))?;
    let body = html! {
        (title(&html! { (t.t("Newest first")) }, &html! { (t.t("History")) },
            Some(t.t("Every step, as it was written. Undoing is a step too, and can be undone."))))
        table class="t list stack" {
            thead { tr { th { (t.t("Recorded")) } th { (t.t("What was done")) } th { (t.t("By")) } th {} } }
            tbody { @for op in &ops { tr data-row {
                (operation(op, t))
                td {
                    @if op.live && ask.caller.may_undo(&op.who, &ask.hand.who) {
                        form.undo method="post" action="/undo" {
                            input type="hidden" name="op" value=(op.uid);
                            input type="hidden" name="back" value="/history";
                            button { (t.t("Undo")) }
                        }
                    } @else if !op.live { span.q { (t.t("undone")) } }
                }
            } } }
        }
    };
    ask.show(Nav::None, t.t("History"), &body)
}

/// Everything that was ever written about one plant and its clone.
pub(crate) async fn of_plant(ask: Ask, Path(number): Path<i64>) -> Answered {
    let t = ask.t();
    let rows = ask.read(|r| {
        let plant = r.plant(number)?.ok_or(WebError::Ask(answers::AskError::NotThere {
            kind: "plant",
            which: number.to_string(),
            next: "the list of plants shows which there are",
        }))?;
        let mut rows = r.history(plant.id, 2_000)?;
        rows.extend(r.history(plant.clone, 2_000)?);
        rows.sort_by_key(|h| std::cmp::Reverse(h.operation.uid));
        Ok(rows)
    })?;
    let body = html! {
        (title(&html! { a href=(format!("/plants/{number}")) { (t.f("Plant {n}", &[("n", &number)])) } }, &html! { (t.t("History")) },
            Some(t.t("What changed, and when, the newest first; with its clone."))))
        table class="t list stack" {
            thead { tr { th { (t.t("Recorded")) } th { (t.t("Step")) } th { (t.t("By")) } th { (t.t("What was written")) } } }
            tbody { @for h in &rows { tr {
                (operation(&h.operation, t))
                td.raw {
                    @if h.live { (t.word(&h.what)) " " (h.field) ": " (h.value) }
                    @else { s { (t.word(&h.what)) " " (h.field) ": " (h.value) } }
                }
            } } }
        }
    };
    ask.show(Nav::Plants, t.t("History"), &body)
}

/// A helper undoes what stands under the helper's own name, and so does what rests on it.
fn allowed(ask: &Ask, op: Uid, together: bool) -> Result<(), Failed> {
    if ask.caller.role() == Role::Owner {
        return Ok(());
    }
    let mut steps = vec![op];
    if together {
        let resting = ask.journal().resting_on(op).map_err(|e| ask.failed(e))?;
        steps.extend(resting.iter().map(|r| r.id));
    }
    let others = ask.read(|r| {
        let rows = steps.iter().map(|s| r.operation(*s)).collect::<Result<Vec<_>, _>>()?;
        Ok(rows.iter().flatten().any(|o| !ask.caller.may_undo(&o.who, &ask.hand.who)))
    })?;
    if others {
        let words = ask.t().t("A helper undoes what was written under the helper's own name; this was written by somebody else. Ask the owner.");
        return Err(ask.failed_next(
            WebError::NotAllowed(words.to_owned()),
            ask.t().t("History"),
            "/history",
        ));
    }
    Ok(())
}

/// Undoes an operation; if others rest on it, they are shown first.
pub(crate) async fn undo(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let t = ask.t();
    let typed = field(&sent, "op");
    let op: Uid = typed
        .parse()
        .map_err(|_| ask.failed(WebError::form("op", typed, "is not a step of this record")))?;
    let together = field(&sent, "together") == "yes";
    allowed(&ask, op, together)?;
    let hand = &ask.hand;
    let back = field(&sent, "back");
    match ask.journal().undo(op, together, &hand.who, &hand.device, hand.now) {
        Ok(_) => go(if back.is_empty() { "/history" } else { own_path(back) }),
        Err(journal::Error::RestsOn(later)) => {
            let body = html! {
                section.sect.error role="alert" {
                    h2 { (t.f("One later step rests on this one|{n} later steps rest on this one", &[("n", &later.len())])) }
                    ul { @for l in later.iter().take(40) { li { (t.word(&l.act.replace('_', " "))) ", " (l.about) } } }
                    @if later.len() > 40 { p { (t.f("and {n} more", &[("n", &(later.len() - 40))])) } }
                    p { (t.t("Nothing was changed.")) }
                    form method="post" action="/undo" {
                        input type="hidden" name="op" value=(op);
                        input type="hidden" name="together" value="yes";
                        input type="hidden" name="back" value=(back);
                        div.printrow {
                            button.btn.main { (t.t("Undo them all together")) }
                            a href="/history" { (t.t("Leave it")) }
                        }
                    }
                }
            };
            ask.show(Nav::None, t.t("Undo"), &body)
        }
        Err(e) => Err(ask.failed(e)),
    }
}

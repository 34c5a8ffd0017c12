//! Today: what waits, and what was written last.

use answers::name_text;
use maud::html;

use super::ask::{Answered, Ask, go};
use crate::{
    layout::{Nav, title},
    markup,
};

/// The page of the day; the first page where there is no record yet.
pub(crate) async fn today(ask: Ask) -> Answered {
    let t = ask.t();
    let hand = &ask.hand;
    let empty = ask.read(|r| Ok(r.operations(1)?.is_empty()))?;
    if empty {
        return go("/begin");
    }
    let (questions, left, promised, entries, recent) = ask.read(|r| {
        let promised: Vec<_> = r.all_of_kind("promised")?.into_iter().rev().take(8).collect();
        let mut lines = Vec::new();
        for e in &promised {
            let plant = match e.plant {
                Some(id) => r.plant_by_id(id)?,
                None => None,
            };
            lines.push((
                dates::say(&e.happened, hand.lang, Some(hand.today)),
                plant,
                answers::entry_sentence(r, e, t)?,
            ));
        }
        let latest = r.latest_entries(12)?;
        let mut recent = Vec::new();
        for e in &latest {
            let plant = match e.plant {
                Some(id) => r.plant_by_id(id)?,
                None => None,
            };
            recent.push((
                dates::say(&e.happened, hand.lang, Some(hand.today)),
                plant,
                answers::entry_sentence(r, e, t)?,
            ));
        }
        Ok((r.open_questions(None)?, r.left_over()?.len(), lines, r.totals()?, recent))
    })?;
    let date = dates::say(&dates::Edtf::from_day(hand.today), hand.lang, None);
    let waits = questions.len() + left;
    let heading = if waits == 0 {
        t.t("Nothing waits").to_owned()
    } else {
        t.f("One thing waits to be settled|{n} things wait to be settled", &[("n", &waits)])
    };
    let body = html! {
        (title(&html! { (date) }, &html! { (heading) },
            Some(&t.f("{plants} plants, {entries} entries. What is dry or due will stand here once the record can say so.",
                &[("plants", &crate::layout::thousands(entries.0)), ("entries", &crate::layout::thousands(entries.1))]))))
        div.today {
            div {
                section {
                    h2.under { (t.t("Written last")) }
                    ol.dated {
                        @for (date, plant, s) in &recent {
                            li data-row {
                                time { (date) }
                                p {
                                    @if let Some(p) = plant {
                                        a href=(format!("/plants/{}", p.number)) { (p.number) } " "
                                        (markup::name(&name_text(if p.name.is_empty() { t.t("not named") } else { &p.name }))) ": "
                                    }
                                    (markup::sentence(s))
                                }
                            }
                        }
                    }
                    p.after { a href="/history" { (t.t("The whole history")) } }
                }
            }
            div {
                section.ahead {
                    h2 { (t.t("To ask")) }
                    @if questions.is_empty() { p.note { (t.t("No question waits.")) } }
                    ol.dated {
                        @for q in questions.iter().take(8) {
                            li {
                                @if !q.keeper.is_empty() { time { (q.keeper) } }
                                p { (q.text) }
                                @if !q.about.is_empty() { span.small { (markup::name(&name_text(&q.about))) } }
                            }
                        }
                    }
                }
                section.ahead {
                    h2 { (t.t("Promised")) }
                    @if promised.is_empty() { p.note { (t.t("Nothing is promised.")) } }
                    ol.dated {
                        @for (date, plant, s) in &promised {
                            li {
                                time { (date) }
                                p {
                                    @if let Some(p) = plant { a href=(format!("/plants/{}", p.number)) { (p.number) } " " }
                                    (markup::sentence(s))
                                }
                            }
                        }
                    }
                }
                @if left > 0 {
                    section.ahead {
                        h2 { (t.t("Left over")) }
                        p.note { a href="/left-over" { (t.f("One row of a list waits to be mended|{n} rows of lists wait to be mended", &[("n", &left)])) } "." }
                    }
                }
            }
        }
    };
    ask.show(Nav::Today, t.t("Today"), &body)
}

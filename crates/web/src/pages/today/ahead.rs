//! Beside the walk: what else wants doing, what waits to be settled.

use answers::due::{About, Due};
use answers::name_text;
use journal::SubjectKind;
use maud::{Markup, html};

use crate::{layout::Failed, markup, pages::ask::Ask};

/// So many lines of one kind stand open; the rest are folded.
const SHOWN: usize = 5;

/// The right column.
pub(super) fn column(ask: &Ask) -> Result<Markup, Failed> {
    let lines = ask.due()?;
    let today = ask.hand.today_number();
    let (off, now): (Vec<&Due>, Vec<&Due>) =
        lines.iter().partition(|l| l.put_off.is_some_and(|d| d > today));
    let mut groups: Vec<&str> = Vec::new();
    for l in &now {
        if !groups.contains(&l.group) {
            groups.push(l.group);
        }
    }
    let t = ask.t();
    Ok(html! {
        div {
            @for group in groups {
                section.ahead {
                    h2 { (t.t(group)) }
                    @let of_group: Vec<&Due> = now.iter().copied().filter(|l| l.group == group).collect();
                    ol.dated { @for l in of_group.iter().take(SHOWN) { (line(l, ask)) } }
                    @if of_group.len() > SHOWN {
                        details.rest {
                            summary { (t.f("one more|{n} more", &[("n", &(of_group.len() - SHOWN))])) }
                            ol.dated { @for l in of_group.iter().skip(SHOWN) { (line(l, ask)) } }
                        }
                    }
                }
            }
            @if !off.is_empty() {
                details.rest {
                    summary { (t.f("One line is put off|{n} lines are put off", &[("n", &off.len())])) }
                    ol.dated { @for l in off { (line(l, ask)) } }
                }
            }
            (waiting(ask)?)
        }
    })
}

fn href(about: About) -> Option<String> {
    match about.kind {
        SubjectKind::Plant => Some(format!("/plants/{}", about.number)),
        SubjectKind::Place => Some(format!("/places/{}", about.number)),
        SubjectKind::Cross => Some(format!("/crosses/{}", about.number)),
        _ => None,
    }
}

fn day(days: i64, ask: &Ask) -> String {
    let date = i32::try_from(days).ok().and_then(dates::from_days).unwrap_or(ask.hand.today);
    dates::say(&dates::Edtf::from_day(date), ask.hand.lang, Some(ask.hand.today))
}

/// What a line names, each leading to its page.
fn names(l: &Due) -> Markup {
    html! {
        @for (i, (about, words)) in l.named.iter().enumerate() {
            @if i > 0 { ", " }
            @let words = match about.kind {
                SubjectKind::Plant => markup::name(&name_text(words)),
                _ => html! { (words) },
            };
            @if let Some(to) = href(*about) { a href=(to) { (words) } } @else { (words) }
        }
    }
}

/// What to do: the names in their place, or the whole leading to what it is about.
fn what(l: &Due) -> Markup {
    match (l.text.split_once("{}"), href(l.about)) {
        (Some((before, after)), _) => html! { (before) (names(l)) (after) },
        (None, Some(to)) => html! { a href=(to) { (l.text) } },
        (None, None) => html! { (l.text) },
    }
}

fn line(l: &Due, ask: &Ask) -> Markup {
    let t = ask.t();
    let today = ask.hand.today_number();
    let when = match (l.day <= today, l.until) {
        (_, Some(until)) if until < today => {
            t.f("Overdue since {day}", &[("day", &day(until, ask))])
        }
        (true, Some(until)) => t.f("Until {day}", &[("day", &day(until, ask))]),
        (true, None) => t.t("Today").to_owned(),
        (false, _) => day(l.day, ask),
    };
    let hidden = html! {
        input type="hidden" name="kind" value=(l.about.kind.as_str());
        input type="hidden" name="number" value=(l.about.number);
        input type="hidden" name="key" value=(l.key);
    };
    html! {
        li data-row {
            time { (when) @if let Some(d) = l.put_off { ", " (t.f("put off to {day}", &[("day", &day(d, ask))])) } }
            p { (what(l)) }
            @if !l.reason.is_empty() { span.small { (l.reason) } }
            @if !l.named.is_empty() && !l.text.contains("{}") { span.small { (names(l)) } }
            div.does {
                @if !l.done.is_empty() {
                    form.undo method="post" action="/today/done" data-queue {
                        (hidden)
                        @for (i, way) in l.done.iter().enumerate() { button name="which" value=(i) { (way.words) } " " }
                    }
                }
                form.undo method="post" action="/today/put-off" data-queue {
                    (hidden)
                    span.small { (t.t("put off:")) } " "
                    button name="days" value="1" { (t.t("tomorrow")) } " "
                    // Nothing is written of an alarm that was seen to; it does not come again.
                    @if l.done.is_empty() { button name="days" value="30" { (t.t("dealt with")) } " " }
                    button name="days" value="7" { (t.t("in a week")) }
                }
            }
        }
    }
}

/// Questions, promises and rows of lists that wait.
fn waiting(ask: &Ask) -> Result<Markup, Failed> {
    let (t, hand) = (ask.t(), &ask.hand);
    let (questions, left, promised) = ask.read(|r| {
        let promised: Vec<_> = r.all_of_kind("promised")?.into_iter().rev().take(8).collect();
        let mut lines = Vec::new();
        for e in &promised {
            let plant = match e.plant {
                Some(id) => r.plant_by_id(id)?,
                None => None,
            };
            let date = dates::say(&e.happened, hand.lang, Some(hand.today));
            lines.push((date, plant, answers::entry_sentence(r, e, t)?));
        }
        Ok((r.open_questions(None)?, r.left_over()?.len(), lines))
    })?;
    Ok(html! {
        @if !questions.is_empty() {
            section.ahead {
                h2 { (t.t("To ask")) }
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
        }
        @if !promised.is_empty() {
            section.ahead {
                h2 { (t.t("Promised")) }
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
        }
        @if left > 0 {
            section.ahead {
                h2 { (t.t("Left over")) }
                p.note { a href="/left-over" { (t.f("One row of a list waits to be mended|{n} rows of lists wait to be mended", &[("n", &left)])) } "." }
            }
        }
        section.ahead {
            p.note { a href="/history" { (t.t("What was written last")) } }
        }
    })
}

//! The chance of a pair, in both directions, with every belief that bears on it.

use answers::{
    AskError,
    crossing::{self, CAUTIONS, Engine, PairChance, Wanted},
    flowers::AHEAD,
};
use axum::extract::Query;
use drawing::{Whisker, whisker, whisker_axis};
use journal::{PlantRow, Reader, Uid};
use maud::{Markup, PreEscaped, html};
use texts::Texts;

use crate::{
    WebError,
    forms::{Sent, field, line},
    layout::{Nav, title},
    markup,
    pages::{
        ask::{Answered, Ask},
        flowers::together,
    },
};

/// A plant by its number, with its clone.
fn parent(r: &Reader<'_>, typed: &str, key: &str) -> Result<(PlantRow, Uid), WebError> {
    let number: i64 = typed
        .trim_start_matches('#')
        .parse()
        .map_err(|_| WebError::form(key, typed, "is not a plant's number"))?;
    let missing = || AskError::NotThere {
        kind: "plant",
        which: typed.to_owned(),
        next: "the list of plants shows which there are",
    };
    let row = r.plant(number)?.ok_or_else(missing)?;
    let clone = r.clone_by_id(row.clone)?.ok_or_else(missing)?.uid;
    Ok((row, clone))
}

fn whole(sent: &Sent, key: &str, usual: u64, most: u64) -> Result<u64, WebError> {
    match field(sent, key) {
        "" => Ok(usual),
        typed => typed.parse().ok().filter(|n| (1..=most).contains(n)).ok_or_else(|| {
            WebError::form(
                key,
                typed,
                "is not a whole number that can be; from 1 up to some hundreds",
            )
        }),
    }
}

/// The page; with two parents, what is likely.
pub(crate) async fn pair(ask: Ask, Query(sent): Query<Sent>) -> Answered {
    let t = ask.t();
    let engine = ask.engine()?;
    let asked = !field(&sent, "seed").is_empty() && !field(&sent, "pollen").is_empty();
    let wanted = Wanted {
        flowers: whole(&sent, "flowers", 6, 500).map_err(|e| ask.failed(e))?,
        seedlings: whole(&sent, "seedlings", 5, 500).map_err(|e| ask.failed(e))?,
    };
    let found = if asked {
        let (a, b) = ask.read(|r| {
            Ok((
                parent(r, field(&sent, "seed"), "seed")?,
                parent(r, field(&sent, "pollen"), "pollen")?,
            ))
        })?;
        let both = |x: Uid, y: Uid| engine.chance((x, y), wanted, &ask.hand);
        let there = both(a.1, b.1).map_err(|e| ask.failed(e))?;
        let back = if a.1 == b.1 { None } else { Some(both(b.1, a.1).map_err(|e| ask.failed(e))?) };
        Some((a.0, b.0, there, back))
    } else {
        None
    };
    let meeting = match &found {
        Some((a, b, _, _)) => {
            let today = ask.hand.today_number();
            let span = (today, today + AHEAD - 1);
            ask.flowers(|kept, r| Ok(kept.together(r, &ask.hand, (a.number, b.number), span)?))?
        }
        None => None,
    };
    let body = html! {
        (title(&html! { a href="/crosses" { (t.t("Crosses")) } }, &html! { (t.t("Will it take?")) },
            Some(t.t("The chance of a pod, of full seed and of flowering seedlings, learnt from everything that was tried here."))))
        form.filter method="get" action="/crosses/pair" {
            (line(t.t("Seed parent"), "seed", field(&sent, "seed"), t.t("number of a plant")))
            (line(t.t("Pollen parent"), "pollen", field(&sent, "pollen"), t.t("number of a plant")))
            (line(t.t("Flowers"), "flowers", &wanted.flowers.to_string(), ""))
            (line(t.t("Flowering seedlings wanted"), "seedlings", &wanted.seedlings.to_string(), ""))
            button.btn { (t.t("Work it out")) }
        }
        @if let Some((a, b, there, back)) = &found {
            (direction(&engine, there, (a.number, b.number), t))
            @if let Some(back) = back { (direction(&engine, back, (b.number, a.number), t)) }
            (together(meeting.as_ref(), t))
            (terms(there, t))
        }
        section.sect {
            @for c in CAUTIONS { p class="note caution" { b { (t.t(c.lead)) } " " (t.t(c.text)) } }
        }
    };
    ask.show(Nav::Crosses, t.t("Will it take?"), &body)
}

/// Where the axis of whiskers ends so that all of them fit.
pub(super) fn axis_end(upper: f64) -> f64 {
    [0.15, 0.3, 0.6].into_iter().find(|e| *e >= upper).unwrap_or(0.9)
}

fn direction(engine: &Engine, c: &PairChance, (a, b): (i64, i64), t: Texts) -> Markup {
    let name = |uid: Uid| {
        let words = engine.facts.of(uid).map(|f| f.name.clone()).filter(|n| !n.is_empty());
        words
            .map_or_else(|| html! { (t.t("not named")) }, |n| markup::name(&answers::name_text(&n)))
    };
    let end = axis_end(c.per_flower.upper);
    let believed = c.information < 0.2;
    let w = Whisker {
        at: c.per_flower.mean,
        lower: c.per_flower.lower,
        upper: c.per_flower.upper,
        believed,
        end,
    };
    html! {
        section class="answer row" {
            div {
                h2 { a href=(format!("/plants/{a}")) { (a) } " " (name(c.seed)) " × " a href=(format!("/plants/{b}")) { (b) } " " (name(c.pollen)) }
                table class="t" {
                    thead { tr { th { (t.t("A flower makes a pod")) (PreEscaped(whisker_axis(end))) } } }
                    tbody { tr { td { (PreEscaped(whisker(&w, c.lines.first().map_or("", String::as_str)))) } } }
                }
                ul class="plainlines" { @for l in &c.lines { li { (l) } } }
            }
            div {
                @if believed { p.note { (t.t("The hollow dot and the broken line: mostly believed beforehand.")) } }
                p.note { a href=(format!("/crosses/new?seed={a}")) { (t.t("Write down a pollination")) } }
                p.note { a href="/how/cross_chance" { (t.t("How this was computed")) } }
            }
        }
    }
}

fn terms(c: &PairChance, t: Texts) -> Markup {
    let two = |(m, s): (f64, f64)| format!("{m:+.2} ± {s:.2}").replace('-', "−");
    html! {
        section.sect {
            h2.under { (t.t("What bears on it")) }
            table class="t list stack" {
                thead { tr { th { (t.t("Belief")) } th.r { (t.t("How much of it")) } th.r { (t.t("Before, log odds")) } th.r { (t.t("Now")) } th { (t.t("Source")) } } }
                tbody { @for term in &c.terms { tr {
                    td { (term.words) }
                    td class="r num" data-of=(t.t("How much of it")) { (format!("{:.2}", term.amount)) }
                    td class="r num" data-of=(t.t("Before, log odds")) { (two(term.before)) }
                    td class="r num c" data-of=(t.t("Now")) { (two(term.now)) }
                    td.small { (term.source) }
                } } }
            }
            p.note { a href="/crosses/beliefs" { (t.t("Change what is believed")) } }
        }
    }
}

/// What is believed before any record, each with its source; each can be changed.
pub(crate) async fn beliefs(ask: Ask) -> Answered {
    let t = ask.t();
    let all = ask.read(|r| Ok(crossing::Beliefs::read(r)?))?;
    let share = |m: f64| format!("{:.0} %", 100.0 / (1.0 + (-m).exp()));
    let body = html! {
        (title(&html! { a href="/crosses" { (t.t("Crosses")) } }, &html! { (t.t("Believed beforehand")) },
            Some(t.t("What counts before your own records tell. Yours take over as they grow; where you know better, write it."))))
        table class="t list stack" {
            thead { tr { th { (t.t("Belief")) } th.r { (t.t("Mean ± standard deviation")) } th { (t.t("Source")) } th { (t.t("Yours")) } } }
            tbody { @for b in &all.all { tr {
                td { (t.t(b.words)) }
                td class="r num" { @if b.key.starts_with("take_") { (share(b.mean)) ", " } (format!("{:+.2} ± {:.2}", b.mean, b.sd).replace('-', "−")) }
                td.small { @if b.own { (t.t("changed by this house")) } @else { (t.t(b.source)) } }
                td { form.inline method="post" action="/crosses/beliefs" {
                    input type="hidden" name="key" value=(b.key);
                    label.line { span.vh { (t.t(b.words)) } input name="to" value="" placeholder=(if b.key.starts_with("take_") { "25 %" } else { "−1.5 ± 0.7" }); }
                    button.btn { (t.t("Change")) }
                } }
            } } }
        }
        p.note { (t.t("An empty field brings the default back. Log odds: +0.7 doubles the odds, −0.7 halves them.")) }
    };
    ask.show(Nav::Crosses, t.t("Believed beforehand"), &body)
}

/// Changes a belief.
pub(crate) async fn change(ask: Ask, axum::Form(sent): axum::Form<Sent>) -> Answered {
    crossing::change_belief(&ask.journal(), field(&sent, "key"), field(&sent, "to"))
        .map_err(|e| ask.failed(e))?;
    ask.app.crossing().forget();
    crate::pages::ask::go("/crosses/beliefs")
}

//! The walk: each place's plants on one axis from surely moist to surely dry.

use answers::water::{
    LeftOut, PlaceToday, PlantToday, WaterToday, dry_words, odd_words, percent, reason,
};
use drawing::{DryAxis, DryMark, Run, dry_axis};
use maud::{Markup, PreEscaped, html};
use texts::Texts;

use super::{named, round_day};
use crate::{markup, pages::ask::Ask};

/// Where the line stands on every axis.
const LINE: f64 = 2.0 / 3.0;
/// Places without a plant past the line that are still shown unfolded.
const UNFOLDED: usize = 4;

/// All places in walking order; those where nothing is past the line are folded from the fifth on.
pub(super) fn walk(water: &WaterToday, ask: &Ask) -> Markup {
    let t = ask.t();
    if water.places.is_empty() {
        return html! { p { (t.t("No plant stands anywhere yet.")) } };
    }
    let mut quiet = 0;
    let (mut shown, mut folded) = (Vec::new(), Vec::new());
    for (i, p) in water.places.iter().enumerate() {
        let calm = p.now().next().is_none() && p.before_round().next().is_none();
        quiet += usize::from(calm);
        if calm && quiet > UNFOLDED { folded.push((i, p)) } else { shown.push((i, p)) }
    }
    let plants: usize = folded.iter().map(|(_, p)| p.all).sum();
    html! {
        ol.walk {
            @for (k, (i, p)) in shown.iter().enumerate() { (stop(*i, p, k == 0, ask)) }
        }
        @if !folded.is_empty() {
            details.rest {
                summary { (t.f("{places} more places, {plants} plants: none past the line", &[("places", &folded.len()), ("plants", &plants)])) }
                ol.walk { @for (i, p) in &folded { (stop(*i, p, false, ask)) } }
            }
        }
        @let left = water.left_out();
        @if left > 0 {
            p.note { (t.f("One plant is left out: resting, without roots, just potted, or with no watering of late to count from. The table names it.|{n} plants are left out: resting, without roots, just potted, or with no watering of late to count from. The table names them.", &[("n", &left)])) }
        }
    }
}

fn stop(i: usize, p: &PlaceToday, first: bool, ask: &Ask) -> Markup {
    let t = ask.t();
    let name = if p.name.is_empty() { t.t("no place") } else { &p.name };
    let anchor = p.number.map(|n| format!("place-{n}"));
    html! {
        li.stop id=[anchor] data-stop {
            h2 {
                span class="ord num" { (i + 1) }
                @if let Some(n) = p.number { a href=(format!("/places/{n}")) { (name) } } @else { (name) }
                span.air { (pace(p, t)) }
            }
            @if first {
                p.note {
                    (t.t("Each number is a plant, placed at its chance of being dry tonight; its tail runs to tomorrow night."))
                    span.semi { " " (t.t("Past the upright line, waiting costs more than watering.")) }
                }
            }
            @if !p.plants.is_empty() { (axis(p, name, first, t)) }
            (must(p, ask))
            (calm(p, ask))
            @if let Some(n) = p.number { (round(n, p, t)) }
        }
    }
}

/// How fast the clock of this place ran of late.
fn pace(p: &PlaceToday, t: Texts) -> String {
    match p.pace {
        Some(x) if x > 1.12 => {
            t.f("dries faster than usual, {n} times", &[("n", &format!("{x:.1}"))])
        }
        Some(x) if x < 0.89 => t.t("dries more slowly than usual").to_owned(),
        _ => String::new(),
    }
}

fn axis(p: &PlaceToday, name: &str, first: bool, t: Texts) -> Markup {
    let hrefs: Vec<String> = p.plants.iter().map(|x| format!("/plants/{}", x.number)).collect();
    let marks: Vec<DryMark<'_>> =
        p.plants.iter().zip(&hrefs).map(|(x, href)| mark(x, href, t)).collect();
    let past = marks.iter().filter(|m| m.past).count();
    let aria = t.f(
        "{place}: {n} plants on one axis from surely moist to surely dry; {past} past the line",
        &[("place", &name), ("n", &marks.len()), ("past", &past)],
    );
    let heap = |n: usize| t.f("one hardly dry|{n} hardly dry", &[("n", &n)]);
    let svg = dry_axis(&DryAxis {
        marks: &marks,
        line: LINE,
        ends: [t.t("surely moist"), t.t("surely dry")],
        line_words: first.then(|| t.t("waiting costs more than watering")),
        heap: &heap,
        aria: &aria,
    });
    html! { (PreEscaped(svg)) }
}

fn mark<'a>(x: &PlantToday, href: &'a str, t: Texts) -> DryMark<'a> {
    let name = named(&x.name, t);
    let runs = name
        .runs
        .iter()
        .map(|r| Run { text: r.text.clone(), italic: r.style == names::Style::Italic })
        .collect();
    let words = dry_words(x.tonight, t);
    DryMark {
        number: x.number,
        href,
        name: runs,
        long: t.f(
            "{words}, {p}%; tomorrow {q}%",
            &[("words", &words), ("p", &percent(x.tonight)), ("q", &percent(x.tomorrow))],
        ),
        short: words.to_owned(),
        at: [x.at(x.tonight), x.at(x.tomorrow)],
        past: x.past(),
    }
}

/// The plants past the line, each with its reason and two ticks.
fn must(p: &PlaceToday, ask: &Ask) -> Markup {
    let t = ask.t();
    let now: Vec<&PlantToday> = p.now().collect();
    html! {
        @if !now.is_empty() {
            ol.must {
                @for x in now {
                    li data-row {
                        a class="no num" href=(format!("/plants/{}", x.number)) { (x.number) }
                        div.name {
                            (markup::name(&named(&x.name, t)))
                            small { (reason(x, &ask.hand)) }
                            @if x.limp_and_wet { small { b { (t.t("Limp in a moist pot: look at the roots before watering.")) } } }
                            @else if let Some(words) = odd_words(x, t) { small { b { (words) } } }
                        }
                        p.q {
                            b { (dry_words(x.tonight, t)) } ", " span class="c num" { (percent(x.tonight)) "%" }
                            span.semi { "; " } span.tm { (t.t("tomorrow")) " " span class="c num" { (percent(x.tomorrow)) "%" } }
                        }
                        form.ticks method="post" action="/today/look" data-queue {
                            input type="hidden" name="plant" value=(x.number);
                            @if let Some(n) = p.number { input type="hidden" name="place" value=(n); }
                            button.tick name="found" value="dry" data-tick="w" { span.box {} (t.t("dry, watered")) }
                            button.tick name="found" value="moist" data-tick="m" { span.box {} (t.t("still moist")) }
                        }
                    }
                }
            }
        }
    }
}

fn numbers<'a>(plants: impl Iterator<Item = &'a PlantToday>) -> Vec<i64> {
    plants.map(|x| x.number).collect()
}

fn links(numbers: &[i64]) -> Markup {
    html! {
        @for (i, n) in numbers.iter().enumerate() {
            @if i > 0 { ", " } a href=(format!("/plants/{n}")) { (n) }
        }
    }
}

/// What can wait, what cannot wait until the round, what may be left out of it.
fn calm(p: &PlaceToday, ask: &Ask) -> Markup {
    let t = ask.t();
    let (before, by) = (numbers(p.before_round()), numbers(p.by_round()));
    let out = numbers(p.may_be_left_out());
    let odd: Vec<(i64, &'static str)> = (p.plants.iter())
        .filter(|x| !x.past())
        .filter_map(|x| Some((x.number, odd_words(x, t)?)))
        .collect();
    html! {
        @if let Some(days) = p.round_in.filter(|d| *d > 0) {
            @let day = round_day(days, ask);
            @if !before.is_empty() {
                p.calm { b { (t.f("Cannot wait for {day} either,", &[("day", &day)])) } " " (t.t("though tonight is not past the line:")) " " (links(&before)) "." }
            }
            @if !by.is_empty() {
                p.calm { b { (t.f("Can wait for {day},", &[("day", &day)])) } " " (t.t("and will likely be dry by then:")) " " (links(&by)) "." }
            } @else if before.is_empty() && p.now().next().is_none() && !p.plants.is_empty() {
                p.calm { (t.t("Nothing here needs you before the round, and little will need it then.")) }
            }
        }
        @if p.round_in == Some(0) && !out.is_empty() {
            p.calm { b { (t.t("May be left out of the round,")) } " " (t.t("hardly dry before the next:")) " "
                @if out.len() <= 24 { (links(&out)) } @else { (t.f("{n} plants", &[("n", &out.len())])) }
                "." }
        }
        @for (n, words) in odd {
            p.calm { b { a href=(format!("/plants/{n}")) { (n) } } " " (words) }
        }
    }
}

/// The round as a sentence.
fn round(number: i64, p: &PlaceToday, t: Texts) -> Markup {
    html! {
        form.round method="post" action=(format!("/places/{number}/round")) data-queue {
            input type="hidden" name="back" value=(format!("/#place-{number}"));
            span { (t.t("The round:")) }
            button name="feed" value=(t.t("fed")) data-round { (t.f("the one watered and fed|all {n} watered and fed", &[("n", &p.all)])) }
            span { (t.t("or")) }
            button name="feed" value="" { (t.t("watered only")) }
            label { (t.t("but still wet")) " " input type="text" name="still_wet" inputmode="numeric" autocomplete="off"; }
            label { (t.t("and limp")) " " input type="text" name="limp" inputmode="numeric" autocomplete="off"; }
            label { (t.t("left out")) " " input type="text" name="left_out" inputmode="numeric" autocomplete="off"; }
        }
    }
}

/// Why a plant is left out, in words.
pub(super) fn left_out_words(why: LeftOut, t: Texts) -> &'static str {
    match why {
        LeftOut::JustPotted => t.t("just potted"),
        LeftOut::Rootless => t.t("has no roots yet"),
        LeftOut::Resting => t.t("rests"),
        LeftOut::NotWatched => t.t("no watering within four weeks to count from"),
    }
}

//! Today: what cannot wait, what may be left out, what else wants doing.

mod ahead;
mod walk;

use answers::water::{PlaceToday, WaterToday, percent, reason};
use answers::{acts, due, name_text};
use axum::{Form, extract::Query};
use jiff::civil::Weekday;
use maud::{Markup, html};
use texts::Texts;

use super::ask::{Answered, Ask, go};
use crate::{
    WebError,
    forms::{Sent, field, filled},
    layout::{Nav, thousands, title},
    markup,
};

/// Words of the weekdays in the order of [`answers::water::DAYS`].
pub(crate) fn weekday(day: Weekday, t: Texts) -> &'static str {
    match day {
        Weekday::Monday => t.t("Monday"),
        Weekday::Tuesday => t.t("Tuesday"),
        Weekday::Wednesday => t.t("Wednesday"),
        Weekday::Thursday => t.t("Thursday"),
        Weekday::Friday => t.t("Friday"),
        Weekday::Saturday => t.t("Saturday"),
        Weekday::Sunday => t.t("Sunday"),
    }
}

/// The page of the day; the first page where there is no record yet.
pub(crate) async fn today(ask: Ask) -> Answered {
    let t = ask.t();
    let empty = ask.read(|r| Ok(r.operations(1)?.is_empty()))?;
    if empty {
        return go("/begin");
    }
    let water = ask.water(|w| w.today(&ask.hand))?;
    let learning = ask.app.water().is_learning();
    let date = dates::say(&dates::Edtf::from_day(ask.hand.today), ask.hand.lang, None);
    let mut over = format!("{}, {date}", weekday(ask.hand.today.weekday(), t));
    if !water.rounds.is_empty() {
        let days: Vec<&str> = water.rounds.iter().map(|d| weekday(*d, t)).collect();
        over.push_str(". ");
        over.push_str(&t.f("Rounds on {days}", &[("days", &listed(&days, t))]));
    }
    let body = html! {
        (title(&html! { (over) "." }, &html! { (heading(&water, &ask)) }, Some(&lede(&water, t))))
        div.today {
            div {
                (walk::walk(&water, &ask))
                (keys(t))
                p class="note measure" {
                    (t.t("The line stands at two chances in three because watering too early is held to be twice as bad as too late; for a plant never to be dry it is half as bad, for one that waits until dry through and through four times. That is common practice, not a measurement."))
                    " " a href="/predictions" { (t.t("How often this was right here")) } ". "
                    a href="/today/table" { (t.t("The walk as a table")) } "."
                }
                p.note {
                    (t.f("Learnt from {n} dryings of {plants} pots.",
                        &[("n", &thousands(i64::try_from(water.rests_on.0).unwrap_or(0))), ("plants", &thousands(i64::try_from(water.rests_on.1).unwrap_or(0)))]))
                    @if learning { " " (t.t("It is being learnt anew with the latest entries.")) }
                }
                (rounds_form(&water, t))
            }
            (ahead::column(&ask)?)
        }
    };
    ask.show(Nav::Today, t.t("Today"), &body)
}

/// “Wednesday and Saturday”.
fn listed(words: &[&str], t: Texts) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [before @ .., last] => format!("{} {} {last}", before.join(", "), t.t("and")),
    }
}

/// The day of the next round in words.
pub(crate) fn round_day(days: i64, ask: &Ask) -> String {
    let t = ask.t();
    match days {
        0 => t.t("today").to_owned(),
        n => weekday(ask.hand.today.weekday().wrapping_add(n), t).to_owned(),
    }
}

fn heading(water: &WaterToday, ask: &Ask) -> String {
    let t = ask.t();
    let n = water.cannot_wait();
    match water.round_in {
        Some(0) => t.f(
            "Today’s round: one is past the line|Today’s round: {n} are past the line",
            &[("n", &water.now())],
        ),
        Some(days) => {
            let day = round_day(days, ask);
            if n == 0 {
                t.f("Everything can wait for {day}’s round", &[("day", &day)])
            } else {
                t.f(
                    "Before {day}’s round, one cannot wait|Before {day}’s round, {n} cannot wait",
                    &[("n", &n), ("day", &day)],
                )
            }
        }
        None if water.now() == 0 => t.t("Nothing wants water tonight").to_owned(),
        None => t.f("One wants water tonight|{n} want water tonight", &[("n", &water.now())]),
    }
}

fn lede(water: &WaterToday, t: Texts) -> String {
    let mut said = Vec::new();
    let with: Vec<(&PlaceToday, usize)> =
        water.places.iter().map(|p| (p, p.now().count())).filter(|p| p.1 > 0).collect();
    if !with.is_empty() && with.len() <= 4 {
        let each: Vec<String> = with
            .iter()
            .map(|(p, n)| {
                let place = if p.name.is_empty() { t.t("no place") } else { &p.name };
                t.f("{n} at {place}", &[("n", n), ("place", &place)])
            })
            .collect();
        let each: Vec<&str> = each.iter().map(String::as_str).collect();
        said.push(listed(&each, t) + ".");
    }
    let out: usize = water.places.iter().map(|p| p.may_be_left_out().count()).sum();
    if water.round_in == Some(0) && out > 0 {
        said.push(t.f(
            "One may be left out: it will hardly be dry before the next round.|{n} may be left out: they will hardly be dry before the next round.",
            &[("n", &out)],
        ));
    } else {
        let tomorrow: usize = water
            .places
            .iter()
            .flat_map(|p| &p.plants)
            .filter(|p| !p.past() && p.tomorrow > p.line)
            .count();
        said.push(if tomorrow == 0 {
            t.t("Everything else can stand until tomorrow and longer.").to_owned()
        } else {
            t.f(
                "Everything else can stand until tomorrow, when one more will likely be dry.|Everything else can stand until tomorrow, when {n} more will likely be dry.",
                &[("n", &tomorrow)],
            )
        });
    }
    said.join(" ")
}

fn keys(t: Texts) -> Markup {
    let keys = [
        ("j", ""),
        ("k", t.t("next mark, last mark")),
        ("w", t.t("dry, watered")),
        ("m", t.t("still moist")),
        ("r", t.t("the round here")),
        ("u", t.t("undo")),
        ("?", t.t("all keys")),
    ];
    html! {
        p.keys { @for (key, words) in keys { kbd { (key) } @if !words.is_empty() { (words) "  " } } }
    }
}

fn rounds_form(water: &WaterToday, t: Texts) -> Markup {
    html! {
        details.rest open[water.rounds.is_empty()] {
            summary { (t.t("On which days are your rounds?")) }
            form.form method="post" action="/today/rounds" {
                p {
                    @for (word, day) in answers::water::DAYS {
                        label.tick { input type="checkbox" name=(word) value="1" checked[water.rounds.contains(&day)]; (weekday(day, t)) }
                    }
                }
                p.note { (t.t("For every place; a place’s own page can set other days. Without fixed days the page says what wants water tonight.")) }
                button.btn { (t.t("Keep")) }
            }
        }
    }
}

/// Keeps the days of rounds for every place, or for one.
pub(crate) async fn rounds(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let days: Vec<String> = answers::water::DAYS
        .iter()
        .filter(|d| !field(&sent, d.0).is_empty())
        .map(|d| d.0.to_owned())
        .collect();
    let one = field(&sent, "place").parse::<i64>().ok();
    let places = match one {
        Some(n) => vec![n],
        None => ask.read(|r| Ok(r.places()?))?.iter().map(|p| p.number).collect(),
    };
    acts::set_rounds(&ask.journal(), &ask.hand, &places, &days).map_err(|e| ask.failed(e))?;
    go(&one.map_or("/".to_owned(), |n| format!("/places/{n}")))
}

/// One look at one plant: dry and watered, or still moist.
pub(crate) async fn look(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let typed = field(&sent, "plant");
    let number: i64 = typed
        .parse()
        .map_err(|_| ask.failed(WebError::form("plant", typed, "is not the number of a plant")))?;
    let kind = match field(&sent, "found") {
        "dry" => "watered",
        "moist" | "wet" => "checked",
        other => {
            let problem = "is not one of dry, moist and wet";
            return Err(ask.failed(WebError::form("found", other, problem)));
        }
    };
    let detail = serde_json::Map::from_iter([("found".to_owned(), field(&sent, "found").into())]);
    let input = acts::EntryInput {
        kind: kind.to_owned(),
        detail,
        confirmed: true,
        ..acts::EntryInput::default()
    };
    acts::log(&ask.journal(), &ask.hand, &[acts::Target::Plant(number)], &input)
        .map_err(|e| ask.failed(e))?;
    let place = filled(&sent, "place").map_or(String::new(), |p| format!("#place-{p}"));
    go(&format!("/{place}"))
}

/// A line that is done: what is written stands in the line itself, the form only names it.
pub(crate) async fn done(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let lines = ask.due()?;
    let line = chosen(&ask, &sent, &lines)?;
    let which: usize = field(&sent, "which").parse().unwrap_or(0);
    let Some(way) = line.done.get(which) else {
        let problem = "is not one of the ways in which this line is done; go back to Today";
        return Err(ask.failed(WebError::form("done", field(&sent, "which"), problem)));
    };
    let input = acts::EntryInput {
        kind: way.kind.to_owned(),
        detail: way.detail.clone(),
        confirmed: true,
        ..acts::EntryInput::default()
    };
    let target = match line.about.kind {
        journal::SubjectKind::Plant => acts::Target::Plant(line.about.number),
        kind => acts::Target::Numbered(kind, line.about.number),
    };
    acts::log(&ask.journal(), &ask.hand, &[target], &input).map_err(|e| ask.failed(e))?;
    go("/")
}

/// Puts a line off by a number of days.
pub(crate) async fn put_off(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let lines = ask.due()?;
    let line = chosen(&ask, &sent, &lines)?;
    let typed = field(&sent, "days");
    let days: i64 = typed.parse().ok().filter(|d| (1..=366).contains(d)).ok_or_else(|| {
        ask.failed(WebError::form("days", typed, "is not a number of days from 1 to 366"))
    })?;
    let to = ask.hand.today.saturating_add(jiff::Span::new().days(days));
    due::put_off(&ask.journal(), &ask.hand, line.about, &line.key, to)
        .map_err(|e| ask.failed(e))?;
    go("/")
}

fn chosen<'a>(
    ask: &Ask,
    sent: &Sent,
    lines: &'a [due::Due],
) -> Result<&'a due::Due, crate::layout::Failed> {
    let found = lines.iter().find(|l| {
        l.about.kind.as_str() == field(sent, "kind")
            && l.about.number.to_string() == field(sent, "number")
            && l.key == field(sent, "key")
    });
    found.ok_or_else(|| {
        let problem = "is no longer among the lines; it may have been done already";
        ask.failed_next(
            WebError::form("line", field(sent, "key"), problem),
            ask.t().t("Back to Today"),
            "/",
        )
    })
}

/// The walk as a table.
pub(crate) async fn table(ask: Ask, Query(_): Query<Sent>) -> Answered {
    let t = ask.t();
    let water = ask.water(|w| w.today(&ask.hand))?;
    let body = html! {
        (title(&html! { a href="/" { (t.t("Today")) } }, &html! { (t.t("The walk as a table")) }, None))
        @for p in &water.places {
            section.sect {
                h2.under { (if p.name.is_empty() { t.t("no place") } else { &p.name }) }
                table class="t list stack" {
                    thead { tr { th.no { (t.t("No.")) } th { (t.t("Plant")) } th.r { (t.t("dry tonight")) } th.r { (t.t("tomorrow")) } th { (t.t("next: dry")) } th { (t.t("Why")) } } }
                    tbody {
                        @for plant in &p.plants {
                            tr data-row {
                                td class="no num" { a href=(format!("/plants/{}", plant.number)) { (plant.number) } }
                                td { (markup::name(&named(&plant.name, t))) }
                                td class="r c num" { (percent(plant.tonight)) "%" }
                                td class="r c num" { (percent(plant.tomorrow)) "%" }
                                td class="c" { (due_words(plant, &ask)) }
                                td { (reason(plant, &ask.hand)) }
                            }
                        }
                        @for (number, why) in &p.left_out {
                            tr data-row {
                                td class="no num" { a href=(format!("/plants/{number}")) { (number) } }
                                td { (t.t("left out")) } td {} td {} td {}
                                td { (walk::left_out_words(*why, t)) }
                            }
                        }
                    }
                }
            }
        }
    };
    ask.show(Nav::Today, t.t("The walk as a table"), &body)
}

fn due_words(p: &answers::water::PlantToday, ask: &Ask) -> String {
    let Some([from, _, to]) = p.due else { return String::new() };
    #[allow(clippy::cast_possible_truncation)]
    let day = |d: f64| {
        let date = dates::from_days(d.ceil() as i32).unwrap_or(ask.hand.today);
        dates::say(&dates::Edtf::from_day(date), ask.hand.lang, Some(ask.hand.today))
    };
    format!("{} – {}", day(from), day(to))
}

pub(crate) fn named(name: &str, t: Texts) -> answers::NameText {
    name_text(if name.is_empty() { t.t("not named") } else { name })
}

/// How often what was said was right here.
pub(crate) async fn predictions(ask: Ask) -> Answered {
    let t = ask.t();
    let p = ask.water(|w| answers::water::predictions(w))?;
    let words = [0.02, 0.1, 0.3, 0.5, 0.7, 0.87, 0.97].map(|c| answers::water::dry_words(c, t));
    let looks: usize = p.told.iter().map(|b| b.looks).sum();
    let body = html! {
        (title(&html! { a href="/" { (t.t("Today")) } }, &html! { (t.t("Past predictions")) },
            Some(&t.f("What would have been said before each look of the last thirteen months, and how the pot was found. {n} looks.", &[("n", &thousands(i64::try_from(looks).unwrap_or(0)))]))))
        @if looks == 0 {
            p { (t.t("Not enough yet: record each watering, and how dry the pot was when you looked.")) }
        } @else {
            section.sect {
                h2.under { (t.t("Chances")) }
                table class="t list stack" {
                    thead { tr { th { (t.t("It would have said")) } th.r { (t.t("on average")) } th.r { (t.t("looks")) } th.r { (t.t("found dry")) } th.r { (t.t("share")) } th.r { (t.t("8 in 10")) } } }
                    tbody {
                        @for (b, words) in p.told.iter().zip(words) {
                            tr data-row {
                                td { (words) }
                                @if let Some((low, high)) = b.interval {
                                    td class="r c num" data-of=(t.t("on average")) { (percent(b.said)) "%" }
                                    td class="r num" data-of=(t.t("looks")) { (b.looks) }
                                    td class="r num" data-of=(t.t("found dry")) { (b.dry) }
                                    td class="r num" data-of=(t.t("share")) { (format!("{:.0}%", 100.0 * ratio(b.dry, b.looks))) }
                                    td class="r c num" data-of=(t.t("8 in 10")) { (percent(low)) "–" (percent(high)) "%" }
                                } @else {
                                    td.r { "–" } td class="r num" { "0" } td.r {} td.r {} td.r {}
                                }
                            }
                        }
                    }
                }
                p class="note measure" { (t.t("Of each plant only what was known before that drying is used; what all pots share is that of the last night. Pots are looked at when somebody thinks of them, so these are the looks that were made, not all that could have been.")) }
            }
            section.sect {
                h2.under { (t.t("Intervals")) }
                p { (t.f("An interval said to hold eight in ten held {share} % of {n} dryings whose end is known.",
                    &[("share", &format!("{:.0}", 100.0 * p.held)), ("n", &thousands(i64::try_from(p.intervals).unwrap_or(0)))])) }
                p class="note measure" { (t.t("An end known only between two looks counts with the part of its chance that lies inside.")) }
            }
        }
    };
    ask.show(Nav::Today, t.t("Past predictions"), &body)
}

#[allow(clippy::cast_precision_loss)]
fn ratio(a: usize, b: usize) -> f64 {
    a as f64 / b.max(1) as f64
}

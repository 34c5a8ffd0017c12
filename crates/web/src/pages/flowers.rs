//! Flowers: how long they last, when they come again, and who is likely in flower when.

use answers::{
    AskError,
    flowers::{
        By, Curve, Likely, Months, PlantFlowers, Rests, Side, Sides, Together, WeeksAhead,
        plant_flowers,
    },
    said_days,
};
use axum::extract::{Path, Query};
use drawing::{
    LastingPoint, Life, MonthShare, MonthWords, Size, SurvivalWords, WeekAhead, facing_ridges,
    lasting_chart, month_chart, weeks_chart,
};
use jiff::{ToSpan as _, civil::Date};
use maud::{Markup, PreEscaped, html};
use texts::Texts;

use super::ask::{Answered, Ask};
use crate::{
    WebError,
    forms::{Sent, field},
    layout::{Nav, title},
    markup,
};

/// Months that can be chosen, from this one on.
const MONTHS: i32 = 12;

/// Everything that is known of the flowers of a plant.
pub(crate) async fn of_plant(ask: Ask, Path(number): Path<i64>) -> Answered {
    let t = ask.t();
    let row = ask.read(|r| {
        r.plant(number)?.ok_or_else(|| {
            WebError::from(AskError::NotThere {
                kind: "plant",
                which: number.to_string(),
                next: "the list of plants shows which there are",
            })
        })
    })?;
    let found = ask.flowers(|kept, r| Ok(plant_flowers(kept, r, number, &ask.hand)?))?;
    let first = found.answers.iter().filter_map(|a| a.evidence.first).min();
    let first = first.unwrap_or(ask.hand.today_number() - 365);
    let start = said_days((first, first), &ask.hand);
    let name = answers::name_text(if row.name.is_empty() { t.t("not named") } else { &row.name });
    let body = html! {
        (title(&html! { a href=(format!("/plants/{number}")) { (t.f("Plant {n}", &[("n", &number)])) } ", " (markup::name(&name)) },
            &html! { (t.t("Flowers")) }, None))
        section.sect {
            (markup::known_line(&found.answers, t))
            @for a in &found.answers { (markup::answer_of(a, first, &start, &ask.hand)) }
        }
        (lasting(&found, t))
        (months(found.months.as_ref(), t, &ask))
        (ahead(found.ahead.as_ref(), &ask))
        (sides(found.clones.as_ref(), t))
        (sides(found.places.as_ref(), t))
        section.sect { p { a.edit href="/flowers" { (t.t("What is likely in flower in a month")) } } }
    };
    ask.show(Nav::Plants, t.t("Flowers"), &body)
}

fn days(x: f64) -> String {
    if x < 10.0 { format!("{x:.1}") } else { format!("{x:.0}") }
}

fn lasting(found: &PlantFlowers, t: Texts) -> Markup {
    let Some(curve) = &found.curve else { return html! {} };
    let umbel = curve.kind == answers::flowers::FlowerKind::Umbel;
    let half = curve.points.iter().find(|p| (p.open - 0.5).abs() < 1e-9);
    let median =
        half.map(|p| t.f("half last {days} days or longer", &[("days", &days(p.days[1]))]));
    let aria = half.map_or_else(String::new, |p| {
        t.f(
            "Half of them last {days} days or longer; with 80 % probability that number lies between {a} and {b}.",
            &[("days", &days(p.days[1])), ("a", &days(p.days[0])), ("b", &days(p.days[2]))],
        )
    });
    let words = SurvivalWords {
        axis: t.t("days since opening"),
        all: t.t("all"),
        half: t.t("half"),
        none: t.t("none"),
        curve: if umbel { t.t("umbels still in flower") } else { t.t("flowers still open") },
        band: t.t("80 % interval"),
        median: median.as_deref(),
        aria: &aria,
    };
    let points: Vec<LastingPoint> =
        curve.points.iter().map(|p| LastingPoint { share: p.open, times: p.days }).collect();
    let lives: Vec<Life> = (curve.lived.iter())
        .map(|l| Life { at_least: l.at_least, at_most: l.at_most, group: l.umbel })
        .collect();
    html! {
        section.sect {
            h2.under { @if umbel { (t.t("How long its umbels last")) } @else { (t.t("How long its flowers last")) } }
            figure {
                (PreEscaped(lasting_chart(&points, &lives, &words, Size::Wide)))
                (PreEscaped(lasting_chart(&points, &lives, &words, Size::Narrow)))
            }
            @if !lives.is_empty() { p class="note measure" {
                (t.t("Each line below the curve is one that was followed: solid as long as it was certainly open, dotted up to where it had certainly ended, with a hook where nobody saw the end. Lines of one umbel or flush stand close together and share its luck.")) } }
            @if curve.information < 0.2 { p.note { (t.t("Mostly a default so far: flowers followed from opening to end will replace it.")) } }
            (numbers(curve, t))
        }
    }
}

fn numbers(curve: &Curve, t: Texts) -> Markup {
    html! {
        details.numbers {
            summary { (t.t("In numbers")) }
            table class="t num" {
                thead { tr { th { (t.t("Share that lasts longer")) } th.r { (t.t("Days")) } th.r { (t.t("from")) } th.r { (t.t("to")) } } }
                tbody { @for p in &curve.points { tr {
                    td { (format!("{:.0} %", 100.0 * p.open)) }
                    td class="r c" { (days(p.days[1])) } td.r { (days(p.days[0])) } td.r { (days(p.days[2])) }
                } } }
            }
        }
    }
}

/// The name of a month.
fn month_name(month: i8, t: Texts) -> String {
    let date = dates::Edtf::from_day(Date::constant(2023, month, 1));
    // "1 January 2023" less the day and the year.
    let said = dates::say(&date, t.lang(), None);
    said.split(' ').nth(1).unwrap_or_default().to_owned()
}

fn months(found: Option<&Months>, t: Texts, ask: &Ask) -> Markup {
    let Some(found) = found else { return html! {} };
    let names: Vec<String> = (1..=12).map(|m| month_name(m, t)).collect();
    let letters: Vec<String> = names.iter().map(|n| n.chars().take(1).collect()).collect();
    let shares = found.months.map(|m| MonthShare {
        share: (m.looked > 0).then_some((m.share[1], m.share[0], m.share[2])),
        years: u32::try_from(m.looked).unwrap_or(u32::MAX),
    });
    let in_flower: Vec<String> = (names.iter().zip(&found.months))
        .filter(|(_, m)| m.flowered > 0)
        .map(|(n, m)| {
            t.f("{month} {k} of {n}", &[("month", n), ("k", &m.flowered), ("n", &m.looked)])
        })
        .collect();
    let aria = t.f(
        "In flower, years with flowers of years looked at: {months}.",
        &[("months", &in_flower.join(", "))],
    );
    let words = MonthWords {
        months: std::array::from_fn(|m| letters.get(m).map_or("", String::as_str)),
        always: t.t("every year"),
        never: t.t("never"),
        aria: &aria,
    };
    let _ = ask;
    html! {
        section.sect {
            h2.under { (t.t("In flower by month")) }
            figure {
                (PreEscaped(month_chart(&shares, &words, Size::Wide)))
                (PreEscaped(month_chart(&shares, &words, Size::Narrow)))
            }
            p class="note measure" { (t.t("Share of the years in which it was in flower, with 80 % intervals; below each month the number of years in which anybody looked. A month without a word is not a month without flowers.")) }
        }
    }
}

fn week_days(from: i64, ask: &Ask) -> String {
    // The year adds nothing within twelve weeks.
    said_days((from, from), &ask.hand)
        .trim_end_matches(|c: char| c.is_ascii_digit())
        .trim_end()
        .to_owned()
}

fn rests_words(rests: Rests) -> &'static str {
    match rests {
        Rests::Gaps => "its own times from one flowering to the next",
        Rests::GapsOfGenus => "times from one flowering to the next in its genus",
        Rests::Months => "the months in which it was seen in flower",
    }
}

fn ahead(found: Option<&WeeksAhead>, ask: &Ask) -> Markup {
    let t = ask.t();
    let Some(found) = found else { return html! {} };
    let weeks: Vec<WeekAhead> = (found.weeks.iter())
        .map(|w| WeekAhead { from: week_days(w.from, ask), chance: w.chance.clamp(0.01, 0.99) })
        .collect();
    let each: Vec<String> = weeks
        .iter()
        .map(|w| t.f("week of {day} {p} %", &[("day", &w.from), ("p", &percent(w.chance))]))
        .collect();
    let aria = t.f("Chance to be in flower: {weeks}.", &[("weeks", &each.join(", "))]);
    let ends = [t.t("certain"), t.t("never")];
    html! {
        section.sect {
            h2.under { (t.t("The next twelve weeks")) }
            figure {
                (PreEscaped(weeks_chart(&weeks, ends, &aria, Size::Wide)))
                (PreEscaped(weeks_chart(&weeks, ends, &aria, Size::Narrow)))
            }
            p class="note measure" { (t.t("Chance in percent to be in flower at some time of the week that begins on that day.")) " "
                (t.f("It rests on {what}.", &[("what", &t.t(rests_words(found.rests)))])) }
        }
    }
}

fn percent(x: f64) -> String {
    format!("{:.0}", (100.0 * x).clamp(1.0, 99.0))
}

fn sides(found: Option<&Sides>, t: Texts) -> Markup {
    let Some(found) = found else { return html! {} };
    let place = found.by == By::Place;
    let link = |s: &Side| {
        if place {
            html! { a href=(format!("/places/{}", s.number)) { (s.name) } }
        } else {
            let name =
                answers::name_text(if s.name.is_empty() { t.t("not named") } else { &s.name });
            html! { (s.number) " " (markup::linked(&name, s.number)) }
        }
    };
    let ratio = |s: &Side| match s.ratio {
        Some([low, middle, high]) => t.f(
            "{x} times as long ({a}–{b})",
            &[
                ("x", &format!("{middle:.2}")),
                ("a", &format!("{low:.2}")),
                ("b", &format!("{high:.2}")),
            ],
        ),
        None => t.t("the one they are compared with").to_owned(),
    };
    html! {
        section.sect {
            h2.under { @if place { (t.t("Places side by side")) } @else { (t.t("Clones side by side")) } }
            table class="t list stack" {
                thead { tr { th { @if place { (t.t("Place")) } @else { (t.t("Clone")) } } th.r { (t.t("Ended")) } th.r { (t.t("Umbels")) } th { (t.t("Lasts")) } th { (t.t("What that shows")) } } }
                tbody { @for s in &found.sides { tr {
                    td { (link(s)) }
                    td class="r num" data-of=(t.t("Ended")) { (s.ended) }
                    td class="r num" data-of=(t.t("Umbels")) { (s.umbels) }
                    td class="num c" { (ratio(s)) }
                    td { @if !s.words.is_empty() { (t.t(s.words)) } }
                } } }
            }
            p class="note measure" {
                (t.t("The air of their days is allowed for; a difference is named from five ended flowers of three umbels on each side, and only where the side is 95 % sure."))
                " " (t.f("If umbels were dealt out by chance, they would lie so far apart in {p} of 100 deals.", &[("p", &percent(found.by_chance))]))
            }
        }
    }
}

/// The month that is asked for, or this one.
fn month_of(sent: &Sent, today: Date) -> Result<(i16, i8), WebError> {
    let typed = field(sent, "month");
    if typed.is_empty() {
        return Ok((today.year(), today.month()));
    }
    let wrong = || WebError::form("month", typed, "is not a month; write it as 2027-03");
    let (year, month) = typed.split_once('-').ok_or_else(wrong)?;
    let (year, month) = (year.parse().map_err(|_| wrong())?, month.parse().map_err(|_| wrong())?);
    Date::new(year, month, 1).map_err(|_| wrong())?;
    Ok((year, month))
}

/// Plants that are likely in flower in a month.
pub(crate) async fn likely(ask: Ask, Query(sent): Query<Sent>) -> Answered {
    let t = ask.t();
    let (year, month) = month_of(&sent, ask.hand.today).map_err(|e| ask.failed(e))?;
    let found = ask.flowers(|kept, r| Ok(kept.likely_in_month(r, &ask.hand, (year, month))?))?;
    let said = |y: i16, m: i8| {
        dates::Edtf::parse(&format!("{y:04}-{m:02}"))
            .map(|d| dates::say(&d, ask.hand.lang, None))
            .unwrap_or_default()
    };
    let first = ask.hand.today.first_of_month();
    let choices: Vec<Date> =
        (0..MONTHS).filter_map(|k| first.checked_add(k.months()).ok()).collect();
    let body = html! {
        (title(&html! { (t.t("Likely in flower")) }, &html! { (said(year, month)) },
            Some(t.t("Drawn from what is open now, from the times after which plants flower again, and from the months in which they did."))))
        nav.months aria-label=(t.t("Months")) {
            @for d in &choices {
                @let here = (d.year(), d.month()) == (year, month);
                a href=(format!("/flowers?month={:04}-{:02}", d.year(), d.month())) aria-current=[here.then_some("page")] { (said(d.year(), d.month())) } " "
            }
        }
        @if found.is_empty() { p.open { (t.t("No plant was ever seen in flower here. Write down an opening, and it will be.")) } }
        @else { (list(&found, (year, month), t)) }
    };
    ask.show(Nav::Crosses, t.t("Likely in flower"), &body)
}

fn list(found: &[Likely], (year, month): (i16, i8), t: Texts) -> Markup {
    let weeks = |l: &Likely| {
        let words = t.f("Week by week of {month}", &[("month", &format!("{year}-{month:02}"))]);
        PreEscaped(facing_ridges(&l.weeks, &[], &words))
    };
    html! {
        table class="t list stack likely" {
            thead { tr { th.no { (t.t("No.")) } th { (t.t("Plant")) } th.r { (t.t("In flower")) } th.r { (t.t("Days")) } th { (t.t("Rests on")) } th { (t.t("Week by week")) } } }
            tbody { @for l in found { tr data-row {
                td class="no num" { (l.plant) }
                td { (markup::linked(&answers::name_text(if l.name.is_empty() { t.t("not named") } else { &l.name }), l.plant)) }
                td class="r num c" data-of=(t.t("In flower")) { (percent(l.chance)) " %" }
                td class="r num" data-of=(t.t("Days")) { (days(l.days)) }
                td.q { (t.t(rests_words(l.rests))) }
                td.weeks { (weeks(l)) }
            } } }
        }
    }
}

/// Whether two plants are in flower together in the coming weeks; nothing where that is not known.
pub(super) fn together(found: Option<&Together>, t: Texts) -> Markup {
    html! {
        section.sect {
            h2.under { (t.t("Both in flower")) }
            @match found {
                None => { p.open { (t.t("Not enough yet: of at least one of them no flower was ever written down.")) } }
                Some(found) => {
                    @let aria = t.f("Twelve weeks ahead: the seed parent above, the pollen parent below; they meet with {p} % probability", &[("p", &percent(found.meeting.chance))]);
                    figure.meeting { (PreEscaped(facing_ridges(&found.mother.weeks, &found.father.weeks, &aria))) }
                    p class="note measure" { (t.t("Twelve weeks from today, the seed parent above the line, the pollen parent below; strong where both are more likely in flower than not.")) }
                    p { (t.f("They are in flower together for a day or more with a probability of {p} %: {days} days on average, {usable} of them with fresh pollen.",
                        &[("p", &percent(found.meeting.chance)), ("days", &days(found.meeting.days)), ("usable", &days(found.meeting.usable))])) }
                    @if found.store { p { (t.t("They will hardly meet: gather pollen of the one that flowers first and keep it dry and cool.")) } }
                }
            }
        }
    }
}

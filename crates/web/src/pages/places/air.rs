//! The air of a place: chart, answers, what was said about it, its loggers.

use answers::{
    Bit, BitKind,
    acts::{self, Corrected, LoggerPair, SaltReading},
    air::{DayAir, DayState, PURPOSES, PlaceAir, change_settings, place_air, purpose_words},
};
use axum::{Form, extract::Path};
use drawing::{AirChart, AirMark, AirPoint, AirWords, Size, air_chart};
use jiff::{Timestamp, civil::Date, tz::TimeZone};
use maud::{Markup, PreEscaped, html};
use texts::{Lang, Texts};

use super::super::ask::{Answered, Ask, go};
use crate::{
    WebError,
    forms::{Sent, choice, field, line},
    layout::{Nav, thousands, title},
};

/// A sentence with what was computed set apart.
fn said(bits: &[Bit]) -> Markup {
    html! {
        @for bit in bits {
            @match bit.kind {
                BitKind::Value => span.value { (bit.text) },
                BitKind::Interval => span.value { (bit.text) },
                BitKind::Weak | BitKind::Absent => span.absent { (bit.text) },
                BitKind::Plain => (bit.text),
            }
        }
    }
}

/// The section of a place's page about its air.
pub(super) fn section(air: &PlaceAir, t: Texts) -> Markup {
    let number = air.place.number;
    html! {
        section class="sect airsect" id="air" {
            h2 { (t.t("Air, the last four weeks")) }
            @if air.valued > 0 || air.days.iter().any(|d| d.state == DayState::Flat) {
                p.note { (t.t("Vapour pressure deficit at the leaves, kPa, mean of each day and each night")) }
                figure {
                    (PreEscaped(chart(air, Size::Wide, t)))
                    (PreEscaped(chart(air, Size::Narrow, t)))
                    (table(air, t))
                }
            }
            div.cols {
                div.prose { @for s in &air.sentences { p { (said(s)) } } }
                div {
                    @for words in air.basis.iter().chain(&air.gaps) { p.note { (words) } }
                    @for (lead, check) in &air.cautions { p.caution { strong { (lead) } " " (check) } }
                }
            }
            div class="n-row gap" {
                a href=(format!("/places/{number}/readings")) { (t.t("Take the file of a logger in")) }
                a href=(format!("/places/{number}/air")) { (t.t("Room, window, limits and loggers")) }
            }
        }
    }
}

fn decimal(value: f64, digits: usize, t: Texts) -> String {
    let text = format!("{value:.digits$}");
    if t.lang() == Lang::De { text.replace('.', ",") } else { text }
}

fn date_of(day: i64) -> Option<Date> {
    i32::try_from(day).ok().and_then(dates::from_days)
}

fn day_words(day: i64, t: Texts) -> String {
    let told = date_of(day).map(|d| dates::say(&dates::Edtf::from_day(d), t.lang(), Some(d)));
    told.unwrap_or_default()
}

/// Stretches of days on which the logger stood still, or of a week or more without a record.
fn stretches(days: &[DayAir], t: Texts) -> Vec<(usize, usize, [String; 2])> {
    let mut out = Vec::new();
    let mut at = 0;
    for run in days.chunk_by(|a, b| a.state == b.state) {
        let (from, to) = (at, at + run.len() - 1);
        at += run.len();
        let words = match run[0].state {
            DayState::Flat => t.t("logger flat,"),
            DayState::None if run.len() >= 3 && to + 1 < days.len() && from > 0 => {
                t.t("no record,")
            }
            _ => continue,
        };
        let (a, b) = (day_words(days[from].day, t), day_words(days[to].day, t));
        let span = if from == to { a } else { format!("{a} – {b}") };
        out.push((from, to, [words.to_owned(), span]));
    }
    out
}

fn chart(air: &PlaceAir, size: Size, t: Texts) -> String {
    let points: Vec<AirPoint> =
        air.days.iter().map(|d| AirPoint { day: d.day_deficit, night: d.night_deficit }).collect();
    let stretches = stretches(&air.days, t);
    let marks: Vec<AirMark<'_>> = stretches
        .iter()
        .map(|(from, to, words)| AirMark { from: *from, to: *to, words: [&words[0], &words[1]] })
        .collect();
    let last = air.days.len().saturating_sub(1);
    let named: Vec<(usize, String)> = [0, last / 2, last]
        .into_iter()
        .filter_map(|i| Some((i, day_words(air.days.get(i)?.day, t))))
        .collect();
    let ticks: Vec<(usize, &str)> = named.iter().map(|(i, w)| (*i, w.as_str())).collect();
    let end = |word: &str, pick: fn(&DayAir) -> Option<f64>| {
        let value = air.days.iter().rev().find_map(pick);
        value.map_or_else(String::new, |v| format!("{word} {}", decimal(v, 2, t)))
    };
    let day = end(t.t("day"), |d| d.day_deficit);
    let night = end(t.t("night"), |d| d.night_deficit);
    let (least, most) = (decimal(air.wanted.least, 1, t), decimal(air.wanted.most, 1, t));
    let band = t.f("{a} to {b}, wanted by day", &[("a", &least), ("b", &most)]);
    let aria = t.f(
        "Deficit over {n} days; the last values are: {day}; {night}. Wanted by day: {a} to {b} kPa.",
        &[("n", &air.valued), ("day", &day), ("night", &night), ("a", &least), ("b", &most)],
    );
    let words = AirWords {
        band: &band,
        day: &day,
        night: &night,
        aria: &aria,
        decimal: if t.lang() == Lang::De { ',' } else { '.' },
    };
    let what = AirChart {
        points: &points,
        band: (air.wanted.least, air.wanted.most),
        marks: &marks,
        ticks: &ticks,
    };
    air_chart(&what, &words, size)
}

fn table(air: &PlaceAir, t: Texts) -> Markup {
    let cell = |value: Option<f64>, digits: usize| {
        value.map_or_else(|| "–".to_owned(), |v| decimal(v, digits, t))
    };
    html! {
        details.numbers {
            summary { (t.t("The same as a table")) }
            table.t {
                thead { tr {
                    th { (t.t("Day")) } th.r { (t.t("by day, kPa")) } th.r { (t.t("by night, kPa")) }
                    th.r { "°C" } th.r { "%" } th.r { (t.t("hours")) }
                } }
                tbody { @for d in &air.days { tr {
                    td { (day_words(d.day, t)) }
                    td class="r num" { (cell(d.day_deficit, 2)) }
                    td class="r num" { (cell(d.night_deficit, 2)) }
                    td class="r num" { (cell(d.temperature, 1)) }
                    td class="r num" { (cell(d.humidity, 0)) }
                    td class="r num" {
                        (decimal(d.hours, 0, t))
                        @if d.state == DayState::Flat { " " (t.t("flat")) }
                    }
                } } }
            }
        }
    }
}

fn over(air: &PlaceAir) -> Markup {
    html! { a href=(format!("/places/{}", air.place.number)) { (air.place.name) } }
}

fn stamp(time: i64) -> String {
    Timestamp::from_second(time).map_or_else(
        |_| String::new(),
        |s| s.to_zoned_datetime(TimeZone::system()).strftime("%Y-%m-%d %H:%M").to_string(),
    )
}

/// What was said about the air, and the loggers.
pub(crate) async fn air_form(ask: Ask, Path(number): Path<i64>) -> Answered {
    let t = ask.t();
    let air = ask.read(|r| Ok(place_air(r, number, &ask.hand)?))?;
    let refused = ask.read(|r| Ok(r.refused(air.place.id)?))?;
    let s = &air.settings;
    let shown = |v: Option<f64>| v.map_or_else(String::new, |v| v.to_string());
    let purposes: Vec<(String, String)> =
        PURPOSES.iter().map(|k| ((*k).to_owned(), purpose_words(k, t).to_owned())).collect();
    let glasses = [
        ("single", t.t("single pane")),
        ("double", t.t("double pane")),
        ("coated", t.t("double pane, coated")),
        ("triple", t.t("triple pane, coated")),
    ]
    .map(|(k, words)| (k.to_owned(), words.to_owned()));
    let body = html! {
        (title(&over(&air), &html! { (t.t("Its air")) }, Some(t.t("What is left empty is taken as is common, and the answer says so."))))
        form.form method="post" {
            (choice(t.t("It should suit"), "wanted", &purposes, s.wanted.as_deref().unwrap_or("")))
            (line(t.t("Day begins"), "day_from", &shown(s.day_from), t.t("when the lamps go on, or the sun comes: an hour from 0 to 24")))
            (line(t.t("Day ends"), "day_to", &shown(s.day_to), t.t("an hour from 0 to 24")))
            (line(t.t("Volume of the room"), "volume", &shown(s.volume), "m³"))
            (line(t.t("Air changes"), "air_changes", &shown(s.air_changes), t.t("how often an hour; half with windows shut")))
            (choice(t.t("Glass of the window"), "glass", &glasses, s.glass.as_deref().unwrap_or("")))
            (line(t.t("Nights outside"), "outside", &shown(s.outside), t.t("°C, or name a logger that hangs outside below")))
            (line(t.t("Place of a logger outside"), "outside_place", &s.outside_place.map_or_else(String::new, |n| n.to_string()), t.t("the number of its place")))
            (line(t.t("Too cold below"), "cold", &shown(s.cold), t.f("°C; {limit} if left empty, common practice", &[("limit", &12)]).as_str()))
            (line(t.t("Too hot above"), "heat", &shown(s.heat), t.f("°C; {limit} if left empty, common practice", &[("limit", &33)]).as_str()))
            button.btn.main { (t.t("Keep")) }
        }
        section.sect {
            h2.under { (t.t("Loggers")) }
            @if air.loggers.is_empty() { p { (t.t("No logger was read here yet.")) } }
            @else { (loggers(&air, t)) }
            div.n-row { a href=(format!("/places/{number}/readings")) { (t.t("Take the file of a logger in")) } }
        }
        @if !air.loggers.is_empty() { (offsets(&air, t)) }
        @if !refused.is_empty() {
            section.sect id="refused" {
                h2.under { (t.t("Lines that were not taken")) }
                @for file in &refused { (refused_lines(file, t)) }
            }
        }
    };
    ask.show(Nav::Places, t.t("Its air"), &body)
}

fn loggers(air: &PlaceAir, t: Texts) -> Markup {
    html! {
        table class="t list stack" {
            thead { tr { th { (t.t("Logger")) } th { (t.t("First")) } th { (t.t("Last")) } th.r { (t.t("Readings")) } th.r { (t.t("added to °C")) } th.r { (t.t("added to %")) } } }
            tbody { @for l in &air.loggers { tr {
                td { (l.name) } td.num { (stamp(l.first)) } td.num { (stamp(l.last)) }
                td class="r num" { (thousands(l.readings)) }
                td class="r num" { (decimal(l.correction.temperature, 2, t)) }
                td class="r num" { (decimal(l.correction.humidity, 1, t)) }
            } } }
        }
    }
}

/// The two ways to an offset.
fn offsets(air: &PlaceAir, t: Texts) -> Markup {
    let here = air.place.number;
    let names: Vec<(String, String)> =
        air.loggers.iter().map(|l| (l.name.clone(), l.name.clone())).collect();
    html! {
        section.sect {
            h2.under { (t.t("How far a logger is off")) }
            form.form method="post" action=(format!("/places/{here}/air/compare")) {
                p { (t.t("Lay two loggers side by side for a day or more, take both files in, and name the days.")) }
                (choice(t.t("Logger"), "logger", &names, ""))
                (line(t.t("The one that is trusted"), "against", "", t.t("its name")))
                (line(t.t("Kept at place"), "against_place", "", t.t("the number of its place; empty for this one")))
                (line(t.t("First day side by side"), "from", "", t.t("such as 2026-03-01")))
                (line(t.t("Last day side by side"), "to", "", t.t("such as 2026-03-02")))
                button.btn { (t.t("Compare, and keep the offset")) }
            }
            form.form method="post" action=(format!("/places/{here}/air/salt")) {
                p { (t.t("Or close it into a box for eight hours beside cooking salt that is damp but not dissolved: the air in there has 75.3 % at 25 °C.")) }
                (choice(t.t("Logger"), "logger", &names, ""))
                (line(t.t("It showed"), "humidity", "", "%"))
                (line(t.t("Temperature in the box"), "temperature", "25", "°C"))
                button.btn { (t.t("Keep the offset")) }
            }
        }
    }
}

fn refused_lines(file: &journal::RefusedRow, t: Texts) -> Markup {
    const SHOWN: usize = 500;
    html! {
        details.numbers {
            summary { (file.origin) ": " (t.f("one line|{n} lines", &[("n", &file.lines.len())])) }
            table.t {
                thead { tr { th.r { (t.t("Row")) } th { (t.t("Why")) } th { (t.t("Line")) } } }
                tbody { @for l in file.lines.iter().take(SHOWN) { tr {
                    td class="r num" { (l.row) } td { (acts::why_words(&l.why, t)) } td { code { (l.text) } }
                } } }
            }
            @if file.lines.len() > SHOWN { p.note { (t.f("The first {n}; `umbel readings refused` lists them all.", &[("n", &SHOWN)])) } }
        }
    }
}

/// Keeps what was said about the air.
pub(crate) async fn air_keep(
    ask: Ask,
    Path(number): Path<i64>,
    Form(sent): Form<Sent>,
) -> Answered {
    const KEYS: [&str; 10] = [
        "wanted",
        "day_from",
        "day_to",
        "volume",
        "air_changes",
        "glass",
        "outside",
        "outside_place",
        "cold",
        "heat",
    ];
    let typed: Vec<(&str, &str)> = KEYS.iter().map(|k| (*k, field(&sent, k))).collect();
    change_settings(&ask.journal(), &ask.hand, number, &typed).map_err(|e| ask.failed(e))?;
    go(&format!("/places/{number}#air"))
}

fn number_of(ask: &Ask, sent: &Sent, key: &'static str) -> Result<f64, crate::layout::Failed> {
    let typed = field(sent, key).replace(',', ".");
    let problem = "is not a number; write one such as 75.3";
    typed.parse().map_err(|_| ask.failed(WebError::form(key, &typed, problem)))
}

/// Compares two loggers and keeps the offset.
pub(crate) async fn compare(ask: Ask, Path(number): Path<i64>, Form(sent): Form<Sent>) -> Answered {
    let day = |key: &'static str| {
        let typed = field(&sent, key);
        let problem = "is not a day; write one such as 2026-03-01";
        let start =
            typed.parse::<Date>().ok().and_then(|d| d.to_zoned_datetime(TimeZone::system()).ok());
        start
            .map(|z| z.timestamp().as_second())
            .ok_or_else(|| ask.failed(WebError::form(key, typed, problem)))
    };
    let against_place = field(&sent, "against_place").parse().unwrap_or(number);
    let pair = LoggerPair {
        logger: (number, field(&sent, "logger").to_owned()),
        against: (against_place, field(&sent, "against").to_owned()),
        from: day("from")?,
        to: day("to")? + 86_400,
    };
    let found = acts::compare_loggers(&ask.journal(), &pair).map_err(|e| ask.failed(e))?;
    keep(&ask, number, &sent, &found)
}

/// Keeps the offset of a salt test.
pub(crate) async fn salt(ask: Ask, Path(number): Path<i64>, Form(sent): Form<Sent>) -> Answered {
    let reading = SaltReading {
        humidity: number_of(&ask, &sent, "humidity")?,
        temperature: number_of(&ask, &sent, "temperature")?,
    };
    let found = acts::salt_test(reading).map_err(|e| ask.failed(e))?;
    keep(&ask, number, &sent, &found)
}

fn keep(ask: &Ask, number: i64, sent: &Sent, found: &Corrected) -> Answered {
    acts::correct(&ask.journal(), &ask.hand, field(sent, "logger"), found)
        .map_err(|e| ask.failed(e))?;
    go(&format!("/places/{number}/air"))
}

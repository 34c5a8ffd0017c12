//! The page of one plant, set like a page of a monograph.

use answers::{JournalLine, NameClaim, PlantPage, kinship_words, whole_journal};
use axum::{
    extract::{Path, Query},
    response::IntoResponse as _,
};
use maud::{Markup, html};
use texts::Texts;

use super::ask::{Answered, Ask};
use crate::{
    forms::{Sent, field, line},
    layout::{Nav, title},
    markup,
};

/// How many lines of the journal stand beside the answers.
const BESIDE: usize = 40;

/// The page.
pub(crate) async fn plant(ask: Ask, Path(number): Path<i64>) -> Answered {
    let t = ask.t();
    let page = ask.plant_page(number)?;
    let pests = ask.read(|r| Ok(answers::pests::of_plant(r, number, &ask.hand)?))?;
    let (first_day, start) = beginning(&page, &ask);
    let body = html! {
        div.plant {
            (heading(&page, t))
            div.body {
                (facts(&page, t))
                (parents(&page, number, t))
                (answers_section(&page, first_day, &start, &ask))
                (super::pests::plant_section(&pests, number, &ask))
                (said(&page, number, t))
                (not_recorded(&page, number, t))
                (photos(&page, number, t))
            }
            section.journal {
                h2 { (t.t("Journal")) a href=(format!("/plants/{number}/journal")) { (t.f("one entry|{n} entries", &[("n", &page.entries)])) } }
                div.add {
                    a href=(format!("/plants/{number}/log")) data-entry { (t.t("Add an entry")) }
                    a href=(format!("/labels?n={number}&state=any")) { (t.t("Print its label")) }
                    a href=(format!("/plants/{number}/history")) { (t.t("History")) }
                }
                (markup::journal_list(beside(&page.journal), t, Some(number)))
                @if page.journal.len() > BESIDE {
                    p.fold { a href=(format!("/plants/{number}/journal")) { (t.t("The whole journal")) } }
                }
            }
        }
        (says(number, t))
    };
    let mut frame = ask.page(
        Nav::Plants,
        &format!("{}, {}", page.name.plain, t.f("plant {n}", &[("n", &number)])),
    );
    frame.says = true;
    Ok(frame.render(&body).into_response())
}

fn beside(lines: &[JournalLine]) -> &[JournalLine] {
    &lines[..lines.len().min(BESIDE)]
}

/// The first day of its life here, for evidence lines, and that day in words.
fn beginning(page: &PlantPage, ask: &Ask) -> (i64, String) {
    let came = page.plant.came.as_ref();
    let day = came.and_then(|d| d.earliest().or(d.latest())).map(|d| i64::from(dates::to_days(d)));
    let evidence = page.answers.iter().filter_map(|a| a.evidence.first).min();
    match (day, evidence) {
        (Some(d), e) if e.is_none_or(|e| d <= e) => {
            let words = came.map(|d| dates::say(d, ask.hand.lang, None)).unwrap_or_default();
            (d, words)
        }
        (d, e) => {
            let first = [d, e].into_iter().flatten().min().unwrap_or(ask.hand.today_number() - 365);
            let words = i32::try_from(first)
                .ok()
                .and_then(dates::from_days)
                .map(|d| dates::Edtf::parse(&format!("{:04}-{:02}", d.year(), d.month())))
                .and_then(Result::ok)
                .map(|d| dates::say(&d, ask.hand.lang, None))
                .unwrap_or_default();
            (first, words)
        }
    }
}

fn heading(page: &PlantPage, t: Texts) -> Markup {
    let pieces = page.clone.pieces;
    let mut over = t.f("Plant {n}", &[("n", &page.plant.number)]);
    if pieces > 1 {
        over.push_str(", ");
        over.push_str(&t.f(
            "one of {n} known pieces of clone {clone}",
            &[("n", &pieces), ("clone", &page.clone.number)],
        ));
    }
    if let Some(s) = &page.seedling {
        over.push_str(", ");
        over.push_str(&t.f("seedling {s}", &[("s", s)]));
    }
    let mut lede: Vec<String> = Vec::new();
    match page.plant.state.as_str() {
        "dead" => lede.push(t.t("No longer alive.").to_owned()),
        "gone" => lede.push(t.t("No longer here.").to_owned()),
        "unknown" => lede.push(t.t("Doubtful whether it is still there.").to_owned()),
        _ => {
            if !page.plant.place.is_empty() {
                lede.push(match &page.placed {
                    Some(since) => t.f(
                        "Stands at {place} since {since}.",
                        &[("place", &page.plant.place), ("since", since)],
                    ),
                    None => t.f("Stands at {place}.", &[("place", &page.plant.place)]),
                });
            }
        }
    }
    if let Some(s) = &page.suspected {
        lede.push(t.f("Suspected to be {what}.", &[("what", s)]));
    }
    html! {
        div.title {
            p.over { (over) " · " span.code { (page.plant.code) } }
            h1 { (markup::name(&page.name)) }
            @if !lede.is_empty() { p.lede { (lede.join(" ")) } }
        }
    }
}

fn name_words(claim: &NameClaim, t: Texts) -> String {
    let mut parts = Vec::new();
    match claim.standing.as_str() {
        "as_received" => parts.push(t.t("as received").to_owned()),
        "determined" => parts.push(t.t("determined").to_owned()),
        "doubted" => parts.push(t.t("doubted").to_owned()),
        "believed" => parts.push(t.t("believed").to_owned()),
        _ => {}
    }
    if let Some(by) = &claim.said_by {
        parts.push(t.f("by {who}", &[("who", by)]));
    }
    if !claim.since.is_empty() {
        parts.push(t.f("held since {date}", &[("date", &claim.since)]));
    }
    if let Some(r) = &claim.reason {
        parts.push(r.clone());
    }
    if let Some(d) = &claim.doubt {
        parts.push(d.clone());
    }
    let words = parts.join("; ");
    let mut chars = words.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).chain(['.']).collect())
}

fn facts(page: &PlantPage, t: Texts) -> Markup {
    let n = page.plant.number;
    let rivals: Vec<&NameClaim> = page.names.iter().skip(1).collect();
    html! {
        div.row {
            dl.facts {
                dt { (t.t("Name")) }
                dd {
                    @match page.names.first() {
                        Some(claim) => { (name_words(claim, t)) }
                        None => { span.open { (t.t("Nobody has said.")) } }
                    }
                    @for claim in &rivals {
                        " " (t.t("Before:")) " " (markup::name(&claim.name)) ". "
                    }
                    " " a.edit href=(format!("/plants/{n}/name")) { (t.t("name it")) }
                }
                dt { (t.t("From")) }
                dd {
                    @match &page.arrived {
                        Some(s) => {
                            (markup::sentence(s))
                        }
                        None => { span.open { (t.t("Not recorded.")) } }
                    }
                    @if let Some(origin) = &page.brought_in { " " span.q { (t.f("From {list}.", &[("list", origin)])) } }
                }
                dt { (t.t("Stands")) }
                dd {
                    @match page.plant.place_id {
                        Some(_) => { (page.plant.place) }
                        None => { span.open { (t.t("Not recorded.")) } }
                    }
                }
                dt { (t.t("Pot")) }
                dd {
                    @match &page.potted {
                        Some((s, date)) => { (markup::sentence(s)) " " span.q { (date) } }
                        None => { span.open { (t.t("Not recorded.")) } }
                    }
                }
                @if !page.plant.tag.is_empty() { dt { (t.t("Tag")) } dd { (page.plant.tag) } }
                dt { (t.t("Pieces")) }
                dd {
                    @if page.pieces.is_empty() { (t.t("No other piece is recorded.")) }
                    @for p in &page.pieces {
                        @match p.plant {
                            Some(m) => { a href=(format!("/plants/{m}")) { (t.f("plant {n}", &[("n", &m)])) } @if !p.where_.is_empty() { ", " (p.where_) } ", " (p.state) }
                            None => { (p.where_) ", " (p.state) @if !p.since.is_empty() { ", " (p.since) } }
                        }
                        ". "
                    }
                    " " a.edit href=(format!("/plants/{n}/clone")) { (t.t("join or part clones")) }
                }
                @if !page.children.is_empty() {
                    dt { (t.t("Seedlings")) }
                    dd {
                        @for (i, (name, plant)) in page.children.iter().take(12).enumerate() {
                            @if i > 0 { ", " }
                            @match plant { Some(m) => { (markup::linked(name, *m)) } None => { (markup::name(name)) } }
                        }
                        @if page.children.len() > 12 { " " (t.f("and {n} more", &[("n", &(page.children.len() - 12))])) }
                        "."
                    }
                }
            }
            div {
                p.note {
                    b { (t.t("For the shelf.")) } " "
                    (t.t("Whether its sap harms people or pets is not recorded here; no record is not a promise. Keep lamps and their leads above the drip line."))
                }
            }
        }
    }
}

fn dates_words(date: &dates::Edtf, t: Texts) -> String {
    dates::say(date, t.lang(), None)
}

fn parents(page: &PlantPage, number: i64, t: Texts) -> Markup {
    html! {
        section.sect {
            h2 { (t.t("Parents")) }
            @match &page.parentage {
                Some(p) => { (markup::parentage(p, &page.name, t)) }
                None => { p.open { (t.t("Neither parent is recorded.")) } }
            }
            div.n-row {
                a.edit href=(format!("/plants/{number}/parents")) { (t.t("write down its parents")) }
                a.edit href=(format!("/plants/{number}/breeding")) { (t.t("what bears on its crosses")) }
                a.edit href=(format!("/plants/{number}/kin")) { (t.t("kinship with another plant")) }
            }
        }
    }
}

fn answers_section(page: &PlantPage, first: i64, start: &str, ask: &Ask) -> Markup {
    let t = ask.t();
    html! {
        section.sect {
            h2 { (t.t("Answers")) }
            (markup::known_line(&page.answers, t))
            @for a in &page.answers { (markup::answer_of(a, first, start, &ask.hand)) }
            p { a.edit href=(format!("/plants/{}/flowers", page.plant.number)) { (t.t("more about its flowers")) } }
            (super::plant_forms::wish_form(page.plant.number, page.wish, page.growth, t))
        }
    }
}

fn said(page: &PlantPage, number: i64, t: Texts) -> Markup {
    html! {
        section.sect {
            h2.under { (t.t("Said by others")) }
            @if page.statements.iter().all(|s| !s.row.live) { p.open { (t.t("Nothing is kept that others said.")) } }
            ol.dated {
                @for s in page.statements.iter().filter(|s| s.row.live) {
                    li {
                        time { @if s.said_on.is_empty() { (t.t("date not known")) } @else { (s.said_on) } }
                        p { (t.f("“{words}”", &[("words", &s.row.text)])) }
                        span.small {
                            (s.row.said_by)
                            @if let Some(m) = &s.row.medium { ", " (t.word(m)) }
                            @if let Some(a) = &s.row.address { ", " (a) }
                            @if let Some(p) = &s.row.spot { ", " (p) }
                            @if let Some(tr) = &s.row.trust { "; " (t.f("trusted as {how}", &[("how", &t.word(tr))])) }
                        }
                    }
                }
            }
            @if page.questions.iter().any(|q| !q.answered) {
                h3.after { (t.t("To ask")) }
                ol.dated {
                    @for q in page.questions.iter().filter(|q| !q.answered) {
                        li {
                            @if !q.keeper.is_empty() { time { (q.keeper) } }
                            p { (q.text) }
                            span.small { a href=(format!("/plants/{number}/statements?answers={}", q.uid)) { (t.t("write down the answer")) } }
                        }
                    }
                }
            }
            div class="n-row after" {
                a.edit href=(format!("/plants/{number}/statements")) { (t.t("keep what somebody said")) }
                a.edit href=(format!("/plants/{number}/questions")) { (t.t("note something to ask")) }
            }
        }
    }
}

fn not_recorded(page: &PlantPage, number: i64, t: Texts) -> Markup {
    html! {
        @if !page.missing.is_empty() {
            section.sect {
                h2 { (t.t("Not yet recorded")) }
                p.open { (page.missing.join(", ")) ". " a.edit href=(format!("/plants/{number}/log?kind=arrived")) { (t.t("write down how it came")) } }
            }
        }
    }
}

fn photos(page: &PlantPage, number: i64, t: Texts) -> Markup {
    html! {
        section.sect {
            h2.under { (t.t("Photos")) }
            @if page.photos.is_empty() { p.open { (t.t("None yet.")) } }
            div.photos {
                @for p in &page.photos {
                    figure {
                        a href=(format!("/photos/{}.{}", p.hash, p.ending)) {
                            img src=(format!("/photos/{}.{}", p.hash, p.ending)) loading="lazy" alt=(p.note.clone().unwrap_or_else(|| page.name.plain.clone()));
                        }
                        figcaption.small {
                            @if let Some(d) = &p.happened { (dates_words(d, t)) }
                            @if let Some(n) = &p.note { ". " (n.trim_end_matches('.')) }
                            @if !p.credit.is_empty() { ". " (p.credit) }
                        }
                    }
                }
            }
            form.inline method="post" action=(format!("/plants/{number}/photos")) enctype="multipart/form-data" {
                label.line { span { (t.t("Add a photo")) } input type="file" name="photo" accept="image/jpeg,image/png,image/webp" required; }
                (line(t.t("When"), "when", "", t.t("empty for today")))
                (line(t.t("Taken by"), "credit", "", ""))
                button.btn { (t.t("Keep")) }
            }
        }
    }
}

/// At the shelf: one sentence to complete.
fn says(number: i64, t: Texts) -> Markup {
    let ways =
        [("dry", t.t("dry, watered")), ("moist", t.t("still moist")), ("flower", t.t("in flower"))];
    html! {
        details class="says foot-says" open {
            summary.lead { (t.t("This plant is")) }
            form method="post" action=(format!("/plants/{number}/says")) {
                ul {
                    @for (value, words) in ways { li { button name="is" value=(value) { (words) } } }
                    li { button formaction=(format!("/plants/{number}/log?kind=pest_seen")) formmethod="get" name="kind" value="pest_seen" { (t.t("in trouble")) } }
                }
                div.less {
                    button formaction=(format!("/plants/{number}/log")) formmethod="get" name="kind" value="measured" { (t.t("measured")) }
                    button formaction=(format!("/plants/{number}/log")) formmethod="get" name="kind" value="note" { (t.t("note")) }
                    a href=(format!("/crosses/new?seed={number}")) { (t.t("pollinated")) }
                    a href="#photos" data-photo { (t.t("photo")) }
                }
            }
        }
    }
}

/// The whole journal of a plant.
pub(crate) async fn journal(ask: Ask, Path(number): Path<i64>) -> Answered {
    let t = ask.t();
    let (row, lines) = ask.read(|r| {
        let lines = whole_journal(r, number, &ask.hand)?;
        Ok((r.plant(number)?, lines))
    })?;
    let name =
        row.map(|p| answers::name_text(if p.name.is_empty() { t.t("not named") } else { &p.name }));
    let body = html! {
        (title(&html! { a href=(format!("/plants/{number}")) { (t.f("Plant {n}", &[("n", &number)])) } @if let Some(n) = &name { ", " (markup::name(n)) } },
            &html! { (t.t("Journal")) }, None))
        div.add { a href=(format!("/plants/{number}/log")) data-entry { (t.t("Add an entry")) } }
        section class="journal whole" { (markup::journal_list(&lines, t, Some(number))) }
    };
    ask.show(Nav::Plants, t.t("Journal"), &body)
}

/// How a plant is related to another.
pub(crate) async fn kin(ask: Ask, Path(number): Path<i64>, Query(sent): Query<Sent>) -> Answered {
    let t = ask.t();
    let other = field(&sent, "with").trim_start_matches('#');
    let found = if other.is_empty() {
        None
    } else {
        Some(ask.read(|r| {
            let clone = |n: i64| -> Result<_, crate::WebError> {
                let (uid, name) = answers::clone_named(r, n, &ask.hand)?;
                Ok((uid, name))
            };
            let other: i64 = other
                .parse()
                .map_err(|_| crate::WebError::form("with", other, "is not a plant's number"))?;
            let (a, name_a) = clone(number)?;
            let (b, name_b) = clone(other)?;
            let (kinship, words, gaps) = kinship_words(r, a, b, t)?;
            Ok((name_a, name_b, other, kinship, words, gaps))
        })?)
    };
    let body = html! {
        (title(&html! { a href=(format!("/plants/{number}")) { (t.f("Plant {n}", &[("n", &number)])) } },
            &html! { (t.t("Kinship with another plant")) },
            Some(t.t("The chance that a gene taken from each of the two comes from one and the same ancestor: 1/2 for a plant with itself, 1/4 for full sibs or parent and seedling."))))
        @if let Some((a, b, other, kinship, words, gaps)) = &found {
            section.answer {
                p.say { (markup::name(a)) " " span.w { (t.t("and")) } " " (markup::linked(b, *other)) ": " span.v { (answers::fraction_words(*kinship)) } }
                p.basis { (words) ". " @if *gaps { (t.t("Some parents are unknown and count as unrelated: the true kinship may be higher.")) } }
            }
        }
        form.inline method="get" {
            (line(t.t("Number of the other plant"), "with", other, ""))
            button.btn { (t.t("Compare")) }
        }
    };
    ask.show(Nav::Plants, t.t("Kinship"), &body)
}

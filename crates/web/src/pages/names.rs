//! Names held against checklists: what ships, loading the public one, checking a name.

use std::{
    collections::HashMap,
    fs,
    io::Cursor,
    path::PathBuf,
    sync::{Arc, LazyLock, Mutex, PoisonError},
    time::SystemTime,
};

use answers::{
    acts,
    checklists::{self, Checklists},
    name_text,
};
use axum::{
    extract::{Multipart, Query},
    response::{IntoResponse as _, Response},
};
use maud::{Markup, html};
use names::checklist::{Checklist, NameCheck, OriginCheck, Spelling, Status};
use texts::Texts;

use super::{
    ask::{Answered, Ask, go},
    plant_forms::verdict_words,
};
use crate::{
    WebError,
    forms::{Sent, field, line},
    layout::{Failed, Nav, thousands, title},
    markup,
};

/// How far a loading has come, for each record.
#[derive(Debug, Clone, Default)]
struct Loading {
    rows: u64,
    /// Numbers of names and areas, or what went wrong.
    done: Option<Result<(usize, usize), String>>,
}

static LOADING: LazyLock<Mutex<HashMap<PathBuf, Loading>>> = LazyLock::new(Mutex::default);

fn loading<T>(change: impl FnOnce(&mut HashMap<PathBuf, Loading>) -> T) -> T {
    change(&mut LOADING.lock().unwrap_or_else(PoisonError::into_inner))
}

type Opened = (PathBuf, Option<SystemTime>, Arc<Checklists>);

/// The lists that were opened last: a loaded checklist is large and is read once.
static OPENED: LazyLock<Mutex<Option<Opened>>> = LazyLock::new(Mutex::default);

pub(crate) fn lists(record: &std::path::Path) -> Result<Arc<Checklists>, WebError> {
    let stamp = fs::metadata(checklists::place(record)).and_then(|m| m.modified()).ok();
    let mut opened = OPENED.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some((path, when, lists)) = opened.as_ref()
        && path == record
        && *when == stamp
    {
        return Ok(lists.clone());
    }
    let lists = Arc::new(Checklists::open(record).map_err(|e| WebError::Conflict(e.to_string()))?);
    *opened = Some((record.to_path_buf(), stamp, lists.clone()));
    Ok(lists)
}

/// Names and checklists.
pub(crate) async fn names(ask: Ask, Query(sent): Query<Sent>) -> Answered {
    let t = ask.t();
    let record = ask.journal().path().to_path_buf();
    let state = loading(|l| l.get(&record).cloned());
    if let Some(running) = state.as_ref().filter(|s| s.done.is_none()) {
        return Ok(progress(&ask, running.rows));
    }
    let opened = tokio::task::spawn_blocking(move || lists(&record))
        .await
        .map_err(|e| ask.failed(WebError::Conflict(e.to_string())))?;
    let (lists, trouble) = match opened {
        Ok(lists) => (Some(lists), None),
        Err(e) => (None, Some(e.to_string())),
    };
    let (typed, origin) = (field(&sent, "name").to_owned(), field(&sent, "origin").to_owned());
    let verdict = match typed.is_empty() {
        true => None,
        false => Some(ask.read(|r| Ok(acts::judge_name(r, &typed)?))?),
    };
    let check =
        lists.as_ref().filter(|_| !typed.is_empty()).map(|l| l.check(&typed, Some(&origin)));
    let body = html! {
        (title(&html! { a href="/plants" { (t.t("Plants")) } }, &html! { (t.t("Names")) },
            Some(t.t("A name is read by the rules of the codes, and held against a checklist for spelling, synonymy and native range."))))
        @if let Some(done) = state.as_ref().and_then(|s| s.done.as_ref()) { (outcome(done, t)) }
        @if let Some(trouble) = &trouble { section class="sect error" role="alert" { h2 { (t.t("The checklist cannot be read")) } p { (trouble) } } }
        form.form method="get" action="/names" {
            (line(t.t("Name"), "name", &typed, t.t("such as Streptocarpus ionanthus 'Blue Gate'")))
            (line(t.t("Said to come from"), "origin", &origin, t.t("a country, region or area code; may be left empty")))
            button.btn.main { (t.t("Check it")) }
        }
        @if let Some(v) = &verdict { section.sect { h2 { (t.t("By the rules")) } (verdict_words(v, t)) } }
        @if let Some(c) = &check { section.sect { h2 { (t.t("In the checklist")) } (checked(c, t)) } }
        (which(lists.as_deref(), t))
    };
    ask.show(Nav::Plants, t.t("Names"), &body)
}

fn outcome(done: &Result<(usize, usize), String>, t: Texts) -> Markup {
    match done {
        Ok((names, areas)) => html! { p class="note again" role="status" {
            (t.f("Loaded: {n} names with {a} areas.", &[("n", &count(*names)), ("a", &count(*areas))]))
        } },
        Err(why) => html! { section class="sect error" role="alert" {
            h2 { (t.t("The checklist was not loaded")) }
            p { (why) }
            p { (t.t("What was loaded before is as it was.")) }
        } },
    }
}

fn count(n: usize) -> String {
    thousands(i64::try_from(n).unwrap_or(i64::MAX))
}

fn progress(ask: &Ask, rows: u64) -> Response {
    let t = ask.t();
    let body = html! {
        (title(&html! { a href="/names" { (t.t("Names")) } }, &html! { (t.t("Loading the checklist")) },
            Some(t.t("This page looks again every two seconds. You can leave it; the loading goes on."))))
        p role="status" { (t.f("One row read so far.|{n} rows read so far.", &[("n", &thousands(i64::try_from(rows).unwrap_or(i64::MAX)))])) }
        p { a href="/names" { (t.t("Look again")) } }
    };
    let page = ask.page(Nav::Plants, t.t("Loading the checklist")).render(&body).into_string();
    // The page looks again by itself, without a script.
    let again = r#"<meta http-equiv="refresh" content="2"><meta name="viewport""#;
    axum::response::Html(page.replacen(r#"<meta name="viewport""#, again, 1)).into_response()
}

fn status_words(status: Status, t: Texts) -> &'static str {
    match status {
        Status::Accepted => t.t("accepted"),
        Status::Synonym => t.t("a synonym"),
        Status::Illegitimate => t.t("published against the rules"),
        Status::Invalid => t.t("not validly published"),
        Status::Unplaced => t.t("not placed by the editors"),
        Status::Misapplied => t.t("used by some in another sense"),
        Status::Orthographic => t.t("a spelling variant"),
        Status::ArtificialHybrid => t.t("an artificial hybrid"),
        Status::Other => t.t("of another standing"),
    }
}

fn origin_words(origin: OriginCheck, t: Texts) -> &'static str {
    match origin {
        OriginCheck::Native => t.t("It is native where it is said to come from."),
        OriginCheck::Introduced => t.t("It was introduced where it is said to come from."),
        OriginCheck::Extinct => {
            t.t("It was native where it is said to come from, and is gone there.")
        }
        OriginCheck::Doubtful => t.t("Its occurrence where it is said to come from is doubtful."),
        OriginCheck::Outside => {
            t.t("It is not known from there: the origin or the name may be wrong.")
        }
        OriginCheck::RangeUnknown => t.t("The list tells no areas for this name."),
        OriginCheck::PlaceUnknown => {
            t.t("The place was not recognised as an area; try the country.")
        }
    }
}

fn checked(c: &NameCheck, t: Texts) -> Markup {
    html! {
        section class="answer row" {
            div {
                @match &c.spelling {
                    Spelling::Exact => {
                        p.say { @if let Some(n) = &c.looked_for { (markup::name(&name_text(n))) } @if let Some(s) = c.status { ", " (status_words(s, t)) } }
                    }
                    Spelling::Near { names } => {
                        p.say { (t.t("Not in the list as spelt. Nearest:")) }
                        ul.near { @for (name, distance) in names {
                            li { a.n href=(format!("/names?name={}", name.replace('&', "%26").replace(' ', "+"))) { (markup::name(&name_text(name))) }
                                ", " (t.f("one letter off|{n} letters off", &[("n", distance)])) }
                        } }
                    }
                    Spelling::NotFound => { p class="say wait" { (t.t("Neither this species nor one spelt nearly so is in the list.")) } }
                    Spelling::GenusNotInList => { p class="say wait" { (t.t("The list has nothing in this genus, so it can say nothing.")) } }
                    Spelling::NothingToCheck => { p class="say wait" { (t.t("There is no species in this name to look for.")) } }
                }
                @if let Some(accepted) = &c.accepted {
                    p.basis { (t.t("Accepted:")) " " (markup::name(&name_text(accepted))) @if let Some(a) = &c.authors { " " (a) } }
                }
                @if let Some(origin) = c.origin { p { (origin_words(origin, t)) } }
                (areas(t.t("Native to"), &c.native))
                (areas(t.t("Introduced to"), &c.introduced))
                (areas(t.t("Gone from"), &c.extinct))
            }
            div { p.note { (c.credit) } }
        }
    }
}

fn areas(lead: &str, codes: &[String]) -> Markup {
    let groups = checklists::areas_in_words(codes);
    html! { @if !groups.is_empty() { p.basis {
        b { (lead) } " "
        @for (i, (region, names)) in groups.iter().enumerate() {
            @if i > 0 { "; " } (names.join(", ")) @if !region.is_empty() { " (" (region) ")" }
        }
        "."
    } } }
}

/// Which list is used, and how to load another.
fn which(lists: Option<&Checklists>, t: Texts) -> Markup {
    let shipped = Checklist::shipped();
    html! {
        section class="sect lists" {
            h2.under { (t.t("Checklists")) }
            @if let Some(list) = lists.and_then(Checklists::loaded) {
                p { (t.f("Names are held against the loaded checklist: {n} names with {a} areas.", &[("n", &count(list.len())), ("a", &count(list.area_count()))])) }
                p.note { (list.credit()) }
            } @else {
                p { (t.f("Names are held against the extract that ships: {n} accepted names with {a} areas. It covers only some genera.", &[("n", &count(shipped.len())), ("a", &count(shipped.area_count()))])) }
            }
            p.note { (t.t("The extract that ships:")) " " (shipped.credit()) }
            p { (t.t("The public download of the World Checklist of Vascular Plants can be loaded: the ZIP archive as it comes, or its two tables.")) }
            form.form method="post" action="/names" enctype="multipart/form-data" {
                label.line { span { (t.t("ZIP, or both tables")) } input type="file" name="file" multiple required accept=".zip,.csv,.txt"; }
                button.btn { (t.t("Load it")) }
            }
        }
    }
}

/// Takes a download and loads it aside.
pub(crate) async fn load(ask: Ask, mut form: Multipart) -> Answered {
    let t = ask.t();
    let broken = |e: axum::extract::multipart::MultipartError| -> Failed {
        ask.failed_next(
            WebError::form("file", "", &e.to_string()),
            t.t("choose the file again"),
            "/names",
        )
    };
    let mut files = Vec::new();
    while let Some(part) = form.next_field().await.map_err(broken)? {
        let name = part.file_name().unwrap_or("").to_owned();
        let bytes = part.bytes().await.map_err(broken)?;
        if !name.is_empty() {
            files.push((name, Cursor::new(bytes)));
        }
    }
    if files.is_empty() {
        return Err(ask.failed_next(
            WebError::form("file", "", t.t("is missing; choose the ZIP archive or its tables")),
            t.t("choose the file again"),
            "/names",
        ));
    }
    let record = ask.journal().path().to_path_buf();
    let busy = loading(|l| {
        let now = l.entry(record.clone()).or_insert(Loading { rows: 0, done: Some(Ok((0, 0))) });
        let busy = now.done.is_none();
        if !busy {
            *now = Loading::default();
        }
        busy
    });
    if !busy {
        tokio::task::spawn_blocking(move || {
            let outcome = checklists::load(files, &record, &mut |rows| {
                loading(|l| l.entry(record.clone()).or_default().rows = rows);
                true
            });
            let done = Some(outcome.map_err(|e| e.to_string()));
            loading(|l| l.entry(record.clone()).or_default().done = done);
        });
    }
    go("/names")
}

//! Taking the file of a logger in: choosing it, looking at how it was read, writing it.

use std::{collections::BTreeMap, fs, path::PathBuf};

use answers::acts::{self, Look};
use axum::{
    Form,
    extract::{Multipart, Path},
    response::{IntoResponse as _, Response},
};
use jiff::{Timestamp, tz::TimeZone};
use maud::{Markup, html};
use sha2::{Digest as _, Sha256};
use texts::Texts;

use super::{
    super::ask::{Answered, Ask, go},
    reading::{self, Come, File},
};
use crate::{
    App, WebError,
    forms::{Sent, field, line},
    layout::{Failed, Nav, thousands, title},
};

/// A file that is being looked at, kept beside the record so that it survives a restart.
struct Kept {
    folder: PathBuf,
}

impl Kept {
    fn new(app: &App, id: &str) -> Result<Self, WebError> {
        if id.len() != 16 || !id.bytes().all(|b| b.is_ascii_hexdigit()) {
            return Err(WebError::NoPage(format!("readings/{id}")));
        }
        let beside = app.journal().path().parent().map(PathBuf::from).unwrap_or_default();
        Ok(Self { folder: beside.join("drafts").join(format!("readings-{id}")) })
    }

    fn write(&self, name: &str, bytes: &[u8]) -> Result<(), WebError> {
        fs::create_dir_all(&self.folder).map_err(WebError::file(&self.folder))?;
        fs::write(self.folder.join(name), bytes).map_err(WebError::file(&self.folder))
    }

    fn read(&self, name: &str) -> Result<Vec<u8>, WebError> {
        fs::read(self.folder.join(name)).map_err(WebError::file(&self.folder))
    }
}

fn id_of(file: &str, bytes: &[u8]) -> String {
    let hash = Sha256::new().chain_update(file).chain_update([0]).chain_update(bytes).finalize();
    hash.iter().take(8).map(|b| format!("{b:02x}")).collect()
}

fn over(number: i64, t: Texts) -> Markup {
    html! { a href=(format!("/places/{number}")) { (t.f("Place {n}", &[("n", &number)])) } }
}

/// Choosing a file.
pub(crate) async fn choose(ask: Ask, Path(number): Path<i64>) -> Answered {
    let t = ask.t();
    let loggers = ask.read(|r| Ok(r.place(number)?.map(|p| r.loggers(p.id)).transpose()?))?;
    let loggers = loggers.unwrap_or_default();
    let only = if loggers.len() == 1 { loggers[0].name.clone() } else { String::new() };
    let body = html! {
        (title(&over(number, t), &html! { (t.t("Take the file of a logger in")) },
            Some(t.t("The text file of any maker. You see how it was understood before anything is written."))))
        form.form method="post" enctype="multipart/form-data" {
            label.line { span { (t.t("File")) } input type="file" name="file" accept=".csv,.tsv,.txt,.log,text/csv,text/plain" required; }
            (line(t.t("Logger"), "logger", &only, t.t("what it is called here; write it if there are several")))
            button.btn.main { (t.t("Read it")) }
        }
    };
    ask.show(Nav::Places, t.t("Take the file of a logger in"), &body)
}

/// Takes a file and keeps it while it is looked at.
pub(crate) async fn take(ask: Ask, Path(number): Path<i64>, mut form: Multipart) -> Answered {
    let here = format!("/places/{number}/readings");
    let broken = |e: axum::extract::multipart::MultipartError| {
        let next = ask.t().t("choose the file again");
        ask.failed_next(WebError::form("file", "", &e.to_string()), next, &here)
    };
    let (mut name, mut bytes, mut logger) = (String::new(), Vec::new(), String::new());
    while let Some(part) = form.next_field().await.map_err(broken)? {
        match part.name() {
            Some("file") => {
                name = part.file_name().unwrap_or("").to_owned();
                bytes = part.bytes().await.map_err(broken)?.to_vec();
            }
            Some("logger") => logger = part.text().await.map_err(broken)?,
            _ => {}
        }
    }
    if name.is_empty() || bytes.is_empty() {
        let problem = ask.t().t("is missing; choose the file of a logger");
        return Err(ask.failed_next(WebError::form("file", &name, problem), problem, &here));
    }
    let id = id_of(&name, &bytes);
    let kept = Kept::new(&ask.app, &id).map_err(|e| ask.failed(e))?;
    let answers: BTreeMap<String, String> =
        [("logger".to_owned(), logger), ("file".to_owned(), name)].into();
    kept.write("list", &bytes).map_err(|e| ask.failed(e))?;
    kept.write("answers.json", &serde_json::to_vec(&answers).unwrap_or_default())
        .map_err(|e| ask.failed(e))?;
    // A file that cannot be read at all is refused here.
    come(&ask, number, &id).await?;
    go(&format!("{here}/{id}"))
}

/// A kept file with what was answered.
fn file(ask: &Ask, number: i64, id: &str) -> Result<File, WebError> {
    let kept = Kept::new(&ask.app, id)?;
    let bytes = kept.read("list")?;
    let mut answers: BTreeMap<String, String> =
        serde_json::from_slice(&kept.read("answers.json")?).unwrap_or_default();
    let (name, logger) =
        (answers.remove("file").unwrap_or_default(), answers.remove("logger").unwrap_or_default());
    Ok(File { place: number, id: id.to_owned(), name, logger, bytes, answers })
}

/// How far a kept file has come; what went wrong leads back to the choice.
async fn come(ask: &Ask, number: i64, id: &str) -> Result<Come, Failed> {
    let again = |e: WebError| {
        let next = ask.t().t("choose another file");
        ask.failed_next(e, next, &format!("/places/{number}/readings"))
    };
    match reading::read(ask, file(ask, number, id).map_err(again)?).await {
        Come::Failed(e) => Err(again(e)),
        come => Ok(come),
    }
}

/// The page that shows how far a long file has come.
fn progress(ask: &Ask, number: i64, come: &Come) -> Response {
    let t = ask.t();
    let count = |n: usize| thousands(i64::try_from(n).unwrap_or(i64::MAX));
    let (heading, said, part) = match come {
        Come::Reading(n, of) => (
            t.t("The file is being read"),
            t.f("{n} of {of} lines.", &[("n", &count(*n)), ("of", &count(*of))]),
            Some((*n, *of)),
        ),
        Come::Writing(n) => (
            t.t("The readings are being written"),
            t.f("One reading.|{count} readings.", &[("n", n), ("count", &count(*n))]),
            None,
        ),
        _ => (t.t("The file is being read"), String::new(), None),
    };
    let body = html! {
        (title(&over(number, t), &html! { (heading) },
            Some(t.t("This page looks again every second. You can leave it; the work goes on."))))
        p role="status" { (said) }
        p { @match part {
            Some((n, of)) => { progress value=(n.min(of)) max=(of.max(1)) aria-label=(heading) {} }
            None => { progress aria-label=(heading) {} }
        } }
    };
    let page = ask.page(Nav::Places, heading).render(&body).into_string();
    // The page looks again by itself, without a script.
    let again = r#"<meta http-equiv="refresh" content="1"><meta name="viewport""#;
    axum::response::Html(page.replacen(r#"<meta name="viewport""#, again, 1)).into_response()
}

/// What was written lies in the record; the copy is no longer needed.
fn written(ask: &Ask, number: i64, id: &str) -> Answered {
    let kept = Kept::new(&ask.app, id).map_err(|e| ask.failed(e))?;
    let _ = fs::remove_dir_all(&kept.folder);
    go(&format!("/places/{number}#air"))
}

fn stamp(time: i64) -> String {
    Timestamp::from_second(time).map_or_else(
        |_| String::new(),
        |s| s.to_zoned_datetime(TimeZone::system()).strftime("%Y-%m-%d %H:%M").to_string(),
    )
}

fn question_words(key: &str, t: Texts) -> &'static str {
    match key {
        "date_order" => t.t("Which stands first, the day or the month?"),
        "unit" => t.t("In which unit are the temperatures?"),
        "columns" => t.t("Which column is which?"),
        _ => t.t("Was the logger's clock put forward and back with those of the house?"),
    }
}

fn choice_words(choice: &str, t: Texts) -> String {
    let words = match choice {
        "day_first" => t.t("the day"),
        "month_first" => t.t("the month"),
        "celsius" => t.t("°C"),
        "fahrenheit" => t.t("°F"),
        "temperature" => t.t("the temperature"),
        "humidity" => t.t("the humidity"),
        "temperature_humidity" => t.t("temperature, then humidity"),
        "humidity_temperature" => t.t("humidity, then temperature"),
        "house" => t.t("yes, as the clocks of the house"),
        _ => t.t("no, it shows winter time all year"),
    };
    words.to_owned()
}

/// How the file was read.
pub(crate) async fn preview(ask: Ask, Path((number, id)): Path<(i64, String)>) -> Answered {
    let t = ask.t();
    let look = match come(&ask, number, &id).await? {
        Come::Read(look) => look,
        Come::Written => return written(&ask, number, &id),
        more => return Ok(progress(&ask, number, &more)),
    };
    let act = format!("/places/{number}/readings/{id}");
    let open = look.read.open();
    let heading = match open {
        0 => t.f(
            "One reading understood|{count} readings understood",
            &[
                ("n", &look.read.readings.len()),
                ("count", &thousands(look.read.readings.len() as i64)),
            ],
        ),
        n => t.f("One question first|{n} questions first", &[("n", &n)]),
    };
    let body = html! {
        (title(&html! { (over(number, t)) ": " (look.read.file) ", " (look.logger) }, &html! { (heading) },
            Some(t.t("Nothing is written until you say so, and one undo takes all of it back."))))
        form.form method="post" action=(act) {
            @if !look.read.questions.is_empty() {
                section.sect {
                    h2.under { (t.t("To be settled")) }
                    @for q in &look.read.questions {
                        fieldset {
                            legend { (question_words(q.key, t)) }
                            p.note { code { (q.example) } }
                            @for c in &q.choices {
                                label.tick { input type="radio" name=(q.key) value=(c) checked[q.answer.as_deref() == Some(c)]; (choice_words(c, t)) }
                            }
                        }
                    }
                    button.btn { (t.t("Read it again with this")) }
                }
            }
            (understood(&look, t))
            (left(&look, t))
            div.printrow {
                @if open == 0 && look.new > 0 {
                    button class="btn main" formaction=(format!("{act}/write")) {
                        (t.f("Write one reading|Write {count} readings", &[("n", &look.new), ("count", &thousands(look.new as i64))]))
                    }
                } @else if open == 0 { p { (t.t("Nothing new to write")) } }
                a href=(format!("/places/{number}/readings")) { (t.t("Choose another file")) }
            }
        }
    };
    ask.show(Nav::Places, &heading, &body)
}

fn understood(look: &Look, t: Texts) -> Markup {
    let read = &look.read;
    html! {
        section.sect {
            h2.under { (t.t("As understood")) }
            table class="t list stack" {
                thead { tr { th { (t.t("Column")) } th { (t.t("Holds")) } } }
                tbody { @for c in &read.columns { tr {
                    td { @if c.heading.is_empty() { (t.t("without a heading")) } @else { (c.heading) } }
                    td { @match c.channel {
                        Some(c) => (acts::channel_words(c, t)),
                        None => (t.t("time, or passed over")),
                    } }
                } } }
            }
            @if let Some(f) = read.fahrenheit {
                p.note {
                    @let unit = if f { "°F" } else { "°C" };
                    @if read.unit_by_values { (t.f("Temperatures are taken as {unit}: the other would be frost or an oven.", &[("unit", &unit)])) }
                    @else { (t.f("Temperatures are in {unit}.", &[("unit", &unit)])) }
                }
            }
            @if let Some(s) = look.span { p { (t.f("From {a} to {b}.", &[("a", &stamp(s.from)), ("b", &stamp(s.to))])) } }
            @if look.before > 0 { p { (t.f("One reading is in the record already.|{n} readings are in the record already.", &[("n", &look.before)])) } }
            @if !read.readings.is_empty() { (first_rows(look, t)) }
            @for g in read.gaps.iter().take(12) { p.note { (t.f("No record from {a} to {b}.", &[("a", &stamp(g.from)), ("b", &stamp(g.to))])) } }
            @for s in look.flat.iter().take(12) { p.note { (t.f("The logger did not change from {a} to {b}.", &[("a", &stamp(s.from)), ("b", &stamp(s.to))])) } }
        }
    }
}

fn first_rows(look: &Look, t: Texts) -> Markup {
    let cell = |v: Option<f64>| v.map_or_else(|| "–".to_owned(), |v| format!("{v:.1}"));
    html! {
        table class="t list" {
            thead { tr { th.r { (t.t("Row")) } th { (t.t("When")) } th.r { "°C" } th.r { "%" } th.r { "lx" } } }
            tbody { @for r in look.read.readings.iter().take(8) { tr {
                td class="r num" { (r.row) } td.num { (stamp(r.time)) }
                td class="r num" { (cell(r.temperature)) } td class="r num" { (cell(r.humidity)) } td class="r num" { (cell(r.light)) }
            } } }
        }
    }
}

/// Lines that will not be taken, counted by kind and shown.
fn left(look: &Look, t: Texts) -> Markup {
    const SHOWN: usize = 200;
    html! {
        @if !look.refused.is_empty() {
            section.sect {
                h2.under { (t.f("One line is not taken, or not whole|{n} lines are not taken, or not whole", &[("n", &look.refused.len())])) }
                p { @for (i, (why, n)) in look.refused_by_kind.iter().enumerate() {
                    @if i > 0 { ", " } (acts::why_words(why, t)) ": " (n)
                } "." }
                p.note { (t.t("They are kept with the file and can be seen again.")) }
                details.numbers {
                    summary { (t.t("The lines")) }
                    table.t {
                        thead { tr { th.r { (t.t("Row")) } th { (t.t("Why")) } th { (t.t("Line")) } } }
                        tbody { @for l in look.refused.iter().take(SHOWN) { tr {
                            td class="r num" { (l.row) } td { (acts::why_words(&l.why, t)) } td { code { (l.text) } }
                        } } }
                    }
                }
            }
        }
    }
}

/// Keeps answers and reads the file again.
pub(crate) async fn answer(
    ask: Ask,
    Path((number, id)): Path<(i64, String)>,
    Form(sent): Form<Sent>,
) -> Answered {
    save(&ask, &id, &sent).map_err(|e| ask.failed(e))?;
    go(&format!("/places/{number}/readings/{id}"))
}

/// Keeps the answers; says whether any changed.
fn save(ask: &Ask, id: &str, sent: &Sent) -> Result<bool, WebError> {
    let kept = Kept::new(&ask.app, id)?;
    let mut answers: BTreeMap<String, String> =
        serde_json::from_slice(&kept.read("answers.json")?).unwrap_or_default();
    let before = answers.clone();
    for key in ["date_order", "unit", "columns", "clock"] {
        let told = field(sent, key);
        if !told.is_empty() {
            answers.insert(key.to_owned(), told.to_owned());
        }
    }
    kept.write("answers.json", &serde_json::to_vec(&answers).unwrap_or_default())?;
    Ok(answers != before)
}

/// Writes the file. Answers that were not read yet are read and shown first.
pub(crate) async fn write(
    ask: Ask,
    Path((number, id)): Path<(i64, String)>,
    Form(sent): Form<Sent>,
) -> Answered {
    if save(&ask, &id, &sent).map_err(|e| ask.failed(e))? {
        return go(&format!("/places/{number}/readings/{id}"));
    }
    let look = match come(&ask, number, &id).await? {
        Come::Read(look) => look,
        Come::Written => return written(&ask, number, &id),
        more => return Ok(progress(&ask, number, &more)),
    };
    match reading::write(&ask, &id, look).await {
        Come::Written => written(&ask, number, &id),
        Come::Failed(e) => Err(ask.failed(e)),
        // The page of the file goes on to show how far it has come.
        _ => go(&format!("/places/{number}/readings/{id}")),
    }
}

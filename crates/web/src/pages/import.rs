//! Bringing in a list: choosing it, looking at how it was read, writing it.

mod drafts;
mod questions;
mod rows;
mod wishes;

use std::sync::Arc;

use answers::{
    Hand,
    acts::bring_in::{self, BroughtIn, Preview, Reading},
};
use axum::{
    Form,
    extract::{Multipart, Path, Query},
};
use journal::Journal;
use maud::{Markup, html};
use texts::Texts;

use self::drafts::Draft;
use super::ask::{Answered, Ask, go};
use crate::{
    WebError,
    forms::{Sent, field},
    layout::{Failed, Nav, title},
};

/// Choosing a list.
pub(crate) async fn choose(ask: Ask) -> Answered {
    let t = ask.t();
    let kept = drafts::kept(&ask.app);
    let body = html! {
        (title(&html! { a href="/plants" { (t.t("Plants")) } }, &html! { (t.t("Bring in a list")) },
            Some(t.t("A spreadsheet in any order of columns, or labels typed one a line. You see every row as it was understood before anything is written."))))
        form.form method="post" action="/import" enctype="multipart/form-data" {
            label.line { span { (t.t("File")) } input type="file" name="file" accept=".csv,.tsv,.txt,.xlsx,.ods,text/csv,text/plain";
                small { (t.t("CSV or text in any encoding, or XLSX with any number of sheets")) } }
            label.line { span { (t.t("Or labels, one a line")) } textarea name="labels" rows="6" placeholder="Begonia bowerae - Tansy - March 2020" {} }
            button.btn.main { (t.t("Read it")) }
        }
        @if !kept.is_empty() {
            section.sect {
                h2.under { (t.t("Kept as drafts")) }
                ul.drafts { @for d in &kept { li {
                    a href=(format!("/import/{}", d.id)) { (d.file) }
                    form.undo method="post" action=(format!("/import/{}/drop", d.id)) { button { (t.t("Throw this draft away")) } }
                } } }
            }
        }
    };
    ask.show(Nav::Plants, t.t("Bring in a list"), &body)
}

/// Takes a file or typed labels, and keeps them as a draft.
pub(crate) async fn take(ask: Ask, mut form: Multipart) -> Answered {
    let t = ask.t();
    let broken = |e: axum::extract::multipart::MultipartError| {
        ask.failed_next(
            WebError::form("file", "", &e.to_string()),
            t.t("choose the file again"),
            "/import",
        )
    };
    let (mut name, mut bytes, mut labels) = (String::new(), Vec::new(), String::new());
    while let Some(part) = form.next_field().await.map_err(broken)? {
        match part.name() {
            Some("file") => {
                name = part.file_name().unwrap_or("").to_owned();
                bytes = part.bytes().await.map_err(broken)?.to_vec();
            }
            Some("labels") => labels = part.text().await.map_err(broken)?,
            _ => {}
        }
    }
    if name.is_empty() && !labels.trim().is_empty() {
        (name, bytes) = (t.t("typed labels.txt").to_owned(), labels.into_bytes());
    }
    if name.is_empty() {
        return Err(ask.failed_next(
            WebError::form("file", "", t.t("is missing; choose a file, or type labels one a line")),
            t.t("choose a file"),
            "/import",
        ));
    }
    let draft = Draft::new(&name, &bytes);
    // A file that cannot be read at all is refused here, before it is kept.
    read(&ask, &draft, bytes.clone())
        .await
        .map_err(|failed| failed.next(t.t("choose another file"), "/import"))?;
    let kept = match drafts::load(&ask.app, &draft.id) {
        Ok(before) if before.written.is_none() => before,
        _ => draft,
    };
    drafts::keep(&ask.app, &kept, Some(&bytes)).map_err(|e| ask.failed(e))?;
    go(&format!("/import/{}", kept.id))
}

struct Look {
    reading: Reading,
    preview: Preview,
}

/// Runs what takes long beside the pages.
pub(super) async fn aside<T: Send + 'static>(
    ask: &Ask,
    work: impl FnOnce(Arc<Journal>, Hand) -> Result<T, WebError> + Send + 'static,
) -> Result<T, Failed> {
    let (journal, hand) = (ask.journal(), ask.hand.clone());
    tokio::task::spawn_blocking(move || work(journal, hand))
        .await
        .map_err(|e| ask.failed(WebError::Conflict(e.to_string())))?
        .map_err(|e| ask.failed(e))
}

/// Reads a draft; long lists must not hold up other pages.
async fn read(ask: &Ask, draft: &Draft, bytes: Vec<u8>) -> Result<Look, Failed> {
    let (file, wishes) = (draft.file.clone(), draft.wishes.clone());
    aside(ask, move |journal, hand| {
        let reading = bring_in::understand(&journal, &hand, &bytes, &file, &wishes)?;
        let preview = bring_in::preview(&journal, &hand, &reading)?;
        Ok(Look { reading, preview })
    })
    .await
}

async fn look(ask: &Ask, id: &str) -> Result<(Draft, Look), Failed> {
    let draft = drafts::load(&ask.app, id).map_err(|e| gone(ask, e))?;
    let bytes = drafts::bytes(&ask.app, id).map_err(|e| gone(ask, e))?;
    let look = read(ask, &draft, bytes).await?;
    Ok((draft, look))
}

fn gone(ask: &Ask, error: WebError) -> Failed {
    ask.failed_next(error, ask.t().t("choose the file again"), "/import")
}

/// How the list was read.
pub(crate) async fn preview(
    ask: Ask,
    Path(id): Path<String>,
    Query(sent): Query<Sent>,
) -> Answered {
    let t = ask.t();
    let (draft, look) = look(&ask, &id).await?;
    let page: usize = field(&sent, "page").parse().unwrap_or(0);
    let r = &look.reading;
    let lines = r.rows.len() + r.skipped.len();
    let heading = heading(r, t);
    let act = format!("/import/{id}");
    let body = html! {
        (title(
            &html! { a href="/plants" { (t.t("Plants")) } ": " (t.f("bring in a list, {file}, one row|bring in a list, {file}, {n} rows", &[("n", &lines), ("file", &r.file)])) },
            &html! { (heading) },
            Some(t.t("This is how the list was read. Nothing is written until you say so, and one undo takes all of it back."))))
        @if field(&sent, "again") == "yes" {
            p class="note again" role="status" { (t.t("Read again with what you chose. Nothing is written yet; the button at the foot says what would be.")) }
        }
        form method="post" action=(act) {
            // The first button of a form is what the Enter key presses.
            button.vh tabindex="-1" { (t.t("Read it again with this")) }
            (questions::section(r, &ask.hand))
            (rows::understood(r, &look.preview, &ask.hand, &id, page))
            (rows::left(r, &look.preview, t))
            (wishes::columns(r, t))
            div class="cols after" {
                div {
                    @if look.preview.can_number {
                        input type="hidden" name="numbers" value="asked";
                        label.tick { input type="checkbox" name="use_numbers" value="yes" checked[draft.choices.use_numbers]; (t.t("use the numbers of the list as plant numbers")) }
                    }
                    div.printrow {
                        button class="btn main" formaction=(format!("{act}/write")) { (promise(&look, t)) }
                        button.btn { (t.t("Keep as a draft")) }
                        a href="/import" { (t.t("Choose another file")) }
                    }
                }
                div {
                    p.note { (t.t("The same file brought in again adds nothing. How its columns were read is remembered for the next list with the same header.")) }
                }
            }
        }
    };
    ask.show(Nav::Plants, t.t("Bring in a list"), &body)
}

/// A number as a word where a page begins with it.
fn word(n: usize, t: Texts) -> String {
    const WORDS: [&str; 21] = [
        "no",
        "one",
        "two",
        "three",
        "four",
        "five",
        "six",
        "seven",
        "eight",
        "nine",
        "ten",
        "eleven",
        "twelve",
        "thirteen",
        "fourteen",
        "fifteen",
        "sixteen",
        "seventeen",
        "eighteen",
        "nineteen",
        "twenty",
    ];
    WORDS.get(n).map_or_else(
        || crate::layout::thousands(i64::try_from(n).unwrap_or(i64::MAX)),
        |w| t.word(w),
    )
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

fn heading(r: &Reading, t: Texts) -> String {
    let (rows, open) = (r.rows.len(), r.open.len());
    let rows =
        t.f("one row understood|{rows} rows understood", &[("n", &rows), ("rows", &word(rows, t))]);
    let open = match open {
        0 => t.t("no question").to_owned(),
        n => t.f("one question|{questions} questions", &[("n", &n), ("questions", &word(n, t))]),
    };
    capital(&format!("{rows}, {open}"))
}

/// What the button will do, in words.
fn promise(look: &Look, t: Texts) -> String {
    let p = &look.preview;
    let mut parts = Vec::new();
    if p.plants > 0 {
        parts.push(t.f("one plant|{n} plants", &[("n", &p.plants)]));
    }
    if p.crosses > 0 {
        parts.push(t.f("one cross|{n} crosses", &[("n", &p.crosses)]));
    }
    if parts.is_empty() && p.left_over == 0 {
        return t.t("Nothing new to write").to_owned();
    }
    let mut words = match parts.is_empty() {
        true => t.t("Write no plant").to_owned(),
        false => t.f("Write {what}", &[("what", &parts.join(t.t(" and ")))]),
    };
    if p.left_over > 0 {
        words += &t.f(", one row left over|, {n} rows left over", &[("n", &p.left_over)]);
    }
    let open = look.reading.open.len();
    if open > 0 {
        words += &t.f(", one question left open|, {n} questions left open", &[("n", &open)]);
    }
    words
}

/// Takes answers and columns, and keeps them with the draft. Says whether anything changed.
async fn save(ask: &Ask, id: &str, sent: &Sent) -> Result<(Draft, Look, bool), Failed> {
    let (mut draft, look) = look(ask, id).await?;
    let before = (draft.wishes.clone(), draft.choices);
    wishes::take(&mut draft, &look.reading, sent, &ask.hand)
        .map_err(|e| ask.failed_next(e, ask.t().t("back to the list"), &format!("/import/{id}")))?;
    let changed = before != (draft.wishes.clone(), draft.choices);
    if changed {
        drafts::keep(&ask.app, &draft, None).map_err(|e| ask.failed(e))?;
    }
    Ok((draft, look, changed))
}

/// Keeps the answers and reads the list again with them.
pub(crate) async fn answer(ask: Ask, Path(id): Path<String>, Form(sent): Form<Sent>) -> Answered {
    let (.., changed) = save(&ask, &id, &sent).await?;
    go(&format!("/import/{id}{}", if changed { "?again=yes" } else { "" }))
}

/// Writes the list. Answers that were not read yet are read and shown first: the button has said
/// what it writes, and writes that.
pub(crate) async fn write(ask: Ask, Path(id): Path<String>, Form(sent): Form<Sent>) -> Answered {
    let (mut draft, look, changed) = save(&ask, &id, &sent).await?;
    if changed {
        return go(&format!("/import/{id}?again=yes"));
    }
    let choices =
        bring_in::Choices { use_numbers: draft.choices.use_numbers && look.preview.can_number };
    let made = aside(&ask, move |journal, hand| {
        Ok(bring_in::write(&journal, &hand, &look.reading, &choices)?)
    })
    .await?;
    draft.written = Some(made);
    drafts::keep(&ask.app, &draft, None).map_err(|e| ask.failed(e))?;
    go(&format!("/import/{id}/written"))
}

/// What was written.
pub(crate) async fn written(ask: Ask, Path(id): Path<String>) -> Answered {
    let t = ask.t();
    let draft = drafts::load(&ask.app, &id).map_err(|e| gone(&ask, e))?;
    let Some(made) = draft.written.clone() else { return go(&format!("/import/{id}")) };
    let live = match made.op {
        Some(op) => ask.read(|r| Ok(r.operation(op)?))?.is_some_and(|o| o.live),
        None => false,
    };
    let heading = match (made.op.is_some(), live) {
        (false, _) => t.t("Nothing new was in this list").to_owned(),
        (true, false) => t.t("Taken back").to_owned(),
        (true, true) => t.f(
            "One plant written|{plants} plants written",
            &[("n", &made.plants), ("plants", &capital(&word(made.plants, t)))],
        ),
    };
    let body = html! {
        (title(&html! { a href="/import" { (t.t("Bring in a list")) } ": " (draft.file) }, &html! { (heading) }, None))
        (counts(&made, t))
        div.printrow {
            @if live {
                a.btn.main href="/plants?sort=number" { (t.t("Look at the plants")) }
                @if made.left_over > 0 { a href="/left-over" { (t.t("What was left over")) } }
                @if made.crosses > 0 { a href="/crosses" { (t.t("Crosses")) } }
                a href="/labels" { (t.t("Print labels")) }
                @if let Some(op) = made.op {
                    form.undo method="post" action="/undo" {
                        input type="hidden" name="op" value=(op);
                        input type="hidden" name="back" value=(format!("/import/{id}/written"));
                        button { (t.t("Take all of it back")) }
                    }
                }
            } @else {
                a.btn.main href=(format!("/import/{id}")) { (t.t("Look at the list again")) }
                a href="/plants" { (t.t("All plants")) }
            }
        }
    };
    ask.show(Nav::Plants, &heading, &body)
}

fn counts(made: &BroughtIn, t: Texts) -> Markup {
    let numbered = match (made.first, made.last) {
        (Some(a), Some(b)) if a != b => t.f(
            "one plant|{n} plants, numbered {a} to {b}",
            &[("n", &made.plants), ("a", &a), ("b", &b)],
        ),
        (Some(a), _) => t.f(
            "one plant, number {a}|{n} plants, the first is number {a}",
            &[("n", &made.plants), ("a", &a)],
        ),
        _ => String::new(),
    };
    let lines = [
        (made.plants, numbered),
        (made.clones, t.f("one clone, with those known only as parents|{n} clones, with those known only as parents", &[("n", &made.clones)])),
        (made.crosses, t.f("one cross without a plant yet|{n} crosses without a plant yet", &[("n", &made.crosses)])),
        (made.keepers, t.f("one keeper named for the first time|{n} keepers named for the first time", &[("n", &made.keepers)])),
        (made.places, t.f("one place named for the first time|{n} places named for the first time", &[("n", &made.places)])),
        (made.same, t.f("one row repeated another; its words were kept|{n} rows repeated others; their words were kept", &[("n", &made.same)])),
        (made.left_over, t.f("one row left over, to be mended|{n} rows left over, to be mended", &[("n", &made.left_over)])),
        (made.before, t.f("one row was here before; it added nothing|{n} rows were here before; they added nothing", &[("n", &made.before)])),
    ];
    html! { ul.counts { @for (n, words) in &lines { @if *n > 0 { li { (words) } } } } }
}

/// Throws a draft away.
pub(crate) async fn drop_draft(ask: Ask, Path(id): Path<String>) -> Answered {
    drafts::remove(&ask.app, &id).map_err(|e| ask.failed(e))?;
    go("/import")
}

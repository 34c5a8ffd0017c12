//! The first page: four ways to begin.

use axum::{extract::Multipart, response::IntoResponse as _};
use maud::html;

use super::ask::{Answered, Ask, go};
use crate::{
    WebError,
    layout::{Nav, title},
};

/// The first page.
pub(crate) async fn begin(ask: Ask) -> Answered {
    let t = ask.t();
    let file = ask.app.own_path().file_name().and_then(|n| n.to_str()).unwrap_or("").to_owned();
    let body = html! {
        (title(&html! { (t.f("{file}, on this machine", &[("file", &file)])) },
            &html! { (t.t("Nothing is written here yet")) },
            Some(t.t("Answers come out of a journal, and this one has no entries. Four ways to begin; none of them closes the others."))))
        section class="says begin" {
            p.lead { (t.t("Begin")) }
            ol {
                li {
                    a.go href="/plants/new" { (t.t("empty, with one plant")) }
                    p { (t.t("A number and whatever you know of its name. About a minute; “unknown” is a full answer.")) }
                }
                li {
                    a.go href="/import" { (t.t("with the list you have")) }
                    p { (t.t("A spreadsheet in any order of columns, or labels typed one a line. You see every row as it was understood before anything is written.")) }
                }
                li {
                    form method="post" action="/demo/in" { button.go { (t.t("with a look at the demo")) } }
                    p { (t.t("An invented house: some 240 plants and three years of entries. One touch brings it in, one takes it out again; your own record stays empty.")) }
                }
                li {
                    a.go href="/restore" { (t.t("by restoring a copy")) }
                    p { (t.t("A backup, or a .umbel file of your own. It is checked first, and the copy itself is not touched.")) }
                }
            }
        }
    };
    ask.show(Nav::Today, t.t("Begin"), &body)
}

/// Brings the demo in.
pub(crate) async fn demo_in(ask: Ask) -> Answered {
    ask.app.enter_demo().map_err(|e| ask.failed(e))?;
    go("/")
}

/// Takes the demo out.
pub(crate) async fn demo_out(ask: Ask) -> Answered {
    ask.app.leave_demo();
    go("/")
}

/// Choosing a copy to restore.
pub(crate) async fn restore_form(ask: Ask) -> Answered {
    let t = ask.t();
    let body = html! {
        (title(&html! { a href="/begin" { (t.t("Begin")) } }, &html! { (t.t("Restore a copy")) },
            Some(t.t("The copy is read back and counted before it takes the place of the empty record. The copy itself is not touched."))))
        form.form method="post" action="/restore" enctype="multipart/form-data" {
            label.line { span { (t.t("Backup, or .umbel file")) } input type="file" name="file" required; }
            button.btn.main { (t.t("Check and restore")) }
        }
    };
    ask.show(Nav::Today, t.t("Restore a copy"), &body)
}

/// Restores a copy that was sent.
pub(crate) async fn restore(ask: Ask, mut form: Multipart) -> Answered {
    let broken = |e: axum::extract::multipart::MultipartError| {
        ask.failed(WebError::form("file", "", &e.to_string()))
    };
    let part = ask.app.own_path().with_extension("uploaded");
    let mut name = String::new();
    while let Some(field) = form.next_field().await.map_err(broken)? {
        if field.name() == Some("file") {
            name = field.file_name().unwrap_or("").to_owned();
            let bytes = field.bytes().await.map_err(broken)?;
            std::fs::write(&part, &bytes).map_err(|e| ask.failed(WebError::file(&part)(e)))?;
        }
    }
    if name.is_empty() {
        return Err(ask.failed(WebError::form(
            "file",
            "",
            "is missing; choose the backup to restore",
        )));
    }
    let restored = ask.app.restore(&part);
    let _ = std::fs::remove_file(&part);
    let report =
        restored.map_err(|e| ask.failed_next(e, ask.t().t("choose another copy"), "/restore"))?;
    let t = ask.t();
    let body = html! {
        (title(&html! { (name) }, &html! { (t.t("Restored")) },
            Some(&t.f("{plants} plants and {entries} entries were read back and counted.",
                &[("plants", &report.plants), ("entries", &report.entries)]))))
        p { a href="/plants" { (t.t("All plants")) } }
    };
    Ok(ask.page(Nav::Today, t.t("Restored")).render(&body).into_response())
}

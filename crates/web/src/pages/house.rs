//! The house: who writes, language and theme, backup, export.

use std::path::PathBuf;

use answers::acts;
use axum::{
    Form,
    http::header,
    response::{IntoResponse as _, Redirect},
};
use maud::html;

use super::{
    ask::{Answered, Ask, go},
    phones,
};
use crate::{
    forms::{Sent, choice, field, line},
    layout::{Nav, theme as theme_of, thousands, title},
    roles::Role,
};

/// The page.
pub(crate) async fn house(ask: Ask) -> Answered {
    let t = ask.t();
    // What others hold shows what they may do here, and no more.
    let owner = ask.caller.role() == Role::Owner;
    let journal = ask.journal();
    let setting = |key: &str| journal.setting(key).ok().flatten().unwrap_or_default();
    let last = setting("last_backup");
    let languages =
        [("en".to_owned(), "English".to_owned()), ("de".to_owned(), "Deutsch".to_owned())];
    let themes = [
        ("system".to_owned(), t.t("as the system").to_owned()),
        ("light".to_owned(), t.t("light").to_owned()),
        ("dark".to_owned(), t.t("dark").to_owned()),
    ];
    let body = html! {
        (title(&html! { @if owner { (journal.path().display().to_string()) } }, &html! { (t.t("House, backup and settings")) }, None))
        @if owner {
            section.sect id="light" {
                h2 { (t.t("Where the house is")) }
                form.form method="post" action="/house/where" {
                    (line(t.t("Latitude"), "latitude", &setting("latitude"), t.t("degrees, such as 52.4 or 33.9 S; without it no window can be computed")))
                    (line(t.t("Longitude"), "longitude", &setting("longitude"), t.t("degrees, such as 13.1 or 4.2 W")))
                    (line(t.t("Price of a kilowatt-hour"), "price", &setting("price_per_kwh"), t.t("such as 0.32 EUR; for what lamps cost")))
                    button.btn { (t.t("Keep")) }
                }
            }
        section {
            h2 { (t.t("Backup")) }
            p {
                @if last.is_empty() { (t.t("No backup has been made yet.")) }
                @else { (t.f("The last backup was made and read back on {when}.", &[("when", &last)])) }
            }
            form.inline method="post" action="/house/backup" {
                button.btn.main { (t.t("Make a backup now")) }
            }
            p.note { (t.t("A backup is one file with the record and all photos. It is read back, checked and counted before it is called good.")) }
        }
        section.sect {
            h2 { (t.t("Export")) }
            form.inline method="post" action="/house/export" { button.btn { (t.t("Write everything as tables")) } }
            p.note { (t.t("A folder of CSV files with a description of every column; reading it in again gives the same record.")) }
        }
        section.sect {
            h2 { (t.t("Feed and potting")) }
            p { a href="/feed" { (t.t("Feeds and waters, and what goes into a can")) } }
            p { a href="/potting" { (t.t("What wants a larger pot, mixes and materials")) } }
        }
        section.sect {
            h2 { (t.t("Lists of names")) }
            p { a href="/names" { (t.t("Checklists of accepted names")) } }
            p { a href="/left-over" { (t.t("What was left over from lists")) } }
        }
        section.sect {
            h2 { (t.t("Who writes")) }
            form.form method="post" action="/house" {
                (line(t.t("Your name"), "who", &setting("who"), t.t("stands beside every entry")))
                (choice(t.t("Language"), "language", &languages, &setting("language")))
                button.btn { (t.t("Keep")) }
            }
        }
        }
        section.sect {
            form.inline method="post" action="/theme" {
                (choice(t.t("Light or dark"), "theme", &themes, theme_of(&ask.headers)))
                button.btn { (t.t("Keep")) }
            }
        }
        (phones::section(&ask)?)
        @if owner {
        section.sect {
            h2 { (t.t("The demo")) }
            @if ask.app.in_demo() { form.inline method="post" action="/demo/out" { button.btn { (t.t("Leave the demo")) } } }
            @else { form.inline method="post" action="/demo/in" { button.btn { (t.t("Look at the demo")) } } }
        }
        }
    };
    ask.show(Nav::None, t.t("House"), &body)
}

/// Keeps who writes and the language.
pub(crate) async fn change(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    for key in ["who", "language"] {
        ask.journal().set_setting(key, field(&sent, key)).map_err(|e| ask.failed(e))?;
    }
    go("/house")
}

/// Keeps the theme in the browser.
pub(crate) async fn theme(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let chosen = match field(&sent, "theme") {
        "light" => "light",
        "dark" => "dark",
        _ => "system",
    };
    let _ = &ask;
    let cookie = format!("theme={chosen}; Path=/; Max-Age=31536000; SameSite=Strict; HttpOnly");
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to("/house")).into_response())
}

/// A name for a file with the instant in it.
fn stamped(ask: &Ask, word: &str) -> PathBuf {
    let stamp = ask.hand.now.strftime("%Y-%m-%d-%H%M%S");
    let journal = ask.journal();
    let stem =
        journal.path().file_stem().and_then(|s| s.to_str()).unwrap_or("collection").to_owned();
    journal.path().with_file_name(format!("{stem}-{stamp}.{word}"))
}

/// Makes a backup beside the record.
pub(crate) async fn backup(ask: Ask) -> Answered {
    let t = ask.t();
    let target = stamped(&ask, "umbel-backup");
    let report = ask.journal().back_up(&target).map_err(|e| ask.failed(e))?;
    let stamp = ask.hand.now.strftime("%Y-%m-%d %H:%M UTC").to_string();
    ask.journal().set_setting("last_backup", &stamp).map_err(|e| ask.failed(e))?;
    let body = html! {
        (title(&html! { a href="/house" { (t.t("House")) } }, &html! { (t.t("The backup is good")) },
            Some(&t.f("{plants} plants, {entries} entries and {photos} photos were read back and counted.",
                &[("plants", &thousands(report.plants)), ("entries", &thousands(report.entries)), ("photos", &report.photos)]))))
        dl.facts {
            dt { (t.t("File")) } dd { (report.path.display().to_string()) }
            dt { (t.t("Size")) } dd { (thousands(i64::try_from(report.size).unwrap_or(0))) " B" }
            dt { "SHA-256" } dd.raw { (report.hash) }
        }
        p.note { (t.t("Carry a copy to another disk: a backup beside the record does not survive the disk.")) }
    };
    ask.show(Nav::None, t.t("The backup is good"), &body)
}

/// Writes everything as tables beside the record.
pub(crate) async fn export(ask: Ask) -> Answered {
    let t = ask.t();
    let report = ask.journal().export(&stamped(&ask, "tables")).map_err(|e| ask.failed(e))?;
    let body = html! {
        (title(&html! { a href="/house" { (t.t("House")) } }, &html! { (t.t("Written as tables")) }, None))
        p { (report.folder.display().to_string()) }
        table.t { thead { tr { th { (t.t("File")) } th.r { (t.t("Rows")) } } } tbody {
            @for (file, n) in &report.rows { tr { td { (file) } td class="r num" { (thousands(i64::try_from(*n).unwrap_or(0))) } } }
        } }
    };
    ask.show(Nav::None, t.t("Written as tables"), &body)
}

/// Sets where the house is and what a kilowatt-hour costs.
pub(crate) async fn place(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let own = |key: &str| Some(field(&sent, key).to_owned());
    let typed = acts::HouseTyped {
        latitude: own("latitude"),
        longitude: own("longitude"),
        price: own("price"),
    };
    acts::set_house(&ask.journal(), &typed).map_err(|e| ask.failed(e))?;
    go("/house#light")
}

//! The door: what stands before the pages for every device but this machine.

use std::{
    sync::PoisonError,
    time::{Duration, Instant},
};

use axum::{
    Form,
    extract::{Query, Request},
    http::{HeaderValue, Method, StatusCode, header},
    response::{IntoResponse as _, Redirect, Response},
};
use maud::{DOCTYPE, Markup, html};
use texts::{Lang, Texts};

use super::{
    ask::{Answered, Ask, go, own_path},
    plants::escaped,
};
use crate::{
    App, WebError,
    caller::{Caller, cookie, token},
    forms::{Sent, field, filled},
    labels::HOUSE,
    layout::theme,
    passcode::{LONGEST, SHORTEST},
    phones::house_name,
    roles::{May, Role},
    sessions::{Devices, KNOWN_DAYS},
};

/// Stops a stranger before every page but the door and what the door is made of.
pub(crate) fn stop(app: &App, caller: &Caller, what: May, request: &Request) -> Option<Response> {
    if *caller != Caller::Stranger {
        return None;
    }
    let t = app.hand(request.headers()).texts();
    let path = request.uri().path();
    let safe = matches!(*request.method(), Method::GET | Method::HEAD);
    if safe && path.starts_with("/static/") {
        return None;
    }
    if !app.gate().has_passcode() {
        let words = t.t("This house is not open to other devices: it has no passcode. Set one on the machine where Umbel runs.");
        return Some((StatusCode::FORBIDDEN, words.to_owned()).into_response());
    }
    if what == May::Anyone {
        return None;
    }
    if !safe {
        let words = t.t("This device is not known here, or no longer, so nothing was written. Open this house in another tab and give the passcode; then go back and send again: what you typed is still in the form.");
        return Some((StatusCode::FORBIDDEN, words.to_owned()).into_response());
    }
    let wanted = request.uri().path_and_query().map_or("/", |to| to.as_str());
    Some(Redirect::to(&format!("/door?to={}", escaped(wanted))).into_response())
}

fn seconds(wait: Duration) -> u64 {
    u64::try_from(wait.as_millis().div_ceil(1000)).unwrap_or(u64::MAX)
}

pub(crate) fn wait_words(t: Texts, wait: Duration) -> String {
    t.f(
        "The next try can be made in one second.|The next try can be made in {n} seconds.",
        &[("n", &seconds(wait))],
    )
}

/// The page of the door: the passcode, or a code from the owner's screen.
fn door_page(ask: &Ask, to: &str, said: &[String]) -> Markup {
    let t = ask.t();
    let body = html! {
        form.form method="post" action="/door" {
            input type="hidden" name="to" value=(to);
            (secret(t.t("Passcode"), "passcode", "current-password", t.t("set on the machine where Umbel runs, on the page House")))
            button class="btn main" { (t.t("Come in")) }
        }
        (super::pairing::code_form(t, ""))
        p.note { (t.f("This device is then known for {n} days.", &[("n", &KNOWN_DAYS)])) }
    };
    outside(ask, t.t("The door"), t.t("This device is not known here yet."), said, &body)
}

/// A page before the door. It says nothing of the record: not even its last change.
pub(crate) fn outside(
    ask: &Ask,
    heading: &str,
    lede: &str,
    said: &[String],
    body: &Markup,
) -> Markup {
    let t = ask.t();
    let lang = match t.lang() {
        Lang::En => "en-GB",
        Lang::De => "de",
    };
    html! {
        (DOCTYPE)
        html lang=(lang) data-theme=(theme(&ask.headers)) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover";
                meta name="color-scheme" content="light dark";
                meta name="robots" content="noindex";
                title { (heading) " · Umbel" }
                link rel="icon" href="/static/icon.svg" type="image/svg+xml";
                link rel="stylesheet" href="/static/umbel.css";
            }
            body {
                main id="main" {
                    div.title {
                        p.over { "Umbel" }
                        h1 { (heading) }
                        p.lede { (lede) }
                    }
                    @if !said.is_empty() {
                        section class="sect error" role="alert" { @for words in said { p { (words) } } }
                    }
                    (body)
                }
            }
        }
    }
}

pub(crate) fn secret(label: &str, key: &str, kind: &str, hint: &str) -> Markup {
    html! {
        label.line {
            span { (label) }
            input type="password" name=(key) required autocomplete=(kind) autocapitalize="none" spellcheck="false";
            @if !hint.is_empty() { small { (hint) } }
        }
    }
}

/// The door.
pub(crate) async fn door(ask: Ask, Query(sent): Query<Sent>) -> Answered {
    let to = own_path(field(&sent, "to"));
    match ask.caller {
        Caller::Stranger => Ok(door_page(&ask, to, &[]).into_response()),
        _ => go(to),
    }
}

/// As typed: a passcode may begin or end with a space.
fn raw<'a>(sent: &'a Sent, key: &str) -> &'a str {
    sent.get(key).map_or("", String::as_str)
}

/// Begins a try at the door. It counts as wrong until [`come_in`].
pub(crate) fn begin_try(ask: &Ask) -> Result<Duration, Duration> {
    let mut tries = ask.app.gate().tries.lock().unwrap_or_else(PoisonError::into_inner);
    tries.begin(ask.link.from, Instant::now())
}

/// What is said of a try that came too early.
pub(crate) fn too_early(t: Texts, left: Duration) -> [String; 2] {
    [t.t("Too early: it was not looked at.").to_owned(), wait_words(t, left)]
}

/// The try was right: the device is let in and leads on.
pub(crate) fn come_in(ask: &Ask, name: &str, role: Role, to: &str) -> Answered {
    ask.app.gate().tries.lock().unwrap_or_else(PoisonError::into_inner).right(ask.link.from);
    let token = ask
        .app
        .gate()
        .let_in(&ask.hand.device, name, role, ask.hand.now)
        .map_err(|e| ask.failed(e))?;
    let cookie = cookie(&token, KNOWN_DAYS * 24 * 60 * 60, ask.link.encrypted);
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to(to)).into_response())
}

/// Somebody gives a passcode.
pub(crate) async fn knock(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let t = ask.t();
    let to = own_path(field(&sent, "to"));
    if ask.caller != Caller::Stranger {
        return go(to);
    }
    let wait = match begin_try(&ask) {
        Ok(wait) => wait,
        Err(left) => {
            let page = door_page(&ask, to, &too_early(t, left));
            return Ok(refused(StatusCode::TOO_MANY_REQUESTS, left, &page));
        }
    };
    let passcode = raw(&sent, "passcode").to_owned();
    let app = ask.app.clone();
    let right = passcode.chars().count() <= LONGEST
        && tokio::task::spawn_blocking(move || app.gate().fits(&passcode)).await.unwrap_or(false);
    if !right {
        let said = [t.t("This is not the passcode.").to_owned(), wait_words(t, wait)];
        return Ok(refused(StatusCode::FORBIDDEN, wait, &door_page(&ask, to, &said)));
    }
    come_in(&ask, "", Role::Owner, to)
}

/// A page that says why a try failed, and when the next can be made.
pub(crate) fn refused(status: StatusCode, wait: Duration, page: &Markup) -> Response {
    let after = HeaderValue::from(seconds(wait));
    (status, [(header::RETRY_AFTER, after)], page.clone()).into_response()
}

/// This device is forgotten.
pub(crate) async fn leave(ask: Ask) -> Answered {
    if let Some(token) = token(&ask.headers, ask.link.encrypted) {
        Devices(&ask.app.own_journal()).leave(token).map_err(|e| ask.failed(e))?;
    }
    let cookie = cookie("", 0, ask.link.encrypted);
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to("/door")).into_response())
}

/// Sets, changes or takes away the passcode.
pub(crate) async fn set_passcode(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let gate = ask.app.gate();
    if field(&sent, "act") == "take away" {
        gate.set_passcode(None).map_err(|e| ask.failed(e))?;
        return go("/house");
    }
    let passcode = raw(&sent, "passcode");
    let length = passcode.chars().count();
    // The value is not repeated in the message: it is a secret.
    let wrong = |problem: &str| ask.failed(WebError::form("passcode", "…", problem));
    if length < SHORTEST {
        return Err(wrong(&ask.t().f(
            "has {n} characters; write at least {least}, such as four words",
            &[("n", &length), ("least", &SHORTEST)],
        )));
    }
    if length > LONGEST {
        return Err(wrong(&ask.t().f(
            "has {n} characters; write at most {most}",
            &[("n", &length), ("most", &LONGEST)],
        )));
    }
    if passcode != raw(&sent, "again") {
        return Err(wrong(
            ask.t().t("was not written the same twice; write it again in both lines"),
        ));
    }
    gate.set_passcode(Some(passcode)).map_err(|e| ask.failed(e))?;
    go("/house")
}

/// The house's name as it stands in a record.
pub(crate) fn name_of(ask: &Ask) -> Result<String, crate::layout::Failed> {
    let journal = ask.app.own_journal();
    let name = journal.setting("house").map_err(|e| ask.failed(e))?;
    Ok(name.filter(|n| !n.is_empty()).unwrap_or_else(|| HOUSE.to_owned()))
}

/// Gives the house its name. Where there are plants, labels may have been printed: then it must
/// be said that they may go stale.
pub(crate) async fn name_house(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let typed = field(&sent, "name");
    let name =
        house_name(typed).map_err(|problem| ask.failed(WebError::form("name", typed, problem)))?;
    let before = name_of(&ask)?;
    if name == before {
        return go("/house");
    }
    let journal = ask.app.own_journal();
    let (plants, _) = journal.read(|r| r.totals()).map_err(|e| ask.failed(e))?;
    if plants > 0 && filled(&sent, "stale").is_none() {
        let words = ask.t().f(
            "Squares on labels printed so far lead to {before}; under another name they lead nowhere and must be printed again. Tick that they may go stale to change it all the same.",
            &[("before", &before)],
        );
        return Err(ask.failed_next(
            WebError::Conflict(words),
            ask.t().t("Back to the house"),
            "/house",
        ));
    }
    journal.set_setting("house", &name).map_err(|e| ask.failed(e))?;
    go("/house")
}

//! The door: what stands before the pages for every device but this machine.

use std::{
    net::IpAddr,
    sync::PoisonError,
    time::{Duration, Instant},
};

use axum::{
    Extension, Form,
    extract::{Query, Request},
    http::{HeaderMap, HeaderValue, Method, StatusCode, header},
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
    forms::{Sent, field, filled, line},
    labels::HOUSE,
    layout::theme,
    passcode::{KNOWN_DAYS, LONGEST, SHORTEST},
    phones::{addresses, house_name},
};

/// The cookie that a device which gave the passcode carries.
const COOKIE: &str = "door";

/// Who asks for a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Caller {
    /// A browser on this machine.
    Here,
    /// A device that has given the passcode.
    Known,
    /// Any other device, by its address.
    Stranger(IpAddr),
}

/// Tells who asks. Where the address is not known, as without a socket, it is this machine only
/// if the pages are listened for on this machine only.
pub(crate) fn caller(app: &App, peer: Option<IpAddr>, headers: &HeaderMap) -> Caller {
    let peer = peer.map(|ip| ip.to_canonical());
    let here = peer.map_or(!app.door().is_open(), |ip| ip.is_loopback());
    if here {
        return Caller::Here;
    }
    match token(headers) {
        Some(token) if app.door().knows(token, app.now()) => Caller::Known,
        _ => Caller::Stranger(peer.unwrap_or(IpAddr::from([0, 0, 0, 0]))),
    }
}

fn token(headers: &HeaderMap) -> Option<&str> {
    let cookies = headers.get(header::COOKIE)?.to_str().ok()?;
    cookies
        .split(';')
        .filter_map(|c| c.trim().split_once('='))
        .find(|(name, _)| *name == COOKIE)
        .map(|(_, token)| token)
}

/// Stops a stranger before every page but the door and what the door is drawn with.
pub(crate) fn stop(app: &App, caller: Caller, request: &Request) -> Option<Response> {
    let Caller::Stranger(_) = caller else { return None };
    let t = app.hand(request.headers()).texts();
    let path = request.uri().path();
    let safe = matches!(*request.method(), Method::GET | Method::HEAD);
    if safe && path.starts_with("/static/") {
        return None;
    }
    if !app.door().has_passcode() {
        let words = t.t("This house is not open to other devices: it has no passcode. Set one on the machine where Umbel runs.");
        return Some((StatusCode::FORBIDDEN, words.to_owned()).into_response());
    }
    if path == "/door" {
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

fn wait_words(t: Texts, wait: Duration) -> String {
    t.f(
        "The next try can be made in one second.|The next try can be made in {n} seconds.",
        &[("n", &seconds(wait))],
    )
}

/// The page of the door. It says nothing of the record: not even its last change.
fn door_page(ask: &Ask, to: &str, said: &[String]) -> Markup {
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
                title { (t.t("The door")) " · Umbel" }
                link rel="icon" href="/static/icon.svg" type="image/svg+xml";
                link rel="stylesheet" href="/static/umbel.css";
            }
            body {
                main id="main" {
                    div.title {
                        p.over { "Umbel" }
                        h1 { (t.t("The door")) }
                        p.lede { (t.t("This device is not known here yet.")) }
                    }
                    @if !said.is_empty() {
                        section class="sect error" role="alert" { @for words in said { p { (words) } } }
                    }
                    form.form method="post" action="/door" {
                        input type="hidden" name="to" value=(to);
                        (secret(t.t("Passcode"), "passcode", "current-password", t.t("set on the machine where Umbel runs, on the page House")))
                        button class="btn main" { (t.t("Come in")) }
                    }
                    p.note { (t.f("This device is then known for {n} days.", &[("n", &KNOWN_DAYS)])) }
                }
            }
        }
    }
}

fn secret(label: &str, key: &str, kind: &str, hint: &str) -> Markup {
    html! {
        label.line {
            span { (label) }
            input type="password" name=(key) required autocomplete=(kind) autocapitalize="none" spellcheck="false";
            @if !hint.is_empty() { small { (hint) } }
        }
    }
}

/// The door.
pub(crate) async fn door(
    ask: Ask,
    Extension(caller): Extension<Caller>,
    Query(sent): Query<Sent>,
) -> Answered {
    let to = own_path(field(&sent, "to"));
    match caller {
        Caller::Stranger(_) => Ok(door_page(&ask, to, &[]).into_response()),
        _ => go(to),
    }
}

/// As typed: a passcode may begin or end with a space.
fn raw<'a>(sent: &'a Sent, key: &str) -> &'a str {
    sent.get(key).map_or("", String::as_str)
}

/// Somebody gives a passcode.
pub(crate) async fn knock(
    ask: Ask,
    Extension(caller): Extension<Caller>,
    Form(sent): Form<Sent>,
) -> Answered {
    let t = ask.t();
    let to = own_path(field(&sent, "to"));
    let Caller::Stranger(from) = caller else { return go(to) };
    let begun = {
        let mut tries = ask.app.door().tries.lock().unwrap_or_else(PoisonError::into_inner);
        tries.begin(from, Instant::now())
    };
    let wait = match begun {
        Ok(wait) => wait,
        Err(left) => {
            let said =
                [t.t("Too early: the passcode was not looked at.").to_owned(), wait_words(t, left)];
            return Ok(refused(StatusCode::TOO_MANY_REQUESTS, left, &door_page(&ask, to, &said)));
        }
    };
    let passcode = raw(&sent, "passcode").to_owned();
    let app = ask.app.clone();
    let right = passcode.chars().count() <= LONGEST
        && tokio::task::spawn_blocking(move || app.door().fits(&passcode)).await.unwrap_or(false);
    if !right {
        let said = [t.t("This is not the passcode.").to_owned(), wait_words(t, wait)];
        return Ok(refused(StatusCode::FORBIDDEN, wait, &door_page(&ask, to, &said)));
    }
    ask.app.door().tries.lock().unwrap_or_else(PoisonError::into_inner).right(from);
    let token = ask.app.door().let_in(&ask.app, &ask.hand.device).map_err(|e| ask.failed(e))?;
    let age = KNOWN_DAYS * 24 * 60 * 60;
    let cookie = format!("{COOKIE}={token}; Path=/; Max-Age={age}; HttpOnly; SameSite=Strict");
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to(to)).into_response())
}

fn refused(status: StatusCode, wait: Duration, page: &Markup) -> Response {
    let after = HeaderValue::from(seconds(wait));
    (status, [(header::RETRY_AFTER, after)], page.clone()).into_response()
}

/// This device is forgotten.
pub(crate) async fn leave(ask: Ask) -> Answered {
    if let Some(token) = token(&ask.headers) {
        ask.app.door().forget(&ask.app, token).map_err(|e| ask.failed(e))?;
    }
    let cookie = format!("{COOKIE}=; Path=/; Max-Age=0; HttpOnly; SameSite=Strict");
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to("/door")).into_response())
}

/// All devices are forgotten.
pub(crate) async fn forget_all(ask: Ask) -> Answered {
    ask.app.door().forget_all(&ask.app).map_err(|e| ask.failed(e))?;
    go("/house")
}

/// What decides who comes in is changed on this machine only.
fn here_only(ask: &Ask, caller: Caller) -> Result<(), crate::layout::Failed> {
    if caller == Caller::Here {
        return Ok(());
    }
    let words = ask.t().t("This is changed only on the machine where Umbel runs.");
    Err(ask.failed(WebError::Conflict(words.to_owned())))
}

/// Sets, changes or takes away the passcode.
pub(crate) async fn set_passcode(
    ask: Ask,
    Extension(caller): Extension<Caller>,
    Form(sent): Form<Sent>,
) -> Answered {
    here_only(&ask, caller)?;
    let door = ask.app.door();
    if field(&sent, "act") == "take away" {
        door.set(&ask.app, None).map_err(|e| ask.failed(e))?;
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
    door.set(&ask.app, Some(passcode)).map_err(|e| ask.failed(e))?;
    go("/house")
}

/// The house's name as it stands in a record.
fn name_of(ask: &Ask) -> Result<String, crate::layout::Failed> {
    let journal = ask.app.own_journal().map_err(|e| ask.failed(e))?;
    let name = journal.setting("house").map_err(|e| ask.failed(e))?;
    Ok(name.filter(|n| !n.is_empty()).unwrap_or_else(|| HOUSE.to_owned()))
}

/// Gives the house its name. Where there are plants, labels may have been printed: then it must
/// be said that they may go stale.
pub(crate) async fn name_house(
    ask: Ask,
    Extension(caller): Extension<Caller>,
    Form(sent): Form<Sent>,
) -> Answered {
    here_only(&ask, caller)?;
    let typed = field(&sent, "name");
    let name =
        house_name(typed).map_err(|problem| ask.failed(WebError::form("name", typed, problem)))?;
    let before = name_of(&ask)?;
    if name == before {
        return go("/house");
    }
    let journal = ask.app.own_journal().map_err(|e| ask.failed(e))?;
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

/// “Phones at the shelf”, on the page of the house.
pub(crate) fn section(ask: &Ask, caller: Caller) -> Result<Markup, crate::layout::Failed> {
    let t = ask.t();
    let door = ask.app.door();
    let name = name_of(ask)?;
    let devices = door.devices(ask.hand.now);
    Ok(html! {
        section.sect id="phones" {
            h2 { (t.t("Phones at the shelf")) }
            p { (state_words(t, &ask.app, &name)) }
            @for note in door.notes() { p.note { (note) } }
            @if caller == Caller::Here { (passcode_forms(t, door.has_passcode())) }
            @if !devices.is_empty() {
                p.under { (t.f("one device is known|{n} devices are known", &[("n", &devices.len())])) }
                ul {
                    @for d in &devices {
                        li { (t.word(&d.device)) ", " (t.f("since {from}, until {until}", &[("from", &d.since.strftime("%Y-%m-%d")), ("until", &d.until.strftime("%Y-%m-%d"))])) }
                    }
                }
                form.inline method="post" action="/house/phones/forget" { button.btn { (t.t("Forget all phones")) } }
            }
            @if caller == Caller::Known {
                form.inline method="post" action="/door/leave" { button.btn { (t.t("Leave on this device")) } }
                p.note { (t.t("Passcode and name are changed only on the machine where Umbel runs.")) }
            }
            p class="note caution" { b { (t.t("In your own network only.")) } " " (t.t("What goes between a phone and this machine is not encrypted. Do not open the house in a network of strangers, and use a passcode that opens nothing else.")) }
            @if caller == Caller::Here { (name_form(t, &name)) }
        }
    })
}

fn state_words(t: Texts, app: &App, name: &str) -> String {
    let door = app.door();
    if !door.has_passcode() {
        return t.t("No passcode is set: the pages can be opened on this machine only.").to_owned();
    }
    if !door.is_open() {
        return t
            .t("A passcode is set. Start Umbel with “umbel open --phones” to open the pages to phones; now they can be opened on this machine only.")
            .to_owned();
    }
    let own: Vec<String> = addresses().iter().map(ToString::to_string).collect();
    t.f(
        "The pages are open to phones that give the passcode. This house is called {name}; its addresses are {addresses}.",
        &[("name", &name), ("addresses", &own.join(", "))],
    )
}

fn passcode_forms(t: Texts, set: bool) -> Markup {
    html! {
        form.form method="post" action="/house/passcode" {
            (secret(t.t("New passcode"), "passcode", "new-password", t.t("at least 8 characters; four words are good")))
            (secret(t.t("Once more"), "again", "new-password", ""))
            button.btn { @if set { (t.t("Change the passcode")) } @else { (t.t("Set the passcode")) } }
        }
        @if set {
            form.inline method="post" action="/house/passcode" {
                input type="hidden" name="act" value="take away";
                button.btn { (t.t("Take the passcode away")) }
            }
            p.note { (t.t("Changing it or taking it away forgets all phones.")) }
        }
    }
}

fn name_form(t: Texts, name: &str) -> Markup {
    html! {
        form.form method="post" action="/house/name" {
            h3 { (t.t("The house's name on labels")) }
            (line(t.t("Name"), "name", name, t.t("one word and .local; chosen once: squares on labels hold it")))
            label.tick { input type="checkbox" name="stale" value="yes"; (t.t("labels printed so far may go stale")) }
            button.btn { (t.t("Keep")) }
            p.note { (t.t("Phones find a new name after Umbel was started again.")) }
        }
    }
}

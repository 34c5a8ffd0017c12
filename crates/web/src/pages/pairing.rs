//! Pairing: the owner's screen shows a square and a code, and the phone that has it comes in once.

use axum::{Form, extract::Path, http::StatusCode, response::IntoResponse as _};
use maud::{Markup, PreEscaped, html};
use printing::Square;
use texts::Texts;

use super::{
    ask::{Answered, Ask, go},
    door::{begin_try, come_in, outside, refused, too_early, wait_words},
    phones::{caution, clock},
};
use crate::{
    WebError,
    caller::{Caller, token},
    forms::{Sent, field, line},
    gate::Ways,
    layout::{Nav, title},
    passcode::{grouped, plain_code},
    roles::Role,
    sessions::{Devices, PAIRING_MINUTES, Pairing},
};

/// Makes a code and shows it, once.
pub(crate) async fn offer(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let typed = field(&sent, "role");
    let role = Role::of_word(typed)
        .ok_or_else(|| ask.failed(WebError::form("as", typed, "is no role; choose one")))?;
    if !ask.app.gate().is_open() {
        let words = ask.t().t("The pages can be opened on this machine only. Start Umbel with “umbel open --phones” and let the phone in then.");
        return Err(ask.failed(WebError::Conflict(words.to_owned())));
    }
    let pairing = Devices(&ask.app.own_journal())
        .offer(role, field(&sent, "name"), ask.hand.now)
        .map_err(|e| ask.failed(e))?;
    let t = ask.t();
    let body = html! {
        (title(&html! { a href="/house#phones" { (t.t("House")) } }, &html! { (t.t("Let a phone in")) },
            Some(&t.f("Good once, until {time}.", &[("time", &clock(pairing.until, "%H:%M:%S"))]))))
        (shown(&ask, &pairing)?)
        (caution(&ask))
        p { a href="/house#phones" { (t.t("Back to the house")) } }
    };
    ask.show(Nav::None, t.t("Let a phone in"), &body)
}

/// The square, and what to type where it cannot be read.
fn shown(ask: &Ask, pairing: &Pairing) -> Result<Markup, crate::layout::Failed> {
    let t = ask.t();
    let Ways { by_name, by_number, fingerprint, .. } = ask.app.gate().ways();
    let square =
        Square::of(&pairing.address(&by_name)).map_err(|e| ask.failed(WebError::Conflict(e)))?;
    let words = t.t("square code for the camera of the phone");
    Ok(html! {
        figure.pair role="img" aria-label=(words) { (PreEscaped(square.svg())) }
        dl.facts {
            dt { (t.t("Open on the phone")) } dd.raw { (by_name) "/door" }
            @if !by_number.is_empty() { dt { (t.t("or")) } dd.raw { (by_number) "/door" } }
            dt { (t.t("and type the code")) } dd.raw { (pairing.grouped()) }
            @if !fingerprint.is_empty() { dt { (t.t("Fingerprint (SHA-256)")) } dd.raw { (fingerprint) } }
            dt { (t.t("It comes in as")) } dd { @if !pairing.name.is_empty() { (pairing.name) ", " } (pairing.role.words(t)) }
        }
        p.note { (t.f("The code can be used for {n} minutes and by one device; it is shown only now.", &[("n", &PAIRING_MINUTES)])) }
    })
}

/// The line for a code that was typed or read from the square.
pub(crate) fn code_form(t: Texts, code: &str) -> Markup {
    html! {
        form.form method="post" action="/pair" {
            (line(t.t("Code"), "code", &grouped(&plain_code(code)), t.t("from the owner's screen, page House, “Let a phone in”")))
            button.btn { (t.t("Pair this device")) }
        }
    }
}

fn pair_page(ask: &Ask, code: &str, said: &[String]) -> Markup {
    let t = ask.t();
    let lede = t.t("One touch, and the code is used up.");
    outside(ask, t.t("Pair this device"), lede, said, &code_form(t, code))
}

/// The page that the square leads to. Looking at it uses nothing up: programs that look ahead at
/// links would.
pub(crate) async fn page(ask: Ask, Path(code): Path<String>) -> Answered {
    match ask.caller {
        Caller::Here => go("/"),
        _ => Ok(pair_page(&ask, &code, &[]).into_response()),
    }
}

/// A phone comes in with a code; one that is known comes in anew, such as in another role.
pub(crate) async fn pair(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let t = ask.t();
    if ask.caller == Caller::Here {
        return go("/");
    }
    let code = field(&sent, "code");
    let wait = match begin_try(&ask) {
        Ok(wait) => wait,
        Err(left) => {
            let page = pair_page(&ask, code, &too_early(t, left));
            return Ok(refused(StatusCode::TOO_MANY_REQUESTS, left, &page));
        }
    };
    let own = ask.app.own_journal();
    match Devices(&own).use_up(code, ask.hand.now).map_err(|e| ask.failed(e))? {
        Some((role, name)) => {
            if let Some(before) = token(&ask.headers, ask.link.encrypted) {
                Devices(&own).leave(before).map_err(|e| ask.failed(e))?;
            }
            come_in(&ask, &name, role, "/")
        }
        None => {
            let said = [
                t.t("This code cannot be used: it was used already, is too old, or was never made. Let the owner's screen show another.").to_owned(),
                wait_words(t, wait),
            ];
            Ok(refused(StatusCode::FORBIDDEN, wait, &pair_page(&ask, "", &said)))
        }
    }
}

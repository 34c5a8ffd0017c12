//! Entries that waited on a phone for the connection: each carries an identifier made there and
//! counts once, however often it is sent.
//!
//! The script of the pages sends a form with two headers: the identifier of the operation that is
//! to be written, a UUID of version 7, and the day on which it was filled in, so that an open date
//! means that day. What is answered tells it apart from a form that was not taken.

use answers::Hand;
use axum::{
    http::{HeaderMap, HeaderName, HeaderValue, Request, StatusCode, header},
    response::{IntoResponse as _, Response},
};
use jiff::civil::Date;
use journal::OpId;

use crate::{App, WebError};

/// The identifier of the operation.
pub(crate) const OP: HeaderName = HeaderName::from_static("x-umbel-op");

/// The day on which the form was filled in.
const DAY: HeaderName = HeaderName::from_static("x-umbel-day");

/// Where the page leads on after a form was taken.
const TO: HeaderName = HeaderName::from_static("x-umbel-to");

/// The longest that a form waits \[days\].
const LONGEST_WAIT: i64 = 60;

/// How far the clock of a phone may be ahead \[ms\]: a day, as for dates of entries.
const AHEAD: i64 = 24 * 60 * 60 * 1000;

/// The identifier that a form carries.
///
/// # Errors
/// If it is no UUID of version 7, or was made by a clock that is ahead.
pub(crate) fn op(headers: &HeaderMap, now: jiff::Timestamp) -> Result<Option<OpId>, WebError> {
    let Some(sent) = headers.get(OP) else { return Ok(None) };
    let typed = sent.to_str().unwrap_or("…");
    let wrong = |problem: &str| WebError::form("op", typed, problem);
    let op: OpId = typed.parse().map_err(|_| wrong("is no identifier; open the page again"))?;
    let made = op.made().ok_or_else(|| wrong("is no identifier of a step; open the page again"))?;
    if made > now.as_millisecond() + AHEAD {
        return Err(wrong("was made in the future; set the clock of this device and send again"));
    }
    Ok(Some(op))
}

/// Gives the hand the identifier, and the day on which the form was filled in.
pub(crate) fn fill(hand: &mut Hand, headers: &HeaderMap) {
    hand.op = op(headers, hand.now).ok().flatten();
    if hand.op.is_none() {
        return;
    }
    let day = headers.get(DAY).and_then(|d| d.to_str().ok()).and_then(|d| d.parse::<Date>().ok());
    let days = |d: Date| i64::from(dates::to_days(d));
    if let Some(day) = day
        && (0..=LONGEST_WAIT).contains(&(days(hand.today) - days(day)))
    {
        hand.today = day;
    }
}

/// Whether the operation is in the record already.
///
/// # Errors
/// Those of the record.
pub(crate) fn counted(app: &App, op: OpId) -> Result<bool, WebError> {
    Ok(app.journal().read(|r| r.operation(op))?.is_some())
}

/// What is answered to a form that was counted before: the page that its address belongs to.
pub(crate) fn again<B>(request: &Request<B>) -> Response {
    let path = request.uri().path();
    let page = match path.rsplit_once('/') {
        // Today is the first page.
        Some(("/today" | "", _)) | None => "/",
        Some((page, _)) => page,
    };
    taken(HeaderValue::from_str(page).unwrap_or(HeaderValue::from_static("/")))
}

fn taken(to: HeaderValue) -> Response {
    (StatusCode::OK, [(TO, to)]).into_response()
}

/// Tells the script of a form that was taken; any other answer is the page that says why not.
pub(crate) fn answer(response: Response) -> Response {
    if response.status() != StatusCode::SEE_OTHER {
        return response;
    }
    match response.headers().get(header::LOCATION) {
        Some(to) => taken(to.clone()),
        None => response,
    }
}

//! Finding: a number, a code, or words.

use axum::{
    extract::{Path, Query},
    http::Uri,
};
use journal::Code;

use super::{
    ask::{Answered, Ask, go},
    plants::escaped,
};
use crate::{
    WebError,
    forms::{Sent, field},
};

/// The cross that the code of a tag means, such as `X-12`.
fn cross_number(code: &str) -> Option<i64> {
    code.strip_prefix(['X', 'x'])?.strip_prefix('-')?.parse().ok().filter(|n| *n > 0)
}

/// Leads to the plant of a number or code, or to the list of what the words find.
pub(crate) async fn find(ask: Ask, Query(sent): Query<Sent>) -> Answered {
    let words = field(&sent, "q");
    if let Ok(number) = words.trim_start_matches('#').parse::<i64>()
        && ask.read(|r| Ok(r.plant(number)?.is_some()))?
    {
        return go(&format!("/plants/{number}"));
    }
    if let Some(cross) = cross_number(words)
        && ask.read(|r| Ok(r.crosses()?.iter().any(|c| c.number == cross)))?
    {
        return go(&format!("/crosses/{cross}"));
    }
    if let Ok(code) = words.parse::<Code>()
        && let Some(plant) = ask.read(|r| Ok(r.plant_by_code(code)?))?
    {
        return go(&format!("/plants/{}", plant.number));
    }
    go(&format!("/plants?q={}&state=any", escaped(words)))
}

/// The address on a label: a code of six characters.
pub(crate) async fn code(ask: Ask, Path(code): Path<String>) -> Answered {
    let typed = code.clone();
    if let Some(cross) = cross_number(&code) {
        return go(&format!("/crosses/{cross}"));
    }
    let code: Code = match code.parse() {
        Ok(code) => code,
        Err(e)
            if typed.chars().count() == 6 && typed.chars().all(|c| c.is_ascii_alphanumeric()) =>
        {
            return Err(ask.failed(WebError::form("code", &typed, &e.to_string())));
        }
        Err(_) => return Err(ask.failed(WebError::NoPage(format!("/{typed}")))),
    };
    match ask.read(|r| Ok(r.plant_by_code(code)?))? {
        Some(plant) => go(&format!("/plants/{}", plant.number)),
        None => Err(ask.failed(WebError::NoPage(format!("/{code}")))),
    }
}

/// Any other address.
pub(crate) async fn nowhere(ask: Ask, uri: Uri) -> Answered {
    Err(ask.failed(WebError::NoPage(uri.path().to_owned())))
}

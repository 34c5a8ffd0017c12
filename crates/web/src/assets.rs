//! Style sheet, script and fonts, inside the program: everything works without a connection.

use axum::{
    extract::Path,
    http::{StatusCode, header},
    response::{IntoResponse as _, Response},
};

const CSS: &str = concat!(
    include_str!("../static/umbel.css"),
    "
",
    include_str!("../static/pages.css"),
    "
",
    include_str!("../static/import.css"),
    "
",
    include_str!("../static/phones.css")
);
const SCRIPT: &str =
    concat!(include_str!("../static/umbel.js"), include_str!("../static/waits.js"));
const ICON: &str = include_str!("../static/icon.svg");

macro_rules! font {
    ($name:literal) => {
        ($name, include_bytes!(concat!("../static/fonts/", $name)) as &[u8])
    };
}

const FONTS: [(&str, &[u8]); 8] = [
    font!("source-serif-4-latin-opsz-normal.woff2"),
    font!("source-serif-4-latin-opsz-italic.woff2"),
    font!("source-serif-4-latin-ext-opsz-normal.woff2"),
    font!("source-serif-4-latin-ext-opsz-italic.woff2"),
    font!("ysabeau-office-latin-wght-normal.woff2"),
    font!("ysabeau-office-latin-wght-italic.woff2"),
    font!("ysabeau-office-latin-ext-wght-normal.woff2"),
    font!("ysabeau-office-latin-ext-wght-italic.woff2"),
];

fn sent(kind: &'static str, age: &'static str, body: &'static [u8]) -> Response {
    ([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, age)], body).into_response()
}

/// A file of the program.
pub(crate) async fn asset(Path(name): Path<String>) -> Response {
    match name.as_str() {
        "umbel.css" => sent("text/css; charset=utf-8", "no-cache", CSS.as_bytes()),
        "umbel.js" => sent("text/javascript; charset=utf-8", "no-cache", SCRIPT.as_bytes()),
        "icon.svg" => sent("image/svg+xml", "max-age=86400", ICON.as_bytes()),
        other => match other.strip_prefix("fonts/").and_then(font) {
            Some(body) => sent("font/woff2", "max-age=31536000, immutable", body),
            None => StatusCode::NOT_FOUND.into_response(),
        },
    }
}

fn font(name: &str) -> Option<&'static [u8]> {
    FONTS.iter().find(|f| f.0 == name).map(|f| f.1)
}

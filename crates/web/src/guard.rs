//! Guards before every page: which host is asked, where a form comes from, what a page may load,
//! and that a panic costs one answer and not the server.

use axum::{
    Router,
    extract::{DefaultBodyLimit, Request, State},
    http::{HeaderMap, HeaderValue, Method, StatusCode, header},
    middleware::{self, Next},
    response::{IntoResponse as _, Response},
};
use tower_http::{catch_panic::CatchPanicLayer, compression::CompressionLayer};

use crate::App;

/// The largest form that is taken [bytes]: a list of plants with a generous margin.
const LARGEST_BODY: usize = 110 * 1024 * 1024;

const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; font-src 'self'; \
    img-src 'self'; connect-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; \
    frame-ancestors 'none'; object-src 'none'";

/// Puts the guards before the pages.
pub(crate) fn guarded(routes: Router<App>, app: App) -> Router {
    routes
        .layer(CatchPanicLayer::custom(|_: Box<dyn std::any::Any + Send>| {
            (
                StatusCode::INTERNAL_SERVER_ERROR,
                "Something in Umbel failed. Nothing was written. Go back and try again.",
            )
                .into_response()
        }))
        .layer(CompressionLayer::new())
        .layer(DefaultBodyLimit::max(LARGEST_BODY))
        .layer(middleware::from_fn_with_state(app.clone(), guard))
        .with_state(app)
}

async fn guard(State(app): State<App>, request: Request, next: Next) -> Response {
    if !known_host(request.headers(), app.hosts()) {
        return (
            StatusCode::MISDIRECTED_REQUEST,
            "This address is not one of this house's names. Open Umbel under the address that it printed when it started.",
        )
            .into_response();
    }
    let safe = matches!(*request.method(), Method::GET | Method::HEAD);
    if !safe && !own_origin(request.headers()) {
        return (
            StatusCode::FORBIDDEN,
            "This form was sent from another site, so nothing was written. Open the page in Umbel and send it from there.",
        )
            .into_response();
    }
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    let set = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "same-origin"),
        (header::X_FRAME_OPTIONS, "DENY"),
    ];
    for (name, value) in set {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

fn host_of(headers: &HeaderMap) -> Option<&str> {
    headers.get(header::HOST).and_then(|v| v.to_str().ok())
}

fn known_host(headers: &HeaderMap, hosts: &[String]) -> bool {
    host_of(headers).is_some_and(|h| hosts.iter().any(|known| known.eq_ignore_ascii_case(h)))
}

/// A form must come from a page of this very address. Browsers say so in `Origin`, or in
/// `Sec-Fetch-Site`; a request that says neither is refused.
fn own_origin(headers: &HeaderMap) -> bool {
    let host = host_of(headers).unwrap_or("");
    if let Some(origin) = headers.get(header::ORIGIN).and_then(|v| v.to_str().ok()) {
        return origin
            .strip_prefix("http://")
            .or_else(|| origin.strip_prefix("https://"))
            .is_some_and(|o| o.eq_ignore_ascii_case(host));
    }
    headers.get("sec-fetch-site").and_then(|v| v.to_str().ok()) == Some("same-origin")
}

//! Guards before every page: which host is asked, where a form comes from, what a page may load,
//! and that a panic costs one answer and not the server.

use std::net::SocketAddr;

use axum::{
    Router,
    extract::{ConnectInfo, DefaultBodyLimit, Request, State, rejection::ExtensionRejection},
    http::{HeaderMap, HeaderValue, Method, StatusCode, header},
    middleware::{self, Next},
    response::{IntoResponse as _, Response},
};
use tower_http::{catch_panic::CatchPanicLayer, compression::CompressionLayer};

use crate::{
    App,
    pages::door::{self, Caller},
    phones,
};

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

/// The address of the other side, where there is a socket.
type Peer = Result<ConnectInfo<SocketAddr>, ExtensionRejection>;

async fn guard(State(app): State<App>, peer: Peer, mut request: Request, next: Next) -> Response {
    let caller = door::caller(&app, peer.ok().map(|p| p.0.ip()), request.headers());
    request.extensions_mut().insert(caller);
    let mut response = match refused(&app, caller, &request) {
        Some(refusal) => refusal,
        None => next.run(request).await,
    };
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

/// Why a request goes no further.
fn refused(app: &App, caller: Caller, request: &Request) -> Option<Response> {
    if !known_host(request.headers(), app) {
        return Some((
            StatusCode::MISDIRECTED_REQUEST,
            "This address is not one of this house's names. Open Umbel under the address that it printed when it started.",
        )
            .into_response());
    }
    let safe = matches!(*request.method(), Method::GET | Method::HEAD);
    if !safe && !own_origin(request.headers()) {
        return Some((
            StatusCode::FORBIDDEN,
            "This form was sent from another site, so nothing was written. Open the page in Umbel and send it from there.",
        )
            .into_response());
    }
    door::stop(app, caller, request)
}

fn host_of(headers: &HeaderMap) -> Option<&str> {
    headers.get(header::HOST).and_then(|v| v.to_str().ok())
}

fn known_host(headers: &HeaderMap, app: &App) -> bool {
    host_of(headers).is_some_and(|host| {
        app.hosts().iter().any(|known| known.eq_ignore_ascii_case(host))
            || (app.door().is_open()
                && phones::is_own_address(host, app.hosts(), &phones::addresses()))
    })
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

#[cfg(test)]
mod tests {
    use axum::{body::Body, routing::get};
    use tower::ServiceExt as _;

    use super::*;

    /// A panic in one page is one answer lost, not the server.
    #[tokio::test]
    async fn a_panic_is_one_answer_and_the_next_request_works() {
        let folder = tempfile::tempdir().unwrap();
        let options = crate::Options {
            collection: folder.path().join("house.umbel"),
            hosts: vec!["localhost".to_owned()],
            ..crate::Options::default()
        };
        let routes = Router::new()
            .route("/fails", get(|| async { panic!("on purpose") as &'static str }))
            .route("/works", get(|| async { "well" }));
        let pages = guarded(routes, App::open(&options).unwrap());
        let ask = |path: &str| {
            let request =
                Request::get(path).header(header::HOST, "localhost").body(Body::empty()).unwrap();
            pages.clone().oneshot(request)
        };
        let failed = ask("/fails").await.unwrap();
        assert_eq!(failed.status(), StatusCode::INTERNAL_SERVER_ERROR);
        assert!(failed.headers().contains_key(header::CONTENT_SECURITY_POLICY));
        assert_eq!(ask("/works").await.unwrap().status(), StatusCode::OK);
    }
}

//! Guards before every page: which host is asked, where a form comes from, what a page may load,
//! and that a panic costs one answer and not the server.

use axum::{
    Router,
    extract::{
        ConnectInfo, DefaultBodyLimit, MatchedPath, Request, State, rejection::ExtensionRejection,
    },
    http::{HeaderMap, HeaderValue, Method, StatusCode, header},
    middleware::{self, Next},
    response::{IntoResponse as _, Redirect, Response},
};
use tower_http::{catch_panic::CatchPanicLayer, compression::CompressionLayer};

use crate::{
    App, Peer, WebError,
    caller::{Caller, Link},
    layout::Failed,
    pages::door,
    phones,
    roles::{self, May, Role},
    waits,
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

/// The other side, where there is a socket.
type Other = Result<ConnectInfo<Peer>, ExtensionRejection>;

async fn guard(State(app): State<App>, peer: Other, mut request: Request, next: Next) -> Response {
    let peer = peer.ok().map(|p| p.0);
    let caller = Caller::of(&app, peer, request.headers());
    request.extensions_mut().insert(caller.clone());
    request.extensions_mut().insert(Link::of(peer));
    let mut response = match refused(&app, peer, &caller, &request) {
        Some(refusal) => refusal,
        None => answered(&app, caller, request, next).await,
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

/// Answers a request that may be asked; a form that waited on a phone is counted once.
async fn answered(app: &App, caller: Caller, request: Request, next: Next) -> Response {
    let waited = *request.method() == Method::POST && request.headers().contains_key(waits::OP);
    if !waited {
        return next.run(request).await;
    }
    let before = waits::op(request.headers(), app.now())
        .and_then(|op| op.map_or(Ok(false), |op| waits::counted(app, op)));
    match before {
        Ok(true) => waits::again(&request),
        Ok(false) => waits::answer(next.run(request).await),
        Err(e) => Failed::new(e, app.clone(), request.headers().clone(), caller).into_response(),
    }
}

/// Why a request goes no further.
fn refused(app: &App, peer: Option<Peer>, caller: &Caller, request: &Request) -> Option<Response> {
    if !known_host(request.headers(), app) {
        return Some((
            StatusCode::MISDIRECTED_REQUEST,
            "This address is not one of this house's names. Open Umbel under the address that it printed when it started.",
        )
            .into_response());
    }
    let safe = matches!(*request.method(), Method::GET | Method::HEAD);
    let encrypted = peer.is_some_and(|p| p.encrypted);
    if app.gate().encrypts() && *caller != Caller::Here && !encrypted {
        return Some(encrypted_instead(app, safe, request));
    }
    if !safe && !own_origin(request.headers(), encrypted) {
        return Some((
            StatusCode::FORBIDDEN,
            "This form was sent from another site, so nothing was written. Open the page in Umbel and send it from there.",
        )
            .into_response());
    }
    let what = may(request);
    door::stop(app, caller, what, request).or_else(|| not_allowed(app, caller, what, request))
}

/// Who may ask for this: what stands in the table, or, for an address that no page has, whoever
/// may look. A route that was forgotten in the table is the owner's.
fn may(request: &Request) -> May {
    match request.extensions().get::<MatchedPath>() {
        None => May::From(Role::Guest),
        Some(path) => {
            roles::may(request.method().as_str(), path.as_str()).unwrap_or(May::From(Role::Owner))
        }
    }
}

/// What a device is told that is known but in hands that may not do this.
fn not_allowed(app: &App, caller: &Caller, what: May, request: &Request) -> Option<Response> {
    if caller.may(what) {
        return None;
    }
    let t = app.hand(request.headers()).texts();
    let words = match (what, caller.role()) {
        (May::Here, _) => t.t("This is changed only on the machine where Umbel runs."),
        (_, Role::Helper) => t.t(
            "It was let in as a helper's: it may log entries and rounds, and undo its own. The owner can pair it anew on the page House.",
        ),
        _ => t.t(
            "It was let in as a guest's: it may look. The owner can pair it anew on the page House.",
        ),
    };
    let error = WebError::NotAllowed(words.to_owned());
    let failed = Failed::new(error, app.clone(), request.headers().clone(), caller.clone());
    Some(failed.next(t.t("All plants"), "/plants").into_response())
}

/// Leads to the same page over an encrypted connection.
fn encrypted_instead(app: &App, safe: bool, request: &Request) -> Response {
    if !safe {
        return (
            StatusCode::FORBIDDEN,
            "This form came unencrypted, so nothing was written. Open the house's encrypted address and send it from there.",
        )
            .into_response();
    }
    let host = host_of(request.headers()).unwrap_or("");
    let name = host.rsplit_once(':').map_or(host, |(name, _)| name);
    let path = request.uri().path_and_query().map_or("/", |p| p.as_str());
    Redirect::temporary(&format!("https://{name}:{}{path}", app.gate().ways().port)).into_response()
}

fn host_of(headers: &HeaderMap) -> Option<&str> {
    headers.get(header::HOST).and_then(|v| v.to_str().ok())
}

fn known_host(headers: &HeaderMap, app: &App) -> bool {
    host_of(headers).is_some_and(|host| {
        app.hosts().iter().any(|known| known.eq_ignore_ascii_case(host))
            || (app.gate().is_open()
                && phones::is_own_address(host, app.hosts(), &phones::addresses()))
    })
}

/// A form must come from a page of this very address. Browsers say so in `Origin`, or in
/// `Sec-Fetch-Site`; a request that says neither is refused.
fn own_origin(headers: &HeaderMap, encrypted: bool) -> bool {
    let scheme = if encrypted { "https://" } else { "http://" };
    let host = host_of(headers).unwrap_or("");
    if let Some(origin) = headers.get(header::ORIGIN).and_then(|v| v.to_str().ok()) {
        return origin.strip_prefix(scheme).is_some_and(|o| o.eq_ignore_ascii_case(host));
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

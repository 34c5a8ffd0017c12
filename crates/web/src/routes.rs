//! Routes that can be listed: the router of the library tells nobody what it holds, and a test must
//! know every address to say who may ask for it.

use axum::{
    Router,
    extract::DefaultBodyLimit,
    handler::Handler,
    routing::{MethodRouter, get as router_get, post as router_post},
};

use crate::App;

/// A way to ask and an address, as the router has it: `POST`, `/plants/{n}/log`.
pub type Route = (&'static str, String);

/// What answers under one address.
pub(crate) struct Methods {
    router: MethodRouter<App>,
    methods: Vec<&'static str>,
}

/// Answers when a page is asked for.
pub(crate) fn get<H, T>(handler: H) -> Methods
where
    H: Handler<T, App>,
    T: 'static,
{
    Methods { router: router_get(handler), methods: vec!["GET"] }
}

/// Answers when a form is sent.
pub(crate) fn post<H, T>(handler: H) -> Methods
where
    H: Handler<T, App>,
    T: 'static,
{
    Methods { router: router_post(handler), methods: vec!["POST"] }
}

impl Methods {
    /// Answers when a form is sent, too.
    pub(crate) fn post<H, T>(mut self, handler: H) -> Self
    where
        H: Handler<T, App>,
        T: 'static,
    {
        self.router = self.router.post(handler);
        self.methods.push("POST");
        self
    }

    /// Takes no more than so much \[bytes\].
    pub(crate) fn at_most(mut self, bytes: usize) -> Self {
        self.router = self.router.layer(DefaultBodyLimit::max(bytes));
        self
    }
}

/// The pages under their addresses.
pub(crate) struct Routes {
    router: Router<App>,
    listed: Vec<Route>,
}

impl Routes {
    pub(crate) fn new() -> Self {
        Self { router: Router::new(), listed: Vec::new() }
    }

    /// Adds what answers under an address.
    pub(crate) fn route(mut self, path: &str, methods: Methods) -> Self {
        self.listed.extend(methods.methods.iter().map(|m| (*m, path.to_owned())));
        self.router = self.router.route(path, methods.router);
        self
    }

    /// What answers where nothing else does.
    pub(crate) fn fallback<H, T>(mut self, handler: H) -> Self
    where
        H: Handler<T, App>,
        T: 'static,
    {
        self.router = self.router.fallback(handler);
        self
    }

    pub(crate) fn router(self) -> Router<App> {
        self.router
    }

    pub(crate) fn listed(self) -> Vec<Route> {
        self.listed
    }
}

//! Pages: what `answers` says, laid out. Nothing is computed here.
//!
//! Server-rendered HTML, plain forms, a little script that no page needs. Every page is reachable
//! by keyboard and prints. There are no inline scripts and no inline styles.

mod assets;
mod caller;
mod certificate;
mod crossing;
mod error;
mod forms;
mod gate;
mod guard;
pub mod labels;
mod layout;
mod markup;
mod pages;
mod passcode;
mod phones;
pub mod roles;
mod routes;
mod serve;
mod sessions;
mod state;
mod tries;
mod waits;
mod water;
mod wire;

pub use error::WebError;
pub use gate::{Peer, Ways};
pub use routes::Route;
pub use serve::{Notes, Options, Running, serve};
pub use sessions::{Devices, PAIRING_MINUTES, Pairing, Session};
pub use state::App;

use axum::Router;

/// All pages of an application, behind the guards.
pub fn router(app: App) -> Router {
    guard::guarded(pages::routes().router(), app)
}

/// Every route that the router has.
#[must_use]
pub fn routes() -> Vec<Route> {
    pages::routes().listed()
}

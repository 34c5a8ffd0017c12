//! Pages: what `answers` says, laid out. Nothing is computed here.
//!
//! Server-rendered HTML, plain forms, a little script that no page needs. Every page is reachable
//! by keyboard and prints. There are no inline scripts and no inline styles.

mod assets;
mod error;
mod forms;
mod guard;
pub mod labels;
mod layout;
mod markup;
mod pages;
mod passcode;
mod phones;
mod serve;
mod state;
mod tries;
mod water;

pub use error::WebError;
pub use serve::{Notes, Options, Running, serve};
pub use state::App;

use axum::Router;

/// All pages of an application, behind the guards.
pub fn router(app: App) -> Router {
    guard::guarded(pages::routes(), app)
}

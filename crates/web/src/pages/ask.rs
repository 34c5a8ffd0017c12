//! What every page is asked with.

use answers::Hand;
use axum::{
    extract::FromRequestParts,
    http::{HeaderMap, request::Parts},
    response::{IntoResponse as _, Redirect, Response},
};
use journal::{Journal, Reader};
use maud::Markup;
use std::sync::{Arc, PoisonError};
use texts::Texts;

use crate::{
    App, WebError,
    caller::{Caller, Link},
    layout::{Failed, Nav, Page},
    waits,
};

/// A request: the application, who asks, and how.
pub(crate) struct Ask {
    pub(crate) app: App,
    pub(crate) hand: Hand,
    pub(crate) headers: HeaderMap,
    pub(crate) caller: Caller,
    pub(crate) link: Link,
}

/// What a page answers.
pub(crate) type Answered = Result<Response, Failed>;

impl FromRequestParts<App> for Ask {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Self::Rejection> {
        // The guard puts it there; without, nobody is known.
        let caller = parts.extensions.get().cloned().unwrap_or(Caller::Stranger);
        let mut hand = app.hand(&parts.headers);
        if let Caller::Known(session) = &caller
            && !session.name.is_empty()
        {
            hand.who.clone_from(&session.name);
        }
        waits::fill(&mut hand, &parts.headers);
        let link = parts.extensions.get().copied().unwrap_or(Link::of(None));
        Ok(Self { app: app.clone(), hand, headers: parts.headers.clone(), caller, link })
    }
}

impl Ask {
    pub(crate) fn t(&self) -> Texts {
        self.hand.texts()
    }

    pub(crate) fn journal(&self) -> Arc<Journal> {
        self.app.journal()
    }

    /// Reads one state of the record.
    pub(crate) fn read<T>(
        &self,
        ask: impl FnOnce(&Reader<'_>) -> Result<T, WebError>,
    ) -> Result<T, Failed> {
        let outcome = self.journal().read(|r| Ok(ask(r)));
        match outcome {
            Ok(inner) => inner.map_err(|e| self.failed(e)),
            Err(e) => Err(self.failed(e)),
        }
    }

    /// Looks at what is known about water now.
    pub(crate) fn water<T>(
        &self,
        look: impl FnOnce(&mut answers::water::Water) -> T,
    ) -> Result<T, Failed> {
        self.app.water().look(&self.journal(), &self.hand, look).map_err(|e| self.failed(e))
    }

    /// What is learnt of crosses.
    pub(crate) fn engine(&self) -> Result<Arc<answers::crossing::Engine>, Failed> {
        let journal = self.journal();
        let lists = super::names::lists(journal.path()).map_err(|e| self.failed(e))?;
        self.app.crossing().engine(&journal, &self.hand, lists.list()).map_err(|e| self.failed(e))
    }

    /// Looks at what is known of flowers.
    pub(crate) fn flowers<T>(
        &self,
        look: impl FnOnce(&mut answers::flowers::Flowers, &Reader<'_>) -> Result<T, WebError>,
    ) -> Result<T, Failed> {
        let kept = self.app.flowers();
        self.read(|r| look(&mut kept.lock().unwrap_or_else(PoisonError::into_inner), r))
    }

    /// What wants doing besides water.
    pub(crate) fn due(&self) -> Result<Vec<answers::due::Due>, Failed> {
        self.app.water().due(&self.journal(), &self.hand).map_err(|e| self.failed(e))
    }

    /// The page of a plant, with its answers.
    pub(crate) fn plant_page(&self, number: i64) -> Result<answers::PlantPage, Failed> {
        let journal = self.journal();
        let flowers = self.app.flowers();
        let page = self.water(|water| {
            let learnt = answers::Learnt { water, flowers: &flowers };
            journal.read(|r| Ok(answers::plant_page_with(r, number, &self.hand, learnt)))
        })?;
        page.map_err(|e| self.failed(e))?.map_err(|e| self.failed(e))
    }

    pub(crate) fn failed(&self, error: impl Into<WebError>) -> Failed {
        Failed::new(error.into(), self.app.clone(), self.headers.clone(), self.caller.clone())
    }

    pub(crate) fn failed_next(&self, error: impl Into<WebError>, next: &str, href: &str) -> Failed {
        self.failed(error).next(next, href)
    }

    pub(crate) fn page(&self, nav: Nav, title: &str) -> Page<'_> {
        Page::new(&self.app, &self.hand, &self.caller, &self.headers, nav, title)
    }

    /// A page with this body.
    pub(crate) fn show(&self, nav: Nav, title: &str, body: &Markup) -> Answered {
        Ok(self.page(nav, title).render(body).into_response())
    }
}

/// Leads on after a form was taken.
pub(crate) fn go(to: &str) -> Answered {
    Ok(Redirect::to(to).into_response())
}

/// An address of this house only: never of another site.
pub(crate) fn own_path(to: &str) -> &str {
    if to.starts_with('/')
        && !to.starts_with("//")
        && !to.contains(|c: char| c == '\\' || c.is_control())
    {
        to
    } else {
        "/"
    }
}

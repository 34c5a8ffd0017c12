//! The frame of every page.

use answers::Hand;
use axum::{
    http::{HeaderMap, StatusCode, header},
    response::{IntoResponse, Response},
};
use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::{App, WebError, caller::Caller};

/// The six places to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Nav {
    Today,
    Plants,
    Places,
    Crosses,
    Keepers,
    Show,
    None,
}

const MARK: &str = r#"<svg viewBox="0 0 20 20" aria-hidden="true"><g fill="none" stroke-width="1"><path d="M10 19.5V11M10 11C9.6 8 6 6.500 2.500 6.200M10 11C9.800 7 7.600 4.600 5.700 2.900M10 11V2M10 11C10.200 7 12.400 4.600 14.300 2.900M10 11C10.400 8 14 6.500 17.500 6.200"/></g><g stroke="none"><circle cx="2.300" cy="6" r="1.600"/><circle cx="5.600" cy="2.800" r="1.600"/><circle cx="10" cy="1.800" r="1.600"/><circle cx="14.400" cy="2.800" r="1.600"/><circle cx="17.700" cy="6" r="1.600"/></g></svg>"#;

/// A page in the making.
pub(crate) struct Page<'a> {
    pub(crate) app: &'a App,
    pub(crate) hand: &'a Hand,
    pub(crate) caller: &'a Caller,
    pub(crate) nav: Nav,
    pub(crate) title: String,
    pub(crate) theme: &'static str,
    pub(crate) says: bool,
    pub(crate) find: String,
}

/// The theme that a visitor chose: light, dark, or that of the system.
pub(crate) fn theme(headers: &HeaderMap) -> &'static str {
    let cookies = headers.get(header::COOKIE).and_then(|v| v.to_str().ok()).unwrap_or("");
    let chosen =
        cookies.split(';').filter_map(|c| c.trim().split_once('=')).find(|c| c.0 == "theme");
    match chosen.map(|c| c.1) {
        Some("light") => "light",
        Some("dark") => "dark",
        _ => "system",
    }
}

impl<'a> Page<'a> {
    pub(crate) fn new(
        app: &'a App,
        hand: &'a Hand,
        caller: &'a Caller,
        headers: &HeaderMap,
        nav: Nav,
        title: &str,
    ) -> Self {
        Self {
            app,
            hand,
            caller,
            nav,
            title: title.to_owned(),
            theme: theme(headers),
            says: false,
            find: String::new(),
        }
    }

    /// The whole page around its body.
    pub(crate) fn render(&self, body: &Markup) -> Markup {
        let t = self.hand.texts();
        let lang = match self.hand.lang {
            texts::Lang::En => "en-GB",
            texts::Lang::De => "de",
        };
        let nav = [
            (Nav::Today, "/", t.t("Today")),
            (Nav::Plants, "/plants", t.t("Plants")),
            (Nav::Places, "/places", t.t("Places")),
            (Nav::Crosses, "/crosses", t.t("Crosses")),
            (Nav::Keepers, "/keepers", t.t("Keepers")),
            (Nav::Show, "/show", t.t("Show")),
        ];
        html! {
            (DOCTYPE)
            html lang=(lang) data-theme=(self.theme) {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover";
                    meta name="color-scheme" content="light dark";
                    title { (self.title) " · Umbel" }
                    link rel="icon" href="/static/icon.svg" type="image/svg+xml";
                    link rel="preload" href="/static/fonts/source-serif-4-latin-opsz-normal.woff2" as="font" type="font/woff2" crossorigin;
                    link rel="stylesheet" href="/static/umbel.css";
                    script src="/static/umbel.js" defer {}
                }
                body class=(if self.says { "has-says" } else { "" }) data-role=(self.caller.role().as_str()) {
                    a.skip href="#main" { (t.t("To the page")) }
                    @if self.app.in_demo() { (self.demo_line()) }
                    header.head {
                        a.mark href="/" { (PreEscaped(MARK)) "Umbel" }
                        nav aria-label=(t.t("Pages")) {
                            @for (at, href, words) in nav {
                                @if at == self.nav { a href=(href) aria-current="page" { (words) } }
                                @else { a href=(href) { (words) } }
                            }
                        }
                        form.find role="search" action="/find" method="get" {
                            label {
                                span.vh { (t.t("Find a plant, parent or keeper")) }
                                input type="search" name="q" value=(self.find) placeholder=(t.t("Find")) autocomplete="off" data-key="/";
                            }
                        }
                    }
                    (self.waits())
                    main id="main" { (body) }
                    (self.foot())
                }
            }
        }
    }

    fn demo_line(&self) -> Markup {
        let t = self.hand.texts();
        html! {
            div.demo {
                p { (t.t("You are looking at the demo: an invented house. Your own record is untouched.")) }
                form method="post" action="/demo/out" { button { (t.t("Leave the demo")) } }
            }
        }
    }

    /// Where the script shows entries that wait for the connection.
    fn waits(&self) -> Markup {
        let t = self.hand.texts();
        html! {
            section.waits id="waits" hidden tabindex="-1" aria-label=(t.t("Entries that wait"))
                data-one=(t.t("One entry waits for the house. It is sent when the connection is back; leave this page open."))
                data-many=(t.t("{n} entries wait for the house. They are sent in order when the connection is back; leave this page open."))
                data-arrived=(t.t("What waited has arrived."))
                data-not-one=(t.t("One entry was not taken."))
                data-not-many=(t.t("{n} entries were not taken."))
                data-refused=(t.t("Not taken:"))
                data-again=(t.t("Send it again"))
                data-sure=(t.t("It is right: write it"))
                data-leave=(t.t("Leave it out"))
                data-ask=(t.t("Leave this entry out? It is then lost.")) {
                p role="status" {}
                ol {}
            }
        }
    }

    fn foot(&self) -> Markup {
        let t = self.hand.texts();
        let journal = self.app.journal();
        let (plants, entries) = journal.read(|r| r.totals()).unwrap_or((0, 0));
        let last = journal.read(|r| r.last_operation()).ok().flatten();
        let redo = journal.read(|r| r.last_undo()).ok().flatten();
        let may = |op: &journal::OperationRow| self.caller.may_undo(&op.who, &self.hand.who);
        let (last, redo) = (last.filter(&may), redo.filter(&may));
        let today = dates::say(&dates::Edtf::from_day(self.hand.today), self.hand.lang, None);
        html! {
            footer class="foot small" {
                span {
                    (t.f("Computed {date} from {entries} entries of {plants} plants.",
                        &[("date", &today), ("entries", &thousands(entries)), ("plants", &thousands(plants))]))
                }
                @if let Some(op) = last {
                    form.undo method="post" action="/undo" {
                        input type="hidden" name="op" value=(op.uid);
                        input type="hidden" name="back" value="" data-here;
                        button data-undo { (t.f("Undo: “{act}, {about}”", &[("act", &t.word(&op.act.replace('_', " "))), ("about", &op.about)])) }
                    }
                }
                @if let Some(op) = redo {
                    form.undo method="post" action="/undo" {
                        input type="hidden" name="op" value=(op.uid);
                        button { (t.f("Bring back: “{about}”", &[("about", &op.about)])) }
                    }
                }
                @if let Caller::Known(session) = self.caller {
                    span {
                        @if !session.name.is_empty() { (session.name) ", " }
                        (session.role.words(t))
                    }
                }
                a href="/history" { (t.t("History")) }
                a href="/house" { (t.t("House, backup and settings")) }
                a href="/keys" { (t.t("Keys")) }
            }
        }
    }
}

/// A whole number with thin grouping.
pub(crate) fn thousands(n: i64) -> String {
    let digits = n.to_string();
    let mut out = String::new();
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) && c != '-' {
            out.push('\u{202f}');
        }
        out.push(c);
    }
    out
}

/// The title block of a page.
pub(crate) fn title(over: &Markup, heading: &Markup, lede: Option<&str>) -> Markup {
    html! {
        div.title {
            p.over { (over) }
            h1 { (heading) }
            @if let Some(lede) = lede { p.lede { (lede) } }
        }
    }
}

/// An error as a page. Boxed, since every page may answer with it and few do.
pub(crate) struct Failed(Box<Failure>);

struct Failure {
    error: WebError,
    app: App,
    headers: HeaderMap,
    caller: Caller,
    next: Option<(String, String)>,
}

impl Failed {
    pub(crate) fn new(error: WebError, app: App, headers: HeaderMap, caller: Caller) -> Self {
        Self(Box::new(Failure { error, app, headers, caller, next: None }))
    }

    /// With the next step in words, and where it leads.
    pub(crate) fn next(mut self, words: &str, href: &str) -> Self {
        self.0.next = Some((words.to_owned(), href.to_owned()));
        self
    }
}

impl IntoResponse for Failed {
    fn into_response(self) -> Response {
        let Failure { error, app, headers, caller, next } = *self.0;
        let hand = app.hand(&headers);
        let t = hand.texts();
        let status =
            StatusCode::from_u16(error.status()).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let heading = match status.as_u16() {
            403 => t.t("This device may not do that"),
            404 => t.t("This is not here"),
            409 => t.t("Look at this first"),
            422 => t.t("This could not be written as it stands"),
            _ => t.t("This did not work"),
        };
        let (next, href) = next.unwrap_or_else(|| {
            (t.t("Go back; what you typed is still in the form.").to_owned(), String::new())
        });
        let body = html! {
            section.sect.error role="alert" {
                h2 { (heading) }
                p { (error.to_string()) }
                p { (t.t("Nothing was changed.")) }
                p.next { b { (t.t("Next:")) " " } (next) }
                div.n-row {
                    @if href.is_empty() { a href="/plants" { (t.t("All plants")) } } @else { a href=(href) { (next) } }
                }
            }
        };
        let page = Page::new(&app, &hand, &caller, &headers, Nav::None, heading).render(&body);
        (status, page).into_response()
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn thousands_are_grouped() {
        assert_eq!(super::thousands(4318), "4\u{202f}318");
        assert_eq!(super::thousands(12), "12");
        assert_eq!(super::thousands(1_000_000), "1\u{202f}000\u{202f}000");
    }
}

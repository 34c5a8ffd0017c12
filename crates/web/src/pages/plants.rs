//! The list of plants: filter, sort, search, saved views, acts on the whole filtered set.

use std::collections::HashMap;

use answers::{ListPage, PlantListQuery, acts, list_plants};
use axum::{Form, extract::Query};
use journal::{Known, PlantFilter, PlantSort, SubjectKind, ViewRow};
use maud::{Markup, html};
use texts::Texts;

use super::ask::{Answered, Ask, go};
use crate::{
    WebError,
    forms::{Sent, choice, entry_fields, field, filled, known_names, line, read_detail},
    layout::{Nav, thousands, title},
    markup,
};

/// The address of a list, read.
pub(crate) fn query(sent: &Sent) -> PlantListQuery {
    let number = |key: &str| field(sent, key).parse().ok();
    PlantListQuery {
        filter: PlantFilter {
            words: filled(sent, "q"),
            genus: filled(sent, "genus"),
            place: number("place"),
            keeper: number("keeper"),
            state: match field(sent, "state") {
                "" => Some("alive".to_owned()),
                "any" => None,
                other => Some(other.to_owned()),
            },
            received_as: filled(sent, "as"),
            clone: number("clone"),
            own: match field(sent, "own") {
                "yes" => Some(true),
                "no" => Some(false),
                _ => None,
            },
            numbers: field(sent, "n").split(',').filter_map(|n| n.trim().parse().ok()).collect(),
            missing: filled(sent, "missing"),
        },
        sort: PlantSort::of_word(field(sent, "sort")),
        page: number("page").and_then(|n: i64| usize::try_from(n).ok()).unwrap_or(1),
    }
}

/// The address of a list with one thing changed.
pub(crate) fn address(sent: &Sent, change: &[(&str, &str)]) -> String {
    let mut all: Vec<(String, String)> =
        sent.iter().filter(|(_, v)| !v.is_empty()).map(|(k, v)| (k.clone(), v.clone())).collect();
    for (key, value) in change {
        all.retain(|(k, _)| k != key);
        if !value.is_empty() {
            all.push(((*key).to_owned(), (*value).to_owned()));
        }
    }
    all.sort();
    let parts: Vec<String> = all.iter().map(|(k, v)| format!("{k}={}", escaped(v))).collect();
    parts.join("&")
}

/// A value as it stands in an address.
pub(crate) fn escaped(value: &str) -> String {
    value.bytes().fold(String::new(), |mut out, b| {
        if b.is_ascii_alphanumeric() || b"-_.,".contains(&b) {
            out.push(char::from(b));
        } else {
            use std::fmt::Write as _;
            let _ = write!(out, "%{b:02X}");
        }
        out
    })
}

/// The list.
pub(crate) async fn list(ask: Ask, Query(sent): Query<Sent>) -> Answered {
    let t = ask.t();
    let wanted = query(&sent);
    let (page, genera, places, keepers, views) = ask.read(|r| {
        Ok((
            list_plants(r, &wanted, &ask.hand)?,
            r.genera(None)?,
            r.places()?,
            r.keepers()?,
            r.views()?,
        ))
    })?;
    let filters = html! {
        form.filter method="get" action="/plants" {
            (line(t.t("Words"), "q", field(&sent, "q"), ""))
            (choice(t.t("Genus"), "genus", &genera.iter().map(|(g, n)| (g.clone(), format!("{g} ({n})"))).collect::<Vec<_>>(), field(&sent, "genus")))
            (choice(t.t("Place"), "place", &places.iter().map(|p| (p.number.to_string(), p.name.clone())).collect::<Vec<_>>(), field(&sent, "place")))
            (choice(t.t("From"), "keeper", &keepers.iter().map(|k| (k.number.to_string(), k.name.clone())).collect::<Vec<_>>(), field(&sent, "keeper")))
            (choice(t.t("State"), "state", &states(t), field(&sent, "state")))
            (choice(t.t("Not recorded"), "missing", &missing(t), field(&sent, "missing")))
            (choice(t.t("Order"), "sort", &orders(t), field(&sent, "sort")))
            button.btn { (t.t("Show")) }
        }
    };
    let count = t.f("one plant|{n} plants", &[("n", &thousands(page.total))]);
    let body = html! {
        (title(&html! { a href="/plants/new" data-new { (t.t("Add a plant")) } " · " a href="/import" { (t.t("Bring in a list")) } },
            &html! { (count) }, None))
        (views_line(&views, &sent, t))
        (filters)
        @for (word, near) in &page.read_as {
            p.note {
                @if near.is_empty() {
                    (t.f("Nothing in the record begins with “{word}” or is spelt nearly so.", &[("word", word)]))
                } @else {
                    (t.f("“{word}” is not in the record; read as {near}.", &[("word", word), ("near", &near.join(", "))]))
                }
            }
        }
        @if page.rows.is_empty() {
            p.after { (t.t("No plant fits.")) " " a href="/plants" { (t.t("Show all living plants")) } }
        } @else {
            (table(&page, &sent, t))
            (pager(&page, &sent, t))
            section.sect {
                h2 { (t.f("With this one plant|With all {n} of these plants", &[("n", &page.total)])) }
                div.printrow {
                    a href=(format!("/plants/log?{}", address(&sent, &[]))) { (t.t("Write an entry for each")) }
                    a href=(format!("/labels?{}", address(&sent, &[]))) { (t.t("Print their labels")) }
                }
                form.inline method="post" action="/plants/views" {
                    input type="hidden" name="query" value=(address(&sent, &[("page", "")]));
                    (line(t.t("Keep this view as"), "name", "", ""))
                    button.btn { (t.t("Keep")) }
                }
            }
        }
    };
    let mut frame = ask.page(Nav::Plants, t.t("Plants"));
    frame.find = field(&sent, "q").to_owned();
    Ok(axum::response::IntoResponse::into_response(frame.render(&body)))
}

fn states(t: Texts) -> Vec<(String, String)> {
    ["any", "alive", "dead", "gone", "unknown"]
        .iter()
        .map(|s| {
            ((*s).to_owned(), if *s == "any" { t.t("any state").to_owned() } else { t.word(s) })
        })
        .collect()
}

fn missing(t: Texts) -> Vec<(String, String)> {
    ["name", "date", "parents", "place", "keeper"]
        .iter()
        .map(|s| ((*s).to_owned(), t.word(s)))
        .collect()
}

fn orders(t: Texts) -> Vec<(String, String)> {
    [
        ("name", t.t("by name")),
        ("number", t.t("by number")),
        ("came", t.t("newest first")),
        ("last", t.t("latest entry first")),
        ("place", t.t("by place")),
        ("keeper", t.t("by keeper")),
    ]
    .iter()
    .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
    .collect()
}

fn views_line(views: &[ViewRow], sent: &Sent, t: Texts) -> Markup {
    let here = address(sent, &[("page", "")]);
    html! {
        @if !views.is_empty() {
            div.views {
                span { (t.t("Kept views:")) }
                @for v in views {
                    @if v.query == here { b { (v.name) } } @else { a href=(format!("/plants?{}", v.query)) { (v.name) } }
                    @if v.query == here {
                        form.undo method="post" action="/plants/views/forget" {
                            input type="hidden" name="view" value=(v.uid);
                            button { (t.t("forget this view")) }
                        }
                    }
                }
            }
        }
    }
}

/// The table of a list of plants.
pub(crate) fn table(page: &ListPage, sent: &Sent, t: Texts) -> Markup {
    let head = |key: &str, words: &str| {
        let current =
            field(sent, "sort") == key || (key == "name" && field(sent, "sort").is_empty());
        html! {
            @if current { span aria-sort="ascending" { (words) } }
            @else { a href=(format!("/plants?{}", address(sent, &[("sort", key), ("page", "")]))) { (words) } }
        }
    };
    html! {
        table class="t stack list" {
            colgroup { col; col; col; col; col; }
            thead { tr {
                th.no { (head("number", t.t("No."))) }
                th { (head("name", t.t("Plant, and its parents if told"))) }
                th { (head("place", t.t("Stands"))) }
                th { (head("keeper", t.t("From"))) }
                th { (head("last", t.t("Latest entry"))) }
            } }
            tbody {
                @for row in &page.rows {
                    tr data-row {
                        td class="no num" { (row.plant.number) }
                        td {
                            (markup::linked(&row.name, row.plant.number))
                            @if !row.plant.tag.is_empty() { " " span.q { (row.plant.tag) } }
                            @if row.plant.state != "alive" { " " span.q { (t.word(&row.plant.state)) } }
                            @if !row.plant.parents.is_empty() {
                                small { (markup::name(&answers::parents_text(&row.plant.parents))) }
                            }
                        }
                        td { (row.plant.place) }
                        td {
                            @if row.plant.own { (t.t("raised here")) } @else { (row.plant.keeper) }
                            @if !row.came.is_empty() { small.num { (row.came) } }
                        }
                        td class="num q" {
                            (row.last)
                            small { (t.f("one entry|{n} entries", &[("n", &row.plant.entries)])) }
                        }
                    }
                }
            }
        }
    }
}

fn pager(page: &ListPage, sent: &Sent, t: Texts) -> Markup {
    html! {
        @if page.pages > 1 {
            nav.pager aria-label=(t.t("Pages of the list")) {
                @if page.page > 1 {
                    a rel="prev" href=(format!("/plants?{}", address(sent, &[("page", &(page.page - 1).to_string())]))) { (t.t("before")) }
                }
                span { (t.f("page {a} of {b}", &[("a", &page.page), ("b", &page.pages)])) }
                @if page.page < page.pages {
                    a rel="next" href=(format!("/plants?{}", address(sent, &[("page", &(page.page + 1).to_string())]))) { (t.t("after")) }
                }
            }
        }
    }
}

/// One entry for each plant of a list: first the kind, then its fields, the count in sight.
pub(crate) async fn bulk_form(ask: Ask, Query(sent): Query<Sent>) -> Answered {
    let t = ask.t();
    let wanted = query(&sent);
    let (numbers, (keepers, places)) =
        ask.read(|r| Ok((r.plant_numbers(&wanted.filter)?, known_names(r)?)))?;
    let kind =
        journal::entry_kind(field(&sent, "kind")).filter(|k| k.about.contains(&SubjectKind::Plant));
    let count = t.f("one plant|{n} plants", &[("n", &numbers.len())]);
    let filter = address(&sent, &[("kind", "")]);
    let body = html! {
        (title(&html! { a href=(format!("/plants?{filter}")) { (count) } }, &html! { (t.t("Write an entry for each")) },
            Some(t.t("Everything is written at once or not at all, and one undo takes all of it back."))))
        @match kind {
            None => { (super::entries::kinds_list(SubjectKind::Plant, &format!("/plants/log?{filter}&kind="), t)) }
            Some(kind) => {
                form.form method="post" action="/plants/log" {
                    input type="hidden" name="filter" value=(filter);
                    input type="hidden" name="kind" value=(kind.key);
                    input type="hidden" name="count" value=(numbers.len());
                    h2 { (super::entries::kind_words(kind.key, t)) }
                    (entry_fields(kind, &serde_json::Map::new(), &keepers, &places, t))
                    (super::entries::common_fields("", Known::Seen, "", t))
                    button.btn.main { (t.f("Write it for one plant|Write it for {n} plants", &[("n", &numbers.len())])) }
                }
            }
        }
    };
    ask.show(Nav::Plants, t.t("Write an entry for each"), &body)
}

/// Writes one entry for each plant of a list.
pub(crate) async fn bulk(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let filter: Sent = read_address(field(&sent, "filter"));
    let wanted = query(&filter);
    let numbers = ask.read(|r| Ok(r.plant_numbers(&wanted.filter)?))?;
    if numbers.len().to_string() != field(&sent, "count") {
        return Err(ask.failed(WebError::Conflict(format!(
            "the list has {} plants now and had {} when the form was opened; look at it again",
            numbers.len(),
            field(&sent, "count")
        ))));
    }
    let targets: Vec<acts::Target> = numbers.into_iter().map(acts::Target::Plant).collect();
    let input = super::entries::input(&ask, &sent)?;
    acts::log(&ask.journal(), &ask.hand, &targets, &input).map_err(|e| ask.failed(e))?;
    go(&format!("/plants?{}", field(&sent, "filter")))
}

/// An address part read back into its values.
pub(crate) fn read_address(text: &str) -> Sent {
    let mut out = HashMap::new();
    for pair in text.split('&') {
        if let Some((k, v)) = pair.split_once('=') {
            out.insert(k.to_owned(), unescaped(v));
        }
    }
    out
}

fn unescaped(value: &str) -> String {
    let bytes = value.as_bytes();
    let mut out = Vec::with_capacity(bytes.len());
    let mut i = 0;
    while i < bytes.len() {
        let hex = (bytes[i] == b'%')
            .then(|| value.get(i + 1..i + 3).and_then(|h| u8::from_str_radix(h, 16).ok()))
            .flatten();
        match hex {
            Some(b) => {
                out.push(b);
                i += 3;
            }
            None => {
                out.push(if bytes[i] == b'+' { b' ' } else { bytes[i] });
                i += 1;
            }
        }
    }
    String::from_utf8_lossy(&out).into_owned()
}

/// Keeps a view.
pub(crate) async fn save_view(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let query = field(&sent, "query").to_owned();
    acts::save_view(&ask.journal(), &ask.hand, field(&sent, "name"), &query)
        .map_err(|e| ask.failed(e))?;
    go(&format!("/plants?{query}"))
}

/// Forgets a view.
pub(crate) async fn forget_view(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let view = field(&sent, "view").parse().map_err(|_| {
        ask.failed(WebError::form("view", field(&sent, "view"), "is not a kept view"))
    })?;
    acts::remove_view(&ask.journal(), &ask.hand, view).map_err(|e| ask.failed(e))?;
    go("/plants")
}

/// Reads the details of an entry from a form.
pub(crate) fn details(
    ask: &Ask,
    kind: &journal::EntryKind,
    sent: &Sent,
) -> Result<serde_json::Map<String, serde_json::Value>, crate::layout::Failed> {
    ask.read(|r| read_detail(r, kind, sent))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_come_back() {
        let mut sent = Sent::new();
        sent.insert("q".to_owned(), "Küche & ‘x’ 100%".to_owned());
        sent.insert("genus".to_owned(), "Begonia".to_owned());
        assert_eq!(read_address(&address(&sent, &[])), sent);
        assert_eq!(address(&sent, &[("q", "")]), "genus=Begonia");
    }
}

//! Crosses: seed parent × pollen parent, followed from pollination to seedlings.

pub(crate) mod breeding;
pub(crate) mod line_of;
pub(crate) mod pair;
pub(crate) mod plan;
pub(crate) mod tried;

use answers::{
    acts::{self, NewPollination, ParentInput},
    cross_page,
};
use axum::{
    Form,
    extract::{Path, Query},
};
use journal::SubjectKind;
use maud::{Markup, html};
use serde_json::{Map, Value, json};
use texts::Texts;

use super::ask::{Answered, Ask, go};
use crate::{
    WebError,
    forms::{Sent, choice, entry_fields, field, filled, known_names, line, pick},
    layout::{Failed, Nav, thousands, title},
    markup,
};

/// All crosses.
pub(crate) async fn list(ask: Ask) -> Answered {
    let t = ask.t();
    let rows = ask.read(|r| {
        let mut out = Vec::new();
        for c in r.crosses()? {
            let page = cross_page(r, c.number, &ask.hand)?;
            let last = page
                .batches
                .iter()
                .rev()
                .flat_map(|b| b.2.first())
                .chain(page.pollinations.iter().rev().flat_map(|p| p.2.first()))
                .next()
                .map(|l| (l.date.clone(), l.year, l.sentence.clone()));
            out.push((c.number, page.title, page.seedlings.len(), last));
        }
        Ok(out)
    })?;
    let body = html! {
        (title(&html! { (t.t("Seed parent first, pollen parent second")) }, &html! { (t.f("one cross|{n} crosses", &[("n", &rows.len())])) }, None))
        div.add {
            a href="/crosses/new" data-new { (t.t("Write down a pollination")) }
            a href="/crosses/pair" { (t.t("Will it take?")) }
            a href="/crosses/plan" { (t.t("Crosses worth the pots")) }
            a href="/flowers" { (t.t("Likely in flower")) }
            a href="/crosses/table" { (t.t("What takes with what")) }
            a href="/pollen" { (t.t("Pollen in store")) }
        }
        @if !rows.is_empty() {
            table class="t list stack" {
                thead { tr { th.no { (t.t("No.")) } th { (t.t("Cross")) } th { (t.t("Latest")) } th.r { (t.t("Numbered seedlings")) } } }
                tbody {
                    @for (number, title, seedlings, last) in &rows {
                        tr data-row {
                            td class="no num" { (number) }
                            td { a.n href=(format!("/crosses/{number}")) { (markup::name(title)) } }
                            td.q { @if let Some((date, year, s)) = last { (markup::sentence(s)) " " (date) @if let Some(y) = year { " " (y) } } }
                            td class="r num" { (thousands(i64::try_from(*seedlings).unwrap_or(0))) }
                        }
                    }
                }
            }
        }
        section.sect {
            h2 { (t.t("A line of descent as breeders write it")) }
            form.form method="post" action="/crosses/written" {
                (line(t.t("Parents"), "text", "", t.t("such as A/B//C: the cross of A and B, crossed with C; A*2/B: twice back to A")))
                button.btn { (t.t("Bring in")) }
            }
        }
    };
    ask.show(Nav::Crosses, t.t("Crosses"), &body)
}

/// The fields of a pollination, filled as far as is known; with the pollen in store.
pub(crate) fn pollination_form(sent: &Sent, lots: &[(String, String)], t: Texts) -> Markup {
    let tick = |key: &str, words: &str| {
        html! { label.tick { input type="checkbox" name=(key) value="yes"; " " (words) } }
    };
    html! {
        form.form method="post" action="/crosses/new" data-draft="pollination" {
            (line(t.t("Number of the plant that bears the flowers"), "seed", field(sent, "seed"), ""))
            (line(t.t("Pollen of"), "pollen", field(sent, "pollen"), t.t("a plant's number, a name, unknown, or A or B")))
            @if !lots.is_empty() { (choice(t.t("Pollen from store"), "lot", lots, field(sent, "lot"))) }
            (line(t.t("Flowers"), "flowers", field(sent, "flowers"), t.t("a whole number")))
            (line(t.t("Which flowers"), "flower", "", t.t("such as red wool, second umbel")))
            (line(t.t("Age of the pollen"), "pollen_age", "", t.t("such as 2 days; empty where it was fresh or its lot tells")))
            (line(t.t("Method"), "method", "", t.t("such as brush, tweezers, anther rubbed on stigma")))
            (tick("emasculated", t.t("anthers taken out before")))
            (tick("own_pollen", t.t("its own pollen got in as well")))
            (tick("open", t.t("left to insects")))
            (line(t.t("When"), "when", "", t.t("empty for today")))
            label.line { span { (t.t("Words")) } textarea name="note" rows="2" {} }
            button.btn.main { (t.t("Write it")) }
        }
    }
}

/// Pollen in store: number of the lot, and what it is of.
pub(crate) fn in_store(ask: &Ask) -> Result<Vec<(String, String)>, Failed> {
    let lots = ask.engine()?.pollen(&ask.hand).into_iter().filter(|l| !l.kept.gone);
    let named = |l: answers::crossing::Lot| {
        (l.kept.number.to_string(), format!("{} {}", l.kept.number, l.name.plain))
    };
    Ok(lots.map(named).collect())
}

/// The form for a pollination.
pub(crate) async fn new_form(ask: Ask, Query(sent): Query<Sent>) -> Answered {
    let t = ask.t();
    let lots = in_store(&ask)?;
    let body = html! {
        (title(&html! { a href="/crosses" { (t.t("Crosses")) } }, &html! { (t.t("A pollination")) },
            Some(t.t("It joins the cross of the same two parents, or begins a new one."))))
        (pollination_form(&sent, &lots, t))
    };
    ask.show(Nav::Crosses, t.t("A pollination"), &body)
}

/// Writes a pollination.
pub(crate) async fn add(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let seed = field(&sent, "seed").trim_start_matches('#');
    let seed_plant = seed
        .parse()
        .map_err(|_| ask.failed(WebError::form("seed", seed, "is not a plant's number")))?;
    let flowers = match field(&sent, "flowers") {
        "" => None,
        n => Some(
            n.parse()
                .map_err(|_| ask.failed(WebError::form("flowers", n, "is not a whole number")))?,
        ),
    };
    let new = NewPollination {
        seed_plant,
        pollen: ParentInput::read(field(&sent, "pollen")),
        flowers,
        flower: filled(&sent, "flower"),
        pollen_age: filled(&sent, "pollen_age"),
        method: filled(&sent, "method"),
        lot: match field(&sent, "lot") {
            "" => None,
            n => Some(n.parse().map_err(|_| {
                ask.failed(WebError::form("lot", n, "is not the number of pollen in store"))
            })?),
        },
        emasculated: field(&sent, "emasculated") == "yes",
        own_pollen: field(&sent, "own_pollen") == "yes",
        open: field(&sent, "open") == "yes",
        when: field(&sent, "when").to_owned(),
        note: filled(&sent, "note"),
    };
    let (_, cross) = acts::pollinate(&ask.journal(), &ask.hand, &new).map_err(|e| ask.failed(e))?;
    go(&format!("/crosses/{cross}"))
}

/// One cross.
pub(crate) async fn cross(ask: Ask, Path(number): Path<i64>) -> Answered {
    let t = ask.t();
    let (page, (_, places)) =
        ask.read(|r| Ok((cross_page(r, number, &ask.hand)?, known_names(r)?)))?;
    let engine = ask.engine()?;
    let (path, descent) = ask.read(|r| {
        let path = engine.path(r, number, &ask.hand)?;
        Ok((path, answers::crossing::slash::of_cross(r, number).unwrap_or_default()))
    })?;
    let body = html! {
        (title(&html! { a href="/crosses" { (t.t("Crosses")) } ", " (t.f("cross {n}", &[("n", &number)])) },
            &html! { (markup::name(&page.title)) },
            Some(t.t(path.kind.words()))))
        @if !descent.is_empty() { p.note { (t.t("Written as breeders do:")) " " (descent) } }
        (line_of::line(&path, &ask.hand))
        @for other in &page.reciprocal {
            p.note { (t.t("The other way round:")) " " a href=(format!("/crosses/{other}")) { (t.f("cross {n}", &[("n", other)])) } }
        }
        section.sect {
            h2.under { (t.t("Pollinations")) }
            @if page.pollinations.is_empty() { p.open { (t.t("None is written down.")) } }
            @for (n, plant, lines) in &page.pollinations {
                div class="journal whole" {
                    h3 {
                        (t.f("Pollination {n}", &[("n", n)]))
                        @if let Some(p) = plant { ", " a href=(format!("/plants/{p}")) { (t.f("plant {n}", &[("n", p)])) } }
                        " · " a.edit href=(format!("/crosses/{number}/log?about=pollination&n={n}")) { (t.t("add an entry")) }
                        " · " a.edit href=(format!("/crosses/{number}/tags.pdf?n={n}")) { (t.t("print its tag")) }
                    }
                    (markup::journal_list(lines, t, None))
                }
            }
        }
        section.sect {
            h2.under { (t.t("Batches")) }
            @if page.batches.is_empty() { p.open { (t.t("Nothing is sown yet.")) } }
            @for (n, what, lines) in &page.batches {
                div class="journal whole" {
                    h3 { (t.f("Batch {n}", &[("n", n)])) ", " (what) " · " a.edit href=(format!("/crosses/{number}/log?about=batch&n={n}")) { (t.t("add an entry")) } }
                    (markup::journal_list(lines, t, None))
                }
            }
            form.inline method="post" action=(format!("/crosses/{number}/sow")) {
                (line(t.t("Sow"), "count", "", t.t("how many seeds")))
                (line(t.t("Medium"), "medium", "", ""))
                (line(t.t("When"), "when", "", t.t("empty for today")))
                button.btn { (t.t("Write it")) }
            }
        }
        section.sect {
            h2.under { (t.t("Seedlings with a number")) }
            @if page.seedlings.is_empty() { p.open { (t.t("None yet.")) } }
            @else {
                table class="t list stack" {
                    thead { tr { th.no { (t.t("No.")) } th { (t.t("Seedling")) } th { (t.t("Plant")) } } }
                    tbody { @for (n, name, plant) in &page.seedlings {
                        tr data-row {
                            td class="no num" { (n) }
                            td { @match plant { Some(p) => { (markup::linked(name, *p)) } None => { (markup::name(name)) } } }
                            td class="q num" { @if let Some(p) = plant { (p) } }
                        }
                    } }
                }
            }
            form.inline method="post" action=(format!("/crosses/{number}/prick-out")) {
                (line(t.t("Pot seedlings"), "count", "1", t.t("how many; each becomes a plant with a number of its own")))
                (pick(t.t("Stands"), "place", "", &places, "p"))
                (line(t.t("When"), "when", "", t.t("empty for today")))
                button.btn { (t.t("Pot them")) }
            }
        }
        @if !page.statements.is_empty() {
            section.sect { h2 { (t.t("Said by others")) } ol.dated { @for s in &page.statements { li { p { (t.f("“{words}”", &[("words", &s.text)])) } span.small { (s.said_by) } } } } }
        }
    };
    ask.show(Nav::Crosses, &page.title.plain, &body)
}

/// Sows.
pub(crate) async fn sow(ask: Ask, Path(number): Path<i64>, Form(sent): Form<Sent>) -> Answered {
    let mut detail = Map::new();
    if let Some(n) = filled(&sent, "count") {
        let count: u64 = n
            .parse()
            .map_err(|_| ask.failed(WebError::form("count", &n, "is not a whole number")))?;
        detail.insert("count".to_owned(), json!(count));
    }
    if let Some(m) = filled(&sent, "medium") {
        detail.insert("medium".to_owned(), json!(m));
    }
    acts::sow(
        &ask.journal(),
        &ask.hand,
        number,
        field(&sent, "when"),
        &Value::Object(detail),
        None,
    )
    .map_err(|e| ask.failed(e))?;
    go(&format!("/crosses/{number}"))
}

/// Pots seedlings.
pub(crate) async fn prick_out(
    ask: Ask,
    Path(number): Path<i64>,
    Form(sent): Form<Sent>,
) -> Answered {
    let n = field(&sent, "count");
    let count: usize = n.parse().ok().filter(|n| (1..=2000).contains(n)).ok_or_else(|| {
        ask.failed(WebError::form("count", n, "is not a number of seedlings from 1 to 2000"))
    })?;
    acts::prick_out(
        &ask.journal(),
        &ask.hand,
        number,
        count,
        field(&sent, "when"),
        Some(field(&sent, "place")),
    )
    .map_err(|e| ask.failed(e))?;
    go(&format!("/crosses/{number}"))
}

fn about(sent: &Sent) -> Option<(SubjectKind, i64)> {
    let kind = SubjectKind::of_word(field(sent, "about"))?;
    Some((kind, field(sent, "n").parse().ok()?))
}

/// The form for an entry about a pollination or a batch.
pub(crate) async fn log_form(
    ask: Ask,
    Path(number): Path<i64>,
    Query(sent): Query<Sent>,
) -> Answered {
    let t = ask.t();
    let Some((subject, n)) = about(&sent) else {
        return Err(ask.failed(WebError::form(
            "about",
            field(&sent, "about"),
            "is neither a pollination nor a batch",
        )));
    };
    let (keepers, places) = ask.read(known_names)?;
    let over = html! { a href=(format!("/crosses/{number}")) { (t.f("cross {n}", &[("n", &number)])) } ", " (t.word(subject.as_str())) " " (n) };
    let base = format!("/crosses/{number}/log?about={}&n={n}&kind=", subject.as_str());
    let body = match journal::entry_kind(field(&sent, "kind")) {
        None => html! {
            (title(&over, &html! { (t.t("What happened?")) }, None))
            (super::entries::kinds_list(subject, &base, t))
        },
        Some(kind) => html! {
            (title(&over, &html! { (super::entries::kind_words(kind.key, t)) }, None))
            form.form method="post" action=(format!("/crosses/{number}/log")) data-draft=(kind.key) {
                input type="hidden" name="about" value=(subject.as_str());
                input type="hidden" name="n" value=(n);
                input type="hidden" name="kind" value=(kind.key);
                (entry_fields(kind, &Map::new(), &keepers, &places, t))
                (super::entries::common_fields("", journal::Known::Seen, "", t))
                button.btn.main { (t.t("Write it")) }
            }
        },
    };
    ask.show(Nav::Crosses, t.t("Add an entry"), &body)
}

/// Writes an entry about a pollination or a batch.
pub(crate) async fn log(ask: Ask, Path(number): Path<i64>, Form(sent): Form<Sent>) -> Answered {
    let Some((subject, n)) = about(&sent) else {
        return Err(ask.failed(WebError::form(
            "about",
            field(&sent, "about"),
            "is neither a pollination nor a batch",
        )));
    };
    super::entries::log_about(&ask, subject, n, &sent, &format!("/crosses/{number}"))
}

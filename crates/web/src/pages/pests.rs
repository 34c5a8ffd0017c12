//! Pests: the house, a plant, a place; and what was sprayed before a leaf was damaged.

use answers::{
    BitKind,
    pests::{
        self, Beside, DamageSaid, Named, Neighbours, NewcomersSaid, Pests, Rotation, Told,
        TroubleSaid, Unit,
    },
};
use axum::extract::{Path, Query};
use journal::SubjectKind;
use maud::{Markup, PreEscaped, html};
use texts::Texts;

use super::ask::{Answered, Ask};
use crate::{
    WebError,
    forms::{Sent, filled},
    layout::{Nav, title},
    markup,
};

/// How it is computed: the question and the method.
pub(crate) fn method(t: Texts) -> (&'static str, &'static str) {
    (
        t.t("Is some of it still there?"),
        t.t("After a find it is there. Without treatment it stays with 95 % (85–99); a treatment leaves some with an unknown chance around one half (0.3–0.7), the same for all: one leaves some in 50, two in 30, three in 20 of 100 cases. A look finds what is there with an unknown chance around one half with a lens (0.3–0.7), three in ten by eye, one in ten on roots in the pot; looks of one day count once, and where it was found on several plants the one looked at least decides. All of these are guesses of common practice; the range is that of the guesses. It is over when the chance is below 5 % and a look found nothing after a generation of the slowest it may be. Generations come from the temperatures of the place by degree-days: fast is the fastest tenth in the warmest it may have been, slow all but the slowest tenth in the coolest; 20 to 24 °C where no temperature is known. A newcomer is clean with the same formula from 20 % by mail (10–40) or 5 % from a trusted hand (2–10), released below 3 % after a generation of citrus mealybug."),
    )
}

/// The page of the house.
pub(crate) async fn house(ask: Ask) -> Answered {
    let t = ask.t();
    let all = ask.read(|r| Ok(pests::of_house(r, &ask.hand)?))?;
    let heading = match all.open.len() {
        0 => t.t("No trouble is open").to_owned(),
        n => t.f("One trouble is open|{n} troubles are open", &[("n", &n)]),
    };
    let body = html! {
        (title(&html! { (t.t("Pests")) }, &html! { (heading) },
            Some(t.t("What was found where, whether some are still there, and when to look again."))))
        @for s in &all.open { (trouble(s, &ask, "/pests")) }
        @if !all.newcomers.is_empty() {
            section.sect {
                h2.under { (t.t("Newcomers")) }
                @for n in &all.newcomers { (newcomers(n, &ask, "/pests")) }
            }
        }
        (damage_list(&all.damage, t))
        (folded(t.t("Nothing written for half a year"), &all.silent, &ask))
        (folded(t.t("Taken to be over"), &all.over, &ask))
        section.sect {
            h2.under { (t.t("Before anything is sprayed")) }
            @for (lead, text) in pests::cautions(t) { p class="note caution measure" { b { (lead) } " " (text) } }
        }
    };
    ask.show(Nav::Places, t.t("Pests"), &body)
}

fn folded(heading: &str, list: &[TroubleSaid], ask: &Ask) -> Markup {
    html! {
        @if !list.is_empty() {
            details.rest {
                summary { (heading) " (" (list.len()) ")" }
                @for s in list { (trouble(s, ask, "/pests")) }
            }
        }
    }
}

/// The section of a plant's page.
pub(crate) fn plant_section(all: &Pests, number: i64, ask: &Ask) -> Markup {
    let t = ask.t();
    let back = format!("/plants/{number}");
    html! {
        section.sect id="pests" {
            h2 { (t.t("Pests")) }
            @if all.is_empty() { p.open { (t.t("Nothing was found on it.")) } }
            (lists(all, ask, &back))
            @for near in &all.near { p.note { (near) } }
            (damage_list(&all.damage, t))
            div class="n-row after" {
                a.edit href=(format!("/plants/{number}/sprayed")) { (t.t("what was sprayed on it")) }
                a.edit href=(format!("/plants/{number}/log?kind=damage_seen")) { (t.t("write down a damaged leaf")) }
                a.edit href=(format!("/plants/{number}/log?kind=kept_apart")) { (t.t("keep it apart")) }
                a.edit href="/pests" { (t.t("all pests of the house")) }
            }
        }
    }
}

/// The section of a place's page.
pub(crate) fn place_section(all: &Pests, number: i64, ask: &Ask) -> Markup {
    let t = ask.t();
    html! {
        @if !all.is_empty() {
            section.sect id="pests" {
                h2 { (t.t("Pests")) }
                (lists(all, ask, &format!("/places/{number}")))
                (damage_list(&all.damage, t))
                p.after { a.edit href="/pests" { (t.t("all pests of the house")) } }
            }
        }
    }
}

fn lists(all: &Pests, ask: &Ask, back: &str) -> Markup {
    let t = ask.t();
    html! {
        @for s in &all.open { (trouble(s, ask, back)) }
        @for n in &all.newcomers { (newcomers(n, ask, back)) }
        @for s in &all.silent { (told(&s.told, ask, &html! {})) }
        @if !all.over.is_empty() {
            details.rest {
                summary { (t.t("Taken to be over")) " (" (all.over.len()) ")" }
                @for s in &all.over { (told(&s.told, ask, &html! {})) }
            }
        }
    }
}

/// Where an entry about this is written.
fn log_path(unit: Unit) -> String {
    match unit.kind {
        SubjectKind::Place => format!("/places/{}/log", unit.number),
        _ => format!("/plants/{}/log", unit.number),
    }
}

/// What one tap writes.
fn tap(unit: Unit, kind: &str, field: (&str, &str), back: &str, words: &str) -> Markup {
    html! {
        form method="post" action=(log_path(unit)) {
            input type="hidden" name="kind" value=(kind);
            @if !field.1.is_empty() { input type="hidden" name=(field.0) value=(field.1); }
            input type="hidden" name="back" value=(back);
            button.btn { (words) }
        }
    }
}

fn trouble(s: &TroubleSaid, ask: &Ask, back: &str) -> Markup {
    let t = ask.t();
    let typed = s.trouble.typed.as_str();
    let acts = html! {
        @if s.trouble.next_look.is_some() {
            div.printrow {
                @if let Some(unit) = s.taps() {
                    (tap(unit, "clean", ("looked_for", typed), back, t.t("looked and clean")))
                    (tap(unit, "pest_seen", ("pest", typed), back, t.t("still there")))
                }
            }
        }
        @if let Some(n) = &s.neighbours { (neighbours(n, t)) }
        @if let Some(r) = &s.rotation { (rotation(r, t)) }
    };
    told(&s.told, ask, &acts)
}

fn newcomers(n: &NewcomersSaid, ask: &Ask, back: &str) -> Markup {
    let t = ask.t();
    let acts = html! {
        div.n-row {
            @for p in &n.newcomers.plants { span { (plant_link(p)) } }
        }
        @for p in n.newcomers.plants.iter().take(3) {
            div.printrow {
                span.small { (p.unit.number) }
                (tap(p.unit, "clean", ("looked_for", ""), back, t.t("looked and clean")))
                @if n.newcomers.ready { (tap(p.unit, "let_in", ("why", ""), back, t.t("let in with the others"))) }
                @else if !n.newcomers.apart { (tap(p.unit, "kept_apart", ("why", ""), back, t.t("keep it apart"))) }
            }
        }
    };
    told(&n.told, ask, &acts)
}

/// A sentence with its evidence, in the shape of every answer.
fn told(s: &Told, ask: &Ask, acts: &Markup) -> Markup {
    let t = ask.t();
    html! {
        section class="answer row" {
            div {
                p.say { (markup::bits(&s.said.head)) }
                (PreEscaped(markup::evidence(&s.answer, &s.said, s.start.0, &s.start.1, &ask.hand)))
                p.basis { b { (s.said.count) } " " (s.said.basis) }
                @for line in &s.more { p.gap { (line_bits(line)) } }
                (acts)
            }
            div {
                @for gap in &s.said.gaps { p.note { (gap) } }
                @for (lead, check) in &s.said.cautions { p class="note caution" { b { (lead) } " " (check) } }
                p.note { a href=(format!("/how/{}", s.answer.question)) { (t.t("How this was computed")) } }
            }
        }
    }
}

/// Bits of a sentence in the size of the text: what is computed in the accent.
fn line_bits(line: &[answers::Bit]) -> Markup {
    html! {
        @for bit in line {
            @match bit.kind {
                BitKind::Value | BitKind::Interval => { span.c { (bit.text) } }
                BitKind::Weak | BitKind::Absent => { span.open { (bit.text) } }
                BitKind::Plain => { (bit.text) }
            }
        }
    }
}

fn plant_link(n: &Named) -> Markup {
    html! {
        @match n.unit.kind {
            SubjectKind::Plant => { a href=(format!("/plants/{}", n.unit.number)) { (n.unit.number) " " (markup::name(&n.name)) } }
            SubjectKind::Place => { a href=(format!("/places/{}", n.unit.number)) { (n.name.plain) } }
            _ => { (n.name.plain) }
        }
    }
}

fn neighbours(n: &Neighbours, t: Texts) -> Markup {
    html! {
        @if !n.next.is_empty() {
            details.rest {
                summary { (t.t("Look at these next")) " (" (n.next.len()) ")" }
                ol.dated { @for b in &n.next { (beside(b, t)) } }
                p.note {
                    (t.t("In the order of how long and how near they stood, by weights of common practice; those looked at since come last. No more is claimed by the order."))
                    @if n.others > 0 { " " (t.f("One other stood farther off or shorter.|{n} others stood farther off or shorter.", &[("n", &n.others)])) }
                    @if n.nowhere > 0 { " " (t.f("Where one plant stands is not recorded.|Where {n} plants stand is not recorded.", &[("n", &n.nowhere)])) }
                }
            }
        }
        @if !n.upstream.is_empty() {
            details.rest {
                summary { (t.t("Where it may have come from")) " (" (n.upstream.len()) ")" }
                ol.dated {
                    @for u in &n.upstream { li { p { (plant_link(&u.plant)) } span.small { (u.reason) } } }
                }
            }
        }
    }
}

fn beside(b: &Beside, t: Texts) -> Markup {
    html! {
        li {
            p { (plant_link(&b.plant)) }
            span.small {
                (b.reasons.join("; "))
                @if b.looked.is_some() { "; " (t.t("looked at since, and clean")) }
                "."
            }
        }
    }
}

fn rotation(r: &Rotation, t: Texts) -> Markup {
    html! {
        details.rest {
            summary { (t.t("Groups of modes of action used here")) }
            ol.dated { @for line in &r.history { li { p { (line) } } } }
            @for line in &r.watch { p.note { (line) } }
        }
    }
}

fn damage_list(list: &[DamageSaid], t: Texts) -> Markup {
    html! {
        @if !list.is_empty() {
            section.sect {
                h2.under { (t.t("Damaged leaves")) }
                ol.dated {
                    @for d in list {
                        li {
                            p { (plant_link(&d.plant)) }
                            span.small {
                                (d.text) " "
                                a href=(format!("/plants/{}/sprayed?before={}", d.plant.unit.number, d.date)) {
                                    @match d.treatments {
                                        0 => { (t.t("no treatment is recorded before")) }
                                        n => { (t.f("one treatment had reached it|{n} treatments had reached it", &[("n", &n)])) }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What was sprayed on a plant, up to a day or to the first damage.
pub(crate) async fn sprayed(
    ask: Ask,
    Path(number): Path<i64>,
    Query(sent): Query<Sent>,
) -> Answered {
    let t = ask.t();
    let before = filled(&sent, "before").and_then(|d| d.parse().ok());
    let entry = filled(&sent, "entry").and_then(|e| e.parse().ok());
    let list = ask.read(|r| {
        let of_entry: Option<journal::EntryRow> = entry.map(|e| r.entry(e)).transpose()?.flatten();
        let before = of_entry.and_then(|e| e.happened.latest()).or(before);
        pests::sprayed(r, number, before, &ask.hand).map_err(WebError::Ask)
    })?;
    let heading = match list.treatments.len() {
        0 => t.t("No treatment is recorded").to_owned(),
        n => t.f("One treatment reached it|{n} treatments reached it", &[("n", &n)]),
    };
    let lede = (!list.counted_from.is_empty())
        .then(|| t.f("Counted back from {what}.", &[("what", &list.counted_from)]));
    let body = html! {
        (title(&html! { a href=(format!("/plants/{number}")) { (t.f("Plant {n}", &[("n", &number)])) } ", " (t.t("what was sprayed")) }, &html! { (heading) }, lede.as_deref()))
        table class="t list stack" {
            thead { tr { th { (t.t("Date")) } th { (t.t("What")) } th { (t.t("How it reached the plant")) } th { (t.t("Before the damage")) } } }
            tbody {
                @for s in &list.treatments {
                    tr data-row {
                        td { (s.date) }
                        td {
                            (s.text)
                            @if s.product.is_none() { " " b { (t.t("The product is not known.")) } }
                            @if let Some(note) = &s.note { " " span.q { (note) } }
                        }
                        td { (s.way_words) }
                        td.num { span.c { (s.before_words) } }
                    }
                }
            }
        }
        @for gap in &list.gaps { p.note { (gap) } }
        p.note { (t.t("What came before a damage is not thereby its cause: cold water, sun, a dry root or a pest mark leaves too.")) }
        div class="n-row after" {
            a.edit href=(format!("/plants/{number}/log?kind=treated")) { (t.t("write down a treatment")) }
            a.edit href=(format!("/plants/{number}/log?kind=damage_seen")) { (t.t("write down a damaged leaf")) }
        }
    };
    ask.show(Nav::Plants, t.t("What was sprayed"), &body)
}

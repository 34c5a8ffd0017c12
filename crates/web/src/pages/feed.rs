//! Feed: what goes into a can, what is on the shelf, what the meter showed.

use answers::{
    acts,
    feed::{self, Can, CanInput, FeedKept, Metered, RateLine, ShelfLine, WaterKept},
};
use axum::{
    Form,
    extract::{Path, Query},
};
use maud::{Markup, html};
use texts::Texts;

use super::ask::{Answered, Ask, go};
use crate::{
    WebError,
    forms::{Sent, choice, field, line},
    layout::{Nav, title},
};

/// How many readings are shown.
const READINGS: usize = 20;

/// The page; with a feed chosen, the recipe of a can.
pub(crate) async fn page(ask: Ask, Query(sent): Query<Sent>) -> Answered {
    let t = ask.t();
    let hand = &ask.hand;
    let (shelf, metered) =
        ask.read(|r| Ok((feed::shelf(r, hand)?, feed::metered(r, READINGS, hand)?)))?;
    let can = if field(&sent, "feed").is_empty() {
        None
    } else {
        Some(ask.read(|r| Ok(feed::can(r, &can_input(&sent), hand)?))?)
    };
    let rates = feed::rates(t);
    let body = html! {
        (title(&html! { a href="/house" { (t.t("House")) } }, &html! { (t.t("Feed")) },
            Some(t.t("From the label to the can, and what the meter should then show."))))
        div.n-row { a href="/potting" { (t.t("Potting")) } }
        section class="row" {
            div {
                h2.under { (t.t("A can")) }
                @if shelf.feeds.is_empty() { p.open { (t.t("No feed is on the shelf yet; write one down below.")) } }
                @else { (can_form(&sent, &shelf, &rates, t)) }
                @if let Some(can) = &can { (recipe(can)) }
            }
            div { (cautions(t)) }
        }
        section.sect {
            h2.under { (t.t("Feeds on the shelf")) }
            (kept(&shelf.feeds, t.t("None yet."), t))
        }
        section.sect {
            h2.under { (t.t("Waters")) }
            (kept(&shelf.waters, t.t("None yet."), t))
        }
        section.sect {
            h2.under { (t.t("What the meter showed")) }
            (readings(&metered, t))
        }
        section.sect {
            h2.under { (t.t("How strong, for whom")) }
            (rates_table(&rates, t))
        }
        section.sect {
            h2 { (t.t("Another feed")) }
            form.form method="post" action="/feed" {
                input type="hidden" name="what" value="feed";
                (feed_fields(None, t))
                button.btn { (t.t("Keep")) }
            }
        }
        section.sect {
            h2 { (t.t("Another water")) }
            form.form method="post" action="/feed" {
                input type="hidden" name="what" value="water";
                (water_fields(None, t))
                button.btn { (t.t("Keep")) }
            }
        }
    };
    ask.show(Nav::None, t.t("Feed"), &body)
}

fn can_input(sent: &Sent) -> CanInput {
    let f = |key: &str| field(sent, key).to_owned();
    CanInput {
        feed: f("feed"),
        nitrogen: f("nitrogen"),
        group: f("group"),
        litres: f("litres"),
        water: f("water"),
        soft: f("soft"),
        alkalinity: f("alkalinity"),
        injector: f("injector"),
    }
}

fn can_form(sent: &Sent, shelf: &feed::Shelf, rates: &[RateLine], t: Texts) -> Markup {
    let names = |lines: &[ShelfLine]| -> Vec<(String, String)> {
        lines.iter().map(|l| (l.number.to_string(), l.name.clone())).collect()
    };
    let groups: Vec<(String, String)> =
        rates.iter().map(|r| (r.key.to_owned(), r.group.clone())).collect();
    html! {
        form.form method="get" action="/feed" {
            (choice(t.t("Feed"), "feed", &names(&shelf.feeds), field(sent, "feed")))
            (choice(t.t("For which plants"), "group", &groups, field(sent, "group")))
            (line(t.t("or nitrogen"), "nitrogen", field(sent, "nitrogen"), t.t("mg/L; empty for the rate of the group")))
            (line(t.t("The can holds"), "litres", field(sent, "litres"), t.t("in litres")))
            (choice(t.t("Water"), "water", &names(&shelf.waters), field(sent, "water")))
            (choice(t.t("Softened with"), "soft", &names(&shelf.waters), field(sent, "soft")))
            (line(t.t("to an alkalinity of"), "alkalinity", field(sent, "alkalinity"), t.t("mg/L CaCO₃; for epiphytes 40 to 80, common practice")))
            (line(t.t("Injector 1 :"), "injector", field(sent, "injector"), t.t("such as 100; empty without one")))
            button.btn.main { (t.t("Work it out")) }
        }
    }
}

fn recipe(can: &Can) -> Markup {
    html! {
        div.computed id="can" {
            h3.after { (can.feed) }
            dl.facts {
                @for l in &can.lines {
                    dt { (l.what) }
                    dd { span.v { (l.amount) } @if !l.note.is_empty() { " " span.small { (l.note) } } }
                }
            }
            @for note in &can.notes { p.note { (note) } }
        }
    }
}

/// What must stand beside the numbers.
pub(crate) fn cautions(t: Texts) -> Markup {
    html! {
        @for c in feed::CAUTIONS { p class="note caution" { b { (t.t(c.lead)) } " " (t.t(c.text)) } }
    }
}

/// A table of what is kept.
pub(crate) fn kept(lines: &[ShelfLine], none: &str, t: Texts) -> Markup {
    html! {
        @if lines.is_empty() { p.open { (none) } }
        @else {
            table class="t stack" {
                thead { tr { th.no { (t.t("No.")) } th { (t.t("Name")) } th { (t.t("What is known")) } th { (t.t("Would be of use")) } } }
                tbody { @for l in lines {
                    tr {
                        td class="no num" { (l.number) }
                        td { a href=(format!("/feed/{}", l.number)) { (l.name) } }
                        td { (l.facts) }
                        td.small { (l.missing) }
                    }
                } }
            }
        }
    }
}

fn readings(metered: &[Metered], t: Texts) -> Markup {
    html! {
        @if metered.is_empty() { p.open { (t.t("No conductivity is written down with a watering yet.")) } }
        @else {
            table class="t stack" {
                thead { tr { th { (t.t("When")) } th { (t.t("Where")) } th { (t.t("What")) } th { (t.t("Shown")) } th { (t.t("What it can be")) } } }
                tbody { @for m in metered {
                    tr {
                        td { (m.date) }
                        td { (about(m, t)) }
                        td { (m.what) }
                        td class="num" { (m.beside) }
                        td.small { (m.words) }
                    }
                } }
            }
            p.note { (t.t("A reading says nothing of which salt it is. Urea does not conduct.")) }
        }
    }
}

fn about(m: &Metered, t: Texts) -> Markup {
    let n = m.about.number;
    html! {
        @match m.about.kind.as_str() {
            "plant" => { a href=(format!("/plants/{n}")) { (t.f("plant {n}", &[("n", &n)])) } }
            "place" => { a href=(format!("/places/{n}")) { (t.f("place {n}", &[("n", &n)])) } }
            other => { (t.word(other)) " " (n) }
        }
    }
}

fn rates_table(rates: &[RateLine], t: Texts) -> Markup {
    html! {
        table class="t stack" {
            thead { tr { th { (t.t("Plants")) } th.r { (t.t("Nitrogen, mg/L")) } th.r { (t.t("from–to")) } th { (t.t("Where this comes from")) } } }
            tbody { @for r in rates {
                tr {
                    td { (r.group) }
                    td class="r num" { (r.nitrogen) }
                    td class="r num" { (r.from) "–" (r.to) }
                    td.small { (r.basis) }
                }
            } }
        }
        p.note { (t.t("In every watering, at growing light, while the plant grows. Less light wants less; without growth nothing.")) }
    }
}

fn shown(value: Option<f64>) -> String {
    value.map(|v| v.to_string()).unwrap_or_default()
}

fn feed_fields(f: Option<&FeedKept>, t: Texts) -> Markup {
    let label = f.map(|f| &f.label);
    let percent = |v: Option<f64>| shown(v.filter(|v| *v > 0.0));
    let forms = f.and_then(|f| f.forms);
    let npk = label.map(|l| format!("{}-{}-{}", l.nitrogen, l.phosphate, l.potash));
    let at = f.and_then(|f| f.at).map(|(n, c)| format!("{n} {c}"));
    html! {
        (line(t.t("Name"), "name", f.map_or("", |f| &f.name), t.t("as you write it into the journal")))
        (line("N–P₂O₅–K₂O", "label", npk.as_deref().unwrap_or(""), t.t("the three figures of the label, such as 13-3-15")))
        (line("Ca", "calcium", &percent(label.map(|l| l.calcium)), t.t("% by mass")))
        (line("Mg", "magnesium", &percent(label.map(|l| l.magnesium)), t.t("% by mass")))
        (line(t.t("Nitrogen as nitrate"), "nitrate", &shown(forms.map(|x| x.nitrate)), t.t("% by mass")))
        (line(t.t("Nitrogen as ammonium"), "ammonium", &shown(forms.map(|x| x.ammonium)), t.t("% by mass")))
        (line(t.t("Nitrogen as urea"), "urea", &shown(f.and_then(|f| f.urea)), t.t("% by mass")))
        label.tick { input type="checkbox" name="sulphate" value="yes" checked[f.is_some_and(|f| f.sulphate)]; (t.t("It brings sulphate")) }
        (line(t.t("Density of a liquid"), "density", &shown(f.and_then(|f| f.density)), t.t("kg/L; empty for a powder; weigh 100 mL")))
        (line(t.t("Own scoop, weighed"), "scoop", &shown(f.and_then(|f| f.scoop)), t.t("g")))
        (line(t.t("The label advises"), "usual", &shown(f.and_then(|f| f.usual)), t.t("g/L")))
        (line(t.t("Row of conductivity"), "at", at.as_deref().unwrap_or(""), t.t("mg/L of nitrogen, then mS/cm, such as 100 0.7")))
        (line(t.t("Price"), "price", "", t.t("such as 12 EUR for 1 kg")))
    }
}

fn water_fields(w: Option<&WaterKept>, t: Texts) -> Markup {
    let kinds: Vec<(String, String)> = ["rain", "tap", "osmosis", "distilled", "mixed", "melted"]
        .map(|k| (k.to_owned(), t.word(k)))
        .into();
    let how: Vec<(String, String)> = vec![
        ("report".to_owned(), t.t("from its report").to_owned()),
        ("strip".to_owned(), t.t("by a strip").to_owned()),
        ("meter".to_owned(), t.t("by a meter").to_owned()),
    ];
    let f = |get: fn(&WaterKept) -> Option<f64>| shown(w.and_then(get));
    html! {
        (line(t.t("Name"), "name", w.map_or("", |w| &w.name), ""))
        (choice(t.t("Kind"), "kind", &kinds, w.map_or("", |w| &w.kind)))
        (line(t.t("Alkalinity"), "alkalinity", &f(|w| w.alkalinity), t.t("mg/L CaCO₃, or with °dH (carbonate hardness)")))
        (line(t.t("Conductivity"), "conductivity", &f(|w| w.conductivity), t.t("mS/cm, or with µS/cm")))
        (line("Ca", "calcium", &f(|w| w.calcium), "mg/L"))
        (line("Mg", "magnesium", &f(|w| w.magnesium), "mg/L"))
        (line("Na", "sodium", &f(|w| w.sodium), "mg/L"))
        (choice(t.t("How it is known"), "how", &how, w.map_or("", |w| &w.how)))
    }
}

/// One thing of the shelf, to be written anew or used up.
pub(crate) async fn one(ask: Ask, Path(number): Path<i64>) -> Answered {
    let t = ask.t();
    let kept = ask.read(|r| Ok(feed::kept(r)?))?;
    let feed = kept.feeds.iter().find(|f| f.number == number);
    let water = kept.waters.iter().find(|w| w.number == number);
    let own = |what: &str, fields: Markup| {
        html! { input type="hidden" name="what" value=(what); (fields) }
    };
    let (name, fields) = match (feed, water) {
        (Some(f), _) => (f.name.clone(), own("feed", feed_fields(Some(f), t))),
        (None, Some(w)) => (w.name.clone(), own("water", water_fields(Some(w), t))),
        (None, None) => super::potting::form_of(&kept, number, t).ok_or_else(|| {
            let error = WebError::form("number", &number.to_string(), "is not on the shelf");
            ask.failed_next(error, t.t("Feed"), "/feed")
        })?,
    };
    let body = html! {
        (title(&html! { a href="/feed" { (t.t("Feed")) } }, &html! { (name) }, None))
        form.form method="post" {
            (fields)
            button.btn.main { (t.t("Keep")) }
        }
        form.inline method="post" {
            input type="hidden" name="do" value="gone";
            button.btn { (t.t("It is used up")) }
        }
    };
    ask.show(Nav::None, &name, &body)
}

/// Writes something of the shelf.
pub(crate) async fn add(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    write(&ask, None, &sent)
}

/// Writes something of the shelf anew, or says that it is used up.
pub(crate) async fn change(ask: Ask, Path(number): Path<i64>, Form(sent): Form<Sent>) -> Answered {
    if field(&sent, "do") == "gone" {
        acts::use_up(&ask.journal(), &ask.hand, number).map_err(|e| ask.failed(e))?;
        return go("/feed");
    }
    write(&ask, Some(number), &sent)
}

fn write(ask: &Ask, number: Option<i64>, sent: &Sent) -> Answered {
    if ["mix", "material"].contains(&field(sent, "what")) {
        return super::potting::write(ask, number, sent);
    }
    let f = |key: &str| field(sent, key).to_owned();
    let (journal, hand) = (ask.journal(), &ask.hand);
    if f("what") == "water" {
        let input = acts::WaterInput {
            name: f("name"),
            kind: f("kind"),
            alkalinity: f("alkalinity"),
            conductivity: f("conductivity"),
            calcium: f("calcium"),
            magnesium: f("magnesium"),
            sodium: f("sodium"),
            how: f("how"),
        };
        acts::keep_water(&journal, hand, number, &input).map_err(|e| ask.failed(e))?;
    } else {
        let input = acts::FeedInput {
            name: f("name"),
            label: f("label"),
            calcium: f("calcium"),
            magnesium: f("magnesium"),
            nitrate: f("nitrate"),
            ammonium: f("ammonium"),
            urea: f("urea"),
            sulphate: f("sulphate"),
            density: f("density"),
            scoop: f("scoop"),
            usual: f("usual"),
            at: f("at"),
            price: f("price"),
        };
        acts::keep_feed(&journal, hand, number, &input).map_err(|e| ask.failed(e))?;
    }
    go("/feed")
}

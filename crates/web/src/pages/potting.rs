//! Potting: which plants want a larger pot, how much of each material to prepare, what is kept.

use answers::{
    acts,
    feed::{self, MaterialKept, MixKept, Price},
    potting::{self, MixInput, MixPlan, PotLine},
};
use axum::{Form, extract::Query};
use maud::{Markup, html};
use texts::Texts;

use super::{
    ask::{Answered, Ask, go},
    feed::kept,
};
use crate::{
    WebError,
    forms::{Sent, field, line},
    layout::{Nav, title},
    markup,
};

/// The page; with plants chosen, the plan for them.
pub(crate) async fn page(ask: Ask, Query(sent): Query<Vec<(String, String)>>) -> Answered {
    let t = ask.t();
    let hand = &ask.hand;
    let asked = asked(&sent).map_err(|e| ask.failed(e))?;
    let (lines, shelf) = ask.read(|r| Ok((potting::to_pot(r, hand)?, feed::shelf(r, hand)?)))?;
    let plan = if asked.plants.is_empty() {
        None
    } else {
        Some(ask.read(|r| Ok(potting::plan(r, &asked, hand)?))?)
    };
    let body = html! {
        (title(&html! { a href="/house" { (t.t("House")) } }, &html! { (t.t("Potting")) },
            Some(t.t("Which plants want a larger pot, and what to prepare for them."))))
        section class="row" {
            div {
                h2.under { (t.t("Likely to want a larger pot")) }
                (choose(&lines, &asked, t))
            }
            div {
                @for c in potting::CAUTIONS { p class="note caution" { b { (t.t(c.lead)) } " " (t.t(c.text)) } }
                p.note { a href="/how/repot" { (t.t("How this was computed")) } }
            }
        }
        @if let Some(plan) = &plan { (planned(plan, t)) }
        section.sect {
            h2.under { (t.t("Mixes")) }
            (kept(&shelf.mixes, t.t("None yet."), t))
        }
        section.sect {
            h2.under { (t.t("Materials")) }
            (kept(&shelf.materials, t.t("None yet."), t))
        }
        section.sect {
            h2 { (t.t("Another mix")) }
            form.form method="post" action="/potting" {
                input type="hidden" name="what" value="mix";
                (mix_fields(None, t))
                button.btn { (t.t("Keep")) }
            }
        }
        section.sect {
            h2 { (t.t("Another material")) }
            form.form method="post" action="/potting" {
                input type="hidden" name="what" value="material";
                (material_fields(None, t))
                button.btn { (t.t("Keep")) }
            }
        }
    };
    ask.show(Nav::None, t.t("Potting"), &body)
}

/// What the address asks for: `n` may occur often.
fn asked(sent: &[(String, String)]) -> Result<MixInput, WebError> {
    let mut out = MixInput::default();
    for (key, value) in sent {
        match key.as_str() {
            "n" => {
                for n in value.split([',', ' ']).filter(|n| !n.is_empty()) {
                    let problem = "is not the number of a plant; write numbers with spaces between";
                    out.plants.push(n.parse().map_err(|_| WebError::form("plants", n, problem))?);
                }
            }
            "mix" => out.mix = value.trim().to_owned(),
            "pot" => out.pot = value.trim().to_owned(),
            "shrinkage" => out.shrinkage = value.trim().to_owned(),
            _ => {}
        }
    }
    out.plants.dedup();
    Ok(out)
}

fn choose(lines: &[PotLine], asked: &MixInput, t: Texts) -> Markup {
    let listed = |n: &i64| lines.iter().any(|l| l.plant == *n);
    let others: Vec<String> =
        asked.plants.iter().filter(|n| !listed(n)).map(ToString::to_string).collect();
    html! {
        form.form method="get" action="/potting" {
            @if lines.is_empty() { p.open { (t.t("None, as far as pottings and looks at roots tell.")) } }
            @else {
                table class="t stack" {
                    thead { tr { th.no { (t.t("No.")) } th { (t.t("Plant")) } th { (t.t("Pot")) } th { (t.t("Why")) } } }
                    tbody { @for l in lines {
                        tr {
                            td class="no num" { label.tick { input type="checkbox" name="n" value=(l.plant) checked[asked.plants.contains(&l.plant)]; (l.plant) } }
                            td { (markup::linked(&l.name, l.plant)) }
                            td { (l.pot) }
                            td.small { (l.reason) @if l.in_flower { "; " (t.t("in bud or flower: wait")) } }
                        }
                    } }
                }
            }
            (line(t.t("Other plants"), "n", &others.join(" "), t.t("numbers of plants, such as 12 17")))
            (line(t.t("Mix"), "mix", &asked.mix, t.t("a mix by name, or parts such as bark 4, perlite 3; empty for the mix each stands in")))
            (line(t.t("Pots"), "pot", &asked.pot, t.t("such as 12 cm or 2 L; empty for the next size of each")))
            (line(t.t("Filling shrinks it by"), "shrinkage", &asked.shrinkage, t.t("%; empty for 15 (10 to 20), common practice")))
            button.btn.main { (t.t("Work it out")) }
        }
    }
}

fn planned(plan: &MixPlan, t: Texts) -> Markup {
    html! {
        section class="sect row" id="plan" {
            div {
                h2.under { (t.f("Prepare {n} of loose mix", &[("n", &plan.loose_words)])) }
                table.t {
                    thead { tr { th { (t.t("Material")) } th.r { (t.t("Loose")) } th.r { (t.t("Cost")) } } }
                    tbody { @for p in &plan.parts {
                        tr { td { (p.material) } td class="r num" { (p.amount) } td class="r num" { (p.cost) } }
                    } }
                }
                table class="t stack after" {
                    thead { tr { th.no { (t.t("No.")) } th { (t.t("Plant")) } th { (t.t("Pot now")) } th { (t.t("Pot to take")) } th { (t.t("Drying")) } } }
                    tbody { @for p in &plan.pots {
                        tr {
                            td class="no num" { (p.plant) }
                            td { (markup::linked(&p.name, p.plant)) }
                            td { (p.from) }
                            td { (p.to) }
                            td.small { (p.note) }
                        }
                    } }
                }
            }
            div {
                @if !plan.held_words.is_empty() { p.note { b { (t.t("In the first pot:")) } " " (plan.held_words) "." } }
                @if !plan.cost_each.is_empty() { p.note { b { (t.t("Mix for each plant:")) } " " (plan.cost_each) "." } }
                @if !plan.no_price.is_empty() { p.note { (t.f("Without a price on the shelf: {names}.", &[("names", &plan.no_price.join(", "))])) } }
                p.note { (t.t("All old mix is replaced in this plan; where the old ball stays, its volume less is needed.")) }
            }
        }
    }
}

fn mix_fields(m: Option<&MixKept>, t: Texts) -> Markup {
    let recipe: Vec<String> =
        m.iter().flat_map(|m| &m.recipe).map(|(k, v)| format!("{k} {v}")).collect();
    let test = m.and_then(|m| m.test);
    let f = |v: Option<f64>| v.map(|v| v.to_string()).unwrap_or_default();
    html! {
        (line(t.t("Name"), "name", m.map_or("", |m| &m.name), ""))
        (line(t.t("Mix"), "recipe", &recipe.join(", "), t.t("parts by volume, such as bark 4, perlite 3")))
        p.note { (t.t("Test at the sink: line a pot, fill it with mix, fill it slowly with water to the top and note how much; then let it drain for 10 to 15 minutes and measure what ran out.")) }
        (line(t.t("Mix in the pot"), "volume", &f(test.map(|x| x.volume)), "mL"))
        (line(t.t("Water that filled it"), "filled", &f(test.map(|x| x.filled)), "mL"))
        (line(t.t("Water that ran out"), "drained", &f(test.map(|x| x.drained)), "mL"))
        (line(t.t("Height of the mix"), "height", &f(test.map(|x| x.height)), "cm"))
    }
}

fn material_fields(m: Option<&MaterialKept>, t: Texts) -> Markup {
    html! {
        (line(t.t("Name"), "name", m.map_or("", |m| &m.name), t.t("as you write it into mixes")))
        (line(t.t("Price"), "price", &m.and_then(|m| m.price.as_ref()).map(typed).unwrap_or_default(), t.t("such as 9 EUR for 50 L")))
    }
}

/// A price as it is typed.
fn typed(p: &Price) -> String {
    let currency = p.currency.as_deref().unwrap_or("");
    match (p.litres, p.grams) {
        (Some(l), _) => format!("{} {currency} for {l} L", p.amount),
        (None, Some(g)) => format!("{} {currency} for {g} g", p.amount),
        (None, None) => String::new(),
    }
}

/// The form of a mix or material, for the page of one thing of the shelf.
pub(crate) fn form_of(kept: &feed::Kept, number: i64, t: Texts) -> Option<(String, Markup)> {
    if let Some(m) = kept.mixes.iter().find(|m| m.number == number) {
        return Some((
            m.name.clone(),
            html! {
                input type="hidden" name="what" value="mix";
                (mix_fields(Some(m), t))
            },
        ));
    }
    let m = kept.materials.iter().find(|m| m.number == number)?;
    Some((
        m.name.clone(),
        html! {
            input type="hidden" name="what" value="material";
            (material_fields(Some(m), t))
        },
    ))
}

/// Writes a mix or material.
pub(crate) async fn add(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    write(&ask, None, &sent)
}

/// Writes a mix or material, or writes it anew.
pub(crate) fn write(ask: &Ask, number: Option<i64>, sent: &Sent) -> Answered {
    let f = |key: &str| field(sent, key).to_owned();
    let (journal, hand) = (ask.journal(), &ask.hand);
    if f("what") == "material" {
        acts::keep_material(&journal, hand, number, &f("name"), &f("price"))
            .map_err(|e| ask.failed(e))?;
    } else {
        let input = acts::MixInput {
            name: f("name"),
            recipe: f("recipe"),
            volume: f("volume"),
            filled: f("filled"),
            drained: f("drained"),
            height: f("height"),
        };
        acts::keep_mix(&journal, hand, number, &input).map_err(|e| ask.failed(e))?;
    }
    go("/potting")
}

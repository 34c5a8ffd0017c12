//! A season's crosses.

use answers::crossing::{CAUTIONS, Offered, SeasonAsked, SeasonPlan, traits};
use answers::flowers::{AHEAD, Meetings};
use axum::extract::Query;
use drawing::{Choice, Size, TradeWords, Whisker, facing_ridges, trade_off, whisker, whisker_axis};
use maud::{Markup, PreEscaped, html};
use texts::Texts;

use super::pair::axis_end;
use crate::{
    WebError,
    forms::{Sent, choice, field, line},
    layout::{Nav, title},
    markup,
    pages::ask::{Answered, Ask},
};

/// Looks of the search: it and the curve take about a second together.
const LOOKS: u64 = 6_000_000;

fn asked(sent: &Sent) -> Result<SeasonAsked, WebError> {
    let mut out = SeasonAsked::default();
    fn number<T: std::str::FromStr>(sent: &Sent, key: &str, usual: T) -> Result<T, WebError> {
        match field(sent, key).replace(',', ".").as_str() {
            "" => Ok(usual),
            typed => {
                typed.parse().map_err(|_| WebError::form(key, typed, "is not a number that can be"))
            }
        }
    }
    for n in field(sent, "plants").split([',', ' ']).filter(|n| !n.is_empty()) {
        let problem = "is not the number of a plant; write numbers with spaces between";
        out.plants.push(n.parse().map_err(|_| WebError::form("plants", n, problem))?);
    }
    out.friends = field(sent, "friends") == "yes";
    field(sent, "aim").clone_into(&mut out.aim);
    out.from_score = match field(sent, "from") {
        "" => None,
        _ => Some(number(sent, "from", 0.0)?),
    };
    out.pots = number(sent, "pots", out.pots)?;
    out.crosses = number(sent, "crosses", out.crosses)?;
    out.flowers = number(sent, "flowers", out.flowers)?;
    out.weight = number(sent, "weight", out.weight)?;
    out.most_kinship = number(sent, "kinship", out.most_kinship)?;
    Ok(out)
}

/// The plan.
pub(crate) async fn plan(ask: Ask, Query(sent): Query<Sent>) -> Answered {
    let t = ask.t();
    let asked = asked(&sent).map_err(|e| ask.failed(e))?;
    let engine = ask.engine()?;
    let today = ask.hand.today_number();
    let meetings =
        ask.flowers(|kept, r| Ok(kept.meetings(r, &ask.hand, (today, today + AHEAD - 1))?))?;
    let (plan, aims) = ask.read(|r| {
        let meets = |a, b| meetings.chance(a, b);
        let plan = engine.season(r, &ask.hand, &asked, &meets, LOOKS)?;
        Ok((plan, traits(r)?))
    })?;
    let mut aims: Vec<(String, String)> = aims.into_iter().map(|a| (a.clone(), a)).collect();
    aims.insert(0, (String::new(), t.t("none: look at every seedling").to_owned()));
    let plants: Vec<String> = asked.plants.iter().map(ToString::to_string).collect();
    let body = html! {
        (title(&html! { a href="/crosses" { (t.t("Crosses")) } }, &html! { (t.t("Crosses worth the pots")) },
            Some(&t.f("{pairs} pairs of {n} clones weighed; {pots} pots, at most {most} crosses.",
                &[("pairs", &plan.weighed), ("n", &plan.candidates.len()), ("pots", &asked.pots), ("most", &asked.crosses)]))))
        form.filter method="get" action="/crosses/plan" {
            (choice(t.t("Trait that is to rise"), "aim", &aims, &asked.aim))
            (line(t.t("Wanted from a score of"), "from", &asked.from_score.map(|s| s.to_string()).unwrap_or_default(), ""))
            (line(t.t("Pots"), "pots", &asked.pots.to_string(), ""))
            (line(t.t("Crosses at most"), "crosses", &asked.crosses.to_string(), ""))
            (line(t.t("Flowers of one plant"), "flowers", &asked.flowers.to_string(), ""))
            (line(t.t("Weight of kinship"), "weight", &asked.weight.to_string(), ""))
            (line(t.t("Most kinship"), "kinship", &asked.most_kinship.to_string(), ""))
            (line(t.t("Plants"), "plants", &plants.join(" "), t.t("numbers; empty for all")))
            label.tick { input type="checkbox" name="friends" value="yes" checked[asked.friends]; " " (t.t("also pollen of plants that went to others")) }
            button.btn { (t.t("Plan")) }
        }
        @if plan.chosen.is_empty() { p.open { (t.t("No cross promises anything under these limits. Allow more flowers, or closer kin.")) } }
        @else { (pairs(&plan, &plan.chosen, &meetings, t)) }
        section class="sect row" {
            div {
                @for l in &plan.lines { p.note { (l) } }
                p.note { (t.t("Both in flower: the next twelve weeks, the seed parent above, the pollen parent below. Where nothing is known of the flowers of one, that is not counted; look before you count on a pair.")) }
                p.note { @if plan.proven { (t.t("No other set of these pairs is better.")) }
                    @else { (t.f("Another set could be better by {gap} at most.", &[("gap", &format!("{:.2}", plan.gap))])) } }
                @if let Some((i, j, c)) = &plan.teaches {
                    p { (t.t("The one pollination that would teach most:")) " "
                        (markup::linked(&plan.candidates[*i].name, plan.candidates[*i].plant)) " × "
                        (markup::linked(&plan.candidates[*j].name, plan.candidates[*j].plant))
                        " " span.c { (format!("{:.0} % ({:.0}–{:.0})", 100.0 * c.mean, 100.0 * c.lower, 100.0 * c.upper)) } }
                }
            }
            div { p.note { a href="/how/season" { (t.t("How this was computed")) } } @for c in CAUTIONS { p class="note caution" { b { (t.t(c.lead)) } " " (t.t(c.text)) } } }
        }
        @if !plan.pots_over.is_empty() {
            section.sect {
                h2.under { (t.t("Pots over time")) }
                table class="t list" {
                    thead { tr { th { (t.t("From")) } th.r { (t.t("Pots in use")) } } }
                    tbody { @for (day, pots) in &plan.pots_over { tr { td { (answers::said_days((*day, *day), &ask.hand)) } td class="r num" { (pots) } } } }
                }
                p class="note measure" { (t.t("If the flowers are pollinated today and the usual times of each group hold: from the first leaves to the first flower.")) }
            }
        }
        (curve(&plan, &asked, t))
        @if !plan.others.is_empty() {
            section.sect { h2.under { (t.t("Left out, the next best")) } (pairs(&plan, &plan.others, &meetings, t)) }
        }
    };
    ask.show(Nav::Crosses, t.t("Crosses worth the pots"), &body)
}

/// Where the pollination of an offered cross is written down.
fn pollinate(plan: &SeasonPlan, o: &Offered) -> String {
    let of = |at: usize| plan.candidates[at].plant;
    format!("/crosses/new?seed={}&pollen={}&flowers={}", of(o.seed), of(o.pollen), o.flowers)
}

fn percent(x: f64) -> String {
    format!("{:.0}", (100.0 * x).clamp(1.0, 99.0))
}

fn drawn(o: &Offered, end: f64) -> String {
    let w = Whisker {
        at: o.chance.mean,
        lower: o.chance.lower,
        upper: o.chance.upper,
        believed: o.believed,
        end,
    };
    let words = format!("{} % ({}–{} %)", percent(w.at), percent(w.lower), percent(w.upper));
    whisker(&w, &words)
}

fn pairs(plan: &SeasonPlan, offered: &[Offered], meetings: &Meetings, t: Texts) -> Markup {
    let end = axis_end(offered.iter().map(|o| o.chance.upper).fold(0.0, f64::max));
    let chance = |o: &Offered| {
        format!(
            "{} % ({}–{})",
            percent(o.chance.mean),
            percent(o.chance.lower),
            percent(o.chance.upper)
        )
    };
    let kin = |o: &Offered| {
        if o.kinship < 5e-4 {
            t.t("not related, as far as recorded").to_owned()
        } else {
            t.t("the seedlings are as inbred as that").to_owned()
        }
    };
    let months = |d: f64| (d / 30.4).round();
    let first = |o: &Offered| {
        t.f(
            "first flower {a} to {b} months after sowing",
            &[("a", &months(o.first_flower.0)), ("b", &months(o.first_flower.1))],
        )
    };
    let both = |o: &Offered| {
        let of = |at: usize| meetings.of(plan.candidates[at].plant);
        match (of(o.seed), of(o.pollen), o.meets) {
            (Some(a), Some(b), Some(p)) => {
                let words = if o.stored {
                    t.f("pollen from store works: {p} %", &[("p", &percent(p))])
                } else {
                    t.f("together: {p} %", &[("p", &percent(p))])
                };
                html! { (PreEscaped(facing_ridges(&a.weeks, &b.weeks, &words))) span class="q num" { (words) } }
            }
            (_, _, Some(p)) if o.stored => {
                html! { span class="q num" { (t.f("pollen from store works: {p} %", &[("p", &percent(p))])) } }
            }
            _ => html! { span.q { (t.t("not known")) } },
        }
    };
    let like = |o: &Offered| {
        html! {
            @if let Some((m, low, high)) = o.middle {
                (t.f("usually {m} ({a}–{b})", &[("m", &format!("{m:.1}")), ("a", &format!("{low:.1}")), ("b", &format!("{high:.1}"))]))
                @if let Some(best) = o.best { "; " (t.f("the best near {x}", &[("x", &format!("{best:.1}"))])) }
                br;
            }
            (o.made_of)
            @for s in &o.segregates { br; (s.text) }
        }
    };
    html! {
        table class="t plan season wide" {
            thead { tr {
                th { (t.t("Seed parent")) br; "× " (t.t("pollen parent")) }
                th { (t.t("A flower makes a pod")) (PreEscaped(whisker_axis(end))) }
                th.r { (t.t("Flowers to pollinate")) }
                th.r { (t.t("Flowering seedlings")) }
                th { (t.t("Both in flower")) }
                th { (t.t("Kinship")) }
                th { (t.t("The seedlings should be")) }
                th.r { (t.t("Pots")) }
            } }
            tbody { @for o in offered { tr {
                td class="pair" {
                    span class="pn num" { (plan.candidates[o.seed].plant) } " " (markup::linked(&plan.candidates[o.seed].name, plan.candidates[o.seed].plant)) br;
                    span.x { "×" } span class="pn num" { (plan.candidates[o.pollen].plant) } " " (markup::linked(&plan.candidates[o.pollen].name, plan.candidates[o.pollen].plant))
                    @if plan.candidates[o.pollen].elsewhere { span.q { (t.t("its pollen has to be asked for")) } }
                }
                td { (PreEscaped(drawn(o, end))) span.q { b.c { (chance(o)) } @if o.believed { "; " (t.t("neither was tried: believed only")) } } }
                td.r { a class="big num" href=(pollinate(plan, o)) { (o.flowers) } span class="q num" { (t.f("a pod: {p} %", &[("p", &percent(o.at_least_one))])) } }
                td.r { span class="big num c" { (format!("{:.0}", o.seedlings.0)) } span class="q num" { (o.seedlings.1) "–" (o.seedlings.2) } }
                td { (both(o)) }
                td { span.num { (format!("{:.2}", o.kinship)) } span.q { (kin(o)) } }
                td class="like" { (like(o)) span.q { (first(o)) } }
                td class="r num" { (o.pots) }
            } } }
        }
        div class="pairs narrow" { @for o in offered {
            details {
                summary {
                    span.names { (markup::name(&plan.candidates[o.seed].name)) " × " (markup::name(&plan.candidates[o.pollen].name)) }
                    span.q { span.c { (chance(o)) } }
                    (PreEscaped(drawn(o, end)))
                }
                dl {
                    dt { (t.t("Numbers")) } dd.num { a href=(format!("/plants/{}", plan.candidates[o.seed].plant)) { (plan.candidates[o.seed].plant) } " × " a href=(format!("/plants/{}", plan.candidates[o.pollen].plant)) { (plan.candidates[o.pollen].plant) } }
                    dt { (t.t("Pollinate")) } dd { a href=(pollinate(plan, o)) { (t.f("one flower|{n} flowers", &[("n", &o.flowers)])) } ", " (t.f("a pod: {p} %", &[("p", &percent(o.at_least_one))])) }
                    dt { (t.t("Seedlings")) } dd { span.c { (format!("{:.0}", o.seedlings.0)) } " (" (o.seedlings.1) "–" (o.seedlings.2) ") " (t.t("in flower")) "; " (t.f("one pot|{n} pots", &[("n", &o.pots)])) }
                    dt { (t.t("Both in flower")) } dd { (both(o)) }
                    dt { (t.t("Kinship")) } dd { (format!("{:.2}", o.kinship)) ", " (kin(o)) }
                    dt { (t.t("Should be")) } dd { (like(o)) br; (first(o)) }
                }
            }
        } }
    }
}

fn curve(plan: &SeasonPlan, asked: &SeasonAsked, t: Texts) -> Markup {
    if plan.curve.len() < 2 {
        return html! {};
    }
    let plants: Vec<String> = asked.plants.iter().map(ToString::to_string).collect();
    let choices: Vec<Choice> = plan
        .curve
        .iter()
        .map(|c| Choice {
            along: c.kinship,
            up: c.gain,
            href: format!(
                "/crosses/plan?friends={}&aim={}&from={}&pots={}&crosses={}&flowers={}&weight={}&kinship={}&plants={}",
                if asked.friends { "yes" } else { "" },
            encoded(&asked.aim),
            asked.from_score.map(|s| s.to_string()).unwrap_or_default(),
                asked.pots,
                asked.crosses,
                asked.flowers,
                c.weight,
                asked.most_kinship,
                plants.join("+")
            ),
            words: t.f("one cross|{n} crosses", &[("n", &c.crosses)]),
            chosen: (c.weight - asked.weight).abs() < 1e-9,
        })
        .collect();
    let words = TradeWords {
        along: t.t("mean kinship of what is raised: less to the left"),
        up: if asked.from_score.is_some() {
            t.t("seedlings of the wanted kind to be expected")
        } else {
            t.t("what the set is worth")
        },
        aria: t.t("Sets of crosses under other weights of kinship: more gain costs more kinship."),
    };
    html! {
        section.sect {
            h2.under { (t.t("Gain against diversity")) }
            p class="note measure" { (t.t("Each dot is the best set under one weight of kinship. Touch one to plan with it.")) }
            (PreEscaped(trade_off(&choices, &words, Size::Wide)))
            (PreEscaped(trade_off(&choices, &words, Size::Narrow)))
        }
    }
}

/// A word in an address.
fn encoded(words: &str) -> String {
    words
        .bytes()
        .map(|b| match b {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' => char::from(b).to_string(),
            _ => format!("%{b:02X}"),
        })
        .collect()
}

//! What goes into a can, or into the stock of an injector, and what the meter should then show.

use culture::{
    Estimate,
    feed::{
        CalciumMagnesium, Label, PhDirection, Spoon, StockProblem, Water, blend_share,
        calcium_magnesium, check_stock, label_slope, mixed, monthly_mass, stock_strength,
    },
};
use journal::Reader;
use serde::Serialize;
use texts::Texts;

use super::{
    kept::{FeedKept, Kept, WaterKept, kept},
    rate::{basis_words, group_words, rate_of},
    strength::MEASURED,
};
use crate::{
    AskError, Hand, Result,
    said::{figures, range_figures},
};

/// What is asked for, as typed; what is left open is left out.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct CanInput {
    /// The feed, by name or number.
    pub feed: String,
    /// Nitrogen wanted \[mg/L\]; empty for the rate of the group.
    pub nitrogen: String,
    /// The key of a group of plants.
    pub group: String,
    /// Litres in the can.
    pub litres: String,
    /// The water, by name, kind or number.
    pub water: String,
    /// A softer water to blend it with.
    pub soft: String,
    /// Alkalinity wanted in the blend \[mg/L CaCO₃\].
    pub alkalinity: String,
    /// Ratio of the injector: 100 for 1 : 100.
    pub injector: String,
}

/// A line of the result: what, how much, and what to know about it; in the reader's language.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Line {
    /// What.
    pub what: String,
    /// How much, with its unit.
    pub amount: String,
    /// What to know about it; may be empty.
    pub note: String,
}

/// A stock solution.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stock {
    /// Strength \[g/L\].
    pub strength: f64,
    /// What is wrong with it.
    pub problems: Vec<StockProblem>,
}

/// The recipe of a can.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Can {
    /// The feed.
    pub feed: String,
    /// Nitrogen \[mg/L\].
    pub nitrogen: f64,
    /// Feed \[g/L\].
    pub grams_per_litre: f64,
    /// Feed for the can \[g\], if its litres were told.
    pub grams: Option<f64>,
    /// The share of the harder water, where two are blended.
    pub hard_share: Option<f64>,
    /// Conductivity that the meter should show \[mS/cm\]; none where the water's is not known.
    pub conductivity: Option<Estimate>,
    /// The stock of the injector, if its ratio was told.
    pub stock: Option<Stock>,
    /// The recipe in lines.
    pub lines: Vec<Line>,
    /// What else is to be said, in the reader's language.
    pub notes: Vec<String>,
}

/// What was typed, read.
struct Asked<'k> {
    feed: &'k FeedKept,
    nitrogen: f64,
    basis: String,
    litres: Option<f64>,
    water: Option<&'k WaterKept>,
    soft: Option<&'k WaterKept>,
    alkalinity: Option<f64>,
    injector: Option<f64>,
}

/// The recipe for what was asked.
///
/// # Errors
/// If the feed or a water is not on the shelf, a number cannot be read, or the feed has no nitrogen.
pub fn can(reader: &Reader<'_>, input: &CanInput, hand: &Hand) -> Result<Can> {
    let kept = kept(reader)?;
    let t = hand.texts();
    let asked = read(&kept, input, t)?;
    Recipe { kept: &kept, t, asked }.written()
}

/// A number as typed, if anything was.
pub(crate) fn number(field: &str, typed: &str, low: f64, high: f64) -> Result<Option<f64>> {
    let text = typed.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let wrong = |problem: String| AskError::field(field, typed, problem);
    let value: f64 = text
        .replace(',', ".")
        .parse()
        .map_err(|_| wrong("is not a number; write one, such as 2.5".to_owned()))?;
    if !(low..=high).contains(&value) {
        return Err(wrong(format!("is not from {low} to {high}")));
    }
    Ok(Some(value))
}

fn read<'k>(kept: &'k Kept, input: &CanInput, t: Texts) -> Result<Asked<'k>> {
    let feed = kept.feed(&input.feed).ok_or_else(|| {
        let names: Vec<&str> = kept.feeds.iter().map(|f| f.name.as_str()).collect();
        let next = if names.is_empty() {
            "is not on the shelf, which holds no feed yet; add it first".to_owned()
        } else {
            format!("is not on the shelf; it holds {}", names.join(", "))
        };
        AskError::field("feed", &input.feed, next)
    })?;
    let water = |field: &str, typed: &str| -> Result<Option<&'k WaterKept>> {
        if typed.trim().is_empty() {
            return Ok(None);
        }
        let wrong = || AskError::field(field, typed, "is no water on the shelf; add it first");
        kept.water(typed).map(Some).ok_or_else(wrong)
    };
    let typed = number("nitrogen", &input.nitrogen, 1.0, 1000.0)?;
    let (nitrogen, basis) = match (typed, rate_of(input.group.trim())) {
        (Some(n), _) => (n, t.t("as you want it").to_owned()),
        (None, Some(group)) => {
            let (from, to) = group.range();
            let words = t.f(
                "for {group}, in every watering, at growing light: {range} mg/L; {basis}",
                &[
                    ("group", &group_words(group.rate.plants, t)),
                    ("range", &crate::range_words(from, to, 0, t.lang())),
                    ("basis", &basis_words(group.rate, t)),
                ],
            );
            (group.rate.nitrogen.value, words)
        }
        (None, None) if input.group.trim().is_empty() => {
            let problem = "is empty; write the mg/L of nitrogen, or choose a group of plants";
            return Err(AskError::field("nitrogen", "", problem));
        }
        (None, None) => {
            return Err(AskError::field("group", &input.group, "is no group of plants here"));
        }
    };
    Ok(Asked {
        feed,
        nitrogen,
        basis,
        litres: number("litres", &input.litres, 0.05, 10_000.0)?,
        water: water("water", &input.water)?,
        soft: water("soft water", &input.soft)?,
        alkalinity: number("alkalinity", &input.alkalinity, 0.0, 1000.0)?,
        injector: number("injector", &input.injector, 1.0, 10_000.0)?,
    })
}

struct Recipe<'k> {
    kept: &'k Kept,
    t: Texts,
    asked: Asked<'k>,
}

/// The water of a can: what is known of it, and the share of the harder one.
struct Poured {
    water: Water,
    conducts: Option<Estimate>,
    share: Option<f64>,
    minerals: bool,
}

impl Recipe<'_> {
    fn out_of_range(&self, e: &culture::OutOfRange) -> AskError {
        AskError::field("can", &self.asked.feed.name, e.to_string())
    }

    fn line(&self, what: &'static str, amount: String, note: String) -> Line {
        Line { what: self.t.t(what).to_owned(), amount, note }
    }

    fn written(&self) -> Result<Can> {
        let a = &self.asked;
        let per_litre = a.feed.label.for_nitrogen(a.nitrogen).map_err(|e| self.out_of_range(&e))?;
        let poured = self.poured()?;
        let slope = label_slope(a.feed.at).map_err(|e| self.out_of_range(&e))?;
        let conductivity = poured.conducts.map(|w| {
            // What is weighed and measured out is off as well.
            let n = Estimate::lognormal(a.nitrogen, MEASURED);
            Estimate {
                value: mixed(w.value, n.value, &slope).value,
                lower: mixed(w.lower, n.lower, &slope).lower,
                upper: mixed(w.upper, n.upper, &slope).upper,
            }
        });
        let stock = match a.injector {
            None => None,
            Some(ratio) => {
                let strength = stock_strength(a.nitrogen, a.feed.label.nitrogen, ratio)
                    .map_err(|e| self.out_of_range(&e))?;
                Some(Stock { strength, problems: check_stock(&[(&a.feed.name, strength)]) })
            }
        };
        let mut lines = vec![self.nitrogen_line()];
        self.amounts(per_litre, &mut lines)?;
        self.water_lines(&poured, &mut lines);
        self.contents(per_litre, &poured, &mut lines);
        self.meter_line(conductivity.as_ref(), &mut lines);
        if let (Some(stock), Some(ratio)) = (&stock, a.injector) {
            lines.push(self.stock_line(stock, ratio));
        }
        Ok(Can {
            feed: a.feed.name.clone(),
            nitrogen: a.nitrogen,
            grams_per_litre: per_litre,
            grams: a.litres.map(|l| l * per_litre),
            hard_share: poured.share,
            conductivity,
            notes: self.notes(per_litre, &poured, stock.as_ref()),
            stock,
            lines,
        })
    }

    fn nitrogen_line(&self) -> Line {
        let amount = self.t.f("{n} mg/L", &[("n", &self.figures(self.asked.nitrogen, 3))]);
        self.line("Nitrogen", amount, self.asked.basis.clone())
    }

    fn figures(&self, value: f64, digits: i32) -> String {
        figures(value, digits, self.t.lang())
    }

    /// Grams, millilitres, scoops and spoons.
    fn amounts(&self, per_litre: f64, lines: &mut Vec<Line>) -> Result<()> {
        let (t, a) = (self.t, &self.asked);
        let litres = a.litres.unwrap_or(1.0);
        let grams = per_litre * litres;
        let what = if a.litres.is_some() { "Into the can" } else { "Into each litre" };
        let mut amount = t.f("{n} g", &[("n", &self.figures(grams, 3))]);
        if let Some(density) = a.feed.density {
            let ml = t.f("{n} mL", &[("n", &self.figures(grams / density, 3))]);
            amount = format!("{ml} ({amount})");
        }
        let note = match a.litres {
            Some(l) => t.f(
                "{g} g in each of {l} L",
                &[("g", &self.figures(per_litre, 3)), ("l", &self.figures(l, 3))],
            ),
            None => String::new(),
        };
        lines.push(self.line(what, amount, note));
        if let Some(scoop) = a.feed.scoop {
            let scoops = grams / scoop;
            let amount = t.f("one scoop|{n} scoops", &[("n", &self.figures(scoops, 2))]);
            let note = t.f("your own scoop, weighed: {n} g", &[("n", &self.figures(scoop, 2))]);
            lines.push(self.line("By your scoop", amount, note));
        } else if a.feed.density.is_none() {
            // Half spoons are what can be measured.
            let spoon = Spoon::level_teaspoon();
            let spoons = ((grams / spoon.grams.value * 2.0).round() / 2.0).max(0.5);
            let found =
                spoon.nitrogen(&a.feed.label, spoons, litres).map_err(|e| self.out_of_range(&e))?;
            let amount =
                t.f("one level teaspoon|{n} level teaspoons", &[("n", &self.figures(spoons, 2))]);
            let note = t.f(
                "a spoon is 5.5 g give or take 25 %, so {range} mg/L of nitrogen; weigh your own scoop once",
                &[("range", &range_figures(found.lower, found.upper, 2, t.lang()))],
            );
            lines.push(self.line("By the spoon", amount, note));
        }
        Ok(())
    }

    fn poured(&self) -> Result<Poured> {
        let a = &self.asked;
        let minerals = |w: &WaterKept| w.calcium.is_some() && w.magnesium.is_some();
        let Some(hard) = a.water else {
            return Ok(Poured {
                water: Water::default(),
                conducts: None,
                share: None,
                minerals: false,
            });
        };
        let (Some(soft), Some(wanted)) = (a.soft, a.alkalinity) else {
            return Ok(Poured {
                water: hard.known(),
                conducts: hard.conducts(),
                share: None,
                minerals: minerals(hard),
            });
        };
        let (Some(from), Some(to)) = (hard.alkalinity, soft.alkalinity) else {
            let (name, problem) = if hard.alkalinity.is_none() {
                (&hard.name, "has no alkalinity on the shelf; take it from the report or a strip")
            } else {
                (&soft.name, "has no alkalinity on the shelf; a strip is good enough, or write 5")
            };
            return Err(AskError::field("water", name, problem));
        };
        let share = blend_share(wanted, from, to).map_err(|_| {
            let problem = format!("is not between {to} and {from} mg/L, which the two waters have");
            AskError::field("alkalinity", &wanted.to_string(), problem)
        })?;
        let water =
            hard.known().blended(share, &soft.known()).map_err(|e| self.out_of_range(&e))?;
        let conducts = match (hard.conducts(), soft.conducts()) {
            (Some(h), Some(s)) => Some(Estimate {
                value: share * h.value + (1.0 - share) * s.value,
                lower: share * h.lower + (1.0 - share) * s.lower,
                upper: share * h.upper + (1.0 - share) * s.upper,
            }),
            _ => None,
        };
        let minerals = minerals(hard) && minerals(soft);
        Ok(Poured { water, conducts, share: Some(share), minerals })
    }

    fn water_lines(&self, poured: &Poured, lines: &mut Vec<Line>) {
        let (t, a) = (self.t, &self.asked);
        let (Some(hard), Some(share), Some(soft)) = (a.water, poured.share, a.soft) else {
            return;
        };
        let litres = a.litres.unwrap_or(1.0);
        let part = |share: f64| t.f("{n} L", &[("n", &self.figures(share * litres, 3))]);
        lines.push(Line {
            what: hard.name.clone(),
            amount: part(share),
            note: t.f(
                "{p} % of the water, for an alkalinity of {n} mg/L",
                &[
                    ("p", &self.figures(100.0 * share, 2)),
                    ("n", &self.figures(poured.water.alkalinity, 3)),
                ],
            ),
        });
        lines.push(Line {
            what: soft.name.clone(),
            amount: part(1.0 - share),
            note: String::new(),
        });
    }

    /// What is in each litre, feed and water together.
    fn contents(&self, per_litre: f64, poured: &Poured, lines: &mut Vec<Line>) {
        let t = self.t;
        let n = self.asked.feed.label.at(per_litre);
        let f = |v: f64| self.figures(v, 3);
        let (calcium, magnesium) =
            (n.calcium + poured.water.calcium, n.magnesium + poured.water.magnesium);
        let amount = t.f(
            "N {n}, P {p}, K {k}, Ca {ca}, Mg {mg} mg/L",
            &[
                ("n", &f(n.nitrogen)),
                ("p", &f(n.phosphorus)),
                ("k", &f(n.potassium)),
                ("ca", &f(calcium)),
                ("mg", &f(magnesium)),
            ],
        );
        let note = if poured.minerals {
            t.t("elements, feed and water together")
        } else {
            t.t("elements; calcium and magnesium of the water are not known")
        };
        lines.push(self.line("In each litre", amount, note.to_owned()));
    }

    fn meter_line(&self, conductivity: Option<&Estimate>, lines: &mut Vec<Line>) {
        let t = self.t;
        let note = if self.asked.feed.at.is_some() {
            t.t("at 25 °C, by the label's own row").to_owned()
        } else {
            t.t("at 25 °C; from memory for ordinary feeds, so put in the label's row").to_owned()
        };
        let line = match conductivity {
            Some(c) => {
                let amount = t.f(
                    "{n} mS/cm ({range})",
                    &[
                        ("n", &self.figures(c.value, 3)),
                        ("range", &range_figures(c.lower, c.upper, 2, t.lang())),
                    ],
                );
                self.line("The meter should show", amount, note)
            }
            None => self.line(
                "The meter should show",
                t.t("not enough yet").to_owned(),
                t.t("choose a water whose conductivity is known").to_owned(),
            ),
        };
        lines.push(line);
    }

    fn stock_line(&self, stock: &Stock, ratio: f64) -> Line {
        let t = self.t;
        let amount = t.f("{n} g/L", &[("n", &self.figures(stock.strength, 3))]);
        let mut note = t.f("of stock, thinned 1 : {r}", &[("r", &self.figures(ratio, 3))]);
        for problem in &stock.problems {
            note.push_str("; ");
            note.push_str(&match problem {
                StockProblem::TooStrong { most, .. }
                | StockProblem::MayNotDissolve { most, .. } => t.f(
                    "may not dissolve: above {n} g/L look up what does",
                    &[("n", &self.figures(*most, 3))],
                ),
                StockProblem::CalciumWithSulphate | StockProblem::CalciumWithPhosphate => {
                    t.t("calcium settles with sulphate and phosphate").to_owned()
                }
            });
        }
        self.line("Stock", amount, note)
    }

    fn notes(&self, per_litre: f64, poured: &Poured, stock: Option<&Stock>) -> Vec<String> {
        let (t, a) = (self.t, &self.asked);
        let mut out = Vec::new();
        if stock.is_some() {
            out.push(self.apart());
        }
        if let Some(forms) = &a.feed.forms {
            if forms.urea_share() > 0.0 {
                out.push(t.f(
                    "{p} % of its nitrogen is urea, which no meter shows.",
                    &[("p", &self.figures(forms.urea_share(), 2))],
                ));
            }
            if forms.slow_without_microbes() {
                out.push(t.t("Much of its nitrogen is urea or ammonium: slow, not poisonous, where few microbes live, as in clay balls. Common practice, no source.").to_owned());
            }
            out.push(match forms.ph_direction() {
                PhDirection::Down => t.t("It moves the pH of the roots downwards; how far is not computed. Measure it."),
                PhDirection::Up => t.t("It moves the pH of the roots upwards while the plant grows; how far is not computed. Measure it."),
                PhDirection::Unclear => t.t("Where it moves the pH of the roots is open. Measure it."),
            }.to_owned());
        } else {
            out.push(t.t("Its forms of nitrogen are not on the shelf, so neither urea nor the direction of the pH can be said.").to_owned());
        }
        if poured.minerals {
            let n = a.feed.label.at(per_litre);
            let (ca, mg) = (n.calcium + poured.water.calcium, n.magnesium + poured.water.magnesium);
            out.extend(minerals(&calcium_magnesium(ca, mg), t));
        }
        if let Some(litres) = a.litres {
            let month = monthly_mass(a.nitrogen, litres, 4.0);
            out.push(t.f(
                "Four such cans in a month bring {n} mg of nitrogen; so does one of four times the strength, with a higher peak of salts.",
                &[("n", &self.figures(month, 3))],
            ));
        }
        out.push(
            t.t("No dose of acid is given here: hard water is softened by blending alone.")
                .to_owned(),
        );
        out
    }

    /// Which feeds of the shelf must not share a stock with this one.
    fn apart(&self) -> String {
        let t = self.t;
        let settles = |l: &Label, sulphate: bool| l.phosphate > 0.0 || sulphate;
        let own = self.asked.feed;
        let foes: Vec<&str> = (self.kept.feeds.iter())
            .filter(|f| f.number != own.number)
            .filter(|f| {
                own.label.calcium > 0.0 && settles(&f.label, f.sulphate)
                    || f.label.calcium > 0.0 && settles(&own.label, own.sulphate)
            })
            .map(|f| f.name.as_str())
            .collect();
        if foes.is_empty() {
            t.t("Never put calcium into one stock with sulphate or phosphate: they settle.")
                .to_owned()
        } else {
            t.f(
                "Never into one stock with {names}: calcium settles with sulphate and phosphate.",
                &[("names", &foes.join(", "))],
            )
        }
    }
}

fn minerals(found: &CalciumMagnesium, t: Texts) -> Vec<String> {
    let mut out = Vec::new();
    if found.little_calcium {
        out.push(
            t.t("Little calcium: below 40 mg/L with the water. Common practice, no source.")
                .to_owned(),
        );
    }
    if found.little_magnesium {
        out.push(
            t.t("Little magnesium: below 15 mg/L with the water. Common practice, no source.")
                .to_owned(),
        );
    }
    if found.unbalanced && !found.little_calcium && !found.little_magnesium {
        out.push(
            t.t("Calcium to magnesium is outside 2 to 4. Common practice, no source.").to_owned(),
        );
    }
    out
}

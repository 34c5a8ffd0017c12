//! Lines of the page Today: flowers to pollinate, pods to bag, seed to sow, trays to look at, and
//! pollinations of which nobody told.

use std::collections::{HashMap, HashSet};

use journal::{EntryRow, ParentClaim, Reader, SubjectKind, Uid};
use names::checklist::Checklist;
use serde_json::{Map, Value, json};

use super::{
    engine::Engine,
    record::{Attempt, Followed, Pollen, TELLS_AFTER},
};
use crate::{
    Hand, Result,
    due::{About, Done, Due},
    said::day_words,
};

/// Lines are handed over so many days ahead \[d\].
const AHEAD: i64 = 14;
/// A pod is bagged so many days before the first day on which it may be ripe \[d\]: common practice.
const BAG: i64 = 7;
/// A tray is looked at so often while seedlings come \[d\]: common practice.
const LOOK: i64 = 3;
/// What nobody told within a year nobody remembers: it is left in peace.
const FORGOTTEN: i64 = 365;

/// What wants doing about crosses.
pub(crate) fn due(reader: &Reader<'_>, hand: &Hand) -> Result<Vec<Due>> {
    if reader.crosses()?.is_empty() && reader.all_of_kind("pollinated")?.is_empty() {
        return Ok(Vec::new());
    }
    let engine = Engine::unfitted(reader, hand, Checklist::shipped())?;
    let mut out = engine.flowers(reader, hand)?;
    for a in &engine.crosses.attempts {
        out.extend(engine.pod(a, hand));
    }
    for c in &engine.crosses.crosses {
        out.extend(engine.seed(c, hand));
        out.extend(engine.trays(c, hand));
    }
    for a in &engine.crosses.attempts {
        out.extend(engine.untold(a, hand));
    }
    Ok(out)
}

fn detail(value: &Value) -> Map<String, Value> {
    value.as_object().cloned().unwrap_or_default()
}

fn line(
    key: &str,
    about: About,
    day: i64,
    until: Option<i64>,
    text: String,
    reason: String,
) -> Due {
    Due {
        group: "Crosses",
        key: key.to_owned(),
        about,
        day,
        until,
        text,
        reason,
        named: Vec::new(),
        done: Vec::new(),
        put_off: None,
    }
}

impl Engine {
    fn name(&self, clone: Uid, hand: &Hand) -> String {
        match self.facts.of(clone) {
            Some(f) if !f.name.is_empty() => f.name.clone(),
            _ => hand.texts().t("not named").to_owned(),
        }
    }

    /// Words for the pollen of an attempt.
    fn pollen_words(&self, a: &Attempt, hand: &Hand) -> String {
        let t = hand.texts();
        match &a.pollen {
            Pollen::Of(c) if a.seed == Some(*c) => t.t("its own pollen").to_owned(),
            Pollen::Of(c) => self.name(*c, hand),
            Pollen::OneOf(list) => {
                let names: Vec<String> = list.iter().map(|c| self.name(*c, hand)).collect();
                names.join(t.t(" or "))
            }
            Pollen::Open => t.t("insects").to_owned(),
            Pollen::Unknown => t.t("unknown pollen").to_owned(),
        }
    }

    /// A pollination whose outcome should be known: took, or did not.
    fn untold(&self, a: &Attempt, hand: &Hand) -> Option<Due> {
        let number = a.pollination?;
        let day = a.day + TELLS_AFTER;
        let today = self.crosses.today;
        if a.took.is_some() || day > today + AHEAD || today - day > FORGOTTEN {
            return None;
        }
        let t = hand.texts();
        let about = About { kind: SubjectKind::Pollination, number };
        let plant = a.plant.unwrap_or(0);
        let text = t.f(
            "Plant {plant}, one flower with pollen of {pollen} on {day}: did it take?|Plant {plant}, {n} flowers with pollen of {pollen} on {day}: how many took?",
            &[
                ("n", &a.flowers),
                ("plant", &plant),
                ("pollen", &self.pollen_words(a, hand)),
                ("day", &day_words(a.day, hand)),
            ],
        );
        let reason = t
            .t("A flower that took swells by now. One that did not is a record too: without it the chance is told too high.")
            .to_owned();
        let mut out = line("tell", about, day, None, text, reason);
        let took = |n: u64| Done {
            words: match (n, a.flowers) {
                (0, _) => t.t("did not take").to_owned(),
                (1, 1) => t.t("took").to_owned(),
                _ => t.f("one took|{n} took", &[("n", &n)]),
            },
            kind: "pod_seen",
            detail: detail(&json!({"count": n})),
        };
        out.done = (0..=a.flowers.min(3)).map(took).collect();
        if a.flowers > 3 {
            out.done.push(took(a.flowers));
        }
        out.named = a
            .plant
            .map(|n| (About { kind: SubjectKind::Plant, number: n }, String::new()))
            .into_iter()
            .filter_map(|(about, _)| Some((about, self.name(a.seed?, hand))))
            .collect();
        Some(out)
    }

    /// A pod that may be ripe soon.
    fn pod(&self, a: &Attempt, hand: &Hand) -> Option<Due> {
        let hanging = a.hanging();
        let facts = self.facts.of(a.seed?)?;
        let ((early, late), own) = self.ripens_in(facts.group);
        let (day, until) = (a.day + early as i64 - BAG, a.day + late as i64);
        let today = self.crosses.today;
        if hanging == 0 || day > today + AHEAD || today > until + FORGOTTEN {
            return None;
        }
        let t = hand.texts();
        let number = a.plant?;
        let about = match a.pollination {
            Some(number) => About { kind: SubjectKind::Pollination, number },
            None => About { kind: SubjectKind::Plant, number },
        };
        let text = t.f(
            "Plant {plant}: bag the pod.|Plant {plant}: bag {n} pods.",
            &[("n", &hanging), ("plant", &number)],
        );
        let basis = if own > 0 {
            t.f("one pod here|{n} pods here", &[("n", &own)])
        } else {
            t.t("from memory").to_owned()
        };
        let reason = t.f(
            "Ripe {from}–{to} days after the pollination of {day} ({basis}): {sign}.",
            &[
                ("from", &(early as i64)),
                ("to", &(late as i64)),
                ("day", &day_words(a.day, hand)),
                ("basis", &basis),
                ("sign", &t.t(facts.group.facts().sign)),
            ],
        );
        let mut out = line("bag_pod", about, day, Some(until), text, reason);
        let done = |words: &'static str, kind: &'static str| Done {
            words: t.t(words).to_owned(),
            kind,
            detail: detail(&json!({"count": hanging})),
        };
        out.done = vec![done("ripe", "pod_ripe"), done("fallen or rotten", "pod_lost")];
        out.named = vec![(About { kind: SubjectKind::Plant, number }, self.name(a.seed?, hand))];
        Some(out)
    }

    /// Seed that was gathered and not sown.
    fn seed(&self, c: &Followed, hand: &Hand) -> Option<Due> {
        let ripe = c
            .attempts
            .iter()
            .map(|i| &self.crosses.attempts[*i])
            .filter(|a| a.full != Some(0) && a.ripe.unwrap_or(0) > 0);
        let last = ripe.filter_map(|a| a.ripe_day).max()?;
        let sown = c.trays.iter().filter_map(|t| t.sown).chain(c.sown.iter().copied());
        if sown.max().is_some_and(|s| s >= last) {
            return None;
        }
        let seed = match &c.row.seed {
            ParentClaim::Clone(uid) => self.facts.of(*uid)?,
            _ => return None,
        };
        let life = seed.group.facts().seed_life;
        let until = last + life as i64;
        if self.crosses.today > until + 30 {
            return None;
        }
        let t = hand.texts();
        let about = About { kind: SubjectKind::Cross, number: c.row.number };
        let text = t.f("Sow the seed of cross {n}.", &[("n", &c.row.number)]);
        let reason = t.f(
            "Ripe on {day}; seed of this group keeps some {days} days on the shelf (from memory), so fresh is best.",
            &[("day", &day_words(last, hand)), ("days", &(life as i64))],
        );
        let mut out = line("sow", about, last, Some(until), text, reason);
        out.done = vec![Done { words: t.t("sown").to_owned(), kind: "sown", detail: Map::new() }];
        Some(out)
    }

    /// Trays in which seedlings may be coming.
    fn trays(&self, c: &Followed, hand: &Hand) -> Vec<Due> {
        let t = hand.texts();
        let group = match &c.row.seed {
            ParentClaim::Clone(uid) => self.facts.of(*uid).map(|f| f.group),
            _ => None,
        };
        let group = group.unwrap_or(super::groups::Group::Other);
        let ((early, late), own) = self.comes_up_in(group);
        let mut out = Vec::new();
        for tray in c.trays.iter().filter(|t| !t.lost && t.pricked.is_none()) {
            let Some(sown) = tray.sown else { continue };
            // Twice as late as usual nothing more is waited for.
            let until = sown + 2 * late as i64;
            let last = tray.looks.iter().map(|l| l.0).max();
            let day = (sown + early as i64).max(last.map_or(i64::MIN, |l| l + LOOK));
            if day > self.crosses.today + AHEAD || self.crosses.today > until || day > until {
                continue;
            }
            let about = About { kind: SubjectKind::Batch, number: tray.number };
            let up = tray.up().unwrap_or(0);
            let text = t.f(
                "Tray {n} of cross {cross}: count the seedlings.",
                &[("n", &tray.number), ("cross", &c.row.number)],
            );
            let basis = if own > 0 {
                t.f("one tray here|{n} trays here", &[("n", &own)])
            } else {
                t.t("from memory").to_owned()
            };
            let reason = t.f(
                "Sown on {day}, first seedlings after {from}–{to} days ({basis}); {n} so far.",
                &[
                    ("day", &day_words(sown, hand)),
                    ("from", &(early as i64)),
                    ("to", &(late as i64)),
                    ("basis", &basis),
                    ("n", &up),
                ],
            );
            let mut due = line("look_tray", about, day, Some(until), text, reason);
            due.done = vec![Done {
                words: t.f("still {n}", &[("n", &up)]),
                kind: "germinated",
                detail: detail(&json!({"so_far": up})),
            }];
            out.push(due);
        }
        out
    }

    /// Flowers that are open now on seed parents of crosses that have not taken yet, where pollen is
    /// at hand.
    fn flowers(&self, reader: &Reader<'_>, hand: &Hand) -> Result<Vec<Due>> {
        let today = self.crosses.today;
        let open = open_flowers(reader, today)?;
        let t = hand.texts();
        let mut out = Vec::new();
        for c in &self.crosses.crosses {
            let (ParentClaim::Clone(seed), ParentClaim::Clone(pollen)) =
                (&c.row.seed, &c.row.pollen)
            else {
                continue;
            };
            let attempts = || c.attempts.iter().map(|i| &self.crosses.attempts[*i]);
            let waiting = attempts().any(|a| a.took.is_none() && !a.untold(today));
            if waiting
                || attempts().any(|a| a.took.is_some_and(|n| n > 0))
                || !c.seedlings.is_empty()
            {
                continue;
            }
            let Some(facts) = self.facts.of(*seed) else { continue };
            let (first, last) = facts.group.facts().receptive;
            let lot = self.lots.iter().find(|l| !l.gone && l.clone == *pollen);
            let fresh = open.iter().any(|o| o.clone == *pollen);
            let flower = open.iter().find(|o| o.clone == *seed && o.since + last as i64 >= today);
            let (Some(flower), true) = (flower, fresh || lot.is_some()) else { continue };
            let about = About { kind: SubjectKind::Plant, number: flower.plant };
            let names = [self.name(*seed, hand), self.name(*pollen, hand)];
            let text = t.f(
                "Cross {n}: pollinate plant {plant} with pollen of {pollen}.",
                &[("n", &c.row.number), ("plant", &flower.plant), ("pollen", &names[1])],
            );
            let from = match lot.filter(|_| !fresh) {
                Some(lot) => t.f("lot {n} is in store", &[("n", &lot.number)]),
                None => t.t("it is open too").to_owned(),
            };
            let reason = t.f(
                "Open since {day}; such flowers take pollen from day {first} to {last} (from memory), and of the pollen {from}.",
                &[
                    ("day", &day_words(flower.since, hand)),
                    ("first", &(first as i64)),
                    ("last", &(last as i64)),
                    ("from", &from),
                ],
            );
            let (day, until) = (flower.since + first as i64, flower.since + last as i64);
            let key = format!("pollinate {}", c.row.number);
            let mut due = line(&key, about, day, Some(until), text, reason);
            let mut fields = json!({
                "pollen": "known", "pollen_of": pollen.to_string(), "flowers": 1,
                "cross": c.row.uid.to_string(),
            });
            if let Some(lot) = lot.filter(|_| !fresh) {
                fields["pollen_lot"] = json!(lot.uid.to_string());
                fields["pollen_age"] = json!(format!("{} d", (today - lot.since).max(0)));
            }
            due.done = vec![Done {
                words: t.t("one flower pollinated").to_owned(),
                kind: "pollinated",
                detail: detail(&fields),
            }];
            due.named = vec![(about, names[0].clone())];
            out.push(due);
        }
        Ok(out)
    }
}

struct OpenFlower {
    plant: i64,
    clone: Uid,
    since: i64,
}

/// Flowers that opened in the last month and of which no end is written.
fn open_flowers(reader: &Reader<'_>, today: i64) -> Result<Vec<OpenFlower>> {
    let day = |e: &EntryRow| e.day_to.or(e.day_from);
    let ended: HashMap<Uid, i64> = reader
        .all_of_kind("ended")?
        .iter()
        .filter_map(|e| Some((e.subject, day(e)?)))
        .fold(HashMap::new(), |mut all, (s, d)| {
            let slot = all.entry(s).or_insert(d);
            *slot = (*slot).max(d);
            all
        });
    let mut seen = HashSet::new();
    let mut out = Vec::new();
    for e in reader.all_of_kind("opened")?.into_iter().rev() {
        let (Some(since), Some(row)) = (day(&e), e.plant) else { continue };
        if today - since > 30 || since > today || ended.get(&e.subject).is_some_and(|d| *d >= since)
        {
            continue;
        }
        let Some(plant) = reader.plant_by_id(row)?.filter(|p| p.state == "alive") else { continue };
        let Some(clone) = reader.clone_by_id(plant.clone)? else { continue };
        if seen.insert(plant.number) {
            out.push(OpenFlower { plant: plant.number, clone: clone.uid, since });
        }
    }
    Ok(out)
}

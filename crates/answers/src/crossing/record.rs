//! What the record says of crosses: every pollination with what came of it, the seed, the trays and
//! the seedlings.

use std::collections::{BTreeMap, HashMap};

use journal::{CrossRow, EntryRow, ParentClaim, Reader, SubjectKind, Uid};
use serde::Serialize;
use serde_json::Value;

use crate::{Hand, Result};

/// So many days after a pollination one sees whether it took.
pub const TELLS_AFTER: i64 = 21;

/// Whose pollen was used.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Pollen {
    /// That of this clone.
    Of(Uid),
    /// That of one of these, mixed.
    OneOf(Vec<Uid>),
    /// Insects brought it.
    Open,
    /// Nobody knows or said.
    Unknown,
}

/// One pollination, with what came of it as far as it was told.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Attempt {
    /// Number of the pollination; none where the entry stands with the plant itself.
    pub pollination: Option<i64>,
    /// The clone that bears the flowers.
    pub seed: Option<Uid>,
    /// Number of the plant that bears them.
    pub plant: Option<i64>,
    /// The pollen.
    pub pollen: Pollen,
    /// Row of the cross.
    #[serde(skip)]
    pub cross: Option<Uid>,
    /// Last possible day \[days since 1970-01-01\].
    pub day: i64,
    /// How many flowers; one where nobody said.
    pub flowers: u64,
    /// Whether the number of flowers was written.
    pub counted: bool,
    /// Age of the pollen \[d\]; none for fresh pollen or where nobody said.
    pub age: Option<f64>,
    /// The lot that the pollen came from.
    pub lot: Option<Uid>,
    /// Method in words, or empty.
    pub method: String,
    /// Who did it.
    pub who: String,
    /// Whether its own pollen got into the flower as well.
    pub own_pollen: bool,
    /// How many flowers took; none while nobody told.
    pub took: Option<u64>,
    /// How many of the pods became ripe; none while they hang.
    pub ripe: Option<u64>,
    /// Pods lost.
    pub lost: u64,
    /// Day on which the first pod was ripe.
    pub ripe_day: Option<i64>,
    /// Full seeds, where they were counted.
    pub full: Option<u64>,
    /// Empty seeds, where they were counted.
    pub empty: Option<u64>,
}

impl Attempt {
    /// Whether its outcome should be known by now and is not.
    #[must_use]
    pub fn untold(&self, today: i64) -> bool {
        self.took.is_none() && today - self.day >= TELLS_AFTER
    }

    /// Pods that still hang.
    #[must_use]
    pub fn hanging(&self) -> u64 {
        self.took.unwrap_or(0).saturating_sub(self.lost + self.ripe.unwrap_or(0))
    }
}

/// A tray of seedlings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tray {
    /// Its number.
    pub number: i64,
    /// The cross, as its row.
    #[serde(skip)]
    pub cross: Option<i64>,
    /// Day of sowing \[days since 1970-01-01\].
    pub sown: Option<i64>,
    /// Seeds sown, where they were counted.
    pub seeds: Option<u64>,
    /// What it was sown on, or empty.
    pub medium: String,
    /// Days looked at, with the count so far.
    pub looks: Vec<(i64, u64)>,
    /// How many were pricked out.
    pub pricked: Option<u64>,
    /// Whether it was given up.
    pub lost: bool,
}

impl Tray {
    /// How many had germinated at the last look.
    #[must_use]
    pub fn up(&self) -> Option<u64> {
        self.looks.iter().map(|l| l.1).max()
    }
}

/// One seedling in a pot of its own.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Seedling {
    /// Its number within the cross.
    pub number: i64,
    /// Day it was potted \[days since 1970-01-01\].
    pub since: Option<i64>,
    /// First flower \[days since 1970-01-01\].
    pub flower: Option<i64>,
    /// Whether it is still alive.
    pub alive: bool,
}

/// A cross with everything that was written about it.
#[derive(Debug, Clone)]
pub struct Followed {
    /// The cross.
    pub row: CrossRow,
    /// Its pollinations.
    pub attempts: Vec<usize>,
    /// Its trays.
    pub trays: Vec<Tray>,
    /// Days on which seed of it was sown without a tray of its own \[days since 1970-01-01\].
    pub sown: Vec<i64>,
    /// Its seedlings.
    pub seedlings: Vec<Seedling>,
}

/// All attempts and crosses of the house, read once.
#[derive(Debug, Clone)]
pub struct Crosses {
    /// Every pollination, the earliest first.
    pub attempts: Vec<Attempt>,
    /// Every cross, by number.
    pub crosses: Vec<Followed>,
    /// Today \[days since 1970-01-01\].
    pub today: i64,
}

fn day(e: &EntryRow) -> Option<i64> {
    e.day_to.or(e.day_from)
}

fn count(e: &EntryRow, key: &str) -> Option<u64> {
    e.detail.get(key).and_then(Value::as_u64)
}

fn words(e: &EntryRow, key: &str) -> String {
    e.detail.get(key).and_then(Value::as_str).unwrap_or("").trim().to_owned()
}

fn uid(value: Option<&Value>) -> Option<Uid> {
    value?.as_str()?.parse().ok()
}

impl Crosses {
    /// Reads all crosses.
    ///
    /// # Errors
    /// If the record cannot be read.
    pub fn read(reader: &Reader<'_>, hand: &Hand) -> Result<Self> {
        let mut attempts = attempts(reader)?;
        outcomes(reader, &mut attempts, hand.today_number())?;
        let attempts: Vec<Attempt> = attempts.into_iter().map(|a| a.1).collect();
        let mut crosses = Vec::new();
        let mut trays = trays(reader)?;
        let mut bare = reader.all_of_kind("sown")?;
        bare.retain(|e| e.subject_kind == SubjectKind::Cross);
        for row in reader.crosses()? {
            let own = attempts.iter().enumerate().filter(|(_, a)| a.cross == Some(row.uid));
            let own = own.map(|(i, _)| i).collect();
            let trays = trays.remove(&row.id).unwrap_or_default();
            let seedlings = seedlings(reader, row.id)?;
            let sown = bare.iter().filter(|e| e.subject == row.uid).filter_map(day).collect();
            crosses.push(Followed { row, attempts: own, trays, sown, seedlings });
        }
        Ok(Self { attempts, crosses, today: hand.today_number() })
    }

    /// The cross of a number.
    #[must_use]
    pub fn cross(&self, number: i64) -> Option<&Followed> {
        self.crosses.iter().find(|c| c.row.number == number)
    }

    /// Attempts of which it is known what came of them, between two known clones.
    pub fn known(&self) -> impl Iterator<Item = (&Attempt, Uid, Uid, u64)> {
        self.attempts.iter().filter_map(|a| match (&a.pollen, a.seed, a.took) {
            (Pollen::Of(pollen), Some(seed), Some(took)) => Some((a, seed, *pollen, took)),
            _ => None,
        })
    }
}

/// The clone that a subject is or is a piece of.
fn clone_of(reader: &Reader<'_>, of: Uid) -> Result<Option<Uid>> {
    if let Some(clone) = reader.clone_by_uid(of)? {
        return Ok(Some(clone.uid));
    }
    let Some(plant) = reader.plant_by_uid(of)? else { return Ok(None) };
    Ok(reader.clone_by_id(plant.clone)?.map(|c| c.uid))
}

/// All pollinations with the subject that their outcomes are written about.
fn attempts(reader: &Reader<'_>) -> Result<Vec<(Uid, Attempt)>> {
    let crosses: HashMap<Uid, CrossRow> =
        reader.crosses()?.into_iter().map(|c| (c.uid, c)).collect();
    let mut out = Vec::new();
    for e in reader.all_of_kind("pollinated")? {
        let Some(at) = day(&e) else { continue };
        let subject = reader.subject(e.subject)?;
        let cross = match uid(e.detail.get("cross")) {
            Some(cross) => Some(cross),
            None => match &subject {
                Some(s) => uid(reader.claimed(s.id, "cross")?.as_ref()),
                None => None,
            },
        };
        let plant_row = e.plant.or(subject.as_ref().and_then(|s| s.of));
        let plant = plant_row.map(|p| reader.plant_by_id(p)).transpose()?.flatten();
        let mut seed = match &plant {
            Some(p) => reader.clone_by_id(p.clone)?.map(|c| c.uid),
            None => None,
        };
        let claimed = cross.and_then(|c| crosses.get(&c));
        if seed.is_none()
            && let Some(ParentClaim::Clone(c)) = claimed.map(|c| &c.seed)
        {
            seed = Some(*c);
        }
        let pollen = pollen(reader, &e, seed, claimed)?;
        let age = e.detail.get("pollen_age").and_then(|v| v.get("value")).and_then(Value::as_f64);
        let flowers = count(&e, "flowers");
        out.push((
            e.subject,
            Attempt {
                pollination: (e.subject_kind == SubjectKind::Pollination)
                    .then_some(e.subject_number),
                seed,
                plant: plant.map(|p| p.number),
                pollen,
                cross,
                day: at,
                flowers: flowers.unwrap_or(1),
                counted: flowers.is_some(),
                age,
                lot: uid(e.detail.get("pollen_lot")),
                method: words(&e, "method"),
                who: e.who.clone(),
                own_pollen: e.detail.get("own_pollen").and_then(Value::as_bool).unwrap_or(false),
                took: None,
                ripe: None,
                lost: 0,
                ripe_day: None,
                full: None,
                empty: None,
            },
        ));
    }
    out.sort_by_key(|(_, a)| a.day);
    Ok(out)
}

fn pollen(
    reader: &Reader<'_>,
    e: &EntryRow,
    seed: Option<Uid>,
    cross: Option<&CrossRow>,
) -> Result<Pollen> {
    if let Some(of) = uid(e.detail.get("pollen_of")) {
        return Ok(clone_of(reader, of)?.map_or(Pollen::Unknown, Pollen::Of));
    }
    let several = e.detail.get("pollen_one_of").and_then(Value::as_array);
    if let Some(list) = several {
        let mut all = Vec::new();
        for v in list {
            if let Some(of) = uid(Some(v)) {
                all.extend(clone_of(reader, of)?);
            }
        }
        return Ok(Pollen::OneOf(all));
    }
    if let Some(lot) = uid(e.detail.get("pollen_lot"))
        && let Some(of) = reader.subject(lot)?.and_then(|s| s.of)
        && let Some(clone) = reader.clone_by_id(of)?
    {
        return Ok(Pollen::Of(clone.uid));
    }
    let word = words(e, "pollen");
    Ok(match (word.as_str(), seed, cross.map(|c| &c.pollen)) {
        ("open", ..) => Pollen::Open,
        ("self", Some(seed), _) => Pollen::Of(seed),
        ("unknown", ..) => Pollen::Unknown,
        (_, _, Some(ParentClaim::Clone(c))) => Pollen::Of(*c),
        (_, _, Some(ParentClaim::OneOf(list))) => Pollen::OneOf(list.clone()),
        _ => Pollen::Unknown,
    })
}

/// Pods and seed, each with the latest pollination of the same subject before it.
fn outcomes(reader: &Reader<'_>, attempts: &mut [(Uid, Attempt)], today: i64) -> Result<()> {
    let mut of: HashMap<Uid, Vec<usize>> = HashMap::new();
    for (i, (subject, _)) in attempts.iter().enumerate() {
        of.entry(*subject).or_default().push(i);
    }
    for kind in ["pod_seen", "pod_ripe", "pod_lost", "seeds_counted"] {
        for e in reader.all_of_kind(kind)? {
            let Some(at) = day(&e).filter(|d| *d <= today + 366) else { continue };
            let Some(list) = of.get(&e.subject) else { continue };
            let Some(i) = list.iter().rev().find(|i| attempts[**i].1.day <= at) else { continue };
            let a = &mut attempts[*i].1;
            // A pod without a number is one pod.
            let n = count(&e, "count").unwrap_or(1);
            match kind {
                "pod_seen" => a.took = Some(a.took.unwrap_or(0).max(n)),
                "pod_ripe" => {
                    a.ripe = Some(a.ripe.unwrap_or(0) + n);
                    a.ripe_day = Some(a.ripe_day.map_or(at, |d| d.min(at)));
                }
                "pod_lost" => a.lost += n,
                _ => {
                    let add = |slot: &mut Option<u64>, key: &str| {
                        if let Some(n) = count(&e, key) {
                            *slot = Some(slot.unwrap_or(0) + n);
                        }
                    };
                    add(&mut a.full, "full");
                    add(&mut a.empty, "empty");
                }
            }
        }
    }
    for (_, a) in attempts {
        let ended = a.ripe.unwrap_or(0) + a.lost;
        if ended > 0 || a.full.is_some() {
            a.took = Some(a.took.unwrap_or(0).max(ended).max(1));
        }
        if a.lost > 0 && a.ripe.is_none() && a.took == Some(a.lost) {
            a.ripe = Some(0);
        }
        // More pods than flowers: an umbel was counted as one flower. The pods are right.
        a.flowers = a.flowers.max(a.took.unwrap_or(0));
    }
    Ok(())
}

/// Trays of each cross.
fn trays(reader: &Reader<'_>) -> Result<BTreeMap<i64, Vec<Tray>>> {
    let mut all: BTreeMap<Uid, Tray> = BTreeMap::new();
    for e in reader.all_of_kind("sown")? {
        if e.subject_kind != SubjectKind::Batch {
            continue;
        }
        let Some(row) = reader.subject(e.subject)? else { continue };
        let of = row.of.map(|o| reader.subject_by_id(o)).transpose()?.flatten();
        let cross = of.filter(|o| o.kind == SubjectKind::Cross).map(|o| o.id);
        let tray = all.entry(e.subject).or_insert_with(|| Tray {
            number: row.number,
            cross,
            sown: None,
            seeds: None,
            medium: String::new(),
            looks: Vec::new(),
            pricked: None,
            lost: false,
        });
        tray.sown = tray.sown.or(day(&e));
        if let Some(n) = count(&e, "count") {
            tray.seeds = Some(tray.seeds.unwrap_or(0) + n);
        }
        if tray.medium.is_empty() {
            tray.medium = words(&e, "medium");
        }
    }
    for kind in ["germinated", "pricked_out", "lost"] {
        for e in reader.all_of_kind(kind)? {
            let Some(tray) = all.get_mut(&e.subject) else { continue };
            match kind {
                "germinated" => {
                    if let (Some(at), Some(n)) = (day(&e), count(&e, "so_far")) {
                        tray.looks.push((at, n));
                    }
                }
                "pricked_out" => {
                    let n = count(&e, "count").unwrap_or(1);
                    tray.pricked = Some(tray.pricked.unwrap_or(0) + n);
                }
                // With a count some of the seedlings were lost, without one the tray.
                _ => tray.lost |= count(&e, "count").is_none(),
            }
        }
    }
    let mut out: BTreeMap<i64, Vec<Tray>> = BTreeMap::new();
    for tray in all.into_values() {
        if let Some(cross) = tray.cross {
            out.entry(cross).or_default().push(tray);
        }
    }
    Ok(out)
}

fn seedlings(reader: &Reader<'_>, cross: i64) -> Result<Vec<Seedling>> {
    let mut out = Vec::new();
    for (clone, number) in reader.seedlings(cross)? {
        let plants = reader.pieces(clone)?;
        let mut flower: Option<i64> = None;
        for e in reader.entries_of_clone(clone, &["opened"])? {
            flower = match (flower, day(&e)) {
                (Some(a), Some(b)) => Some(a.min(b)),
                (a, b) => a.or(b),
            };
        }
        let since = plants.iter().filter_map(|p| p.came.as_ref()).filter_map(|c| c.latest()).min();
        out.push(Seedling {
            number,
            since: since.map(|d| i64::from(dates::to_days(d))),
            flower,
            alive: plants.is_empty() || plants.iter().any(|p| p.state == "alive"),
        });
    }
    Ok(out)
}

//! Random sequences of operations: what is derived step by step is what is derived from all of
//! them at once, in whatever order they arrived, and undo gives back what was there before.

use journal::{
    Change, Journal, Known, NewEntry, Operation, PlantFilter, PlantSort, SubjectKind, Uid,
};
use proptest::prelude::*;
use serde_json::{Map, json};

use crate::{
    house::{agrees, day, draft, map, now, open},
    kill::long,
};

/// One random step; numbers choose among what is there.
#[derive(Debug, Clone)]
enum Step {
    Plant { other_clone: bool, pick: usize },
    Name { pick: usize, name: usize },
    Parents { pick: usize, of: usize, one_of: bool },
    Clone { pick: usize, to: usize },
    Entry { pick: usize, kind: usize, date: usize, to: usize },
    Replace { pick: usize, to: usize },
    Withdraw { pick: usize },
    Readings { pick: usize, from: usize, of: usize },
    Correct { pick: usize, by: usize },
    Undo { pick: usize },
    Again { pick: usize },
}

fn step() -> impl Strategy<Value = Step> {
    let n = 0usize..64;
    prop_oneof![
        3 => (any::<bool>(), n.clone()).prop_map(|(other_clone, pick)| Step::Plant { other_clone, pick }),
        2 => (n.clone(), n.clone()).prop_map(|(pick, name)| Step::Name { pick, name }),
        2 => (n.clone(), n.clone(), any::<bool>()).prop_map(|(pick, of, one_of)| Step::Parents { pick, of, one_of }),
        1 => (n.clone(), n.clone()).prop_map(|(pick, to)| Step::Clone { pick, to }),
        5 => (n.clone(), n.clone(), n.clone(), n.clone()).prop_map(|(pick, kind, date, to)| Step::Entry { pick, kind, date, to }),
        1 => (n.clone(), n.clone()).prop_map(|(pick, to)| Step::Replace { pick, to }),
        2 => n.clone().prop_map(|pick| Step::Withdraw { pick }),
        2 => (n.clone(), n.clone(), n.clone()).prop_map(|(pick, from, of)| Step::Readings { pick, from, of }),
        1 => (n.clone(), n.clone()).prop_map(|(pick, by)| Step::Correct { pick, by }),
        3 => n.clone().prop_map(|pick| Step::Undo { pick }),
        1 => n.prop_map(|pick| Step::Again { pick }),
    ]
}

/// What has been made so far: subjects and items with the operation that made each.
#[derive(Default)]
struct Made {
    plants: Vec<(Uid, usize)>,
    clones: Vec<(Uid, usize)>,
    keepers: Vec<Uid>,
    places: Vec<Uid>,
    entries: Vec<(Uid, usize)>,
    claims: Vec<(Uid, usize)>,
    /// Operations, each with those that it needs.
    operations: Vec<(Operation, Vec<usize>)>,
}

fn at<T: Copy>(list: &[T], pick: usize) -> Option<T> {
    (!list.is_empty()).then(|| list[pick % list.len()])
}

const NAMES: [&str; 5] =
    ["Begonia bowerae", "Begonia", "Peperomia rubella", "Dischidia ovata", "Begonia 'Wet Slate'"];
const DATES: [&str; 7] = [
    "2025",
    "2025-06-10",
    "2024-05",
    "2025-11-21",
    "2023/2024",
    "../2024",
    "2025-02-01/2025-02-20",
];

impl Made {
    fn numbered(&self) -> i64 {
        i64::try_from(self.plants.len() + self.clones.len()).unwrap() + 1
    }

    /// The operation of a step, with the operations that it needs; none if there is nothing yet.
    fn operation(&self, step: &Step) -> Option<(Operation, Vec<usize>)> {
        let mut d = draft("step", "x");
        let mut needs = vec![0];
        match *step {
            Step::Plant { other_clone, pick } => {
                let number = Some(self.numbered());
                let clone = match at(&self.clones, pick) {
                    Some((clone, by)) if other_clone => {
                        needs.push(by);
                        clone
                    }
                    _ => d.create_numbered(SubjectKind::Clone, None, number),
                };
                let plant = d.create_numbered(SubjectKind::Plant, None, number);
                d.claim(plant, "clone", json!(clone.to_string()));
            }
            Step::Name { pick, name } => {
                let (clone, by) = at(&self.clones, pick)?;
                needs.push(by);
                let name = NAMES[name % NAMES.len()];
                d.claim(clone, "name", json!({"text": name, "genus": name.split(' ').next()}));
            }
            Step::Parents { pick, of, one_of } => {
                // A parent was made before its child, so that no circle comes up in any order.
                let child = pick % self.clones.len().max(1);
                let (clone, by) = at(&self.clones, child)?;
                let (parent, made) = at(&self.clones[..child], of)?;
                needs.extend([by, made]);
                let parent = parent.to_string();
                let seed =
                    if one_of { json!({"one_of": [parent]}) } else { json!({"clone": parent}) };
                d.claim(clone, "parents", json!({"seed": seed, "pollen": "unknown"}));
            }
            Step::Clone { pick, to } => {
                let ((plant, by), (clone, made)) = (at(&self.plants, pick)?, at(&self.clones, to)?);
                needs.extend([by, made]);
                d.belongs_to(plant, clone, None);
            }
            Step::Entry { pick, kind, date, to } => {
                let (plant, by) = at(&self.plants, pick)?;
                needs.push(by);
                let (place, keeper) = (at(&self.places, to)?, at(&self.keepers, to)?);
                let (kind, detail, note) = match kind % 7 {
                    0 => ("arrived", json!({"from": keeper.to_string()}), None),
                    1 => ("placed", json!({"place": place.to_string()}), None),
                    2 => ("lost", json!({}), None),
                    3 => ("given", json!({"to": keeper.to_string(), "whole": true}), None),
                    4 => ("potted", json!({"pot": format!("{} cm", to + 1)}), None),
                    5 => ("note", json!({}), Some(format!("word{to}"))),
                    _ => ("doubtful", json!({}), None),
                };
                d.entry(
                    plant,
                    kind,
                    day(DATES[date % DATES.len()]),
                    Known::Seen,
                    map(detail),
                    note,
                );
            }
            Step::Replace { pick, to } => {
                let ((old, by), (plant, made)) = (at(&self.entries, pick)?, at(&self.plants, to)?);
                needs.extend([by, made]);
                d.push(Change::Entry(NewEntry {
                    uid: Uid::new(),
                    subject: plant,
                    kind: "note".to_owned(),
                    happened: day("2025-03"),
                    known: Known::Told,
                    detail: Map::new(),
                    note: Some("moved here".to_owned()),
                    replaces: Some(old),
                }));
            }
            Step::Withdraw { pick } => {
                let all: Vec<_> = self.entries.iter().chain(&self.claims).copied().collect();
                let (target, by) = at(&all, pick)?;
                needs.push(by);
                d.push(Change::Withdraw { target, why: None });
            }
            Step::Readings { pick, from, of } => {
                let place = at(&self.places, pick)?;
                // Files that lie apart, touch and overlap, of two loggers.
                let start = 1_763_000_000 + 7_200 * i64::try_from(from).unwrap();
                let logger = ["north", "south"][of % 2];
                let change = crate::series::some(place, logger, start, 100 + of);
                d.push(change);
            }
            Step::Correct { pick, by } => {
                let place = at(&self.places, pick)?;
                let by = i32::try_from(by).unwrap();
                d.claim(
                    place,
                    "loggers",
                    json!({"north": {"humidity": by / 8, "temperature": 0.5}}),
                );
            }
            Step::Undo { .. } | Step::Again { .. } => return None,
        }
        Some((d.finish(), needs))
    }

    fn note(&mut self, operation: Operation, needs: Vec<usize>) {
        let by = self.operations.len();
        for change in &operation.changes {
            match change {
                Change::Create { uid, kind, .. } => match kind {
                    SubjectKind::Plant => self.plants.push((*uid, by)),
                    SubjectKind::Clone => self.clones.push((*uid, by)),
                    SubjectKind::Keeper => self.keepers.push(*uid),
                    _ => self.places.push(*uid),
                },
                Change::Entry(e) => self.entries.push((e.uid, by)),
                Change::Claim { uid, .. } => self.claims.push((*uid, by)),
                // Blocks of readings are withdrawn as entries are.
                Change::Series(s) => self.entries.push((s.uid, by)),
                _ => {}
            }
        }
        self.operations.push((operation, needs));
    }
}

/// Everything that is shown, without rows and sequence numbers, which depend on the order.
fn shown(journal: &Journal) -> String {
    journal
        .read(|r| {
            let mut out = String::new();
            let list = r.plants(&PlantFilter::default(), PlantSort::Number, 0, 1_000)?;
            for p in list.rows {
                let clone = r.clone_by_id(p.clone)?.map(|c| (c.uid, c.pieces, c.seed, c.name));
                let entries: Vec<_> =
                    r.journal_of_plant(p.id, 1_000)?.into_iter().map(|e| (e.uid, e.live)).collect();
                let found = r.search(&p.name)?.plants.contains(&p.id);
                let mut p = p;
                (p.id, p.clone, p.place_id, p.keeper_id) = (0, 0, None, None);
                out.push_str(&format!("{p:?} {clone:?} {entries:?} {found}\n"));
            }
            for k in r.keepers()? {
                out.push_str(&format!("{} {}\n", k.name, k.plants));
            }
            for p in r.places()? {
                out.push_str(&format!("{} {}\n", p.name, p.plants));
                for mut logger in r.loggers(p.id)? {
                    logger.place = 0;
                    out.push_str(&format!("{logger:?}\n"));
                }
                out.push_str(&format!("{:?}\n", r.air_days(p.id, i64::MIN, i64::MAX)?));
            }
            for words in ["word3", "moved", "wet", "begonia"] {
                out.push_str(&format!("{words} {}\n", r.search(words)?.total));
            }
            Ok(out)
        })
        .unwrap()
}

fn house(journal: &Journal, made: &mut Made) {
    let mut d = draft("add", "house");
    for i in 0..3i64 {
        let keeper = d.create_numbered(SubjectKind::Keeper, None, Some(i + 1));
        d.claim(keeper, "name", json!(format!("keeper {i}")));
        let place = d.create_numbered(SubjectKind::Place, None, Some(i + 1));
        d.claim(place, "name", json!(format!("place {i}")));
    }
    let operation = d.finish();
    journal.write(&operation).unwrap();
    made.note(operation, vec![]);
}

fn run(steps: &[Step], journal: &Journal) -> Made {
    let mut made = Made::default();
    house(journal, &mut made);
    for step in steps {
        match *step {
            Step::Undo { pick } => {
                let at = 1 + pick % made.operations.len();
                let Some((target, _)) = made.operations.get(at) else { continue };
                let target = target.id;
                let Ok(undone) = journal.undo(target, true, "Ines", "bench", now()) else {
                    continue;
                };
                let mut d = draft("undo", "x");
                let mut needs = vec![0];
                for op in undone.together.iter().rev().map(|r| r.id).chain([target]) {
                    needs.push(made.operations.iter().position(|o| o.0.id == op).unwrap());
                    d.push(Change::Reverse { op });
                }
                let mut operation = d.finish();
                operation.id = undone.by;
                made.note(operation, needs);
            }
            Step::Again { pick } => {
                let (operation, _) = &made.operations[pick % made.operations.len()];
                let before = journal.projection_text().unwrap();
                assert_eq!(journal.write(operation).unwrap(), journal::Written::Before);
                assert_eq!(before, journal.projection_text().unwrap());
            }
            _ => {
                let Some((operation, needs)) = made.operation(step) else { continue };
                let before = shown(journal);
                journal.write(&operation).unwrap();
                let undone = journal.undo(operation.id, false, "Ines", "bench", now()).unwrap();
                assert_eq!(
                    before,
                    shown(journal),
                    "undo does not give back what was before {step:?}"
                );
                let after = journal.undo(undone.by, false, "Ines", "bench", now());
                after.unwrap();
                made.note(operation, needs);
            }
        }
        agrees(journal);
    }
    made
}

/// The operations in another order in which each still comes after those that it needs.
fn shuffled(made: &Made, seed: u64) -> Vec<usize> {
    let mut state = seed | 1;
    let mut out: Vec<usize> = Vec::new();
    while out.len() < made.operations.len() {
        let ready: Vec<usize> = (0..made.operations.len())
            .filter(|i| !out.contains(i) && made.operations[*i].1.iter().all(|n| out.contains(n)))
            .collect();
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        out.push(ready[usize::try_from(state >> 33).unwrap() % ready.len()]);
    }
    out
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: if long() { 400 } else { 24 },
        max_shrink_iters: 200,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn any_sequence_derives_the_same_step_by_step_at_once_and_in_another_order(
        steps in prop::collection::vec(step(), 4..22),
        seed in any::<u64>(),
    ) {
        let (_folder, journal) = open();
        let made = run(&steps, &journal);
        let (_other_folder, other) = open();
        for i in shuffled(&made, seed) {
            other.write(&made.operations[i].0).unwrap();
        }
        agrees(&other);
        prop_assert_eq!(shown(&journal), shown(&other));
    }
}

//! The demo.

use std::collections::{BTreeMap, HashSet};

use jiff::civil::{Date, date};
use journal::{Change, Journal, KINDS, SubjectKind};
use names::Verdict;

const TODAY: Date = date(2025, 11, 21);

fn changes(demo: &trial::Demo) -> impl Iterator<Item = &Change> {
    demo.operations.iter().flat_map(|o| &o.changes)
}

#[test]
fn the_same_day_gives_the_same_demo() {
    let demo = trial::demo(TODAY);
    assert_eq!(demo, trial::demo(TODAY));
    assert_ne!(demo.operations, trial::demo(date(2026, 3, 2)).operations);
}

#[test]
fn operations_come_in_order_and_identifiers_once() {
    let demo = trial::demo(TODAY);
    assert!(demo.operations.windows(2).all(|w| w[0].recorded <= w[1].recorded));
    let mut seen = HashSet::new();
    for change in changes(&demo) {
        let uid = match change {
            Change::Create { uid, .. } | Change::Claim { uid, .. } => *uid,
            Change::Entry(e) => e.uid,
            Change::Series(s) => s.uid,
            _ => continue,
        };
        assert!(seen.insert(uid), "{uid} twice");
        assert_eq!(uid.as_bytes()[6] >> 4, 7, "{uid} is not of version 7");
    }
    let acts = [
        "add",
        "log",
        "rename",
        "bring_in",
        "parents",
        "state",
        "ask",
        "readings",
        "describe",
        "describe_light",
        "keep",
        "round",
        "rounds",
        "wish",
    ];
    for operation in &demo.operations {
        assert!(acts.contains(&operation.act.as_str()), "{}", operation.act);
        assert!(["desk", "phone"].contains(&operation.device.as_str()));
        assert_eq!(operation.who, trial::grower());
    }
}

#[test]
fn every_kind_occurs_and_nothing_lies_in_the_future() {
    let demo = trial::demo(TODAY);
    let mut kinds: BTreeMap<&str, usize> = BTreeMap::new();
    for operation in &demo.operations {
        assert!(operation.recorded.to_zoned_datetime(jiff::tz::TimeZone::UTC).date() < TODAY);
        for change in &operation.changes {
            let Change::Entry(e) = change else { continue };
            *kinds.entry(&e.kind).or_default() += 1;
            assert!(e.happened.earliest().is_some(), "{e:?}");
            let exact = e.happened.as_str().len() == 10 || e.happened.as_str().len() == 21;
            if exact {
                assert!(e.happened.latest().unwrap() < TODAY, "{e:?}");
            }
        }
    }
    let missing: Vec<_> = KINDS.iter().map(|k| k.key).filter(|k| !kinds.contains_key(k)).collect();
    assert!(missing.is_empty(), "{missing:?}");
    let entries: usize = kinds.values().sum();
    assert!((12_000..=22_000).contains(&entries), "{entries}: {kinds:?}");
}

#[test]
fn names_are_valid_but_for_those_that_are_doubtful_on_purpose() {
    let doubtful = trial::doubtful_names();
    let mut bad = Vec::new();
    for clone in trial::demo(TODAY).truth.clones {
        if doubtful.contains(&clone.name.as_str()) {
            continue;
        }
        let reading = names::read(&clone.name, &names::Context::default());
        if reading.verdict != Verdict::Valid || clone.genus.is_empty() {
            bad.push(format!("{}: {:?}", clone.name, reading.problems));
        }
    }
    assert!(bad.is_empty(), "{bad:#?}");
}

#[test]
fn no_real_brand_is_named() {
    let text = serde_json::to_string(&trial::demo(TODAY).operations).unwrap().to_lowercase();
    for brand in ["miracle", "osmocote", "ikea", "seramis", "bayer", "hoya", "whatsapp", "ebay"] {
        assert!(!text.contains(brand), "{brand}");
    }
}

#[test]
fn the_record_takes_it_all_and_agrees_with_the_truth() {
    let folder = tempfile::tempdir().unwrap();
    let (journal, _) = Journal::open(folder.path().join("collection.umbel")).unwrap();
    let began = std::time::Instant::now();
    trial::write_demo(&journal, TODAY).unwrap();
    eprintln!("written in {:?}", began.elapsed());
    let before = journal.projection_text().unwrap();
    journal.rebuild().unwrap();
    assert!(before == journal.projection_text().unwrap(), "derived again, the record differs");
    let truth = trial::demo(TODAY).truth;
    assert!((215..=265).contains(&truth.plants.len()), "{} plants", truth.plants.len());
    assert!((14..=18).contains(&truth.crosses.len()));
    let mut states: BTreeMap<&str, usize> = BTreeMap::new();
    journal
        .read(|r| {
            for plant in &truth.plants {
                let row = r.plant(plant.number)?.unwrap();
                assert_eq!(row.uid, plant.uid, "plant {}", plant.number);
                assert_eq!(row.state, plant.state, "plant {}", plant.number);
                *states.entry(plant.state).or_default() += 1;
            }
            assert!(r.left_over()?.len() >= 2 && r.views()?.len() >= 3);
            for photo in r.subjects_of_kind(SubjectKind::Photo)? {
                let content = r.claimed(photo.id, "content")?.unwrap();
                let hash = content["hash"].as_str().unwrap();
                assert!(journal.photo_path(hash, "png").is_some(), "no file for {hash}");
            }
            Ok(())
        })
        .unwrap();
    assert_eq!(states.len(), 4, "{states:?}");
    let stages: HashSet<_> = truth.crosses.iter().map(|c| c.stage.as_str()).collect();
    assert!(stages.len() >= 8, "{stages:?}");
    eprintln!("{states:?} {stages:?} {} flowers", truth.flowers.len());
}

//! Writing, undoing, arriving twice and deriving again.

use journal::{Journal, Known, PlantFilter, PlantSort, SubjectKind, Written};
use serde_json::json;

use crate::house::{day, draft, keeper, map, now, open, place, plant};

fn agrees(journal: &Journal) {
    let before = journal.projection_text().unwrap();
    journal.rebuild().unwrap();
    assert_eq!(before, journal.projection_text().unwrap());
}

#[test]
fn an_operation_counts_once_and_the_projection_can_be_derived_again() {
    let (_folder, journal) = open();
    let tansy = keeper(&journal, "Tansy Wray");
    let sill = place(&journal, "kitchen sill");
    let p = plant(&journal, "Begonia bowerae", tansy, sill);
    assert_eq!(journal.write(&p.operation).unwrap(), Written::Before);
    let row = journal.read(|r| r.plant(1)).unwrap().unwrap();
    assert_eq!(
        (row.name.as_str(), row.place.as_str(), row.keeper.as_str(), row.entries),
        ("Begonia bowerae", "kitchen sill", "Tansy Wray", 2)
    );
    agrees(&journal);
}

#[test]
fn undo_takes_back_what_rests_on_it_only_when_told_and_can_be_undone() {
    let (_folder, journal) = open();
    let tansy = keeper(&journal, "Tansy Wray");
    let sill = place(&journal, "kitchen sill");
    let p = plant(&journal, "Begonia bowerae", tansy, sill);
    let mut d = draft("log", "plant 1");
    d.entry(p.plant, "watered", day("2025-11-20"), Known::Seen, map(json!({})), None);
    journal.write(&d.finish()).unwrap();
    let whole = journal.projection_text().unwrap();

    let refused = journal.undo(p.operation.id, false, "Ines", "bench", now());
    assert!(matches!(refused, Err(journal::Error::RestsOn(ref list)) if list.len() == 1));
    assert_eq!(whole, journal.projection_text().unwrap(), "a refused undo changes nothing");

    let undone = journal.undo(p.operation.id, true, "Ines", "bench", now()).unwrap();
    assert!(journal.read(|r| r.plant(1)).unwrap().is_none());
    assert!(journal.read(|r| r.search("bowerae")).unwrap().plants.is_empty());
    agrees(&journal);

    journal.undo(undone.by, false, "Ines", "bench", now()).unwrap();
    assert_eq!(journal.read(|r| r.plant(1)).unwrap().unwrap().entries, 3);
    agrees(&journal);
    let again = plant(&journal, "Begonia listada", tansy, sill);
    assert_eq!(journal.read(|r| r.plant_by_uid(again.plant)).unwrap().unwrap().number, 2);
}

#[test]
fn renaming_a_clone_is_seen_on_all_its_pieces_and_on_its_seedlings() {
    let (_folder, journal) = open();
    let tansy = keeper(&journal, "Tansy Wray");
    let sill = place(&journal, "kitchen sill");
    let mother = plant(&journal, "Begonia bowerae", tansy, sill);
    let child = plant(&journal, "Begonia", tansy, sill);
    let mut d = draft("parents", "plant 2");
    d.claim(
        child.clone,
        "parents",
        json!({"seed": {"clone": mother.clone.to_string()}, "pollen": "unknown"}),
    );
    journal.write(&d.finish()).unwrap();
    let mut d = draft("rename", "clone 1");
    d.claim(mother.clone, "name", json!({"text": "Begonia manicata", "genus": "Begonia"}));
    journal.write(&d.finish()).unwrap();
    let list =
        journal.read(|r| r.plants(&PlantFilter::default(), PlantSort::Number, 0, 10)).unwrap();
    assert_eq!(list.rows[0].name, "Begonia manicata");
    assert_eq!(list.rows[1].parents, "Begonia manicata × ?");
    let found = journal.read(|r| r.search("bowerae")).unwrap();
    assert_eq!(found.total, 1, "a plant is found under its old name");
    let near = journal.read(|r| r.search("manicta tansi")).unwrap();
    assert_eq!(near.total, 2, "typing errors are forgiven: {near:?}");
    agrees(&journal);
}

#[test]
fn a_circle_of_parents_is_refused_and_named() {
    let (_folder, journal) = open();
    let tansy = keeper(&journal, "Tansy Wray");
    let sill = place(&journal, "kitchen sill");
    let a = plant(&journal, "Begonia 'Wet Slate'", tansy, sill);
    let b = plant(&journal, "Begonia 'Copper Lorry'", tansy, sill);
    let parent = |of: &crate::house::Plant| json!({"seed": {"clone": of.clone.to_string()}});
    let mut d = draft("parents", "plant 2");
    d.claim(b.clone, "parents", parent(&a));
    journal.write(&d.finish()).unwrap();
    let before = journal.projection_text().unwrap();
    let mut d = draft("parents", "plant 1");
    d.claim(a.clone, "parents", parent(&b));
    let error = journal.write(&d.finish()).unwrap_err().to_string();
    assert!(
        error.contains("Begonia 'Wet Slate' ← Begonia 'Copper Lorry' ← Begonia 'Wet Slate'"),
        "{error}"
    );
    let mut d = draft("parents", "plant 1");
    d.claim(a.clone, "parents", parent(&a));
    assert!(journal.write(&d.finish()).unwrap_err().to_string().contains("own ancestor"));
    assert_eq!(before, journal.projection_text().unwrap());
}

#[test]
fn numbers_are_never_given_twice() {
    let (_folder, journal) = open();
    let mut d = draft("add", "x");
    d.create_numbered(SubjectKind::Place, None, Some(3));
    d.create_numbered(SubjectKind::Place, None, Some(3));
    let error = journal.write(&d.finish()).unwrap_err().to_string();
    assert!(
        error.contains("number 3 is used already") && error.contains("free one is 4"),
        "{error}"
    );
}

#[test]
fn what_was_touched_since_tells_of_undoing_and_withdrawing_too() {
    let (_folder, journal) = open();
    let tansy = keeper(&journal, "Tansy Wray");
    let sill = place(&journal, "kitchen sill");
    let p = plant(&journal, "Begonia bowerae", tansy, sill);
    let q = plant(&journal, "Begonia maculata", tansy, sill);
    let touched = |seq: i64| journal.read(|r| r.touched_since(seq)).unwrap();
    let whole = touched(0);
    assert!(whole.others && whole.plants.len() == 2, "{whole:?}");
    let mut last = whole.last;
    assert_eq!(touched(last), journal::Touched { last, ..journal::Touched::default() });
    let id = |uid| journal.read(|r| r.plant_by_uid(uid)).unwrap().unwrap().id;
    let mut d = draft("log", "plant 1");
    d.entry(p.plant, "watered", day("2025-11-20"), Known::Seen, map(json!({})), None);
    let logged = d.finish();
    let only = |last: &mut i64, which, what: &str| {
        let t = touched(*last);
        assert_eq!((t.plants, t.others), (vec![id(which)], false));
        assert_eq!(t.what.iter().collect::<Vec<_>>(), [what]);
        *last = t.last;
    };
    journal.write(&logged).unwrap();
    only(&mut last, p.plant, "watered");
    journal.undo(logged.id, false, "Ines", "bench", now()).unwrap();
    only(&mut last, p.plant, "watered");
    let undo = journal.read(|r| r.last_undo()).unwrap().unwrap();
    journal.undo(undo.uid, false, "Ines", "bench", now()).unwrap();
    only(&mut last, p.plant, "watered");
    let mut d = draft("wish", "plant 2");
    d.claim(q.plant, "wish", json!("bone_dry"));
    journal.write(&d.finish()).unwrap();
    only(&mut last, q.plant, "wish");
}

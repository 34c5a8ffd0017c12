//! Checklists: the shipped extract, loading the public layout, holding names against them.

use std::{fs, path::PathBuf};

use answers::checklists::{self, Checklists};
use names::checklist::Spelling;

fn fixture(name: &str) -> (String, fs::File) {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../names/tests/data").join(name);
    (name.to_owned(), fs::File::open(path).unwrap())
}

#[test]
fn a_misspelt_species_is_found_in_the_shipped_extract() {
    let folder = tempfile::tempdir().unwrap();
    let lists = Checklists::open(&folder.path().join("c.umbel")).unwrap();
    assert!(lists.loaded().is_none());
    let right = lists.check("Dischidia nummularia", None);
    assert_eq!(right.spelling, Spelling::Exact);
    assert!(right.credit.contains("Kew"));
    // One letter off: an m too few.
    match lists.check("Dischidia numularia", None).spelling {
        Spelling::Near { names } => assert_eq!(names[0].0, "Dischidia nummularia"),
        other => panic!("{other:?}"),
    }
}

#[test]
fn the_public_layout_is_loaded_and_kept_beside_the_record() {
    let folder = tempfile::tempdir().unwrap();
    let record = folder.path().join("c.umbel");
    let files = vec![
        fixture("wcvp-layout-clethra-names.csv"),
        fixture("wcvp-layout-clethra-distribution.csv"),
    ];
    let (names, areas) = checklists::load(files, &record, &mut |_| true).unwrap();
    assert!(names > 10 && areas > 10, "{names} names, {areas} areas");
    let lists = Checklists::open(&record).unwrap();
    assert_eq!(lists.list().len(), names);
    let found = lists.check("Clethra arborea", None);
    assert_eq!(found.spelling, Spelling::Exact);
    let words = checklists::areas_in_words(&found.native);
    assert!(words.iter().any(|g| g.1.iter().any(|a| a == "Madeira")), "{words:?}");

    // A file that is no checklist leaves the loaded one in place.
    let wrong = vec![("list.csv".to_owned(), std::io::Cursor::new(b"a,b\n1,2\n".to_vec()))];
    assert!(checklists::load(wrong, &record, &mut |_| true).is_err());
    assert_eq!(Checklists::open(&record).unwrap().list().len(), names);
}

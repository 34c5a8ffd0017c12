//! Reading rows: order, clones, and what cannot be.

use descent::{Individual, Parent, Pedigree};

fn error(rows: Vec<Individual>) -> String {
    Pedigree::new(rows).unwrap_err().to_string()
}

#[test]
fn a_plant_that_is_its_own_parent() {
    assert_eq!(
        error(vec![Individual::seedling("A", "A", "B")]),
        "the parentage runs in a circle: \"A\" has seed parent \"A\"; one of these links is wrong"
    );
}

#[test]
fn a_loop_is_named_from_end_to_end() {
    let rows = vec![
        Individual::seedling("A", "X", "B"),
        Individual::seedling("B", "C", "X"),
        Individual::seedling("C", "X", "A"),
    ];
    assert_eq!(
        error(rows),
        "the parentage runs in a circle: \"A\" has pollen parent \"B\", \
         \"B\" has seed parent \"C\", \"C\" has pollen parent \"A\"; one of these links is wrong"
    );
}

#[test]
fn a_loop_through_a_cutting() {
    let rows = vec![Individual::seedling("A", "A.1", "X"), Individual::piece("A.1", "A")];
    assert_eq!(
        error(rows),
        "the parentage runs in a circle: \"A\" has seed parent \"A.1\", \
         \"A.1\" is the same clone as \"A\"; one of these links is wrong"
    );
}

#[test]
fn a_clone_of_itself_by_way_of_another() {
    let rows = vec![Individual::piece("A", "B"), Individual::piece("B", "A")];
    assert_eq!(
        error(rows),
        "the parentage runs in a circle: \"A\" is a clone of \"B\", \"B\" is a clone of \"A\"; \
         one of these links is wrong"
    );
}

#[test]
fn a_descendant_cannot_be_a_candidate_parent() {
    let candidates = vec!["X".to_owned(), "B".to_owned()];
    let rows = vec![
        Individual { pollen_parent: Parent::OneOf(candidates), ..Individual::founder("A") },
        Individual::seedling("B", "A", "Y"),
    ];
    assert!(error(rows).contains("\"A\" has possible pollen parent \"B\""));
}

#[test]
fn a_clone_of_two_things() {
    let rows = vec![Individual::piece("A", "B"), Individual::piece("A", "C")];
    assert!(error(rows).starts_with("row 2: \"A\" is said to be a clone of \"B\" and of \"C\""));
}

#[test]
fn the_same_id_twice() {
    let rows = vec![Individual::founder("A"), Individual::founder("B"), Individual::founder("A")];
    assert!(error(rows).starts_with("rows 1 and 3: both are \"A\""));
}

#[test]
fn a_blank_id() {
    let message = error(vec![Individual::founder("A"), Individual::founder(" ")]);
    assert!(message.starts_with("row 2: the id is blank"));
}

#[test]
fn pieces_of_one_clone_with_different_parents() {
    let rows = vec![
        Individual::seedling("A", "P", "Q"),
        Individual { clone_of: Some("A".into()), ..Individual::seedling("A.1", "P", "R") },
    ];
    let message = error(rows);
    assert!(message.contains("\"A\" and \"A.1\" are one clone"), "{message}");
    assert!(message.contains("(\"Q\" and \"R\")"), "{message}");
}

#[test]
fn parents_written_on_a_piece_are_those_of_the_clone() {
    let rows = vec![
        Individual::founder("A"),
        Individual { clone_of: Some("A".into()), ..Individual::seedling("A.1", "P", "P") },
    ];
    let pedigree = Pedigree::new(rows).unwrap();
    assert_eq!(pedigree.inbreeding("A"), Ok(0.5));
    assert_eq!(pedigree.clone_id("A.1"), Ok("A"));
    assert_eq!(pedigree.clones(), 2);
}

#[test]
fn an_unknown_id_is_named() {
    let pedigree = Pedigree::new(vec![Individual::founder("A")]).unwrap();
    let message = pedigree.kinship("A", "Z").unwrap_err().to_string();
    assert!(message.starts_with("\"Z\" is not in the pedigree"));
}

#[test]
fn a_hundred_thousand_generations_do_not_overflow_the_stack() {
    let n = 100_000;
    // The youngest first, so that every row refers to one that is still to come.
    let rows = (1..=n).rev().map(|i| {
        let parent = format!("G{}", i - 1);
        Individual::seedling(
            format!("G{i}"),
            parent.clone(),
            if i % 2 == 0 { parent } else { "X".into() },
        )
    });
    let pedigree = Pedigree::new(rows.collect()).unwrap();
    assert_eq!(pedigree.len(), n + 2);
    let f = pedigree.inbreeding(&format!("G{}", 20)).unwrap();
    assert!(f > 0.5 && f < 1.0, "{f}");
    assert_eq!(pedigree.founders(&format!("G{n}")).unwrap().len(), 2);
    let loop_of_all: Vec<Individual> = (0..n)
        .map(|i| Individual::seedling(format!("L{i}"), format!("L{}", (i + 1) % n), "X"))
        .collect();
    assert!(Pedigree::new(loop_of_all).is_err());
}

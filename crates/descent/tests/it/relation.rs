//! What two plants are to each other.

use descent::{Individual, Parent, Pedigree};

fn check(a: &str, b: &str, expected: &str) {
    let open = Individual { seed_parent: Parent::Known("P".into()), ..Individual::founder("Open") };
    let open2 =
        Individual { seed_parent: Parent::Known("P".into()), ..Individual::founder("Open2") };
    let pedigree = Pedigree::new(vec![
        Individual::seedling("A", "P", "Q"),
        Individual::seedling("B", "Q", "P"),
        Individual::seedling("H", "P", "R"),
        Individual::seedling("S", "P", "P"),
        Individual::piece("A.1", "A"),
        Individual::seedling("C", "A.1", "R"),
        Individual::seedling("D", "C", "Z"),
        Individual::seedling("E", "H", "Y"),
        open,
        open2,
    ])
    .unwrap();
    assert_eq!(pedigree.relation(a, b).unwrap().to_string(), expected, "{a} and {b}");
}

#[test]
fn words() {
    check("A", "A", "the same plant as");
    check("A", "A.1", "the same clone as");
    check("P", "A", "the seed parent of");
    check("Q", "A", "the pollen parent of");
    check("A", "P", "a seedling of");
    check("P", "S", "both parents of");
    check("S", "P", "a selfed seedling of");
    check("A", "B", "a full sib of");
    check("A.1", "H", "a half sib of");
    check("A", "C", "the seed parent of");
    check("P", "C", "a grandparent of");
    check("D", "Q", "a descendant, 3 generations down, of");
    check("Q", "D", "an ancestor, 3 generations up, of");
    check("E", "C", "related to");
    check("Z", "A", "not known to be related to");
}

#[test]
fn two_unknown_pollen_parents_do_not_make_full_sibs() {
    check("Open", "Open2", "a half sib of");
}

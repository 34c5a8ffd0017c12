//! Shares of founders and trees of ancestors.

use descent::{Founder, Fraction, Individual, Node, Parent, Pedigree, Side};

fn shares(pedigree: &Pedigree, id: &str) -> Vec<String> {
    pedigree
        .founders(id)
        .unwrap()
        .iter()
        .map(|s| format!("{} {}", s.founder, s.fraction.unwrap()))
        .collect()
}

fn example() -> Pedigree {
    let unknown_pollen = Individual {
        seed_parent: Parent::Known("M0".into()),
        ..Individual::founder("Marl Evening")
    };
    Pedigree::new(vec![
        Individual::seedling("Tally Ember", "Low Lantern", "Marl Evening"),
        Individual::seedling("Low Lantern", "speciosus", "radicans"),
        unknown_pollen,
        Individual::seedling("M0", "radicans", "longicaulis"),
        Individual::piece("Tally Ember 2", "Tally Ember"),
    ])
    .unwrap()
}

#[test]
fn known_first_then_what_is_missing() {
    let expected = ["radicans 3/8", "speciosus 1/4", "longicaulis 1/8", "?Marl Evening:pollen 1/4"];
    assert_eq!(shares(&example(), "Tally Ember"), expected);
    assert_eq!(shares(&example(), "Tally Ember 2"), expected);
    assert_eq!(shares(&example(), "radicans"), ["radicans 1"]);
}

#[test]
fn one_of_several_keeps_its_candidates() {
    let row = Individual {
        seed_parent: Parent::Known("A".into()),
        pollen_parent: Parent::OneOf(vec!["B".into(), "C".into()]),
        ..Individual::founder("D")
    };
    let pedigree = Pedigree::new(vec![row]).unwrap();
    let found = pedigree.founders("D").unwrap();
    assert_eq!(found[1].share, 0.5);
    assert_eq!(
        found[1].founder,
        Founder::OneOf {
            of: "D".into(),
            side: Side::Pollen,
            candidates: vec!["B".into(), "C".into()]
        }
    );
    // Kinship is what is to be expected: a half, times a half for either candidate.
    assert_eq!(pedigree.kinship("D", "B"), Ok(0.125));
    assert_eq!(pedigree.kinship("D", "A"), Ok(0.25));
}

#[test]
fn a_share_too_small_for_a_fraction_has_none() {
    let mut rows = vec![Individual::seedling("G1", "A", "B")];
    for i in 2..=80 {
        rows.push(Individual::seedling(format!("G{i}"), format!("G{}", i - 1), "B"));
    }
    let pedigree = Pedigree::new(rows).unwrap();
    let at = |g: &str| pedigree.founders(g).unwrap();
    assert_eq!(at("G30")[1].fraction.unwrap().to_string(), "1/1073741824");
    assert_eq!(at("G31")[1].fraction, None);
    // 1 − 2⁻⁸⁰ rounds to 1 but must not be written as "1".
    let deep = at("G80");
    assert_eq!(deep[0].share, 1.0);
    assert_eq!(deep[0].fraction, None);
}

#[test]
fn fractions() {
    let half = Fraction::of_generation(1).unwrap();
    let eighth = Fraction::of_generation(3).unwrap();
    assert_eq!(half.plus(eighth).unwrap().to_string(), "5/8");
    assert_eq!(half.plus(half), Some(Fraction::ONE));
    assert_eq!(Fraction::ONE.plus(eighth), None);
    assert_eq!(Fraction::exactly(0.3), None);
    assert_eq!(Fraction::exactly(0.375).map(|f| (f.num(), f.den())), Some((3, 8)));
    assert!(half > eighth);
}

#[test]
fn a_tree_stops_at_the_generation_asked_for_and_says_what_is_behind() {
    let pedigree = example();
    let tree = pedigree.ancestors("Tally Ember", 1).unwrap();
    let [seed, pollen] = *tree.parents.unwrap();
    assert_eq!(seed.node, Node::Known("Low Lantern".into()));
    assert_eq!((seed.behind, pollen.behind), (2, 3));
    assert_eq!(pollen.share.to_string(), "1/2");
    let deep = pedigree.ancestors("Tally Ember 2", 9).unwrap();
    let [_, marl] = *deep.parents.unwrap();
    let [m0, unknown] = *marl.parents.unwrap();
    assert_eq!(unknown.node, Node::Unknown);
    assert!(m0.parents.unwrap().iter().all(|p| p.share.to_string() == "1/8"));
    assert_eq!(marl.behind, 0);
}

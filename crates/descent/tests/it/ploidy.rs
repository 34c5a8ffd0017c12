//! Gametes of several copies, and parents in doubt.

use descent::{Founder, Gametes, PedigreeBuilder, PedigreeError, Side};

fn gametes(seed: u8, pollen: u8, lambda: f64) -> Gametes {
    Gametes { copies: [seed, pollen], double_reduction: [lambda, lambda] }
}

#[test]
fn a_triploid_has_thirds() {
    let mut rows = PedigreeBuilder::new();
    for (id, seed, pollen, g) in [
        ("Four", "", "", gametes(2, 2, 0.0)),
        ("Two", "", "", gametes(1, 1, 0.0)),
        ("Three", "Four", "Two", gametes(2, 1, 0.0)),
        ("Next", "Three", "Two", gametes(1, 1, 0.0)),
        ("Open", "Three", "", gametes(2, 1, 0.0)),
    ] {
        rows.row(id, seed, pollen, "").unwrap();
        rows.gametes(g).unwrap();
    }
    let pedigree = rows.build().unwrap();
    let shares = |id: &str| -> Vec<String> {
        let all = pedigree.founders(id).unwrap();
        all.iter().map(|s| format!("{} {}", s.founder, s.fraction.unwrap())).collect()
    };
    assert_eq!(shares("Three"), ["Four 2/3", "Two 1/3"]);
    assert_eq!(shares("Next"), ["Two 2/3", "Four 1/3"]);
    assert_eq!(shares("Open"), ["Four 4/9", "Two 2/9", "?Open:pollen 1/3"]);
    let tree = pedigree.ancestors("Open", 2).unwrap();
    let [three, _] = *tree.parents.unwrap();
    let [four, two] = *three.parents.unwrap();
    assert_eq!([four.share.to_string(), two.share.to_string()], ["4/9", "2/9"]);
    // By hand: two of three draws come from "Four", and one of its four copies is met again by 1/4.
    assert!((pedigree.kinship("Three", "Four").unwrap() - 2.0 / 3.0 / 4.0).abs() < 1e-15);
}

/// Founders whose own gametes had double reduction are as inbred as random mating makes them, and
/// an unknown parent is such a founder (Hamilton & Kerr 2017).
#[test]
fn founders_with_double_reduction() {
    let mut rows = PedigreeBuilder::new();
    for (id, seed) in [("F", ""), ("H", "F")] {
        rows.row(id, seed, "", "").unwrap();
        rows.gametes(gametes(2, 2, 0.1)).unwrap();
    }
    let pedigree = rows.build().unwrap();
    let settled = 0.2 / 4.2;
    assert!((pedigree.inbreeding("F").unwrap() - settled).abs() < 1e-15);
    // The value at which one more round of F' = (λ + (1 − λ)F)/3 changes nothing.
    assert!(((0.1 + 0.9 * settled) / 3.0 - settled).abs() < 1e-15);
    assert!((pedigree.inbreeding("H").unwrap() - settled).abs() < 1e-15);
}

#[test]
fn a_doubled_haploid_is_wholly_inbred() {
    let mut rows = PedigreeBuilder::new();
    for (id, seed, g) in [
        ("P", "", gametes(1, 1, 0.0)),
        ("Half", "P", gametes(1, 0, 0.0)),
        ("Doubled", "Half", gametes(2, 0, 1.0)),
        ("AtOnce", "P", gametes(2, 0, 1.0)),
    ] {
        rows.row(id, seed, "", "").unwrap();
        rows.gametes(g).unwrap();
    }
    let pedigree = rows.build().unwrap();
    assert_eq!(pedigree.inbreeding("Half"), Ok(0.0));
    assert_eq!(pedigree.self_kinship("Half"), Ok(1.0));
    assert_eq!(pedigree.inbreeding("Doubled"), Ok(1.0));
    assert_eq!(pedigree.inbreeding("AtOnce"), Ok(1.0));
    assert_eq!(pedigree.kinship("Doubled", "Half"), Ok(1.0));
    assert_eq!(pedigree.kinship("AtOnce", "P"), Ok(0.5));
    // The doubled haploid adds nothing to the haploid.
    assert!(pedigree.inverse().unwrap_err().to_string().contains("\"Doubled\""));
}

#[test]
fn gametes_that_cannot_be() {
    let fault = |parent: u8, g: Gametes| {
        let mut rows = PedigreeBuilder::new();
        rows.row("P", "", "", "").unwrap();
        rows.gametes(gametes(parent, 0, 0.0)).unwrap();
        rows.row("S", "P", "", "").unwrap();
        rows.gametes(g)?;
        rows.build()
    };
    let said = |parent, g| fault(parent, g).unwrap_err().to_string();
    assert!(said(2, gametes(0, 0, 0.0)).contains("row 2: \"S\" has neither gamete"));
    assert!(said(2, gametes(33, 0, 0.0)).contains("a seed gamete of 33 copies"));
    assert!(said(2, gametes(2, 2, 1.5)).contains("double reduction 1.5 in the seed gamete"));
    assert!(said(2, gametes(2, 2, f64::NAN)).contains("double reduction NaN"));
    // Four copies of two genes: of six pairs at least two are alike.
    let text = said(2, gametes(4, 1, 0.3));
    assert!(text.contains("4 copies from a parent with 2"), "{text}");
    assert!(text.contains("at least 0.3333333333333333"), "{text}");
    assert!(fault(2, gametes(4, 1, 1.0 / 3.0)).is_ok());
    // Without meaning for one copy, so ignored.
    assert!(fault(2, gametes(1, 1, 0.5)).unwrap().gametes("S") == Ok(Gametes::default()));
}

#[test]
fn pieces_have_the_gametes_of_their_clone() {
    let rows = |piece: Gametes| {
        let mut rows = PedigreeBuilder::new();
        rows.row("A", "", "", "").unwrap();
        rows.gametes(gametes(2, 2, 0.0)).unwrap();
        rows.row("A.1", "", "", "A").unwrap();
        rows.gametes(piece).unwrap();
        rows.build()
    };
    assert_eq!(rows(gametes(2, 2, 0.0)).unwrap().gametes("A.1").unwrap().ploidy(), 4);
    let error = rows(gametes(1, 1, 0.0)).unwrap_err();
    assert_eq!(
        error,
        PedigreeError::GametesDisagree { id: "A".into(), other: "A.1".into() },
        "{error}"
    );
}

#[test]
fn candidates_count_by_their_weights() {
    let mut rows = PedigreeBuilder::new();
    rows.row("S", "A", "", "").unwrap();
    rows.candidates(Side::Pollen, &[("A", 3.0), ("B", 1.0)]).unwrap();
    let pedigree = rows.build().unwrap();
    // Selfed with 3/4: F = 3/4 · 1/2. By hand.
    assert_eq!(pedigree.inbreeding("S"), Ok(0.375));
    assert_eq!(pedigree.kinship("S", "A"), Ok(0.25 + 0.5 * 0.75 * 0.5));
    assert_eq!(pedigree.kinship("S", "B"), Ok(0.5 * 0.25 * 0.5));
    let doubt = &pedigree.founders("S").unwrap()[1];
    assert!(matches!(&doubt.founder, Founder::OneOf { candidates, .. } if candidates.len() == 2));
    let mut rows = PedigreeBuilder::new();
    rows.row("S", "", "", "").unwrap();
    let error = rows.candidates(Side::Seed, &[("A", 1.0), ("B", 0.0)]).unwrap_err().to_string();
    assert!(error.contains("row 1: \"B\" as a candidate of \"S\" has the weight 0"), "{error}");
}

/// So wide that its front would not fit into memory: the walk over ancestors takes over.
#[test]
fn twenty_four_thousand_founders() {
    let n = 12_000;
    let mut rows = PedigreeBuilder::new();
    let mut row = |id: String, s: String, p: String| rows.row(&id, &s, &p, "").unwrap();
    for i in 0..n {
        row(format!("one{i}"), format!("s{i}"), format!("p{i}"));
    }
    for i in 0..n {
        row(format!("two{i}"), format!("one{i}"), format!("one{}", (i + 1) % n));
    }
    for i in 0..n {
        row(format!("three{i}"), format!("two{i}"), format!("two{}", (i + 1) % n));
    }
    let pedigree = rows.build().unwrap();
    let all = pedigree.all_inbreeding();
    // The parents of a plant of the third generation are half sibs.
    assert!(all[..2 * n].iter().all(|f| *f == 0.0));
    assert!(all[2 * n..3 * n].iter().all(|f| *f == 0.125));
}

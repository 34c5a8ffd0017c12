//! Effective founders, genome equivalents, common ancestors.

use std::collections::HashMap;

use descent::{
    Diversity, Draws, Gametes, Individual, Parent, Pedigree, PedigreeBuilder, Side,
    effective_founders, genome_equivalents,
};

fn draws(number: u32) -> Draws {
    Draws { number, seed: 11 }
}

fn of(pedigree: &Pedigree, ids: &[&str]) -> Diversity {
    pedigree.diversity(ids, draws(20_000)).unwrap()
}

/// Lacy's formula, p²/r. With p/r instead the number below would be under 1.
#[test]
fn shares_and_retentions_of_three_founders() {
    let (p, r) = ([0.5, 0.25, 0.25], [0.75, 0.5, 0.5]);
    // By hand: 1/(1/4 + 1/16 + 1/16), 1/(1/3 + 1/8 + 1/8).
    assert!((effective_founders(p) - 8.0 / 3.0).abs() < 1e-12);
    assert!((genome_equivalents(p.into_iter().zip(r)) - 12.0 / 7.0).abs() < 1e-12);
}

/// The family that those numbers belong to: two seedlings with one parent in common.
#[test]
fn two_half_sibs() {
    let rows = vec![Individual::seedling("X", "A", "B"), Individual::seedling("Y", "A", "C")];
    let found = of(&Pedigree::new(rows).unwrap(), &["X", "Y"]);
    let names: Vec<&str> = found.founders.iter().map(|f| f.founder.as_str()).collect();
    assert_eq!(names, ["A", "B", "C"]);
    for (f, (p, r)) in found.founders.iter().zip([(0.5, 0.75), (0.25, 0.5), (0.25, 0.5)]) {
        assert_eq!(f.share, p);
        assert!((f.retention - r).abs() <= 4.0 * f.retention_se + 1e-12, "{f:?}");
    }
    // The gene that each seedling has from its own pollen parent is always there.
    assert_eq!((found.founders[1].retention, found.founders[1].retention_se), (0.5, 0.0));
    assert!((found.effective_founders - 8.0 / 3.0).abs() < 1e-12);
    assert!((found.genome_equivalents - 12.0 / 7.0).abs() < 0.02);
    // Mean of 1/2, 1/8, 1/8, 1/2; the other count of genomes is another number.
    assert_eq!(found.mean_kinship, 0.3125);
    assert!((found.genome_equivalents_by_kinship.unwrap() - 1.6).abs() < 1e-12);
}

/// Retention of every founder by going through all ways in which genes can fall.
fn every_way(rows: &[(&str, &str, &str)], group: &[&str]) -> HashMap<String, f64> {
    let mut kept: HashMap<String, f64> = HashMap::new();
    let ways = 1u32 << (2 * rows.len());
    for way in 0..ways {
        let mut genes: HashMap<&str, [String; 2]> = HashMap::new();
        for (i, &(id, seed, pollen)) in rows.iter().enumerate() {
            let gamete = |parent: &str, side: usize| {
                let bit = (way >> (2 * i + side) & 1) as usize;
                match genes.get(parent) {
                    Some(pair) => pair[bit].clone(),
                    None if parent.is_empty() => {
                        format!("?{id}:{} {bit}", ["seed", "pollen"][side])
                    }
                    None => format!("{parent} {bit}"),
                }
            };
            let pair = [gamete(seed, 0), gamete(pollen, 1)];
            genes.insert(id, pair);
        }
        let mut there: Vec<&String> = group.iter().flat_map(|g| &genes[g]).collect();
        there.sort();
        there.dedup();
        for gene in there {
            let founder = gene.rsplit_once(' ').unwrap().0;
            *kept.entry(founder.to_owned()).or_default() += 0.5 / f64::from(ways);
        }
    }
    kept
}

#[test]
fn retention_agrees_with_all_ways_of_falling() {
    let rows = [
        ("K", "A", "B"),
        ("L", "A", "B"),
        ("M", "K", "C"),
        ("N", "L", ""),
        ("O", "M", "N"),
        ("P", "O", "O"),
        ("Q", "A", "M"),
    ];
    let group = ["N", "P", "Q"];
    let individuals = rows.map(|(id, s, p)| Individual {
        id: id.into(),
        seed_parent: Parent::from_cell(s),
        pollen_parent: Parent::from_cell(p),
        clone_of: None,
    });
    let found = of(&Pedigree::new(individuals.to_vec()).unwrap(), &group);
    let exact = every_way(&rows, &group);
    assert_eq!(found.founders.len(), exact.len());
    for f in &found.founders {
        let r = exact[&f.founder];
        // Four standard errors of the draws.
        assert!((f.retention - r).abs() <= 4.0 * f.retention_se + 1e-12, "{f:?} is not {r}");
    }
    let shares: f64 = found.founders.iter().map(|f| f.share).sum();
    assert!((shares - 1.0).abs() < 1e-12);
}

#[test]
fn pieces_count_once_and_the_mean_is_that_of_all_pairs() {
    let rows = vec![
        Individual::seedling("X", "A", "B"),
        Individual::piece("X.1", "X"),
        Individual::seedling("Y", "X", "A"),
    ];
    let pedigree = Pedigree::new(rows).unwrap();
    let found = of(&pedigree, &["X", "X.1", "Y"]);
    assert_eq!(found.clones, 2);
    let k = |a: &str, b: &str| pedigree.kinship(a, b).unwrap();
    let mean = (k("X", "X") + 2.0 * k("X", "Y") + k("Y", "Y")) / 4.0;
    assert!((found.mean_kinship - mean).abs() < 1e-15);
}

#[test]
fn equal_founders_are_worth_their_number() {
    let names: Vec<String> = (0..7).map(|i| format!("F{i}")).collect();
    let rows = names.iter().map(Individual::founder).collect();
    let found = Pedigree::new(rows).unwrap().diversity(&names, draws(10)).unwrap();
    assert!((found.effective_founders - 7.0).abs() < 1e-12);
    assert!((found.genome_equivalents - 7.0).abs() < 1e-12);
    assert!((found.genome_equivalents_by_kinship.unwrap() - 7.0).abs() < 1e-12);
}

#[test]
fn tetraploids_and_candidates_can_be_drawn() {
    let mut rows = PedigreeBuilder::new();
    let four =
        |lambda: f64, copies: u8| Gametes { copies: [copies; 2], double_reduction: [lambda; 2] };
    for id in ["A", "B"] {
        rows.row(id, "", "", "").unwrap();
        rows.gametes(four(0.0, 2)).unwrap();
    }
    rows.row("S", "A", "", "").unwrap();
    rows.gametes(four(0.2, 2)).unwrap();
    rows.candidates(Side::Pollen, &[("A", 1.0), ("B", 3.0)]).unwrap();
    let found = of(&rows.build().unwrap(), &["S"]);
    // Of A's four genes S has two, or one by double reduction, by the seed: 1.8 in the mean. With a
    // quarter it has a second gamete of A, which brings 1.8·(4 − 1.8)/4 new ones. By hand.
    let a = found.founders.iter().find(|f| f.founder == "A").unwrap();
    let r = (1.8 + 0.25 * 1.8 * 2.2 / 4.0) / 4.0;
    assert!((a.retention - r).abs() <= 4.0 * a.retention_se, "{a:?} is not {r}");
    assert_eq!(a.share, 0.625);
    let mut rows = PedigreeBuilder::new();
    rows.row("S", "A", "A", "").unwrap();
    rows.gametes(four(0.6, 3)).unwrap();
    let error = rows.build().unwrap().diversity(&["S"], draws(10)).unwrap_err().to_string();
    assert!(error.contains("seed gamete of \"S\" has 3 copies with double reduction"), "{error}");
}

#[test]
fn nothing_to_draw_from() {
    let pedigree = Pedigree::new(vec![Individual::founder("A")]).unwrap();
    assert!(pedigree.diversity::<&str>(&[], draws(10)).is_err());
    assert!(pedigree.diversity(&["A"], draws(1)).is_err());
    assert!(pedigree.diversity(&["Z"], draws(10)).unwrap_err().to_string().contains("\"Z\""));
}

#[test]
fn where_lines_meet() {
    let pedigree = Pedigree::new(vec![
        Individual::seedling("P", "G", "H"),
        Individual::seedling("A", "P", "X"),
        Individual::seedling("B", "P", "Y"),
        Individual::piece("B.1", "B"),
        Individual::seedling("C", "B.1", "X"),
        Individual::seedling("D", "G", "Z"),
        Individual::founder("Q"),
    ])
    .unwrap();
    let meet = |a: &str, b: &str| -> Vec<String> {
        let all = pedigree.common_ancestors(a, b).unwrap();
        all.iter().map(|c| format!("{} {} {}", c.id, c.from_a, c.from_b)).collect()
    };
    assert_eq!(meet("A", "B"), ["P 1 1"]);
    assert_eq!(meet("A", "C"), ["X 1 1", "P 1 2"]);
    assert_eq!(meet("C", "D"), ["G 3 1"]);
    assert_eq!(meet("P", "C"), ["P 0 2"]);
    assert_eq!(meet("B", "B.1"), ["B 0 0"]);
    assert!(meet("A", "Q").is_empty());
    assert!(pedigree.common_ancestors("A", "?").is_err());
}

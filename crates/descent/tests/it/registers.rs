//! Registers of full size, and small ones of the same kinds.

use descent::{Pedigree, PedigreeBuilder};

use crate::numpy_dice::{Kind, register};
use crate::reference::json;

pub fn pedigree(rows: &[[Option<u32>; 2]]) -> Pedigree {
    let mut builder = PedigreeBuilder::with_capacity(rows.len(), 8 * rows.len());
    let name = |i: Option<u32>| i.map_or(String::new(), |i| format!("P{i:07}"));
    for (i, [seed, pollen]) in (0..).zip(rows) {
        builder.row(&name(Some(i)), &name(*seed), &name(*pollen), "").unwrap();
    }
    builder.build().unwrap()
}

/// All numbers that the reference file of a register has.
fn agrees(case: &str, n: u32, kind: Kind) {
    let reference = json(case);
    let expected = &reference["expected"];
    let number = |key: &str| expected[key].as_f64().unwrap();
    let tolerance = reference["tolerance"]["abs"].as_f64().unwrap();
    let rows = register(n, kind);
    let selfed = rows.iter().filter(|[s, p]| s.is_some() && s == p).count();
    let unknown = rows.iter().filter(|[s, p]| s.is_some() && p.is_none()).count();
    assert_eq!(selfed as u64, reference["inputs"]["selfed"].as_u64().unwrap());
    assert_eq!(unknown as u64, reference["inputs"]["unknown_pollen"].as_u64().unwrap());
    let pedigree = pedigree(&rows);
    let all = pedigree.all_inbreeding();
    let sum: f64 = all.iter().sum();
    assert!(
        (sum / number("sum_F") - 1.0).abs() <= reference["tolerance"]["sum_rel"].as_f64().unwrap()
    );
    let most = all.iter().copied().fold(0.0, f64::max);
    assert!((most - number("max_F")).abs() <= tolerance, "{most}");
    assert_eq!(
        all.iter().filter(|f| **f > 0.0).count() as u64,
        expected["n_F_gt_0"].as_u64().unwrap()
    );
    let at = expected["F_at"].as_object().unwrap();
    assert!(at.len() >= 150);
    for (id, f) in at {
        let i: usize = id[1..].parse().unwrap();
        assert!((all[i] - f.as_f64().unwrap()).abs() <= tolerance, "{id}: {}", all[i]);
    }
}

fn long() -> bool {
    std::env::var_os("UMBEL_LONG").is_some()
}

#[test]
fn fifty_thousand_bred_at_random() {
    if long() {
        agrees("bench_50k_broad", 50_000, Kind::Broad);
    }
}

#[test]
fn a_million_of_a_nursery() {
    if long() {
        agrees("bench_1m_nursery", 1_000_000, Kind::Nursery);
    }
}

/// Kinship found pair by pair, by columns, and as the inbreeding of a seedling, is the same.
#[test]
fn three_ways_agree_on_registers() {
    for kind in [Kind::Nursery, Kind::Broad] {
        let rows = register(3_000, kind);
        let mut more = rows.clone();
        let pairs: Vec<[u32; 2]> = (0..120).map(|i| [2_999 - 7 * i, 2_990 - 11 * i]).collect();
        more.extend(pairs.iter().map(|p| p.map(Some)));
        let with_seedlings = pedigree(&more).all_inbreeding();
        let pedigree = pedigree(&rows);
        let names: Vec<(String, String)> =
            pairs.iter().map(|[a, b]| (format!("P{a:07}"), format!("P{b:07}"))).collect();
        let at_once = pedigree.kinships(&names).unwrap();
        assert!(at_once.iter().any(|k| *k > 0.01));
        for (i, (a, b)) in names.iter().enumerate() {
            // Sums of binary fractions over some forty generations.
            let one = pedigree.kinship(a, b).unwrap();
            assert!((one - at_once[i]).abs() < 1e-12);
            assert!((with_seedlings[3_000 + i] - at_once[i]).abs() < 1e-12);
        }
    }
}

/// The order of rows decides how wide the front is, and nothing else.
#[test]
fn a_register_from_its_end_to_its_beginning() {
    for kind in [Kind::Nursery, Kind::Broad] {
        let rows = register(4_000, kind);
        let forward = pedigree(&rows).all_inbreeding();
        let mut builder = PedigreeBuilder::new();
        let name = |i: Option<u32>| i.map_or(String::new(), |i| format!("P{i:07}"));
        for (i, [seed, pollen]) in rows.iter().enumerate().rev() {
            builder.row(&name(Some(i as u32)), &name(*seed), &name(*pollen), "").unwrap();
        }
        let backward = builder.build().unwrap().all_inbreeding();
        for (a, b) in forward.iter().zip(backward.iter().rev()) {
            assert!((a - b).abs() < 1e-12);
        }
    }
}

//! Agreement with published and independently computed pedigrees.

use descent::{Draws, Gametes, Pedigree, PedigreeBuilder};
use serde_json::Value;

fn path(file: &str) -> String {
    format!("{}/tests/data/{file}", env!("CARGO_MANIFEST_DIR"))
}

pub fn json(case: &str) -> Value {
    let text = std::fs::read_to_string(path(&format!("{case}.json"))).unwrap();
    serde_json::from_str(&text).unwrap()
}

/// The tolerance is the one that the reference file states: 1e-10 for tables, 1e-9 for the
/// random pedigrees.
fn tolerance(case: &Value) -> f64 {
    case["tolerance"]["abs"].as_f64().unwrap()
}

pub fn pedigree(case: &str) -> Pedigree {
    let mut reader = csv::Reader::from_path(path(&format!("{case}.csv"))).unwrap();
    let header = reader.headers().unwrap().clone();
    let at = |name: &str| header.iter().position(|h| h == name);
    let mut rows = PedigreeBuilder::new();
    for r in reader.records() {
        let r = r.unwrap();
        let cell = |name: &str| at(name).map_or("", |i| &r[i]);
        rows.row(cell("id"), cell("seed_parent"), cell("pollen_parent"), cell("clone_of")).unwrap();
        if at("tau_seed").is_some() {
            let copies = ["tau_seed", "tau_pollen"].map(|c| cell(c).parse().unwrap());
            let double_reduction =
                ["lambda_seed", "lambda_pollen"].map(|c| cell(c).parse().unwrap());
            rows.gametes(Gametes { copies, double_reduction }).unwrap();
        }
    }
    rows.build().unwrap()
}

fn near(actual: f64, expected: f64, tolerance: f64, what: &str) {
    assert!((actual - expected).abs() <= tolerance, "{what}: {actual} is not {expected}");
}

fn matrix_case(case: &str) {
    let reference = json(case);
    let pedigree = pedigree(case);
    let tolerance = tolerance(&reference);
    let ids: Vec<&str> = reference["inputs"]["ids"]
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_str().unwrap())
        .collect();
    let kinship = reference["expected"]["kinship"].as_array().unwrap();
    assert_eq!(kinship.len(), ids.len());
    for (i, a) in ids.iter().enumerate() {
        let column = pedigree.kinship_with_all(a).unwrap();
        for (j, b) in ids.iter().enumerate() {
            let expected = kinship[i][j].as_f64().unwrap();
            let what = format!("{case} {a} {b}");
            near(pedigree.kinship(a, b).unwrap(), expected, tolerance, &what);
            let k = pedigree.ids().position(|id| id == *b).unwrap();
            near(column[k], expected, tolerance, &what);
            for table in ["A", "relationship"] {
                if let Some(a_ij) = reference["expected"].get(table) {
                    let expected = a_ij[i][j].as_f64().unwrap();
                    near(pedigree.relationship(a, b).unwrap(), expected, tolerance, &what);
                }
            }
        }
    }
    if let Some(ploidy) = reference["expected"]["ploidy"].as_object() {
        for (id, k) in ploidy {
            let found = pedigree.gametes(id).unwrap().ploidy();
            assert_eq!(u64::from(found), k.as_u64().unwrap(), "{id}");
        }
    }
    inbreeding_case(case);
}

fn inbreeding_case(case: &str) {
    let reference = json(case);
    let pedigree = pedigree(case);
    let expected = reference["expected"]["F"].as_object().unwrap();
    assert!(!expected.is_empty());
    for (id, f) in expected {
        let actual = pedigree.inbreeding(id).unwrap();
        near(actual, f.as_f64().unwrap(), tolerance(&reference), &format!("{case} F {id}"));
    }
}

#[test]
fn textbook_matings() {
    matrix_case("textbook_matings");
}

#[test]
fn mrode_example_2_1() {
    matrix_case("mrode_2_1");
}

#[test]
fn repeated_full_sib_mating() {
    matrix_case("fullsib_series");
}

#[test]
fn repeated_selfing() {
    matrix_case("selfing_series");
}

#[test]
fn clones() {
    matrix_case("clones_small");
}

#[test]
fn clones_leave_the_rank_of_their_genets() {
    // The number of clones is the rank of the matrix with all pieces as rows.
    let rank = json("clones_small")["expected"]["A_rank"].as_u64().unwrap();
    assert_eq!(pedigree("clones_small").clones() as u64, rank);
}

#[test]
fn mrode_example_3_1() {
    matrix_case("mrode_3_1_pedigree");
}

#[test]
fn tetraploids() {
    matrix_case("tetraploid_small");
    matrix_case("tetraploid_selfing_lambda_0p000");
    matrix_case("tetraploid_selfing_lambda_0p167");
}

#[test]
fn diploids_tetraploids_and_unreduced_gametes() {
    matrix_case("mixed_ploidy_small");
}

#[test]
fn rows_out_of_order() {
    inbreeding_case("out_of_order_30");
}

fn random_case(case: &str, pairs: Option<&str>) {
    let reference = json(case);
    let tolerance = tolerance(&reference);
    let pedigree = pedigree(case);
    let all = pedigree.all_inbreeding();
    let ids: Vec<&str> = pedigree.ids().collect();
    let mut count = 0;
    for r in csv::Reader::from_path(path(&format!("{case}_F.csv"))).unwrap().records() {
        let r = r.unwrap();
        let i = ids.iter().position(|id| *id == &r[0]).unwrap();
        near(all[i], r[1].parse().unwrap(), tolerance, &format!("{case} F {}", &r[0]));
        count += 1;
    }
    assert_eq!(count, ids.len());
    let trace: f64 = all.iter().map(|f| 1.0 + f).sum();
    near(trace, reference["expected"]["trace_A"].as_f64().unwrap(), 1e-6, "trace");
    let inbred = all.iter().filter(|f| **f > 0.0).count() as u64;
    assert_eq!(inbred, reference["expected"]["n_inbred"].as_u64().unwrap());
    let draws = Draws { number: 2, seed: 1 };
    let mean = pedigree.diversity(&ids, draws).unwrap().mean_kinship;
    let expected = reference["expected"]["mean_kinship_incl_self"].as_f64().unwrap();
    near(mean, expected, tolerance, "mean kinship");
    let Some(pairs) = pairs else { return };
    let mut count = 0;
    for r in csv::Reader::from_path(path(pairs)).unwrap().records() {
        let r = r.unwrap();
        let k = pedigree.kinship(&r[0], &r[1]).unwrap();
        near(k, r[2].parse().unwrap(), tolerance, &format!("{case} {} {}", &r[0], &r[1]));
        count += 1;
    }
    assert!(count > 1000);
}

#[test]
fn random_50() {
    random_case("random_50", None);
    let pedigree = pedigree("random_50");
    let mut reader = csv::Reader::from_path(path("random_50_kinship.csv")).unwrap();
    let heads = reader.headers().unwrap().clone();
    for r in reader.records() {
        let r = r.unwrap();
        for (head, cell) in heads.iter().zip(&r).skip(1) {
            let k = pedigree.kinship(&r[0], head).unwrap();
            near(k, cell.parse().unwrap(), 1e-9, &format!("{} {head}", &r[0]));
        }
    }
}

#[test]
fn random_500() {
    random_case("random_500", Some("random_500_pairs.csv"));
}

#[test]
fn random_2000() {
    random_case("random_2000", Some("random_2000_pairs.csv"));
}

#[test]
fn inverse_of_mrode_example_2_1() {
    let reference = json("mrode_2_1_Ainv");
    let pedigree = pedigree("mrode_2_1");
    let inverse = pedigree.inverse().unwrap();
    let mut expected = csv::Reader::from_path(path("mrode_2_1_Ainv.csv")).unwrap();
    let expected: Vec<csv::StringRecord> = expected.records().map(Result::unwrap).collect();
    assert_eq!(inverse.len(), expected.len());
    for (entry, r) in inverse.iter().zip(&expected) {
        assert_eq!((entry.a.as_str(), entry.b.as_str()), (&r[0], &r[1]));
        near(entry.value, r[2].parse().unwrap(), tolerance(&reference), &format!("{entry:?}"));
    }
    let log = reference["expected"]["logdet_A"].as_f64().unwrap();
    near(pedigree.log_determinant().unwrap(), log, tolerance(&reference), "log determinant");
}

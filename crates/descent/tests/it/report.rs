//! The serialisable answer.

use descent::{Individual, Parent, Pedigree, ReportOptions, report};
use serde_json::json;

fn pedigree() -> Pedigree {
    let open = Individual { seed_parent: Parent::Known("B".into()), ..Individual::founder("C") };
    Pedigree::new(vec![Individual::seedling("B", "A", "A"), open, Individual::founder("A")])
        .unwrap()
}

#[test]
fn only_what_is_asked_for() {
    let out = report(&pedigree(), &ReportOptions::default()).unwrap();
    assert_eq!(
        serde_json::to_value(out).unwrap(),
        json!({"individuals": [
            {"id": "B", "inbreeding": 0.5, "self_kinship": 0.75},
            {"id": "C", "inbreeding": 0.0, "self_kinship": 0.5},
            {"id": "A", "inbreeding": 0.0, "self_kinship": 0.5},
        ]})
    );
}

#[test]
fn everything() {
    let options = ReportOptions {
        pairs: vec![("A".into(), "C".into())],
        all_pairs: false,
        inverse: true,
        founders: true,
        only: Some(vec!["C".into()]),
        ..ReportOptions::default()
    };
    let out = report(&pedigree(), &options).unwrap();
    assert_eq!(
        serde_json::to_value(out).unwrap(),
        json!({
            "individuals": [{"id": "C", "inbreeding": 0.0, "self_kinship": 0.5, "founders": [
                {"founder": "A", "share": 0.5, "fraction": "1/2"},
                {"founder": "?C:pollen", "share": 0.5, "fraction": "1/2"},
            ]}],
            "pairs": [{"a": "A", "b": "C", "kinship": 0.25}],
            // By hand: A = [[1,1,.5],[1,1.5,.75],[.5,.75,1]] for A, B, C.
            "inverse": [
                {"a": "B", "b": "B", "value": 2.0 + 0.25 / 0.625},
                {"a": "C", "b": "B", "value": -0.5 / 0.625},
                {"a": "C", "b": "C", "value": 1.0 / 0.625},
                {"a": "A", "b": "B", "value": -2.0},
                {"a": "A", "b": "A", "value": 3.0},
            ]
        })
    );
}

#[test]
fn all_pairs_hold_each_pair_once_and_each_with_itself() {
    let options = ReportOptions { all_pairs: true, ..ReportOptions::default() };
    let pairs = report(&pedigree(), &options).unwrap().pairs.unwrap();
    assert_eq!(pairs.len(), 6);
    assert_eq!((pairs[0].a.as_str(), pairs[0].b.as_str(), pairs[0].kinship), ("B", "B", 0.75));
}

#[test]
fn an_unknown_id_is_an_error() {
    let options = ReportOptions { only: Some(vec!["Z".into()]), ..ReportOptions::default() };
    assert!(report(&pedigree(), &options).unwrap_err().to_string().contains("\"Z\""));
}

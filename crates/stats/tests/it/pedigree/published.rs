//! Worked examples of handbooks, and reference values.

use std::collections::HashMap;

use stats::{
    model::{Column, Fixed, Frame, Term},
    pedigree::{Given, Options, PedigreeFit},
};

use super::{Case, inbreeding};
use crate::{json, near};

/// Individuals by name, records of a number, an individual and words.
fn case(
    pedigree: &[[&str; 3]],
    terms: &[&str],
    records: &[(&str, f64, Vec<&str>)],
    given: Given,
) -> (Case, HashMap<String, usize>) {
    let place: HashMap<String, usize> =
        pedigree.iter().enumerate().map(|(i, row)| (row[0].to_owned(), i)).collect();
    let parent = |name: &str| (!name.is_empty()).then(|| place[name] as u32);
    let parents: Vec<[Option<u32>; 2]> =
        pedigree.iter().map(|[_, s, d]| [parent(s), parent(d)]).collect();
    let mut frame = Frame::new(records.len());
    for (k, term) in terms.iter().enumerate() {
        let words = records.iter().map(|r| r.2[k].to_owned()).collect();
        frame = frame.with(*term, Column::Words(words)).unwrap();
    }
    let individual: Vec<u32> = records.iter().map(|r| place[r.0] as u32).collect();
    let case = Case {
        inbreeding: inbreeding(&parents),
        parents,
        response: records.iter().map(|r| r.1).collect(),
        fixed: Fixed::build(&frame, &Term::read_all(terms).unwrap()).unwrap(),
        permanent: (given.permanent > 0.0).then(|| individual.clone()),
        individual,
        weights: None,
        given,
    };
    (case, place)
}

const CALVES: [[&str; 3]; 8] = [
    ["1", "", ""],
    ["2", "", ""],
    ["3", "", ""],
    ["4", "1", ""],
    ["5", "3", "2"],
    ["6", "1", "2"],
    ["7", "4", "5"],
    ["8", "3", "6"],
];

#[test]
fn gain_before_weaning() {
    // Mrode, Linear models for the prediction of animal breeding values, example 3.1 (from memory).
    let records = [
        ("4", 4.5, vec!["M"]),
        ("5", 2.9, vec!["F"]),
        ("6", 3.9, vec!["F"]),
        ("7", 3.5, vec!["M"]),
        ("8", 5.0, vec!["M"]),
    ];
    let given = Given { additive: 20.0, permanent: 0.0, residual: 40.0 };
    let (case, place) = case(&CALVES, &["sex"], &records, given);
    let found = case.fit(Options::default());
    let reference = json("mrode_3_1.json");
    let expected = |key: &str, id: &str| reference["expected"][key][id].as_f64().unwrap();
    near(found.terms[0].estimate, 3.404, 6e-4, "printed, females");
    near(found.terms[0].estimate + found.terms[1].estimate, 4.358, 7e-4, "printed, males");
    for (id, at) in &place {
        let e = found.additive[*at];
        near(e.estimate, expected("published", id), 6e-4, "printed");
        near(e.estimate, expected("full_precision", id), 1e-8, "effect");
        near(e.pev.unwrap(), expected("PEV", id), 1e-8, "prediction error variance");
        near(e.reliability.unwrap(), expected("reliability", id), 1e-8, "reliability");
    }
}

#[test]
fn the_same_gains_by_their_sires() {
    // The same book, example 3.2 (from memory): the sire model, ratio of variances 11.
    let records = [
        ("1", 4.5, vec!["M"]),
        ("3", 2.9, vec!["F"]),
        ("1", 3.9, vec!["F"]),
        ("4", 3.5, vec!["M"]),
        ("3", 5.0, vec!["M"]),
    ];
    let sires = [["1", "", ""], ["3", "", ""], ["4", "1", ""]];
    let given = Given { additive: 5.0, permanent: 0.0, residual: 55.0 };
    let (case, _) = case(&sires, &["sex"], &records, given);
    let found = case.fit(Options::default());
    for (e, printed) in found.additive.iter().zip([0.022, 0.014, -0.043]) {
        near(e.estimate, printed, 6e-4, "printed");
    }
    near(found.terms[0].estimate, 3.382, 6e-4, "printed, females");
    near(found.terms[0].estimate + found.terms[1].estimate, 4.336, 7e-4, "printed, males");
}

#[test]
fn two_lactations_of_five_cows() {
    // The same book, example 4.1 (from memory): fat in two parities, herds and years as fixed
    // effects, variances 20, 12 and 28. Which second records share a herd-year was not remembered
    // but found from the printed solutions: all thirteen and the four sums of fixed effects agree.
    let cows = [
        ["1", "", ""],
        ["2", "", ""],
        ["3", "", ""],
        ["4", "1", "2"],
        ["5", "3", "2"],
        ["6", "1", "5"],
        ["7", "3", "4"],
        ["8", "1", "7"],
    ];
    let records = [
        ("4", 201.0, vec!["1", "1"]),
        ("4", 280.0, vec!["2", "4"]),
        ("5", 150.0, vec!["1", "1"]),
        ("5", 200.0, vec!["2", "3"]),
        ("6", 160.0, vec!["1", "2"]),
        ("6", 190.0, vec!["2", "4"]),
        ("7", 180.0, vec!["1", "1"]),
        ("7", 250.0, vec!["2", "4"]),
        ("8", 285.0, vec!["1", "2"]),
        ("8", 300.0, vec!["2", "3"]),
    ];
    let given = Given { additive: 20.0, permanent: 12.0, residual: 28.0 };
    // Parity and herd-year are confounded but for one contrast: herd-years alone span the same.
    let records: Vec<(&str, f64, Vec<&str>)> =
        records.into_iter().map(|(id, y, words)| (id, y, vec![words[1]])).collect();
    let (case, place) = case(&cows, &["herd_year"], &records, given);
    let found = case.fit(Options::default());
    let printed = [10.148, -3.084, -7.063, 13.581, -18.207, -18.387, 9.328, 24.194];
    for (e, printed) in found.additive.iter().zip(printed) {
        near(e.estimate, printed, 6e-4, "printed");
    }
    // Parity and herd-year: 175.472, 175.472 + 44.065, 241.893 + 0.013 and 241.893.
    let first = found.terms[0].estimate;
    for (t, printed) in found.terms.iter().zip([175.472, 219.537, 241.906, 241.893]) {
        let level = if t.coefficient.level.is_some() { first + t.estimate } else { first };
        near(level, printed, 1.1e-3, "printed, fixed");
    }
    for (id, printed) in [("4", 8.417), ("5", -7.146), ("6", -17.229), ("7", -1.390), ("8", 17.347)]
    {
        near(found.permanent[place[id]].estimate, printed, 6e-4, "printed, lasting");
    }
}

/// A simulated pedigree of the reference files.
fn simulated(name: &str, given: Given) -> (PedigreeFit, Case) {
    let read = |file: String| -> Vec<csv::StringRecord> {
        csv::Reader::from_path(crate::path(&file)).unwrap().records().map(Result::unwrap).collect()
    };
    let pedigree = read(format!("{name}_pedigree.csv"));
    let rows: Vec<[&str; 3]> = pedigree.iter().map(|r| [&r[0], &r[1], &r[2]]).collect();
    let file = format!("{name}_records.csv");
    let header = csv::Reader::from_path(crate::path(&file)).unwrap().headers().unwrap().clone();
    let at = |column: &str| header.iter().position(|h| h == column).unwrap();
    let (id, y, season, bench) = (at("id"), at("y"), at("season"), at("bench"));
    let table = read(file);
    let records: Vec<(&str, f64, Vec<&str>)> = table
        .iter()
        .map(|r| (&r[id], r[y].parse().unwrap(), vec![&r[season], &r[bench]]))
        .collect();
    let (case, place) = case(&rows, &["season", "bench"], &records, given);
    let found = case.fit(Options::default());
    let values = read(format!("{name}_bv.csv"));
    assert_eq!(values.len(), rows.len());
    for r in values {
        let e = found.additive[place[&r[0]]];
        let number = |k: usize| r[k].parse::<f64>().unwrap();
        near(e.estimate, number(1), 1e-9, "effect");
        near(e.pev.unwrap(), number(2), 1e-9, "prediction error variance");
        near(e.reliability.unwrap(), number(3), 1e-9, "reliability");
    }
    (found, case)
}

#[test]
fn simulated_pedigrees() {
    // Dense equations in numpy, to 1e-6; the tolerance here is closer.
    simulated("animal_single_60", Given { additive: 4.0, permanent: 0.0, residual: 6.0 });
    let given = Given { additive: 4.0, permanent: 1.5, residual: 5.0 };
    let (found, _) = simulated("animal_repeat_120", given);
    let expected = &json("animal_repeat_120.json")["expected"];
    let fixed = expected["fixed"]["intercept"].as_f64().unwrap();
    near(found.terms[0].estimate, fixed, 1e-9, "intercept");
    let lasting: f64 = expected["permanent_env"]
        .as_object()
        .unwrap()
        .values()
        .map(|v| v.as_f64().unwrap().abs())
        .sum();
    // All of them, by their size: the numbers of the groups are not their names.
    near(found.permanent.iter().map(|e| e.estimate.abs()).sum(), lasting, 1e-7, "lasting effects");
}

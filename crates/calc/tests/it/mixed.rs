//! `umbel calc mixed`.

use serde_json::Value;

use crate::support::{Desk, bad, good};

/// A reference file of the calculators.
fn reference(name: &str) -> String {
    format!("{}/../stats/tests/data/{name}", env!("CARGO_MANIFEST_DIR"))
}

fn json(name: &str) -> Value {
    serde_json::from_str(&std::fs::read_to_string(reference(name)).unwrap()).unwrap()
}

fn near(actual: &Value, expected: f64, tolerance: f64, what: &str) {
    let a = actual.as_f64().unwrap_or_else(|| panic!("{what}: {actual}"));
    assert!((a - expected).abs() <= tolerance, "{what}: {a} is not {expected}");
}

fn of<'a>(list: &'a Value, key: &str, name: &str) -> &'a Value {
    list.as_array().unwrap().iter().find(|v| v[key] == name).unwrap()
}

fn effect<'a>(found: &'a Value, group: &str, level: &str) -> &'a Value {
    let levels = found["levels"].as_array().unwrap();
    levels.iter().find(|l| l["group"] == group && l["level"] == level).unwrap()
}

#[test]
fn sleep_with_slopes() {
    let file = reference("sleepstudy.csv");
    let found = good(&[
        "mixed",
        &file,
        "--response",
        "Reaction",
        "--terms",
        "Days",
        "--random",
        "Days|Subject",
        "--test",
    ]);
    let (value, expected) = (found.value(), &json("lme4_sleepstudy_slope.json")["expected"]);
    near(
        &value["terms"][0]["estimate"],
        expected["fixef"]["(Intercept)"].as_f64().unwrap(),
        1e-3,
        "b",
    );
    near(&value["terms"][1]["se"], expected["fixef_se"]["Days"].as_f64().unwrap(), 1e-3, "se");
    let criterion = expected["reml_criterion"].as_f64().unwrap();
    near(&value["log_restricted_likelihood"], -0.5 * criterion, 1e-3, "log-likelihood");
    for c in expected["varcorr"].as_array().unwrap() {
        let vcov = c["vcov"].as_f64().unwrap();
        let tolerance = 1e-3 * (1.0 + vcov);
        match (c["group"].as_str().unwrap(), c["var1"].as_str(), c["var2"].as_str()) {
            ("Residual", ..) => near(
                &of(&value["variances"], "group", "residual")["variance"],
                vcov,
                tolerance,
                "residual",
            ),
            (_, Some("Days"), None) => near(
                &of(&value["variances"], "group", "Subject:Days")["variance"],
                vcov,
                tolerance,
                "slopes",
            ),
            (_, Some(_), None) => near(
                &of(&value["variances"], "group", "Subject")["variance"],
                vcov,
                tolerance,
                "intercepts",
            ),
            _ => near(
                &of(&value["covariances"], "group", "Subject")["covariance"],
                vcov,
                tolerance,
                "covariance",
            ),
        }
    }
    assert_eq!(value["levels"].as_array().unwrap().len(), 36);
    assert_eq!(found.table.rows.len(), 36);
    // lme4's criteria with and without slopes.
    let without = &json("lme4_sleepstudy_intercept.json")["expected"]["reml_criterion"];
    let without = without.as_f64().unwrap();
    near(&value["tests"][0]["chi_square"], without - criterion, 1e-3, "test");
}

#[test]
fn a_variance_of_zero_has_no_error() {
    let file = reference("halfsib_balanced.csv");
    let found = good(&["mixed", &file, "--response", "y", "--random", "pollen_parent"]);
    let family = &found.value()["variances"][0];
    assert_eq!((&family["variance"], &family["boundary"]), (&0.0.into(), &true.into()));
    assert!(family["se"].is_null());
    near(&found.value()["variances"][1]["variance"], 4.81121800778509, 5e-3, "residual");
}

#[test]
fn breeding_values_of_a_handbook() {
    let (file, parents) = (reference("mrode_3_1_records.csv"), reference("mrode_3_1_pedigree.csv"));
    let found = good(&[
        "mixed",
        &file,
        "--response",
        "wwg",
        "--terms",
        "sex",
        "--pedigree",
        &parents,
        "--individual",
        "id",
        "--variances",
        "additive=20,residual=40",
    ]);
    let (value, expected) = (found.value(), &json("mrode_3_1.json")["expected"]);
    let (m, f) = (&expected["full_precision"]["M"], &expected["full_precision"]["F"]);
    let (m, f) = (m.as_f64().unwrap(), f.as_f64().unwrap());
    near(&value["terms"][0]["estimate"], f, 1e-8, "females");
    near(&value["terms"][1]["estimate"], m - f, 1e-8, "males over females");
    for id in 1..=8 {
        let id = id.to_string();
        let (mine, theirs) =
            (effect(value, "additive", &id), |key: &str| expected[key][&id].as_f64().unwrap());
        near(&mine["estimate"], theirs("full_precision"), 1e-8, &id);
        near(&mine["estimate"], theirs("published"), 6e-4, &id);
        near(&mine["pev"], theirs("PEV"), 1e-8, &id);
        near(&mine["reliability"], theirs("reliability"), 1e-8, &id);
    }
}

/// Breeding values, errors and coefficients of a simulated pedigree.
fn animals(name: &str, more: &[&str]) -> Value {
    let (file, parents) =
        (reference(&format!("{name}_records.csv")), reference(&format!("{name}_pedigree.csv")));
    let words = [
        "mixed",
        &file,
        "--response",
        "y",
        "--terms",
        "season,bench",
        "--pedigree",
        &parents,
        "--individual",
        "id",
    ];
    let found = good(&[&words[..], more].concat());
    let value = found.value().clone();
    let expected = &json(&format!("{name}.json"))["expected"];
    for t in value["terms"].as_array().unwrap() {
        let key = t["level"].as_str().unwrap_or("intercept");
        near(&t["estimate"], expected["fixed"][key].as_f64().unwrap(), 1e-6, key);
        near(&t["se"], expected["fixed_se"][key].as_f64().unwrap(), 1e-6, key);
    }
    let table = std::fs::read_to_string(reference(&format!("{name}_bv.csv"))).unwrap();
    let mut seen = 0;
    for line in table.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let mine = effect(&value, "additive", cells[0]);
        for (key, cell) in ["estimate", "pev", "reliability"].into_iter().zip(&cells[1..4]) {
            near(&mine[key], cell.parse().unwrap(), 1e-6, cells[0]);
        }
        seen += 1;
    }
    assert!(seen >= 60);
    value
}

#[test]
fn breeding_values_of_simulated_pedigrees() {
    animals("animal_single_60", &["--variances", "additive=4,residual=6"]);
    let given = "additive=4,permanent=1.5,residual=5";
    let found = animals("animal_repeat_120", &["--permanent", "--variances", given]);
    let expected = &json("animal_repeat_120.json")["expected"]["permanent_env"];
    for (id, value) in expected.as_object().unwrap() {
        near(&effect(&found, "permanent", id)["estimate"], value.as_f64().unwrap(), 1e-6, id);
    }
}

#[test]
fn variances_of_a_simulated_pedigree() {
    let (file, parents) =
        (reference("animal_repeat_120_records.csv"), reference("animal_repeat_120_pedigree.csv"));
    let found = good(&[
        "mixed",
        &file,
        "--response",
        "y",
        "--terms",
        "season,bench",
        "--pedigree",
        &parents,
        "--individual",
        "id",
        "--permanent",
    ]);
    let (value, expected) = (found.value(), &json("reml_animal_repeat_120.json")["expected"]);
    for (i, key) in ["s2a", "s2pe", "s2e"].into_iter().enumerate() {
        let v = expected[key].as_f64().unwrap();
        near(&value["variances"][i]["variance"], v, 0.002 + 0.002 * v, key);
    }
    near(
        &value["log_restricted_likelihood"],
        expected["reml_loglik"].as_f64().unwrap(),
        1e-4,
        "log-likelihood",
    );
}

#[test]
fn what_cannot_be_used_is_named_with_its_place() {
    let desk = Desk::new();
    let file = desk
        .table("t.csv", "shelf,mix,y,id\na,bark,1.5,P1\na,moss,2,P2\nb,bark,,P1\nb,moss,3.5,P9\n");
    let p = bad(&["mixed", &file, "--response", "y", "--random", "shelf"]);
    assert_eq!(p.status, 2);
    assert!(p.what.contains("row 4, column y: “” is not a number"), "{}", p.what);
    let file = desk.table("u.csv", "shelf,mix,y,id\na,bark,1.5,P1\na,moss,2,P2\nb,bark,2,5,P1\n");
    assert!(bad(&["mixed", &file, "--response", "y"]).what.contains("row 4"));
    let file = desk.table("v.csv", "shelf,mix,y,id\na,bark,1.5,P1\na,moss,two,P2\nb,bark,2,P1\n");
    let p = bad(&["mixed", &file, "--response", "y"]);
    assert!(p.what.contains("row 3, column y: “two”"), "{}", p.what);
    let file = desk.table(
        "w.csv",
        "shelf,mix,y,id\na,bark,1.5,P1\na,moss,2,P2\nb,bark,2.2,P1\nb,moss,3.5,P9\n",
    );
    let p = bad(&["mixed", &file, "--response", "yield"]);
    assert!(p.what.contains("column yield"), "{}", p.what);
    let parents = desk.table("p.csv", "id,seed_parent,pollen_parent\nP1,,\nP2,P1,\n");
    let p = bad(&["mixed", &file, "--response", "y", "--pedigree", &parents, "--individual", "id"]);
    assert!(p.what.contains("row 5, column id: “P9”"), "{}", p.what);
    let p = bad(&["mixed", &file, "--response", "y", "--individual", "id"]);
    assert!(p.next.contains("--pedigree"), "{}", p.next);
    for given in ["shelf", "shelf=", "shelf=two", "shelf=1,shelf=2", "pot=1", "shelf=-1"] {
        let p =
            bad(&["mixed", &file, "--response", "y", "--random", "shelf", "--variances", given]);
        assert_eq!(p.status, 2, "{given}");
    }
    let p = bad(&["mixed", &file, "--response", "y", "--terms", "shelf,mix,shelf:mix"]);
    assert_eq!(p.status, 2, "{}", p.what);
}

#[test]
fn what_comes_to_no_end_has_its_own_status() {
    let desk = Desk::new();
    let file = desk.table("t.csv", "g,h,y\na,A,1\na,A,1.4\nb,B,2.2\nb,B,1.9\nc,C,4\nc,C,3.1\n");
    let p = bad(&["mixed", &file, "--response", "y", "--random", "g,h"]);
    assert_eq!(p.status, 3);
    assert!(p.what.contains("do not tell the variances of g, h"), "{}", p.what);
    let file = desk.table("u.csv", "g,y\na,1\na,1\nb,5\nb,5\nc,2\nc,2\n");
    let p = bad(&["mixed", &file, "--response", "y", "--random", "g"]);
    assert_eq!(p.status, 3);
    assert!(p.what.contains("residual variance is zero"), "{}", p.what);
}

const RECORDS: &str = "id,y,m,v\nP1,1.5,2,0.5\nP2,2.5,1,1\nP3,2.25,4,0.25\nP4,4,1,1\nP1,1,1,1\n";
const PARENTS: &str = "id,seed_parent,pollen_parent\nP1,,\nP2,P1,\nP3,P1,P2\nP4,P3,P3\n";

#[test]
fn weights_and_known_variances_of_records() {
    let desk = Desk::new();
    let (file, parents) = (desk.table("t.csv", RECORDS), desk.table("p.csv", PARENTS));
    let ask = |more: &[&str]| {
        let words =
            ["mixed", &file, "--response", "y", "--pedigree", &parents, "--individual", "id"];
        good(&[&words[..], more].concat()).value().clone()
    };
    // The weights are 1 over the variances, so that a residual variance of 1 says the same.
    let a = ask(&["--weight", "m", "--variances", "additive=1.5,residual=1"]);
    let b = ask(&["--record-variance", "v", "--variances", "additive=1.5"]);
    assert_eq!(a["levels"], b["levels"]);
    assert_eq!(a["terms"], b["terms"]);
    let plain = ask(&["--variances", "additive=1.5,residual=1"]);
    assert_ne!(a["levels"], plain["levels"]);
    for id in ["P1", "P2", "P3", "P4"] {
        let r = effect(&a, "additive", id)["reliability"].as_f64().unwrap();
        assert!((0.0..=1.0).contains(&r));
    }
}

#[test]
fn how_often_each_is_the_best() {
    let desk = Desk::new();
    let (file, parents) = (desk.table("t.csv", RECORDS), desk.table("p.csv", PARENTS));
    let words = [
        "mixed",
        &file,
        "--response",
        "y",
        "--pedigree",
        &parents,
        "--individual",
        "id",
        "--permanent",
        "--variances",
        "additive=1.5,permanent=0.5,residual=1",
        "--draws",
        "500",
    ];
    let found = good(&words);
    for group in ["additive", "permanent"] {
        let levels = found.value()["levels"].as_array().unwrap();
        let chances = levels.iter().filter(|l| l["group"] == group);
        let sum: f64 = chances.map(|l| l["chance_best"].as_f64().unwrap()).sum();
        assert!((sum - 1.0).abs() < 1e-9, "{group}: {sum}");
    }
    assert_eq!(found, good(&words));
    let other = good(&[&words[..], &["--seed", "2"]].concat());
    assert_ne!(found.value()["levels"], other.value()["levels"]);
    // The general model draws as well.
    let dyes = reference("dyestuff.csv");
    let found =
        good(&["mixed", &dyes, "--response", "Yield", "--random", "Batch", "--draws", "500"]);
    let levels = found.value()["levels"].as_array().unwrap();
    let best = levels.iter().max_by(|a, b| {
        a["chance_best"].as_f64().unwrap().total_cmp(&b["chance_best"].as_f64().unwrap())
    });
    // Batch E has the highest mean of the six (1600).
    assert_eq!(best.unwrap()["level"], "E");
}

#[test]
fn a_pedigree_with_pieces_and_the_way_of_the_general_model() {
    let desk = Desk::new();
    let parents = desk.table(
        "p.csv",
        "id,seed_parent,pollen_parent,clone_of\nA,,,\nB,,,\nC,A,B,\nC2,,,C\nD,C2,B,\nE,D,,\n",
    );
    let file = desk.table(
        "t.csv",
        "id,y,shelf\nC,5,r\nC2,4,s\nD,6,r\nE,3.5,s\nA,4.5,r\nB,2,s\nC2,5.5,r\nE,4,r\n",
    );
    let words = [
        "mixed",
        &file,
        "--response",
        "y",
        "--pedigree",
        &parents,
        "--individual",
        "id",
        "--permanent",
    ];
    let given = "additive=2,permanent=0.5,residual=1";
    let quick = good(&[&words[..], &["--variances", given]].concat());
    // A further term without variance sends the same question to the general model.
    let slow = [
        &words[..],
        &["--random", "shelf", "--variances", "additive=2,permanent=0.5,residual=1,shelf=0"],
    ];
    let slow = good(&slow.concat());
    for l in quick.value()["levels"].as_array().unwrap() {
        let (group, level) = (l["group"].as_str().unwrap(), l["level"].as_str().unwrap());
        let other = effect(slow.value(), group, level);
        for key in ["estimate", "pev", "conditional_sd", "reliability"] {
            near(&l[key], other[key].as_f64().unwrap(), 1e-9, level);
        }
    }
    near(
        &quick.value()["log_restricted_likelihood"],
        slow.value()["log_restricted_likelihood"].as_f64().unwrap(),
        1e-9,
        "log-likelihood",
    );
    // Pieces are one individual with two lasting effects.
    let count = |group: &str| {
        let levels = quick.value()["levels"].as_array().unwrap();
        levels.iter().filter(|l| l["group"] == group).count()
    };
    assert_eq!((count("additive"), count("permanent")), (5, 6));
    assert!(quick.value()["residual"].as_f64().unwrap() < 1e-10);
}

#[test]
fn what_cannot_be_used_of_a_pedigree_is_named() {
    let desk = Desk::new();
    let (file, parents) = (desk.table("t.csv", RECORDS), desk.table("p.csv", PARENTS));
    let ask = |parents: &str, more: &[&str]| {
        let words =
            ["mixed", &file, "--response", "y", "--pedigree", parents, "--individual", "id"];
        bad(&[&words[..], more].concat())
    };
    for (more, part) in [
        (&["--variances", "additive=-1,residual=1"][..], "additive = -1"),
        (&["--variances", "additive=1,residual=0"], "residual = 0"),
        (&["--variances", "additive=1,residual=1,permanent=1"], "no variance permanent"),
        (&["--variances", "additive=one,residual=1"], "not NAME=NUMBER"),
        (
            &["--variances", "additive=1,residual=1", "--weight", "id"],
            "column id: “P1” is not a number",
        ),
        (&["--variances", "additive=1", "--record-variance", "none"], "column none"),
        (&["--variances", "additive=1,residual=2", "--record-variance", "v"], "--record-variance"),
        (&["--draws", "0"], "0"),
        (&["--weight", "m", "--record-variance", "v"], "cannot be used with"),
        (&["--terms", "y2", "--variances", "additive=1,residual=1"], "column y2"),
        (&["--terms", "m,v,id", "--variances", "additive=1,residual=1"], ""),
    ] {
        let p = ask(&parents, more);
        assert_eq!(p.status, 2, "{more:?}");
        assert!(p.what.contains(part), "{more:?}: {}", p.what);
    }
    let zero = desk.table("z.csv", &RECORDS.replace("P4,4,1,1", "P4,4,0,-2"));
    for (option, value) in [("--weight", "“0”"), ("--record-variance", "“-2”")] {
        let words = [
            "mixed",
            &zero,
            "--response",
            "y",
            "--pedigree",
            &parents,
            "--individual",
            "id",
            option,
            if option == "--weight" { "m" } else { "v" },
            "--variances",
            "additive=1",
        ];
        let p = bad(&words);
        assert!(p.what.contains("row 5") && p.what.contains(value), "{}", p.what);
    }
    let head = "id,seed_parent,pollen_parent\n";
    for (text, part) in [
        ("P1,P2,\nP2,P1,\nP3,,\nP4,,\n", "P1"),
        ("P1,,\nP2,P1,\nP3,P1,P2\n", "row 5, column id: “P4”"),
        ("P1,,\nP1,,\n", "P1"),
        (",,\n", "“” is not an id"),
    ] {
        let odd = desk.table("odd.csv", &format!("{head}{text}"));
        let p = ask(&odd, &["--variances", "additive=1,residual=1"]);
        assert_eq!(p.status, 2, "{text}");
        assert!(p.what.contains(part), "{text}: {}", p.what);
    }
    let p = ask("nowhere.csv", &["--variances", "additive=1,residual=1"]);
    assert!(p.what.contains("nowhere.csv"), "{}", p.what);
}

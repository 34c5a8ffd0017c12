//! `umbel calc success`.

use serde_json::Value;

use crate::support::{Desk, bad, good};

/// A reference table of the calculators.
fn reference(name: &str) -> String {
    format!("{}/../stats/tests/data/{name}", env!("CARGO_MANIFEST_DIR"))
}

fn near(actual: &Value, expected: &Value, tolerance: f64) {
    let (a, e) = (actual.as_f64().unwrap(), expected.as_f64().unwrap());
    assert!((a - e).abs() <= tolerance, "{a} is not {e}");
}

#[test]
fn crossed_parents_as_the_reference_has_them() {
    let file = reference("gca_crossed_open.csv");
    let found = good(&[
        "success",
        &file,
        "--successes",
        "fruit",
        "--trials",
        "pollinations",
        "--terms",
        "humid",
        "--random",
        "seed_parent,pollen_parent",
    ]);
    let text = std::fs::read_to_string(reference("gca_crossed_open.json")).unwrap();
    let expected: Value = serde_json::from_str(&text).unwrap();
    let (found, expected) = (found.value(), &expected["expected"]);
    for (i, name) in ["(Intercept)", "humid"].iter().enumerate() {
        near(&found["terms"][i]["estimate"], &expected["fixef"][name], 0.003);
        near(&found["terms"][i]["se"], &expected["fixef_se"][name], 0.003);
    }
    assert_eq!(found["terms"][0]["term"], "(intercept)");
    for (i, group) in ["seed_parent", "pollen_parent"].iter().enumerate() {
        assert_eq!(found["random"][i]["group"], *group);
        near(&found["random"][i]["sd"], &expected["re_sd"][group], 0.003);
        let levels = expected["ranef"][group].as_array().unwrap();
        for (l, level) in levels.iter().enumerate() {
            let mine = &found["random"][i]["levels"][l];
            assert_eq!(mine["level"], level["level"]);
            near(&mine["estimate"], &level["mode"], 0.003);
            near(&mine["se"], &level["cond_sd"], 0.003);
        }
    }
    near(&found["log_likelihood"], &expected["logLik"], 0.002);
}

#[test]
fn numbers_that_name_periods_and_nine_nodes() {
    let file = reference("cbpp.csv");
    let words = ["success", &file, "--successes", "incidence", "--trials", "size"];
    let with = |more: &[&str]| good(&[&words[..], more].concat());
    let found = with(&["--terms", "factor(period)", "--random", "herd", "--quadrature", "9"]);
    let text = std::fs::read_to_string(reference("cbpp_nagq9.json")).unwrap();
    let expected: Value = serde_json::from_str(&text).unwrap();
    let value = found.value();
    assert_eq!(value["terms"][1]["level"], "2");
    near(&value["terms"][1]["estimate"], &expected["expected"]["fixef"]["period2"], 0.002);
    near(&value["terms"][1]["se"], &expected["expected"]["fixef_se"]["period2"], 0.002);
    near(&value["log_likelihood"], &expected["expected"]["logLik"], 0.001);
    // The same table as lines: 4 coefficients, a spread, 15 herds.
    assert_eq!(found.table.rows.len(), 20);
    let spread = with(&["--terms", "factor(period)", "--random", "herd", "--overdispersion"]);
    assert_eq!(spread.value()["random"][1]["group"], "(row)");
    assert_eq!(spread.value()["random"][1]["levels"].as_array().unwrap().len(), 56);
    assert!(spread.value()["random"][1]["test"]["p"].as_f64().unwrap() <= 1.0);
}

#[test]
fn a_spread_of_none_is_called_so() {
    let desk = Desk::new();
    let file =
        desk.table("t.csv", "shelf,successes,trials\na,3,8\na,4,8\nb,4,8\nb,3,8\nc,3,8\nc,4,8\n");
    let found = good(&["success", &file, "--random", "shelf"]);
    let spread = &found.value()["random"][0];
    assert_eq!(spread["boundary"], true);
    assert_eq!(spread["sd"], 0.0);
    assert_eq!(spread["se"], Value::Null);
    assert_eq!(spread["levels"][0]["se"], Value::Null);
}

#[test]
fn rates_of_other_rows_with_and_without_a_prior() {
    let desk = Desk::new();
    let file = desk.table(
        "t.csv",
        "clone,mix,rooted,taken\nMira,bark,3,8\nMira,moss,5,8\nNils,bark,1,6\nNils,moss,4,6\n\
         Olga,bark,2,9\nOlga,moss,6,9\nPaul,bark,4,7\nPaul,moss,6,7\n",
    );
    let new = desk.table("n.csv", "clone,mix,taken\nMira,moss,10\nQueenie,bark,10\n");
    let words = [
        "success",
        &file,
        "--successes",
        "rooted",
        "--trials",
        "taken",
        "--terms",
        "mix",
        "--random",
        "clone",
        "--predict",
        &new,
        "--confidence",
        "0.8",
    ];
    let plain = good(&words);
    let prior = desk.table(
        "p.json",
        r#"{"coefficients": [{"term": "mix", "level": "moss", "mean": 0, "sd": 1}],
            "random": [{"group": "clone", "half_normal": {"scale": 0.7}}]}"#,
    );
    let with = good(&[&words[..], &["--prior", &prior]].concat());
    for found in [plain.value(), with.value()] {
        let rows = found["predictions"].as_array().unwrap();
        assert_eq!(rows[0]["clone"], "Mira");
        for row in rows {
            let [lower, rate, upper] =
                ["lower", "estimate", "upper"].map(|k| row[k].as_f64().unwrap());
            assert!(0.0 < lower && lower < rate && rate < upper && upper < 1.0);
            near(&row["next"]["expected"], &Value::from(10.0 * rate), 1e-9);
        }
    }
    // The prior pulls the difference of the mixes towards 0, and keeps a spread.
    let moss = |found: &Value| found["terms"][1]["estimate"].as_f64().unwrap();
    assert!(moss(with.value()) < moss(plain.value()) && moss(with.value()) > 0.0);
    assert!(with.value()["random"][0]["sd"].as_f64().unwrap() > 0.1);
    assert_eq!(with.value()["seed"], 1);
}

#[test]
fn what_cannot_be_used_is_refused_with_its_place() {
    let desk = Desk::new();
    let table = |rows: &str| desk.table("t.csv", &format!("mix,successes,trials\n{rows}"));
    let cases: [(&str, &[&str], u8, &[&str]); 9] = [
        ("bark,3,8\nmoss,9,8\n", &[], 2, &["row 3", "column successes", "“9”", "at most"]),
        ("bark,3,8\nmoss,2.5,8\n", &[], 2, &["row 3", "column successes", "“2.5”", "whole number"]),
        ("bark,3,8\nmoss,2,-8\n", &[], 2, &["row 3", "column trials", "“-8”"]),
        ("bark,3,8\nmoss,,8\n", &[], 2, &["row 3", "column successes", "“”"]),
        ("bark,0,0\nmoss,0,0\n", &[], 2, &["column trials", "above 0"]),
        ("bark,3,8\nmoss,2,8\n", &["--terms", "soil"], 2, &["row 1", "column soil"]),
        ("bark,3,8\nbark,2,8\n", &["--terms", "mix"], 2, &["mix", "“bark” in every row"]),
        (
            "bark,3,8\nmoss,2,8\n",
            &["--quadrature", "9"],
            2,
            &["--quadrature", "9 quadrature nodes"],
        ),
        ("bark,3,8\nmoss,0,8\n", &["--terms", "mix"], 3, &["mix = moss", "0 of 8 trials"]),
    ];
    for (rows, more, status, parts) in cases {
        let file = table(rows);
        let refused = bad(&[&["success", file.as_str()], more].concat());
        assert_eq!(refused.status, status, "{}", refused.what);
        for part in parts {
            assert!(refused.what.contains(part), "{} lacks {part}", refused.what);
        }
        assert!(!refused.next.is_empty());
    }
    let file = desk.table("t.csv", "successes,trials\n3,8\n");
    let refused = bad(&["success", &file, "--trials", "sown"]);
    assert!(refused.what.contains("column sown"), "{}", refused.what);
}

#[test]
fn priors_that_cannot_be_used_are_refused() {
    let desk = Desk::new();
    let file = desk.table("t.csv", "mix,successes,trials\nbark,3,8\nmoss,2,8\ncoir,4,8\n");
    let cases = [
        (r#"{"random": [{"group": "mix", "half_normal": {"scale": -1}}]}"#, "scale -1"),
        (r#"{"random": [{"group": "mix"}]}"#, "not one of half_normal and gamma"),
        (r#"{"random": [{"group": "shelf", "gamma": {"shape": 2, "rate": 1}}]}"#, "no shelf"),
        (r#"{"coefficients": [{"term": "age", "mean": 0, "sd": 1}]}"#, "no age"),
        (r#"{"coefficient": []}"#, "unknown field `coefficient`"),
        ("[", "row 1"),
    ];
    for (text, part) in cases {
        let prior = desk.table("p.json", text);
        let refused = bad(&["success", &file, "--random", "mix", "--prior", &prior]);
        assert_eq!(refused.status, 2);
        assert!(refused.what.contains(part), "{} lacks {part}", refused.what);
    }
}

#[test]
fn a_beta_binomial() {
    let file = reference("betabinom_cbpp.csv");
    let words = ["success", &file, "--successes", "x", "--trials", "n", "--beta-binomial"];
    let found = good(&words);
    let text = std::fs::read_to_string(reference("betabinom_cbpp.json")).unwrap();
    let expected: Value = serde_json::from_str(&text).unwrap();
    let (found, expected) = (found.value(), &expected["expected"]);
    for key in ["alpha", "beta", "mean", "rho"] {
        near(&found[key], &expected[key], 0.002 * expected[key].as_f64().unwrap());
    }
    near(&found["log_likelihood"], &expected["logLik"], 1e-4);
    for (mine, theirs) in
        found["shrunk"].as_array().unwrap().iter().zip(expected["shrunk"].as_array().unwrap())
    {
        near(mine, theirs, 0.002);
    }
    let refused = bad(&[&words[..], &["--random", "x"]].concat());
    assert_eq!(refused.status, 2);
    let refused = bad(&[&words[..], &["--terms", "x"]].concat());
    assert!(refused.what.contains("no terms"), "{}", refused.what);
    let desk = Desk::new();
    let file = desk.table("t.csv", "x,n\n0,4\n0,5\n");
    let refused = bad(&["success", &file, "--successes", "x", "--trials", "n", "--beta-binomial"]);
    assert_eq!(refused.status, 3);
    assert!(refused.what.contains("all 9 trials failed"), "{}", refused.what);
}

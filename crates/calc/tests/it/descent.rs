//! `umbel calc descent`.

use serde_json::{Value, json};

use crate::support::{Desk, bad, good};

fn data(name: &str) -> String {
    format!("{}/../descent/tests/data/{name}", env!("CARGO_MANIFEST_DIR"))
}

fn reference(name: &str) -> Value {
    serde_json::from_str(&std::fs::read_to_string(data(name)).unwrap()).unwrap()
}

fn near(actual: &Value, expected: f64, tolerance: f64, what: &str) {
    let a = actual.as_f64().unwrap_or_else(|| panic!("{what}: {actual}"));
    assert!((a - expected).abs() <= tolerance, "{what}: {a} is not {expected}");
}

/// Inbreeding and kinship of all pairs by the face, against the reference file.
fn whole_case(case: &str) {
    let found = good(&["descent", &data(&format!("{case}.csv")), "--all-pairs"]);
    let reference = reference(&format!("{case}.json"));
    // 1e-10 for tables, 1e-9 where double reduction is a decimal fraction: as the file says.
    let tolerance = reference["tolerance"]["abs"].as_f64().unwrap();
    let expected = &reference["expected"];
    let all = found.value()["individuals"].as_array().unwrap();
    assert_eq!(all.len(), expected["F"].as_object().unwrap().len());
    for one in all {
        let id = one["id"].as_str().unwrap();
        near(&one["inbreeding"], expected["F"][id].as_f64().unwrap(), tolerance, id);
        if let Some(k) = expected["ploidy"][id].as_u64() {
            assert_eq!(one["ploidy"], k, "{id}");
        }
    }
    let ids: Vec<&str> = reference["inputs"]["ids"]
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_str().unwrap())
        .collect();
    let place = |id: &Value| ids.iter().position(|i| *i == id.as_str().unwrap()).unwrap();
    let pairs = found.value()["pairs"].as_array().unwrap();
    assert_eq!(pairs.len(), ids.len() * (ids.len() + 1) / 2);
    for pair in pairs {
        let k = expected["kinship"][place(&pair["a"])][place(&pair["b"])].as_f64().unwrap();
        near(&pair["kinship"], k, tolerance, &pair.to_string());
    }
}

#[test]
fn tables_of_books() {
    for case in ["mrode_2_1", "mrode_3_1_pedigree", "textbook_matings", "clones_small"] {
        whole_case(case);
    }
}

#[test]
fn tetraploids_and_mixed_ploidy() {
    for case in ["tetraploid_small", "mixed_ploidy_small", "tetraploid_selfing_lambda_0p167"] {
        whole_case(case);
    }
}

#[test]
fn the_inverse_of_a_book() {
    let found = good(&["descent", &data("mrode_2_1.csv"), "--inverse", "--only", "6"]);
    let table = std::fs::read_to_string(data("mrode_2_1_Ainv.csv")).unwrap();
    let inverse = found.value()["inverse"].as_array().unwrap();
    assert_eq!(inverse.len(), table.lines().count() - 1);
    for (cell, line) in inverse.iter().zip(table.lines().skip(1)) {
        let expected: Vec<&str> = line.split(',').collect();
        assert_eq!((&cell["a"], &cell["b"]), (&expected[0].into(), &expected[1].into()));
        near(&cell["value"], expected[2].parse().unwrap(), 1e-8, line);
    }
}

#[test]
fn quotes_spaces_blank_lines_and_other_columns_change_nothing() {
    let desk = Desk::new();
    let plain = desk.table("p.csv", "id,seed_parent,pollen_parent\nS,A,A\nT,S,\nA,,\n");
    let expected = good(&["descent", &plain, "--founders"]);
    assert_eq!(
        expected.value()["individuals"][1],
        json!({"id": "T", "inbreeding": 0.0, "self_kinship": 0.5, "founders": [
            {"founder": "A", "share": 0.5, "fraction": "1/2"},
            {"founder": "?T:pollen", "share": 0.5, "fraction": "1/2"},
        ]})
    );
    for (name, text) in [
        ("q.csv", "\"id\",seed_parent,pollen_parent\nS,\"A\",A\nT,S,\nA,,\n"),
        ("r.csv", "\u{feff}id, seed_parent ,pollen_parent\r\n S ,A, A\r\n\r\nT,S,\r\nA,,\r\n"),
        ("s.csv", "note,pollen_parent,id,seed_parent\nx,A,S,A\n,,T,S\n,,A,"),
        ("t.csv", "id,seed_parent,pollen_parent,tau_seed,tau_pollen\nS,A,A,1,1\nT,S,,,\nA,,,1,1\n"),
    ] {
        let file = desk.table(name, text);
        assert_eq!(good(&["descent", &file, "--founders"]).json, expected.json, "{name}");
    }
    let named = desk.table("u.csv", "plant,mother,father\nS,A,A\nT,S,\nA,,\n");
    let words = ["--id", "plant", "--seed-parent", "mother", "--pollen-parent", "father"];
    let found = good(&[&["descent", &named, "--founders"][..], &words].concat());
    assert_eq!(found.json, expected.json);
}

#[test]
fn candidates_and_common_ancestors() {
    let desk = Desk::new();
    let file = desk.table("p.csv", "id,seed_parent,pollen_parent\nS,A,\nT,A,S\n");
    let doubt = desk.table("c.csv", "id,side,parent,weight\nS,pollen,A,3\nS,pollen,B,1\n");
    let pairs = desk.table("pairs.csv", "a,b\nS,A\nS,B\nT,S\n");
    let words = ["descent", &file, "--candidates", &doubt, "--pairs", &pairs, "--common-ancestors"];
    let found = good(&words);
    // Selfed with 3/4: by hand.
    assert_eq!(found.value()["individuals"][0]["inbreeding"], 0.375);
    let kinship: Vec<f64> = found.value()["pairs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|p| p["kinship"].as_f64().unwrap())
        .collect();
    assert_eq!(kinship, [0.4375, 0.0625, 0.5 * 0.4375 + 0.5 * 0.6875]);
    assert_eq!(
        found.value()["common_ancestors"][2],
        json!({"a": "T", "b": "S", "ancestors": [{"id": "S", "from_a": 1, "from_b": 0}]})
    );
    assert_eq!(found.table.columns, ["a", "b", "id", "from_a", "from_b"]);
}

#[test]
fn diversity_of_half_sibs() {
    let desk = Desk::new();
    let file = desk.table("p.csv", "id,seed_parent,pollen_parent\nX,A,B\nY,A,C\nZ,D,E\n");
    let words = ["descent", &file, "--diversity", "--draws", "4000", "--only", "X,Y"];
    let found = good(&words);
    let d = &found.value()["diversity"];
    // 1/(1/4 + 1/16 + 1/16), and with retentions 3/4, 1/2, 1/2; 4,000 draws.
    near(&d["effective_founders"], 8.0 / 3.0, 1e-12, "effective founders");
    near(&d["genome_equivalents"], 12.0 / 7.0, 0.03, "genome equivalents");
    near(&d["mean_kinship"], 0.3125, 1e-15, "mean kinship");
    assert_eq!((&d["draws"], &d["seed"]), (&4000.into(), &1.into()));
    assert_eq!(found.table.rows.len(), 3);
    assert_eq!(good(&words).json, found.json, "the same seed gives the same numbers");
}

#[test]
fn what_cannot_be_is_named_with_its_place() {
    let desk = Desk::new();
    let cases: [(&str, &[&str]); 14] = [
        ("id,seed_parent,pollen_parent\nA,B,\nB,,A\n", &["circle", "\"A\" has seed parent \"B\""]),
        ("id,seed_parent,pollen_parent\nA,A,\n", &["\"A\" has seed parent \"A\""]),
        (
            "id,seed_parent,pollen_parent,clone_of\nA,,,B\nB,,,A\n",
            &["\"A\" is a clone of \"B\", \"B\" is a clone of \"A\""],
        ),
        (
            "id,seed_parent,pollen_parent,clone_of\nA,,,B\nA,,,C\n",
            &["row 3, column clone_of: “C”", "a piece of “B”"],
        ),
        ("id,seed_parent,pollen_parent\nA,,\n\nA,,\n", &["row 3, column id: “A”", "row 2"]),
        ("id,seed_parent,pollen_parent\n,A,\n", &["row 2, column id: “”"]),
        ("id,seed_parent,pollen_parent\nA,,\nB,\n", &["row 3: 2 cells where the header has 3"]),
        ("id,seed_parent,pollen_parent\n\"A\",,\nB,\n", &["row 3: 2 cells where the header has 3"]),
        ("id,seed_parent\nA,\n", &["row 1, column pollen_parent"]),
        ("id,seed_parent,pollen_parent\n", &["no row below the header"]),
        (",,\nA,,\n", &["row 1: there is no header"]),
        (
            "id,seed_parent,pollen_parent,tau_seed,tau_pollen\nA,,,2.5,2\n",
            &["row 2, column tau_seed: “2.5” is not a whole number"],
        ),
        (
            "id,seed_parent,pollen_parent,tau_seed,tau_pollen,lambda_seed\nA,,,2,2,\"0,1\"\n",
            &["row 2, column lambda_seed: “0,1” is not a number from 0 to 1"],
        ),
        (
            "id,seed_parent,pollen_parent,tau_seed,tau_pollen\nA,,,1,1\nB,A,,3,1\n",
            &["row 3: “B” has a seed gamete of 3 copies from a parent with 2"],
        ),
    ];
    for (text, words) in cases {
        let file = desk.table("t.csv", text);
        let problem = bad(&["descent", &file]);
        assert_eq!(problem.status, 2);
        assert!(problem.what.contains("t.csv"), "{}", problem.what);
        for word in words {
            assert!(problem.what.contains(word), "“{word}” is missing in: {}", problem.what);
        }
        assert!(!problem.next.is_empty());
    }
    let file = desk.table("t.csv", "id,seed_parent,pollen_parent,tau_seed\nA,,,2\n");
    let problem = bad(&["descent", &file]);
    assert!(problem.what.contains("row 2, column tau_seed: “2”"), "{}", problem.what);
    let file = desk.table("t.csv", "id,seed_parent,pollen_parent\nA,B,\n");
    assert!(bad(&["descent", &file, "--only", "Z"]).what.contains("\"Z\" is not in the pedigree"));
    for (text, word) in [
        ("id,side,parent\nA,left,B\n", "row 2, column side: “left”"),
        ("id,side,parent\nA,seed,C\n", "row 2, column seed_parent: “B”"),
        ("id,side,parent\nZ,seed,C\n", "“Z” has candidates but no row"),
        ("id,side,parent,weight\nA,pollen,C,0\n", "row 2, column weight: “0”"),
    ] {
        let doubt = desk.table("c.csv", text);
        let problem = bad(&["descent", &file, "--candidates", &doubt]);
        assert!(problem.what.contains(word), "“{word}” is missing in: {}", problem.what);
    }
}

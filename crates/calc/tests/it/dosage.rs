//! Plants with several like chromosome sets, as asked in words.

use serde_json::Value;

use crate::support::{bad, good};

#[test]
fn autotetraploids_as_published() {
    // Haldane 1930, Burnham, Sybenga (from memory, reproduced by exact fractions in Python).
    for name in ["chromosome", "random_chromatid", "alpha_sixth"] {
        let path = format!(
            "{}/../stats/tests/data/autotetraploid_{name}.json",
            env!("CARGO_MANIFEST_DIR")
        );
        let file: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
        let alpha = file["inputs"]["double_reduction"].as_str().unwrap();
        let results = file["expected"]["results"].as_array().unwrap();
        assert!(results.len() >= 4);
        for want in results {
            let (seed, pollen) = (want["seed"].as_str().unwrap(), want["pollen"].as_str().unwrap());
            let words = ["dosage", "--seed", seed, "--pollen", pollen, "--double-reduction", alpha];
            let found = good(&words);
            let found = found.value();
            assert_eq!(found["gametes_seed"], want["gametes_seed"]);
            assert_eq!(found["offspring"], want["offspring_dosage"]);
            assert_eq!(found["dominant"], want["dominant"]);
            assert_eq!(found["recessive"], want["recessive"]);
            let values = want["offspring_float"].as_array().unwrap();
            for (a, b) in found["offspring_values"].as_array().unwrap().iter().zip(values) {
                let (a, b) = (a.as_f64().unwrap(), b.as_f64().unwrap());
                assert!((a - b).abs() <= 1e-12, "{a} is not {b}");
            }
        }
    }
    let found = good(&["dosage", "--seed", "duplex", "--pollen", "2"]);
    assert_eq!(found.value()["ratio"], "35:1");
    // Two gametes with 0 to 2 copies and the seedlings with 0 to 4.
    assert_eq!(found.table.rows.len(), 3 + 3 + 5);
}

#[test]
fn other_ploidies() {
    let selfed = good(&["dosage", "--seed", "triplex", "--pollen", "triplex", "--ploidy", "6"]);
    assert_eq!(selfed.value()["recessive"], "1/400");
    let words = ["dosage", "--seed", "2", "--pollen", "1", "--pollen-ploidy", "2"];
    let mixed = good(&words);
    assert_eq!(mixed.value()["recessive"], "1/12");
    assert_eq!(mixed.value()["gametes_pollen"], serde_json::json!({"0": "1/2", "1": "1/2"}));
}

#[test]
fn what_no_plant_can_have_is_refused() {
    let of = |more: &[&str]| {
        let refused = bad(&[&["dosage"], more].concat());
        assert_eq!(refused.status, 2);
        format!("{}; {}", refused.what, refused.next)
    };
    for (words, part) in [
        (vec!["--seed", "duplex"], "--pollen"),
        (vec!["--seed", "double", "--pollen", "duplex"], "--seed: “double” is not a dosage"),
        (vec!["--seed", "5", "--pollen", "duplex"], "--seed: 5 copies in a plant of ploidy 4"),
        (vec!["--seed", "1", "--pollen", "-1"], "-1"),
        (vec!["--seed", "1", "--pollen", "1", "--ploidy", "3"], "a ploidy of 3"),
        (vec!["--seed", "1", "--pollen", "1", "--ploidy", "18"], "from 2 to 16"),
        (
            vec!["--seed", "1", "--pollen", "1", "--double-reduction", "1/5"],
            "of 0.2 in a tetraploid",
        ),
        (vec!["--seed", "1", "--pollen", "1", "--double-reduction", "0.1667"], "as a fraction"),
        (vec!["--seed", "1", "--pollen", "1", "--double-reduction", "x"], "“x” is not a number"),
        (vec!["--seed", "1", "--pollen", "1", "--double-reduction=-0.1"], "“-0.1” is not a number"),
        (
            vec!["--seed", "1", "--pollen", "1", "--ploidy", "6", "--double-reduction", "1/7"],
            "double reduction at ploidy 6",
        ),
    ] {
        let told = of(&words);
        assert!(told.contains(part), "{told} lacks {part}");
    }
}

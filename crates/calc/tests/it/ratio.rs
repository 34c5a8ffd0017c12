//! Counts against ratios, as asked in words.

use serde_json::Value;

use crate::support::{Desk, bad, good};

/// A reference file of the calculators.
fn reference(name: &str) -> Value {
    let path = format!("{}/../stats/tests/data/{name}", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn near(actual: &Value, expected: &Value, tolerance: f64) {
    let (a, e) = (actual.as_f64().unwrap(), expected.as_f64().unwrap());
    assert!((a - e).abs() <= tolerance, "{a} is not {e}");
}

fn joined(numbers: &Value, by: &str) -> String {
    let words: Vec<String> = numbers.as_array().unwrap().iter().map(Value::to_string).collect();
    words.join(by)
}

#[test]
fn counts_of_mendel_in_words() {
    // Mendel 1866; scipy 1.17.1, 1e-6.
    let file = reference("mendel.json");
    let results = file["expected"]["results"].as_array().unwrap();
    for (set, want) in file["inputs"]["sets"].as_array().unwrap().iter().zip(results) {
        let (observed, ratio) = (joined(&set["observed"], ","), joined(&set["ratio"], ":"));
        let found = good(&["ratio", "--observed", &observed, "--expected", &ratio]);
        let found = found.value();
        near(&found["chi_square"], &want["chi_square"], 1e-6);
        near(&found["p"], &want["p_value"], 1e-6);
        near(&found["g"], &want["G"], 1e-6);
        near(&found["g_p"], &want["G_p"], 1e-6);
        assert_eq!(found["df"], want["df"]);
        let expected = want["expected_counts"].as_array().unwrap();
        for (a, b) in found["expected"].as_array().unwrap().iter().zip(expected) {
            near(a, b, 1e-6);
        }
        assert_eq!(found["exact"]["by"], "enumeration");
        assert_eq!(found["warnings"], serde_json::json!([]));
    }
}

#[test]
fn a_small_family_is_told_to_go_by_the_exact_test() {
    let found = good(&["ratio", "--observed", "9, 0", "--expected", "3:1"]);
    let warnings = found.value()["warnings"].as_array().unwrap();
    assert!(warnings[0].as_str().unwrap().contains("2.25, below 5: go by the exact test"));
    // Nine of nine and what is less likely: 0.75⁹ and 0 to 3 of nine, by the binomial.
    let chance = |k: i32| -> f64 {
        let ways: f64 = (0..k).map(|i| f64::from(9 - i) / f64::from(i + 1)).product();
        ways * 0.75_f64.powi(k) * 0.25_f64.powi(9 - k)
    };
    let exact: f64 = (0..=9).map(chance).filter(|c| *c <= chance(9) * 1.000_000_1).sum();
    near(&found.value()["exact"]["p"], &exact.into(), 1e-9);
    assert_eq!(found.table.columns, ["class", "observed", "expected"]);
}

#[test]
fn families_in_a_table() {
    // Partition after Sokal & Rohlf, computed in Python; 1e-8.
    let file = reference("heterogeneity.json");
    let mut text = "note,family,class_2,class_1\n".to_owned();
    for (i, family) in file["inputs"]["families"].as_array().unwrap().iter().enumerate() {
        text += &format!("x,19-{i},{},{}\n", family[1], family[0]);
    }
    let desk = Desk::new();
    let path = desk.table("families.csv", &text);
    let found = good(&["ratio", "--families", &path, "--expected", "3:1"]);
    let (found, want) = (found.value(), &file["expected"]);
    for (part, field, key) in [
        ("total", "chi_square", "total_chi"),
        ("total", "df", "total_df"),
        ("total", "g", "G_total"),
        ("pooled", "chi_square", "pooled_chi"),
        ("pooled", "df", "pooled_df"),
        ("pooled", "p", "pooled_p"),
        ("pooled", "g", "G_pooled"),
        ("heterogeneity", "chi_square", "het_chi"),
        ("heterogeneity", "df", "het_df"),
        ("heterogeneity", "p", "het_p"),
        ("heterogeneity", "g", "G_het"),
        ("heterogeneity", "g_p", "G_het_p"),
    ] {
        near(&found[part][field], &want[key], 1e-8);
    }
    assert_eq!(found["families"][1]["family"], "19-1");
    assert_eq!(found["families"].as_array().unwrap().len(), 5);
}

#[test]
fn shares_over_independent_loci() {
    let share = |cross: &str, want: &str| good(&["ratio", "--alleles", cross, "--want", want]);
    let found = share("AaBb x AaBb", "aabb");
    assert_eq!(found.value(), &serde_json::json!({"share": "1/16", "value": 0.0625}));
    assert_eq!(share("AaBb × AaBb", "A_B_").value()["share"], "9/16");
    assert_eq!(share("AAaa X AAaa", "aaaa").value()["share"], "1/36");
    assert_eq!(share("Xx x xx", "xx").value()["share"], "1/2");
}

#[test]
fn several_ratios_and_families_that_tell_them_apart() {
    let found = good(&["ratio", "--observed", "27,21", "--among", "3:1, 9:7,1:1"]);
    assert_eq!(found.value()["consistent_with"], serde_json::json!(["9:7", "1:1"]));
    let sum: f64 =
        (0..3).map(|i| found.value()["hypotheses"][i]["posterior"].as_f64().unwrap()).sum();
    assert!((sum - 1.0).abs() < 1e-12);
    let words = ["ratio", "--tell-apart", "3:1,1:1"];
    let usual = good(&words).value()["n"].as_u64().unwrap();
    let surer = good(&[&words[..], &["--error", "0.01"]].concat()).value()["n"].as_u64().unwrap();
    assert!(usual > 20 && surer > usual, "{usual}, {surer}");
}

#[test]
fn what_cannot_be_compared_is_refused() {
    for (words, part) in [
        (vec!["ratio"], "it is not said what is asked"),
        (vec!["ratio", "--observed", "3,1"], "it is not said what is asked"),
        (vec!["ratio", "--expected", "3:1"], "no counts beside --expected"),
        (vec!["ratio", "--observed", "5,x", "--expected", "3:1"], "“x” is not a count"),
        (vec!["ratio", "--observed", "5,-1", "--expected", "3:1"], "“-1” is not a count"),
        (vec!["ratio", "--observed", "5,1.5", "--expected", "3:1"], "“1.5” is not a count"),
        (vec!["ratio", "--observed", "5,", "--expected", "3:1"], "“” is not a count"),
        (vec!["ratio", "--observed", "5,1,2", "--expected", "3:1"], "3 counts for a ratio of 2"),
        (vec!["ratio", "--observed", "0,0", "--expected", "3:1"], "all counts are 0"),
        (vec!["ratio", "--observed", "5,1", "--expected", "3:0"], "“3:0” is not a ratio"),
        (vec!["ratio", "--observed", "5,1", "--expected", "3"], "“3” is not a ratio"),
        (vec!["ratio", "--observed", "5,1", "--among", "3:1"], "nothing to compare"),
        (vec!["ratio", "--observed", "5,1", "--among", "3:1,6:2"], "say the same"),
        (vec!["ratio", "--observed", "5,1", "--among", "3:1,x"], "--among: “x” is not a ratio"),
        (vec!["ratio", "--tell-apart", "3:1"], "is not two ratios"),
        (vec!["ratio", "--tell-apart", "3:1,1:1", "--error", "0.7"], "a chance of error of 0.7"),
        (vec!["ratio", "--alleles", "AaBb", "--want", "aabb"], "not a cross of two plants"),
        (vec!["ratio", "--alleles", "Aa x Aa"], "--want"),
        (vec!["ratio", "--alleles", "AaB x AaB", "--want", "aab"], "locus a has 2 letters"),
        (vec!["ratio", "--alleles", "Aaa x Aaa", "--want", "aaa"], "a ploidy of 3"),
        (vec!["ratio", "--alleles", "Aa x Bb", "--want", "aa"], "locus a of “Aa” is not in “Bb”"),
        (vec!["ratio", "--alleles", "Aa x Aa", "--want", "bb"], "locus b of “bb”"),
        (vec!["ratio", "--alleles", "Aa x Aa", "--want", "aaa"], "--want: locus a of “aaa” has 3"),
        (vec!["ratio", "--alleles", "Aa x Aa", "--want", "a1"], "“1” is not a letter"),
        (
            vec!["ratio", "--families", "none.csv", "--expected", "3:1"],
            "none.csv: there is no such",
        ),
    ] {
        let refused = bad(&words);
        assert_eq!(refused.status, 2, "{words:?}");
        assert!(refused.what.contains(part), "{} lacks {part}", refused.what);
        assert!(!refused.next.is_empty());
    }
}

#[test]
fn a_table_of_families_is_refused_at_its_cell() {
    let desk = Desk::new();
    for (text, part) in [
        ("family,class_1\na,3\n", "row 1, column class_2"),
        ("class_1,class_2\n3,1\n", "row 1, column family"),
        ("family,class_1,class_2,class_3\na,3,1,1\n", "row 1, column class_3"),
        ("family,class_1,class_2\na,3,1\nb,,1\n", "row 3, column class_1: “” is not a count"),
        ("family,class_1,class_2\na,3,1.5\n", "row 2, column class_2: “1.5” is not a count"),
        ("family,class_1,class_2\na,3,-1\n", "row 2, column class_2: “-1” is not a count"),
        ("family,class_1,class_2\na,3,1\na,4,2\n", "row 3, column family: “a” is not a new family"),
        ("family,class_1,class_2\n,3,1\n", "row 2, column family"),
        ("family,class_1,class_2\na,0,0\n", "row 2, column class_1"),
        ("family,class_1,class_2\na,3\n", "row 2: 2 cells where the header has 3"),
        ("family,class_1,class_2\n", "there is no row below the header"),
    ] {
        let path = desk.table("families.csv", text);
        let refused = bad(&["ratio", "--families", &path, "--expected", "3:1"]);
        assert_eq!(refused.status, 2);
        assert!(refused.what.contains("families.csv"), "{} lacks the file", refused.what);
        assert!(refused.what.contains(part), "{} lacks {part}", refused.what);
    }
}

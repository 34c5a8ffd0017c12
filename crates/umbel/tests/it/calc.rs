//! Calculators by their plain face, against published or independently computed values.

use crate::support::{House, close, data};

#[test]
fn kaplan_meier_of_the_remission_times() {
    // Freireich 1963 as in Cox & Oakes 1984; computed with R survival 3.5.3 (log interval).
    let file = data("stats", "gehan.csv");
    let words = [
        "calc",
        "time-to-event",
        &file,
        "--fit",
        "km",
        "--time",
        "time",
        "--event",
        "cens",
        "--by",
        "treat",
    ];
    let found = House::new().good(&words).json();
    let treated = &found["groups"][0];
    assert_eq!(treated["group"], "6-MP");
    assert_eq!((treated["n"].as_u64(), treated["events"].as_u64()), (Some(21), Some(9)));
    let step = &treated["steps"][1];
    assert_eq!(step["at_risk"], 17);
    // A closed form: printed to 15 digits in the source.
    close(&step["survival"], 0.806_722_689_075_63, 1e-9);
    close(&step["se"], 0.086_935_285_180_057_2, 1e-9);
    close(&step["lower"], 0.653_124_218_462_171, 1e-9);
    close(&step["upper"], 0.996_443_675_908_659, 1e-9);
    assert_eq!(treated["quantiles"][1]["estimate"], 23.0);
    // The normal quantile behind the test's p is good to 1e-9; the source prints 15 digits.
    close(&found["test"]["chi_square"], 16.792_940_989_216_5, 1e-6);
    let csv = House::new().good(&[&words[..], &["--as", "csv"]].concat()).out;
    assert!(csv.starts_with("group,time,at_risk,events,survival,se,lower,upper\n"), "{csv}");
}

#[test]
fn inbreeding_of_the_textbook_matings() {
    // Falconer & Mackay 1996, chapter 5 (from memory), verified with sgkit 0.10.0.
    let file = data("descent", "textbook_matings.csv");
    let found = House::new().good(&["calc", "descent", &file]).json();
    for (id, f) in [("FSxFS", 0.25), ("HSxFS", 0.125), ("BC", 0.25), ("SELF_P", 0.5), ("OPEN", 0.0)]
    {
        let all = found["individuals"].as_array().unwrap();
        let one = all.iter().find(|i| i["id"] == id).unwrap_or_else(|| panic!("{id} is missing"));
        // Sums of powers of two: exact in binary.
        close(&one["inbreeding"], f, 0.0);
        close(&one["self_kinship"], 0.5 * (1.0 + f), 0.0);
    }
    assert!(found.get("pairs").is_none() && found.get("inverse").is_none());
    let only = House::new().good(&[
        "calc",
        "descent",
        &file,
        "--only",
        "BC,P",
        "--all-pairs",
        "--founders",
    ]);
    assert_eq!(only.json()["pairs"].as_array().unwrap().len(), 3);
}

#[test]
fn intervals_of_a_proportion() {
    // R 4.2.2 binom.test, prop.test(correct=FALSE), qbeta.
    let words = ["calc", "proportion", "--successes", "3", "--trials", "7", "--confidence", "0.9"];
    let found = House::new().good(&words).json();
    for (key, low, high) in [
        ("clopper_pearson", 0.128_756_392_804_243, 0.774_678_415_967_552),
        ("wilson", 0.186_443_190_363_956, 0.710_522_908_986_407),
        ("jeffreys", 0.174_606_819_096_869, 0.719_181_940_933_079),
    ] {
        // The tolerance of the source's own table.
        close(&found[key][0], low, 1e-6);
        close(&found[key][1], high, 1e-6);
    }
}

#[test]
fn names_come_one_a_line_from_standard_input() {
    let house = House::new();
    let ran = house.run_with("Begonia bowerae\nbegonia \"Marl Evening\"\n\n", &["calc", "name"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let lines: Vec<serde_json::Value> =
        ran.out.lines().map(|l| serde_json::from_str(l).unwrap()).collect();
    assert_eq!(lines.len(), 2);
    assert_eq!(lines[0]["verdict"], "valid");
    assert_eq!(lines[1]["normalised"], "Begonia 'Marl Evening'");
    for key in ["input", "verdict", "normalised", "kind", "parts", "problems", "html"] {
        assert!(lines[1].get(key).is_some(), "{key} is missing");
    }
}

#[test]
fn bad_cells_are_named_with_file_row_column_and_value() {
    let house = House::new();
    let table = |name: &str, text: &str| {
        std::fs::write(house.file(name), text).unwrap();
        name.to_owned()
    };
    let cases: [(&str, &str, &[&str], &[&str]); 8] = [
        (
            "a.csv",
            "left,right\n1,2\nx,3\n",
            &["time-to-event", "--fit", "turnbull"],
            &["a.csv", "row 3", "left", "“x”"],
        ),
        (
            "b.csv",
            "left,right\n5,2\n",
            &["time-to-event", "--fit", "turnbull"],
            &["b.csv", "row 2", "right", "“2”"],
        ),
        (
            "c.csv",
            "left,right\n1,2\n",
            &["time-to-event", "--fit", "km"],
            &["c.csv", "row 2", "turnbull"],
        ),
        ("d.csv", "id,seed_parent\nA,\n", &["descent"], &["d.csv", "pollen_parent"]),
        (
            "e.csv",
            "id,seed_parent,pollen_parent\nA,B,\nB,A,\n",
            &["descent"],
            &["e.csv", "circle", "\"A\"", "\"B\""],
        ),
        (
            "f.csv",
            "id,seed_parent,pollen_parent\nA,,\nA,,\n",
            &["descent"],
            &["f.csv", "row 3", "“A”"],
        ),
        (
            "g.csv",
            "id,seed_parent,pollen_parent,tau_seed\nA,,,2\n",
            &["descent"],
            &["g.csv", "row 2", "tau_seed", "“2”"],
        ),
        ("h.csv", "id,seed_parent,pollen_parent\nA,\n", &["descent"], &["h.csv", "row 2"]),
    ];
    for (name, text, words, expected) in cases {
        let file = table(name, text);
        let mut all = vec!["calc", words[0], &file];
        all.extend(&words[1..]);
        let said = house.refused(2, &all);
        for word in expected {
            assert!(said.contains(word), "{name}: {word} is missing in {said}");
        }
    }
    house.refused(2, &["calc", "descent", "nowhere.csv"]);
    house.refused(2, &["calc", "proportion", "--successes", "8", "--trials", "7"]);
}

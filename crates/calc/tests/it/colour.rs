//! `umbel calc colour`.

use serde_json::Value;

use crate::support::{Desk, bad, good};

/// Pairs 1, 17 and 25 of Sharma, Wu & Dalal 2005, table 1; 1e-4, their last digit.
#[test]
fn differences_are_those_of_the_published_pairs() {
    let desk = Desk::new();
    let file = desk.table(
        "pairs.csv",
        "pair,L1,a1,b1,L2,a2,b2\n\
         1,50,2.6772,-79.7751,50,0,-82.7485\n\
         17,50,2.5,0,73,25,-18\n\
         25,60.2574,-34.0099,36.2677,60.4626,-34.1751,39.4387\n",
    );
    let found = good(&["colour", &file]);
    let rows = found.value().as_array().unwrap();
    for (row, expected) in rows.iter().zip([2.0425, 27.1492, 1.2644]) {
        let actual = row["dE00"].as_f64().unwrap();
        assert!((actual - expected).abs() < 1e-4, "{row}");
    }
    assert_eq!(rows[1]["pair"], 17);
    assert_eq!(found.table.columns.last().unwrap(), "dE00");
}

/// Sea green, computed with numpy from the figures of Lindbloom (see the reference colours of the
/// calculator); 0.05 allows other roundings of the white point, 1e-6 is kept.
#[test]
fn a_pixel_has_both_kinds_of_lab() {
    let desk = Desk::new();
    let file = desk.table("hex.csv", "name,hex\nleaf,#2E8B57\nsame,2e8b57\n");
    let found = good(&["colour", &file]);
    let expected = [
        ("L65", 51.533898679419906),
        ("a65", -39.71533993687126),
        ("b65", 20.052184958342366),
        ("L50", 51.48969534974064),
        ("a50", -37.870799922861295),
        ("b50", 19.577003745484266),
        ("C65", 44.490429846258095),
        ("h65", 153.2108935309254),
    ];
    for row in found.value().as_array().unwrap() {
        for (column, value) in expected {
            let actual = row[column].as_f64().unwrap();
            assert!((actual - value).abs() < 1e-6, "{column}: {actual}");
        }
    }
}

#[test]
fn both_may_stand_in_one_table() {
    let desk = Desk::new();
    let file = desk.table("both.csv", "hex,L1,a1,b1,L2,a2,b2\n#FFFFFF,50,0,0,50,0,0\n");
    let row: Value = good(&["colour", &file]).value()[0].clone();
    assert_eq!(row["dE00"], 0.0);
    assert!((row["L65"].as_f64().unwrap() - 100.0).abs() < 0.05);
}

#[test]
fn what_is_no_colour_is_refused_with_its_place() {
    let desk = Desk::new();
    let head = "L1,a1,b1,L2,a2,b2\n50,0,0,50,0,0\n";
    for (text, parts) in [
        ("hex\n#FFFFFF\n#12345\n", vec!["row 3", "column hex", "“#12345”", "hexadecimal"]),
        ("name,hex\nleaf,\n", vec!["row 2", "column hex", "“”", "hexadecimal"]),
        (&format!("{head}50,x,0,50,0,0\n"), vec!["row 3", "column a1", "“x”", "a number"]),
        (&format!("{head}50,0,0,,0,0\n"), vec!["row 3", "column L2", "“”", "a number"]),
        (&format!("{head}150,0,0,50,0,0\n"), vec!["row 3", "column L1", "“150”", "0 to 100"]),
        (&format!("{head}50,0,0,50,0,-300\n"), vec!["row 3", "column b2", "“-300”", "-200 to 200"]),
        ("L1,a1,b1,L2,a2\n1,1,1,1,1\n", vec!["row 1", "b2"]),
        ("red,green\n1,2\n", vec!["row 1", "L1,a1,b1,L2,a2,b2", "hex"]),
    ] {
        let refused = bad(&["colour", &desk.table("t.csv", text)]);
        assert_eq!(refused.status, 2);
        for part in parts {
            assert!(refused.what.contains(part), "{} lacks {part}", refused.what);
        }
        assert!(!refused.next.is_empty());
    }
    let refused = bad(&[
        "colour",
        &desk.table("comma.csv", "hex,L1,a1,b1,L2,a2,b2\n#000,\"5,5\",0,0,1,1,1\n"),
    ]);
    assert!(refused.next.contains("dot"), "{}", refused.next);
}

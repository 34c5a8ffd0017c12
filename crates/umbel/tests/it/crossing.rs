//! `umbel crossing`: pairs, a season, pollen, beliefs.

use crate::support::{House, close};

pub fn shelf() -> House {
    let house = House::new();
    for name in ["Streptocarpus rexii", "Streptocarpus dunnii", "Begonia bowerae"] {
        house.good(&["add", "--name", name, "--came", "2023-03"]);
    }
    house
}

#[test]
fn a_pair_and_a_season_as_json_and_in_words() {
    let house = shelf();
    let pair = ["crossing", "pair", "1", "2", "--flowers", "4", "--seedlings", "3"];
    let words = house.good(&pair).out;
    assert!(words.contains("Not tried here in this direction."), "{words}");
    let found = house.good(&[&pair[..], &["--as", "json"]].concat()).json();
    let chance = found["per_flower"]["mean"].as_f64().unwrap();
    assert!(found["per_flower"]["lower"].as_f64().unwrap() < chance);
    assert!(chance < found["per_flower"]["upper"].as_f64().unwrap());
    assert_eq!(found["flowers"], 4);
    let plan = house.good(&["crossing", "plan", "--pots", "24", "--crosses", "2", "--as", "json"]);
    let plan = plan.json();
    assert!(plan["pots"].as_u64().unwrap() <= 24, "{plan}");
    assert!(plan["chosen"].as_array().unwrap().len() <= 2, "{plan}");
    assert!(house.refused(1, &["crossing", "pair", "1", "77"]).contains("77"));
    assert!(house.refused(2, &["crossing", "plan", "--pots", "2"]).contains("pots"));
}

#[test]
fn what_was_tried_pollen_and_beliefs() {
    let house = shelf();
    house.good(&["pollinate", "1", "--pollen", "2", "--flowers", "6", "--on", "2025-01-05"]);
    let path = house.good(&["crossing", "path", "1", "--as", "json"]).json();
    assert_eq!(path["stages"][0]["count"], 6);
    house.good(&["crossing", "pollen", "2", "--cold", "freezer"]);
    let lots = house.good(&["crossing", "pollen", "--as", "json"]).json();
    assert_eq!(lots[0]["kept"]["cold"], "freezer");
    house.good(&["crossing", "beliefs", "ploidy", "-0.5 ± 0.2"]);
    let all = house.good(&["crossing", "beliefs", "--as", "json"]).json();
    let ploidy = all.as_array().unwrap().iter().find(|b| b["key"] == "ploidy").unwrap();
    close(&ploidy["mean"], -0.5, 1e-12);
    assert_eq!(ploidy["own"], true);
    let table = house.file("others.csv");
    std::fs::write(&table, "seed,pollen,pods,by\na,b,2,c\n").unwrap();
    let refused = house.refused(2, &["crossing", "others", table.to_str().unwrap()]);
    assert!(refused.contains("flowers"), "{refused}");
}

#[test]
fn genes_are_described_and_a_wanted_score_needs_its_trait() {
    let house = shelf();
    for (plant, genes) in [("1", "variegation Vv"), ("2", "variegation Vv")] {
        house.good(&["crossing", "describe", plant, "--genes", genes, "--ploidy", "2"]);
    }
    let words = house.good(&["crossing", "pair", "1", "2"]).out;
    assert!(words.contains("variegation, Vv × Vv: ¾ show it; raise 11"), "{words}");
    let refused = house.refused(2, &["crossing", "describe", "1", "--genes", "variegation 1"]);
    assert!(refused.contains("genotype"), "{refused}");
    assert!(house.refused(2, &["crossing", "plan", "--from", "7"]).contains("trait"));
    for (plant, score) in [("1", "8"), ("2", "5")] {
        house.good(&["log", "scored", plant, "trait=size", &format!("score={score}")]);
    }
    let plan = ["crossing", "plan", "--aim", "size", "--from", "7", "--as", "json"];
    let plan = house.good(&plan).json();
    let chosen = plan["chosen"].as_array().unwrap();
    assert!(!chosen.is_empty() && !plan["pots_over"].as_array().unwrap().is_empty(), "{plan}");
    // What a cross is worth are seedlings of the wanted kind: no more than its seedlings.
    for c in chosen {
        assert!(c["gain"].as_f64().unwrap() <= c["seedlings"][0].as_f64().unwrap() + 1e-9, "{c}");
    }
}

#[test]
fn a_tag_of_a_cross_is_printed() {
    let house = shelf();
    house.good(&["pollinate", "1", "--pollen", "2", "--flowers", "3", "--on", "2025-01-05"]);
    let out = house.file("tag.pdf");
    let path = out.to_str().unwrap();
    house.good(&["labels", "--cross", "1", "--size", "50x30", "--out", path]);
    assert!(std::fs::read(&out).unwrap().starts_with(b"%PDF"));
    assert!(house.refused(1, &["labels", "--cross", "9", "--out", path]).contains('9'));
}

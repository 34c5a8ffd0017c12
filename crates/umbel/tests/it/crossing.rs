//! `umbel crossing`: pairs, a season, pollen, beliefs.

use crate::support::{House, close};

fn shelf() -> House {
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

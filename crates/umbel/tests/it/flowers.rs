//! `umbel flowers`: how long, when again, who is in flower together.

use crate::{crossing::shelf, support::House};

/// Two plants of a genus; the first flowered in four months, the second once.
fn flowering() -> House {
    let house = shelf();
    for (n, plant, month) in [(1, 1, "03"), (2, 1, "04"), (3, 1, "05"), (4, 1, "06"), (1, 2, "05")]
    {
        let (opened, ended) = (format!("2024-{month}-02"), format!("2024-{month}-08"));
        house.good(&["log", "opened", &format!("{plant}:flower"), "--on", &opened]);
        let part = format!("{plant}:flower:{n}");
        house.good(&["log", "ended", &part, "how=dropped", "--on", &ended]);
    }
    house
}

#[test]
fn what_is_known_of_the_flowers_of_a_plant() {
    let house = flowering();
    let found = house.good(&["flowers", "of", "1", "--as", "json"]).json();
    let points = found["curve"]["points"].as_array().unwrap();
    let days: Vec<f64> = points.iter().map(|p| p["days"][1].as_f64().unwrap()).collect();
    assert!(days.windows(2).all(|w| w[0] < w[1]), "fewer last longer: {days:?}");
    assert_eq!(found["curve"]["lived"].as_array().unwrap().len(), 4);
    assert_eq!(found["ahead"]["weeks"].as_array().unwrap().len(), 12);
    assert_eq!(found["months"]["months"][3]["flowered"], 1);
    // Two clones, too few to tell them apart.
    let sides = found["clones"]["sides"].as_array().unwrap();
    assert_eq!((sides.len(), sides[1]["words"].as_str().unwrap()), (2, "no difference shown"));
    let words = house.good(&["flowers", "of", "1"]).out;
    assert!(words.contains("lasts") && words.contains("no difference shown"), "{words}");
    let csv = house.good(&["flowers", "of", "1", "--as", "csv"]).out;
    assert!(csv.starts_with("share_open,days,lower,upper"), "{csv}");
    assert!(house.refused(1, &["flowers", "of", "77"]).contains("77"));
}

#[test]
fn who_is_likely_in_flower_and_who_meets() {
    let house = flowering();
    let found = house.good(&["flowers", "likely", "2027-05", "--as", "json"]).json();
    let plants: Vec<i64> =
        found.as_array().unwrap().iter().map(|l| l["plant"].as_i64().unwrap()).collect();
    assert!(plants.contains(&1) && plants.contains(&2) && !plants.contains(&3), "{plants:?}");
    for l in found.as_array().unwrap() {
        let chance = l["chance"].as_f64().unwrap();
        assert!((0.0..=1.0).contains(&chance), "{l}");
    }
    assert!(house.refused(2, &["flowers", "likely", "May"]).contains("2027-03"));
    assert!(house.refused(2, &["flowers", "likely", "2027-13"]).contains("month"));
    let met = house.good(&["flowers", "together", "1", "2", "--as", "json"]).json();
    let chance = met["meeting"]["chance"].as_f64().unwrap();
    assert_eq!(met["store"].as_bool().unwrap(), chance < 0.3);
    let none = house.good(&["flowers", "together", "1", "3"]).out;
    assert!(none.contains("Not enough yet"), "{none}");
    // The plan of a season knows how likely both are in flower.
    let plan = house.good(&["crossing", "plan", "--as", "json"]).json();
    let offered =
        plan["chosen"].as_array().unwrap().iter().chain(plan["others"].as_array().unwrap());
    assert!(offered.clone().any(|o| o["meets"].is_number()), "{plan}");
}

//! The light of a place from the command.

use crate::support::{House, close};

fn shelf() -> House {
    let house = House::new();
    for name in ["Streptocarpus rexii", "Begonia bowerae"] {
        house.good(&["add", "--name", name, "--came", "2024-03", "--place", "shelf"]);
    }
    house.good(&[
        "places",
        "describe",
        "shelf",
        "--width",
        "30",
        "--depth",
        "30",
        "--lamp",
        "kind=plant_bar,ppf=44,width=30,depth=30,height=30,hours=12",
    ]);
    house
}

#[test]
fn the_light_of_a_shelf_is_shown_and_narrowed_by_a_reading() {
    let house = shelf();
    house.good(&["places", "put", "shelf", "1", "15, 15"]);
    let light = || house.good(&["places", "light", "shelf", "--as", "json"]).json();
    let before = light();
    // By hand: 117 µmol m⁻² s⁻¹ less 5 % for twelve hours are 4.81 mol; the factor is rounded.
    close(&before["plants"][0]["light"]["value"], 4.81, 0.02);
    assert_eq!(before["plants"][0]["number"], 1);
    house.good(&["log", "reading", "place:1", "photon_flux=111 µmol", "spot=15, 15"]);
    let after = light();
    let width = |v: &serde_json::Value| {
        let light = &v["plants"][0]["light"];
        light["upper"].as_f64().unwrap() / light["lower"].as_f64().unwrap()
    };
    assert!(width(&after) < width(&before));
    let text = house.good(&["places", "light", "shelf"]).out;
    for words in ["Light enough to", "residual-current breaker", "set by one reading"] {
        assert!(text.contains(words), "{words}: {text}");
    }
}

#[test]
fn moves_are_weighed_and_proposed() {
    let house = shelf();
    house.good(&["places", "put", "shelf", "1", "1, 1"]);
    let there = house.good(&["places", "what-if", "1", "shelf", "--spot", "15, 15"]).out;
    assert!(there.contains("times as much"), "{there}");
    let order = house
        .good(&["places", "arrange", "shelf", "--moves", "1", "--free", "15, 15", "--as", "json"])
        .json();
    assert_eq!(order["moves"].as_array().unwrap().len(), 1);
    assert_eq!(order["moves"][0]["plant"], 1);
    let none = house.good(&["places", "arrange", "shelf", "--moves", "0", "--as", "json"]).json();
    assert_eq!(none["moves"].as_array().unwrap().len(), 0);
}

#[test]
fn what_is_wrong_is_told() {
    let house = shelf();
    let told = house.refused(2, &["places", "describe", "shelf", "--lamp", "watts"]);
    assert!(told.contains("is not of the form key=value"), "{told}");
    let told = house.refused(2, &["places", "house", "--latitude", "95"]);
    assert!(told.contains("lies outside"), "{told}");
    let told = house.refused(2, &["places", "put", "shelf", "1", "under it"]);
    assert!(told.contains("is no spot on a place of 30 × 30 cm"), "{told}");
}

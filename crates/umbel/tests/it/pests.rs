//! `umbel pests`.

use crate::support::House;

fn sill() -> House {
    let house = House::new();
    for name in ["Begonia bowerae", "Begonia maculata"] {
        house.good(&["add", "--name", name, "--place", "Sill", "--came", "2024-03"]);
    }
    house
}

#[test]
fn a_find_is_said_with_its_chance_and_neighbours() {
    let house = sill();
    assert!(house.good(&["pests"]).out.contains("nothing was found"));
    house.good(&["log", "pest_seen", "1", "pest=Spinnmilben", "how_many=few"]);
    let text = house.good(&["pests"]).out;
    assert!(text.contains("Spider mite, Sill"), "{text}");
    assert!(text.contains("almost certainly, 95 %"), "{text}");
    let all = house.good(&["pests", "--as", "json"]).json();
    assert_eq!(all["open"][0]["trouble"]["chance"]["value"], 0.95);
    let beside = house.good(&["pests", "beside", "--as", "json"]).json();
    assert_eq!((&beside[0]["plant"], &beside[0]["looked_since"]), (&2.into(), &false.into()));
    assert!(house.good(&["pests", "plant", "2"]).out.contains("is near it"));
    assert!(house.good(&["pests", "place", "Sill", "--as", "csv"]).out.contains("spider mite"));
    house.refused(1, &["pests", "plant", "99"]);
}

#[test]
fn what_was_sprayed_is_listed_even_if_nobody_knows_what_it_was() {
    let house = sill();
    let ago = |days: i64| {
        let now = jiff::Timestamp::now().to_zoned_datetime(jiff::tz::TimeZone::system());
        let day = now.date() - jiff::Span::new().days(days);
        day.to_string()
    };
    house.good(&["log", "placed", "1", "place=Sill", "--on", "2025-08-01"]);
    house.good(&["log", "treated", "place:1", "unknown_product", "--on", &ago(20)]);
    house.good(&["log", "damage_seen", "1:leaf", "damage=spots", "--on", &ago(10)]);
    let list = house.good(&["pests", "sprayed", "1", "--as", "json"]).json();
    assert_eq!(list["treatments"][0]["product"], serde_json::Value::Null);
    assert_eq!(list["treatments"][0]["before"], serde_json::json!([10, 10]));
    let text = house.good(&["pests", "sprayed", "1"]).out;
    assert!(text.contains("unknown") && text.contains("10 days before"), "{text}");
    let before = house.good(&["pests", "sprayed", "1", "--before", "2025-09-01"]).out;
    assert!(before.contains("no treatment is recorded"), "{before}");
    house.refused(2, &["pests", "sprayed", "1", "--before", "unknown"]);
}

#[test]
fn groups_and_newcomers() {
    let house = sill();
    house.good(&["log", "pest_seen", "1", "pest=thrips"]);
    house.good(&["log", "treated", "1", "product=bottle", "label_group=IRAC 5", "against=thrips"]);
    let groups = house.good(&["pests", "groups"]).out;
    assert!(groups.contains("group as on the label: IRAC 5"), "{groups}");
    house.good(&["pests", "apart", "--keep", "2", "--trusted"]);
    let apart = house.good(&["pests", "apart", "--as", "json"]).json();
    assert_eq!(apart[0]["newcomers"]["trusted"], true);
    house.good(&["pests", "apart", "--let-in", "2"]);
    assert!(house.good(&["pests", "apart"]).out.contains("nothing is kept apart"));
}

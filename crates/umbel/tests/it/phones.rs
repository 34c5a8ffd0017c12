//! `umbel phones`: the square in a terminal, the list, the end.

use journal::Journal;

use crate::support::House;

const WAYS: &str = "https://umbel.local:8465\nhttps://192.168.1.5:8465\n0A:1B:2C";

/// A house that was open to phones before.
fn house() -> House {
    let house = House::new();
    let (journal, _) = Journal::open(house.collection()).unwrap();
    journal.set_setting("passcode", "$argon2id$unreadable").unwrap();
    journal.set_setting("phones", WAYS).unwrap();
    house
}

#[test]
fn a_house_that_was_never_open_has_no_square_to_show() {
    let house = House::new();
    Journal::open(house.collection()).unwrap();
    let said = house.refused(1, &["phones", "pair", "--name", "Mara"]);
    assert!(said.contains("umbel open --phones"), "{said}");
}

/// What is printed, read module by module, is the square of the address.
#[test]
fn the_printed_square_holds_the_address_with_the_code() {
    let house = house();
    let printed = house.good(&["phones", "pair", "--name", "Mara", "--as", "table"]).out;
    let code = printed.split(" and type ").nth(1).unwrap().lines().next().unwrap();
    assert!(printed.contains("0A:1B:2C") && printed.contains("192.168.1.5"), "{printed}");
    let address = format!("HTTPS://UMBEL.LOCAL:8465/PAIR/{}", code.replace(' ', ""));
    let square = printing::Square::of(&address).unwrap();
    let side = i32::try_from(square.side).unwrap();
    let mut compared = 0;
    for (line, text) in printed.lines().take(square.side.div_ceil(2) + 4).enumerate() {
        for (column, letter) in text.chars().enumerate() {
            let (x, y) = (column as i32 - 4, 2 * line as i32 - 4);
            // Light is what is printed, on a terminal of any colours but dark on light.
            let light = match letter {
                '█' => (true, true),
                '▀' => (true, false),
                '▄' => (false, true),
                _ => (false, false),
            };
            assert_eq!(light, (!square.is_dark(x, y), !square.is_dark(x, y + 1)), "{x} {y}");
            compared += 1;
        }
    }
    assert!(compared >= (side + 8) * (side + 8) / 2, "{compared} letters were compared");
}

#[test]
fn a_code_is_json_for_other_programs_and_names_are_asked_for() {
    let house = house();
    let pair = house.good(&["phones", "pair", "--name", "Mara", "--as", "json"]).json();
    let code = pair["code"].as_str().unwrap();
    assert_eq!(pair["address"], format!("HTTPS://UMBEL.LOCAL:8465/PAIR/{code}"));
    assert_eq!(pair["role"], "helper");
    let said = house.refused(1, &["phones", "pair"]);
    assert!(said.contains("who will hold"), "{said}");
    assert_eq!(house.run(&["phones", "pair", "--name", "Mara", "--as-role", "queen"]).status, 2);
}

#[test]
fn phones_are_listed_and_ended() {
    let house = house();
    let session = r#"[{"hash":"3f08a1c2ff","device":"phone","name":"Mara","role":"helper",
        "since":"2026-01-05T08:00:00Z","seen":null,"until":"2999-01-01T00:00:00Z"}]"#;
    let (journal, _) = Journal::open(house.collection()).unwrap();
    journal.set_setting("sessions", session).unwrap();
    let listed = house.good(&["phones", "--as", "json"]).json();
    assert_eq!((&listed[0]["phone"], &listed[0]["name"]), (&"3f08a1c2".into(), &"Mara".into()));
    let said = house.refused(1, &["phones", "end", "00000000"]);
    assert!(said.contains("no phone “00000000”"), "{said}");
    house.good(&["phones", "end", "3f08a1c2"]);
    assert_eq!(house.good(&["phones", "--as", "json"]).json(), serde_json::json!([]));
    assert_eq!(house.run(&["phones", "end"]).status, 2);
    assert_eq!(house.good(&["phones", "end", "--all"]).out, "0 ended\n");
}

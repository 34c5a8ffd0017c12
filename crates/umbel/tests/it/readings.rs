//! `umbel readings` and `umbel places air`.

use crate::support::House;

/// Two weeks of half hours, in German habits.
fn file() -> String {
    let mut out = "Datum;Uhrzeit;Temperatur °C;Feuchte %\n".to_owned();
    for day in 1..=14 {
        for half in 0..48 {
            let wave = f64::from(day * 48 + half).sin();
            let clock = format!("{:02}:{:02}", half / 2, half % 2 * 30);
            let row = format!("{day:02}.03.2026;{clock};{:.1};{:.1}", 21.0 + wave, 55.0 + wave);
            out.push_str(&row.replace('.', ",").replacen(',', ".", 2));
            out.push('\n');
        }
    }
    out.push_str("Batterie schwach;;;\n");
    out
}

#[test]
fn a_file_is_shown_taken_in_once_and_told_about() {
    let house = House::new();
    house.good(&["places", "add", "north shelf"]);
    std::fs::write(house.file("log.csv"), file()).unwrap();
    let shown = house.good(&["readings", "import", "log.csv", "--place", "1", "--dry-run"]);
    assert!(
        shown.out.contains("Batterie schwach") && shown.err.contains("672 new readings"),
        "{}{}",
        shown.out,
        shown.err
    );
    let shown =
        house.good(&["readings", "import", "log.csv", "--place", "1", "--dry-run", "--as", "json"]);
    assert_eq!(shown.json()["new"], 672);
    assert_eq!(shown.json()["read"]["readings"][0]["row"], 2);
    let taken =
        house.good(&["readings", "import", "log.csv", "--place", "north shelf", "--as", "json"]);
    assert_eq!(
        (taken.json()["new"].as_i64(), taken.json()["refused"].as_i64()),
        (Some(672), Some(1))
    );
    let again = house.good(&["readings", "import", "log.csv", "--place", "1", "--as", "json"]);
    assert_eq!(
        (again.json()["new"].as_i64(), again.json()["before"].as_i64()),
        (Some(0), Some(672))
    );
    let listed = house.good(&["readings", "list", "--as", "json"]);
    assert_eq!(listed.json()[0]["readings"], 672);
    let refused = house.good(&["readings", "refused", "--place", "1", "--as", "json"]);
    assert_eq!(refused.json()[0]["lines"][0]["row"], 674);

    let air = house.good(&[
        "places",
        "air",
        "1",
        "--set",
        "volume=20",
        "--set",
        "cold=14",
        "--as",
        "json",
    ]);
    assert_eq!(air.json()["valued"], 14);
    assert_eq!(air.json()["settings"]["cold"], 14.0);
    let air = house.good(&["places", "air", "1"]);
    assert!(air.out.contains("The deficit at the leaves is usually"), "{}", air.out);
    house.good(&["doctor"]);
    let salt = house.good(&["readings", "salt", "logger", "71.3", "--dry-run"]);
    assert!(salt.out.contains("+4.00"), "{}", salt.out);
    house.good(&["undo"]);
}

#[test]
fn what_is_ambiguous_or_wrong_is_refused_with_the_next_step() {
    let house = House::new();
    house.good(&["places", "add", "north shelf"]);
    std::fs::write(house.file("log.csv"), "time,temp C,rh\n05/06/2025 10:00,20,50\n").unwrap();
    let asked = house.run(&["readings", "import", "log.csv", "--place", "1"]);
    assert_eq!(asked.status, 1);
    assert!(
        asked.out.contains("date_order") && asked.err.contains("--answer"),
        "{}{}",
        asked.out,
        asked.err
    );
    let told =
        ["readings", "import", "log.csv", "--place", "1", "--answer", "date_order=day_first"];
    house.good(&told);
    std::fs::write(house.file("list.csv"), "name,count\nBegonia,4\n").unwrap();
    let wrong = house.run(&["readings", "import", "list.csv", "--place", "1"]);
    assert!(wrong.status != 0 && wrong.err.contains("holds no readings"), "{}", wrong.err);
    let wrong = house.run(&["places", "air", "1", "--set", "volume=large"]);
    assert!(wrong.status != 0 && wrong.err.contains("large"), "{}", wrong.err);
}

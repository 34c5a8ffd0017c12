//! Adding, logging, showing, undoing, and keeping safe.

use crate::support::House;

/// A house with two plants on one shelf.
fn begun() -> House {
    let house = House::new();
    house.good(&[
        "add",
        "--name",
        "Begonia bowerae",
        "--from",
        "Tamsin Orr",
        "--came",
        "2024-03",
        "--came-as",
        "cutting",
        "--place",
        "Shelf 2",
        "--pot",
        "9 cm",
        "--price",
        "8.50 GBP",
    ]);
    house.good(&[
        "add",
        "--name",
        "Begonia 'Marl Evening'",
        "--parents",
        "Begonia bowerae x unknown",
        "--own",
        "--place",
        "Shelf 2",
    ]);
    house
}

#[test]
fn what_was_added_is_shown() {
    let house = begun();
    let page = house.good(&["show", "1", "--as", "json"]).json();
    assert_eq!(page["plant"]["name"], "Begonia bowerae");
    assert_eq!(page["plant"]["place"], "Shelf 2");
    assert_eq!(page["plant"]["keeper"], "Tamsin Orr");
    let text = house.good(&["show", "2"]).out;
    for words in ["Begonia 'Marl Evening'", "seed parent B. bowerae (1)", "not recorded"] {
        assert!(text.contains(words), "{words}: {text}");
    }
    let by_code = page["plant"]["code"].as_str().unwrap().to_lowercase();
    assert_eq!(house.good(&["show", &by_code, "--as", "json"]).json()["plant"]["number"], 1);
}

#[test]
fn entries_are_logged_for_plants_ranges_and_conditions() {
    let house = begun();
    let logged = house.good(&[
        "log",
        "watered",
        "1-2",
        "water=rain",
        "amount=250 ml",
        "--on",
        "2024-06-01",
        "--as",
        "json",
    ]);
    assert_eq!(logged.json()["entries"], 2);
    let logged = house.good(&["log", "clean", "--where", "place=Shelf 2", "--as", "json"]);
    assert_eq!(logged.json()["entries"], 2);
    let page = house.good(&["show", "2", "--as", "json"]).json();
    let kinds: Vec<&str> =
        page["journal"].as_array().unwrap().iter().filter_map(|l| l["kind"].as_str()).collect();
    assert!(kinds.contains(&"watered") && kinds.contains(&"clean"), "{kinds:?}");
}

#[test]
fn undo_takes_back_and_brings_back() {
    let house = begun();
    let entries = || house.good(&["show", "1", "--as", "json"]).json()["entries"].as_i64().unwrap();
    let before = entries();
    house.good(&["log", "watered", "1", "--on", "2024-06-01"]);
    assert_eq!(entries(), before + 1);
    house.good(&["undo"]);
    assert_eq!(entries(), before);
    house.good(&["undo", "--back"]);
    assert_eq!(entries(), before + 1);
}

#[test]
fn what_rests_on_the_undone_is_named_first() {
    let house = begun();
    house.good(&["log", "watered", "1", "--on", "2024-06-01"]);
    let history = house.good(&["history", "--as", "json"]).json();
    let added = history.as_array().unwrap().last().unwrap()["ending"].as_str().unwrap().to_owned();
    let said = house.refused(1, &["undo", &added]);
    assert!(said.contains("--together") && said.contains("watered"), "{said}");
    house.good(&["undo", &added, "--together"]);
    assert_eq!(house.run(&["show", "1"]).status, 1);
}

#[test]
fn a_flower_that_was_followed_gives_evidence() {
    let house = begun();
    for (n, month) in [(1, "03"), (2, "04"), (3, "05"), (4, "06")] {
        let part = format!("1:flower:{n}");
        let (opened, ended) = (format!("2024-{month}-02"), format!("2024-{month}-08"));
        house.good(&["log", "opened", "1:flower", "--on", &opened]);
        house.good(&["log", "ended", &part, "how=dropped", "--on", &ended]);
    }
    let value = house.good(&["ask", "flower_life", "1", "--as", "json"]).json();
    assert_eq!(value["answer"]["evidence"]["records"], 4);
    // Four flowers of six days, and a default of common practice behind them.
    let usually = value["answer"]["usually"]["value"].as_f64().unwrap();
    assert!((usually - 6.0).abs() < 0.5, "{usually}");
    let text = house.good(&["ask", "flower_life", "1"]).out;
    assert!(text.contains("├") && text.contains('│'), "{text}");
    assert!(text.contains(" days ("), "{text}");
    let german = house.good(&["ask", "flower_life", "1", "--lang", "de", "--as", "json"]).json();
    assert!(german["said"]["head"].is_array());
}

#[test]
fn from_a_pollination_to_numbered_seedlings() {
    let house = begun();
    house.good(&["pollinate", "1", "--pollen", "2", "--flowers", "3", "--on", "2024-05-01"]);
    house.good(&["sow", "1", "--count", "40", "--on", "2024-08-01"]);
    house.good(&["log", "germinated", "batch:1", "so_far=12", "--on", "2024-08-20"]);
    house.good(&["prick-out", "1", "2", "--place", "Shelf 3", "--on", "2024-10-01"]);
    let cross = house.good(&["crosses", "1", "--as", "json"]).json();
    assert_eq!(cross["seedlings"].as_array().unwrap().len(), 2);
    let page = house.good(&["show", "seedling:1-2", "--as", "json"]).json();
    assert_eq!(page["seedling"], "1-2");
    let kin = house.good(&["kin", "1", "seedling:1-1", "--as", "json"]).json();
    // The pollen parent is itself a seedling of the seed parent: 1/2·(1/2 + 1/4).
    assert_eq!(kin[0]["kinship"], 0.375);
}

#[test]
fn what_others_said_is_kept_apart() {
    let house = begun();
    house.good(&["question", "1", "Who collected it?", "--whom", "Tamsin Orr"]);
    let open = house.good(&["question", "--as", "json"]).json();
    let ending = open[0]["ending"].as_str().unwrap().to_owned();
    house.good(&[
        "statement",
        "1",
        "Her aunt, in 1988",
        "--by",
        "Tamsin Orr",
        "--trust",
        "probable",
        "--answers",
        &ending,
    ]);
    assert_eq!(house.good(&["question", "--as", "json"]).json().as_array().unwrap().len(), 0);
    let page = house.good(&["show", "1", "--as", "json"]).json();
    assert_eq!(page["statements"][0]["row"]["text"], "Her aunt, in 1988");
}

#[test]
fn backup_verify_restore_export_and_back_in() {
    let house = begun();
    let listed = house.good(&["list", "--as", "csv"]).out;
    house.good(&["backup", "safe.zip"]);
    house.refused(1, &["backup", "safe.zip"]);
    assert_eq!(house.good(&["verify", "safe.zip", "--as", "json"]).json()[0]["plants"], 2);
    house.refused(1, &["restore", "safe.zip"]);
    house.good(&["restore", "safe.zip", "--collection", "other.umbel"]);
    assert_eq!(house.good(&["list", "--as", "csv", "--collection", "other.umbel"]).out, listed);
    house.good(&["export", "tables"]);
    house.good(&["read-export", "tables", "--collection", "third.umbel"]);
    assert_eq!(house.good(&["list", "--as", "csv", "--collection", "third.umbel"]).out, listed);
    assert_eq!(house.good(&["doctor", "--as", "json"]).json()["sound"], true);
}

#[test]
fn cells_that_a_spreadsheet_would_run_are_neutral() {
    let house = House::new();
    house.good(&["add", "--name", "Begonia rex", "--tag", "=1+1"]);
    let csv = house.good(&["list", "--as", "csv"]).out;
    assert!(csv.contains(",'=1+1,"), "{csv}");
    assert_eq!(house.good(&["list", "--as", "json"]).json()["rows"][0]["plant"]["tag"], "=1+1");
}

#[test]
fn names_are_checked_with_and_without_a_collection() {
    let house = House::new();
    let checked = house.good(&["names", "check", "begonia Rex", "--as", "json"]).json();
    assert_eq!(checked[0]["verdict"], "correctable");
    assert_eq!(checked[0]["normalised"], "Begonia rex");
    let house = begun();
    let checked = house.good(&["names", "check", "Begonia 'Marl Evenings'", "--as", "json"]).json();
    assert!(!checked[0]["alike"].as_array().unwrap().is_empty(), "{checked}");
}

#[test]
#[cfg(feature = "pages")]
fn labels_are_written_whole_or_not_at_all() {
    let house = begun();
    let made = house.good(&["labels", "1-2", "--out", "labels.pdf", "--as", "json"]).json();
    assert_eq!(made[0]["labels"], 2);
    assert!(std::fs::read(house.file("labels.pdf")).unwrap().starts_with(b"%PDF"));
    house.refused(2, &["labels", "1", "--size", "6x3", "--out", "small.pdf"]);
    assert!(!house.file("small.pdf").exists());
    let said = house.refused(2, &["labels", "1", "--size", "broad", "--out", "small.pdf"]);
    assert!(said.contains("broad"), "{said}");
}

#[test]
fn a_round_and_how_a_plant_likes_its_water() {
    let house = House::new();
    house.good(&["add", "--name", "Begonia bowerae", "--place", "north shelf"]);
    house.good(&["add", "--name", "Begonia maculata", "--place", "north shelf"]);
    house.good(&["places", "round", "north shelf", "--still-wet", "2", "--feed", "half strength"]);
    let journal = house.good(&["show", "2", "--as", "json"]).json();
    assert!(journal.to_string().contains("Looked: wet"), "{journal}");
    house.good(&["wish", "1", "bone-dry"]);
    let page = house.good(&["show", "1", "--as", "json"]).json();
    assert_eq!(page["wish"], "bone_dry");
    let asked = house.good(&["ask", "drying", "1"]);
    assert!(asked.out.contains("Common practice"), "{}", asked.out);
    let refused = house.run(&["places", "round", "north shelf", "--limp", "7"]);
    assert_eq!(refused.status, 2, "{}", refused.err);
    assert!(refused.err.contains("“7”"), "{}", refused.err);
}

//! Feed on whole records: the shelf, a can by a published worked example, the meter, salts, and when
//! not to feed.

use answers::{
    Answer, Basis, Hand,
    acts::{self, EntryInput, FeedInput, NewPlant, Target, WaterInput},
    ask,
    due::due,
    feed::{self, CanInput, Growth},
    say,
};
use journal::{Journal, SubjectKind};
use serde_json::{Value, json};

use crate::house::{hand, open};

fn answer(journal: &Journal, key: &str, hand: &Hand) -> Answer {
    journal.read(|r| Ok(ask(r, key, 1, hand))).unwrap().unwrap()
}

fn entry(journal: &Journal, hand: &Hand, kind: &str, when: &str, detail: &Value) {
    let input = EntryInput {
        kind: kind.to_owned(),
        when: when.to_owned(),
        detail: {
            let mut fields = detail.as_object().cloned().unwrap();
            fields.retain(|_, v| v.as_str() != Some(""));
            fields
        },
        confirmed: true,
        ..EntryInput::default()
    };
    acts::log(journal, hand, &[Target::Plant(1)], &input).unwrap();
}

fn shelf(journal: &Journal, hand: &Hand) {
    let orchid = FeedInput {
        name: "Orchid feed".to_owned(),
        label: "13-3-15".to_owned(),
        nitrate: "12.4".to_owned(),
        ammonium: "0.6".to_owned(),
        calcium: "8".to_owned(),
        at: "100 0.7".to_owned(),
        usual: "0.5".to_owned(),
        ..FeedInput::default()
    };
    acts::keep_feed(journal, hand, None, &orchid).unwrap();
    let bloom = FeedInput {
        name: "Bloom salt".to_owned(),
        label: "10-30-20".to_owned(),
        urea: "6".to_owned(),
        ammonium: "4".to_owned(),
        ..FeedInput::default()
    };
    acts::keep_feed(journal, hand, None, &bloom).unwrap();
    let water = |name: &str, kind: &str, alkalinity: &str, conductivity: &str| WaterInput {
        name: name.to_owned(),
        kind: kind.to_owned(),
        alkalinity: alkalinity.to_owned(),
        conductivity: conductivity.to_owned(),
        how: "report".to_owned(),
        ..WaterInput::default()
    };
    acts::keep_water(journal, hand, None, &water("Tap", "tap", "220", "650 µS/cm")).unwrap();
    acts::keep_water(journal, hand, None, &water("Rain", "rain", "5", "0.03")).unwrap();
}

fn plant(journal: &Journal, hand: &Hand, name: &str) {
    let new = NewPlant {
        name: Some(name.to_owned()),
        came: Some(dates::Edtf::parse("2024-03").unwrap()),
        place: Some("sill".to_owned()),
        ..NewPlant::default()
    };
    acts::add_plant(journal, hand, &new).unwrap();
}

fn can_input() -> CanInput {
    CanInput {
        feed: "orchid feed".to_owned(),
        nitrogen: "100".to_owned(),
        litres: "5".to_owned(),
        water: "tap".to_owned(),
        soft: "rain".to_owned(),
        alkalinity: "60".to_owned(),
        injector: "100".to_owned(),
        ..CanInput::default()
    }
}

/// 13-3-15 for 100 mg/L of nitrogen: 0.77 g/L, 10 P, 96 K, and 76.9 g/L of stock for 1 : 100; tap of
/// 220 and rain of 5 mg/L for 60: 0.256 of tap, conductivity 0.19. Worked by hand from the stated
/// formulas; the tolerances are those of their last digit.
#[test]
fn a_can_agrees_with_its_worked_example() {
    let (_folder, journal) = open();
    let hand = hand();
    shelf(&journal, &hand);
    let can = journal.read(|r| Ok(feed::can(r, &can_input(), &hand))).unwrap().unwrap();
    assert!((can.grams_per_litre - 0.769).abs() < 5e-4, "{can:?}");
    assert!((can.grams.unwrap() - 3.846).abs() < 5e-3);
    assert!((can.hard_share.unwrap() - 0.2558).abs() < 1e-4);
    let stock = can.stock.as_ref().unwrap();
    assert!((stock.strength - 76.9).abs() < 0.05 && stock.problems.is_empty());
    // 0.256 · 0.65 + 0.744 · 0.03 = 0.189 of the water, and 0.7 of the feed by its label.
    let shown = can.conductivity.unwrap();
    assert!((shown.value - 0.889).abs() < 1e-3, "{shown:?}");
    let contents = can.lines.iter().find(|l| l.what == "In each litre").unwrap();
    assert!(contents.amount.starts_with("N 100, P 10.1, K 95.8"), "{}", contents.amount);
    let spoon = can.lines.iter().find(|l| l.what == "By the spoon").unwrap();
    assert!(spoon.note.contains("25 %"), "a spoon says how far off it is: {}", spoon.note);
    // Calcium here, phosphate there: never in one stock; and no dose of acid.
    let said = can.notes.join(" ");
    assert!(said.contains("Bloom salt") && said.contains("No dose of acid"), "{said}");
}

#[test]
fn what_cannot_be_worked_out_is_refused_with_the_next_step() {
    let (_folder, journal) = open();
    let hand = hand();
    let can = |input: &CanInput| journal.read(|r| Ok(feed::can(r, input, &hand))).unwrap();
    assert!(can(&can_input()).unwrap_err().to_string().contains("no feed yet"));
    shelf(&journal, &hand);
    let changed = |change: &dyn Fn(&mut CanInput)| {
        let mut input = can_input();
        change(&mut input);
        can(&input)
    };
    type Case = (fn(&mut CanInput), &'static str);
    let cases: [Case; 5] = [
        (|i| i.feed = "tomato feed".to_owned(), "Bloom salt"),
        (|i| i.alkalinity = "300".to_owned(), "not between"),
        (|i| i.nitrogen = "much".to_owned(), "not a number"),
        (|i| i.nitrogen = String::new(), "choose a group"),
        (|i| i.water = "well".to_owned(), "no water on the shelf"),
    ];
    for (change, words) in cases {
        let error = changed(&|i| change(i)).unwrap_err().to_string();
        assert!(error.contains(words), "{words}: {error}");
    }
    let strong = changed(&|i| i.injector = "400".to_owned()).unwrap();
    assert!(!strong.stock.unwrap().problems.is_empty(), "308 g/L may not dissolve");
    let by_group = changed(&|i| {
        i.nitrogen = String::new();
        i.group = "gesneriads".to_owned();
    });
    assert!((by_group.unwrap().nitrogen - 60.0).abs() < 1e-9);
}

#[test]
fn a_reading_far_off_says_what_it_can_be() {
    let (_folder, journal) = open();
    let hand = hand();
    shelf(&journal, &hand);
    plant(&journal, &hand, "Begonia bowerae");
    let fed = |when: &str, feed: &str, rate: &str, shown: &str| {
        let detail =
            json!({"water": "tap", "feed": feed, "feed_rate": rate, "conductivity": shown});
        entry(&journal, &hand, "watered", when, &detail);
    };
    // 0.5 g/L of 13 % is 65 mg/L: 0.65 + 0.455 = 1.105 mS/cm.
    fed("2025-11-01", "Orchid feed", "0.5 g/L", "1.15");
    fed("2025-11-03", "Orchid feed", "0.5 g/L", "1.9");
    // 1 g/L of 10 % is 100 mg/L, of which 60 are urea: 0.65 + 0.7 would be expected.
    fed("2025-11-05", "Bloom salt", "1 g/L", "0.95");
    fed("2025-11-07", "unheard-of", "", "0.9");
    let found = journal.read(|r| Ok(feed::metered(r, 10, &hand))).unwrap().unwrap();
    let off: Vec<Option<i64>> =
        found.iter().rev().map(|m| m.off.map(|o| o.round() as i64)).collect();
    assert_eq!(off, [Some(4), Some(72), Some(-30), None], "{found:#?}");
    let words: Vec<&str> = found.iter().rev().map(|m| m.words.as_str()).collect();
    assert!(words[0].is_empty() && words[1].contains("scoop"), "{words:?}");
    assert!(words[2].contains("urea") && words[3].contains("not on the shelf"), "{words:?}");
}

/// Hard water, strong feed and nothing that ever runs out: salts must rise, be said, and be due.
#[test]
fn salts_build_up_and_a_rinse_takes_them_away() {
    let (_folder, journal) = open();
    let hand = hand();
    shelf(&journal, &hand);
    plant(&journal, &hand, "Begonia bowerae");
    let salts = || answer(&journal, "salts", &hand);
    let none = salts();
    assert!(none.usually.is_none() && none.not_enough.is_some());
    let mix = json!({"pot": "10 cm", "mix": {"bark": 4, "perlite": 3, "coir": 2}});
    entry(&journal, &hand, "potted", "2025-01-10", &mix);
    for month in 2..=11 {
        for day in [3, 13] {
            let detail = json!({"amount": "100 ml", "drained": "0 ml", "water": "tap",
                                "feed": "Orchid feed", "feed_rate": "0.5 g/L"});
            let when = format!("2025-{month:02}-{day:02}");
            entry(&journal, &hand, "watered", &when, &detail);
        }
    }
    let full = salts();
    let now = full.usually.as_ref().unwrap();
    // 20 × 0.1 L at 0.65 of water alone is 1.3 mS/cm·L, in 0.1 to 0.3 L of water: above 4.
    assert!(now.lower.unwrap() > 4.0, "{now:?}");
    assert_eq!((full.evidence.records, &full.basis), (20, &Basis::CommonPractice));
    assert!(full.cautions[0].lead.contains("Rinse") && say(&full, &hand).gaps[0].contains("mL"));
    let lines = journal.read(|r| Ok(due(r, &hand))).unwrap().unwrap();
    let rinse = lines.iter().find(|l| l.key == "rinse").unwrap();
    assert!(rinse.text.contains("{}") && rinse.reason.contains("1.5"), "{rinse:?}");
    // A litre and a half of rain, and the meter in what ran out.
    let rinse = json!({"amount": "1.5 l", "drained": "1.4 l", "water": "rain",
                       "drain_conductivity": "0.4"});
    entry(&journal, &hand, "watered", "2025-11-20", &rinse);
    let after = salts();
    let now = after.usually.as_ref().unwrap();
    assert!((now.value.unwrap() - 0.4).abs() < 0.1, "{now:?}");
    assert_eq!(after.basis, Basis::MeasuredHere);
    let lines = journal.read(|r| Ok(due(r, &hand))).unwrap().unwrap();
    assert!(lines.iter().all(|l| l.key != "rinse"), "{lines:?}");
}

#[test]
fn a_plant_that_cannot_use_feed_gets_none_and_the_reason() {
    let (_folder, journal) = open();
    let hand = hand();
    plant(&journal, &hand, "Streptocarpus rexii");
    let head = || say(&answer(&journal, "feed", &hand), &hand).head_text();
    assert_eq!(head(), "In every watering it usually wants 60 mg/L of nitrogen (50–75)");
    let measured = |when: &str, length: &str| {
        let detail = json!({"what": "longest leaf", "length": length});
        entry(&journal, &hand, "measured", when, &detail);
    };
    measured("2025-10-01", "14 cm");
    measured("2025-11-10", "14 cm");
    assert!(head().contains("nothing has grown"), "{}", head());
    measured("2025-11-15", "15.2 cm");
    assert!(head().contains("usually wants"), "{}", head());
    acts::set_growth(&journal, &hand, 1, Growth::Resting).unwrap();
    assert_eq!(head(), "Do not feed it now: it rests");
    acts::set_growth(&journal, &hand, 1, Growth::Growing).unwrap();
    entry(&journal, &hand, "checked_roots", "2025-11-18", &json!({"roots": "few", "rotten": true}));
    assert!(head().contains("rotten"), "{}", head());
    entry(&journal, &hand, "potted", "2025-11-19", &json!({"roots": "few"}));
    assert!(head().contains("potted"), "{}", head());
}

/// What is kept is claims: it is undone like anything else, and survives export and reading in.
#[test]
fn the_shelf_is_undone_used_up_and_exported() {
    let (folder, journal) = open();
    let hand = hand();
    shelf(&journal, &hand);
    let kept = |journal: &Journal| journal.read(|r| Ok(feed::kept(r))).unwrap().unwrap();
    let all = kept(&journal);
    assert_eq!((all.feeds.len(), all.waters.len()), (2, 2));
    let tables = folder.path().join("tables");
    journal.export(&tables).unwrap();
    let (again, _) = Journal::open(folder.path().join("again.umbel")).unwrap();
    again.read_export(&tables).unwrap();
    assert_eq!(kept(&again), all);
    let bloom = all.feed("bloom salt").unwrap().number;
    let op = acts::use_up(&journal, &hand, bloom).unwrap();
    assert_eq!(kept(&journal).feeds.len(), 1);
    journal.undo(op, false, &hand.who, &hand.device, hand.now).unwrap();
    assert_eq!(kept(&journal), all);
    let last = journal.read(|r| r.last_operation()).unwrap().unwrap().uid;
    journal.undo(last, true, &hand.who, &hand.device, hand.now).unwrap();
    assert_eq!(kept(&journal).waters.len(), 1, "the last water is gone with its operation");
    let subjects = journal.read(|r| r.subjects_of_kind(SubjectKind::Supply)).unwrap();
    assert_eq!(subjects.len(), 3);
}

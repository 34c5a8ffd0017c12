//! Pests on whole records: troubles by hand, dates at a recorded temperature, newcomers, groups,
//! neighbours, what was sprayed.

use answers::{
    Hand,
    acts::{self, EntryInput, NewPlant, Target},
    due,
    pests::{self, Pests, State, Way},
};
use jiff::civil::Date;
use journal::{Journal, SubjectKind};
use serde_json::{Value, json};

use crate::house::{hand, open};

fn plant(journal: &Journal, hand: &Hand, name: &str, place: &str) {
    let new = NewPlant {
        name: Some(name.to_owned()),
        came: Some(dates::Edtf::parse("2024-03-02").unwrap()),
        place: Some(place.to_owned()),
        ..NewPlant::default()
    };
    acts::add_plant(journal, hand, &new).unwrap();
}

fn put(journal: &Journal, target: Target, kind: &str, when: &str, detail: &Value) {
    let input = EntryInput {
        kind: kind.to_owned(),
        when: when.to_owned(),
        detail: detail.as_object().unwrap().clone(),
        confirmed: true,
        ..EntryInput::default()
    };
    acts::log(journal, &hand(), &[target], &input).unwrap();
}

fn place(n: i64) -> Target {
    Target::Numbered(SubjectKind::Place, n)
}

fn house_of(journal: &Journal, hand: &Hand) -> Pests {
    journal.read(|r| Ok(pests::of_house(r, hand))).unwrap().unwrap()
}

fn day(text: &str) -> i64 {
    i64::from(dates::to_days(text.parse().unwrap()))
}

/// A sill at 24 °C every third day of autumn 2025 with three plants, and a shelf with one.
fn warm_sill() -> (tempfile::TempDir, Journal) {
    let (folder, journal) = open();
    let hand = hand();
    for name in ["Begonia bowerae", "Begonia maculata", "Peperomia caperata"] {
        plant(&journal, &hand, name, "kitchen sill");
    }
    plant(&journal, &hand, "Dischidia ovata", "landing shelf");
    let mut date = Date::constant(2025, 9, 1);
    while date <= hand.today {
        put(&journal, place(1), "reading", &date.to_string(), &json!({"temperature": "24 °C"}));
        date += jiff::Span::new().days(3);
    }
    (folder, journal)
}

fn head(t: &answers::pests::Told) -> String {
    t.said.head_text()
}

#[test]
fn a_find_a_treatment_and_looks_give_the_chance_by_the_formula() {
    let (_folder, journal) = warm_sill();
    let hand = hand();
    put(&journal, Target::Plant(1), "pest_seen", "2025-10-20", &json!({"pest": "red spider mite"}));
    let one = &house_of(&journal, &hand).open[0];
    assert!((one.trouble.chance.unwrap().value - 0.95).abs() < 1e-12);
    put(&journal, place(1), "treated", "2025-10-21", &json!({"unknown_product": true}));
    put(&journal, place(1), "clean", "2025-10-28", &json!({"looked_for": "Spinnmilben"}));
    // Two looks of one day are one; one for something else is none.
    put(&journal, Target::Plant(1), "clean", "2025-10-28", &json!({"how": "lens"}));
    put(&journal, Target::Plant(1), "clean", "2025-11-03", &json!({"looked_for": "thrips"}));
    let all = house_of(&journal, &hand);
    let tr = &all.open[0].trouble;
    assert_eq!((all.open.len(), tr.looks, tr.pest.as_str()), (1, 1, "spider mite"));
    // 0.5 · 0.5 / (0.5 · 0.5 + 0.5), and after the next look 0.5 · 0.3 / (0.5 · 0.3 + 0.5).
    assert!((tr.chance.unwrap().value - 1.0 / 3.0).abs() < 1e-12);
    // With all guesses at their kind ends 0.3 · 0.3 / (0.3 · 0.3 + 0.7), at their unkind ends
    // 0.7 · 0.7 / (0.7 · 0.7 + 0.3).
    assert!((tr.chance.unwrap().lower - 0.09 / 0.79).abs() < 1e-12);
    assert!((tr.chance.unwrap().upper - 0.49 / 0.79).abs() < 1e-12);
    assert!((tr.after_next.unwrap() - 0.15 / 0.65).abs() < 1e-12);
    let words = head(&all.open[0].told);
    let begins =
        "Spider mite, kitchen sill, since 20 Oct. That some are still there: unlikely yet, 33 % (";
    assert!(words.starts_with(begins) && words.ends_with("); after a clean look 23 %."), "{words}");
}

#[test]
fn dates_follow_the_recorded_temperature() {
    let (_folder, journal) = warm_sill();
    let hand = hand();
    put(&journal, Target::Plant(1), "pest_seen", "2025-11-10", &json!({"pest": "spider mite"}));
    put(&journal, Target::Plant(1), "treated", "2025-11-10", &json!({"product": "soap"}));
    let all = house_of(&journal, &hand);
    let tr = &all.open[0].trouble;
    // A generation of 146.5 K d at 24 − 12.5 K: 12.7 days, the fastest tenth 9.9, the slowest 16.5
    // in all; what comes after today is not known to better than a degree.
    let g = tr.generation.unwrap();
    let after = |d: i64| d - day("2025-11-10");
    assert_eq!(after(g.usual), 13);
    assert!(after(g.fast) == 10 && (16..=18).contains(&after(g.slow)), "{g:?}");
    // Eggs 63.4 / (24 − 12.87) = 5.7 days; hatching to adult 7.1, the fastest tenth 5.5: the
    // window is closed when the spread is honest, and one repeat does not do. It opens when the
    // first of half the eggs or the fastest young is through, on the sixth day, and is never said
    // to close before it opens.
    let w = tr.window.unwrap();
    assert_eq!((after(w.opens), after(w.closes), w.one_does, w.repeats), (6, 6, false, 2));
    // A third of the fastest generation later, at the latest half of it: 10 / 3 and 10 / 2 days.
    assert_eq!(tr.next_look.map(|n| (after(n.0), after(n.1))), Some((3, 5)));
    // On the cool landing nobody measured: 20 to 24 °C are assumed, and it is said so.
    put(&journal, Target::Plant(4), "pest_seen", "2025-11-10", &json!({"pest": "spider mite"}));
    let all = house_of(&journal, &hand);
    let cool = all.open.iter().find(|s| s.trouble.place.as_ref().unwrap().0 == 2).unwrap();
    let c = cool.trouble.generation.unwrap();
    assert!(c.slow - c.fast > g.slow - g.fast, "{c:?} {g:?}");
    assert!(cool.told.said.gaps.iter().any(|gap| gap.contains("20 to 24 °C")));
}

#[test]
fn what_is_not_known_by_name_gets_the_fastest_and_the_slowest() {
    let (_folder, journal) = warm_sill();
    let hand = hand();
    put(&journal, Target::Plant(1), "pest_seen", "2025-11-10", &json!({"pest": "white fluff"}));
    put(&journal, Target::Plant(2), "pest_seen", "2025-11-10", &json!({"pest": "spider mite"}));
    let all = house_of(&journal, &hand);
    let of = |name: &str| {
        all.open.iter().find(|s| s.trouble.pest == name).unwrap().trouble.generation.unwrap()
    };
    let (any, mite) = (of("white fluff"), of("spider mite"));
    assert!(any.fast < mite.fast && any.slow > mite.slow, "{any:?} {mite:?}");
}

#[test]
fn a_trouble_is_over_after_looks_and_a_generation_and_not_before() {
    let (_folder, journal) = warm_sill();
    put(&journal, Target::Plant(1), "pest_seen", "2025-09-20", &json!({"pest": "spider mite"}));
    for when in ["2025-09-21", "2025-09-26"] {
        put(&journal, Target::Plant(1), "treated", when, &json!({"product": "soap"}));
    }
    // Enough looks, all before the generation after the last treatment is through.
    for when in ["2025-09-27", "2025-09-29", "2025-10-01", "2025-10-03", "2025-10-05"] {
        put(&journal, Target::Plant(1), "clean", when, &json!({}));
    }
    let all = house_of(&journal, &hand());
    assert_eq!(all.open.len(), 1);
    assert_eq!(all.open[0].trouble.more, Some(0));
    put(&journal, Target::Plant(1), "clean", "2025-10-12", &json!({}));
    let all = house_of(&journal, &hand());
    assert_eq!((all.open.len(), all.over.len()), (0, 1));
    // Found again a month later: the same trouble, and it is there.
    put(&journal, Target::Plant(1), "pest_seen", "2025-11-01", &json!({"pest": "Rote Spinne"}));
    let all = house_of(&journal, &hand());
    assert_eq!((all.open.len(), all.over.len()), (1, 0));
    assert!(all.open[0].trouble.chance.unwrap().value > 0.9);
    assert_eq!(all.open[0].trouble.since(), day("2025-09-20"));
    // Half a year of silence: what is there now is not known.
    let later = Hand { today: Date::constant(2026, 7, 1), ..hand() };
    let all = house_of(&journal, &later);
    assert_eq!((all.silent.len(), all.silent[0].trouble.state), (1, State::Silent));
    assert!(head(&all.silent[0].told).ends_with("is not known"), "{}", head(&all.silent[0].told));
}

#[test]
fn where_it_was_on_two_plants_the_one_looked_at_least_decides() {
    let (_folder, journal) = warm_sill();
    for n in [1, 2] {
        put(&journal, Target::Plant(n), "pest_seen", "2025-11-01", &json!({"pest": "mealybug"}));
    }
    put(&journal, Target::Plant(1), "clean", "2025-11-08", &json!({}));
    put(&journal, Target::Plant(1), "clean", "2025-11-12", &json!({}));
    let looks = |j: &Journal| house_of(j, &hand()).open[0].trouble.looks;
    assert_eq!(looks(&journal), 0);
    put(&journal, place(1), "clean", "2025-11-15", &json!({"looked_for": "Wolläuse"}));
    assert_eq!(looks(&journal), 1);
}

#[test]
fn the_label_comes_before_the_dates() {
    let (_folder, journal) = warm_sill();
    put(&journal, Target::Plant(1), "pest_seen", "2025-11-18", &json!({"pest": "spider mite"}));
    let detail =
        json!({"product": "green bottle", "label_days_between": 14, "label_most_a_year": 2});
    put(&journal, Target::Plant(1), "treated", "2025-11-18", &detail);
    let all = house_of(&journal, &hand());
    let tr = &all.open[0].trouble;
    assert_eq!(tr.label_before, Some(day("2025-12-02")));
    let said: Vec<String> =
        all.open[0].told.more.iter().map(|l| l.iter().map(|b| b.text.as_str()).collect()).collect();
    assert!(
        said.iter().any(|l| l.contains("the label holds, and the window is missed")),
        "{said:?}"
    );
    let lines = journal.read(|r| Ok(due::due(r, &hand()))).unwrap().unwrap();
    assert!(lines.iter().all(|l| !l.key.starts_with("treat_again")), "a date against the label");
    // The second treatment of the year reaches the maximum.
    put(&journal, Target::Plant(1), "treated", "2025-11-20", &detail);
    let all = house_of(&journal, &hand());
    assert_eq!(all.open[0].trouble.label_reached, Some(2));
}

#[test]
fn newcomers_wait_for_a_generation_and_for_looks() {
    let (_folder, journal) = warm_sill();
    let hand = hand();
    let new = NewPlant {
        name: Some("Begonia versicolor".to_owned()),
        came: Some(dates::Edtf::parse("2025-10-01").unwrap()),
        keeper: Some("Tamsin Orr".to_owned()),
        place: Some("guest room".to_owned()),
        ..NewPlant::default()
    };
    acts::add_plant(&journal, &hand, &new).unwrap();
    put(&journal, Target::Plant(5), "kept_apart", "2025-10-01", &json!({}));
    for when in ["2025-10-08", "2025-10-15", "2025-10-22", "2025-10-29"] {
        put(&journal, place(3), "clean", when, &json!({}));
    }
    let n = &house_of(&journal, &hand).newcomers[0].newcomers;
    // Four looks leave 3.4 %; a generation of citrus mealybug at 22 °C takes 49 days.
    assert!((n.chance.value - 0.0345).abs() < 5e-4, "{:?}", n.chance);
    assert_eq!(n.generation.unwrap().usual - day("2025-10-01"), 49);
    assert_eq!((n.more, n.looks, n.ready), (Some(1), 4, false));
    let lines = journal.read(|r| Ok(due::due(r, &hand))).unwrap().unwrap();
    let line = lines.iter().find(|l| l.key == "let_in").unwrap();
    assert!(line.done.iter().all(|d| d.kind != "let_in"), "offered too soon");
    put(&journal, place(3), "clean", "2025-11-20", &json!({}));
    let n = &house_of(&journal, &hand).newcomers[0].newcomers;
    assert!(n.ready && n.chance.value < 0.03);
    let lines = journal.read(|r| Ok(due::due(r, &hand))).unwrap().unwrap();
    let line = lines.iter().find(|l| l.key == "let_in").unwrap();
    assert_eq!(line.done[0].kind, "let_in");
    put(&journal, Target::Plant(5), "let_in", "2025-11-20", &json!({}));
    assert!(house_of(&journal, &hand).newcomers.is_empty());
}

#[test]
fn the_same_group_in_two_generations_is_warned_of() {
    let (_folder, journal) = warm_sill();
    let hand = hand();
    put(&journal, Target::Plant(1), "pest_seen", "2025-10-01", &json!({"pest": "spider mite"}));
    let treat = |when: &str, group: &str| {
        let detail = json!({"product": "bottle", "label_group": group, "against": "spider mite"});
        put(&journal, Target::Plant(1), "treated", when, &detail);
    };
    let watch = || {
        let all = house_of(&journal, &hand);
        all.open[0].rotation.as_ref().unwrap().watch.clone()
    };
    // Twice within one generation of 13 days is one use.
    treat("2025-10-02", "IRAC 6");
    treat("2025-10-08", "IRAC 6");
    assert!(watch().iter().all(|w| !w.contains("two generations")), "{:?}", watch());
    treat("2025-10-20", "6");
    assert!(
        watch().iter().any(|w| w.starts_with("Group 6 came in two generations")),
        "{:?}",
        watch()
    );
    treat("2025-11-10", "4A + 4C");
    let all = watch();
    assert!(all.iter().any(|w| w.contains("holds group 4 twice")), "{all:?}");
    assert!(all.iter().any(|w| w.contains("present generation: group 4")), "{all:?}");
}

#[test]
fn neighbours_are_named_with_reasons_and_those_that_shared_a_tray_first() {
    let (_folder, journal) = warm_sill();
    put(&journal, Target::Plant(1), "clean", "2025-10-25", &json!({}));
    put(&journal, Target::Plant(1), "pest_seen", "2025-11-10", &json!({"pest": "mealybug"}));
    let uid = journal.read(|r| Ok(r.plant(3)?.unwrap().uid.to_string())).unwrap();
    put(
        &journal,
        Target::Plant(1),
        "shared",
        "2025-11-02",
        &json!({"what": "tray", "with": [uid]}),
    );
    let all = house_of(&journal, &hand());
    let next = &all.open[0].neighbours.as_ref().unwrap().next;
    let numbers: Vec<i64> = next.iter().map(|b| b.plant.unit.number).collect();
    assert_eq!(numbers, [3, 2, 4]);
    assert!(next[0].reasons[0].contains("shared a tray"), "{:?}", next[0].reasons);
    // After the last clean look: 26 October to 21 November.
    assert!(next[1].reasons[0].starts_with("27 days at the same place"), "{:?}", next[1].reasons);
    assert!(next[2].reasons[0].contains("next to kitchen sill"), "{:?}", next[2].reasons);
    // A look puts it last.
    put(&journal, Target::Plant(3), "clean", "2025-11-12", &json!({}));
    let all = house_of(&journal, &hand());
    let next = &all.open[0].neighbours.as_ref().unwrap().next;
    assert_eq!(next.last().unwrap().plant.unit.number, 3);
}

#[test]
fn what_was_sprayed_is_found_from_a_damaged_leaf() {
    let (_folder, journal) = warm_sill();
    let hand = hand();
    let sprayed = |n: i64, before: Option<Date>| {
        journal.read(|r| Ok(pests::sprayed(r, n, before, &hand))).unwrap().unwrap()
    };
    let sill = journal.read(|r| Ok(r.place(1)?.unwrap().uid.to_string())).unwrap();
    put(&journal, Target::Plant(1), "placed", "2025-08-01", &json!({"place": sill}));
    // On the plant, on its place before and after it moved, and on another place.
    put(&journal, Target::Plant(1), "treated", "2025-09-01", &json!({"product": "soap"}));
    put(&journal, place(1), "treated", "2025-10-10", &json!({"unknown_product": true}));
    put(&journal, place(2), "treated", "2025-10-11", &json!({"product": "not here"}));
    let shelf = journal.read(|r| Ok(r.place(2)?.unwrap().uid.to_string())).unwrap();
    put(&journal, Target::Plant(1), "placed", "2025-10-15", &json!({"place": shelf}));
    put(&journal, place(1), "treated", "2025-10-20", &json!({"product": "too late there"}));
    put(&journal, place(2), "treated", "2025-10-30", &json!({"product": "after the damage"}));
    let damage = json!({"damage": "burnt_edge", "leaves": 2});
    put(&journal, Target::Part(1, None, "leaf".to_owned()), "damage_seen", "2025-10-22", &damage);
    let list = sprayed(1, None);
    type Got<'a> = (Option<&'a str>, Way, Option<(i64, i64)>);
    let got: Vec<Got<'_>> =
        list.treatments.iter().map(|s| (s.product.as_deref(), s.way, s.before)).collect();
    assert_eq!(
        got,
        [
            (Some("after the damage"), Way::Place, None),
            (None, Way::Place, Some((12, 12))),
            (Some("soap"), Way::Itself, Some((51, 51))),
        ]
    );
    assert!(list.counted_from.contains("22 Oct"), "{}", list.counted_from);
    assert_eq!(list.treatments[0].before_words, "after it");
    // Up to a day that is asked for nothing later is listed.
    assert_eq!(sprayed(1, Some(Date::constant(2025, 10, 12))).treatments.len(), 2);
    // A piece of it carries what its mother got before it was taken.
    let mother = journal.read(|r| Ok(r.plant(1)?.unwrap().uid.to_string())).unwrap();
    plant(&journal, &hand, "Begonia bowerae", "bathroom");
    put(
        &journal,
        Target::Plant(5),
        "arrived",
        "2025-10-12",
        &json!({"piece_of": mother, "own": true}),
    );
    let list = sprayed(5, None);
    assert_eq!(list.treatments.len(), 2);
    assert!(list.treatments.iter().all(|s| s.way == Way::Mother), "{list:?}");
    let all = house_of(&journal, &hand);
    assert_eq!((all.damage.len(), all.damage[0].treatments), (1, 2));
}

#[test]
fn a_look_on_today_ends_its_line_and_a_virus_gives_none() {
    let (_folder, journal) = warm_sill();
    put(&journal, Target::Plant(1), "pest_seen", "2025-11-10", &json!({"pest": "mealybug"}));
    put(&journal, Target::Plant(2), "pest_seen", "2025-11-10", &json!({"pest": "virus"}));
    let lines = |j: &Journal| j.read(|r| Ok(due::due(r, &hand()))).unwrap().unwrap();
    let all = lines(&journal);
    assert_eq!(all.len(), 1, "{all:?}");
    let line = &all[0];
    assert_eq!((line.about.kind, line.about.number), (SubjectKind::Plant, 1));
    let kinds: Vec<&str> = line.done.iter().map(|d| d.kind).collect();
    assert_eq!(kinds, ["clean", "pest_seen"]);
    assert!(line.reason.contains("almost certainly, 95 %"), "{}", line.reason);
    let detail = Value::Object(line.done[0].detail.clone());
    put(&journal, Target::Plant(1), "clean", "2025-11-21", &detail);
    let after = lines(&journal);
    assert!(after[0].day > day("2025-11-21"), "{after:?}");
    let all = house_of(&journal, &hand());
    let virus = all.open.iter().find(|s| s.trouble.pest == "virus").unwrap();
    assert!(virus.trouble.chance.is_none() && virus.trouble.next_look.is_none());
    assert!(head(&virus.told).contains("next to nothing"));
}

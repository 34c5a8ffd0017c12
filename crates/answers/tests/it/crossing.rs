//! Crosses on whole records: followed to their end, told in chances, refused where they cannot be.

use std::time::Instant;

use answers::{
    Hand,
    acts::{self, EntryInput, NewPlant, NewPollination, ParentInput, Target},
    crossing::{self, Cold, CrossKind, Engine, Group, Wanted, slash},
    due::{self, Due},
};
use jiff::civil::Date;
use journal::{Journal, SubjectKind, Uid};
use names::checklist::Checklist;
use serde_json::{Value, json};
use stats::model::{Column, Frame, RandomSpec, Term};
use stats::success::{Batch, Model, RateKnown, Stage, Yield, follow, logistic, start_for};
use trial::breeders::{Breeder, World, write_breeder};

use crate::{
    cross_gates::attempts,
    house::{hand, open},
};

fn on(day: &str) -> Hand {
    let today: Date = day.parse().unwrap();
    Hand { today, now: format!("{day}T18:00:00Z").parse().unwrap(), ..hand() }
}

pub(crate) fn plant(journal: &Journal, name: &str) -> i64 {
    let new = NewPlant {
        name: Some(name.to_owned()),
        came: Some(dates::Edtf::parse("2023-03").unwrap()),
        ..NewPlant::default()
    };
    acts::add_plant(journal, &hand(), &new).unwrap().numbers[0]
}

pub(crate) fn clone_of(journal: &Journal, plant: i64) -> Uid {
    journal.read(|r| Ok(r.clone_by_id(r.plant(plant)?.unwrap().clone)?.unwrap().uid)).unwrap()
}

fn try_entry(
    journal: &Journal,
    target: Target,
    kind: &str,
    when: &str,
    detail: &Value,
) -> answers::Result<()> {
    let input = EntryInput {
        kind: kind.to_owned(),
        when: when.to_owned(),
        detail: detail.as_object().cloned().unwrap(),
        confirmed: true,
        ..EntryInput::default()
    };
    acts::log(journal, &hand(), &[target], &input).map(|_| ())
}

pub(crate) fn entry(journal: &Journal, target: Target, kind: &str, when: &str, detail: &Value) {
    try_entry(journal, target, kind, when, detail).unwrap();
}

fn pollination(number: i64) -> Target {
    Target::Numbered(SubjectKind::Pollination, number)
}

fn batch(number: i64) -> Target {
    Target::Numbered(SubjectKind::Batch, number)
}

pub(crate) fn pollinate(
    journal: &Journal,
    seed: i64,
    pollen: i64,
    flowers: u64,
    when: &str,
) -> i64 {
    let new = NewPollination {
        seed_plant: seed,
        pollen: ParentInput::Plant(pollen),
        flowers: Some(flowers),
        when: when.to_owned(),
        ..NewPollination::default()
    };
    acts::pollinate(journal, &hand(), &new).unwrap().1
}

pub(crate) fn engine(journal: &Journal, hand: &Hand, also: &[Uid]) -> Engine {
    ask(journal, |r| Engine::read(r, hand, Checklist::shipped(), also))
}

/// Reads with the errors of the answers.
pub(crate) fn ask<T>(
    journal: &Journal,
    f: impl FnOnce(&journal::Reader<'_>) -> answers::Result<T>,
) -> T {
    journal.read(|r| Ok(f(r))).unwrap().unwrap()
}

fn lines(journal: &Journal, hand: &Hand) -> Vec<Due> {
    ask(journal, |r| due::due(r, hand)).into_iter().filter(|l| l.group == "Crosses").collect()
}

/// Two plants and a cross that was followed to the flower of a seedling.
fn followed(journal: &Journal) -> i64 {
    plant(journal, "Streptocarpus rexii");
    plant(journal, "Streptocarpus cyaneus");
    let cross = pollinate(journal, 1, 2, 5, "2024-01-10");
    pollinate(journal, 1, 2, 3, "2024-01-20");
    entry(journal, pollination(1), "pod_seen", "2024-02-05", &json!({"count": 3}));
    entry(journal, pollination(1), "pod_lost", "2024-02-15", &json!({"count": 1}));
    entry(journal, pollination(1), "pod_ripe", "2024-03-05", &json!({"count": 2}));
    entry(
        journal,
        pollination(1),
        "seeds_counted",
        "2024-03-06",
        &json!({"full": 60, "empty": 40}),
    );
    let hand = hand();
    let detail = json!({"count": 60, "medium": "vermiculite"});
    acts::sow(journal, &hand, cross, "2024-03-20", &detail, None).unwrap();
    entry(journal, batch(1), "germinated", "2024-04-02", &json!({"so_far": 11}));
    entry(journal, batch(1), "germinated", "2024-04-20", &json!({"so_far": 42}));
    entry(journal, batch(1), "pricked_out", "2024-05-20", &json!({"count": 30, "left": 12}));
    acts::prick_out(journal, &hand, cross, 4, "2024-08-01", None).unwrap();
    entry(journal, Target::Plant(3), "opened", "2025-02-01", &json!({"part": "flower"}));
    entry(journal, Target::Plant(4), "lost", "2024-10-01", &json!({"why": "rot"}));
    cross
}

#[test]
fn a_cross_shows_its_whole_path_with_counts_and_intervals() {
    let (_folder, journal) = open();
    let cross = followed(&journal);
    let hand = hand();
    let engine = engine(&journal, &hand, &[]);
    let path = ask(&journal, |r| engine.path(r, cross, &hand));
    assert_eq!(path.kind, CrossKind::Single);
    let counts: Vec<(Option<u64>, Option<u64>)> =
        path.stages.iter().map(|s| (s.count, s.of)).collect();
    let expected = [
        (Some(8), None),
        // Of the second pollination nobody told: its three flowers are not among the five.
        (Some(3), Some(5)),
        (Some(2), Some(3)),
        (Some(100), None),
        (Some(60), Some(100)),
        (Some(60), None),
        (Some(42), Some(60)),
        (Some(30), Some(42)),
        (Some(4), None),
        (Some(3), Some(4)),
        (Some(1), Some(4)),
    ];
    assert_eq!(counts, expected);
    let pods = path.stages[1].share.unwrap();
    // Wilson's interval of 3 in 5 for 80 %, by hand: z = 1.28155.
    assert!((pods.1 - 0.3306).abs() < 1e-3 && (pods.2 - 0.8202).abs() < 1e-3, "{pods:?}");
    assert!(path.stages[1].text.starts_with("pods: 3 of 5, 60 %"), "{}", path.stages[1].text);
    assert!(path.lines.iter().any(|l| l.contains("nobody told")), "{:?}", path.lines);
}

#[test]
fn kinds_of_crosses_are_told_and_reciprocals_are_linked() {
    let (_folder, journal) = open();
    let first = followed(&journal);
    let hand = hand();
    let back = pollinate(&journal, 2, 1, 2, "2024-05-01");
    let own = pollinate(&journal, 1, 1, 2, "2024-05-02");
    let sibs = pollinate(&journal, 3, 5, 1, "2025-03-01");
    let parent = pollinate(&journal, 3, 1, 1, "2025-03-01");
    let with = |pollen: &str, open: bool| {
        let new = NewPollination {
            seed_plant: 1,
            pollen: ParentInput::read(pollen),
            open,
            when: "2025-04-01".to_owned(),
            ..NewPollination::default()
        };
        acts::pollinate(&journal, &hand, &new).unwrap().1
    };
    let (bees, unknown) = (with("?", true), with("?", false));
    let mixed = with("Streptocarpus cyaneus or Streptocarpus rexii", false);
    let engine = engine(&journal, &hand, &[]);
    let of = |n: i64| engine.crosses.cross(n).unwrap();
    for (number, kind) in [
        (first, CrossKind::Single),
        (own, CrossKind::Own),
        (sibs, CrossKind::Sibs),
        (parent, CrossKind::Back),
        (bees, CrossKind::Open),
        (unknown, CrossKind::Unknown),
        (mixed, CrossKind::Mixed),
    ] {
        assert_eq!(engine.kind(of(number)), kind, "cross {number}");
    }
    assert_eq!(engine.reciprocal(of(first)), [back]);
    assert_eq!(engine.reciprocal(of(back)), [first]);
    assert!(engine.reciprocal(of(own)).is_empty());
}

#[test]
fn the_outcome_of_a_pollination_is_asked_for_and_a_failure_becomes_a_record() {
    let (_folder, journal) = open();
    plant(&journal, "Dischidia nummularia");
    plant(&journal, "Dischidia hirsuta");
    pollinate(&journal, 1, 2, 15, "2025-10-01");
    // Three weeks after, and a fortnight ahead of that.
    assert!(lines(&journal, &on("2025-10-06")).is_empty());
    let hand = on("2025-10-23");
    let asked = lines(&journal, &hand);
    let tell = asked.iter().find(|l| l.key == "tell").unwrap();
    assert_eq!((tell.about.kind, tell.about.number), (SubjectKind::Pollination, 1));
    assert!(tell.text.contains("15 flowers"), "{}", tell.text);
    let none = &tell.done[0];
    assert_eq!(none.words, "did not take");
    let clones = [clone_of(&journal, 1), clone_of(&journal, 2)];
    let before = engine(&journal, &hand, &[]);
    assert_eq!(before.tally(clones[0], clones[1]).untold, 1);
    entry(&journal, pollination(1), none.kind, "2025-10-23", &Value::Object(none.detail.clone()));
    assert!(lines(&journal, &hand).iter().all(|l| l.key != "tell"));
    let engine = engine(&journal, &hand, &[]);
    let tally = engine.tally(clones[0], clones[1]);
    assert_eq!((tally.flowers, tally.took, tally.untold), (15, 0, 0));
    let wanted = Wanted { flowers: 6, seedlings: 1 };
    let said = engine.chance((clones[0], clones[1]), wanted, &hand).unwrap();
    assert!((said.limit.unwrap() - 0.181).abs() < 5e-4);
    let line =
        "0 of 15 so far: up to 18 % would still fit (one-sided, 95 %, with no belief beforehand).";
    assert!(said.lines.iter().any(|l| l == line), "{:#?}", said.lines);
    // Beliefs and fifteen failures together: below the belief of 8 %, and not 0.
    assert!(said.per_flower.mean > 0.0 && said.per_flower.mean < 0.08, "{:?}", said.per_flower);
    assert!(said.per_flower.lower > 0.0);
    assert!(
        said.at_least_one
            < before.chance((clones[0], clones[1]), wanted, &hand).unwrap().at_least_one
    );
    let sentence = journal
        .read(|r| Ok(r.all_of_kind("pod_seen")?.remove(0)))
        .and_then(|e| journal.read(|r| Ok(answers::entry_sentence(r, &e, hand.texts()))))
        .unwrap()
        .unwrap();
    assert_eq!(sentence.text, "No pod: it did not take.");
}

#[test]
fn defaults_put_pairs_of_similar_kind_and_of_one_territory_first() {
    // Common practice, no source: pairs of one kind or territory take more often than distant ones.
    let (_folder, journal) = open();
    let mut plants = Vec::new();
    for name in [
        "Begonia bowerae",
        "Begonia bowerae",
        "Begonia venosa",
        "Begonia luxurians",
        "Begonia maculata",
        "Streptocarpus rexii",
    ] {
        plants.push(plant(&journal, name));
    }
    let hand = hand();
    let clones: Vec<Uid> = plants.iter().map(|p| clone_of(&journal, *p)).collect();
    let numbers: Vec<i64> = journal
        .read(|r| {
            let number = |u: &Uid| Ok(r.clone_by_uid(*u)?.unwrap().number);
            clones.iter().map(number).collect::<journal::Result<Vec<i64>>>()
        })
        .unwrap();
    let say = |k: usize, key: &str, words: &str| {
        crossing::describe(&journal, &hand, numbers[k], &[(key, words)]).unwrap();
    };
    for k in [0, 2] {
        say(k, "section", "Gireoudia");
        say(k, "clade", "one");
    }
    say(3, "clade", "one");
    say(3, "section", "other");
    say(4, "clade", "two");
    say(4, "section", "third");
    let engine = engine(&journal, &hand, &clones);
    let rate = |a: usize, b: usize| engine.rate(clones[a], clones[b]).unwrap().log_odds().0;
    let order = [rate(0, 1), rate(0, 2), rate(0, 3), rate(0, 4), rate(0, 5)];
    assert!(order.windows(2).all(|w| w[0] > w[1]), "{order:?}");
    // Sets of chromosomes apart lower it.
    say(2, "ploidy", "4x");
    say(0, "ploidy", "2x");
    let engine = self::engine(&journal, &hand, &clones);
    let apart = engine.rate(clones[0], clones[2]).unwrap().log_odds().0;
    // Of pairs between species three in eight are believed barred; the others lose 1.5.
    assert!((order[1] - apart - 0.625 * 1.5).abs() < 1e-9, "{apart}");
    // Every belief is shown with its source and can be changed.
    let said =
        engine.chance((clones[0], clones[2]), Wanted { flowers: 3, seedlings: 1 }, &hand).unwrap();
    let ploidy = said.terms.iter().find(|t| t.key == "ploidy").unwrap();
    assert!(ploidy.source.contains("Doorenbos 1973") && !ploidy.own);
    crossing::change_belief(&journal, "ploidy", "−0.5 ± 0.2").unwrap();
    let engine = self::engine(&journal, &hand, &clones);
    let milder = engine.rate(clones[0], clones[2]).unwrap().log_odds().0;
    assert!((order[1] - milder - 0.625 * 0.5).abs() < 1e-9, "{milder}");
    crossing::change_belief(&journal, "take_begonia", "60 %").unwrap();
    assert!(crossing::change_belief(&journal, "take_begonia", "0 %").is_err());
    assert!(crossing::change_belief(&journal, "luck", "1").is_err());
    crossing::change_belief(&journal, "ploidy", "").unwrap();
    let engine = self::engine(&journal, &hand, &clones);
    assert!(!engine.beliefs.get("ploidy").unwrap().own);
    assert!(engine.beliefs.get("take_begonia").unwrap().own);
}

#[test]
fn a_shared_range_counts_where_the_checklist_has_areas_and_is_blank_elsewhere() {
    let (_folder, journal) = open();
    // Two species of the shipped list that share areas, found there and not by their names.
    let list = Checklist::shipped();
    let native = |e: &names::checklist::Entry<'_>| -> Vec<String> {
        let all = e.areas().filter(|a| a.1 == names::checklist::Occurrence::Native);
        all.map(|a| a.0.to_owned()).collect()
    };
    let with: Vec<_> = list
        .iter()
        .filter(|e| e.rank().eq_ignore_ascii_case("species") && !native(e).is_empty())
        .filter(|e| e.accepted().is_some_and(|a| a.is(e)))
        .collect();
    let mut pair = None;
    'all: for (i, a) in with.iter().enumerate() {
        for b in &with[i + 1..] {
            let genus =
                |e: &names::checklist::Entry<'_>| e.name().split(' ').next().map(str::to_owned);
            if genus(a) == genus(b) && native(a).iter().any(|x| native(b).contains(x)) {
                pair = Some((a.name().to_owned(), b.name().to_owned()));
                break 'all;
            }
        }
    }
    let (one, two) = pair.expect("the shipped list has two species of one genus and area");
    let genus = one.split(' ').next().unwrap().to_owned();
    plant(&journal, &one);
    plant(&journal, &two);
    plant(&journal, &format!("{genus} 'Marl Evening'"));
    let hand = hand();
    let clones: Vec<Uid> = (1..=3).map(|p| clone_of(&journal, p)).collect();
    let engine = engine(&journal, &hand, &clones);
    let wanted = Wanted { flowers: 3, seedlings: 1 };
    let near = engine.chance((clones[0], clones[1]), wanted, &hand).unwrap();
    assert!(near.terms.iter().any(|t| t.key == "range" && t.amount > 0.0), "{one}, {two}");
    let blank = engine.chance((clones[0], clones[2]), wanted, &hand).unwrap();
    assert!(blank.terms.iter().all(|t| t.key != "range"));
    assert!(blank.lines.iter().any(|l| l.contains("no areas")), "{:#?}", blank.lines);
}

#[test]
fn what_cannot_be_is_refused_with_its_reason_and_what_can_be_is_written() {
    let (_folder, journal) = open();
    let cross = followed(&journal);
    let hand = hand();
    let no = |target: Target, kind: &str, when: &str, detail: Value, named: &str| {
        let error = try_entry(&journal, target, kind, when, &detail).unwrap_err().to_string();
        assert!(error.contains(named), "{kind} {detail}: {error}");
    };
    no(pollination(1), "pod_seen", "2024-02-01", json!({"count": 6}), "5 flowers");
    no(batch(1), "germinated", "2024-05-01", json!({"so_far": 61}), "60 seeds sown");
    no(batch(1), "pricked_out", "2024-06-01", json!({"count": 13}), "42 that germinated");
    entry(&journal, batch(1), "pricked_out", "2024-06-01", &json!({"count": 12}));
    let part = || Target::Part(1, Some(9), "flower".to_owned());
    entry(&journal, part(), "opened", "2024-07-10", &json!({}));
    no(part(), "ended", "2024-07-09", json!({"how": "faded"}), "before the opening");
    no(part(), "pollinated", "2024-07-01", json!({"flowers": 1}), "before the flower opened");
    entry(&journal, part(), "ended", "2024-07-20", &json!({"how": "faded"}));
    no(part(), "pollinated", "2024-07-21", json!({"flowers": 1}), "after the flower had ended");
    entry(&journal, part(), "pollinated", "2024-07-15", &json!({"flowers": 1}));
    let sow = |n: u64| acts::sow(&journal, &hand, cross, "2024-04-01", &json!({"count": n}), None);
    assert!(sow(41).unwrap_err().to_string().contains("100 seeds were counted and 60 sown"));
    sow(40).unwrap();
    let early = acts::prick_out(&journal, &hand, cross, 1, "2024-01-05", None).unwrap_err();
    assert!(early.to_string().contains("older than its cross"), "{early}");
    let old = |age: &str| {
        let new = NewPollination {
            seed_plant: 1,
            pollen: ParentInput::Plant(2),
            pollen_age: Some(age.to_owned()),
            when: "2024-05-05".to_owned(),
            ..NewPollination::default()
        };
        acts::pollinate(&journal, &hand, &new)
    };
    assert!(old("4000 d").unwrap_err().to_string().contains("dead after some 1200 days"));
    assert!(old("much").is_err());
    old("20 d").unwrap();
    let clone =
        journal.read(|r| Ok(r.clone_by_uid(clone_of(&journal, 1))?.unwrap().number)).unwrap();
    for (key, typed) in [("ploidy", "28"), ("ploidy", "many"), ("luck", "1"), ("sport_of", "999")] {
        assert!(crossing::describe(&journal, &hand, clone, &[(key, typed)]).is_err(), "{typed}");
    }
}

#[test]
fn pollen_in_store_has_an_age_and_a_chance_and_today_knows_of_it() {
    let (_folder, journal) = open();
    plant(&journal, "Aeschynanthus radicans");
    plant(&journal, "Aeschynanthus speciosus");
    let hand = on("2025-09-01");
    let (_, number) =
        crossing::store_pollen(&journal, &hand, 2, "2025-07-11", "freezer", "door").unwrap();
    assert!(crossing::store_pollen(&journal, &hand, 2, "2025-07-11", "attic", "").is_err());
    let lots = engine(&journal, &hand, &[]).pollen(&hand);
    let lot = &lots[0];
    assert_eq!((lot.kept.number, lot.age, lot.kept.cold), (number, 52, Cold::Freezer));
    // 52 days at a half-life of 41: the belief is one half for each, on the logarithm −0.69 ± 0.3, of
    // which the mean is that of a log-normal, less the hundredth in which age would do good.
    let halves = 52.0 / crossing::half_life(Group::Climber, Cold::Freezer);
    let whole = (-0.69 * halves + 0.5 * (0.3 * halves).powi(2)).exp();
    assert!((lot.works.mean - whole).abs() < 0.01, "{:?} {whole}", lot.works);
    assert!(lot.works.lower < lot.works.mean && lot.works.mean < lot.works.upper);
    // A planned cross, an open flower on one side and the lot on the other.
    slash::bring_in(&journal, &hand, "Aeschynanthus radicans/Aeschynanthus speciosus").unwrap();
    assert!(lines(&journal, &hand).is_empty());
    let part = || Target::Part(1, Some(1), "flower".to_owned());
    entry(&journal, part(), "opened", "2025-08-30", &json!({}));
    let open = lines(&journal, &hand);
    assert_eq!(open.len(), 1, "{open:#?}");
    assert!(open[0].reason.contains("lot"), "{}", open[0].reason);
    let done = &open[0].done[0];
    entry(&journal, Target::Plant(1), done.kind, "2025-09-01", &Value::Object(done.detail.clone()));
    assert!(lines(&journal, &hand).is_empty(), "it waits for what comes of it");
    let engine = engine(&journal, &hand, &[]);
    let a = &engine.crosses.attempts[0];
    assert_eq!((a.age, a.lot.is_some(), a.cross.is_some()), (Some(52.0), true, true));
    // Ten flowers with old pollen that all failed: it is held to work less.
    for _ in 0..5 {
        let new = NewPollination {
            seed_plant: 1,
            pollen: ParentInput::Plant(2),
            flowers: Some(2),
            lot: Some(number),
            when: "2025-09-01".to_owned(),
            ..NewPollination::default()
        };
        acts::pollinate(&journal, &hand, &new).unwrap();
    }
    for n in 1..=5 {
        entry(&journal, pollination(n), "pod_seen", "2025-09-25", &json!({"count": 0}));
    }
    pollinate(&journal, 1, 2, 6, "2025-09-02");
    entry(&journal, pollination(6), "pod_seen", "2025-09-25", &json!({"count": 5}));
    let later = &self::engine(&journal, &hand, &[]).pollen(&hand)[0];
    assert!(later.works.mean < lot.works.mean, "{} {}", later.works.mean, lot.works.mean);
    assert_eq!(later.used, (10, 0));
    let wrong = NewPollination {
        seed_plant: 2,
        pollen: ParentInput::Plant(1),
        lot: Some(number),
        when: "2025-09-01".to_owned(),
        ..NewPollination::default()
    };
    let error = acts::pollinate(&journal, &hand, &wrong).unwrap_err().to_string();
    assert!(error.contains("another clone"), "{error}");
}

#[test]
fn today_has_pods_to_bag_seed_to_sow_and_trays_to_count() {
    let (_folder, journal) = open();
    plant(&journal, "Streptocarpus rexii");
    plant(&journal, "Streptocarpus cyaneus");
    let cross = pollinate(&journal, 1, 2, 2, "2025-06-01");
    entry(&journal, pollination(1), "pod_seen", "2025-06-20", &json!({"count": 2}));
    let keys = |day: &str| -> Vec<String> {
        lines(&journal, &on(day)).into_iter().map(|l| l.key).collect()
    };
    // Ripe from day 35 on; bagged a week before; told a fortnight ahead.
    assert!(keys("2025-06-14").is_empty());
    assert_eq!(keys("2025-06-16"), ["bag_pod"]);
    let bag = lines(&journal, &on("2025-07-01")).remove(0);
    assert!(bag.text.contains("bag 2 pods") && bag.reason.contains("35–70 days"), "{bag:?}");
    entry(&journal, pollination(1), "pod_ripe", "2025-07-20", &json!({"count": 2}));
    assert_eq!(keys("2025-07-21"), ["sow"]);
    let hand = on("2025-08-01");
    acts::sow(&journal, &hand, cross, "2025-08-01", &json!({"count": 30}), None).unwrap();
    assert_eq!(keys("2025-08-01"), ["look_tray"]);
    let tray = lines(&journal, &on("2025-08-10")).remove(0);
    assert_eq!((tray.about.kind, tray.about.number), (SubjectKind::Batch, 1));
    entry(&journal, batch(1), "germinated", "2025-08-12", &json!({"so_far": 4}));
    let next = lines(&journal, &on("2025-08-12")).remove(0);
    assert_eq!(next.day, tray_day("2025-08-15"), "three days after the last look");
    entry(&journal, batch(1), "pricked_out", "2025-09-20", &json!({"count": 4}));
    assert!(keys("2025-09-21").is_empty());
}

fn tray_day(day: &str) -> i64 {
    i64::from(dates::to_days(day.parse().unwrap()))
}

#[test]
fn the_table_shows_what_was_tried_and_offers_a_barrier_only_when_the_data_speak() {
    let (_folder, journal) = open();
    plant(&journal, "Begonia venosa");
    plant(&journal, "Begonia bowerae");
    let hand = hand();
    let mut number = 0;
    let mut round = |seed: i64, pollen: i64, took: u64| {
        number += 1;
        pollinate(&journal, seed, pollen, 6, "2025-01-10");
        entry(&journal, pollination(number), "pod_seen", "2025-02-10", &json!({"count": took}));
    };
    round(1, 2, 0);
    round(2, 1, 3);
    let table = engine(&journal, &hand, &[]).table(&hand).unwrap();
    assert_eq!((table.seeds.len(), table.pollens.len(), table.cells.len()), (2, 2, 2));
    let limited: Vec<bool> = table.cells.iter().map(|c| c.limit.is_some()).collect();
    assert!(limited.contains(&true) && limited.contains(&false));
    assert!(
        table.hypotheses.is_empty(),
        "six flowers each way are no proof: {:?}",
        table.hypotheses
    );
    for _ in 0..4 {
        round(1, 2, 0);
        round(2, 1, 3);
    }
    let table = engine(&journal, &hand, &[]).table(&hand).unwrap();
    let found = &table.hypotheses[0];
    assert_eq!(found.kind, "one_way");
    assert_eq!(found.clones, [clone_of(&journal, 1), clone_of(&journal, 2)]);
    assert!(found.prior <= crossing::PRIOR && found.posterior >= crossing::SHOWN);
    assert!(found.text.contains("no proof"), "{}", found.text);
}

#[test]
fn attempts_by_others_count_only_with_their_failures() {
    let (_folder, journal) = open();
    plant(&journal, "Begonia venosa");
    plant(&journal, "Begonia bowerae");
    let hand = hand();
    let clones = [clone_of(&journal, 1), clone_of(&journal, 2)];
    let rate = || engine(&journal, &hand, &clones).rate(clones[0], clones[1]).unwrap().mean();
    let before = rate();
    let none = "seed,pollen,pods,by\nBegonia venosa,Begonia bowerae,4,Marl House";
    assert!(crossing::bring_in_told(&journal, &hand, none).is_err());
    let table = "seed,pollen,flowers,pods,by\n\
                 Begonia venosa,Begonia bowerae,20,0,Marl House\n\
                 Begonia venosa,Begonia 'Fen Lantern',10,1,Marl House\n";
    assert_eq!(crossing::bring_in_told(&journal, &hand, table).unwrap(), 2);
    assert_eq!(crossing::bring_in_told(&journal, &hand, table).unwrap(), 0, "the same again");
    assert!(rate() < before - 0.1, "{} {before}", rate());
    // They are no attempts of this house.
    let tally = engine(&journal, &hand, &clones).tally(clones[0], clones[1]);
    assert_eq!(tally.flowers, 0);
}

#[test]
fn slash_notation_comes_in_and_goes_out_again() {
    let (_folder, journal) = open();
    let hand = hand();
    for text in [
        "Begonia venosa/Begonia bowerae//Begonia luxurians",
        "Begonia venosa*2/Begonia bowerae",
        "Begonia venosa/Begonia bowerae//?",
        "Begonia bowerae/Begonia venosa//Begonia luxurians/3/Begonia maculata",
    ] {
        let (_, cross) = slash::bring_in(&journal, &hand, text).unwrap();
        assert_eq!(ask(&journal, |r| slash::of_cross(r, cross)), text);
    }
    assert!(slash::bring_in(&journal, &hand, "Begonia venosa").is_err());
    assert!(slash::bring_in(&journal, &hand, "Begonia venosa//").is_err());
}

#[test]
fn a_sport_has_the_kin_and_species_of_the_plant_it_arose_on() {
    let (_folder, journal) = open();
    plant(&journal, "Streptocarpus rexii");
    plant(&journal, "Streptocarpus 'Chalk Ferry'");
    let hand = hand();
    let clones = [clone_of(&journal, 1), clone_of(&journal, 2)];
    let numbers = clones.map(|c| journal.read(|r| Ok(r.clone_by_uid(c)?.unwrap().number)).unwrap());
    let own = |e: &Engine| {
        let wanted = Wanted { flowers: 1, seedlings: 1 };
        let said = e.chance((clones[0], clones[1]), wanted, &hand).unwrap();
        said.terms.iter().any(|t| t.key == "self_gesneriad")
    };
    assert!(!own(&engine(&journal, &hand, &clones)));
    let of = numbers[0].to_string();
    crossing::describe(&journal, &hand, numbers[1], &[("sport_of", &of)]).unwrap();
    let engine = engine(&journal, &hand, &clones);
    assert!(own(&engine), "pollen of its sport is its own pollen");
    let facts = engine.facts.of(clones[1]).unwrap();
    assert_eq!(facts.species.keys().next().map(String::as_str), Some("Streptocarpus rexii"));
}

/// Counts, seed, extract, plate.
type Plate = (Batch, f64, f64, String);

/// Crowder 1978 on 21 plates, written down as sowings and counts of two crosses on two media.
#[test]
fn published_germination_comes_back_from_the_journal() {
    let (_folder, journal) = open();
    plant(&journal, "Streptocarpus rexii");
    plant(&journal, "Streptocarpus cyaneus");
    let hand = hand();
    let crosses =
        [pollinate(&journal, 1, 2, 1, "2024-01-01"), pollinate(&journal, 2, 1, 1, "2024-01-01")];
    let text = std::fs::read_to_string(format!(
        "{}/tests/data/crowder_seeds.csv",
        env!("CARGO_MANIFEST_DIR")
    ))
    .unwrap();
    let mut rows = text.lines();
    let head: Vec<&str> = rows.next().unwrap().split(',').collect();
    let at = |name: &str| head.iter().position(|h| *h == name).unwrap();
    let columns = [at("germinated"), at("sown"), at("seed"), at("extract")];
    for (plate, row) in rows.enumerate() {
        let cells: Vec<u64> = row.split(',').map(|c| c.parse().unwrap_or(0)).collect();
        let [up, sown, seed, extract] = columns.map(|k| cells[k]);
        let medium = if extract == 1 { "cucumber" } else { "bean" };
        let detail = json!({"count": sown, "medium": medium});
        let cross = crosses[seed as usize];
        acts::sow(&journal, &hand, cross, "2024-03-01", &detail, None).unwrap();
        let tray = batch(plate as i64 + 1);
        entry(&journal, tray.clone(), "germinated", "2024-03-20", &json!({"so_far": up / 2}));
        entry(&journal, tray, "germinated", "2024-04-20", &json!({"so_far": up}));
    }
    let engine = engine(&journal, &hand, &[]);
    let mut plates = Vec::new();
    for (k, number) in crosses.iter().enumerate() {
        for t in &engine.crosses.cross(*number).unwrap().trays {
            let cucumber = f64::from(u8::from(t.medium == "cucumber"));
            let batch = Batch { successes: t.up().unwrap(), trials: t.seeds.unwrap() };
            plates.push((batch, k as f64, cucumber, t.number.to_string()));
        }
    }
    assert_eq!(plates.len(), 21);
    let numbers = |f: fn(&Plate) -> f64| Column::Numbers(plates.iter().map(f).collect());
    let frame = Frame::new(21)
        .with("seed", numbers(|p| p.1))
        .unwrap()
        .with("extract", numbers(|p| p.2))
        .unwrap()
        .with("both", numbers(|p| p.1 * p.2))
        .unwrap()
        .with("plate", Column::Words(plates.iter().map(|p| p.3.clone()).collect()))
        .unwrap();
    let model = Model {
        terms: Term::read_all(&["seed", "extract", "both"]).unwrap(),
        random: RandomSpec::read("plate").unwrap(),
        nodes: 41,
        ..Model::default()
    };
    let batches: Vec<Batch> = plates.iter().map(|p| p.0).collect();
    let fit = logistic(&batches, &frame, &model).unwrap();
    for (effect, expected) in fit.effects.iter().zip([-0.548432, 0.096989, 1.337039, -0.810457]) {
        assert!((effect.estimate - expected).abs() < 0.002, "{effect:?}");
    }
    assert!((fit.spreads[0].sd - 0.236242).abs() < 0.002);
    assert!((fit.log_likelihood + 53.757421).abs() < 0.001);
}

/// The table of progeny needed, through the chain with one stage: at n the chance is reached, below
/// it is not; four standard errors of the draws.
#[test]
fn progeny_needed_comes_out_of_the_chain() {
    let path = format!("{}/tests/data/progeny_needed.csv", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).unwrap();
    let mut checked = 0;
    for row in text.lines().skip(1).step_by(3) {
        let cells: Vec<&str> = row.split(',').collect();
        let number = |k: usize| cells[k].parse::<f64>().unwrap();
        let (p, chance, wanted, n) = (number(1), number(2), number(3) as u64, number(4) as u64);
        let stage = Stage {
            name: "wanted".to_owned(),
            rate: RateKnown::Share(p),
            rho: 0.0,
            yields: Yield::One,
        };
        let stages = [stage];
        let at = |n: u64| follow(&stages, n, wanted, 0.8, 7).unwrap();
        let (here, below) = (at(n), at(n - 1));
        assert!(here.at_least >= chance - 4.0 * here.at_least_se, "{row}: {}", here.at_least);
        assert!(below.at_least < chance + 4.0 * below.at_least_se, "{row}: {}", below.at_least);
        checked += 1;
    }
    assert!(checked > 10, "{checked}");
    // The mean chain of a climber: 75 flowers for a chance of nine in ten of 20 flowering seedlings,
    // computed from the formula; draws may move it by two.
    let share = |name: &str, p: f64, yields: Yield| Stage {
        name: name.to_owned(),
        rate: RateKnown::Share(p),
        rho: 0.0,
        yields,
    };
    let chain = [
        share("pods", 0.08, Yield::OneOf(vec![40])),
        share("full", 0.7, Yield::One),
        share("up", 0.8, Yield::One),
        share("alive", 0.6, Yield::One),
        share("flower", 0.5, Yield::One),
    ];
    let found = start_for(&chain, 20, 0.9, 1_000, 1).unwrap();
    assert!((73..=77).contains(&found), "{found}");
}

/// What a simulated breeder wrote is read as it was written.
#[test]
fn a_written_breeder_is_read_back_attempt_by_attempt() {
    let (_folder, journal) = open();
    let breeder = Breeder::new(&World { pollinations: 30, ..World::small(2) });
    let clones = write_breeder(&journal, &breeder).unwrap();
    let hand = on("2026-11-01");
    let engine = engine(&journal, &hand, &[]);
    let written = attempts(&breeder);
    assert_eq!(engine.crosses.attempts.len(), written.len());
    for (read, p) in engine.crosses.attempts.iter().zip(&breeder.pollinations) {
        assert_eq!(read.seed, Some(clones[p.seed]));
        assert_eq!(read.pollen, crossing::Pollen::Of(clones[p.pollen]));
        assert_eq!((read.day, read.flowers), (p.day, p.flowers));
        assert_eq!(read.took, p.told.then_some(p.took));
        assert_eq!(read.age, (p.age > 0).then_some(p.age as f64));
    }
}

/// All pairs of 300 candidates in a second: run in release, with nothing beside it.
#[test]
#[ignore = "a measurement: cargo test --release -p answers -- --ignored --nocapture three_hundred"]
fn three_hundred_candidates_are_scored_in_a_second() {
    let (_folder, journal) = open();
    let breeder = Breeder::new(&World {
        species: 8,
        each: 36,
        families: 4,
        pollinations: 200,
        ..World::small(1)
    });
    let clones = write_breeder(&journal, &breeder).unwrap();
    assert_eq!(clones.len(), 300);
    let hand = on("2026-11-01");
    let start = Instant::now();
    let engine = engine(&journal, &hand, &clones);
    let read = start.elapsed();
    let start = Instant::now();
    let pairs = engine.all_pairs(&clones).unwrap();
    let scored = start.elapsed();
    println!("read and fitted in {read:?}, {} pairs in {scored:?}", pairs.len());
    assert_eq!(pairs.len(), 90_000);
    assert!(pairs.iter().all(|p| p.lower <= p.mean && p.mean <= p.upper && p.teaches > 0.0));
    assert!(scored.as_secs_f64() < 1.0, "{scored:?}");
}

#[test]
fn what_would_teach_most_is_an_untried_pair_of_little_known_parents() {
    let (_folder, journal) = open();
    for name in ["Begonia venosa", "Begonia bowerae", "Begonia luxurians"] {
        plant(&journal, name);
    }
    let hand = hand();
    for n in 1..=6 {
        pollinate(&journal, 1, 2, 6, "2025-01-10");
        entry(&journal, pollination(n), "pod_seen", "2025-02-10", &json!({"count": 3}));
    }
    let clones: Vec<Uid> = (1..=3).map(|p| clone_of(&journal, p)).collect();
    let engine = engine(&journal, &hand, &clones);
    let best = engine.teaches_most(&clones).unwrap().unwrap();
    assert_ne!((best.seed, best.pollen), (clones[0], clones[1]), "that one is known");
    let all = engine.all_pairs(&clones).unwrap();
    let of = |a: usize, b: usize| {
        all.iter().find(|p| p.seed == clones[a] && p.pollen == clones[b]).unwrap().teaches
    };
    assert!(of(2, 0) > of(0, 1) && of(2, 1) > of(0, 1));
}

//! A season's plan on whole records: what it promises, what it keeps to, what it refuses.

use answers::{
    Hand,
    acts::Target,
    crossing::{Engine, Offered, SeasonAsked, SeasonPlan},
};
use journal::{Journal, Uid};
use serde_json::json;

use crate::{
    crossing::{ask, clone_of, engine, entry, plant, pollinate},
    house::{hand, open},
};

const LOOKS: u64 = 2_000_000;

/// Six plants of three species; the first three were scored for fragrance.
fn house(journal: &Journal) -> (Vec<i64>, Engine) {
    let plants: Vec<i64> = [
        "Begonia bowerae",
        "Begonia bowerae",
        "Begonia venosa",
        "Begonia luxurians",
        "Begonia luxurians",
        "Begonia 'Silt Choir'",
    ]
    .iter()
    .map(|name| plant(journal, name))
    .collect();
    for (k, score) in [(0, 8.0), (0, 7.0), (1, 6.0), (2, 3.0)] {
        let detail = json!({"trait": "fragrance", "score": score});
        entry(journal, Target::Plant(plants[k]), "scored", "2025-03-02", &detail);
    }
    let clones: Vec<Uid> = plants.iter().map(|p| clone_of(journal, *p)).collect();
    let engine = engine(journal, &hand(), &clones);
    (plants, engine)
}

fn plan(
    journal: &Journal,
    engine: &Engine,
    asked: &SeasonAsked,
    meets: &dyn Fn(i64, i64) -> Option<f64>,
) -> answers::Result<SeasonPlan> {
    let hand: Hand = hand();
    journal.read(|r| Ok(engine.season(r, &hand, asked, meets, LOOKS))).unwrap()
}

fn all(plan: &SeasonPlan) -> impl Iterator<Item = &Offered> {
    plan.chosen.iter().chain(&plan.others)
}

#[test]
fn a_season_keeps_to_pots_hands_and_flowers_and_says_what_is_in_the_seedlings() {
    let (_folder, journal) = open();
    let (_, engine) = house(&journal);
    let asked = SeasonAsked { pots: 40, crosses: 2, flowers: 5, ..SeasonAsked::default() };
    let found = plan(&journal, &engine, &asked, &|_, _| None).unwrap();
    assert!((1..=2).contains(&found.chosen.len()), "{found:?}");
    assert_eq!(found.pots, found.chosen.iter().map(|c| c.pots).sum::<u32>());
    assert!(found.pots <= 40);
    let mut given = vec![0; found.candidates.len()];
    for c in &found.chosen {
        given[c.seed] += c.flowers;
        given[c.pollen] += 1;
    }
    assert!(given.iter().all(|f| *f <= 5), "{given:?}");
    for c in all(&found) {
        // A self is a kinship of one half and more.
        assert!(c.seed != c.pollen && c.kinship <= asked.most_kinship);
        assert!(c.at_least_one >= 0.8 || c.flowers == asked.flowers, "{c:?}");
        assert!(c.believed && c.meets.is_none());
        let (mean, low, high) = c.seedlings;
        assert!(low as f64 <= mean && mean <= high as f64 && high <= u64::from(c.pots), "{c:?}");
    }
    // Two of one species make that species; with a cultivar half is not recorded.
    let [silt, one] = [5, 0];
    let with = |a: usize, b: usize| all(&found).find(move |c| (c.seed, c.pollen) == (a, b));
    if let Some(c) = with(one, silt).or_else(|| with(silt, one)) {
        assert!(c.made_of.contains("not recorded"), "{}", c.made_of);
    }
    let (seed, pollen, share) = found.teaches.unwrap();
    assert!(seed < 6 && pollen < 6 && share.lower < share.mean && share.mean < share.upper);
}

#[test]
fn fewer_flowers_are_asked_of_a_pair_that_took_before() {
    let (_folder, journal) = open();
    let (plants, before) = house(&journal);
    let asked = SeasonAsked {
        plants: plants[2..4].to_vec(),
        flowers: 40,
        crosses: 2,
        ..SeasonAsked::default()
    };
    let of = |engine: &Engine| {
        let found = plan(&journal, engine, &asked, &|_, _| None).unwrap();
        let own: Vec<Offered> = all(&found).filter(|c| c.seed == 0).cloned().collect();
        assert_eq!(own.len(), 1, "{found:?}");
        own[0].clone()
    };
    let first = of(&before);
    let pod = pollinate(&journal, plants[2], plants[3], 12, "2025-02-01");
    let target = Target::Numbered(journal::SubjectKind::Pollination, pod);
    entry(&journal, target, "pod_seen", "2025-03-01", &json!({"count": 10}));
    let clones: Vec<Uid> = plants.iter().map(|p| clone_of(&journal, *p)).collect();
    let after = of(&engine(&journal, &hand(), &clones));
    assert!(after.flowers < first.flowers, "{} {}", after.flowers, first.flowers);
    assert!(after.chance.mean > first.chance.mean && first.believed && !after.believed);
}

#[test]
fn who_never_flowers_with_another_is_not_crossed_with_it() {
    let (_folder, journal) = open();
    let (plants, engine) = house(&journal);
    let late = plants[3];
    let meets = |a: i64, b: i64| Some(if a == late || b == late { 0.0 } else { 0.9 });
    let asked = SeasonAsked { pots: 200, crosses: 30, flowers: 200, ..SeasonAsked::default() };
    let found = plan(&journal, &engine, &asked, &meets).unwrap();
    let at = found.candidates.iter().position(|c| c.plant == late).unwrap();
    assert!(!found.chosen.is_empty());
    assert!(found.chosen.iter().all(|c| c.seed != at && c.pollen != at), "{found:?}");
    assert!(found.chosen.iter().all(|c| c.meets == Some(0.9) && !c.stored));
}

#[test]
fn the_middle_of_the_seedlings_is_that_of_the_parents_as_they_were_drawn_in() {
    let (_folder, journal) = open();
    let (_, engine) = house(&journal);
    let asked = SeasonAsked { aim: "Fragrance".to_owned(), crosses: 30, ..SeasonAsked::default() };
    let found = plan(&journal, &engine, &asked, &|_, _| None).unwrap();
    // By hand: means 7.5, 6, 3 of two, one and one scores, which weigh 4/3, 1 and 1: 5.7 together; a
    // score moves a value by 0.35 of its distance from there, two by 0.7 / 1.5.
    let by_hand = [5.7 + 0.7 / 1.5 * 1.8, 5.7 + 0.35 * 0.3, 5.7 - 0.35 * 2.7];
    for (c, value) in found.candidates.iter().zip(by_hand) {
        assert!((c.score.unwrap().value - value).abs() < 1e-9, "{c:?}");
    }
    assert!(found.candidates[3].score.is_none());
    let mut seen = 0;
    for c in all(&found) {
        let Some((middle, low, high)) = c.middle else { continue };
        seen += 1;
        assert!((middle - 0.5 * (by_hand[c.seed] + by_hand[c.pollen])).abs() < 1e-9, "{c:?}");
        assert!(low < middle && middle < high && c.best.unwrap() >= middle);
    }
    assert!(seen > 0, "{found:?}");
}

#[test]
fn more_weight_on_kinship_never_makes_the_set_more_related() {
    let (_folder, journal) = open();
    let (_, engine) = house(&journal);
    let found = plan(&journal, &engine, &SeasonAsked::default(), &|_, _| None).unwrap();
    assert!(found.proven, "{}", found.gap);
    assert!(found.curve.iter().any(|c| c.weight == 1.0));
    for w in found.curve.windows(2) {
        assert!(w[0].weight < w[1].weight, "{:?}", found.curve);
        assert!(w[1].kinship <= w[0].kinship + 1e-9 && w[1].gain <= w[0].gain + 1e-9, "{w:?}");
    }
}

#[test]
fn a_season_that_cannot_be_is_refused_with_its_reason() {
    let (_folder, journal) = open();
    let (plants, engine) = house(&journal);
    let usual = SeasonAsked::default;
    for (asked, word) in [
        (SeasonAsked { pots: 3, ..usual() }, "pots"),
        (SeasonAsked { crosses: 0, ..usual() }, "crosses"),
        (SeasonAsked { flowers: 0, ..usual() }, "flowers"),
        (SeasonAsked { weight: -1.0, ..usual() }, "weight"),
        (SeasonAsked { weight: f64::NAN, ..usual() }, "weight"),
        (SeasonAsked { most_kinship: 2.0, ..usual() }, "kinship"),
        (SeasonAsked { plants: vec![999], ..usual() }, "999"),
        (SeasonAsked { plants: vec![plants[0]], ..usual() }, "fewer than two"),
    ] {
        let said = plan(&journal, &engine, &asked, &|_, _| None).unwrap_err().to_string();
        assert!(said.contains(word), "{said}");
    }
    // The same asked rightly is answered.
    let asked = SeasonAsked { plants: plants[..2].to_vec(), ..usual() };
    ask(&journal, |r| engine.season(r, &hand(), &asked, &|_, _| None, LOOKS));
}

/// A plant that went to somebody gives pollen alone, and only where it was asked for.
#[test]
fn plants_of_friends_give_pollen_where_they_are_asked_for() {
    let (_folder, journal) = open();
    let (plants, _) = house(&journal);
    let away = plants[2];
    let detail = json!({"whole": true});
    entry(&journal, Target::Plant(away), "given", "2025-05-01", &detail);
    let clones: Vec<Uid> = plants.iter().map(|p| clone_of(&journal, *p)).collect();
    let engine = engine(&journal, &hand(), &clones);
    let asked = SeasonAsked { pots: 200, crosses: 30, flowers: 200, ..SeasonAsked::default() };
    let found = plan(&journal, &engine, &asked, &|_, _| None).unwrap();
    assert!(found.candidates.iter().all(|c| c.plant != away && !c.elsewhere), "{found:?}");
    let asked = SeasonAsked { friends: true, ..asked };
    let found = plan(&journal, &engine, &asked, &|_, _| None).unwrap();
    let at = found.candidates.iter().position(|c| c.elsewhere).unwrap();
    assert_eq!(found.candidates[at].plant, away);
    assert!(all(&found).all(|c| c.seed != at), "{found:?}");
    assert!(all(&found).any(|c| c.pollen == at), "{found:?}");
}

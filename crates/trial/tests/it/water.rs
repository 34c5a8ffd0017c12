//! Simulated growers: what is true of their pots, and what they write of it.

use std::collections::BTreeMap;

use trial::water::{CLOCK, House, Keeper, Kind, Law, Material, TrueDrying, World, Written};

const LAWS: [Law; 2] = [Law::DemandClock, Law::WaterBalance];

/// A house of some size, kept by somebody who forgets nothing.
fn large(seed: u64, law: Law) -> World {
    let keeper = Keeper { misreads: 0.0, holidays: false, ..Keeper::default() };
    World { plants: 120, species: 6, places: 6, days: 500, keeper, ..World::small(seed, law) }
}

/// ln of the days of each drying that pass, with its plant.
fn logs<'a>(
    house: &'a House,
    which: impl Fn(&TrueDrying) -> bool + 'a,
) -> impl Iterator<Item = f64> + 'a {
    house.truth.dryings.iter().filter(move |d| which(d)).map(|d| (d.dry - d.moment).ln())
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (n, sum) = values.fold((0.0, 0.0), |(n, s), v| (n + 1.0, s + v));
    assert!(n >= 20.0, "only {n}");
    sum / n
}

#[test]
fn the_same_world_gives_the_same_house() {
    for law in LAWS {
        let world = World::small(3, law);
        let house = House::new(&world);
        assert_eq!(house, House::new(&world));
        assert_ne!(house.written, House::new(&World { seed: 4, ..world }).written);
        assert!(house.written.windows(2).all(|w| w[0].day <= w[1].day));
    }
}

/// On the demand clock, summed here anew, ln of every time is normal around what the law says.
#[test]
fn the_demand_clock_is_what_its_numbers_say() {
    let house = House::new(&large(11, Law::DemandClock));
    let mut residuals = Vec::new();
    for d in &house.truth.dryings {
        let pot = &house.pots[d.plant];
        if pot.potted_on.is_some_and(|on| d.dry >= on as f64) {
            continue;
        }
        let (mut sum, mut now) = (0.0, d.moment);
        while now < d.dry {
            let next = (now.floor() + 1.0).min(d.dry);
            let air = house.places[pot.place].on(now.floor() as i64);
            let light = 0.3 + 0.7 * air.light / 5.0;
            let rate = (air.deficit / 0.9).powf(CLOCK.deficit) * light.powf(CLOCK.light);
            sum += (next - now) * rate;
            now = next;
        }
        // A cone's stump of these proportions holds 0.545 times the cube of its rim.
        let litres = 0.5449 * pot.width.powi(3) / 1000.0;
        let clay = if pot.material == Material::Terracotta { CLOCK.terracotta } else { 0.0 };
        let expected = CLOCK.median.ln()
            + CLOCK.volume * (litres / 0.5).ln()
            + CLOCK.since_potting * ((d.moment - pot.potted as f64 + 30.0) / 395.0).ln()
            + pot.species_effect
            + pot.plant_effect
            + clay;
        residuals.push(sum.ln() - expected);
    }
    let n = residuals.len() as f64;
    assert!(n > 4_000.0, "{n}");
    let centre = residuals.iter().sum::<f64>() / n;
    let variance = residuals.iter().map(|r| (r - centre).powi(2)).sum::<f64>() / n;
    // Four standard errors; the volume above is rounded, by less than 1e-4.
    assert!(centre.abs() < 4.0 * CLOCK.event / n.sqrt(), "{centre}");
    assert!((variance.sqrt() - CLOCK.event).abs() < 4.0 * CLOCK.event / (2.0 * n).sqrt());
    // The tails are those of a normal: 95 % within 1.96.
    let inside = residuals.iter().filter(|r| r.abs() < 1.96 * CLOCK.event).count() as f64;
    assert!((inside / n - 0.95).abs() < 4.0 * (0.95 * 0.05 / n).sqrt(), "{inside} of {n}");
}

#[test]
fn the_balance_of_water_behaves_as_pots_do() {
    let house = House::new(&large(12, Law::WaterBalance));
    let pot = |d: &TrueDrying| &house.pots[d.plant];
    let place = |d: &TrueDrying| house.places[pot(d).place].kind;
    // Terracotta dries faster, by one fifth to two fifths (the fitted prior says 0.78).
    let clay = mean(logs(&house, |d| pot(d).material == Material::Terracotta))
        - mean(logs(&house, |d| pot(d).material == Material::Plastic));
    assert!((-0.55..=-0.1).contains(&clay), "{clay}");
    // Behind a window summer counts more than under lamps.
    let month = |d: &TrueDrying| ((d.moment as i64 - house.world.first_day) / 30) % 12;
    let season = |kind: Kind| {
        mean(logs(&house, move |d| place(d) == kind && (9..=11).contains(&month(d))))
            - mean(logs(&house, move |d| place(d) == kind && (3..=5).contains(&month(d))))
    };
    assert!(season(Kind::Sill) > season(Kind::Shelf) + 0.1, "{}", season(Kind::Sill));
    // Roots and leaves grow: the second spring is faster than the first in the same pot.
    let unmoved = |d: &TrueDrying| pot(d).potted_on.is_none() && place(d) == Kind::Shelf;
    let first = house.world.first_day;
    let early = mean(logs(&house, |d| unmoved(d) && d.watered < first + 60));
    let late =
        mean(logs(&house, |d| unmoved(d) && (first + 365..first + 425).contains(&d.watered)));
    assert!((0.1..0.6).contains(&(early - late)), "{early} {late}");
    // A small pot by the lamp dries in some five or six days of summer (common practice, no source).
    let small = mean(logs(&house, |d| {
        pot(d).width <= 10.0 && place(d) == Kind::Shelf && (3..=5).contains(&month(d))
    }))
    .exp();
    assert!((4.0..=8.0).contains(&small), "{small}");
}

#[test]
fn lost_roots_make_a_pot_at_least_twice_as_slow() {
    for law in LAWS {
        let house = House::new(&World { lose_roots: 0.5, ..large(13, law) });
        let lost = house.truth.lost_roots.iter().flatten().count();
        assert!((40..=80).contains(&lost), "{lost} of 120");
        let (before, after): (Vec<f64>, Vec<f64>) = (0..house.pots.len())
            .filter_map(|plant| {
                let day = house.truth.lost_roots[plant]? as f64;
                let side = |from: f64, to: f64| {
                    let all: Vec<f64> = logs(&house, |d| {
                        d.plant == plant && d.moment >= from && d.dry.min(d.moment + 20.0) < to
                    })
                    .collect();
                    (!all.is_empty()).then(|| all.iter().sum::<f64>() / all.len() as f64)
                };
                Some((side(day - 60.0, day)?, side(day, f64::INFINITY)?))
            })
            .unzip();
        let slower = (after.iter().sum::<f64>() - before.iter().sum::<f64>()) / after.len() as f64;
        // Between two and four times as slow; chance and the season move the mean by some 0.1.
        assert!((2f64.ln() - 0.1..4f64.ln() + 0.2).contains(&slower), "{law:?}: {slower}");
    }
}

/// What is written tells the truth as far as it was looked at, but for the looks that were misread.
#[test]
fn looks_agree_with_the_truth_unless_they_are_misread() {
    for misreads in [0.0, 0.1] {
        let keeper = Keeper { misreads, writes_moist: 1.0, ..Keeper::default() };
        let house = House::new(&World { keeper, ..large(14, Law::DemandClock) });
        let mut running: BTreeMap<usize, TrueDrying> = BTreeMap::new();
        let mut dryings = house.truth.dryings.iter().peekable();
        let (mut looks, mut wrong) = (0, 0);
        for w in &house.written {
            while let Some(d) = dryings.next_if(|d| d.watered < w.day) {
                running.insert(d.plant, *d);
            }
            let Some(dry) = seen(w) else { continue };
            let Some(d) = running.get(&w.plant) else { continue };
            looks += 1;
            wrong += usize::from(dry != (d.dry <= w.day as f64));
        }
        assert!(looks > 10_000, "{looks}");
        // The first look at each plant comes before any truth.
        let most = house.truth.misread;
        assert!(wrong <= most && wrong + house.pots.len() >= most, "{wrong} of {most}");
        assert_eq!(most > 0, misreads > 0.0);
    }
}

/// Whether a written look found the pot dry.
fn seen(w: &Written) -> Option<bool> {
    let round = w.detail.contains_key("round");
    let found = w.detail.get("found").and_then(|f| f.as_str());
    match (w.kind, found) {
        ("watered" | "checked", Some(f)) => Some(f == "dry" || f == "bone_dry"),
        ("watered", None) if round => Some(true),
        _ => None,
    }
}

#[test]
fn a_keeper_is_human() {
    let house = House::new(&World {
        keeper: Keeper { weighs: 0.5, ..Keeper::default() },
        ..large(15, Law::WaterBalance)
    });
    let count = |what: &dyn Fn(&Written) -> bool| house.written.iter().filter(|w| what(w)).count();
    let unseen = count(&|w| w.kind == "watered" && seen(w).is_none());
    let watered = count(&|w| w.kind == "watered");
    assert!(unseen * 20 > watered && unseen * 3 < watered, "{unseen} of {watered}");
    assert!(count(&|w| w.kind == "weighed") > 1_000);
    assert!(count(&|w| w.detail.contains_key("limp")) > 5);
    assert!(count(&|w| w.detail.contains_key("weight_after")) > 1_000);
    assert_eq!(house.truth.dryings.len(), watered);
    // Away for a week at least, once a year.
    let mut days: Vec<i64> = house.written.iter().map(|w| w.day).collect();
    days.dedup();
    assert!(days.windows(2).any(|d| d[1] - d[0] >= 8));
    assert!(house.places.iter().any(|p| p.logged) && house.places.iter().any(|p| !p.logged));
}

#[test]
fn a_house_becomes_a_record_with_every_entry() {
    let folder = tempfile::tempdir().unwrap();
    let (journal, _) = journal::Journal::open(folder.path().join("collection.umbel")).unwrap();
    let world = World { plants: 6, days: 90, ..World::small(16, Law::WaterBalance) };
    let house = House::new(&world);
    trial::water::write_house(&journal, &house).unwrap();
    let kept = journal
        .read(|r| {
            let plants = r.plant_numbers(&journal::PlantFilter::default())?;
            assert_eq!(plants.len(), 6);
            let mut kept = 0;
            for number in plants {
                let plant = r.plant(number)?.unwrap();
                kept += r
                    .entries_of_kinds(plant.id, &["potted", "watered", "checked", "weighed"])?
                    .len();
            }
            Ok(kept)
        })
        .unwrap();
    assert_eq!(kept, house.written.len());
}

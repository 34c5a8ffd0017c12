//! Clones and places side by side: a difference is named where there is one, and not elsewhere.

use answers::flowers::{By, FlowerKind, LifePrior, compare};
use trial::flowers::{Air, Grower, Law, World};

use super::{followed, growers};

const PRIOR: fn() -> LifePrior = || LifePrior::of("Begonia", FlowerKind::Flower);

/// Ratios of clones hold the true ratio in four of five; what is called longer is longer in nearly
/// all of them.
#[test]
fn ratios_of_clones_hold_the_truth() {
    let air = Air { temperature: 22.0, deficit: 0.8 };
    let (mut n, mut held, mut shown, mut wrong) = (0.0_f64, 0.0, 0.0, 0.0);
    for law in [Law::LogNormal, Law::DegreeDays] {
        for seed in growers(150, 4) {
            let g = Grower::new(&World::small(3_000 + seed, law));
            let clones: Vec<i64> = (0..g.world.clones as i64).collect();
            let Some(c) = compare(&followed(&g), &clones, By::Clone, PRIOR()).unwrap() else {
                continue;
            };
            assert!((0.0..=1.0).contains(&c.by_chance) && c.by_chance > 0.0);
            for b in &c.others {
                let truth = g.median(b.group as usize, air) / g.median(c.first as usize, air);
                n += 1.0;
                held += f64::from(u8::from((b.ratio[0]..=b.ratio[2]).contains(&truth)));
                if b.shown {
                    shown += 1.0;
                    wrong += f64::from(u8::from((b.ratio[1] > 1.0) != (truth > 1.0)));
                    assert_ne!(c.words(b), "no difference shown");
                } else {
                    assert_eq!(c.words(b), "no difference shown");
                }
            }
        }
    }
    println!("{n} ratios, {:.3} held; {shown} shown, {wrong} of them wrong", held / n);
    // The fifth clones of a grower share the first: four standard errors with three to one.
    let off = 4.0 * (0.16 / (n / 3.0)).sqrt();
    assert!((held / n - 0.8).abs() < 0.06 + off, "{held} of {n}");
    assert!(
        shown >= 3.0 && wrong / shown <= 0.1 + 4.0 * (0.09 / shown).sqrt(),
        "{wrong} of {shown}"
    );
}

/// The same clones at two places of the same air: hardly ever is a difference shown, and the check by
/// dealing out umbels agrees that there is none.
#[test]
fn no_difference_is_shown_where_there_is_none() {
    let (mut n, mut shown, mut rare) = (0.0, 0.0, 0.0);
    for seed in growers(200, 6) {
        let world = World { weekly: 0.0, ..World::small(6_000 + seed, Law::LogNormal) };
        let g = Grower::new(&world);
        let mut all = followed(&g);
        // Places are dealt out anew, plant by plant, so that they say nothing.
        for f in &mut all {
            f.place = Some(f.bloom.plant % 2);
        }
        let Some(c) = compare(&all, &[0, 1], By::Place, PRIOR()).unwrap() else { continue };
        n += 1.0;
        shown += f64::from(u8::from(c.others[0].shown));
        rare += f64::from(u8::from(c.by_chance < 0.05));
    }
    println!("{n} pairs of places; {shown} shown, {rare} with p below 0.05");
    // Each side is taken for the longer-lived by chance in one of twenty, at most.
    let off = |p: f64| 4.0 * (p * (1.0 - p) / n).sqrt();
    assert!(shown / n <= 0.1 + off(0.1), "{shown} of {n}");
    assert!(rare / n <= 0.05 + off(0.05), "{rare} of {n}");
}

/// Two flowers are no difference, however long one of them lasted.
#[test]
fn few_flowers_show_nothing() {
    use answers::flowers::{Bloom, Followed, Weather};
    let flower = |clone: i64, day: i64, life: i64| Followed {
        bloom: Bloom {
            plant: clone,
            part: None,
            kind: FlowerKind::Flower,
            opened: (day, day),
            ended: Some((day + life, day + life)),
            looked: day,
            open: false,
            cut: false,
            known: journal::Known::Seen,
        },
        clone,
        place: None,
        weather: Weather::default(),
    };
    let few: Vec<_> = (0..3).flat_map(|k| [flower(1, 40 * k, 6), flower(2, 40 * k, 20)]).collect();
    let c = compare(&few, &[1, 2], By::Clone, PRIOR()).unwrap().unwrap();
    assert_eq!(c.words(&c.others[0]), "no difference shown", "{c:?}");
    // With twice as many it is shown, and 20/6 lies near the ratio.
    let more: Vec<_> = (0..6).flat_map(|k| [flower(1, 40 * k, 6), flower(2, 40 * k, 20)]).collect();
    let c = compare(&more, &[1, 2], By::Clone, PRIOR()).unwrap().unwrap();
    assert_eq!(c.words(&c.others[0]), "lasts longer", "{c:?}");
    assert!((c.others[0].ratio[1].ln() - (20.0_f64 / 6.0).ln()).abs() < 0.25, "{c:?}");
    assert!(c.by_chance < 0.02, "{}", c.by_chance);
    assert!(compare(&more, &[1], By::Clone, PRIOR()).unwrap().is_none(), "nothing to compare with");
}

//! Simulated breeders: what is true of their plants, and what they write of it.

use trial::breeders::{Breeder, World};

fn large(seed: u64) -> World {
    World { species: 6, each: 4, families: 4, pollinations: 1_500, ..World::small(seed) }
}

#[test]
fn the_same_world_gives_the_same_breeder() {
    let world = World::small(3);
    let breeder = Breeder::new(&world);
    assert_eq!(breeder, Breeder::new(&world));
    assert_ne!(breeder.pollinations, Breeder::new(&World { seed: 4, ..world }).pollinations);
    assert_eq!(breeder.ahead(6), breeder.ahead(6));
    assert!(breeder.pollinations.windows(2).all(|w| w[0].day < w[1].day));
}

/// Flowers take as often as the true rates say, over all pollinations of many breeders.
#[test]
fn counts_follow_the_true_rates() {
    let (mut off, mut variance, mut flowers) = (0.0, 0.0, 0.0);
    for seed in 0..6 {
        let breeder = Breeder::new(&large(seed));
        for p in &breeder.pollinations {
            let rate = breeder.rate(p.seed, p.pollen, p.age);
            let n = p.flowers as f64;
            off += p.took as f64 - n * rate;
            // Luck of the day: a beta distribution of size 12, so flowers of one day are alike by
            // one in thirteen.
            variance += n * rate * (1.0 - rate) * (1.0 + (n - 1.0) / 13.0);
            flowers += n;
        }
    }
    assert!(flowers > 20_000.0);
    // Four standard errors.
    assert!(off.abs() < 4.0 * variance.sqrt(), "{off} against {}", variance.sqrt());
}

#[test]
fn barriers_have_the_form_that_is_told_of_them() {
    let (mut one_way, mut pairs, mut sibs, mut barred) = (0, 0, 0, 0);
    for seed in 0..40 {
        let breeder = Breeder::new(&large(seed));
        for a in 0..24 {
            for b in 0..a {
                let (there, back) = (breeder.rate(a, b, 0), breeder.rate(b, a, 0));
                pairs += 1;
                one_way += i32::from(there.max(back) > 5.0 * there.min(back));
            }
        }
        // Old pollen is dead, and dies late: at six days nearly all of it lives.
        let (fresh, six, old) =
            (breeder.rate(0, 1, 0), breeder.rate(0, 1, 6), breeder.rate(0, 1, 40));
        assert!(six <= fresh && old <= six);
        assert!(fresh < 0.01 || six / fresh > 0.9);
        assert!(old < 0.01);
        // Sibs share an allele in three of four pairs where there is incompatibility at all.
        for family in 0..4 {
            let own = 24 + 3 * family;
            for (i, j) in [(0, 1), (0, 2), (1, 2)] {
                sibs += 1;
                let (a, b) = (&breeder.clones[own + i], &breeder.clones[own + j]);
                barred += i32::from(a.alleles.iter().any(|x| b.alleles.contains(x)));
            }
        }
    }
    let share = f64::from(one_way) / f64::from(pairs);
    assert!((0.05..0.6).contains(&share), "{share} of the pairs differ by direction");
    // Parents may themselves share alleles where nothing is barred, so three quarters or a little
    // more; families of three make these counts alike.
    let share = f64::from(barred) / f64::from(sibs);
    assert!((0.68..0.9).contains(&share), "{share} of the sibs share an allele");
}

#[test]
fn the_keeper_forgets_as_often_as_the_world_says() {
    let world = World { forgets_failures: 3.0, ..large(7) };
    let breeder = Breeder::new(&world);
    let share = |took: bool| {
        let all: Vec<_> = breeder.pollinations.iter().filter(|p| (p.took > 0) == took).collect();
        assert!(all.len() > 200);
        let forgotten = all.iter().filter(|p| !p.told).count() as f64;
        (forgotten / all.len() as f64, all.len() as f64)
    };
    for (took, expected) in [(true, 0.12), (false, 0.36)] {
        let (found, n) = share(took);
        let tolerance = 4.0 * (expected * (1.0 - expected) / n).sqrt();
        assert!((found - expected).abs() < tolerance, "{took}: {found}");
    }
}

#[test]
fn a_breeder_becomes_a_record_with_every_entry() {
    let folder = tempfile::tempdir().unwrap();
    let (journal, _) = journal::Journal::open(folder.path().join("collection.umbel")).unwrap();
    let breeder = Breeder::new(&World { pollinations: 12, ..World::small(5) });
    let clones = trial::breeders::write_breeder(&journal, &breeder).unwrap();
    assert_eq!(clones.len(), breeder.clones.len());
    let (made, told) = journal
        .read(|r| Ok((r.all_of_kind("pollinated")?.len(), r.all_of_kind("pod_seen")?.len())))
        .unwrap();
    assert_eq!(made, 12);
    assert_eq!(told, breeder.pollinations.iter().filter(|p| p.told).count());
}

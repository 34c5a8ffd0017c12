//! How long pots stay moist: the night's fit and one plant by day.

use stats::model::{Column, Fixed, Frame, Term};
use stats::random::Random;
use stats::special::normal_quantile;
use stats::survival::drying::{Cycle, DryingPrior, PlantCycle, PlantState, Plants, fit_drying};
use stats::survival::parametric::Law;

use crate::near;

#[test]
fn worked_example_of_one_plant() {
    // Computed from the stated formula: prior median 7 d (sd 0.3 on the log scale), scale 0.2,
    // cycles (5, 6], (4, 5] and moist at 5. Printed to two digits, so half a unit of the last.
    let mut plant = PlantState::new(Law::Lognormal, 7f64.ln(), 0.3, 0.2, 0.0).unwrap();
    let cycles = [Cycle::Between(5.0, 6.0), Cycle::Between(4.0, 5.0), Cycle::StillMoist(5.0)];
    plant.update(&cycles.map(|c| (c, 0.0))).unwrap();
    near(plant.quantile(0.5).exp(), 5.6, 0.05, "median");
    near(plant.mean().exp() / 7.0, 0.79, 0.005, "multiplier");
    near(plant.sd(), 0.12, 0.005, "its standard deviation");
    for (day, chance) in [(4.0, 0.08), (5.0, 0.33), (6.0, 0.63), (7.0, 0.84)] {
        near(plant.dry_by(day, 0.0, 0.0), chance, 0.005, "dry by");
    }
    // A population with median 6 d and scale 0.25 (a plant known all but exactly), moist on day 5.
    let known = PlantState::new(Law::Lognormal, 6f64.ln(), 1e-6, 0.25, 0.0).unwrap();
    near(known.dry_by(6.0, 5.0, 0.0), 0.35, 0.005, "by 6");
    near(known.dry_by(7.0, 5.0, 0.0), 0.65, 0.005, "by 7");
    near(known.dry_by(known.due(0.67, 5.0, 0.0), 5.0, 0.0), 0.67, 1e-9, "due");
    assert!(known.due(0.5, 0.0, 0.0) < known.due(0.8, 0.0, 0.0));
}

#[test]
fn the_grid_agrees_with_a_fine_sum() {
    // Slow and obvious: 20,001 points over twelve standard deviations, plain probabilities.
    let cdf = |z: f64| 0.5 * puruspe::erfc(-z / std::f64::consts::SQRT_2);
    let (mean, sd, scale, e) = (1.8, 0.4, 0.22, 0.05);
    let mut plant = PlantState::new(Law::Lognormal, mean, sd, scale, e).unwrap();
    let cycles = [
        (Cycle::Between(3.0, 7.0), 0.1),
        (Cycle::FoundDry(6.0), -0.1),
        (Cycle::StillMoist(4.0), 0.0),
        (Cycle::Unseen, 0.0),
        (Cycle::Between(5.0, 6.0), 0.0),
    ];
    plant.update(&cycles).unwrap();
    let (mut total, mut sum, mut square) = (0.0, 0.0, 0.0);
    for k in 0..=20_000 {
        let eta = mean + sd * (f64::from(k) / 20_000.0 - 0.5) * 24.0;
        let f = |x: f64, offset: f64| cdf((x.ln() - eta - offset) / scale);
        let blur = |p: f64| e + (1.0 - 2.0 * e) * p;
        let w = (-0.5 * ((eta - mean) / sd).powi(2)).exp()
            * blur(f(7.0, 0.1) - f(3.0, 0.1))
            * blur(f(6.0, -0.1))
            * blur(1.0 - f(4.0, 0.0))
            * blur(f(6.0, 0.0) - f(5.0, 0.0));
        total += w;
        sum += w * eta;
        square += w * eta * eta;
    }
    let mean = sum / total;
    // The grid's step is 0.075 sd and its reach 6 sd: smooth functions are summed to 1e-6.
    near(plant.mean(), mean, 1e-6, "mean");
    near(plant.sd(), (square / total - mean * mean).sqrt(), 1e-6, "sd");
}

#[test]
fn slow_drying_is_seen_and_bad_numbers_are_refused() {
    let mut plant = PlantState::new(Law::Lognormal, 6f64.ln(), 0.3, 0.2, 0.05).unwrap();
    plant.update(&[(Cycle::Between(5.0, 6.0), 0.0); 8]).unwrap();
    assert!(plant.slowness(6.0, 0.0) < 1.5, "{}", plant.slowness(6.0, 0.0));
    assert!(plant.slowness(12.0, 0.0) > 2.8, "{}", plant.slowness(12.0, 0.0));
    assert!(PlantState::new(Law::Weibull, 1.0, 0.0, 0.2, 0.0).is_err());
    assert!(PlantState::new(Law::Weibull, 1.0, 0.3, 0.2, 0.5).is_err());
    assert!(plant.update(&[(Cycle::Between(6.0, 5.0), 0.0)]).is_err());
}

/// An invented collection: species and plants differ, cycles are looked at daily.
pub fn collection(
    plants: usize,
    species: usize,
    cycles: usize,
    seed: u64,
) -> (Vec<PlantCycle>, Vec<u32>, Fixed, Vec<f64>) {
    let mut random = Random::new(seed);
    let mut normal = move || normal_quantile(random.unit().clamp(1e-12, 1.0 - 1e-12));
    let effects: Vec<f64> = (0..species).map(|_| 0.25 * normal()).collect();
    let of: Vec<u32> = (0..plants).map(|p| (p % species) as u32).collect();
    let pots: Vec<f64> = (0..plants).map(|p| f64::from(u8::from(p % 3 == 0))).collect();
    let (mut rows, mut truth) = (Vec::new(), Vec::new());
    for p in 0..plants {
        let eta = 7f64.ln() - 0.25 * pots[p] + effects[of[p] as usize] + 0.2 * normal();
        truth.push(eta);
        for c in 0..cycles {
            let t = (eta + 0.18 * normal()).exp();
            let cycle = match c % 6 {
                0 => Cycle::StillMoist(0.8 * t),
                1 => Cycle::FoundDry(1.2 * t),
                5 => Cycle::Unseen,
                _ if t > 1.0 => Cycle::Between(t.floor(), t.floor() + 1.0),
                _ => Cycle::FoundDry(1.0),
            };
            rows.push(PlantCycle { plant: p as u32, cycle, offset: 0.0 });
        }
    }
    let frame = Frame::new(plants).with("clay", Column::Numbers(pots)).unwrap();
    let design = Fixed::build(&frame, &Term::read_all(&["clay"]).unwrap()).unwrap();
    (rows, of, design, truth)
}

#[test]
fn the_nights_fit_finds_plants_and_spreads() {
    let (rows, species, design, truth) = collection(240, 12, 18, 5);
    let plants = Plants { species: &species, design: &design };
    let prior = DryingPrior { misread: 0.0, ..DryingPrior::usual(2) };
    let fit = fit_drying(&rows, plants, &prior, None).unwrap();
    // Four standard errors of each, from the true world.
    near(fit.estimates[1], -0.25, 4.0 * fit.ses[1], "clay");
    for (k, (sd, true_sd)) in
        [(fit.species_sd, 0.25f64), (fit.plant_sd, 0.2), (fit.event_scale, 0.18)].iter().enumerate()
    {
        near(sd.ln(), true_sd.ln(), 4.0 * fit.log_sd_ses[k].max(0.03), "spread");
    }
    let inside =
        |(p, t): (&stats::survival::drying::PlantFound, &f64)| (p.mean - t).abs() < 1.2816 * p.sd;
    let covered = fit.plants.iter().zip(&truth).filter(|x| inside(*x)).count();
    // 80 % of 240 is 192; four standard errors of a binomial count are 25.
    assert!((167..=217).contains(&covered), "{covered}");
    assert!(fit.plants.iter().all(|p| p.cycles == 15 && p.information > 0.5));
    // Last night's standard deviations are a start that leads to the same place.
    let again = [fit.species_sd, fit.plant_sd, fit.event_scale];
    let warm = fit_drying(&rows, plants, &prior, Some(again)).unwrap();
    near(warm.log_posterior, fit.log_posterior, 1e-5, "same optimum");
    assert!(warm.iterations <= fit.iterations);
}

#[test]
fn misread_looks_do_not_move_a_plant_far() {
    let (mut rows, species, design, _) = collection(60, 6, 18, 8);
    let plants = Plants { species: &species, design: &design };
    let prior = DryingPrior::usual(2);
    let clean = fit_drying(&rows, plants, &prior, None).unwrap();
    assert!(clean.gradient_norm < 0.05, "{}", clean.gradient_norm);
    // One look of plant 0 was misread: dry on day 1.
    rows.push(PlantCycle { plant: 0, cycle: Cycle::FoundDry(1.0), offset: 0.0 });
    let with = fit_drying(&rows, plants, &prior, None).unwrap();
    let moved = |a: &stats::survival::drying::DryingFit| {
        (a.plants[0].mean - clean.plants[0].mean).abs() / clean.plants[0].sd
    };
    assert!(moved(&with) < 0.5, "{}", moved(&with));
    let trusting = DryingPrior { misread: 0.0, ..DryingPrior::usual(2) };
    let trusted = fit_drying(&rows, plants, &trusting, None).unwrap();
    assert!(moved(&trusted) > 2.0 * moved(&with), "{} {}", moved(&trusted), moved(&with));
    let bad = DryingPrior { plant: 0.0, ..DryingPrior::usual(2) };
    assert!(fit_drying(&rows, plants, &bad, None).is_err());
    assert!(fit_drying(&[], plants, &prior, None).is_err());
    rows[0].plant = 60;
    assert!(fit_drying(&rows, plants, &prior, None).is_err());
}

#[test]
fn the_nights_fit_agrees_with_the_general_engine() {
    use stats::laplace::{Derivatives, Marginal, Rows};
    // The same posterior written down anew: normal cycles seen exactly, where everything is in
    // closed form for the general engine.
    struct Exact(Vec<f64>, f64);
    impl Rows for Exact {
        fn rows(&self) -> usize {
            self.0.len()
        }
        fn derivatives(&self, row: usize, eta: f64) -> Derivatives {
            let z = (self.0[row] - eta) / self.1;
            let log_root = 0.5 * (2.0 * std::f64::consts::PI).ln();
            Derivatives {
                value: -0.5 * z * z - self.1.ln() - log_root - self.0[row],
                first: z / self.1,
                second: -1.0 / (self.1 * self.1),
                third: 0.0,
            }
        }
    }
    let (plants, each) = (8usize, 4usize);
    let mut random = Random::new(3);
    let mut y = Vec::new();
    let mut rows = Vec::new();
    for p in 0..plants {
        for _ in 0..each {
            let v = 1.7 + 0.1 * p as f64 + 0.3 * (random.unit() - 0.5);
            y.push(v);
            rows.push(PlantCycle { plant: p as u32, cycle: Cycle::Exact(v.exp()), offset: 0.0 });
        }
    }
    let species: Vec<u32> = (0..plants).map(|p| (p / 4) as u32).collect();
    let design = Fixed::build(&Frame::new(plants), &[]).unwrap();
    let prior = DryingPrior { misread: 0.0, ..DryingPrior::usual(1) };
    let plants_of = Plants { species: &species, design: &design };
    let fit = fit_drying(&rows, plants_of, &prior, None).unwrap();
    // The intercept's normal prior is one more random effect of sd 1 around ln 6.
    let words = |f: &dyn Fn(usize) -> String| Column::Words((0..y.len()).map(f).collect());
    let frame = Frame::new(y.len())
        .with("all", words(&|_| "x".to_owned()))
        .unwrap()
        .with("species", words(&|i| format!("{}", i / each / 4)))
        .unwrap()
        .with("plant", words(&|i| format!("{:02}", i / each)))
        .unwrap();
    let terms: Vec<_> = ["all", "species", "plant"]
        .iter()
        .map(|t| {
            let spec = stats::model::RandomSpec::read(t).unwrap().remove(0);
            stats::model::RandomTerm::build(&frame, &spec).unwrap()
        })
        .collect();
    let none = Fixed::build(&Frame::new(y.len()), &[]).unwrap();
    let at = [6f64.ln(), 1.0, fit.species_sd, fit.plant_sd];
    let rows = Exact(y, fit.event_scale);
    let mut marginal = Marginal::new(rows, &none, None, &terms).unwrap();
    let general = marginal.evaluate(&at, None).unwrap();
    let hyper: f64 = [(fit.species_sd, 0.3), (fit.plant_sd, 0.3), (fit.event_scale, 0.2)]
        .iter()
        .map(|(s, scale): &(f64, f64)| s.ln() - 0.5 * (s / scale).powi(2))
        .sum();
    // Both are closed forms here.
    near(fit.log_posterior, general + hyper, 1e-6, "log marginal posterior");
}

#[test]
fn the_table_of_the_next_cycle_agrees_with_the_sum() {
    // Between points of the table normal scores run straight: off by step²/8 times their curvature,
    // below 1e-4 for the log-normal law and 5e-4 for Weibull's, whose tails bend.
    for (law, most) in [(Law::Lognormal, 1e-4), (Law::Weibull, 5e-4)] {
        let mut plant = PlantState::new(law, 1.8, 0.4, 0.22, 0.05).unwrap();
        let cycles = [
            (Cycle::Between(3.0, 4.0), 0.1),
            (Cycle::StillMoist(4.0), 0.0),
            (Cycle::FoundDry(9.0), 0.0),
        ];
        plant.update(&cycles).unwrap();
        let table = plant.foreseen();
        for k in 1..200 {
            let x = 0.1 * f64::from(k);
            let off = (table.by(x, 0.05) - plant.dry_by(x, 0.0, 0.05)).abs();
            assert!(off < most, "{law:?} at {x}: off by {off}");
        }
        assert_eq!(table.by(0.0, 0.0), 0.0);
        assert!(table.by(1e6, 0.0) > 1.0 - 1e-12);
    }
}

//! Two colours with their errors: the test, its size and power, and the bias of ΔE₀₀.

use imaging::{
    ColourError, ColourMean, Lab, Spread, Verdict, ciede2000, compare,
    compare::{Test, test},
    difference::delta_e_1976,
    visible,
};

/// A generator of the tests' own: a linear congruence (Knuth's MMIX), twelve uniforms for a normal.
struct Dice(u64);

impl Dice {
    fn uniform(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }

    /// A photograph of a colour; lightness and chroma err together, as exposure makes them.
    fn photo(&mut self, colour: Lab, sd: f64) -> Lab {
        let common = self.normal();
        let mut axis = |v: f64| v + sd * (0.6 * common + 0.8 * self.normal());
        Lab::new(axis(colour.l), axis(colour.a), axis(colour.b))
    }

    fn photos(&mut self, colour: Lab, sd: f64, n: usize) -> ColourMean {
        let photos: Vec<Lab> = (0..n).map(|_| self.photo(colour, sd)).collect();
        ColourMean::of_photos(&photos).unwrap()
    }

    /// With errors that are the same on each axis and independent.
    fn plain_photos(&mut self, c: Lab, sd: f64, n: usize) -> ColourMean {
        let mut axis = |v: f64| v + sd * self.normal();
        let photos: Vec<Lab> = (0..n).map(|_| Lab::new(axis(c.l), axis(c.a), axis(c.b))).collect();
        ColourMean::of_photos(&photos).unwrap()
    }
}

const PINK: Lab = Lab::new(52.0, 40.0, -12.0);

fn first() -> Vec<Lab> {
    [
        [52.1, 61.3, -12.4],
        [51.2, 60.2, -11.1],
        [53.0, 62.9, -13.3],
        [52.6, 60.8, -12.9],
        [50.9, 61.9, -11.8],
    ]
    .map(Lab::from_vector)
    .to_vec()
}

fn second() -> Vec<Lab> {
    [[54.0, 58.7, -10.2], [55.3, 59.9, -9.4], [53.8, 57.6, -10.9], [54.9, 59.4, -11.3]]
        .map(Lab::from_vector)
        .to_vec()
}

/// Statistic, degrees and tail by numpy 2.1.3 and scipy 1.17.1, from the formulas of the methods page.
/// 1e-9 relative, as for a closed form.
#[test]
fn the_test_agrees_with_numpy() {
    let (a, b) =
        (ColourMean::of_photos(&first()).unwrap(), ColourMean::of_photos(&second()).unwrap());
    for (spread, statistic, degrees, p) in [
        (Spread::Pooled, 132.70461749926218, Some(7.0), 0.0011241584746608305),
        (Spread::Unequal, 151.91015559885648, Some(6.082799549610497), 0.0024149093718426953),
        (Spread::known_sd(1.2), 25.03780864197528, None, 1.5161979063510775e-05),
    ] {
        let found = test(&a, &b, spread).unwrap();
        assert!((found.statistic / statistic - 1.0).abs() < 1e-9, "{found:?}");
        assert!((found.p / p - 1.0).abs() < 1e-9, "{found:?}");
        match (found.degrees, degrees) {
            (Some(one), Some(other)) => assert!((one - other).abs() < 1e-9, "{found:?}"),
            (one, other) => assert_eq!(one, other),
        }
        assert_eq!(test(&b, &a, spread).unwrap().p, found.p);
    }
}

/// With equal numbers and equal scatter both ways of estimating are the same.
#[test]
fn equal_scatter_makes_no_difference() {
    let moved: Vec<Lab> = first().iter().map(|p| Lab::new(p.l + 2.0, p.a, p.b - 1.0)).collect();
    let (a, b) = (ColourMean::of_photos(&first()).unwrap(), ColourMean::of_photos(&moved).unwrap());
    let (pooled, unequal) =
        (test(&a, &b, Spread::Pooled).unwrap(), test(&a, &b, Spread::Unequal).unwrap());
    assert!((pooled.statistic / unequal.statistic - 1.0).abs() < 1e-9);
    assert!((pooled.degrees.unwrap() - unequal.degrees.unwrap()).abs() < 1e-9);
}

/// Three flowers with two photographs each: 6 photographs, but 3 units.
#[test]
fn photographs_of_one_flower_are_one_unit() {
    let lab = |l: f64| Lab::new(l, 10.0, 20.0);
    let flowers =
        vec![vec![lab(50.0), lab(52.0)], vec![lab(54.0), lab(56.0)], vec![], vec![lab(59.0)]];
    let mean = ColourMean::of_flowers(&flowers).unwrap();
    assert_eq!((mean.units, mean.photos, mean.of_flowers), (3, 5, true));
    // 51, 55, 59: mean 55, variance 16, of the mean 16/3.
    assert!((mean.lab.l - 55.0).abs() < 1e-12);
    assert!((mean.scatter.unwrap()[0][0] - 16.0).abs() < 1e-12);
    assert!((mean.error().unwrap()[0][0] - 16.0 / 3.0).abs() < 1e-12);
    let one = ColourMean::of_flowers(&[vec![lab(50.0), lab(52.0)]]).unwrap();
    assert_eq!((one.units, one.photos, one.of_flowers), (2, 2, false));
}

/// 4,000 pairs of equal colours: the share of false alarms within four standard errors of the level.
/// The approximate degrees of unequal scatter are allowed to be on the safe side by a third.
#[test]
fn equal_colours_raise_false_alarms_at_the_level() {
    let n = 4000;
    for (kind, sds, numbers) in [
        ("pooled", [1.5, 1.5], [3, 4]),
        ("unequal", [1.0, 3.0], [5, 5]),
        ("known", [1.2, 1.2], [1, 2]),
    ] {
        let mut dice = Dice(20_240_611);
        let mut tails = Vec::with_capacity(n);
        for _ in 0..n {
            let Test { p, .. } = if kind == "known" {
                let [a, b] = [0, 1].map(|i| dice.plain_photos(PINK, sds[i], numbers[i]));
                test(&a, &b, Spread::known_sd(1.2)).unwrap()
            } else {
                let [a, b] = [0, 1].map(|i| dice.photos(PINK, sds[i], numbers[i]));
                let spread = if kind == "pooled" { Spread::Pooled } else { Spread::Unequal };
                test(&a, &b, spread).unwrap()
            };
            tails.push(p);
        }
        for level in [0.05, 0.2] {
            let share = tails.iter().filter(|p| **p < level).count() as f64 / n as f64;
            let error = 4.0 * (level * (1.0 - level) / n as f64).sqrt();
            let low = if kind == "unequal" { level * 2.0 / 3.0 - error } else { level - error };
            assert!((low..=level + error).contains(&share), "{kind} at {level}: {share}");
        }
    }
}

/// The more apart, the more often it is seen; nearly always at eight times the scatter of one mean.
#[test]
fn power_rises_with_the_difference() {
    let mut shares = Vec::new();
    for apart in [0.0, 1.0, 2.0, 4.0, 8.0] {
        let mut dice = Dice(7);
        let other = Lab::new(PINK.l + apart, PINK.a, PINK.b);
        let seen = (0..1000)
            .filter(|_| {
                let (a, b) = (dice.photos(PINK, 1.5, 4), dice.photos(other, 1.5, 4));
                test(&a, &b, Spread::Pooled).unwrap().p < 0.05
            })
            .count();
        shares.push(seen);
    }
    assert!(shares.windows(2).all(|w| w[0] < w[1]), "{shares:?}");
    assert!(shares[0] < 80 && shares[4] > 950, "{shares:?}");
}

/// A mean of one photograph each is 3.4 apart when errors are 1.5 an axis, 2.4 when the difference has
/// 1.5 an axis: 1.5·√(8/π) = 2.394. Four standard errors of 20,000 pairs.
#[test]
fn equal_colours_seem_apart() {
    let mut dice = Dice(3);
    let n = 20_000;
    let mut mean = |sd: f64| {
        let apart = (0..n).map(|_| {
            let [a, b] = [dice.plain_photos(PINK, sd, 1), dice.plain_photos(PINK, sd, 1)];
            delta_e_1976(a.lab, b.lab)
        });
        apart.sum::<f64>() / f64::from(n)
    };
    let expected = 1.5 * (8.0 / std::f64::consts::PI).sqrt();
    // The standard deviation of that distance is 0.673 of the scatter of an axis of the difference.
    let error = 4.0 * 0.673 * 1.5 / f64::from(n).sqrt();
    assert!((mean(1.5 / 2.0_f64.sqrt()) - expected).abs() < error);
    assert!((mean(visible::PHONE_ERROR) - expected * 2.0_f64.sqrt()).abs() < error * 1.5);
}

/// What many comparisons find when the truth is known.
struct Many {
    raw: f64,
    found: f64,
    found_error: f64,
    covered: f64,
    different: f64,
}

fn many(apart: f64, n: usize, photos: usize, spread: Spread) -> (f64, Many) {
    let other = Lab::new(PINK.l + 0.3 * apart, PINK.a - 0.9 * apart, PINK.b + 0.6 * apart);
    let truth = ciede2000(PINK, other);
    let mut dice = Dice(99);
    let all: Vec<_> = (0..n)
        .map(|_| {
            let [a, b] = [PINK, other].map(|c| dice.plain_photos(c, 1.5, photos));
            compare(&a, &b, spread, 0.95).unwrap()
        })
        .collect();
    let share = |count: usize| count as f64 / n as f64;
    let mean = |of: &dyn Fn(usize) -> f64| (0..n).map(of).sum::<f64>() / n as f64;
    let found = mean(&|i| all[i].delta_e);
    let variance = mean(&|i| (all[i].delta_e - found).powi(2));
    let covered = all.iter().filter(|c| (c.lower..=c.upper).contains(&truth)).count();
    let different = all.iter().filter(|c| c.verdict == Verdict::Different).count();
    (
        truth,
        Many {
            raw: mean(&|i| all[i].raw),
            found,
            found_error: (variance / n as f64).sqrt(),
            covered: share(covered),
            different: share(different),
        },
    )
}

/// Equal colours: the plain ΔE₀₀ says 1.6 on average; most of that is taken off, and false claims stay
/// at the level. What is left cannot be taken off, as no distance is below zero.
#[test]
fn the_bias_is_taken_off_equal_colours() {
    let (truth, found) = many(0.0, 150, 2, Spread::known_sd(1.5));
    assert!(truth.abs() < 1e-12);
    assert!(found.raw > 1.3, "{}", found.raw);
    assert!(found.found < 0.5 * found.raw, "{} of {}", found.found, found.raw);
    let error = 4.0 * (0.05 * 0.95 / 150.0_f64).sqrt();
    assert!(found.different <= 0.05 + error && found.covered >= 0.95 - error);
}

/// Colours that are apart: the mean of what is found is the truth within four standard errors, that of
/// the plain distance is above it, and the interval covers the truth as often as it says.
#[test]
fn the_bias_is_taken_off_different_colours() {
    let (truth, found) = many(6.0, 150, 2, Spread::known_sd(1.5));
    assert!((3.0..6.0).contains(&truth), "{truth}");
    assert!((found.found - truth).abs() < 4.0 * found.found_error, "{} {truth}", found.found);
    assert!(found.raw > truth + 0.05, "{} {truth}", found.raw);
    assert!(found.raw > found.found);
    let error = 4.0 * (0.05 * 0.95 / 150.0_f64).sqrt();
    assert!((0.95 - error..=1.0).contains(&found.covered), "{}", found.covered);
    assert!(found.different > 0.5, "{}", found.different);
}

/// Three flowers each and a scatter that is only estimated: the interval is stretched for that. Cover
/// within four standard errors of 95 %, and false claims of equal colours below the level.
#[test]
fn the_interval_allows_for_a_scatter_of_few_flowers() {
    let error = 4.0 * (0.05 * 0.95 / 150.0_f64).sqrt();
    for apart in [0.0, 10.0] {
        let (_, found) = many(apart, 150, 3, Spread::Pooled);
        assert!((0.95 - error..=1.0).contains(&found.covered), "{apart}: {}", found.covered);
        assert!(apart > 0.0 || found.different <= 0.05 + error, "{}", found.different);
    }
}

/// Slow and obvious: try true distances one after the other, simulate each with dice of the tests' own,
/// and take the one at which the seen distance is seen on average.
#[test]
fn taking_off_the_bias_agrees_with_trying_every_distance() {
    let (one, other) = (Lab::new(60.0, 12.0, 40.0), Lab::new(61.5, 10.5, 43.0));
    let mean = |c: Lab| ColourMean::of_photos(&[c, c]).unwrap();
    let found = compare(&mean(one), &mean(other), Spread::known_sd(1.2), 0.95).unwrap();
    let raw = ciede2000(one, other);
    assert_eq!(found.raw, raw);
    let mut dice = Dice(5);
    let on = |share: f64, error: [f64; 3]| {
        let at = |i: usize, side: f64| {
            let (v, w) = (one.vector()[i], other.vector()[i]);
            0.5 * (v + w) + side * (share * (w - v) + error[i])
        };
        let end = |side: f64| Lab::from_vector([0, 1, 2].map(|i| at(i, side)));
        ciede2000(end(-0.5), end(0.5))
    };
    // Each of the two means has an error of 1.2/√2 an axis; their difference 1.2.
    let errors: Vec<[f64; 3]> = (0..20_000).map(|_| [0; 3].map(|_| 1.2 * dice.normal())).collect();
    let steps = (0..=100).map(|i| f64::from(i) / 100.0);
    let (_, share) = steps
        .map(|share| {
            let seen = errors.iter().map(|e| on(share, *e)).sum::<f64>() / errors.len() as f64;
            ((seen - raw).abs(), share)
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .unwrap();
    let obvious = on(share, [0.0; 3]);
    // A step is 0.02 wide; 1,000 pairs know the mean to 0.03, and the slope there is above 0.5.
    assert!((found.delta_e - obvious).abs() < 0.12, "{} {obvious}", found.delta_e);
    assert!(found.lower <= found.delta_e && found.delta_e <= found.upper, "{found:?}");
    assert!(found.delta_e < raw && found.delta_e > 0.2 * raw, "{found:?}");
}

/// The same photographs give the same answer to the last digit.
#[test]
fn an_answer_can_be_had_again() {
    let (a, b) =
        (ColourMean::of_photos(&first()).unwrap(), ColourMean::of_photos(&second()).unwrap());
    let one = compare(&a, &b, Spread::Pooled, 0.95).unwrap();
    assert_eq!(one, compare(&a, &b, Spread::Pooled, 0.95).unwrap());
    assert_eq!(one.verdict, Verdict::Different, "{one:?}");
}

#[test]
fn three_things_may_be_said() {
    let mut dice = Dice(11);
    let apart = |d: f64| Lab::new(PINK.l + d, PINK.a, PINK.b);
    let mut verdict = |d: f64, sd: f64| {
        let (a, b) = (dice.plain_photos(PINK, sd, 6), dice.plain_photos(apart(d), sd, 6));
        compare(&a, &b, Spread::Pooled, 0.95).unwrap().verdict
    };
    assert_eq!(verdict(8.0, 0.8), Verdict::Different);
    assert_eq!(verdict(1.2, 0.1), Verdict::TooSmall);
    assert_eq!(verdict(0.5, 2.0), Verdict::NotShown);
}

#[test]
fn too_few_photographs_and_copies_are_refused() {
    let (a, b) = (&first()[..2], &second()[..2]);
    let few = |n: &[Lab]| ColourMean::of_photos(n).unwrap();
    let refused = test(&few(a), &few(b), Spread::Pooled).unwrap_err();
    assert_eq!(refused, ColourError::TooFewPhotos { have: 4, need: 5 });
    assert!(refused.to_string().contains("or give the error of one"), "{refused}");
    let refused = test(&few(&first()), &few(&second()[..3]), Spread::Unequal).unwrap_err();
    assert_eq!(refused, ColourError::TooFewPhotos { have: 3, need: 4 });
    assert!(test(&few(a), &few(b), Spread::known_sd(1.5)).is_ok());
    assert_eq!(few(&a[..1]).error().unwrap_err(), ColourError::TooFewPhotos { have: 1, need: 2 });
    assert_eq!(
        ColourMean::of_photos(&[]).unwrap_err(),
        ColourError::TooFewPhotos { have: 0, need: 1 }
    );

    let copies = few(&[PINK; 4]);
    assert_eq!(test(&copies, &copies, Spread::Pooled).unwrap_err(), ColourError::FlatErrors);
    assert_eq!(test(&copies, &copies, Spread::Unequal).unwrap_err(), ColourError::FlatErrors);
    let share = compare(&copies, &copies, Spread::known_sd(1.0), 1.0).unwrap_err();
    assert_eq!(share, ColourError::BadShare { value: 1.0 });
    let odd = ColourMean::of_photos(&[Lab::new(f64::NAN, 0.0, 0.0)]).unwrap_err();
    assert!(matches!(odd, ColourError::OutOfRange { coordinate: "L", .. }));
}

/// Every threshold says where it comes from.
#[test]
fn thresholds_name_their_source() {
    for threshold in visible::ALL {
        assert!(threshold.value > 0.5 && threshold.value < 3.0);
        assert!(!threshold.source.is_empty() && !threshold.meaning.is_empty());
    }
    let json = serde_json::to_value(visible::DIFFERENT).unwrap();
    assert_eq!((&json["unit"], &json["basis"]), (&"dE00".into(), &"common_practice".into()));
}

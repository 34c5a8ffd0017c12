//! Counts of kinds among seedlings, against published counts and slow obvious ways.

use proptest::prelude::*;
use serde_json::Value;
use stats::{
    genetics::{
        DRAWS, Family, Fraction, GeneticsError, How, Offspring, Plant, Ratio, Wanted, compare,
        dosage_name, exact, families, fit, gametes, read_dosage, share_of, tell_apart,
    },
    success::RateKnown,
};

use crate::{json, near};

fn ratio(typed: &str) -> Ratio {
    typed.parse().unwrap()
}

fn numbers<T>(value: &Value, read: impl Fn(&Value) -> T) -> Vec<T> {
    value.as_array().unwrap().iter().map(read).collect()
}

fn counts(value: &Value) -> Vec<u64> {
    numbers(value, |v| v.as_u64().unwrap())
}

fn floats(value: &Value) -> Vec<f64> {
    numbers(value, |v| v.as_f64().unwrap())
}

#[test]
fn counts_of_mendel() {
    // Mendel 1866; scipy 1.17.1 to 1e-6, published chi-squares to 0.006 (half of the last digit).
    let file = json("mendel.json");
    let sets = file["inputs"]["sets"].as_array().unwrap();
    let results = file["expected"]["results"].as_array().unwrap();
    assert_eq!((sets.len(), results.len()), (8, 8));
    for (set, want) in sets.iter().zip(results) {
        let observed = counts(&set["observed"]);
        let found = fit(&observed, &Ratio::new(&floats(&set["ratio"])).unwrap()).unwrap();
        let of = |key: &str| want[key].as_f64().unwrap();
        near(found.chi_square, of("chi_square"), 1e-9, "chi-square");
        near(found.chi_square, of("published_chi_square"), 0.006, "published chi-square");
        near(found.p, of("p_value"), 1e-9, "p");
        near(found.g, of("G"), 1e-9, "G");
        near(found.g_p, of("G_p"), 1e-9, "p of G");
        assert_eq!(u64::from(found.df), want["df"].as_u64().unwrap());
        for (a, b) in found.expected.iter().zip(floats(&want["expected_counts"])) {
            near(*a, b, 1e-9, "expected count");
        }
    }
}

#[test]
fn families_that_differ_and_that_do_not() {
    // Partition after Sokal & Rohlf, computed in Python; 1e-8.
    let file = json("heterogeneity.json");
    let made: Vec<Family> = numbers(&file["inputs"]["families"], counts)
        .into_iter()
        .enumerate()
        .map(|(i, counts)| Family { name: format!("19-{i}"), counts })
        .collect();
    let found = families(&made, &ratio("3:1")).unwrap();
    let want = |key: &str| file["expected"][key].as_f64().unwrap();
    for (actual, key) in [
        (found.total.chi_square, "total_chi"),
        (f64::from(found.total.df), "total_df"),
        (found.pooled.chi_square, "pooled_chi"),
        (f64::from(found.pooled.df), "pooled_df"),
        (found.pooled.p, "pooled_p"),
        (found.heterogeneity.chi_square, "het_chi"),
        (f64::from(found.heterogeneity.df), "het_df"),
        (found.heterogeneity.p, "het_p"),
        (found.total.g, "G_total"),
        (found.pooled.g, "G_pooled"),
        (found.heterogeneity.g, "G_het"),
        (found.heterogeneity.g_p, "G_het_p"),
    ] {
        near(actual, want(key), 1e-8, key);
    }
    // One family has nothing to differ from.
    let single = families(&made[..1], &ratio("3:1")).unwrap().heterogeneity;
    assert_eq!((single.df, single.chi_square, single.p), (0, 0.0, 1.0));
    let empty = [made[0].clone(), Family { name: "20-1".to_owned(), counts: vec![0, 0] }];
    let told = families(&empty, &ratio("3:1")).unwrap_err().to_string();
    assert!(told.contains("family 20-1 has no seedlings"), "{told}");
}

/// All ways to spread n plants over classes, one by one, with their chances.
fn all_outcomes(n: u64, shares: &[f64]) -> Vec<(Vec<u64>, f64)> {
    let Some((last, before)) = shares.split_last().filter(|(_, b)| !b.is_empty()) else {
        return vec![(vec![n], shares[0].powi(n as i32))];
    };
    let mut outcomes = Vec::new();
    for k in 0..=n {
        let ways: f64 = (0..k).map(|i| (n - i) as f64 / (i + 1) as f64).product();
        for (mut counts, chance) in all_outcomes(n - k, before) {
            counts.push(k);
            outcomes.push((counts, chance * ways * last.powi(k as i32)));
        }
    }
    outcomes
}

fn slowly_exact(observed: &[u64], shares: &[f64]) -> f64 {
    let outcomes = all_outcomes(observed.iter().sum(), shares);
    let own = outcomes.iter().find(|(counts, _)| counts == observed).unwrap().1;
    outcomes.iter().map(|(_, c)| *c).filter(|c| *c <= own * (1.0 + 1e-7)).sum()
}

#[test]
fn the_exact_test_is_the_sum_over_all_outcomes() {
    // Ten seedlings, all of the larger class. 1e-9: closed forms with logarithms of factorials.
    let shares = ratio("3:1").shares();
    let found = exact(&[10, 0], &ratio("3:1"), 1).unwrap();
    near(found.p, slowly_exact(&[10, 0], &shares), 1e-9, "ten of ten");
    // The same as chances of a binomial.
    let chance = |k: u64| RateKnown::Share(0.75).chance(k, 10);
    let by_hand: f64 = (0..=10).map(chance).filter(|c| *c <= chance(10) * (1.0 + 1e-7)).sum();
    near(found.p, by_hand, 1e-9, "binomial");
    assert_eq!(found.how, How::Enumeration { outcomes: 11.0 });
    // Certain outcomes: the likeliest of all has p 1.
    near(exact(&[9, 3], &ratio("3:1"), 1).unwrap().p, 1.0, 1e-9, "the likeliest");
}

#[test]
fn the_dihybrid_of_mendel_is_gone_through_and_drawn_alike() {
    // 556 seeds in four classes: 28.9 million outcomes.
    let (observed, expected) = ([315, 101, 108, 32], ratio("9:3:3:1"));
    let found = exact(&observed, &expected, 1).unwrap();
    assert!(matches!(found.how, How::Enumeration { outcomes } if outcomes > 2.8e7), "{found:?}");
    // Chi-square gives 0.925 there; in a family of 556 the two are near each other.
    near(found.p, 0.925, 0.02, "beside chi-square");
    // Twice as many seeds are too many outcomes, and are drawn; p is again near chi-square's.
    let twice = observed.map(|k| 2 * k);
    let drawn = exact(&twice, &expected, 7).unwrap();
    let How::Draws { draws, seed, standard_error } = drawn.how else { panic!("{drawn:?}") };
    assert_eq!((draws, seed), (DRAWS, 7));
    assert!(standard_error > 0.0 && standard_error < 0.002);
    near(drawn.p, fit(&twice, &expected).unwrap().p, 0.02, "beside chi-square");
    assert_eq!(exact(&twice, &expected, 7).unwrap(), drawn, "the same seed, the same answer");
}

#[test]
fn draws_agree_with_enumeration() {
    // Two classes of many plants can be drawn and summed: the same share with a third class of a
    // share so small that it never comes makes the outcomes too many to go through.
    let two = exact(&[7_650, 2_350], &ratio("3:1"), 1).unwrap();
    assert!(matches!(two.how, How::Enumeration { .. }));
    let three = Ratio::new(&[3.0, 1.0, 1e-14]).unwrap();
    let drawn = exact(&[7_650, 2_350, 0], &three, 3).unwrap();
    let How::Draws { standard_error, .. } = drawn.how else { panic!("{drawn:?}") };
    // Four standard errors.
    near(drawn.p, two.p, 4.0 * standard_error, "drawn beside summed");
}

#[test]
fn several_ratios_compared() {
    // 27 of 48 with the trait: 9:7 expects 27.
    let ratios = [ratio("3:1"), ratio("9:7"), ratio("1:1")];
    let found = compare(&[27, 21], &ratios, 1).unwrap();
    // A closed form: likelihoods without the coefficient.
    let likelihood = |p: f64| p.powi(27) * (1.0 - p).powi(21);
    let each = [0.75, 9.0 / 16.0, 0.5].map(likelihood);
    for (h, l) in found.iter().zip(each) {
        near(h.posterior, l / each.iter().sum::<f64>(), 1e-9, &h.ratio);
    }
    let consistent: Vec<&str> =
        found.iter().filter(|h| h.consistent).map(|h| h.ratio.as_str()).collect();
    assert_eq!(consistent, ["9:7", "1:1"]);
    // None of the listed fits: the one that is least bad is not called consistent.
    let none = compare(&[10, 90], &[ratio("3:1"), ratio("1:1")], 1).unwrap();
    assert!(none[1].posterior > 0.99 && none.iter().all(|h| !h.consistent), "{none:?}");
    let same = compare(&[1, 1], &[ratio("1:1"), ratio("2:2")], 1);
    assert_eq!(same, Err(GeneticsError::SameRatio("1:1".to_owned(), "2:2".to_owned())));
    assert!(matches!(compare(&[1, 1], &ratios[..1], 1), Err(GeneticsError::TooFew(_))));
}

#[test]
fn families_large_enough_to_tell_ratios_apart() {
    for (one, other, error) in [("3:1", "9:7", 0.05), ("15:1", "3:1", 0.05), ("35:1", "3:1", 0.01)]
    {
        let found = tell_apart(&ratio(one), &ratio(other), error).unwrap();
        let shares = [one, other].map(|r| ratio(r).shares()[1]);
        let (small, large) = (shares[0].min(shares[1]), shares[0].max(shares[1]));
        let tail = |k: u64, n: u64, p: f64| -> f64 {
            (k..=n).map(|j| RateKnown::Share(p).chance(j, n)).sum()
        };
        near(found.wrong_if_smaller, tail(found.from, found.n, small), 1e-9, "smaller");
        near(found.wrong_if_larger, 1.0 - tail(found.from, found.n, large), 1e-9, "larger");
        assert!(found.wrong_if_smaller <= error && found.wrong_if_larger <= error);
        // No smaller family has a limit that would do.
        for n in 1..found.n {
            let does =
                (0..=n + 1).any(|k| tail(k, n, small) <= error && 1.0 - tail(k, n, large) <= error);
            assert!(!does, "{n} would do for {one} and {other}");
        }
    }
    assert!(matches!(
        tell_apart(&ratio("3:1"), &ratio("3:1.001"), 0.01),
        Err(GeneticsError::TooAlike { .. })
    ));
    assert_eq!(tell_apart(&ratio("3:1"), &ratio("1:1"), 0.5), Err(GeneticsError::Error(0.5)));
    let three = tell_apart(&ratio("1:2:1"), &ratio("1:1"), 0.1);
    assert!(matches!(three, Err(GeneticsError::Parts { .. })));
}

#[test]
fn autotetraploids_as_published() {
    // Exact fractions; Haldane 1930, Burnham, Sybenga (from memory, reproduced).
    let mut crosses = 0;
    for file in [
        "autotetraploid_chromosome",
        "autotetraploid_random_chromatid",
        "autotetraploid_alpha_sixth",
    ] {
        let file = json(&format!("{file}.json"));
        let alpha: Fraction = file["inputs"]["double_reduction"].as_str().unwrap().parse().unwrap();
        for want in file["expected"]["results"].as_array().unwrap() {
            let parent = |key: &str| {
                gametes(4, read_dosage(want[key].as_str().unwrap()).unwrap(), alpha).unwrap()
            };
            let (seed, pollen) = (parent("seed"), parent("pollen"));
            for (k, share) in seed.shares.iter().enumerate() {
                assert_eq!(want["gametes_seed"][k.to_string()], share.to_string());
            }
            let found = Offspring::of(&seed, &pollen).unwrap();
            let floats = floats(&want["offspring_float"]);
            for (k, share) in found.shares.iter().enumerate() {
                assert_eq!(want["offspring_dosage"][dosage_name(k as u32)], share.to_string());
                near(share.value(), floats[k], 1e-12, "share");
            }
            assert_eq!(want["dominant"], found.dominant.to_string());
            assert_eq!(want["recessive"], found.recessive.to_string());
            crosses += 1;
        }
    }
    assert_eq!(crosses, 15);
    // 20.8 : 1 (random chromatids, duplex selfed) and 35 : 1, as handbooks print them.
    let selfed = |alpha: &str| {
        let gametes = gametes(4, 2, alpha.parse().unwrap()).unwrap();
        let found = Offspring::of(&gametes, &gametes).unwrap();
        found.dominant.value() / found.recessive.value()
    };
    near(selfed("1/7"), 20.8, 0.05, "random chromatids");
    near(selfed("0"), 35.0, 1e-12, "chromosomes");
    near(selfed("1/6"), 19.25, 1e-12, "largest double reduction");
}

#[test]
fn hexaploids_and_mixed_ploidies() {
    // By hand: of 20 ways to draw three of six, ten hold the one copy: simplex selfed 3:1; of a
    // triplex one in twenty gametes has none: 399:1 when selfed.
    let of = |ploidy, copies| gametes(ploidy, copies, Fraction::ZERO).unwrap();
    let selfed = |g| Offspring::of(&g, &g).unwrap().dominant.against_rest().unwrap();
    assert_eq!(selfed(of(6, 1)), "3:1");
    assert_eq!(selfed(of(6, 3)), "399:1");
    // Tetraploid duplex by diploid heterozygote: 1/6 · 1/2 without a copy, seedlings triploid.
    let mixed = Offspring::of(&of(4, 2), &of(2, 1)).unwrap();
    assert_eq!((mixed.shares.len(), mixed.recessive.to_string()), (4, "1/12".to_owned()));
}

#[test]
fn loci_as_in_any_textbook() {
    let share = |seed: &str, pollen: &str, want: &str| {
        let read = |typed: &str| Plant::read(typed).unwrap();
        share_of(&read(seed), &read(pollen), &Wanted::read(want).unwrap()).unwrap()
    };
    for (seed, pollen, want, expected) in [
        ("AaBb", "AaBb", "aabb", "1/16"),
        ("AaBb", "AaBb", "A_B_", "9/16"),
        ("AaBb", "AaBb", "A-bb", "3/16"),
        ("AaBb", "aabb", "AaBb", "1/4"),
        ("AaBbCc", "AaBbCc", "aabbcc", "1/64"),
        ("AaBb", "BbAa", "aa", "1/4"),
        ("AAaa", "AAaa", "aaaa", "1/36"),
        ("AAaaBbbb", "AAaaBbbb", "aaaabbbb", "1/144"),
        ("AAaa", "aa", "aaa", "1/6"),
        ("aA", "Aa", "AA", "1/4"),
        ("AA", "AA", "aa", "0"),
        ("AA", "AA", "A_", "1"),
    ] {
        let found = share(seed, pollen, want);
        assert_eq!(found.share.unwrap().to_string(), expected, "{seed} x {pollen}, {want}");
        near(found.value, found.share.unwrap().value(), 0.0, "value");
    }
    // Fractions of 26 octoploid loci do not fit 128 bits; the number remains. Of the gametes of a
    // quadruplex one in 70 has no copy.
    let octoploid = |half: &dyn Fn(char) -> String| ('a'..='z').map(half).collect::<String>();
    let parent =
        octoploid(&|c| String::from(c.to_ascii_uppercase()).repeat(4) + &String::from(c).repeat(4));
    let none = octoploid(&|c| String::from(c).repeat(8));
    let large = share(&parent, &parent, &none);
    assert_eq!(large.share, None);
    let expected = 70.0_f64.powi(-52);
    near(large.value, expected, 1e-12 * expected, "value");
}

#[test]
fn what_is_no_genotype_is_refused() {
    let plant = |typed: &str| Plant::read(typed).unwrap_err().to_string();
    assert!(plant("AaBbA").contains("the letter a stands in two places"));
    assert!(plant("AaB").contains("locus a has 2 letters and locus b has 1"));
    assert!(plant("A a").contains("“ ” is not a letter"));
    assert!(plant("AAa").contains("a ploidy of 3"));
    assert!(plant("").contains("there is no letter"));
    assert!(plant("A_").contains("“_” is not a letter"));
    let share = |seed: &str, pollen: &str, want: &str| {
        let read = |typed: &str| Plant::read(typed).unwrap();
        let want = Wanted::read(want).unwrap();
        share_of(&read(seed), &read(pollen), &want).unwrap_err().to_string()
    };
    assert!(share("AaBb", "Aa", "aa").contains("locus b of “AaBb” is not in “Aa”"));
    assert!(share("Aa", "Aa", "bb").contains("locus b of “bb”"));
    assert!(share("AAaa", "Aa", "aa").contains("the seedlings have 3"));
    assert!(Wanted::read("_a").unwrap_err().to_string().contains("begins with an open place"));
}

#[test]
fn what_is_no_dosage_or_ratio_is_refused() {
    let none = Fraction::ZERO;
    assert_eq!(gametes(3, 1, none), Err(GeneticsError::Ploidy(3)));
    assert_eq!(gametes(0, 0, none), Err(GeneticsError::Ploidy(0)));
    assert_eq!(gametes(4, 5, none), Err(GeneticsError::Dosage { dosage: 5, ploidy: 4 }));
    let alpha = "1/5".parse().unwrap();
    assert_eq!(gametes(4, 1, alpha), Err(GeneticsError::DoubleReduction { alpha: 0.2 }));
    assert_eq!(gametes(6, 1, alpha), Err(GeneticsError::DoubleReductionAt(6)));
    // A diploid has one chromosome of each sort in a gamete.
    assert_eq!(gametes(2, 1, alpha), gametes(2, 1, none));
    assert!(read_dosage("half").is_err());
    for typed in ["3", "3:0", "3:x", "3:-1", "", "3:inf"] {
        assert!(typed.parse::<Ratio>().is_err(), "{typed} is taken");
    }
    assert_eq!(fit(&[0, 0], &ratio("3:1")), Err(GeneticsError::NoPlants));
    let short = fit(&[5], &ratio("3:1"));
    assert_eq!(short, Err(GeneticsError::Parts { counts: 1, parts: 2 }));
}

#[test]
fn fractions_are_read() {
    for (typed, expected) in [
        ("0", "0"),
        ("1", "1"),
        ("2/12", "1/6"),
        ("0.15", "3/20"),
        (".5", "1/2"),
        ("0.16666666666666666", "1/6"),
        ("0.142857142857142849", "1/7"),
    ] {
        assert_eq!(typed.parse::<Fraction>().unwrap().to_string(), expected);
    }
    for typed in ["", ".", "a", "1/0", "-0.1", "1/", "1e-3", "0.1.2"] {
        assert!(typed.parse::<Fraction>().is_err(), "{typed} is taken");
    }
    let huge = Fraction::new(u128::MAX, 1).unwrap();
    assert_eq!((huge.plus(Fraction::ONE), huge.times(huge), huge.rest()), (None, None, None));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn the_exact_test_of_small_families(observed in prop::collection::vec(0u64..9, 2..5), parts in prop::collection::vec(1u32..16, 4)) {
        prop_assume!(observed.iter().sum::<u64>() > 0);
        let parts: Vec<f64> = parts[..observed.len()].iter().map(|p| f64::from(*p)).collect();
        let ratio = Ratio::new(&parts).unwrap();
        let found = exact(&observed, &ratio, 1).unwrap();
        prop_assert!((found.p - slowly_exact(&observed, &ratio.shares())).abs() < 1e-9);
    }

    #[test]
    fn deviations_grow_with_the_family_and_not_with_the_parts(observed in prop::collection::vec(1u64..200, 2..6), times in 2u64..9) {
        let parts: Vec<f64> = (0..observed.len()).map(|i| 1.0 + i as f64).collect();
        let (one, scaled) = (Ratio::new(&parts).unwrap(), Ratio::new(&parts.iter().map(|p| 2.5 * p).collect::<Vec<_>>()).unwrap());
        let found = fit(&observed, &one).unwrap();
        let same = fit(&observed, &scaled).unwrap();
        prop_assert!((found.chi_square - same.chi_square).abs() < 1e-9 * (1.0 + found.chi_square));
        // Chi-square and G are proportional to the number of plants.
        let larger: Vec<u64> = observed.iter().map(|k| k * times).collect();
        let larger = fit(&larger, &one).unwrap();
        prop_assert!((larger.chi_square - times as f64 * found.chi_square).abs() < 1e-9 * (1.0 + larger.chi_square));
        prop_assert!((larger.g - times as f64 * found.g).abs() < 1e-8 * (1.0 + larger.g));
    }

    #[test]
    fn total_is_pooled_and_what_differs(counts in prop::collection::vec(prop::collection::vec(1u64..60, 3), 1..7)) {
        let made: Vec<Family> = counts.into_iter().map(|counts| Family { name: "a".to_owned(), counts }).collect();
        let found = families(&made, &ratio("1:2:1")).unwrap();
        prop_assert!(found.heterogeneity.chi_square >= 0.0 && found.heterogeneity.g >= 0.0);
        prop_assert_eq!(found.total.df, found.pooled.df + found.heterogeneity.df);
        let sum: f64 = found.families.iter().map(|f| f.chi_square).sum();
        prop_assert!((found.pooled.chi_square + found.heterogeneity.chi_square - sum).abs() < 1e-9 * (1.0 + sum));
    }

    #[test]
    fn shares_add_up_to_one(half in 1u32..=4, copies in 0u32..=8, tenths in 0u128..=10) {
        let ploidy = 2 * half;
        prop_assume!(copies <= ploidy);
        let alpha = if ploidy == 4 { Fraction::new(tenths, 60).unwrap() } else { Fraction::ZERO };
        let one = gametes(ploidy, copies, alpha).unwrap();
        let mirrored = gametes(ploidy, ploidy - copies, alpha).unwrap();
        let whole = |shares: &[Fraction]| shares.iter().try_fold(Fraction::ZERO, |s, f| s.plus(*f)).unwrap();
        prop_assert_eq!(whole(&one.shares), Fraction::ONE);
        let turned: Vec<Fraction> = mirrored.shares.iter().rev().copied().collect();
        prop_assert_eq!(&one.shares, &turned);
        // The mean number of copies in a gamete is half of the parent's.
        let mean: f64 = one.shares.iter().enumerate().map(|(k, s)| k as f64 * s.value()).sum();
        prop_assert!((mean - f64::from(copies) / 2.0).abs() < 1e-12);
        let offspring = Offspring::of(&one, &mirrored).unwrap();
        prop_assert_eq!(whole(&offspring.shares), Fraction::ONE);
        prop_assert_eq!(offspring.dominant.plus(offspring.recessive), Some(Fraction::ONE));
    }

    #[test]
    fn genotypes_of_a_cross_add_up(dominant in 0u32..=4, other in 0u32..=4) {
        let typed = |k: u32| "A".repeat(k as usize) + &"a".repeat(4 - k as usize);
        let (seed, pollen) = (Plant::read(&typed(dominant)).unwrap(), Plant::read(&typed(other)).unwrap());
        let value = |want: &str| share_of(&seed, &pollen, &Wanted::read(want).unwrap()).unwrap().value;
        let sum: f64 = (0..=4).map(|k| value(&typed(k))).sum();
        prop_assert!((sum - 1.0).abs() < 1e-12);
        prop_assert!((value("a___") + value("AAAA") - 1.0).abs() < 1e-12);
    }
}

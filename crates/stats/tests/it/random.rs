//! The generator.

use stats::random::Random;

#[test]
fn first_outputs_of_seed_1234567() {
    // First outputs of SplitMix64 for the seed 1234567, as commonly listed (from memory).
    let mut random = Random::new(1_234_567);
    let first = [random.bits(), random.bits(), random.bits()];
    assert_eq!(
        first,
        [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423]
    );
}

#[test]
fn numbers_are_spread_evenly() {
    let mut random = Random::new(1);
    let mut counts = [0; 7];
    for _ in 0..70_000 {
        counts[random.below(7)] += 1;
        assert!((0.0..1.0).contains(&random.unit()));
    }
    // Four standard errors of 10,000 of 70,000 are 370.
    assert!(counts.iter().all(|c| (9_630..=10_370).contains(c)), "{counts:?}");
}

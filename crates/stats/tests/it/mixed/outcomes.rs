//! Outcomes that are not a number: each is called by its name.

use stats::{
    mixed::{InverseRelation, MixedError, Random, Settings, fit, test_zero},
    model::{Column, Frame, ModelError, RandomSpec, RandomTerm},
};

use super::{Case, crossed, records};
use crate::near;

fn words(text: &str) -> Column {
    Column::Words(text.split(' ').map(str::to_owned).collect())
}

fn six(y: [f64; 6]) -> (Vec<f64>, Frame) {
    let frame = Frame::new(6)
        .with("g", words("a a b b c c"))
        .unwrap()
        .with("h", words("r s r s r s"))
        .unwrap()
        .with("own", words("1 2 3 4 5 6"))
        .unwrap()
        .with("one", words("k k k k k k"))
        .unwrap()
        .with("flat", Column::Numbers(vec![2.0; 6]))
        .unwrap()
        .with("x", Column::Numbers(vec![1.0, 2.0, 3.0, 4.0, 5.0, 7.0]))
        .unwrap()
        .with("double", Column::Numbers(vec![2.0, 4.0, 6.0, 8.0, 10.0, 14.0]))
        .unwrap();
    (y.to_vec(), frame)
}

const SOME: [f64; 6] = [1.0, 1.4, 2.2, 1.9, 4.0, 3.1];

fn refused(y: [f64; 6], terms: &[&str], random: &str) -> MixedError {
    let (y, frame) = six(y);
    Case::of(y, &frame, terms, random).try_fit().unwrap_err()
}

#[test]
fn a_singular_design() {
    let e = refused(SOME, &["x", "double"], "g");
    assert!(matches!(&e, MixedError::Model(ModelError::Singular { .. })), "{e}");
    assert!(e.to_string().contains("double"), "{e}");
}

#[test]
fn all_records_equal() {
    assert_eq!(refused([2.5; 6], &[], "g"), MixedError::Constant { value: 2.5 });
}

#[test]
fn terms_that_explain_everything() {
    let line = [3.0, 5.0, 7.0, 9.0, 11.0, 15.0];
    assert_eq!(refused(line, &["x"], "g"), MixedError::PerfectFit);
    assert_eq!(refused([1.0, 1.0, 5.0, 5.0, 2.0, 2.0], &[], "g"), MixedError::ResidualZero);
}

#[test]
fn as_many_levels_as_records() {
    assert_eq!(refused(SOME, &[], "own"), MixedError::LevelPerRecord { term: "own".to_owned() });
    // Crossed with each other, every pair of levels once: their interaction is the residual.
    let e = refused(SOME, &[], "g,h,g:h");
    assert_eq!(e, MixedError::LevelPerRecord { term: "g:h".to_owned() });
}

#[test]
fn a_term_with_one_level_and_a_flat_slope() {
    let e = refused(SOME, &[], "one");
    assert!(
        matches!(&e, MixedError::OneLevel { term, level } if term == "one" && level == "k"),
        "{e}"
    );
    let e = refused(SOME, &[], "flat|g");
    assert!(matches!(&e, MixedError::FlatSlope { column, .. } if column == "flat"), "{e}");
}

#[test]
fn the_same_term_twice_and_two_names_for_the_same_levels() {
    let (y, frame) = six(SOME);
    let mut case = Case::of(y.clone(), &frame, &[], "g");
    case.random.push(case.random[0].clone());
    assert_eq!(case.try_fit().unwrap_err(), MixedError::Twice { term: "g".to_owned() });
    let frame = frame.with("g2", words("A A B B C C")).unwrap();
    let e = Case::of(y, &frame, &[], "g,g2").try_fit().unwrap_err();
    assert!(matches!(&e, MixedError::NotIdentified { names } if names.contains("g, g2")), "{e}");
}

#[test]
fn a_term_that_is_fixed_and_random() {
    let e = refused(SOME, &["g"], "g");
    assert!(matches!(&e, MixedError::NotIdentified { names } if names.contains('g')), "{e}");
}

#[test]
fn too_few_records_and_odd_ones() {
    let (y, frame) = six(SOME);
    let case = Case::of(y, &frame, &["own"], "g");
    let e = case.try_fit().unwrap_err();
    assert_eq!(e, MixedError::Saturated { records: 6, coefficients: 6 });
    let e = refused([1.0, 2.0, f64::INFINITY, 4.0, 5.0, 6.0], &[], "g");
    assert_eq!(e, MixedError::Response { row: 3, value: f64::INFINITY });
    let short = Case { response: vec![1.0, 2.0], ..case };
    assert_eq!(short.try_fit().unwrap_err(), MixedError::Lengths { responses: 2, records: 6 });
}

#[test]
fn an_optimum_that_is_not_reached() {
    let case = crossed(5, 80, 8, 6, [1.0, 1.0, 1.0]);
    let settings = Settings { steps: 1, ..Settings::default() };
    let e = fit(&case.response, &case.fixed, &case.random, &settings).unwrap_err();
    assert!(
        matches!(e, MixedError::NotReached { iterations: 1, decrement } if decrement > 1e-12),
        "{e}"
    );
}

#[test]
fn a_factor_that_would_be_too_large() {
    let case = crossed(5, 80, 8, 6, [1.0, 1.0, 1.0]);
    let settings = Settings { fill_limit: 20, ..Settings::default() };
    let e = fit(&case.response, &case.fixed, &case.random, &settings).unwrap_err();
    assert!(e.to_string().contains("more than the 20 allowed"), "{e}");
}

#[test]
fn variances_that_cannot_be_given() {
    let case = crossed(5, 80, 8, 6, [1.0, 1.0, 1.0]);
    let e = case.with(&[("C", 1.0)]).unwrap_err();
    assert!(e.to_string().contains("there is no variance C; there are A, B, residual"), "{e}");
    for (name, value) in [("A", -1.0), ("A", f64::NAN), ("residual", 0.0), ("residual", -2.0)] {
        let e = case.with(&[(name, value)]).unwrap_err();
        assert!(matches!(&e, MixedError::Given { name: n, .. } if n == name), "{e}");
    }
    let (y, frame) = records("sleepstudy.csv", "Reaction");
    let case = Case::of(y, &frame, &["Days"], "Days|Subject");
    for given in [
        &[("Subject", 600.0)][..],
        &[("Subject:Days", 30.0)],
        &[("covariance(Subject)", 30.0)],
        &[("Subject", 4.0), ("Subject:Days", 9.0), ("covariance(Subject)", 7.0)],
        &[("Subject", 4.0), ("Subject:Days", -9.0)],
    ] {
        assert!(matches!(case.with(given), Err(MixedError::Given { .. })), "{given:?}");
    }
}

#[test]
fn a_relation_that_does_not_fit() {
    let (y, frame) = six(SOME);
    let spec = RandomSpec::read("g").unwrap().remove(0);
    let term = RandomTerm::build(&frame, &spec).unwrap();
    let two = InverseRelation::new(2, &[(0, 0, 1.0), (1, 1, 1.0)]).unwrap();
    let mut case = Case::of(y, &frame, &[], "");
    case.random.push(Random::related("kin", term, two));
    assert!(matches!(case.try_fit(), Err(MixedError::Relation { levels: 3, .. })));
    let indefinite = InverseRelation::new(2, &[(0, 0, 1.0), (1, 0, 2.0), (1, 1, 1.0)]);
    assert!(matches!(indefinite, Err(MixedError::Relation { levels: 2, .. })));
}

#[test]
fn a_variance_at_zero_is_tested_half_and_half() {
    let settings = Settings::default();
    let (y, frame) = records("halfsib_balanced.csv", "y");
    let case = Case::of(y, &frame, &[], "pollen_parent");
    let t =
        test_zero(&case.response, &case.fixed, &case.random, &settings, "pollen_parent").unwrap();
    assert_eq!((t.chi_square, t.p, t.df), (0.0, 1.0, [0, 1]));
    let (y, frame) = records("sleepstudy.csv", "Reaction");
    let case = Case::of(y, &frame, &["Days"], "Days|Subject");
    let t = test_zero(&case.response, &case.fixed, &case.random, &settings, "Subject").unwrap();
    // Criteria of lme4 with and without slopes, from the two reference files.
    let criterion = |f: &str| crate::json(f)["expected"]["reml_criterion"].as_f64().unwrap();
    let expected =
        criterion("lme4_sleepstudy_intercept.json") - criterion("lme4_sleepstudy_slope.json");
    near(t.chi_square, expected, 1e-3, "twice the difference");
    assert_eq!((t.group.as_str(), t.df), ("Subject:Days", [1, 2]));
    // ½·P(χ²₁ > x) + ½·P(χ²₂ > x), the second being exp(−x/2).
    let one = stats::special::chi_square_tail(t.chi_square, 1);
    near(t.p, 0.5 * one + 0.5 * (-0.5 * t.chi_square).exp(), 1e-15, "probability");
    let e = test_zero(&case.response, &case.fixed, &case.random, &settings, "Days").unwrap_err();
    assert!(matches!(e, MixedError::Unknown { .. }), "{e}");
}

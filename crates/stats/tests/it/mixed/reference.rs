//! Against values computed by lme4 and nlme, and as published.

use serde_json::Value;
use stats::mixed::MixedFit;

use super::{Case, records};
use crate::{json, near};

fn close(actual: f64, expected: f64, tolerance: &Value, what: &str) {
    let (rel, abs) = (tolerance["rel"].as_f64().unwrap(), tolerance["abs"].as_f64().unwrap());
    near(actual, expected, abs + rel * expected.abs(), what);
}

fn level(fit: &MixedFit, group: &str, level: &str) -> (f64, f64) {
    let found = fit.levels.iter().find(|l| l.group == group && l.level == level).unwrap();
    (found.estimate, found.conditional_sd)
}

/// Everything that a file of lme4's values has.
fn lme4(file: &str, response: &str, terms: &[&str], random: &str) -> MixedFit {
    let reference = json(&format!("{file}.json"));
    let (expected, tolerance) = (&reference["expected"], &reference["tolerance"]);
    let (y, frame) = records(reference["inputs"]["csv"].as_str().unwrap(), response);
    let fit = Case::of(y, &frame, terms, random).fit();
    for (j, t) in fit.terms.iter().enumerate() {
        let name = if j == 0 { "(Intercept)" } else { t.coefficient.term.as_str() };
        close(t.estimate, expected["fixef"][name].as_f64().unwrap(), tolerance, name);
        close(t.se, expected["fixef_se"][name].as_f64().unwrap(), tolerance, "its error");
    }
    let l = -0.5 * expected["reml_criterion"].as_f64().unwrap();
    close(fit.log_restricted_likelihood, l, tolerance, "log-likelihood");
    let components = expected["varcorr"].as_array().unwrap();
    assert_eq!(components.len(), fit.variances.len() + fit.covariances.len());
    for c in components {
        let (group, of, with) = (c["group"].as_str().unwrap(), &c["var1"], &c["var2"]);
        let value = c["vcov"].as_f64().unwrap();
        if !with.is_null() {
            close(fit.covariances[0].covariance, value, tolerance, "covariance");
            let r = fit.covariances[0].correlation.unwrap();
            close(r, c["sdcor"].as_f64().unwrap(), tolerance, "correlation");
            continue;
        }
        let name = match of.as_str() {
            None => "residual".to_owned(),
            Some("(Intercept)") => group.to_owned(),
            Some(slope) => format!("{group}:{slope}"),
        };
        let found = fit.variances.iter().find(|v| v.group == name).unwrap();
        close(found.variance, value, tolerance, &name);
        close(found.sd, c["sdcor"].as_f64().unwrap(), tolerance, "its root");
    }
    // The file with slopes has no effects of levels; every other must have them all.
    if expected["blup"].is_null() && expected["ranef"].is_null() {
        assert_eq!(file, "lme4_sleepstudy_slope");
        return fit;
    }
    let levels = expected["blup"].as_array().or(expected["ranef"][random].as_array()).unwrap();
    assert_eq!(levels.len(), fit.levels.len());
    for l in levels {
        let name = l["level"].as_str().unwrap();
        let (estimate, sd) = level(&fit, random, name);
        close(estimate, l["(Intercept)"].as_f64().unwrap(), tolerance, name);
        close(sd, l["cond_sd"].as_f64().unwrap(), tolerance, "its conditional deviation");
    }
    fit
}

#[test]
fn half_sibs_without_a_variance_between_families() {
    let fit = lme4("halfsib_balanced", "y", &[], "pollen_parent");
    let family = &fit.variances[0];
    assert_eq!((family.variance, family.boundary, family.se), (0.0, true, None));
    assert!(fit.variances[1].se.is_some());
    assert!(fit.levels.iter().all(|l| l.reliability.is_none() && l.estimate == 0.0));
}

#[test]
fn half_sibs_with_a_variance_between_families() {
    for file in ["halfsib_balanced_pos", "halfsib_unbalanced"] {
        let fit = lme4(file, "y", &[], "pollen_parent");
        let (family, rest) = (fit.variances[0].variance, fit.variances[1].variance);
        let expected = json(&format!("{file}.json"))["expected"]["h2_halfsib"].as_f64().unwrap();
        near(4.0 * family / (family + rest), expected, 1e-3 * expected, "heritability");
        assert!(!fit.variances[0].boundary);
    }
}

#[test]
fn dyestuff() {
    let fit = lme4("lme4_dyestuff", "Yield", &[], "Batch");
    // Davies & Goldsmith 1972; as printed in Bates, lme4: Mixed-effects modeling with R (from memory).
    near(fit.variances[0].variance, 1764.0, 0.1, "published variance of batches");
    near(fit.variances[1].variance, 2451.2, 0.06, "published residual variance");
    near(fit.log_restricted_likelihood, -0.5 * 319.65, 0.003, "published criterion");
    // Balanced: mean squares 11271.5 between and 2451.25 within; their sampling variances give those
    // of the components, and with the variances in the place of their expectations the information
    // is exact: var(σ²) = 2·MSW²/24, var(σ_b²) = (2·MSB²/5 + 2·MSW²/24)/25.
    let (msb, msw) = (11271.5f64, 2451.25f64);
    let within = 2.0 * msw * msw / 24.0;
    near(fit.variances[1].se.unwrap(), within.sqrt(), 1e-3, "error of the residual variance");
    let between = (2.0 * msb * msb / 5.0 + within) / 25.0;
    near(fit.variances[0].se.unwrap(), between.sqrt(), 1e-3, "error of the variance of batches");
}

#[test]
fn sleep_with_random_intercepts() {
    lme4("lme4_sleepstudy_intercept", "Reaction", &["Days"], "Subject");
}

#[test]
fn sleep_with_random_slopes() {
    let fit = lme4("lme4_sleepstudy_slope", "Reaction", &["Days"], "Days|Subject");
    // Bates, Mächler, Bolker & Walker 2015, J. Stat. Softw. 67(1) (from memory).
    let sds: Vec<f64> = fit.variances.iter().map(|v| v.sd).collect();
    for (sd, published) in sds.iter().zip([24.74, 5.92, 25.59]) {
        near(*sd, published, 0.006, "published deviation");
    }
    near(fit.covariances[0].correlation.unwrap(), 0.07, 0.006, "published correlation");
    near(fit.terms[0].estimate, 251.405, 6e-4, "published intercept");
    near(fit.terms[1].estimate, 10.467, 6e-4, "published slope");
    near(-2.0 * fit.log_restricted_likelihood, 1743.6, 0.06, "published criterion");
}

#[test]
fn rail() {
    let reference = json("nlme_rail.json");
    let (expected, tolerance) = (&reference["expected"], &reference["tolerance"]);
    let (y, frame) = records("rail.csv", "travel");
    let fit = Case::of(y, &frame, &[], "Rail").fit();
    let value = |key: &str| expected[key].as_f64().unwrap();
    close(fit.terms[0].estimate, value("intercept"), tolerance, "intercept");
    close(fit.terms[0].se, value("intercept_se"), tolerance, "its error");
    close(fit.variances[0].variance, value("var_Rail"), tolerance, "rails");
    close(fit.variances[1].variance, value("var_resid"), tolerance, "residual");
    close(fit.log_restricted_likelihood, value("logLik"), tolerance, "log-likelihood");
    for (name, effect) in expected["blup"].as_object().unwrap() {
        close(level(&fit, "Rail", name).0, effect.as_f64().unwrap(), tolerance, name);
    }
    // Pinheiro & Bates 2000, p. 8: 24.80547 and 4.020779.
    near(fit.variances[0].sd, 24.80547, 1e-4, "published deviation of rails");
    near(fit.variances[1].sd, 4.020779, 1e-5, "published residual deviation");
}

//! Fits by a formula, against values computed elsewhere.

use stats::model::{Column, Fixed, Frame, Term};
use stats::survival::Time;
use stats::survival::parametric::{Fit, Law, Options, fit};

use crate::{json, near, path};

/// A table of the tests: header and cells.
pub struct Table {
    header: Vec<String>,
    rows: Vec<csv::StringRecord>,
}

impl Table {
    pub fn read(file: &str) -> Table {
        let mut reader = csv::Reader::from_path(path(file)).unwrap();
        let header = reader.headers().unwrap().iter().map(str::to_owned).collect();
        Table { header, rows: reader.records().map(Result::unwrap).collect() }
    }

    pub fn words(&self, column: &str) -> Vec<String> {
        let at = self.header.iter().position(|h| h == column).unwrap();
        self.rows.iter().map(|r| r[at].to_owned()).collect()
    }

    pub fn maybe(&self, column: &str) -> Vec<Option<f64>> {
        self.words(column).iter().map(|w| w.parse().ok()).collect()
    }

    pub fn column(&self, name: &str) -> Column {
        let numbers: Option<Vec<f64>> = self.maybe(name).into_iter().collect();
        numbers.map_or_else(|| Column::Words(self.words(name)), Column::Numbers)
    }

    pub fn intervals(&self) -> Vec<Time> {
        let both = self.maybe("left").into_iter().zip(self.maybe("right"));
        both.map(|(left, right)| Time { left, right, entry: 0.0 }).collect()
    }

    pub fn seen(&self, time: &str, event: &str) -> Vec<Time> {
        let both = self.maybe(time).into_iter().zip(self.words(event));
        both.map(|(t, seen)| match seen.as_str() {
            "1" => Time::exact(t.unwrap()),
            _ => Time::open(t.unwrap()),
        })
        .collect()
    }

    /// A frame with these columns.
    pub fn frame(&self, columns: &[&str]) -> Frame {
        columns.iter().fold(Frame::new(self.rows.len()), |f, c| f.with(*c, self.column(c)).unwrap())
    }
}

pub fn design(frame: &Frame, terms: &[&str]) -> Fixed {
    Fixed::build(frame, &Term::read_all(terms).unwrap()).unwrap()
}

fn law(name: &str) -> Law {
    match name {
        "exponential" => Law::Exponential,
        "weibull" => Law::Weibull,
        "lognormal" => Law::Lognormal,
        "loglogistic" => Law::Loglogistic,
        other => panic!("{other}"),
    }
}

/// The tolerance of the source: 1e-4 of the value or 1e-5, whichever is larger.
fn close(actual: f64, expected: f64, what: &str) {
    near(actual, expected, (1e-4 * expected.abs()).max(1e-5), what);
}

fn compare(fit: &Fit, expected: &serde_json::Value, log_likelihood: f64, what: &str) {
    let numbers = |key: &str| -> Vec<f64> {
        expected[key].as_object().unwrap().values().map(|v| v.as_f64().unwrap()).collect()
    };
    for (j, (b, se)) in numbers("coef").iter().zip(numbers("se")).enumerate() {
        close(fit.parameters[j], *b, &format!("{what} coefficient {j}"));
        close(fit.se(j), se, &format!("{what} standard error {j}"));
    }
    close(fit.scale, expected["scale"].as_f64().unwrap(), what);
    let (log_scale, se) = fit.log_scale();
    close(log_scale, expected["log_scale"].as_f64().unwrap(), what);
    assert_eq!(se.is_some(), expected["log_scale_se"].is_number(), "{what}");
    if let Some(se) = se {
        close(se, expected["log_scale_se"].as_f64().unwrap(), what);
    }
    near(fit.log_likelihood, expected["logLik"].as_f64().unwrap(), log_likelihood, what);
    near(fit.log_likelihood_null, expected["logLik_null"].as_f64().unwrap(), log_likelihood, what);
    assert!(fit.gradient_norm < 1e-6, "{what}: {}", fit.gradient_norm);
    let Some(vcov) = expected["vcov"].as_array() else { return };
    let n = fit.parameters.len();
    for (i, row) in vcov.iter().enumerate() {
        for (j, v) in row.as_array().unwrap().iter().enumerate() {
            close(fit.covariance[i * n + j], v.as_f64().unwrap(), &format!("{what} vcov {i} {j}"));
        }
    }
}

fn compare_quantiles(fit: &Fit, rows: &Fixed, expected: &serde_json::Value, what: &str) {
    let list = |v: &serde_json::Value| -> Vec<f64> {
        v.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
    };
    let p = list(&expected["quantiles_p"]);
    for (i, row) in fit.predict(rows, None, &p, None, 0.95).unwrap().iter().enumerate() {
        let times = list(&expected["quantile_time"][i]);
        let errors = list(&expected["quantile_se"][i]);
        for (j, q) in row.quantiles.iter().enumerate() {
            close(q.estimate.unwrap(), times[j], &format!("{what} quantile {i} {j}"));
            close(q.se.unwrap(), errors[j], &format!("{what} quantile se {i} {j}"));
        }
    }
}

#[test]
fn remission_lung_and_germination_agree_with_survreg() {
    for name in ["exponential", "weibull", "lognormal", "loglogistic"] {
        let table = Table::read("gehan.csv");
        let frame = table.frame(&["treat"]);
        let fixed = design(&frame, &["treat"]);
        let found =
            fit(&table.seen("time", "cens"), &fixed, law(name), &Options::default()).unwrap();
        let expected = json(&format!("gehan_aft_{name}.json"));
        compare(&found, &expected["expected"], 1e-5, name);
        let words = ["6-MP", "control"].map(str::to_owned).to_vec();
        let new = Frame::new(2).with("treat", Column::Words(words)).unwrap();
        let rows = fixed.for_rows(&new, &frame).unwrap();
        compare_quantiles(&found, &rows, &expected["expected"], name);
    }
    for name in ["weibull", "lognormal", "loglogistic"] {
        let table = Table::read("lung.csv");
        let columns = ["age", "sex", "ph.ecog"];
        let frame = table.frame(&columns);
        let fixed = design(&frame, &columns);
        let found =
            fit(&table.seen("time", "event"), &fixed, law(name), &Options::default()).unwrap();
        let expected = json(&format!("lung_aft_{name}.json"));
        compare(&found, &expected["expected"], 1e-5, name);
        let new = [("age", [50.0, 70.0]), ("sex", [1.0, 2.0]), ("ph.ecog", [0.0, 1.0])];
        let new = new
            .into_iter()
            .fold(Frame::new(2), |f, (c, v)| f.with(c, Column::Numbers(v.to_vec())).unwrap());
        let rows = fixed.for_rows(&new, &frame).unwrap();
        compare_quantiles(&found, &rows, &expected["expected"], name);

        let table = Table::read("germ_interval_open.csv");
        let frame = table.frame(&["group", "temp"]);
        let fixed = design(&frame, &["group", "temp"]);
        let found = fit(&table.intervals(), &fixed, law(name), &Options::default()).unwrap();
        let expected = json(&format!("germ_interval_open_aft_{name}.json"));
        compare(&found, &expected["expected"], 1e-5, name);
        let words = ["fresh", "stored"].map(str::to_owned).to_vec();
        let new = Frame::new(2).with("group", Column::Words(words)).unwrap();
        let new = new.with("temp", Column::Numbers(vec![22.0, 26.0])).unwrap();
        let rows = fixed.for_rows(&new, &frame).unwrap();
        compare_quantiles(&found, &rows, &expected["expected"], name);
    }
}

#[test]
fn breast_retraction_agrees_with_survreg() {
    let table = Table::read("cosmesis.csv");
    let fixed = design(&table.frame(&["treatment"]), &["treatment"]);
    for name in ["weibull", "lognormal", "loglogistic"] {
        let found = fit(&table.intervals(), &fixed, law(name), &Options::default()).unwrap();
        let expected = json(&format!("cosmesis_{name}.json"));
        // The source prints the log-likelihood to four digits.
        compare(&found, &expected["expected"], 1e-3, name);
    }
}

#[test]
fn random_intercepts_agree_with_the_exact_marginal_likelihood() {
    use stats::model::{RandomSpec, RandomTerm};
    use stats::survival::parametric::{RandomModel, fit_random};
    for (file, table, group, covariate) in [
        ("aft_random_open", "aft_random_open.csv", "seed_parent", "trt"),
        ("rats_marginal_weibull", "rats_female.csv", "litter", "rx"),
        ("rats_marginal_lognormal", "rats_female.csv", "litter", "rx"),
    ] {
        let reference = json(&format!("{file}.json"));
        let expected = &reference["expected"];
        let table = Table::read(table);
        let frame = table.frame(&[group, covariate]);
        let times = match group {
            "litter" => table.seen("time", "status"),
            _ => table.intervals(),
        };
        let fixed = design(&frame, &[covariate]);
        let spec = RandomSpec::read(group).unwrap().remove(0);
        let terms = [RandomTerm::build(&frame, &spec).unwrap()];
        let law = if file.ends_with("lognormal") { Law::Lognormal } else { Law::Weibull };
        let model = RandomModel { law, terms: &terms, nodes: 41 };
        let found = fit_random(&times, &fixed, model).unwrap();
        let number = |v: &serde_json::Value| v.as_f64().unwrap();
        // The tolerances of the source: 0.003, log-likelihood 0.002.
        for (j, key) in ["intercept", covariate].into_iter().enumerate() {
            near(found.fit.parameters[j], number(&expected["coef"][key]), 0.003, file);
            near(found.fit.se(j), number(&expected["se"][key]), 0.003, file);
        }
        near(found.fit.scale, number(&expected["scale"]), 0.003, file);
        near(found.terms[0].sd, number(&expected["sigma_u"]), 0.003, file);
        near(found.fit.log_likelihood, number(&expected["logLik"]), 0.002, file);
        near(found.log_likelihood_no_random, number(&expected["logLik_no_random"]), 0.002, file);
        assert!(!found.terms[0].boundary && found.terms[0].p.unwrap() < 0.2);
    }
}

//! Mixed models.

mod outcomes;
mod properties;
mod reference;
mod search;
mod slow;
mod weights;

use stats::{
    mixed::{MixedError, MixedFit, Random, Settings, fit},
    model::{Column, Fixed, Frame, RandomSpec, RandomTerm, Term, split_terms},
    random::Random as Dice,
};

/// Records with what is asked of them.
#[derive(Clone)]
pub struct Case {
    pub response: Vec<f64>,
    pub fixed: Fixed,
    pub random: Vec<Random>,
}

impl Case {
    pub fn of(response: Vec<f64>, frame: &Frame, terms: &[&str], random: &str) -> Case {
        let fixed = Fixed::build(frame, &Term::read_all(terms).unwrap()).unwrap();
        let specs = split_terms(random).into_iter().flat_map(|t| RandomSpec::read(&t).unwrap());
        let random = specs
            .map(|spec| Random::independent(RandomTerm::build(frame, &spec).unwrap()))
            .collect();
        Case { response, fixed, random }
    }

    pub fn fit(&self) -> MixedFit {
        self.try_fit().unwrap()
    }

    pub fn try_fit(&self) -> Result<MixedFit, MixedError> {
        fit(&self.response, &self.fixed, &self.random, &Settings::default())
    }

    pub fn with(&self, given: &[(&str, f64)]) -> Result<MixedFit, MixedError> {
        let given = given.iter().map(|(n, v)| ((*n).to_owned(), *v)).collect();
        let settings = Settings { given, ..Settings::default() };
        fit(&self.response, &self.fixed, &self.random, &settings)
    }
}

/// A table of the tests; columns of numbers are numbers.
pub fn table(file: &str) -> Vec<(String, Vec<String>)> {
    let mut reader = csv::Reader::from_path(crate::path(file)).unwrap();
    let names: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let column = |k: usize| rows.iter().map(|r| r[k].to_owned()).collect();
    names.into_iter().enumerate().map(|(k, name)| (name, column(k))).collect()
}

/// A table's response and its other columns.
pub fn records(file: &str, response: &str) -> (Vec<f64>, Frame) {
    let columns = table(file);
    let mut frame = Frame::new(columns[0].1.len());
    let mut y = Vec::new();
    for (name, cells) in columns {
        let numbers: Option<Vec<f64>> = cells.iter().map(|c| c.parse().ok()).collect();
        if name == response {
            y = numbers.unwrap();
            continue;
        }
        let column = numbers.map_or_else(|| Column::Words(cells), Column::Numbers);
        frame = frame.with(name, column).unwrap();
    }
    (y, frame)
}

pub fn normal(dice: &mut Dice) -> f64 {
    (0..12).map(|_| dice.unit()).sum::<f64>() - 6.0
}

/// Random records of two crossed groups and a covariate.
pub fn crossed(seed: u64, n: usize, a: usize, b: usize, sd: [f64; 3]) -> Case {
    let mut dice = Dice::new(seed);
    let ua: Vec<f64> = (0..a).map(|_| sd[0] * normal(&mut dice)).collect();
    let ub: Vec<f64> = (0..b).map(|_| sd[1] * normal(&mut dice)).collect();
    let (mut y, mut x, mut wa, mut wb) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for i in 0..n {
        // Every level at least once.
        let (l, m) = if i < a.max(b) { (i % a, i % b) } else { (dice.below(a), dice.below(b)) };
        x.push(dice.unit() * 4.0);
        y.push(3.0 + 0.7 * x[i] + ua[l] + ub[m] + sd[2] * normal(&mut dice));
        wa.push(format!("a{l}"));
        wb.push(format!("b{m}"));
    }
    let frame = Frame::new(n)
        .with("x", Column::Numbers(x))
        .unwrap()
        .with("A", Column::Words(wa))
        .unwrap()
        .with("B", Column::Words(wb))
        .unwrap();
    Case::of(y, &frame, &["x"], "A,B")
}

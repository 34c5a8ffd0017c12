//! Breeding values from pedigrees.

mod draws;
mod published;
mod refused;
mod slow;

use stats::{
    model::{Column, Fixed, Frame, Term},
    pedigree::{Equations, Given, Lines, Options, PedigreeError, PedigreeFit, Records},
    random::Random as Dice,
};

/// Records with their pedigree.
#[derive(Clone)]
pub struct Case {
    pub parents: Vec<[Option<u32>; 2]>,
    pub inbreeding: Vec<f64>,
    pub response: Vec<f64>,
    pub fixed: Fixed,
    pub individual: Vec<u32>,
    pub permanent: Option<Vec<u32>>,
    pub weights: Option<Vec<f64>>,
    pub given: Given,
}

impl Case {
    pub fn lines(&self) -> Lines {
        Lines::new(self.parents.clone(), self.inbreeding.clone()).unwrap()
    }

    pub fn records(&self) -> Records<'_> {
        Records {
            response: &self.response,
            fixed: &self.fixed,
            individual: &self.individual,
            permanent: self.permanent.as_deref(),
            weights: self.weights.as_deref(),
        }
    }

    pub fn fit(&self, options: Options) -> PedigreeFit {
        self.try_fit(options).unwrap()
    }

    pub fn try_fit(&self, options: Options) -> Result<PedigreeFit, PedigreeError> {
        let lines = self.lines();
        let equations = Equations::new(&lines, self.records(), self.given, options)?;
        equations.prepare()?.fit(true)
    }
}

/// Options that leave no room for a factor.
pub fn without_factor() -> Options {
    Options { fill_limit: 0, ..Options::default() }
}

/// The relationship matrix by the tabular method, parents standing before their progeny.
pub fn relationship(parents: &[[Option<u32>; 2]]) -> Vec<Vec<f64>> {
    let n = parents.len();
    let mut a = vec![vec![0.0; n]; n];
    for i in 0..n {
        let known: Vec<usize> = parents[i].iter().flatten().map(|p| *p as usize).collect();
        let shared: Vec<f64> =
            (0..i).map(|j| 0.5 * known.iter().map(|p| a[*p][j]).sum::<f64>()).collect();
        for (j, shared) in shared.into_iter().enumerate() {
            (a[i][j], a[j][i]) = (shared, shared);
        }
        a[i][i] = 1.0 + if known.len() == 2 { 0.5 * a[known[0]][known[1]] } else { 0.0 };
    }
    a
}

pub fn inbreeding(parents: &[[Option<u32>; 2]]) -> Vec<f64> {
    relationship(parents).iter().enumerate().map(|(i, row)| row[i] - 1.0).collect()
}

/// A random pedigree with selfings, single known parents and plants that are parents again and
/// again; `lasting` is how many plants of each individual there are.
pub fn made(seed: u64, individuals: usize, records: usize, lasting: usize, weighted: bool) -> Case {
    let mut dice = Dice::new(seed);
    let mut parents = Vec::new();
    for i in 0..individuals {
        let mut one = || (i > 3 && dice.unit() < 0.85).then(|| dice.below(i.min(3 + i / 2)) as u32);
        parents.push([one(), one()]);
    }
    let inbreeding = inbreeding(&parents);
    let individual: Vec<u32> = (0..records).map(|_| dice.below(individuals) as u32).collect();
    let permanent = (lasting > 0).then(|| {
        individual.iter().map(|i| i * lasting as u32 + dice.below(lasting) as u32).collect()
    });
    let x: Vec<f64> = (0..records).map(|_| 3.0 * dice.unit()).collect();
    let bench = (0..records).map(|_| format!("b{}", dice.below(3))).collect();
    let response = (0..records).map(|r| 5.0 + 0.4 * x[r] + 2.0 * dice.normal()).collect();
    let weights = weighted.then(|| (0..records).map(|_| 0.3 + 3.0 * dice.unit()).collect());
    let frame = Frame::new(records)
        .with("x", Column::Numbers(x))
        .unwrap()
        .with("bench", Column::Words(bench))
        .unwrap();
    let fixed = Fixed::build(&frame, &Term::read_all(&["x", "bench"]).unwrap()).unwrap();
    let permanent_variance = if lasting > 0 { 0.7 } else { 0.0 };
    let given = Given { additive: 1.3, permanent: permanent_variance, residual: 2.1 };
    Case { parents, inbreeding, response, fixed, individual, permanent, weights, given }
}

//! The night's fit: everything about all plants together.

use serde::Serialize;

use super::plants::{PlantFound, Problem};
use super::{DryingPrior, PlantCycle, Plants};
use crate::laplace::LaplaceError;
use crate::model::Coefficient;
use crate::optimise::{Stop, minimise};
use crate::survival::parametric::{ParametricError, Records, Row};
use crate::survival::time::SurvivalError;

/// What the night's fit found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DryingFit {
    /// What the coefficients are called.
    pub coefficients: Vec<Coefficient>,
    /// Their means.
    pub estimates: Vec<f64>,
    /// Their standard deviations.
    pub ses: Vec<f64>,
    /// Species effects and their standard deviations.
    pub species: Vec<(f64, f64)>,
    /// Standard deviation between species.
    pub species_sd: f64,
    /// Standard deviation between plants of a species.
    pub plant_sd: f64,
    /// Scale of single cycles.
    pub event_scale: f64,
    /// Standard errors of the logarithms of these three (from the steps of the optimiser: rough).
    pub log_sd_ses: [f64; 3],
    /// Every plant.
    pub plants: Vec<PlantFound>,
    /// Log marginal posterior density (Laplace).
    pub log_posterior: f64,
    /// Norm of its gradient.
    pub gradient_norm: f64,
    /// Steps of the optimiser.
    pub iterations: usize,
}

/// Fits all plants: effects by their mode and curvature, standard deviations at the maximum of their
/// marginal posterior density on the log scale, which never lies at 0 as that of the joint density
/// would (the half-normal's own mode).
///
/// `start` holds last night's species, plant and event standard deviations, where there are any.
///
/// # Errors
/// No cycles, impossible times, priors out of range, plants or species that are not there, or an
/// optimum that was not reached.
pub fn fit_drying(
    cycles: &[PlantCycle],
    plants: Plants<'_>,
    prior: &DryingPrior,
    start: Option<[f64; 3]>,
) -> Result<DryingFit, ParametricError> {
    let mut problem = problem(cycles, plants, prior)?;
    let scales = [prior.species, prior.plant, prior.event];
    let median = crate::special::normal_quantile(0.75);
    let begin: Vec<f64> = match start {
        Some(last) => last.iter().map(|s| s.max(1e-3).ln()).collect(),
        None => scales.iter().map(|s| (median * s).ln()).collect(),
    };
    let telling = problem.records.rows.len() as f64;
    // Roughly the inverse information of ln σ from n effects, and of ln s from the records.
    let spread = |n: f64| 1.0 / (2.0 * n + 2.0);
    let guess = [
        spread(problem.n_species as f64),
        spread(problem.plants() as f64),
        1.0 / (0.7 * telling + 2.0),
    ];
    let mut metric = vec![0.0; 9];
    (0..3).for_each(|k| metric[4 * k] = guess[k]);
    let mut b = vec![0.0; problem.width()];
    b.iter_mut().zip(&prior.coefficients).for_each(|(b, c)| *b = c.0);
    let theta: Vec<f64> = (0..problem.plants()).map(|p| problem.expected(p, &b)).collect();
    let plain = (theta, b);
    let mut starts = Vec::new();
    if prior.misread > 0.0 {
        // Looks taken at their word leave one hill only; from its top the search begins.
        problem.records.misread = 0.0;
        problem.records.tau = begin[2];
        let precision = |k: usize| (-2.0 * begin[k]).exp();
        let word = problem.mode(&plain.0, &plain.1, precision(0), precision(1));
        starts.extend(word.map(|mode| (begin.clone(), (mode.theta, mode.border))));
        problem.records.misread = prior.misread;
    }
    // Where no mode is found from there, what is believed, and wider scales, at which hills are flat.
    for wider in [0.0, 0.7, 1.4] {
        let begin = vec![begin[0], begin[1], begin[2] + wider];
        starts.push((begin, plain.clone()));
    }
    let stop = Stop { decrement: 1e-6, iterations: 100 };
    let mut failed = LaplaceError::NoMode;
    for (begin, mut last) in starts {
        let mut objective = |at: &[f64], gradient: &mut [f64]| -> f64 {
            match marginal(&mut problem, at, &scales, &mut last, Some(gradient)) {
                Some(value) => -value,
                None => f64::INFINITY,
            }
        };
        match minimise(&mut objective, &begin, Some(metric.clone()), stop) {
            Ok(found) => return finish(problem, plants, &found, &last),
            Err(e) => failed = LaplaceError::Optimise(e),
        }
    }
    Err(ParametricError::Laplace(failed))
}

fn problem(
    cycles: &[PlantCycle],
    plants: Plants<'_>,
    prior: &DryingPrior,
) -> Result<Problem, ParametricError> {
    let (k, columns) = (plants.species.len(), plants.design.width());
    prior.check(columns)?;
    if plants.design.rows() != k {
        return Err(ParametricError::Lengths { times: k, rows: plants.design.rows() });
    }
    let mut kept: Vec<(u32, Row, f64)> = Vec::with_capacity(cycles.len());
    for (i, c) in cycles.iter().enumerate() {
        if c.plant as usize >= k || !c.offset.is_finite() {
            let what = format!("record {}: plant or offset", i + 1);
            let (value, expected) =
                (f64::from(c.plant), "a plant of the collection with an offset");
            return Err(ParametricError::BadOption { what, value, expected });
        }
        let row = Row::new(&c.cycle.time(), i + 1)?;
        if row.tells() {
            kept.push((c.plant, row, c.offset));
        }
    }
    if kept.is_empty() {
        return Err(SurvivalError::Empty.into());
    }
    kept.sort_by_key(|r| r.0);
    let mut start = vec![0; k + 1];
    kept.iter().for_each(|r| start[r.0 as usize + 1] += 1);
    (0..k).for_each(|p| start[p + 1] += start[p]);
    let (mut z, mut z_start) = (Vec::new(), vec![0]);
    for p in 0..k {
        let at = |j: usize| (j as u32, plants.design.column(j)[p]);
        z.extend((0..columns).map(at).filter(|x| x.1 != 0.0));
        z.push((columns as u32 + plants.species[p], 1.0));
        z_start.push(z.len());
    }
    Ok(Problem {
        offset: kept.iter().map(|r| r.2).collect(),
        records: Records {
            law: prior.law,
            rows: kept.into_iter().map(|r| r.1).collect(),
            misread: prior.misread,
            tau: 0.0,
            scale_free: true,
        },
        start,
        species: plants.species.to_vec(),
        z,
        z_start,
        columns,
        n_species: plants.species.iter().max().map_or(0, |s| *s as usize + 1),
        coefficients: prior.coefficients.clone(),
    })
}

/// The log marginal posterior density of (ln σ species, ln σ plant, ln s) by Laplace's
/// approximation, with its exact gradient. `last` is where the mode is looked for, and then holds it.
fn marginal(
    problem: &mut Problem,
    at: &[f64],
    scales: &[f64; 3],
    last: &mut (Vec<f64>, Vec<f64>),
    gradient: Option<&mut [f64]>,
) -> Option<f64> {
    problem.records.tau = at[2];
    let precision = |k: usize| (-2.0 * at[k]).exp();
    let (species, plant) = (precision(0), precision(1));
    let mode = problem.mode(&last.0, &last.1, species, plant)?;
    let mut value = mode.log_posterior - 0.5 * mode.log_determinant;
    for (at, scale) in at.iter().zip(scales) {
        value += at - 0.5 * (at.exp() / scale).powi(2);
    }
    if let Some(gradient) = gradient {
        let (k, n, columns) = (problem.plants(), problem.width(), problem.columns);
        let (mut third, by_tau, slope, mut curve) = problem.thirds(&mode.theta);
        for p in (0..k).filter(|p| mode.weight[*p] <= 0.0) {
            // Its curvature counts as none, and so does any change of it.
            third[p] = 0.0;
            curve[p] = 0.0;
        }
        let (q, var_u) = problem.variances(&mode);
        let u: Vec<f64> =
            (0..k).map(|p| mode.theta[p] - problem.expected(p, &mode.border)).collect();
        let v = &mode.border[columns..];
        // How the mode, and with it the determinant, answers to each of the three.
        let moved = |theta: &[f64], border: &[f64]| -> f64 {
            let (x, _) = problem.solve_at(&mode, theta, border);
            (0..k).map(|p| 0.5 * q[p] * third[p] * x[p]).sum()
        };
        let zero = vec![0.0; k];
        let mut border = vec![0.0; n];
        border[columns..].iter_mut().zip(v).for_each(|(b, v)| *b = 2.0 * v * species);
        let var_v: f64 = (columns..n).map(|j| mode.inverse[j * n + j]).sum();
        let v2: f64 = v.iter().map(|v| v * v).sum();
        gradient[0] = species * (v2 + var_v) - problem.n_species as f64 + moved(&zero, &border);
        let pull: Vec<f64> = u.iter().map(|u| 2.0 * u * plant).collect();
        let border = problem.gathered(&pull, -1.0);
        let u2: f64 = u.iter().zip(&var_u).map(|(u, v)| u * u + v).sum();
        gradient[1] = plant * u2 - k as f64 + moved(&pull, &border);
        let direct: f64 = q.iter().zip(&curve).map(|(q, c)| 0.5 * q * c).sum();
        gradient[2] = by_tau + direct + moved(&slope, &vec![0.0; n]);
        for ((g, at), scale) in gradient.iter_mut().zip(at).zip(scales) {
            *g += 1.0 - (at.exp() / scale).powi(2);
            *g = -*g;
        }
    }
    *last = (mode.theta, mode.border);
    value.is_finite().then_some(value)
}

fn finish(
    mut problem: Problem,
    plants: Plants<'_>,
    found: &crate::optimise::Minimum,
    last: &(Vec<f64>, Vec<f64>),
) -> Result<DryingFit, ParametricError> {
    problem.records.tau = found.at[2];
    let sd = |k: usize| found.at[k].exp();
    let precision = |k: usize| sd(k).powi(-2);
    let mode = problem
        .mode(&last.0, &last.1, precision(0), precision(1))
        .ok_or(ParametricError::Laplace(LaplaceError::NoMode))?;
    let (n, columns) = (problem.width(), problem.columns);
    let (theta_variance, _) = problem.variances(&mode);
    let spread = |j: usize| mode.inverse[j * n + j].sqrt();
    let plant = |p: usize| {
        let borrowed = problem.expected(p, &mode.border);
        let borrowed_variance = problem.square(p, &mode.inverse) + sd(1).powi(2);
        PlantFound {
            mean: mode.theta[p],
            sd: theta_variance[p].sqrt(),
            borrowed,
            borrowed_sd: borrowed_variance.sqrt(),
            cycles: (problem.start[p + 1] - problem.start[p]) as u32,
            information: (1.0 - theta_variance[p] / borrowed_variance).clamp(0.0, 1.0),
        }
    };
    Ok(DryingFit {
        coefficients: plants.design.coefficients.clone(),
        estimates: mode.border[..columns].to_vec(),
        ses: (0..columns).map(spread).collect(),
        species: (columns..n).map(|j| (mode.border[j], spread(j))).collect(),
        species_sd: sd(0),
        plant_sd: sd(1),
        event_scale: sd(2),
        log_sd_ses: [0, 1, 2].map(|k| found.metric[4 * k].max(0.0).sqrt()),
        plants: (0..problem.plants()).map(plant).collect(),
        log_posterior: -found.value,
        gradient_norm: crate::optimise::norm(&found.gradient),
        iterations: found.iterations,
    })
}

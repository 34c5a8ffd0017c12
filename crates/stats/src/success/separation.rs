//! Separation: when a combination of the fixed columns foretells every outcome of the rows it touches,
//! the likelihood rises without end and there is no estimate (Albert & Anderson 1984, Biometrika
//! 71:1–10; from memory).
//!
//! Newton's steps of the plain logistic model then run off in a direction that foretells outcomes; the
//! direction is checked row by row, so that separation is only claimed with its proof.

use super::{Batch, SuccessError};
use crate::{
    dense,
    laplace::Rows,
    model::{Fixed, Frame, Term},
    success::Binomial,
};

/// Estimates of the plain logistic model, without random terms: a start for others.
///
/// # Errors
/// Separation, with the term and level that separate.
pub(super) fn plain(
    batches: &[Batch],
    fixed: &Fixed,
    frame: &Frame,
    terms: &[Term],
) -> Result<Vec<f64>, SuccessError> {
    let (n, p) = (batches.len(), fixed.width());
    let rows = Binomial::new(batches);
    let mut beta = vec![0.0; p];
    let mut eta = vec![0.0; n];
    for iteration in 0..40 {
        let mut score = vec![0.0; p];
        let mut information = vec![0.0; p * p];
        for (i, eta) in eta.iter().enumerate() {
            let d = rows.derivatives(i, *eta);
            for j in 0..p {
                let x = fixed.column(j)[i];
                if x == 0.0 {
                    continue;
                }
                score[j] += d.first * x;
                for k in 0..=j {
                    information[j * p + k] -= d.second * x * fixed.column(k)[i];
                }
            }
        }
        let Some(l) = dense::cholesky(&information, p, 1e-14) else { break };
        dense::solve(&l, p, &mut score);
        // A step of more than 5 in any row overshoots.
        let mut change = along(fixed, &score);
        let longest = change.iter().fold(0.0f64, |m, c| m.max(c.abs()));
        let t = (5.0 / longest).min(1.0);
        score.iter_mut().for_each(|s| *s *= t);
        change.iter_mut().for_each(|c| *c *= t);
        beta.iter_mut().zip(&score).for_each(|(b, s)| *b += s);
        eta.iter_mut().zip(&change).for_each(|(e, c)| *e += c);
        if longest < 1e-7 {
            return Ok(beta);
        }
        if iteration >= 5
            && let Some(complete) = foretells(batches, &change)
        {
            return Err(named(batches, fixed, frame, terms, &score, complete));
        }
    }
    // Neither an estimate nor a proof: the random model may still find its way.
    Ok(vec![0.0; p])
}

fn along(fixed: &Fixed, direction: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; fixed.rows()];
    for (j, d) in direction.iter().enumerate() {
        out.iter_mut().zip(fixed.column(j)).for_each(|(o, x)| *o += d * x);
    }
    out
}

/// Whether a change of the predictor makes no row less likely and some row more: `Some(true)` when all
/// rows with trials (complete separation).
fn foretells(batches: &[Batch], change: &[f64]) -> Option<bool> {
    let longest = change.iter().fold(0.0f64, |m, c| m.max(c.abs()));
    let slack = 1e-5 * longest;
    let mut complete = true;
    for (batch, c) in batches.iter().zip(change).filter(|(b, _)| b.trials > 0) {
        let good = if batch.successes == batch.trials {
            *c >= -slack
        } else if batch.successes == 0 {
            *c <= slack
        } else {
            c.abs() <= slack
        };
        if !good {
            return None;
        }
        complete &= c.abs() > slack;
    }
    (longest > 0.0).then_some(complete)
}

/// Names what separates: a level in which all trials ended alike, or else the coefficient that moves
/// the rows most.
fn named(
    batches: &[Batch],
    fixed: &Fixed,
    frame: &Frame,
    terms: &[Term],
    direction: &[f64],
    complete: bool,
) -> SuccessError {
    let sum = |keep: &dyn Fn(usize) -> bool| {
        let kept = batches.iter().enumerate().filter(|(i, _)| keep(*i));
        kept.fold((0, 0), |(k, n), (_, b)| (k + b.successes, n + b.trials))
    };
    let (successes, trials) = sum(&|_| true);
    if successes == 0 || successes == trials {
        let term = "(intercept)".to_owned();
        return SuccessError::Separation { term, level: None, successes, trials, complete };
    }
    for term in terms {
        let [column] = term.columns.as_slice() else { continue };
        let factor = term.as_factor[0] || frame.is_factor(column).unwrap_or(false);
        let Some(factor) = factor.then(|| frame.factor(column).ok()).flatten() else { continue };
        for (l, level) in factor.levels.iter().enumerate() {
            let (k, n) = sum(&|i| factor.index[i] as usize == l);
            if n > 0 && (k == 0 || k == n) {
                return SuccessError::Separation {
                    term: column.clone(),
                    level: Some(level.clone()),
                    successes: k,
                    trials: n,
                    complete,
                };
            }
        }
    }
    let reach = |j: &usize| {
        let column = fixed.column(*j);
        let widest = column.iter().fold(0.0f64, |m, x| m.max(x.abs()));
        (direction[*j] * widest).abs()
    };
    let worst =
        (0..fixed.width()).skip(1).max_by(|a, b| reach(a).total_cmp(&reach(b))).unwrap_or(0);
    let coefficient = &fixed.coefficients[worst];
    // An interaction of levels holds the rows where its column is not 0.
    let (k, n) = match &coefficient.level {
        Some(_) => sum(&|i| fixed.column(worst)[i] != 0.0),
        None => (successes, trials),
    };
    SuccessError::Separation {
        term: coefficient.term.clone(),
        level: coefficient.level.clone(),
        successes: k,
        trials: n,
        complete,
    }
}

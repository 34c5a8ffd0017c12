//! Draws from the joint posterior of coefficients and effects, at the variances of a fit.

use super::{MixedError, Random, Settings, fit::Fitted, small::apply};
use crate::{model::Fixed, random::Random as Dice};

/// Draws from the joint posterior, with a flat prior on coefficients.
#[derive(Debug, Clone, PartialEq)]
pub struct Draws {
    /// For each draw, the coefficients.
    pub terms: Vec<Vec<f64>>,
    /// For each draw, the effects, in the order of [`super::MixedFit::levels`].
    pub levels: Vec<Vec<f64>>,
}

/// Draws coefficients and effects together: their mean and covariance are the predictions and their
/// error covariance. The uncertainty of the variances is not included.
///
/// With A = L·Lᵀ the equations on the scale of v (see `point`), v̂ + σ·L⁻ᵀ·z has the right mean
/// and covariance for independent standard normals z.
///
/// # Errors
/// As [`super::fit`].
pub fn draws(
    response: &[f64],
    fixed: &Fixed,
    random: &[Random],
    settings: &Settings,
    count: usize,
    dice: &mut Dice,
) -> Result<Draws, MixedError> {
    Fitted::with(response, fixed, random, settings, |fitted| {
        let (data, gram, point) = (fitted.data, fitted.gram, &fitted.found.point);
        let mut out = Draws { terms: Vec::new(), levels: Vec::new() };
        for _ in 0..count {
            let drawn = point.draw(gram, dice);
            out.terms.push(data.coefficients(&drawn[gram.random..]));
            let mut levels = Vec::new();
            for (part, term) in gram.parts.iter().zip(&data.terms) {
                for k in 0..part.width {
                    levels.extend((0..part.blocks.len()).map(|l| {
                        let at = part.column + l * part.width;
                        let second = if part.width == 2 { drawn[at + 1] } else { 0.0 };
                        apply(&term.back, [drawn[at], second])[k] * data.unit
                    }));
                }
            }
            out.levels.push(levels);
        }
        Ok(out)
    })
}

/// For each level, the share of draws in which it is the highest of its group: the chance that it
/// is the best. `groups` names the group of each level, levels of a group standing together, and
/// each draw has as many numbers.
pub fn chance_best<G: PartialEq>(groups: &[G], draws: &[Vec<f64>]) -> Vec<f64> {
    let mut won = vec![0usize; groups.len()];
    for draw in draws {
        let mut first = 0;
        for group in groups.chunk_by(|a, b| a == b) {
            let here = first..first + group.len();
            if let Some(best) = here.clone().max_by(|a, b| draw[*a].total_cmp(&draw[*b])) {
                won[best] += 1;
            }
            first = here.end;
        }
    }
    won.into_iter().map(|w| w as f64 / draws.len().max(1) as f64).collect()
}

//! From records to variances, estimates and predictions.

use super::{
    Component, Estimate, LevelEffect, MixedError, MixedFit, RESIDUAL, Random, Relation, Settings,
    Together, ZeroTest,
    gram::{Gram, Layout},
    point::{Point, Variances, numbers},
    scale::Scaled,
    search::{Found, Search},
    shared::Shared,
    small::{Two, around, root, times, transposed, unit},
};
use crate::{dense, model::Fixed, sparse::Inverse, special::chi_square_tail};

/// Fits a mixed model by restricted maximum likelihood, or with variances that are given.
///
/// # Errors
/// Records or designs that cannot be used, variances that cannot be told apart, a residual variance
/// of zero, or an optimum that was not reached. A random variance of zero is no error: it is a
/// result, marked as on the boundary.
pub fn fit(
    response: &[f64],
    fixed: &Fixed,
    random: &[Random],
    settings: &Settings,
) -> Result<MixedFit, MixedError> {
    Fitted::with(response, fixed, random, settings, |fitted| result(&fitted, fixed, random))
}

/// A fit before it is put into words.
pub(super) struct Fitted<'f> {
    pub data: &'f Scaled<'f>,
    pub gram: &'f Gram,
    pub found: Found<'f>,
    layout: &'f Layout,
    search: &'f Search<'f>,
}

impl Fitted<'_> {
    /// Finds the variances and hands on what was found, with all that it rests on.
    pub fn with<T>(
        response: &[f64],
        fixed: &Fixed,
        random: &[Random],
        settings: &Settings,
        then: impl FnOnce(Fitted<'_>) -> Result<T, MixedError>,
    ) -> Result<T, MixedError> {
        let data = Scaled::of(response, fixed, random, settings.weights.as_deref())?;
        let gram = Gram::of(&data);
        let layout = gram.layout(settings.fill_limit)?;
        let (start, free, free_residual) = start(&data, random, settings)?;
        let steps = settings.steps;
        let search = Search { gram: &gram, layout: &layout, free, free_residual, steps };
        let found = search.run(start)?;
        then(Fitted { data: &data, gram: &gram, found, layout: &layout, search: &search })
    }
}

fn result(fitted: &Fitted<'_>, fixed: &Fixed, random: &[Random]) -> Result<MixedFit, MixedError> {
    let Fitted { data, gram, found, layout, search } = fitted;
    let errors = standard_errors(search, found, random)?;
    let said = Said { data, gram, layout, random, search };
    let point = &found.point;
    let inverse = point.inverse();
    let (covariance, terms) = said.coefficients(point, &inverse, fixed);
    let (variances, covariances) = said.variances(found, &errors);
    let degrees = (gram.records - gram.fixed) as f64;
    let constant = -0.5 * degrees * (2.0 * std::f64::consts::PI).ln();
    Ok(MixedFit {
        terms,
        covariance,
        variances,
        covariances,
        log_restricted_likelihood: point.log_likelihood + constant + data.log_jacobian(),
        levels: said.levels(point, &inverse)?,
        n: gram.records,
        iterations: found.iterations,
        gradient_norm: found.gradient_norm,
    })
}

/// Tests a random term against its absence; of a term with slopes, the slopes. Under no variance
/// twice the difference of log-likelihoods is distributed half as χ² with 0 and half with 1 degree of
/// freedom, for slopes with 1 and 2 (Self & Liang 1987; Stram & Lee 1994; from memory).
///
/// # Errors
/// As [`fit`]; a name that is no random term.
pub fn test_zero(
    response: &[f64],
    fixed: &Fixed,
    random: &[Random],
    settings: &Settings,
    name: &str,
) -> Result<ZeroTest, MixedError> {
    let Some(at) = random.iter().position(|r| r.name == name) else {
        return Err(unknown(name, random));
    };
    let mut less = random.to_vec();
    let (group, df) = match random[at].slope_name() {
        Some(group) => {
            less[at].term.slope = None;
            (group, [1, 2])
        }
        None => {
            less.remove(at);
            (name.to_owned(), [0, 1])
        }
    };
    let with = fit(response, fixed, random, settings)?.log_restricted_likelihood;
    let without = fit(response, fixed, &less, settings)?.log_restricted_likelihood;
    let chi_square = (2.0 * (with - without)).max(0.0);
    let p = match df {
        _ if chi_square == 0.0 => 1.0,
        [0, more] => 0.5 * chi_square_tail(chi_square, more),
        [one, two] => 0.5 * (chi_square_tail(chi_square, one) + chi_square_tail(chi_square, two)),
    };
    Ok(ZeroTest { group, chi_square, df, p })
}

fn unknown(name: &str, random: &[Random]) -> MixedError {
    let mut there = Vec::new();
    for r in random {
        there.push(r.name.clone());
        if let Some(slope) = r.slope_name() {
            there.extend([slope, r.covariance_name()]);
        }
    }
    there.push(RESIDUAL.to_owned());
    MixedError::Unknown { name: name.to_owned(), there: there.join(", ") }
}

/// Variances to start from, and which of them are free.
fn start(
    data: &Scaled<'_>,
    random: &[Random],
    settings: &Settings,
) -> Result<(Variances, Vec<bool>, bool), MixedError> {
    let mut left: Vec<&(String, f64)> = settings.given.iter().collect();
    let mut take = |name: &str| {
        let at = left.iter().position(|(n, _)| n == name)?;
        Some(left.remove(at).1)
    };
    let square = data.unit * data.unit;
    let given = |name: &str, value: f64, expected| MixedError::Given {
        name: name.to_owned(),
        value,
        expected,
    };
    let good = |v: f64| v.is_finite() && v >= 0.0;
    let (mut roots, mut free) = (Vec::new(), Vec::new());
    let share = 0.5 / random.len().max(1) as f64;
    for (r, term) in random.iter().zip(&data.terms) {
        let first = take(&r.name);
        if let Some(v) = first.filter(|v| !good(*v)) {
            return Err(given(&r.name, v, "a number from 0 on"));
        }
        let asked = match r.slope_name() {
            None => first.map(|v| [v, 0.0, 0.0, 0.0]),
            Some(name) => {
                let (second, both) = (take(&name), take(&r.covariance_name()));
                match (first, second) {
                    (None, None) if both.is_none() => None,
                    (Some(a), Some(b)) if good(b) => {
                        let c = both.unwrap_or(0.0);
                        if !c.is_finite() || c * c > a * b * (1.0 + 1e-12) {
                            let expected = "at most the root of the product of the two variances";
                            return Err(given(&r.covariance_name(), c, expected));
                        }
                        Some([a, c, c, b])
                    }
                    (Some(_), Some(b)) => return Err(given(&name, b, "a number from 0 on")),
                    (_, b) => {
                        let expected = "given together with the other variance of its term (intercept and slope)";
                        let (name, value) =
                            b.map_or((r.name.as_str(), first), |b| (name.as_str(), Some(b)));
                        return Err(given(name, value.or(both).unwrap_or(0.0), expected));
                    }
                }
            }
        };
        free.push(asked.is_none());
        roots.push(match asked {
            Some(g) => root(&term.covariance_scaled(&g, data.unit)),
            None => unit(term.width()).map(|u| u * share.sqrt()),
        });
    }
    let residual = take(RESIDUAL);
    if let Some(v) = residual.filter(|v| !(v.is_finite() && *v > 0.0)) {
        return Err(given(RESIDUAL, v, "a number above 0"));
    }
    if let Some((name, _)) = left.first() {
        return Err(unknown(name, random));
    }
    let free_residual = residual.is_none();
    for ((r, term), free) in random.iter().zip(&data.terms).zip(&free) {
        let name = r.name.clone();
        if let ([level], true) = (r.term.levels.as_slice(), *free) {
            return Err(MixedError::OneLevel { term: name, level: level.clone() });
        }
        if *free && free_residual && term.lone() {
            return Err(MixedError::LevelPerRecord { term: name });
        }
    }
    let residual = residual.map_or(0.5, |v| v / square);
    Ok((Variances { roots, residual }, free, free_residual))
}

/// Covariance of the numbers of each term (00, 10, 11) and of the residual variance, scaled; none
/// where they are given or on a boundary.
fn standard_errors(
    search: &Search<'_>,
    found: &Found<'_>,
    random: &[Random],
) -> Result<Vec<Option<Vec<f64>>>, MixedError> {
    let parts = &search.gram.parts;
    let mut out: Vec<Option<Vec<f64>>> = vec![None; parts.len() + 1];
    let Some(slopes) = &found.slopes else { return Ok(out) };
    let k = slopes.gradient.len();
    let (mut kept, mut whose, mut o) = (Vec::new(), Vec::new(), 0);
    for (t, part) in parts.iter().enumerate() {
        if search.free[t] && !found.boundary[t] {
            kept.extend(o..o + numbers(part.width));
            whose.extend(vec![t; numbers(part.width)]);
        }
        o += numbers(part.width);
    }
    if search.free_residual {
        kept.push(o);
        whose.push(parts.len());
    }
    let m = kept.len();
    // To a unit diagonal, so that the least pivot has a meaning.
    let size: Vec<f64> =
        kept.iter().map(|i| slopes.information[i * k + i].max(0.0).sqrt()).collect();
    let names = |terms: &[usize]| {
        let mut names: Vec<&str> = Vec::new();
        for t in terms {
            let name = random.get(*t).map_or(RESIDUAL, |r| r.name.as_str());
            if !names.contains(&name) {
                names.push(name);
            }
        }
        MixedError::NotIdentified { names: names.join(", ") }
    };
    if let Some(i) = size.iter().position(|s| *s <= 1e-7) {
        return Err(names(&[whose[i], parts.len()]));
    }
    let unit: Vec<f64> = (0..m * m)
        .map(|at| (at / m, at % m))
        .map(|(i, j)| slopes.information[kept[i] * k + kept[j]] / (size[i] * size[j]))
        .collect();
    let Some(l) = dense::cholesky(&unit, m, 1e-9) else { return Err(names(&whose)) };
    let inverse = dense::inverse(&l, m);
    for (t, out) in out.iter_mut().enumerate() {
        let own: Vec<usize> = (0..m).filter(|i| whose[*i] == t).collect();
        if !own.is_empty() {
            let pairs = own.iter().flat_map(|i| own.iter().map(move |j| (*i, *j)));
            *out = Some(pairs.map(|(i, j)| inverse[i * m + j] / (size[i] * size[j])).collect());
        }
    }
    Ok(out)
}

/// Everything that results are made of.
struct Said<'a> {
    data: &'a Scaled<'a>,
    gram: &'a Gram,
    layout: &'a Layout,
    random: &'a [Random],
    search: &'a Search<'a>,
}

impl Said<'_> {
    fn coefficients(
        &self,
        point: &Point<'_>,
        inverse: &Inverse<'_>,
        fixed: &Fixed,
    ) -> (Vec<Vec<f64>>, Vec<Estimate>) {
        let (first, p) = (self.gram.random, self.gram.fixed);
        let solutions = point.solutions(self.gram);
        let residual = point.variances.residual;
        let entry =
            |i: usize, j: usize| inverse.get(first + i, first + j).unwrap_or(0.0) * residual;
        let scaled: Vec<Vec<f64>> = (0..p).map(|i| (0..p).map(|j| entry(i, j)).collect()).collect();
        let covariance = self.data.covariance(&scaled);
        let estimates = self.data.coefficients(&solutions[first..]);
        let terms = fixed.coefficients.iter().zip(estimates).enumerate();
        let terms = terms.map(|(j, (c, estimate))| {
            let se = covariance[j][j].max(0.0).sqrt();
            Estimate { coefficient: c.clone(), estimate, se }
        });
        let terms = terms.collect();
        (covariance, terms)
    }

    fn variances(
        &self,
        found: &Found<'_>,
        errors: &[Option<Vec<f64>>],
    ) -> (Vec<Component>, Vec<Together>) {
        let (mut variances, mut covariances) = (Vec::new(), Vec::new());
        let unit = self.data.unit;
        for (t, (r, term)) in self.random.iter().zip(&self.data.terms).enumerate() {
            let root = &found.point.variances.roots[t];
            let g = term.covariance_back(&times(root, &transposed(root)), unit);
            let errors = errors[t].as_ref().map(|e| back_errors(e, &term.back, unit));
            let (boundary, given) = (found.boundary[t], !self.search.free[t]);
            let mut add = |group: String, variance: f64, se: Option<f64>| {
                let sd = variance.sqrt();
                variances.push(Component { group, variance, sd, se, boundary, given });
            };
            add(r.name.clone(), g[0], errors.as_ref().map(|e| e[0]));
            if let Some(name) = r.slope_name() {
                add(name, g[3], errors.as_ref().map(|e| e[2]));
                let size = (g[0] * g[3]).sqrt();
                covariances.push(Together {
                    group: r.name.clone(),
                    covariance: g[1],
                    correlation: (size > 0.0).then(|| (g[1] / size).clamp(-1.0, 1.0)),
                    se: errors.as_ref().map(|e| e[1]),
                });
            }
        }
        let variance = found.point.variances.residual * unit * unit;
        let error = errors.last().and_then(Option::as_ref);
        variances.push(Component {
            group: RESIDUAL.to_owned(),
            variance,
            sd: variance.sqrt(),
            se: error.map(|e| e[0].sqrt() * unit * unit),
            boundary: false,
            given: !self.search.free_residual,
        });
        (variances, covariances)
    }

    fn levels(
        &self,
        point: &Point<'_>,
        inverse: &Inverse<'_>,
    ) -> Result<Vec<LevelEffect>, MixedError> {
        let unit = self.data.unit;
        let solutions = point.solutions(self.gram);
        let shared = Shared::of(self.gram, point)?;
        let mut levels = Vec::new();
        for (t, (r, term)) in self.random.iter().zip(&self.data.terms).enumerate() {
            let part = &self.gram.parts[t];
            let root = &point.variances.roots[t];
            let g = term.covariance_back(&times(root, &transposed(root)), unit);
            let with = self.gram.diagonal(self.layout, part, |slot| inverse.at(slot));
            let names = [Some(r.name.clone()), r.slope_name()];
            let without: Vec<Two> = with
                .iter()
                .enumerate()
                .map(|(l, z)| shared.without(z, part.column + l * part.width, part.width))
                .collect();
            for (k, group) in names.into_iter().flatten().enumerate() {
                for (l, level) in r.term.levels.iter().enumerate() {
                    let at = part.column + l * part.width;
                    let effect =
                        [solutions[at], if part.width == 2 { solutions[at + 1] } else { 0.0 }];
                    let estimate = super::small::apply(&term.back, effect)[k] * unit;
                    let back =
                        |z: &Two| term.covariance_back(&around(root, z), unit)[3 * k].max(0.0);
                    let own = match &r.relation {
                        Relation::Independent => 1.0,
                        Relation::Inverse(inverse) => inverse.diagonal()[l],
                    };
                    let (variance, pev) = (g[3 * k] * own, back(&with[l]));
                    let reliability =
                        (variance > 0.0).then(|| (1.0 - pev / variance).clamp(0.0, 1.0));
                    levels.push(LevelEffect {
                        group: group.clone(),
                        level: level.clone(),
                        estimate,
                        pev,
                        conditional_sd: back(&without[l]).sqrt(),
                        reliability,
                    });
                }
            }
        }
        Ok(levels)
    }
}

/// Standard errors of 00, 10 and 11 taken back, from their scaled covariance.
fn back_errors(scaled: &[f64], back: &Two, unit: f64) -> Vec<f64> {
    let square = unit * unit;
    if scaled.len() == 1 {
        return vec![scaled[0].sqrt() * square];
    }
    // How each number of back·G·backᵀ depends on those of G.
    let units: [Two; 3] = [[1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 1.0, 0.0], [0.0, 0.0, 0.0, 1.0]];
    let images = units.map(|e| around(back, &e));
    [0, 1, 3]
        .into_iter()
        .map(|at| {
            let terms = (0..9).map(|ij| images[ij / 3][at] * scaled[ij] * images[ij % 3][at]);
            terms.sum::<f64>().max(0.0).sqrt() * square
        })
        .collect()
}

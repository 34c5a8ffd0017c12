//! Records summed up for each lasting effect and each individual.

use super::{Given, Lines, PedigreeError, Records};
use crate::mixed::{MixedError, Scaled};

/// A group of records that share a lasting effect (an individual where there are none).
///
/// Records are scaled so that their residuals have one variance σ²; s is the root of a record's
/// weight. All sums are over σ².
#[derive(Debug)]
pub(super) struct Groups {
    /// The individual of each.
    pub individual: Vec<u32>,
    /// Σ s²
    pub weight: Vec<f64>,
    /// Σ s·x, coefficient by coefficient.
    pub x: Vec<Vec<f64>>,
    /// Σ s·y
    pub y: Vec<f64>,
    /// How much of the group's mean deviation is taken for its lasting effect.
    pub share: Vec<f64>,
}

/// What the equations are made of, on the scale of the records.
#[derive(Debug)]
pub(super) struct Sums {
    pub scaled: Scaled<'static>,
    pub given: Given,
    /// The group of each record.
    pub group_of: Vec<u32>,
    pub groups: Groups,
    /// Zᵀ·R⁻¹·Z, a number for each individual.
    pub precision: Vec<f64>,
    /// Zᵀ·R⁻¹·X, coefficient by coefficient.
    pub zx: Vec<Vec<f64>>,
    /// Zᵀ·R⁻¹·y
    pub zy: Vec<f64>,
    /// Xᵀ·R⁻¹·X by rows, and Xᵀ·R⁻¹·y.
    pub xx: Vec<f64>,
    pub xy: Vec<f64>,
}

impl Sums {
    pub fn of(lines: &Lines, records: &Records<'_>, given: Given) -> Result<Self, PedigreeError> {
        check_variances(given)?;
        let n = records.response.len();
        if records.individual.len() != n {
            let (what, found) = ("individuals of records", records.individual.len());
            return Err(PedigreeError::Lengths { what, found, expected: n });
        }
        let scaled = Scaled::of(records.response, records.fixed, &[], records.weights)?;
        if let Some(at) = records.individual.iter().position(|i| *i as usize >= lines.len()) {
            let (what, individual) = ("record", records.individual[at] as usize + 1);
            let (at, individuals) = (at + 1, lines.len());
            return Err(PedigreeError::NoIndividual { what, at, individual, individuals });
        }
        let (group_of, individual) = grouped(lines, records)?;
        let square = scaled.unit * scaled.unit;
        let given = Given {
            additive: given.additive / square,
            permanent: given.permanent / square,
            residual: given.residual / square,
        };
        let p = scaled.fixed.len();
        let m = individual.len();
        let mut groups = Groups {
            individual,
            weight: vec![0.0; m],
            x: vec![vec![0.0; m]; p],
            y: vec![0.0; m],
            share: Vec::new(),
        };
        let over = 1.0 / given.residual;
        for (r, g) in group_of.iter().enumerate() {
            let (g, s) = (*g as usize, scaled.root(r));
            groups.weight[g] += over * s * s;
            groups.y[g] += over * s * scaled.response[r];
        }
        for (sum, column) in groups.x.iter_mut().zip(&scaled.fixed) {
            for (r, (g, x)) in group_of.iter().zip(column).enumerate() {
                sum[*g as usize] += over * scaled.root(r) * x;
            }
        }
        let permanent = if records.permanent.is_some() { given.permanent } else { 0.0 };
        groups.share =
            groups.weight.iter().map(|w| permanent * w / (1.0 + permanent * w)).collect();
        Ok(Sums::absorb(lines, scaled, Given { permanent, ..given }, group_of, groups))
    }

    /// Takes lasting effects out: R⁻¹ of a group is diag(w) − (k/Σw)·w·wᵀ, k its share.
    fn absorb(
        lines: &Lines,
        scaled: Scaled<'static>,
        given: Given,
        group_of: Vec<u32>,
        groups: Groups,
    ) -> Self {
        let p = groups.x.len();
        let mut precision = vec![0.0; lines.len()];
        let mut zy = vec![0.0; lines.len()];
        let mut zx = vec![vec![0.0; lines.len()]; p];
        for (g, i) in groups.individual.iter().enumerate() {
            let (i, left) = (*i as usize, 1.0 - groups.share[g]);
            precision[i] += left * groups.weight[g];
            zy[i] += left * groups.y[g];
            for (zx, x) in zx.iter_mut().zip(&groups.x) {
                zx[i] += left * x[g];
            }
        }
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let over = 1.0 / given.residual;
        let taken = |a: &[f64], b: &[f64]| -> f64 {
            let each = a.iter().zip(b).zip(groups.share.iter().zip(&groups.weight));
            each.filter(|(_, (_, w))| **w > 0.0).map(|((a, b), (k, w))| a * b * k / w).sum()
        };
        let mut xx = vec![0.0; p * p];
        for i in 0..p {
            for j in 0..p {
                let all = over * dot(&scaled.fixed[i], &scaled.fixed[j]);
                xx[i * p + j] = all - taken(&groups.x[i], &groups.x[j]);
            }
        }
        let xy = (0..p)
            .map(|i| {
                over * dot(&scaled.fixed[i], &scaled.response) - taken(&groups.x[i], &groups.y)
            })
            .collect();
        Sums { scaled, given, group_of, groups, precision, zx, zy, xx, xy }
    }

    /// The root of a record's weight.
    pub fn root(&self, record: usize) -> f64 {
        self.scaled.root(record)
    }

    /// yᵀ·P·y from solutions: (y − Xb)ᵀ·R⁻¹·(y − Xb − Za), which loses no digits to a large mean.
    pub fn quadratic(&self, b: &[f64], a: &[f64]) -> f64 {
        let over = 1.0 / self.given.residual;
        let mut left = vec![0.0; self.groups.weight.len()];
        let mut whole = 0.0;
        for (r, g) in self.group_of.iter().enumerate() {
            let fitted: f64 = self.scaled.fixed.iter().zip(b).map(|(x, b)| x[r] * b).sum();
            let e = self.scaled.response[r] - fitted;
            whole += over * e * e;
            left[*g as usize] += over * self.root(r) * e;
        }
        for (g, sum) in left.iter().enumerate() {
            let (k, w) = (self.groups.share[g], self.groups.weight[g]);
            if w > 0.0 {
                whole -= k / w * sum * sum;
                whole -= (1.0 - k) * sum * a[self.groups.individual[g] as usize];
            }
        }
        whole
    }

    /// log|R|
    pub fn log_determinant(&self) -> f64 {
        let each = self.groups.weight.iter().map(|w| (self.given.permanent * w).ln_1p());
        self.group_of.len() as f64 * self.given.residual.ln() + each.sum::<f64>()
    }
}

fn check_variances(given: Given) -> Result<(), PedigreeError> {
    let positive = |v: f64| v.is_finite() && v > 0.0;
    let all = [
        ("additive", given.additive, positive(given.additive), "a number above 0"),
        (
            "permanent",
            given.permanent,
            given.permanent == 0.0 || positive(given.permanent),
            "a number from 0 on",
        ),
        ("residual", given.residual, positive(given.residual), "a number above 0"),
    ];
    match all.into_iter().find(|(_, _, good, _)| !good) {
        None => Ok(()),
        Some((name, value, _, expected)) => Err(PedigreeError::Given { name, value, expected }),
    }
}

/// The group of each record and the individual of each group.
fn grouped(lines: &Lines, records: &Records<'_>) -> Result<(Vec<u32>, Vec<u32>), PedigreeError> {
    let Some(permanent) = records.permanent else {
        return Ok((records.individual.to_vec(), (0..lines.len() as u32).collect()));
    };
    if permanent.len() != records.individual.len() {
        let (what, found) = ("lasting effects of records", permanent.len());
        let expected = records.individual.len();
        return Err(PedigreeError::Lengths { what, found, expected });
    }
    let levels = permanent.iter().max().map_or(0, |m| *m as usize + 1);
    let mut individual = vec![u32::MAX; levels];
    for (r, (g, i)) in permanent.iter().zip(records.individual).enumerate() {
        let known = &mut individual[*g as usize];
        if *known != u32::MAX && known != i {
            return Err(PedigreeError::SharedEffect { record: r + 1 });
        }
        *known = *i;
    }
    // A number that no record has stands for nothing; it gets the first individual and no weight.
    individual.iter_mut().filter(|i| **i == u32::MAX).for_each(|i| *i = 0);
    Ok((permanent.to_vec(), individual))
}

impl From<crate::model::ModelError> for PedigreeError {
    fn from(error: crate::model::ModelError) -> Self {
        PedigreeError::Mixed(MixedError::Model(error))
    }
}

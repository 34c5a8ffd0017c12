//! The marginal likelihood at given parameters: the mode of the random effects by Newton's method.

use super::{LaplaceError, Rows, adaptive, arrow::Arrow, design::Design, gradient};
use crate::{
    dense,
    model::{Fixed, RandomTerm},
    quadrature::GaussHermite,
};

/// Where the parameters stand in one list: fixed effects, random terms, shapes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layout {
    /// Fixed effects, from 0.
    pub fixed: usize,
    /// Parameters of random terms: a standard deviation each, or for a term with a slope the lower
    /// triangular factor of its covariance, l₁₁, l₂₁, l₂₂.
    pub random: usize,
    /// Shape parameters.
    pub shapes: usize,
}

impl Layout {
    /// Number of parameters.
    pub fn len(&self) -> usize {
        self.fixed + self.random + self.shapes
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// Rows, design and the state of the last evaluation.
#[derive(Debug, Clone)]
pub struct Marginal<R> {
    pub(super) rows: R,
    pub(super) layout: Layout,
    pub(super) design: Design,
    /// Fixed columns, row-major, rows in the order of the cells.
    pub(super) x: Vec<f64>,
    offset: Option<Vec<f64>>,
    pub(super) quadrature: Option<GaussHermite>,
    pub(super) curvature: Arrow,
    pub(super) state: State,
}

/// What an evaluation leaves.
#[derive(Debug, Clone, Default)]
pub(super) struct State {
    /// Standardised random effects at the mode.
    pub u: Vec<f64>,
    /// Whether `u` is a mode found earlier, to start from.
    warm: bool,
    /// The fixed part of each row's predictor.
    pub base: Vec<f64>,
    /// Multipliers of the standardised effects: zᵀΛ by cell.
    pub a: Vec<f64>,
    /// First derivative, minus the second and minus the third, by row.
    pub first: Vec<f64>,
    pub weight: Vec<f64>,
    pub third: Vec<f64>,
    /// Their sums by cell.
    pub cell_first: Vec<f64>,
    pub cell_weight: Vec<f64>,
    pub cell_third: Vec<f64>,
    /// Σℓ at the mode.
    pub value: f64,
    /// How far the means of the standardised effects lie from their mode, after a gradient: by the
    /// nodes, or to the first order of the skewness.
    pub shift: Vec<f64>,
    u_next: Vec<f64>,
    gradient: Vec<f64>,
}

impl<R: Rows> Marginal<R> {
    /// Joins rows, the fixed part, an offset of the predictor, and random terms.
    ///
    /// # Errors
    /// Parts of different lengths, or too many levels.
    pub fn new(
        rows: R,
        fixed: &Fixed,
        offset: Option<&[f64]>,
        terms: &[RandomTerm],
    ) -> Result<Self, LaplaceError> {
        let (n, p) = (rows.rows(), fixed.width());
        let length = |what, found, expected| {
            if found == expected && n > 0 {
                Ok(())
            } else {
                Err(LaplaceError::Lengths { what, found, expected })
            }
        };
        length("the fixed part", fixed.rows(), n)?;
        if let Some(offset) = offset {
            length("the offset", offset.len(), n)?;
        }
        for term in terms {
            length("a random term", term.index.len(), n * term.members)?;
        }
        let (design, curvature) = Design::new(n, terms)?;
        let mut x = Vec::with_capacity(n * p);
        for row in &design.order {
            x.extend((0..p).map(|j| fixed.column(j)[*row as usize]));
        }
        let offset = offset.map(|o| design.order.iter().map(|r| o[*r as usize]).collect());
        let layout = Layout { fixed: p, random: design.parameters, shapes: rows.shapes() };
        let cells = design.cells();
        let state = State {
            u: vec![0.0; design.effects],
            base: vec![0.0; n],
            a: vec![0.0; design.column.len()],
            first: vec![0.0; n],
            weight: vec![0.0; n],
            third: vec![0.0; n],
            cell_first: vec![0.0; cells],
            cell_weight: vec![0.0; cells],
            cell_third: vec![0.0; cells],
            shift: vec![0.0; design.effects],
            u_next: vec![0.0; design.effects],
            gradient: vec![0.0; design.effects],
            ..State::default()
        };
        Ok(Marginal { rows, layout, design, x, offset, quadrature: None, curvature, state })
    }

    /// Integrates over one random intercept by adaptive Gauss–Hermite quadrature; 1 node is
    /// Laplace's approximation.
    ///
    /// # Errors
    /// More than one node with several random terms, a slope or several memberships.
    pub fn with_nodes(mut self, nodes: usize) -> Result<Self, LaplaceError> {
        let one = match self.design.places.as_slice() {
            [place] => place.width == 1 && place.members == 1,
            _ => false,
        };
        if nodes != 1 && (!one || nodes == 0) {
            return Err(LaplaceError::Quadrature { nodes });
        }
        self.quadrature = (nodes > 1).then(|| GaussHermite::new(nodes));
        Ok(self)
    }

    /// Where the parameters stand.
    pub fn layout(&self) -> Layout {
        self.layout
    }

    /// The rows.
    pub fn rows(&self) -> &R {
        &self.rows
    }

    /// Which parameters belong to a random term (by its place in the list given): one standard
    /// deviation, or three elements of a triangular factor.
    pub fn parameters_of(&self, term: usize) -> std::ops::Range<usize> {
        let place = &self.design.places[term];
        let start = self.layout.fixed + place.parameter;
        start..start + if place.width == 1 { 1 } else { 3 }
    }

    /// Number of random terms.
    pub fn terms(&self) -> usize {
        self.design.places.len()
    }

    /// The log-likelihood at these parameters, `None` where it has no finite value; with `gradient`,
    /// its exact derivative as well.
    ///
    /// # Panics
    /// When the lengths are not those of the layout.
    pub fn evaluate(&mut self, parameters: &[f64], gradient: Option<&mut [f64]>) -> Option<f64> {
        assert_eq!(parameters.len(), self.layout.len(), "parameters of the layout");
        let (p, q) = (self.layout.fixed, self.layout.random);
        self.rows.set_shapes(&parameters[p + q..]);
        self.set_base(&parameters[..p]);
        self.set_multipliers(&parameters[p..p + q]);
        if !self.find_mode() {
            // The last mode may have been a bad start: once more from zero.
            self.state.u.fill(0.0);
            if !std::mem::take(&mut self.state.warm) || !self.find_mode() {
                self.state.u.fill(0.0);
                return None;
            }
        }
        self.state.warm = true;
        let value = if self.quadrature.is_some() {
            adaptive::evaluate(self, parameters, gradient)
        } else {
            let u = &self.state.u;
            let value =
                self.state.value - 0.5 * dense::dot(u, u) - 0.5 * self.curvature.log_determinant();
            if let Some(gradient) = gradient {
                gradient::evaluate(self, parameters, gradient);
            }
            value
        };
        value.is_finite().then_some(value)
    }

    fn set_base(&mut self, beta: &[f64]) {
        let p = beta.len();
        match &self.offset {
            Some(offset) => self.state.base.copy_from_slice(offset),
            None => self.state.base.fill(0.0),
        }
        if p > 0 {
            for (base, x) in self.state.base.iter_mut().zip(self.x.chunks_exact(p)) {
                *base += x.iter().zip(beta).map(|(x, b)| x * b).sum::<f64>();
            }
        }
    }

    /// zᵀΛ for each cell.
    fn set_multipliers(&mut self, theta: &[f64]) {
        let (r, design) = (self.design.entries, &self.design);
        if r == 0 {
            return;
        }
        let cells = self.state.a.chunks_exact_mut(r).zip(design.multiplier.chunks_exact(r));
        for (a, z) in cells {
            for place in &design.places {
                let at = place.entry;
                if place.width == 1 {
                    let sd = theta[place.parameter];
                    for k in at..at + place.members {
                        a[k] = z[k] * sd;
                    }
                } else {
                    let l = &theta[place.parameter..place.parameter + 3];
                    a[at] = z[at] * l[0] + z[at + 1] * l[1];
                    a[at + 1] = z[at + 1] * l[2];
                }
            }
        }
    }

    /// Derivatives of all rows at these standardised effects; leaves Σℓ − ½uᵀu as the result.
    fn sweep(&mut self, next: bool) -> f64 {
        let (r, design, s) = (self.design.entries, &self.design, &mut self.state);
        let u = if next { &s.u_next } else { &s.u };
        let mut value = 0.0;
        for cell in 0..design.cells() {
            let range = cell * r..(cell + 1) * r;
            let columns = &design.column[range.clone()];
            let random: f64 =
                columns.iter().zip(&s.a[range]).map(|(c, a)| a * u[*c as usize]).sum();
            let (mut first, mut weight, mut third) = (0.0, 0.0, 0.0);
            for i in design.start[cell] as usize..design.start[cell + 1] as usize {
                let d = self.rows.derivatives(design.order[i] as usize, s.base[i] + random);
                value += d.value;
                first += d.first;
                weight -= d.second;
                third -= d.third;
                s.first[i] = d.first;
                s.weight[i] = -d.second;
                s.third[i] = -d.third;
            }
            s.cell_first[cell] = first;
            s.cell_weight[cell] = weight;
            s.cell_third[cell] = third;
        }
        s.value = value;
        value - 0.5 * dense::dot(u, u)
    }

    /// ΛᵀZᵀWZΛ + I.
    fn assemble(&mut self) {
        let (design, s, m) = (&self.design, &self.state, &mut self.curvature);
        m.reset(1.0);
        let (r, leaf, w, border) = (design.entries, design.leaf, m.width, m.border);
        for cell in 0..design.cells() {
            let weight = s.cell_weight[cell];
            let a = &s.a[cell * r..(cell + 1) * r];
            let columns = &design.column[cell * r..(cell + 1) * r];
            if leaf > 0 {
                let block = columns[0] as usize / w;
                for k in 0..w {
                    let wa = weight * a[k];
                    let row = &mut m.a[(block * w + k) * w..][..w];
                    row.iter_mut().zip(a).for_each(|(h, a)| *h += wa * a);
                    let positions = &design.position[cell * (r - leaf)..(cell + 1) * (r - leaf)];
                    for (at, b) in positions.iter().zip(&a[leaf..]) {
                        m.c[*at as usize * w + k] += wa * b;
                    }
                }
            }
            for i in leaf..r {
                let wa = weight * a[i];
                let row = columns[i] as usize - design.blocked;
                for j in leaf..r {
                    let column = columns[j] as usize - design.blocked;
                    if column <= row {
                        m.d[row * border + column] += wa * a[j];
                    }
                }
            }
        }
    }

    /// Newton's method for the mode, with the curvature factorised there.
    fn find_mode(&mut self) -> bool {
        let mut objective = self.sweep(false);
        if !objective.is_finite() {
            return false;
        }
        if self.design.effects == 0 {
            return true;
        }
        let mut before = f64::INFINITY;
        for _ in 0..100 {
            self.assemble();
            let ridged = match self.factorise() {
                Some(ridged) => ridged,
                None => return false,
            };
            let s = &mut self.state;
            score(&self.design, &s.a, &s.cell_first, &mut s.gradient);
            s.gradient.iter_mut().zip(&s.u).for_each(|(g, u)| *g -= u);
            let mut step = s.gradient.clone();
            self.curvature.solve(&mut step);
            let decrement = dense::dot(&step, &self.state.gradient);
            if !decrement.is_finite() {
                return false;
            }
            let stagnant = decrement < 1e-9 && decrement > 0.25 * before;
            if decrement < 1e-20 || stagnant {
                // A mode with a curvature that is not positive is a saddle.
                return !ridged;
            }
            before = decrement;
            match self.line(objective, &step, decrement) {
                Some(value) => objective = value,
                None if decrement < 1e-7 => return !ridged,
                None => return false,
            }
        }
        false
    }

    /// Factorises the curvature, with a growing ridge where it is not positive definite.
    fn factorise(&mut self) -> Option<bool> {
        if self.curvature.factorise() {
            return Some(false);
        }
        let mut ridge = 1.0;
        for _ in 0..40 {
            self.curvature.ridge(ridge);
            if self.curvature.factorise() {
                return Some(true);
            }
            ridge *= 4.0;
        }
        None
    }

    /// Goes along a step as far as the objective rises; leaves the state there.
    fn line(&mut self, objective: f64, step: &[f64], decrement: f64) -> Option<f64> {
        let slack = 1e-12 * (1.0 + objective.abs());
        let mut t = 1.0;
        for _ in 0..40 {
            let s = &mut self.state;
            for ((next, u), d) in s.u_next.iter_mut().zip(&s.u).zip(step) {
                *next = u + t * d;
            }
            let value = self.sweep(true);
            if value >= objective + 1e-4 * t * decrement - slack {
                let s = &mut self.state;
                std::mem::swap(&mut s.u, &mut s.u_next);
                return Some(value);
            }
            t *= 0.5;
        }
        // Back to where it was, so that the state is that of `u`.
        self.sweep(false);
        None
    }
}

/// Aᵀ times a number for each cell.
pub(super) fn score(design: &Design, a: &[f64], by_cell: &[f64], out: &mut [f64]) {
    out.fill(0.0);
    let r = design.entries;
    for (cell, value) in by_cell.iter().enumerate() {
        let range = cell * r..(cell + 1) * r;
        for (column, a) in design.column[range.clone()].iter().zip(&a[range]) {
            out[*column as usize] += a * value;
        }
    }
}

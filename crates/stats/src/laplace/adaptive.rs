//! Adaptive Gauss–Hermite quadrature for one random intercept, with its exact gradient.
//!
//! The nodes lie around the mode û of each level, scaled by s = h^(−½) with h the curvature there
//! (Pinheiro & Bates 1995, J. Comput. Graph. Stat. 4:12–35; from memory). Nodes move with the
//! parameters, which the gradient holds: it is that of the sum, not of the integral.

use super::{Marginal, Rows, ShapeDerivatives};

pub(super) fn evaluate<R: Rows>(
    m: &mut Marginal<R>,
    parameters: &[f64],
    gradient: Option<&mut [f64]>,
) -> f64 {
    if gradient.is_some() {
        // For the standard errors of the levels.
        m.curvature.invert();
    }
    let mut shift = std::mem::take(&mut m.state.shift);
    let total = sum_of_levels(m, parameters, gradient, &mut shift);
    m.state.shift = shift;
    total
}

fn sum_of_levels<R: Rows>(
    m: &Marginal<R>,
    parameters: &[f64],
    mut gradient: Option<&mut [f64]>,
    shift: &mut [f64],
) -> f64 {
    let Some(rule) = &m.quadrature else { return f64::NAN };
    let (design, state) = (&m.design, &m.state);
    let (p, shapes, nodes) = (m.layout.fixed, m.layout.shapes, rule.len());
    let sd = parameters[p];
    if let Some(g) = gradient.as_deref_mut() {
        g.fill(0.0);
    }
    let widest = design.start.windows(2).map(|w| (w[1] - w[0]) as usize).max().unwrap_or(0);
    let mut firsts = vec![0.0; widest * nodes];
    let mut share = vec![0.0; nodes];
    let mut total = 0.0;
    for cell in 0..design.cells() {
        let level = design.column[cell] as usize;
        let (u, h) = (state.u[level], m.curvature.a[level]);
        let s = h.powf(-0.5);
        let (from, to) = (design.start[cell] as usize, design.start[cell + 1] as usize);
        for (k, (x, w)) in rule.nodes.iter().zip(&rule.weights).enumerate() {
            let at = u + s * x;
            let mut value = w.ln() + 0.5 * x * x - 0.5 * at * at;
            for i in from..to {
                let d = m.rows.derivatives(design.order[i] as usize, state.base[i] + sd * at);
                value += d.value;
                firsts[(i - from) * nodes + k] = d.first;
            }
            share[k] = value;
        }
        let top = share.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let sum: f64 = share.iter().map(|v| (v - top).exp()).sum();
        total += top + sum.ln() + s.ln();
        if let Some(g) = gradient.as_deref_mut() {
            share.iter_mut().for_each(|v| *v = (*v - top).exp() / sum);
            shift[level] = s * share.iter().zip(&rule.nodes).map(|(w, x)| w * x).sum::<f64>();
            let level = Level { u, h, s, sd, from, to };
            add(m, &level, &rule.nodes, &share, &firsts, shapes, g);
        }
    }
    total
}

/// The random effect of a level around its mode.
struct Level {
    u: f64,
    h: f64,
    s: f64,
    sd: f64,
    from: usize,
    to: usize,
}

/// Adds the gradient of one level; `share` are the parts of the nodes in the sum.
fn add<R: Rows>(
    m: &Marginal<R>,
    level: &Level,
    nodes: &[f64],
    share: &[f64],
    firsts: &[f64],
    shapes: usize,
    gradient: &mut [f64],
) {
    let (design, state, p, n) = (&m.design, &m.state, m.layout.fixed, nodes.len());
    let &Level { u, h, s, sd, from, to } = level;
    let rows = || (from..to).zip(firsts.chunks_exact(n));
    // Slope of the integrand at each node, and how the sum answers to a shift and a stretch of them.
    let slope = |k: usize| {
        let first: f64 = rows().map(|(_, f)| f[k]).sum();
        first * sd - (u + s * nodes[k])
    };
    let slopes: Vec<f64> = (0..n).map(slope).collect();
    let shift: f64 = share.iter().zip(&slopes).map(|(w, j)| w * j).sum();
    let stretch: f64 = share.iter().zip(&slopes).zip(nodes).map(|((w, j), x)| w * j * x * s).sum();
    let half = -0.5 * (stretch + 1.0) / h;
    let (mut first, mut weight, mut third) = (0.0, 0.0, 0.0);
    for i in from..to {
        first += state.first[i];
        weight += state.weight[i];
        third += state.third[i];
    }
    // How the curvature answers to the mode.
    let by_mode = sd.powi(3) * third;
    let moved = shift + half * by_mode;
    for (i, f) in rows() {
        let mean: f64 = f.iter().zip(share).map(|(f, w)| f * w).sum();
        let e = mean - moved * sd * state.weight[i] / h + half * sd * sd * state.third[i];
        for (g, x) in gradient[..p].iter_mut().zip(&m.x[i * p..(i + 1) * p]) {
            *g += x * e;
        }
    }
    let by_sd: f64 = (0..n)
        .map(|k| share[k] * (u + s * nodes[k]) * rows().map(|(_, f)| f[k]).sum::<f64>())
        .sum();
    gradient[p] += by_sd
        + moved * (first - sd * u * weight) / h
        + half * (2.0 * sd * weight + sd * sd * u * third);
    if shapes == 0 {
        return;
    }
    let mut d = vec![ShapeDerivatives::default(); shapes];
    for i in from..to {
        let row = design.order[i] as usize;
        for (k, w) in share.iter().enumerate() {
            m.rows.by_shape(row, state.base[i] + sd * (u + s * nodes[k]), &mut d);
            for (g, d) in gradient[p + 1..].iter_mut().zip(&d) {
                *g += w * d.value;
            }
        }
        m.rows.by_shape(row, state.base[i] + sd * u, &mut d);
        for (g, d) in gradient[p + 1..].iter_mut().zip(&d) {
            *g += moved * sd * d.first / h - half * sd * sd * d.second;
        }
    }
}

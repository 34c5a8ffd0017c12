//! The exact gradient of Laplace's approximation.
//!
//! With q = diag(A H⁻¹ Aᵀ), A = ZΛ, c = −∂³ℓ/∂η³, s = H⁻¹Aᵀ(q∘c) and t = As, the movement of the mode
//! enters through t alone: the derivative in anything that moves η of a row by x is
//! x·(ℓ′ − ½qc + ½tw), and random terms and shapes add how they change the curvature itself.

use super::{Marginal, Rows, ShapeDerivatives, design::Place, marginal::score};

pub(super) fn evaluate<R: Rows>(m: &mut Marginal<R>, parameters: &[f64], gradient: &mut [f64]) {
    gradient.fill(0.0);
    if m.design.effects > 0 {
        m.curvature.invert();
    }
    let (p, r, cells) = (m.layout.fixed, m.design.entries, m.design.cells());
    let (design, state) = (&m.design, &m.state);
    let mut q = vec![0.0; cells];
    let mut g = vec![0.0; r];
    let mut curved = vec![0.0; cells];
    for cell in 0..cells {
        covariances(m, cell, &mut g);
        let a = &state.a[cell * r..(cell + 1) * r];
        q[cell] = a.iter().zip(&g).map(|(a, g)| a * g).sum();
        curved[cell] = q[cell] * state.cell_third[cell];
        let z = &design.multiplier[cell * r..(cell + 1) * r];
        let weight = state.cell_weight[cell];
        for place in &design.places {
            by_factor(place, z, |k| g[place.entry + k], -weight, &mut gradient[p..]);
        }
    }
    let mut s = vec![0.0; design.effects];
    score(design, &state.a, &curved, &mut s);
    if design.effects > 0 {
        m.curvature.solve(&mut s);
    }
    let shapes = m.layout.shapes;
    let first_shape = p + m.layout.random;
    let mut by_shape = vec![ShapeDerivatives::default(); shapes];
    for cell in 0..cells {
        let range = cell * r..(cell + 1) * r;
        let (columns, a) = (&design.column[range.clone()], &state.a[range.clone()]);
        let z = &design.multiplier[range];
        let t: f64 = columns.iter().zip(a).map(|(c, a)| a * s[*c as usize]).sum();
        let random: f64 = columns.iter().zip(a).map(|(c, a)| a * state.u[*c as usize]).sum();
        let q = q[cell];
        let whole = state.cell_first[cell] - 0.5 * q * state.cell_third[cell]
            + 0.5 * t * state.cell_weight[cell];
        for place in &design.places {
            let (e, half) = (place.entry, -0.5 * state.cell_first[cell]);
            let theta = &mut gradient[p..];
            by_factor(place, z, |k| state.u[columns[e + k] as usize], whole, theta);
            by_factor(place, z, |k| s[columns[e + k] as usize], half, theta);
        }
        for i in design.start[cell] as usize..design.start[cell + 1] as usize {
            let e = state.first[i] - 0.5 * q * state.third[i] + 0.5 * t * state.weight[i];
            for (g, x) in gradient[..p].iter_mut().zip(&m.x[i * p..(i + 1) * p]) {
                *g += x * e;
            }
            if shapes > 0 {
                let eta = state.base[i] + random;
                m.rows.by_shape(design.order[i] as usize, eta, &mut by_shape);
                for (g, d) in gradient[first_shape..].iter_mut().zip(&by_shape) {
                    *g += d.value + 0.5 * q * d.second - 0.5 * t * d.first;
                }
            }
        }
    }
    // E(u − û) ≈ −½ H⁻¹Aᵀ(q∘c)
    s.iter_mut().for_each(|v| *v *= -0.5);
    m.state.shift = s;
    debug_assert_eq!(parameters.len(), gradient.len());
}

/// Adds `factor` × (∂(zᵀΛ)/∂θ · v) for the parameters of a term; `v` gives its entries.
fn by_factor(
    place: &Place,
    z: &[f64],
    v: impl Fn(usize) -> f64,
    factor: f64,
    gradient: &mut [f64],
) {
    let (at, e) = (place.parameter, place.entry);
    if place.width == 1 {
        gradient[at] += factor * (0..place.members).map(|k| z[e + k] * v(k)).sum::<f64>();
    } else {
        gradient[at] += factor * z[e] * v(0);
        gradient[at + 1] += factor * z[e + 1] * v(0);
        gradient[at + 2] += factor * z[e + 1] * v(1);
    }
}

/// H⁻¹a for the entries of a cell: how its predictor varies with each of its effects.
fn covariances<R>(m: &Marginal<R>, cell: usize, out: &mut [f64]) {
    let (design, h) = (&m.design, &m.curvature);
    let (r, leaf, w) = (design.entries, design.leaf, h.width);
    let a = &m.state.a[cell * r..(cell + 1) * r];
    let columns = &design.column[cell * r..(cell + 1) * r];
    out.fill(0.0);
    if leaf > 0 {
        let block = columns[0] as usize / w;
        let positions = &design.position[cell * (r - leaf)..(cell + 1) * (r - leaf)];
        for k in 0..w {
            out[k] += (0..w).map(|l| h.v[(block * w + k) * w + l] * a[l]).sum::<f64>();
            for (j, at) in positions.iter().enumerate() {
                let e = h.e[*at as usize * w + k];
                out[k] += e * a[leaf + j];
                out[leaf + j] += e * a[k];
            }
        }
    }
    for i in leaf..r {
        let row = (columns[i] as usize - design.blocked) * h.border;
        for j in leaf..r {
            out[i] += h.s[row + columns[j] as usize - design.blocked] * a[j];
        }
    }
}

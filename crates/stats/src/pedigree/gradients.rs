//! Conjugate gradients (Hestenes & Stiefel 1952) for systems whose factor would be too large.
//!
//! The preconditioner is a sweep of symmetric Gauss–Seidel, (D + L)·D⁻¹·(D + L)ᵀ: it needs no
//! memory, never fails for a positive definite matrix and follows pedigrees well, because parents
//! stand before their progeny.

use super::core::Lower;

/// Replaces a right-hand side by the solution; how many steps that took and the residual reached,
/// relative to the right-hand side.
pub(super) fn solve(
    matrix: &Lower,
    right: &mut [f64],
    tolerance: f64,
    most: usize,
) -> (usize, f64) {
    let size = norm(right);
    let mut x = vec![0.0; right.len()];
    if size == 0.0 {
        return (0, 0.0);
    }
    let mut r = right.to_vec();
    let mut z = vec![0.0; r.len()];
    precondition(matrix, &r, &mut z);
    let mut direction = z.clone();
    let mut rz = dot(&r, &z);
    let mut product = vec![0.0; r.len()];
    let (mut steps, mut left) = (0, 1.0);
    while steps < most && left > tolerance {
        times(matrix, &direction, &mut product);
        let along = rz / dot(&direction, &product);
        if !along.is_finite() {
            break;
        }
        x.iter_mut().zip(&direction).for_each(|(x, d)| *x += along * d);
        r.iter_mut().zip(&product).for_each(|(r, p)| *r -= along * p);
        left = norm(&r) / size;
        steps += 1;
        precondition(matrix, &r, &mut z);
        let next = dot(&r, &z);
        let keep = next / rz;
        rz = next;
        direction.iter_mut().zip(&z).for_each(|(d, z)| *d = z + keep * *d);
    }
    right.copy_from_slice(&x);
    (steps, left)
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    crate::dense::dot(a, b)
}

fn norm(a: &[f64]) -> f64 {
    dot(a, a).sqrt()
}

fn times(m: &Lower, x: &[f64], out: &mut [f64]) {
    out.fill(0.0);
    for j in 0..x.len() {
        let (from, to) = (m.starts[j], m.starts[j + 1]);
        let mut own = m.values[from] * x[j];
        for (row, value) in m.rows[from + 1..to].iter().zip(&m.values[from + 1..to]) {
            own += value * x[*row];
            out[*row] += value * x[j];
        }
        out[j] += own;
    }
}

/// z = (D + L)⁻ᵀ·D·(D + L)⁻¹·r
fn precondition(m: &Lower, r: &[f64], z: &mut [f64]) {
    z.copy_from_slice(r);
    for j in 0..z.len() {
        let (from, to) = (m.starts[j], m.starts[j + 1]);
        let x = z[j] / m.values[from];
        for (row, value) in m.rows[from + 1..to].iter().zip(&m.values[from + 1..to]) {
            z[*row] -= value * x;
        }
    }
    // D·(D + L)⁻¹·r is what the loop left; now backwards.
    for j in (0..z.len()).rev() {
        let (from, to) = (m.starts[j], m.starts[j + 1]);
        let below: f64 = m.rows[from + 1..to]
            .iter()
            .zip(&m.values[from + 1..to])
            .map(|(row, value)| value * z[*row])
            .sum();
        z[j] = (z[j] - below) / m.values[from];
    }
}

//! Small dense symmetric matrices, row by row, for the Hessians of a few parameters.

/// Cholesky factor L (lower, row-major) of a symmetric matrix of order `n`, or `None` when it is
/// not positive definite. `relative` is the least pivot as a share of its diagonal element.
pub(crate) fn cholesky(matrix: &[f64], n: usize, relative: f64) -> Option<Vec<f64>> {
    cholesky_or_row(matrix, n, relative).ok()
}

/// The same; `Err` is the first row whose pivot fails.
pub(crate) fn cholesky_or_row(matrix: &[f64], n: usize, relative: f64) -> Result<Vec<f64>, usize> {
    let mut l = vec![0.0; n * n];
    for i in 0..n {
        for j in 0..=i {
            let dot = dot(&l[i * n..i * n + j], &l[j * n..j * n + j]);
            let rest = matrix[i * n + j] - dot;
            if i == j {
                // Written so that a pivot that is not a number fails as well.
                if !(rest.is_finite() && rest > relative * matrix[i * n + i].abs()) {
                    return Err(i);
                }
                l[i * n + i] = rest.sqrt();
            } else {
                l[i * n + j] = rest / l[j * n + j];
            }
        }
    }
    Ok(l)
}

/// Solves L·Lᵀ·x = b in place.
pub(crate) fn solve(l: &[f64], n: usize, b: &mut [f64]) {
    solve_from(l, n, 0, b);
}

/// The same for a right side that is 0 before a row; only the rows from there on are solved for.
fn solve_from(l: &[f64], n: usize, first: usize, b: &mut [f64]) {
    for i in first..n {
        b[i] = (b[i] - dot(&l[i * n + first..i * n + i], &b[first..i])) / l[i * n + i];
    }
    for i in (first..n).rev() {
        b[i] /= l[i * n + i];
        let x = b[i];
        for (t, v) in b[first..i].iter_mut().zip(&l[i * n + first..i * n + i]) {
            *t -= v * x;
        }
    }
}

/// The inverse of L·Lᵀ.
pub(crate) fn inverse(l: &[f64], n: usize) -> Vec<f64> {
    let mut out = vec![0.0; n * n];
    for j in 0..n {
        // The inverse is symmetric: rows serve as columns, and what lies before the diagonal is known.
        let row = &mut out[j * n..(j + 1) * n];
        row[j] = 1.0;
        solve_from(l, n, j, row);
    }
    for j in 0..n {
        for i in j + 1..n {
            out[i * n + j] = out[j * n + i];
        }
    }
    out
}

/// Matrix times vector.
pub(crate) fn times(matrix: &[f64], v: &[f64]) -> Vec<f64> {
    matrix.chunks_exact(v.len().max(1)).map(|row| dot(row, v)).collect()
}

/// Sum of products, in four lanes so that the processor can work on several at once.
pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut lanes = [0.0; 4];
    let (mut x, mut y) = (a.chunks_exact(4), b.chunks_exact(4));
    for (p, q) in x.by_ref().zip(y.by_ref()) {
        for k in 0..4 {
            lanes[k] += p[k] * q[k];
        }
    }
    let rest: f64 = x.remainder().iter().zip(y.remainder()).map(|(p, q)| p * q).sum();
    (lanes[0] + lanes[1]) + (lanes[2] + lanes[3]) + rest
}

/// Solves M·x = b for any square matrix (row-major) by elimination with the largest pivots, or
/// `None` when a pivot is below 1e-12 of the largest number: the matrix is singular.
pub(crate) fn solve_any(matrix: &[f64], n: usize, b: &[f64]) -> Option<Vec<f64>> {
    let (mut m, mut x) = (matrix.to_vec(), b.to_vec());
    let size = m.iter().fold(0.0f64, |s, v| s.max(v.abs()));
    for k in 0..n {
        let at = (k..n).max_by(|i, j| m[i * n + k].abs().total_cmp(&m[j * n + k].abs()))?;
        let pivot = m[at * n + k].abs();
        if pivot.is_nan() || pivot <= 1e-12 * size {
            return None;
        }
        if at != k {
            (0..n).for_each(|j| m.swap(at * n + j, k * n + j));
            x.swap(at, k);
        }
        for i in k + 1..n {
            let f = m[i * n + k] / m[k * n + k];
            for j in k..n {
                m[i * n + j] -= f * m[k * n + j];
            }
            x[i] -= f * x[k];
        }
    }
    for i in (0..n).rev() {
        let known = dot(&m[i * n + i + 1..(i + 1) * n], &x[i + 1..]);
        x[i] = (x[i] - known) / m[i * n + i];
    }
    Some(x)
}

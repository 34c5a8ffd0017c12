//! Three by three: the little linear algebra that colours need.

/// Three numbers.
pub type Vector3 = [f64; 3];

/// Three rows of three numbers.
pub type Matrix3 = [[f64; 3]; 3];

/// Nothing.
pub(crate) const ZERO: Matrix3 = [[0.0; 3]; 3];

/// `m · v`.
pub(crate) fn times(m: &Matrix3, v: Vector3) -> Vector3 {
    m.map(|row| dot(row, v))
}

/// The scalar product.
pub(crate) fn dot(a: Vector3, b: Vector3) -> f64 {
    a[0].mul_add(b[0], a[1].mul_add(b[1], a[2] * b[2]))
}

/// `a − b`.
pub(crate) fn minus(a: Vector3, b: Vector3) -> Vector3 {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// `a + factor·b`.
pub(crate) fn plus(a: Vector3, factor: f64, b: Vector3) -> Vector3 {
    [a[0] + factor * b[0], a[1] + factor * b[1], a[2] + factor * b[2]]
}

/// `a + factor·b`, element by element.
pub(crate) fn add(a: &Matrix3, factor: f64, b: &Matrix3) -> Matrix3 {
    let mut sum = *a;
    for (row, other) in sum.iter_mut().zip(b) {
        *row = plus(*row, factor, *other);
    }
    sum
}

/// `a · b`.
pub(crate) fn product(a: &Matrix3, b: &Matrix3) -> Matrix3 {
    let columns = transposed(b);
    a.map(|row| columns.map(|column| dot(row, column)))
}

/// Rows for columns.
pub(crate) fn transposed(m: &Matrix3) -> Matrix3 {
    let column = |j: usize| [m[0][j], m[1][j], m[2][j]];
    [column(0), column(1), column(2)]
}

/// The sum of the diagonal.
pub(crate) fn trace(m: &Matrix3) -> f64 {
    m[0][0] + m[1][1] + m[2][2]
}

fn determinant(m: &Matrix3) -> f64 {
    dot(m[0], cross(m[1], m[2]))
}

fn cross(a: Vector3, b: Vector3) -> Vector3 {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// The inverse by cofactors; `None` where there is none to working precision.
pub(crate) fn inverse(m: &Matrix3) -> Option<Matrix3> {
    let determinant = determinant(m);
    let size = m.iter().flatten().fold(0.0_f64, |most, v| most.max(v.abs()));
    if !determinant.is_finite() || determinant.abs() <= size.powi(3) * 1e-14 {
        return None;
    }
    let columns = [cross(m[1], m[2]), cross(m[2], m[0]), cross(m[0], m[1])];
    Some(transposed(&columns.map(|c| c.map(|v| v / determinant))))
}

/// The lower triangular L with L·Lᵀ = m; `None` where m is not positive definite.
pub(crate) fn cholesky(m: &Matrix3) -> Option<Matrix3> {
    let mut l = ZERO;
    for i in 0..3 {
        for j in 0..=i {
            let rest = m[i][j] - (0..j).map(|k| l[i][k] * l[j][k]).sum::<f64>();
            if i == j {
                // Below this the pivot is rounding, not a variance.
                if !rest.is_finite() || rest <= m[i][i].abs() * 1e-12 {
                    return None;
                }
                l[i][i] = rest.sqrt();
            } else {
                l[i][j] = rest / l[j][j];
            }
        }
    }
    Some(l)
}

/// The eigenvalues of a symmetric matrix, greatest first, by Jacobi rotations.
pub(crate) fn eigenvalues(m: &Matrix3) -> Vector3 {
    let mut a = *m;
    for _ in 0..30 {
        for (p, q) in [(0, 1), (0, 2), (1, 2)] {
            if a[p][q].abs() <= f64::EPSILON * (a[p][p].abs() + a[q][q].abs()) {
                continue;
            }
            let theta = (a[q][q] - a[p][p]) / (2.0 * a[p][q]);
            let t = theta.signum() / (theta.abs() + theta.hypot(1.0));
            let (c, s) = (1.0 / t.hypot(1.0), t / t.hypot(1.0));
            let mut turn = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
            (turn[p][p], turn[q][q], turn[p][q], turn[q][p]) = (c, c, s, -s);
            a = product(&transposed(&turn), &product(&a, &turn));
        }
    }
    let mut values = [a[0][0], a[1][1], a[2][2]];
    values.sort_by(|a, b| b.total_cmp(a));
    values
}

#[cfg(test)]
mod tests {
    use super::*;

    const M: Matrix3 = [[4.0, 1.0, 0.5], [1.0, 3.0, -0.25], [0.5, -0.25, 2.0]];

    #[test]
    fn inverse_and_factor_give_the_matrix_back() {
        let one = product(&M, &inverse(&M).unwrap());
        let l = cholesky(&M).unwrap();
        let back = product(&l, &transposed(&l));
        for i in 0..3 {
            for j in 0..3 {
                let unit = f64::from(u8::from(i == j));
                assert!((one[i][j] - unit).abs() < 1e-14);
                assert!((back[i][j] - M[i][j]).abs() < 1e-14);
            }
        }
    }

    #[test]
    fn eigenvalues_have_the_trace_and_the_determinant() {
        let values = eigenvalues(&M);
        assert!((values.iter().sum::<f64>() - trace(&M)).abs() < 1e-12);
        assert!((values.iter().product::<f64>() - determinant(&M)).abs() < 1e-12);
        assert!(values[0] > values[1] && values[1] > values[2]);
    }

    #[test]
    fn singular_matrices_have_no_inverse_and_no_factor() {
        let flat = [[1.0, 2.0, 3.0], [2.0, 4.0, 6.0], [3.0, 6.0, 9.0]];
        assert_eq!(inverse(&flat), None);
        assert_eq!(cholesky(&flat), None);
        assert!(eigenvalues(&flat)[2].abs() < 1e-12);
    }
}

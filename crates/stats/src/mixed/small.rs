//! Two by two matrices, by columns. A term with one effect for each level uses the first number
//! alone; the others are zero, and every product below keeps them zero.

/// \[00, 10, 01, 11\].
pub(super) type Two = [f64; 4];

pub(super) const ZERO: Two = [0.0; 4];

/// Ones on the diagonal of a term of this width.
pub(super) fn unit(width: usize) -> Two {
    [1.0, 0.0, 0.0, if width == 2 { 1.0 } else { 0.0 }]
}

pub(super) fn times(a: &Two, b: &Two) -> Two {
    [
        a[0] * b[0] + a[2] * b[1],
        a[1] * b[0] + a[3] * b[1],
        a[0] * b[2] + a[2] * b[3],
        a[1] * b[2] + a[3] * b[3],
    ]
}

pub(super) fn transposed(a: &Two) -> Two {
    [a[0], a[2], a[1], a[3]]
}

pub(super) fn scaled(a: &Two, by: f64) -> Two {
    [a[0] * by, a[1] * by, a[2] * by, a[3] * by]
}

pub(super) fn add(to: &mut Two, a: &Two) {
    to.iter_mut().zip(a).for_each(|(t, a)| *t += a);
}

/// a·b·aᵀ
pub(super) fn around(a: &Two, b: &Two) -> Two {
    times(&times(a, b), &transposed(a))
}

pub(super) fn apply(a: &Two, x: [f64; 2]) -> [f64; 2] {
    [a[0] * x[0] + a[2] * x[1], a[1] * x[0] + a[3] * x[1]]
}

/// The inverse of a lower triangle of this width; nothing where a number on its diagonal is zero,
/// as that of a variance given as zero is.
pub(super) fn inverse_lower(a: &Two, width: usize) -> Two {
    let over = |v: f64| if v == 0.0 { 0.0 } else { 1.0 / v };
    if width == 1 {
        return [over(a[0]), 0.0, 0.0, 0.0];
    }
    let (first, second) = (over(a[0]), over(a[3]));
    [first, -a[1] * first * second, 0.0, second]
}

/// The lower triangle whose product with its transpose is `a` (positive semi-definite).
pub(super) fn root(a: &Two) -> Two {
    let first = a[0].max(0.0).sqrt();
    let below = if first > 0.0 { a[1] / first } else { 0.0 };
    [first, below, 0.0, (a[3] - below * below).max(0.0).sqrt()]
}

/// The part of a symmetric matrix that belongs to its positive eigenvalues.
pub(super) fn positive_part(a: &Two) -> Two {
    let (values, vector) = eigen(a);
    let mut part = ZERO;
    let vectors = [vector, [-vector[1], vector[0]]];
    for (value, v) in values.into_iter().zip(vectors) {
        let s = value.max(0.0);
        add(&mut part, &[s * v[0] * v[0], s * v[0] * v[1], s * v[0] * v[1], s * v[1] * v[1]]);
    }
    part
}

/// Eigenvalues of a symmetric matrix, the larger first, and the vector of the larger.
pub(super) fn eigen(a: &Two) -> ([f64; 2], [f64; 2]) {
    let (mean, half) = (0.5 * (a[0] + a[3]), 0.5 * (a[0] - a[3]));
    let radius = half.hypot(a[1]);
    if radius == 0.0 {
        return ([mean, mean], [1.0, 0.0]);
    }
    // The angle is twice that of the vector.
    let angle = 0.5 * a[1].atan2(half);
    ([mean + radius, mean - radius], [angle.cos(), angle.sin()])
}

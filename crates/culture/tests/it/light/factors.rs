use culture::light::factor::{Extent, parallel, perpendicular, polygon};
use proptest::prelude::*;

use crate::reference::near;

/// The factor by adding up small pieces of the rectangle; `up` is the height of a point of it above
/// the plane of the receiver, `facing` the cosine at the rectangle times the distance.
fn by_pieces(extent: Extent, at: impl Fn(f64, f64) -> (f64, f64, f64)) -> f64 {
    const N: u32 = 400;
    let ((x0, x1), (y0, y1)) = (extent.across, extent.along);
    let (dx, dy) = ((x1 - x0) / f64::from(N), (y1 - y0) / f64::from(N));
    let mut sum = 0.0;
    for i in 0..N {
        for j in 0..N {
            let x = x0 + (f64::from(i) + 0.5) * dx;
            let y = y0 + (f64::from(j) + 0.5) * dy;
            let (up, facing, square) = at(x, y);
            sum += up.max(0.0) * facing / (square * square);
        }
    }
    sum * dx * dy / std::f64::consts::PI
}

fn parallel_by_pieces(extent: Extent, d: f64) -> f64 {
    by_pieces(extent, |x, y| (d, d, x * x + y * y + d * d))
}

fn perpendicular_by_pieces(extent: Extent, d: f64) -> f64 {
    by_pieces(extent, |x, y| (y, d, x * x + y * y + d * d))
}

const CASES: [(Extent, f64); 4] = [
    (Extent { across: (-0.3, 0.3), along: (0.0, 1.2) }, 0.4),
    (Extent { across: (0.2, 1.1), along: (0.3, 0.8) }, 0.5),
    (Extent { across: (-1.4, -0.1), along: (-0.4, 0.9) }, 0.6),
    (Extent { across: (-0.6, 0.6), along: (0.0, 1.2) }, 2.0),
];

#[test]
fn closed_forms_agree_with_adding_up_small_pieces() {
    for (extent, d) in CASES {
        near(parallel(extent, d), parallel_by_pieces(extent, d), 2e-5);
        near(perpendicular(extent, d), perpendicular_by_pieces(extent, d), 2e-5);
    }
}

#[test]
fn closed_forms_agree_with_the_sum_over_edges() {
    for (extent, d) in CASES {
        let ((x0, x1), (y0, y1)) = (extent.across, extent.along);
        let ahead = [[x0, d, y0], [x1, d, y0], [x1, d, y1], [x0, d, y1]];
        near(polygon(&ahead, [0.0, 1.0, 0.0]), parallel(extent, d), 1e-12);
        near(polygon(&ahead, [0.0, 0.0, 1.0]), perpendicular(extent, d), 1e-12);
    }
}

#[test]
fn worked_figures_of_a_window() {
    // Computed from the stated formula, not published: glass 1.2 × 1.2 m, leaf at the sill.
    let glass = Extent { across: (-0.6, 0.6), along: (0.0, 1.2) };
    let flat = [(0.1, 43.5), (0.3, 31.8), (0.6, 19.0), (1.0, 9.7), (2.0, 2.4)];
    for (d, percent) in flat {
        near(100.0 * perpendicular(glass, d), percent, 0.06);
    }
    for (d, expected) in [(0.1, 0.49), (0.3, 0.44), (0.6, 0.33), (1.0, 0.22), (2.0, 0.09)] {
        near(parallel(glass, d), expected, 0.006);
    }
}

#[test]
fn a_surface_that_surrounds_the_receiver_fills_its_hemisphere() {
    // Five sides of a closed box above the receiver: their factors add up to one.
    let (w, l, h) = (0.8, 0.5, 0.7);
    let top = parallel(Extent { across: (-0.3, w - 0.3), along: (-0.1, l - 0.1) }, h);
    let walls = [
        (Extent { across: (-0.1, l - 0.1), along: (0.0, h) }, 0.3),
        (Extent { across: (-0.1, l - 0.1), along: (0.0, h) }, w - 0.3),
        (Extent { across: (-0.3, w - 0.3), along: (0.0, h) }, 0.1),
        (Extent { across: (-0.3, w - 0.3), along: (0.0, h) }, l - 0.1),
    ];
    let sides: f64 = walls.iter().map(|(e, d)| perpendicular(*e, *d)).sum();
    near(top + sides, 1.0, 1e-12);
}

#[test]
fn what_lies_behind_the_receiver_is_not_seen() {
    let below = Extent { across: (-1.0, 1.0), along: (-2.0, -0.5) };
    near(perpendicular(below, 1.0), 0.0, 0.0);
    let corners = [[-1.0, 1.0, -2.0], [1.0, 1.0, -2.0], [1.0, 1.0, -0.5], [-1.0, 1.0, -0.5]];
    near(polygon(&corners, [0.0, 0.0, 1.0]), 0.0, 0.0);
    let straddling = [[-1.0, 1.0, -2.0], [1.0, 1.0, -2.0], [1.0, 1.0, 0.5], [-1.0, 1.0, 0.5]];
    let upper = Extent { across: (-1.0, 1.0), along: (0.0, 0.5) };
    near(polygon(&straddling, [0.0, 0.0, 1.0]), perpendicular(upper, 1.0), 1e-12);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// A factor lies between 0 and 1 and is the sum of those of its parts.
    #[test]
    fn factors_add_up(
        x in -3.0..3.0, w in 0.01..4.0, y in -3.0..3.0, h in 0.01..4.0, d in 0.01..5.0,
        cut in 0.0..1.0
    ) {
        let whole = Extent { across: (x, x + w), along: (y, y + h) };
        let line = y + cut * h;
        for factor in [parallel, perpendicular] {
            let all = factor(whole, d);
            prop_assert!((0.0..=1.0).contains(&all), "{all}");
            let of = |part: Option<Extent>| part.map_or(0.0, |e| factor(e, d));
            let parts = of(whole.above(line)) + of(whole.below(line));
            prop_assert!((all - parts).abs() < 1e-9, "{all} {parts}");
        }
    }

    /// A receiver tilted in any way sees at most its whole hemisphere.
    #[test]
    fn a_tilted_receiver_sees_no_more_than_its_hemisphere(
        nx in -1.0..1.0f64, ny in -1.0..1.0f64, nz in -1.0..1.0f64, w in 0.1..100.0f64, z in 0.01..3.0f64
    ) {
        let length = (nx * nx + ny * ny + nz * nz).sqrt();
        prop_assume!(length > 0.1);
        let normal = [nx, ny, nz].map(|c| c / length);
        let corners = [[-w, -w, z], [w, -w, z], [w, w, z], [-w, w, z]];
        let seen = polygon(&corners, normal);
        prop_assert!((0.0..=1.0 + 1e-9).contains(&seen), "{seen}");
        // An endless ceiling fills (1 + cos) / 2 of a tilted hemisphere.
        let endless = 1e7;
        let ceiling =
            [[-endless, -endless, z], [endless, -endless, z], [endless, endless, z], [-endless, endless, z]];
        let expected = (1.0 + normal[2]) / 2.0;
        prop_assert!((polygon(&ceiling, normal) - expected).abs() < 1e-5);
    }
}

//! Examples from published texts and standards.

use imaging::{
    Lab, Srgb8, ciede2000,
    compare::{Test, hotelling},
    lab::D50,
    srgb::{Linear, decode, encode},
};

/// Named colours of the CSS Color Module Level 4 (W3C), whose lab() is CIELAB under D50 after Bradford's
/// adaptation: the text gives four decimals, the pixel is rounded. Tolerance: half a step of a pixel (and a twentieth for the rounding of white points),
/// which is up to 0.35 ΔE₀₀ in the darkest of them.
#[test]
fn lab_of_the_w3c_is_the_pixel_beside_it() {
    for (lab, hex) in [
        (Lab::new(29.2345, 39.3825, 20.0664), "#7d2329"),
        (Lab::new(67.5345, -8.6911, -41.6019), "#62acef"),
    ] {
        let pixel: Srgb8 = hex.parse().unwrap();
        let off = ciede2000(lab, pixel.linear().lab_d50());
        assert!(off < 0.35, "{hex}: {off}");
        let back = lab.xyz(D50).adapted(D50, imaging::lab::D65).linear().encoded();
        for (channel, value) in pixel.0.into_iter().zip(back) {
            assert!((value * 255.0 - f64::from(channel)).abs() < 0.55, "{hex}: {back:?}");
        }
    }
}

/// L* 49.5 is what makers print on an 18 % grey card (from memory; 116·∛0.18 − 16 = 49.496).
#[test]
fn an_18_percent_card_has_lightness_49_5() {
    let grey = Linear([0.18; 3]).lab_d65();
    assert!((grey.l - 49.496).abs() < 1e-3, "{grey:?}");
    assert!(grey.chroma() < 0.01, "{grey:?}");
}

/// IEC 61966-2-1 sets white at 1, black at 0; a middle grey of 118 of 255 is 18 % (photographers' rule,
/// from memory: 0.18 encodes to 0.4613, 117.6 of 255).
#[test]
fn the_transfer_function_has_its_known_points() {
    assert_eq!((decode(0.0), decode(1.0)), (0.0, 1.0));
    assert!((encode(0.18) * 255.0 - 117.6).abs() < 0.05);
    // Both pieces meet within the rounding of the standard's constants.
    assert!((decode(0.040_45 + 1e-9) - decode(0.040_45)).abs() < 1e-7);
}

/// Perspiration of 20 women, mean (4.640, 45.400, 9.965) against (4, 50, 10): T² = 9.74, below the
/// 10 % limit 8.18 it is not (Johnson & Wichern, Applied Multivariate Statistical Analysis, example 5.2;
/// from memory). The book rounds the covariance to three decimals; tolerance 0.01 is its last digit.
#[test]
fn hotelling_is_that_of_the_perspiration_example() {
    let scatter = [[2.879, 10.010, -1.810], [10.010, 199.788, -5.640], [-1.810, -5.640, 3.628]];
    let error = scatter.map(|row| row.map(|v| v / 20.0));
    let Test { statistic, p, .. } = hotelling([0.640, -4.600, -0.035], &error, Some(19.0)).unwrap();
    assert!((statistic - 9.74).abs() < 0.01, "{statistic}");
    assert!(p < 0.10 && p > 0.05, "{p}");
    // The printed limit itself has a tail of 10 %.
    let limit = hotelling([8.18_f64.sqrt(), 0.0, 0.0], &UNIT, Some(19.0)).unwrap();
    assert!((limit.p - 0.10).abs() < 5e-4, "{}", limit.p);
}

/// 7.815 is the 5 % limit of χ² with 3 degrees (any table).
#[test]
fn with_a_known_error_the_limit_is_that_of_chi_square() {
    let test = hotelling([0.0, 7.815_f64.sqrt(), 0.0], &UNIT, None).unwrap();
    assert!((test.p - 0.05).abs() < 1e-5, "{}", test.p);
}

const UNIT: [[f64; 3]; 3] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];

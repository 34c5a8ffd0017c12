//! How green a leaf is.

use imaging::{
    Lab, Srgb8,
    greenness::{Hsb, NotApplicable, against_reference, dark_green_index},
};

fn index(pixel: [u8; 3]) -> Result<f64, NotApplicable> {
    dark_green_index(Srgb8(pixel).linear())
}

/// Two pixels worked by hand: hue 102°, saturation 0.526, brightness 0.373 give 0.600; hue 80°, 0.6 and
/// 0.588 give 0.382. Tolerance: their third decimal.
#[test]
fn two_leaves_worked_by_hand() {
    assert!((index([60, 95, 45]).unwrap() - 0.600).abs() < 5e-4);
    assert!((index([120, 150, 60]).unwrap() - 0.382).abs() < 5e-4);
}

/// The ends by definition: hue 60° bright and full is 0; hue 120°, black in the limit, is 2/3 and above.
#[test]
fn the_index_has_its_ends() {
    assert!(index([255, 255, 0]).unwrap().abs() < 1e-9);
    assert!((index([0, 255, 0]).unwrap() - 1.0 / 3.0).abs() < 1e-9);
    let darker = index([20, 60, 20]).unwrap();
    assert!(darker > index([60, 180, 60]).unwrap());
}

#[test]
fn other_leaves_have_no_index() {
    for (pixel, expected) in [([140, 40, 60], 348.0), ([30, 90, 90], 180.0), ([200, 190, 80], 55.0)]
    {
        match index(pixel).unwrap_err() {
            NotApplicable::OtherHue { hue } => assert!((hue - expected).abs() < 0.5, "{hue}"),
            other => panic!("{other:?}"),
        }
    }
    assert_eq!(index([90; 3]).unwrap_err(), NotApplicable::NoHue);
    let bright = imaging::Linear([0.2, 1.2, 0.1]);
    assert_eq!(dark_green_index(bright).unwrap_err(), NotApplicable::OutsideGamut);
    assert!(index([140, 40, 60]).unwrap_err().to_string().contains("348°"));
}

/// Primaries and their mixtures (any description of the hexagonal model).
#[test]
fn hues_go_round_the_circle() {
    for (encoded, hue) in [
        ([1.0, 0.0, 0.0], 0.0),
        ([1.0, 1.0, 0.0], 60.0),
        ([0.0, 1.0, 0.0], 120.0),
        ([0.0, 1.0, 1.0], 180.0),
        ([0.0, 0.0, 1.0], 240.0),
        ([1.0, 0.0, 1.0], 300.0),
        ([1.0, 0.0, 0.25], 345.0),
    ] {
        assert!((Hsb::from_encoded(encoded).hue.unwrap() - hue).abs() < 1e-9, "{encoded:?}");
    }
}

#[test]
fn a_pale_leaf_is_lighter_and_yellower_than_its_reference() {
    let healthy = Lab::new(38.0, -22.0, 24.0);
    let pale = Lab::new(58.0, -16.0, 44.0);
    let shift = against_reference(pale, healthy);
    assert!((shift.lighter - 20.0).abs() < 1e-12 && shift.chroma > 10.0, "{shift:?}");
    // 132.5° and 110.0°: 22.5° nearer to yellow.
    assert!((shift.yellower.unwrap() - 22.53).abs() < 0.05, "{shift:?}");
    assert!(shift.delta_e > 15.0);
    let same = against_reference(healthy, healthy);
    assert_eq!(
        (same.delta_e, same.lighter, same.chroma, same.yellower),
        (0.0, 0.0, 0.0, Some(0.0))
    );
    // A silver leaf has no hue to speak of.
    assert_eq!(against_reference(Lab::new(70.0, -2.0, 3.0), healthy).yellower, None);
}

//! Cards and patches: what they make neutral, and what they refuse.

use imaging::{
    Channel, ColourError, Srgb8,
    balance::{Correction, GREY_CARD, WhiteBalance},
    srgb::Linear,
};

fn patch(pixel: [u8; 3]) -> Linear {
    Linear::mean_of(&[Srgb8(pixel); 40]).unwrap()
}

/// A room lamp makes the card yellowish; the balanced card is neutral to the last digits.
#[test]
fn the_card_becomes_neutral_and_as_light_as_it_is() {
    for (card, reflectance) in
        [([150, 120, 90], GREY_CARD), ([240, 228, 180], 0.9), ([60, 61, 70], GREY_CARD)]
    {
        let card = patch(card);
        let balanced = WhiteBalance::from_card(card, reflectance).unwrap().apply(card);
        assert!(balanced.0.iter().all(|v| (v - reflectance).abs() < 1e-12), "{balanced:?}");
        assert!(balanced.lab_d65().chroma() < 0.01);
    }
}

/// A flower under lamplight, photographed with the card, has the colour it has by day. Exact up to the
/// steps of a pixel: 0.5 of 255, here below 1 unit.
#[test]
fn the_flower_has_the_colour_of_daylight() {
    let daylight = Linear([0.42, 0.06, 0.20]);
    let lamp = [1.25, 0.95, 0.55];
    let under = |light: Linear| {
        let seen = Linear([0, 1, 2].map(|i| light.0[i] * lamp[i])).pixel();
        assert!(!seen.1);
        patch(seen.0.0)
    };
    let balance = WhiteBalance::from_card(under(Linear([0.18; 3])), GREY_CARD).unwrap();
    let found = balance.apply(under(daylight)).lab_d65();
    let off = imaging::ciede2000(found, daylight.lab_d65());
    assert!(off < 1.0, "{off}");
    // Without the card it is another colour.
    assert!(imaging::ciede2000(under(daylight).lab_d65(), daylight.lab_d65()) > 8.0);
}

/// Light is averaged, not its code: half black, half white reflects 50 %, not the 21 % of code 128.
#[test]
fn the_mean_is_taken_in_linear_light() {
    let half = Linear::mean_of(&[Srgb8([0; 3]), Srgb8([254; 3])]).unwrap();
    assert!((half.0[0] - 0.4956).abs() < 1e-4, "{half:?}");
}

#[test]
fn what_cannot_be_balanced_is_refused() {
    let refused = Linear::mean_of(&[Srgb8([200, 255, 10]), Srgb8([200, 100, 10])]).unwrap_err();
    assert_eq!(refused, ColourError::Clipped { channel: Channel::Green, share: 0.5 });
    let text = refused.to_string();
    assert!(text.contains("50 %") && text.contains("green") && text.contains("exposure"), "{text}");
    assert_eq!(Linear::mean_of(&[]).unwrap_err(), ColourError::NoPixels);
    // One hot pixel in a hundred is let pass.
    let mut pixels = vec![Srgb8([100; 3]); 100];
    pixels[0] = Srgb8([255; 3]);
    assert!(Linear::mean_of(&pixels).is_ok());

    let refused = WhiteBalance::from_card(patch([90, 80, 20]), GREY_CARD).unwrap_err();
    assert!(
        matches!(refused, ColourError::CardTooDark { channel: Channel::Blue, value }
            if (value - 20.0).abs() < 1e-9),
        "{refused:?}"
    );
    assert!(refused.to_string().contains("too dark in blue (20 of 255)"), "{refused}");
    for value in [0.0, 18.0, f64::NAN] {
        let refused = WhiteBalance::from_card(patch([90; 3]), value).unwrap_err();
        assert!(matches!(refused, ColourError::BadReflectance { .. }), "{refused:?}");
    }
}

#[test]
fn a_text_that_is_no_colour_is_refused_with_itself() {
    for text in ["#12345", "#GG0000", "", "red", "#1234567", "２E8B57"] {
        let refused = text.parse::<Srgb8>().unwrap_err();
        assert_eq!(refused, ColourError::BadHex { text: text.to_owned() });
        assert!(refused.to_string().contains(text));
    }
    for text in ["#2E8B57", "2e8b57", " #2e8B57 "] {
        assert_eq!(text.parse::<Srgb8>().unwrap(), Srgb8([0x2E, 0x8B, 0x57]));
    }
    assert_eq!("#2b5".parse::<Srgb8>().unwrap(), Srgb8([0x22, 0xBB, 0x55]));
}

const CHART: [[f64; 3]; 8] = [
    [0.17, 0.08, 0.06],
    [0.11, 0.20, 0.34],
    [0.68, 0.20, 0.03],
    [0.05, 0.10, 0.38],
    [0.06, 0.30, 0.07],
    [0.43, 0.03, 0.04],
    [0.80, 0.58, 0.02],
    [0.88, 0.88, 0.86],
];

fn chart() -> Vec<Linear> {
    CHART.map(Linear).to_vec()
}

/// What a camera with mixed channels would have seen of the chart.
fn mixed(light: Linear) -> Linear {
    const MIX: [[f64; 3]; 3] = [[0.82, 0.12, 0.03], [0.06, 0.88, 0.10], [0.01, 0.14, 0.70]];
    Linear(MIX.map(|row| row.iter().zip(light.0).map(|(m, v)| m * v).sum()))
}

/// The matrix undoes a camera that is linear; 1e-9, as for a closed form.
#[test]
fn patches_undo_what_the_camera_mixed() {
    let seen: Vec<Linear> = chart().into_iter().map(mixed).collect();
    let correction = Correction::from_patches(&seen, &chart()).unwrap();
    assert!(correction.residual < 1e-12, "{correction:?}");
    assert!((1.0..20.0).contains(&correction.condition), "{correction:?}");
    let leaf = Linear([0.08, 0.21, 0.05]);
    let found = correction.apply(mixed(leaf));
    assert!((0..3).all(|i| (found.0[i] - leaf.0[i]).abs() < 1e-9), "{found:?}");
}

/// Slow and obvious: no small change of any entry of the matrix makes the squares smaller.
#[test]
fn the_matrix_makes_the_squares_least() {
    let bent = |v: Linear| Linear(v.0.map(|x| x.powf(1.1)));
    let seen: Vec<Linear> = chart().into_iter().map(mixed).map(bent).collect();
    let found = Correction::from_patches(&seen, &chart()).unwrap();
    assert!(found.residual > 1e-4);
    let squares = |c: &Correction| -> f64 {
        let off = |(s, k): (&Linear, &Linear)| {
            (0..3).map(|i| (c.apply(*s).0[i] - k.0[i]).powi(2)).sum::<f64>()
        };
        seen.iter().zip(&chart()).map(off).sum()
    };
    let least = squares(&found);
    assert!((least - found.residual.powi(2) * 24.0).abs() < 1e-12);
    for i in 0..3 {
        for j in 0..3 {
            for step in [-1e-4, 1e-4] {
                let mut other = found;
                other.matrix[i][j] += step;
                assert!(squares(&other) > least, "entry {i},{j}");
            }
        }
    }
}

#[test]
fn patches_that_cannot_correct_are_refused() {
    let few = Correction::from_patches(&chart()[..5], &chart()[..5]).unwrap_err();
    assert_eq!(few, ColourError::TooFewPatches { have: 5, need: 6 });
    let uneven = Correction::from_patches(&chart(), &chart()[..6]).unwrap_err();
    assert_eq!(uneven, ColourError::UnevenPatches { seen: 8, known: 6 });
    let greys: Vec<Linear> = (1..8).map(|i| Linear([0.1 * f64::from(i); 3])).collect();
    let alike = Correction::from_patches(&greys, &greys).unwrap_err();
    assert!(matches!(alike, ColourError::AlikePatches { .. }), "{alike:?}");
    // Nearly grey is refused as well, before it gives a wild matrix.
    let nearly: Vec<Linear> = greys
        .iter()
        .enumerate()
        .map(|(i, g)| Linear([g.0[0], g.0[1] + 1e-3 * (i % 3) as f64, g.0[2]]))
        .collect();
    assert!(Correction::from_patches(&nearly, &nearly).is_err());
}

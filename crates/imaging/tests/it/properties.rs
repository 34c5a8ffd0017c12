//! What holds for any colour.

use imaging::{
    Lab, Srgb8,
    balance::WhiteBalance,
    ciede2000,
    difference::delta_e_1976,
    lab::{D50, D65},
    sample::ColourMean,
    srgb::{Linear, decode, encode},
};
use proptest::prelude::*;

fn any_lab() -> impl Strategy<Value = Lab> {
    (0.0..100.0, -100.0..100.0, -100.0..100.0).prop_map(|(l, a, b)| Lab::new(l, a, b))
}

fn any_pixel() -> impl Strategy<Value = Srgb8> {
    any::<[u8; 3]>().prop_map(Srgb8)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// 1e-9 relative: only the order of two additions differs.
    #[test]
    fn a_difference_is_the_same_both_ways(a in any_lab(), b in any_lab()) {
        let (one, other) = (ciede2000(a, b), ciede2000(b, a));
        prop_assert!(one >= 0.0 && (one - other).abs() <= 1e-9 * (1.0 + one), "{one} {other}");
    }

    #[test]
    fn a_colour_is_not_different_from_itself(a in any_lab()) {
        prop_assert_eq!(ciede2000(a, a), 0.0);
        prop_assert_eq!(delta_e_1976(a, a), 0.0);
    }

    /// There and back: a tenth of a millionth of a step of a pixel.
    #[test]
    fn a_pixel_comes_back_from_lab(pixel in any_pixel()) {
        let light = pixel.linear();
        let from_d65 = light.lab_d65().xyz(D65).linear();
        let from_d50 = light.lab_d50().xyz(D50).adapted(D50, D65).linear();
        for back in [from_d65, from_d50] {
            prop_assert_eq!(back.pixel(), (pixel, false));
            for (v, byte) in back.encoded().into_iter().zip(pixel.0) {
                prop_assert!((v * 255.0 - f64::from(byte)).abs() < 1e-6, "{back:?}");
            }
        }
    }

    #[test]
    fn encoding_undoes_decoding(v in -1.5..1.5_f64) {
        prop_assert!((encode(decode(v)) - v).abs() < 1e-12);
    }

    #[test]
    fn hue_and_chroma_give_a_and_b(c in any_lab()) {
        let (hue, chroma) = (c.hue(), c.chroma());
        prop_assert!((0.0..360.0).contains(&hue));
        prop_assert!((chroma * hue.to_radians().cos() - c.a).abs() < 1e-9);
        prop_assert!((chroma * hue.to_radians().sin() - c.b).abs() < 1e-9);
    }

    #[test]
    fn a_balanced_card_is_neutral(card in prop::array::uniform3(0.03..0.99_f64), share in 0.1..1.0_f64) {
        let card = Linear(card);
        let balanced = WhiteBalance::from_card(card, share).unwrap().apply(card);
        prop_assert!(balanced.0.iter().all(|v| (v - share).abs() < 1e-12));
    }

    /// A grey stays grey under any brightness and either white (0.01 units: Lindbloom's rounded matrix).
    #[test]
    fn greys_have_no_chroma(v in 0u8..=255) {
        let light = Srgb8([v; 3]).linear();
        prop_assert!(light.lab_d65().chroma() < 0.01 && light.lab_d50().chroma() < 0.01);
    }

    /// The mean lies between the photographs, and its order does not matter.
    #[test]
    fn the_mean_does_not_depend_on_the_order(mut photos in prop::collection::vec(any_lab(), 2..8)) {
        let one = ColourMean::of_photos(&photos).unwrap();
        photos.reverse();
        let other = ColourMean::of_photos(&photos).unwrap();
        prop_assert!(delta_e_1976(one.lab, other.lab) < 1e-9);
        let (least, most) = photos.iter().fold((100.0_f64, 0.0_f64), |(l, m), p| (l.min(p.l), m.max(p.l)));
        prop_assert!(one.lab.l >= least - 1e-9 && one.lab.l <= most + 1e-9);
    }
}

use culture::light::reading::{Gains, LAMP_UNREAD, Meter, Reading, WINDOW_UNREAD};
use proptest::prelude::*;

use crate::reference::near;

fn reading(computed: &[f64], measured: f64, meter: Meter) -> Reading {
    Reading { computed: computed.to_vec(), measured, meter, daylight: false }
}

#[test]
fn one_reading_narrows_a_lamp() {
    let unread = Gains::unread(&[LAMP_UNREAD.value]).unwrap();
    near(unread.log_sd(0).unwrap(), 0.35, 1e-12);
    // Common practice: 0.12 after one reading with a telephone, 0.06 after one with a sensor.
    for (meter, sd) in [(Meter::Lux, 0.12), (Meter::Quantum, 0.06)] {
        let known = unread.after(&[reading(&[80.0], 60.0, meter)]).unwrap();
        near(known.log_sd(0).unwrap(), sd, 0.002);
        // Normal with normal: the mean is shrunk by the share of variance that was there before.
        let noise = meter.shared().value.powi(2) + meter.single().value.powi(2);
        let share = 0.35_f64.powi(2) / (0.35_f64.powi(2) + noise);
        near(known.gain(0).unwrap().value, (60.0_f64 / 80.0).powf(share), 1e-9);
        near(known.log_sd(0).unwrap(), (0.35_f64.powi(2) * (1.0 - share)).sqrt(), 1e-9);
    }
}

#[test]
fn readings_of_one_meter_share_its_fault() {
    let unread = Gains::unread(&[0.35]).unwrap();
    let many = vec![reading(&[80.0], 60.0, Meter::Lux); 200];
    let known = unread.after(&many).unwrap();
    // Not below the calibration of the meter, however many.
    let floor = (1.0_f64 / (0.35_f64.powi(-2) + 0.10_f64.powi(-2))).sqrt();
    assert!(known.log_sd(0).unwrap() > floor);
    near(known.log_sd(0).unwrap(), floor, 0.001);
}

#[test]
fn three_readings_narrow_a_window_to_a_fifth() {
    let unread = Gains::unread(&[WINDOW_UNREAD.value]).unwrap();
    let readings: Vec<Reading> = [40.0, 55.0, 48.0]
        .map(|m| Reading { daylight: true, ..reading(&[50.0], m, Meter::Lux) })
        .to_vec();
    near(unread.after(&readings).unwrap().log_sd(0).unwrap(), 0.20, 0.001);
}

#[test]
fn readings_under_several_lamps_are_told_apart() {
    let unread = Gains::unread(&[0.35, 0.35]).unwrap();
    let both = reading(&[50.0, 50.0], 100.0, Meter::Quantum);
    let one = reading(&[50.0, 0.0], 75.0, Meter::Quantum);
    let known = unread.after(&[both.clone(), one]).unwrap();
    // The first lamp is stronger than computed, so the second must be weaker.
    assert!(known.gain(0).unwrap().value > 1.3);
    assert!(known.gain(1).unwrap().value < 0.8);
    // Their sum is known better than each of them after a reading of both alone.
    let together = unread.after(&[both]).unwrap();
    let sum = together.light(&[50.0, 50.0]);
    let single = together.light(&[50.0, 0.0]);
    near(sum.value, 100.0, 1e-6);
    assert!(sum.upper / sum.value < 1.1 && single.upper / single.value > 1.2);
}

#[test]
fn the_search_agrees_with_a_grid() {
    // The slow way: the posterior of two log gains on a grid, its most probable point.
    let readings = [
        reading(&[30.0, 60.0], 70.0, Meter::Quantum),
        reading(&[80.0, 10.0], 120.0, Meter::Quantum),
    ];
    let known = Gains::unread(&[0.35, 0.35]).unwrap().after(&readings).unwrap();
    let (shared, single) = (0.05_f64.powi(2), 0.035_f64.powi(2));
    // Two readings with a common fault: their covariance and its inverse.
    let (a, b) = (shared + single, shared);
    let determinant = a * a - b * b;
    let loss = |g: f64, h: f64| {
        let e: Vec<f64> = readings
            .iter()
            .map(|r| (r.measured / (r.computed[0] * g.exp() + r.computed[1] * h.exp())).ln())
            .collect();
        let misfit = (a * (e[0] * e[0] + e[1] * e[1]) - 2.0 * b * e[0] * e[1]) / determinant;
        misfit + (g * g + h * h) / 0.35_f64.powi(2)
    };
    let mut best = (f64::INFINITY, 0.0, 0.0);
    for i in -800..=800 {
        for j in -800..=800 {
            let (g, h) = (f64::from(i) * 1e-3, f64::from(j) * 1e-3);
            let l = loss(g, h);
            if l < best.0 {
                best = (l, g, h);
            }
        }
    }
    near(known.gain(0).unwrap().value.ln(), best.1, 1.5e-3);
    near(known.gain(1).unwrap().value.ln(), best.2, 1.5e-3);
}

/// With a reading far below what was computed for two sources, steps of Gauss and Newton alone
/// went to and fro between two points without an end.
#[test]
fn a_reading_far_below_comes_to_an_end() {
    let unread = Gains::unread(&[0.35, 0.45]).unwrap();
    let low = reading(&[118.2, 171.0], 0.3 * (118.2 + 171.0), Meter::Lux);
    let known = unread.after(&[low]).unwrap();
    assert!(known.gain(0).unwrap().value < 0.7 && known.gain(1).unwrap().value < 0.4);
    // The less certain source takes more of the difference.
    assert!(known.gain(1).unwrap().value < known.gain(0).unwrap().value);
}

#[test]
fn a_reading_in_another_unit_is_a_surprise() {
    let unread = Gains::unread(&[0.35]).unwrap();
    let fine = unread.surprise(&reading(&[80.0], 60.0, Meter::Lux)).unwrap();
    assert!(fine.abs() < 1.0);
    // Lux typed as photons: seventy times too much.
    let lux = unread.surprise(&reading(&[80.0], 5600.0, Meter::Lux)).unwrap();
    assert!(lux > 3.0);
}

#[test]
fn readings_that_teach_nothing_are_refused() {
    let unread = Gains::unread(&[0.35, 0.35]).unwrap();
    let refused = |r: Reading| unread.after(&[r]).unwrap_err().to_string();
    assert!(refused(reading(&[80.0], 60.0, Meter::Lux)).contains("1 sources, there are 2"));
    assert!(refused(reading(&[0.0, 0.0], 60.0, Meter::Lux)).contains("no light was computed"));
    assert!(refused(reading(&[1.0, f64::NAN], 60.0, Meter::Lux)).contains("no light was computed"));
    assert!(refused(reading(&[80.0, 1.0], 0.0, Meter::Lux)).contains("above zero"));
    assert!(Gains::unread(&[0.0]).is_err());
    assert_eq!(unread.gain(2), None);
    near(unread.light(&[0.0, 0.0]).value, 0.0, 0.0);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// A reading never makes a source less certain, and moves its gain towards what was measured.
    #[test]
    fn readings_narrow_and_pull(
        a in 1.0..300.0f64, b in 1.0..300.0f64, ratio in 0.3..3.0f64, daylight in any::<bool>()
    ) {
        let unread = Gains::unread(&[0.35, 0.45]).unwrap();
        let taken = Reading { daylight, ..reading(&[a, b], ratio * (a + b), Meter::Lux) };
        let known = unread.after(&[taken]).unwrap();
        for k in 0..2 {
            prop_assert!(known.log_sd(k).unwrap() <= unread.log_sd(k).unwrap() + 1e-9);
        }
        let found = known.light(&[a, b]).value / (a + b);
        let between = (1.0_f64.min(ratio) - 1e-9)..=(1.0_f64.max(ratio) + 1e-9);
        prop_assert!(between.contains(&found), "{found} {ratio}");
    }
}

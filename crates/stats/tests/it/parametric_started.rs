//! Starts that are not known to the moment, and what is left of what goes on.

use stats::model::Fixed;
use stats::prior::{NormalPrior, SpreadPrior};
use stats::random::Random;
use stats::special::{normal_cdf, normal_quantile};
use stats::survival::Time;
use stats::survival::parametric::{Beliefs, Law, Start, posterior, posterior_started};

const MEAN: NormalPrior = NormalPrior { mean: 1.8, sd: 0.7 };
const SCALE: SpreadPrior = SpreadPrior::HalfNormal { scale: 0.4 };

fn beliefs() -> Beliefs {
    Beliefs {
        coefficients: vec![Some(MEAN)],
        scale: Some(SCALE),
        spreads: Vec::new(),
        sum_few: false,
    }
}

fn constant(n: usize) -> Fixed {
    Fixed::of_columns(n, []).unwrap()
}

/// ln of the likelihood written out plainly, with sums over the same five starts.
fn plain(time: &Time, start: Option<Start>, eta: f64, s: f64) -> f64 {
    let cdf = |t: f64| if t > 0.0 { normal_cdf((t.ln() - eta) / s) } else { 0.0 };
    let befores: Vec<f64> = match start {
        None => vec![0.0],
        Some(start) => (0..5).map(|k| start.width * (f64::from(k) + 0.5) / 5.0).collect(),
    };
    let held = start.is_some_and(|s| s.held);
    let (mut above, mut below) = (0.0, 0.0);
    for u in &befores {
        let least = match time.left {
            Some(left) => left + u,
            None if held => *u,
            None => 0.0,
        };
        above += time.right.map_or(1.0, |r| cdf(r + u)) - cdf(least);
        below += if held { 1.0 - cdf(*u) } else { 1.0 };
    }
    (above / below).ln()
}

fn records() -> (Vec<Time>, Vec<Option<Start>>) {
    let held = |width| Some(Start { width, held: true });
    let told = |width| Some(Start { width, held: false });
    let all = [
        (Time::between(4.0, 9.0), held(7.0)),
        (Time::before(7.0), held(7.0)),
        (Time::before(7.0), told(10.0)),
        (Time::open(5.0), held(6.0)),
        (Time::open(3.0), told(20.0)),
        (Time::between(5.5, 6.5), None),
        (Time::between(2.0, 4.0), held(2.0)),
    ];
    all.into_iter().unzip()
}

/// The slow way: mean, scale and the typical time by a plain sum over 401 × 401 points.
#[test]
fn a_posterior_with_vague_starts_agrees_with_a_plain_sum() {
    let (times, starts) = records();
    let n = times.len();
    let found =
        posterior_started(&times, &starts, &constant(n), Law::Lognormal, &[], &beliefs(), 0.8)
            .unwrap();
    let steps = 400;
    let (mut sum, mut mean, mut square, mut scale) = (0.0, 0.0, 0.0, 0.0);
    let top = |eta: f64, s: f64| -> f64 {
        times.iter().zip(&starts).map(|(t, st)| plain(t, *st, eta, s)).sum::<f64>()
            - 0.5 * ((eta - MEAN.mean) / MEAN.sd).powi(2)
            - 0.5 * (s / 0.4).powi(2)
    };
    let reference = top(1.8, 0.3);
    for a in 0..=steps {
        let eta = 0.5 + 2.5 * f64::from(a) / f64::from(steps);
        for b in 0..=steps {
            // Equal steps of ln s: the Jacobian is s.
            let s = (-3.5 + 3.5 * f64::from(b) / f64::from(steps)).exp();
            let w = (top(eta, s) - reference).exp() * s;
            if w.is_finite() {
                sum += w;
                mean += w * eta;
                square += w * eta * eta;
                scale += w * s;
            }
        }
    }
    let mean = mean / sum;
    let sd = (square / sum - mean * mean).sqrt();
    let b = &found.coefficients[0].1;
    // Laplace's approximation in the mean and a grid in the scale: tenths of a standard deviation.
    assert!((b.mean - mean).abs() < 0.1 * sd, "{} against {mean} ± {sd}", b.mean);
    assert!((b.sd / sd - 1.0).abs() < 0.1, "{} against {sd}", b.sd);
    let s = found.scale.unwrap();
    assert!((s.mean - scale / sum).abs() < 0.15 * s.sd, "{} against {}", s.mean, scale / sum);
    let typical = found.typical(&constant(1), &[], 0.8).unwrap();
    assert!((typical[1].ln() - b.median).abs() < 1e-9, "the median of a log-normal law");
}

/// Records without starts are those of the plain fit, and an impossible start is refused.
#[test]
fn no_starts_is_the_plain_fit() {
    let (times, starts) = records();
    let fixed = constant(times.len());
    let fit = |starts: &[Option<Start>]| {
        posterior_started(&times, starts, &fixed, Law::Weibull, &[], &beliefs(), 0.8)
    };
    let plain = posterior(&times, &fixed, Law::Weibull, &[], &beliefs(), 0.8).unwrap();
    for none in [vec![], vec![None; times.len()]] {
        assert_eq!(fit(&none).unwrap().coefficients, plain.coefficients);
    }
    assert!(fit(&starts[..2]).is_err());
    let bad = vec![Some(Start { width: 0.0, held: true }); times.len()];
    assert!(fit(&bad).unwrap_err().to_string().contains("width of a start"));
}

/// Looks every seven days at flowers of six days: those that lived to be seen are the longer ones.
/// Held starts find the truth within four standard errors; the middle between looks does not.
#[test]
fn what_is_seen_only_if_it_lasts_is_not_taken_for_the_rule() {
    let (median, s) = (6.0_f64, 0.35);
    let mut random = Random::new(11);
    let (mut times, mut starts) = (Vec::new(), Vec::new());
    while times.len() < 600 {
        let opened = 7.0 * random.unit();
        let life = median * (s * random.normal()).exp();
        let ends = opened + life;
        if ends <= 7.0 {
            continue;
        }
        // Gone at the first look after its end, still open at the one before.
        let gone = (ends / 7.0).ceil() * 7.0;
        let (left, right) = (gone - 14.0, gone - 7.0);
        times.push(if left > 0.0 { Time::between(left, right) } else { Time::before(right) });
        starts.push(Some(Start { width: 7.0, held: true }));
    }
    let fixed = constant(times.len());
    let fit = |starts: &[Option<Start>]| {
        posterior_started(&times, starts, &fixed, Law::Lognormal, &[], &beliefs(), 0.8).unwrap()
    };
    let held = fit(&starts).coefficients[0].1;
    assert!((held.mean - median.ln()).abs() < 4.0 * held.sd, "{held:?}");
    // The habit: opened in the middle between two looks, and no thought of what was never seen.
    let later = |t: &Time| Time::between(t.left.unwrap_or(0.0) + 3.5, t.right.unwrap() + 3.5);
    let middles: Vec<Time> = times.iter().map(later).collect();
    let habit =
        posterior(&middles, &fixed, Law::Lognormal, &[], &beliefs(), 0.8).unwrap().coefficients[0]
            .1;
    assert!(habit.mean - median.ln() > 4.0 * habit.sd, "{habit:?}");
}

/// What is left: the chance given an age is that of the mixture, written out over the same normals;
/// quantiles invert it; and an age of 0 is a fresh event.
#[test]
fn what_is_left_agrees_with_the_chance_by_a_time() {
    let times: Vec<Time> = (0..30)
        .map(|k| Time::between(5.0 + 0.1 * f64::from(k), 6.0 + 0.1 * f64::from(k)))
        .collect();
    let fixed = constant(times.len());
    let fit = posterior(&times, &fixed, Law::Lognormal, &[], &beliefs(), 0.8).unwrap();
    let row = constant(1);
    let fresh = fit.remaining(&row, &[], &[0.0]).unwrap();
    for t in [4.0, 6.0, 7.0, 9.0] {
        let by = fit.chance_by(&row, &[], t, None).unwrap();
        // The mixture is summed over other places: a thousandth.
        assert!((1.0 - fresh.beyond(t) - by).abs() < 1e-3, "{t}: {} against {by}", fresh.beyond(t));
    }
    let old = fit.remaining(&row, &[], &[6.0]).unwrap();
    assert!((old.beyond(0.0) - 1.0).abs() < 1e-12);
    for p in [0.1, 0.5, 0.9] {
        assert!((old.beyond(old.quantile(p)) - (1.0 - p)).abs() < 1e-5);
    }
    // With thirty records the scale is nearly known: a log-normal that has reached 6.
    let (m, s) = (fit.coefficients[0].1.mean, fit.scale.unwrap().mean);
    let reached = normal_cdf((6.0_f64.ln() - m) / s);
    let median = (m + s * normal_quantile(reached + 0.5 * (1.0 - reached))).exp() - 6.0;
    assert!((old.quantile(0.5) - median).abs() < 0.1, "{} against {median}", old.quantile(0.5));
    // Two ages are a mixture of both, weighed by how likely each is to be reached.
    let both = fit.remaining(&row, &[], &[0.0, 6.0]).unwrap();
    let (a, b) = (fresh.beyond(1.0), old.beyond(1.0));
    assert!(both.beyond(1.0) < a.max(b) && both.beyond(1.0) > a.min(b));
    assert!(fit.remaining(&row, &[], &[]).is_err() && fit.remaining(&row, &[], &[-1.0]).is_err());
}

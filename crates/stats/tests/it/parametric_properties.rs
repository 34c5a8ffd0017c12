//! What every fit by a formula must keep, whatever the records.

use proptest::prelude::*;
use stats::model::{Column, Fixed, Frame};
use stats::random::Random;
use stats::survival::Time;
use stats::survival::parametric::{Fit, Law, Options, PredictedQuantile, fit};

use crate::parametric::design;

pub const LAWS: [Law; 4] = [Law::Exponential, Law::Weibull, Law::Lognormal, Law::Loglogistic];

/// Records of every kind with two covariates.
#[derive(Clone)]
pub struct World {
    pub law: Law,
    pub times: Vec<Time>,
    pub x: Vec<f64>,
    pub group: Vec<String>,
}

impl World {
    /// Exact times, looks three days apart, records that stop and single looks in turn; every fifth
    /// under observation from day 2 on only.
    pub fn new(law: Law, seed: u64, n: usize) -> World {
        let mut random = Random::new(seed);
        let mut world = World { law, times: Vec::new(), x: Vec::new(), group: Vec::new() };
        for i in 0..n {
            let x = 2.0 * random.unit() - 1.0;
            let late = i.is_multiple_of(3);
            let entry = if i.is_multiple_of(5) { 2.0 } else { 0.0_f64 };
            let scale = if law.has_scale() { 0.5 } else { 1.0 };
            let eta = 2.5 + 0.4 * x + if late { 0.3 } else { 0.0 };
            let t = loop {
                let w = law.quantile(random.unit().clamp(1e-9, 1.0 - 1e-9));
                let t = (eta + scale * w).exp();
                if t > entry.max(0.01) {
                    break t;
                }
            };
            let end = 5.0 + 20.0 * random.unit();
            let left = 3.0 * (t / 3.0).floor();
            let time = match i % 4 {
                0 => Time::exact(t),
                1 => Time::between(left, left + 3.0),
                2 if t <= end => Time::exact(t),
                3 if t <= end => Time::before(end),
                _ => Time::open(end),
            };
            world.times.push(time.entered(entry));
            world.x.push(x);
            world.group.push(if late { "peat" } else { "bark" }.to_owned());
        }
        world
    }

    /// The world with these of its records, in this order.
    fn with(&self, records: &[usize]) -> World {
        World {
            law: self.law,
            times: records.iter().map(|i| self.times[*i]).collect(),
            x: records.iter().map(|i| self.x[*i]).collect(),
            group: records.iter().map(|i| self.group[*i].clone()).collect(),
        }
    }

    pub fn fixed(&self) -> Fixed {
        let frame = Frame::new(self.x.len()).with("x", Column::Numbers(self.x.clone())).unwrap();
        design(&frame.with("mix", Column::Words(self.group.clone())).unwrap(), &["x", "mix"])
    }

    pub fn fit(&self) -> Fit {
        fit(&self.times, &self.fixed(), self.law, &Options::default()).unwrap()
    }
}

fn close(a: f64, b: f64, what: &str) -> Result<(), TestCaseError> {
    prop_assert!((a - b).abs() <= 1e-6 * (1.0 + b.abs()), "{what}: {a} is not {b}");
    Ok(())
}

fn bounds(q: &PredictedQuantile) -> [f64; 3] {
    [q.lower.unwrap(), q.estimate.unwrap(), q.upper.unwrap_or(f64::INFINITY)]
}

const SHARES: [f64; 7] = [0.01, 0.1, 0.3, 0.5, 0.7, 0.9, 0.99];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(6))]

    #[test]
    fn a_larger_share_takes_longer_and_so_does_what_has_waited_longer(
        seed in any::<u64>(), law in 0usize..4, wait in 1f64..20.0,
    ) {
        let world = World::new(LAWS[law], seed, 60);
        let (found, fixed) = (world.fit(), world.fixed());
        let at = |after| found.predict(&fixed, None, &SHARES, after, 0.8).unwrap();
        let (fresh, waited, longer) = (at(None), at(Some(wait)), at(Some(wait + 3.0)));
        for ((fresh, waited), longer) in fresh.iter().zip(&waited).zip(&longer).take(6) {
            for row in [fresh, waited, longer] {
                for two in row.quantiles.windows(2) {
                    prop_assert!(two[0].estimate.unwrap() < two[1].estimate.unwrap(), "{two:?}");
                }
            }
            for i in 0..SHARES.len() {
                let [a, b, c] = [fresh, waited, longer].map(|r| bounds(&r.quantiles[i]));
                prop_assert!(a[1] < b[1] && b[1] < c[1], "{a:?} {b:?} {c:?}");
                prop_assert!(b[0] >= wait && c[0] >= wait + 3.0, "never before the time waited");
            }
            prop_assert!(waited.next.lower.unwrap() >= wait);
        }
    }

    #[test]
    fn a_surer_interval_holds_the_less_sure_one(seed in any::<u64>(), law in 0usize..4, waited in any::<bool>()) {
        let world = World::new(LAWS[law], seed, 60);
        let (found, fixed) = (world.fit(), world.fixed());
        let after = waited.then_some(4.0);
        let rows = [0.5, 0.8, 0.95]
            .map(|confidence| found.predict(&fixed, None, &SHARES, after, confidence).unwrap());
        for two in rows.windows(2) {
            for (narrow, wide) in two[0].iter().zip(&two[1]).take(6) {
                for (n, w) in narrow.quantiles.iter().zip(&wide.quantiles) {
                    let (n, w) = (bounds(n), bounds(w));
                    prop_assert!(w[0] < n[0] && n[0] < n[1] && n[1] == w[1], "{n:?} {w:?}");
                    prop_assert!(n[1] < n[2] && n[2] < w[2], "{n:?} {w:?}");
                }
                let (n, w) = (narrow.next, wide.next);
                prop_assert!(w.lower < n.lower && n.upper < w.upper && n.lower < n.median);
                prop_assert!(n.median == w.median && n.median < n.upper);
            }
        }
    }

    #[test]
    fn another_unit_of_time_moves_the_intercept_alone(
        seed in any::<u64>(), law in 0usize..4, c in 0.05f64..50.0,
    ) {
        let world = World::new(LAWS[law], seed, 60);
        let times = |t: &Time| Time {
            left: t.left.map(|l| c * l),
            right: t.right.map(|r| c * r),
            entry: c * t.entry,
        };
        let other = World { times: world.times.iter().map(times).collect(), ..world.clone() };
        let (a, b) = (world.fit(), other.fit());
        close(b.parameters[0], a.parameters[0] + c.ln(), "intercept")?;
        for j in 1..a.parameters.len() {
            close(b.parameters[j], a.parameters[j], "the other parameters")?;
        }
        close(b.scale, a.scale, "scale")?;
        for (a, b) in a.covariance.iter().zip(&b.covariance) {
            close(*b, *a, "covariance")?;
        }
        // The density of an exact time has the unit 1/time.
        let exact = world.times.iter().filter(|t| t.is_exact()).count() as f64;
        close(b.log_likelihood, a.log_likelihood - exact * c.ln(), "log-likelihood")?;
        close(b.log_likelihood_null, a.log_likelihood_null - exact * c.ln(), "null")?;
    }

    #[test]
    fn the_order_of_records_does_not_matter_and_twice_the_records_say_twice_as_much(
        seed in any::<u64>(), law in 0usize..4,
        order in Just((0usize..60).collect::<Vec<_>>()).prop_shuffle(),
    ) {
        let world = World::new(LAWS[law], seed, 60);
        let found = world.fit();
        let shuffled = world.with(&order).fit();
        let twice: Vec<usize> = order.iter().chain(&order).copied().collect();
        let doubled = world.with(&twice).fit();
        for (j, value) in found.parameters.iter().enumerate() {
            close(shuffled.parameters[j], *value, "shuffled")?;
            close(doubled.parameters[j], *value, "doubled")?;
        }
        for (i, value) in found.covariance.iter().enumerate() {
            close(shuffled.covariance[i], *value, "covariance, shuffled")?;
            close(2.0 * doubled.covariance[i], *value, "covariance, doubled")?;
        }
        close(shuffled.log_likelihood, found.log_likelihood, "log-likelihood, shuffled")?;
        close(doubled.log_likelihood, 2.0 * found.log_likelihood, "log-likelihood, doubled")?;
        close(doubled.log_likelihood_null, 2.0 * found.log_likelihood_null, "null, doubled")?;
        prop_assert_eq!(doubled.events, 2 * found.events);
    }
}

//! What one record says: its log-likelihood with derivatives.

use super::ParametricError;
use super::jet::{EPSILON, ETA, Jet, KAPPA, TAU};
use super::law::{Curve1, Law};
use crate::survival::{SurvivalError, Time};

/// What was seen, with logarithms of times.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Seen {
    /// The event at this time.
    At(f64),
    /// The event after the first and not after the second.
    Between(f64, f64),
    /// The event not after this time.
    Before(f64),
    /// Nothing up to this time.
    After(f64),
    /// Nothing that tells.
    Nothing,
}

/// A record made ready.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Row {
    seen: Seen,
    entry: Option<f64>,
}

/// A log-likelihood with its derivatives in η and τ = ln scale.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Part {
    pub value: f64,
    pub eta: f64,
    pub tau: f64,
    pub eta2: f64,
    pub eta_tau: f64,
    pub tau2: f64,
}

impl Part {
    /// A function of one standardised time z = (y − η)/s, as a function of η and τ.
    fn of(curve: Curve1, z: f64, s: f64) -> Self {
        let Curve1 { value, first, second } = curve;
        if value == f64::NEG_INFINITY {
            return Part { value, ..Part::default() };
        }
        Part {
            value,
            eta: -first / s,
            tau: -z * first,
            eta2: second / (s * s),
            eta_tau: (first + z * second) / s,
            tau2: z * first + z * z * second,
        }
    }

    fn minus(mut self, other: Part) -> Self {
        self.value -= other.value;
        self.eta -= other.eta;
        self.tau -= other.tau;
        self.eta2 -= other.eta2;
        self.eta_tau -= other.eta_tau;
        self.tau2 -= other.tau2;
        self
    }

    /// As many equal records.
    pub fn times(self, count: f64) -> Self {
        Part {
            value: count * self.value,
            eta: count * self.eta,
            tau: count * self.tau,
            eta2: count * self.eta2,
            eta_tau: count * self.eta_tau,
            tau2: count * self.tau2,
        }
    }

    fn jet(self) -> Jet {
        let mut jet = Jet::constant(self.value);
        jet.gradient[ETA] = self.eta;
        jet.gradient[TAU] = self.tau;
        jet.hessian[ETA][ETA] = self.eta2;
        jet.hessian[ETA][TAU] = self.eta_tau;
        jet.hessian[TAU][ETA] = self.eta_tau;
        jet.hessian[TAU][TAU] = self.tau2;
        jet
    }
}

/// What goes beyond the plain model for a record.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Extras {
    /// The logit of the share that ever has the event.
    pub kappa: Option<f64>,
    /// The logit of twice the rate of misread looks.
    pub epsilon: Option<f64>,
}

impl Row {
    /// Reads a record; `row` counts from 1.
    pub fn new(time: &Time, row: usize) -> Result<Self, ParametricError> {
        time.check(row)?;
        let log = |t: f64| t.ln();
        let seen = match (time.left, time.right) {
            (_, Some(0.0)) => {
                return Err(ParametricError::NotAfterStart { row });
            }
            (Some(left), Some(right)) if left == right => Seen::At(log(left)),
            (Some(left), Some(right)) if left > 0.0 => Seen::Between(log(left), log(right)),
            (_, Some(right)) => Seen::Before(log(right)),
            (Some(left), None) if left > 0.0 => Seen::After(log(left)),
            (Some(_), None) => Seen::Nothing,
            (None, None) => return Err(SurvivalError::NoTime { row }.into()),
        };
        let entry = (time.entry > 0.0).then(|| log(time.entry));
        let seen = match (seen, entry) {
            // Under observation from `entry` on, the event can only have come after it.
            (Seen::Before(right), Some(e)) => Seen::Between(e, right),
            (Seen::Between(left, right), Some(e)) if left < e => Seen::Between(e, right),
            (seen, _) => seen,
        };
        Ok(Row { seen, entry })
    }

    /// An order that puts equal records beside each other.
    pub fn order(&self, other: &Row) -> std::cmp::Ordering {
        let key = |r: &Row| match r.seen {
            Seen::Nothing => (0u8, 0.0, 0.0),
            Seen::At(y) => (1, y, 0.0),
            Seen::Before(y) => (2, y, 0.0),
            Seen::After(y) => (3, y, 0.0),
            Seen::Between(a, b) => (4, a, b),
        };
        let (a, b) = (key(self), key(other));
        let entry = |r: &Row| r.entry.unwrap_or(f64::NEG_INFINITY);
        (a.0.cmp(&b.0))
            .then(a.1.total_cmp(&b.1))
            .then(a.2.total_cmp(&b.2))
            .then(entry(self).total_cmp(&entry(other)))
    }

    /// Whether it says anything.
    pub fn tells(&self) -> bool {
        self.seen != Seen::Nothing
    }

    /// Whether the record says that the event came.
    pub fn is_event(&self) -> bool {
        matches!(self.seen, Seen::At(_) | Seen::Between(..) | Seen::Before(_))
    }

    /// Whether the record bounds the event from below.
    pub fn has_left(&self) -> bool {
        !matches!(self.seen, Seen::Before(_) | Seen::Nothing)
    }

    /// A rough logarithm of the time, to begin with.
    pub fn rough(&self) -> Option<f64> {
        match self.seen {
            Seen::At(y) => Some(y),
            Seen::Between(a, b) => Some((0.5 * (a.exp() + b.exp())).ln()),
            Seen::Before(b) => Some(b - 0.7),
            Seen::After(a) => Some(a + 0.3),
            Seen::Nothing => None,
        }
    }

    fn seen_part(&self, law: Law, eta: f64, s: f64) -> Part {
        let z = |y: f64| (y - eta) / s;
        let at = |y: f64, jacobian: f64| {
            let mut part = Part::of(law.log_density(z(y)), z(y), s);
            part.value += jacobian - s.ln();
            part.tau -= 1.0;
            part
        };
        match self.seen {
            Seen::Nothing => Part::default(),
            // The density is that of T, not of log T.
            Seen::At(y) => at(y, -y),
            Seen::After(y) => Part::of(law.log_survival(z(y)), z(y), s),
            Seen::Before(y) => Part::of(law.log_cdf(z(y)), z(y), s),
            Seen::Between(left, right) => {
                let (a, b) = (z(left), z(right));
                if law.narrow(a, b) {
                    return at(0.5 * (left + right), (right - left).ln());
                }
                let c = law.log_between(a, b);
                if c.value == f64::NEG_INFINITY {
                    return Part { value: c.value, ..Part::default() };
                }
                let second = c.aa + 2.0 * c.ab + c.bb;
                Part {
                    value: c.value,
                    eta: -(c.a + c.b) / s,
                    tau: -(a * c.a + b * c.b),
                    eta2: second / (s * s),
                    eta_tau: (c.a + c.b + a * c.aa + (a + b) * c.ab + b * c.bb) / s,
                    tau2: a * c.a + b * c.b + a * a * c.aa + 2.0 * a * b * c.ab + b * b * c.bb,
                }
            }
        }
    }

    /// The log-likelihood of the plain model.
    pub fn part(&self, law: Law, eta: f64, tau: f64) -> Part {
        let s = tau.exp();
        let part = self.seen_part(law, eta, s);
        match self.entry {
            None => part,
            Some(e) => {
                let z = (e - eta) / s;
                part.minus(Part::of(law.log_survival(z), z, s))
            }
        }
    }

    /// The log-likelihood of the plain model with its third derivatives ∂³/∂η³ and ∂³/∂τ∂η².
    pub fn third(&self, law: Law, eta: f64, tau: f64) -> (Part, f64, f64) {
        let s = tau.exp();
        let z = |y: f64| (y - eta) / s;
        let one = |z: f64, curve: Curve1, third: f64| {
            let by_tau = -(z * third + 2.0 * curve.second) / (s * s);
            (-third / (s * s * s), by_tau)
        };
        let at = |y: f64| {
            let c = law.log_density(z(y));
            one(z(y), c, law.density_third(z(y)))
        };
        let part = self.part(law, eta, tau);
        if part.value == f64::NEG_INFINITY {
            return (part, 0.0, 0.0);
        }
        let (mut eta3, mut tau_eta2) = match self.seen {
            Seen::Nothing => (0.0, 0.0),
            Seen::At(y) => at(y),
            Seen::After(y) => one(z(y), law.log_survival(z(y)), law.survival_third(z(y))),
            Seen::Before(y) => one(z(y), law.log_cdf(z(y)), law.cdf_third(z(y))),
            Seen::Between(left, right) if law.narrow(z(left), z(right)) => at(0.5 * (left + right)),
            Seen::Between(left, right) => {
                let (a, b) = (z(left), z(right));
                let (second, by_a, by_b) = law.between_third(&law.log_between(a, b), a, b);
                let by_tau = -(a * by_a + b * by_b + 2.0 * second) / (s * s);
                (-(by_a + by_b) / (s * s * s), by_tau)
            }
        };
        if let Some(e) = self.entry {
            let less = one(z(e), law.log_survival(z(e)), law.survival_third(z(e)));
            eta3 -= less.0;
            tau_eta2 -= less.1;
        }
        (part, eta3, tau_eta2)
    }

    /// Whether a misread look can have made the record what it is: not for an event at a time.
    pub fn is_look(&self) -> bool {
        !matches!(self.seen, Seen::At(_) | Seen::Nothing)
    }

    /// The log-likelihood with a share that never has the event, or misread looks.
    ///
    /// With misread looks a record of probability P becomes e + (1 − 2e)·P: of two looks with the
    /// event between them that is the sum over where the event truly was, but for the factor 1 − e
    /// of the look that was right in any case.
    pub fn jet(&self, law: Law, eta: f64, tau: f64, extras: Extras) -> Jet {
        let s = tau.exp();
        let mut jet = self.seen_part(law, eta, s).jet();
        if let Some(kappa) = extras.kappa {
            jet = match self.seen {
                Seen::Nothing => jet,
                Seen::After(_) => with_never(&jet, kappa),
                _ => jet.plus(&Jet::log_share(KAPPA, kappa, 1.0), 1.0),
            };
        }
        if let Some(epsilon) = extras.epsilon
            && !matches!(self.seen, Seen::At(_) | Seen::Nothing)
        {
            let twice = Jet::log_share(EPSILON, epsilon, 1.0);
            let clear = Jet::log_share(EPSILON, epsilon, -1.0);
            let half = Jet::constant(-std::f64::consts::LN_2);
            jet = Jet::log_sum(&twice.plus(&half, 1.0), &clear.plus(&jet, 1.0));
            if matches!(self.seen, Seen::Between(..)) {
                // 1 − e = ½ + ½(1 − 2e)
                jet = jet.plus(&Jet::log_sum(&half, &clear.plus(&half, 1.0)), 1.0);
            }
        }
        if let Some(entry) = self.entry {
            jet = jet.plus(&survival_jet(law, entry, eta, tau, extras.kappa), -1.0);
        }
        jet
    }
}

/// ln(1 − π + π·S).
fn with_never(log_survival: &Jet, kappa: f64) -> Jet {
    let ever = Jet::log_share(KAPPA, kappa, 1.0);
    let never = Jet::log_share(KAPPA, kappa, -1.0);
    Jet::log_sum(&never, &ever.plus(log_survival, 1.0))
}

/// The log survival at the time with logarithm `y`.
pub(crate) fn survival_jet(law: Law, y: f64, eta: f64, tau: f64, kappa: Option<f64>) -> Jet {
    let s = tau.exp();
    let z = (y - eta) / s;
    let jet = Part::of(law.log_survival(z), z, s).jet();
    kappa.map_or(jet, |k| with_never(&jet, k))
}

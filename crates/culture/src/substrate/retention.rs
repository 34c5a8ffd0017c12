//! Water held against height above the floor.

use serde::Serialize;

use crate::{
    Basis, Constant, Estimate, Spread,
    limits::{OutOfRange, within},
    substrate::Pot,
};

const SHAPE: Constant = Constant {
    name: "retention_n",
    value: 2.0,
    unit: "1",
    spread: Spread::Range(1.5, 3.0),
    basis: Basis::CommonPractice,
    source: "shape of the curve where only one height was measured",
};

pub(super) const CONSTANTS: [Constant; 1] = [SHAPE];

/// Why there is no curve.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum RetentionError {
    /// A number is out of range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// A column cannot hold so much or so little.
    #[error(
        "{capacity} % of water is not between the {residual} % that never drains and the {pores} % \
         of the pores; correct one of them"
    )]
    Impossible {
        /// What it is said to hold \[%\].
        capacity: f64,
        /// What never drains \[%\].
        residual: f64,
        /// All pores \[%\].
        pores: f64,
    },
}

/// Water content against height above the floor: van Genuchten 1980,
/// θ(z) = θ_r + (θ_s − θ_r) (1 + (αz)^n)^−(1−1/n).
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RetentionCurve {
    residual: f64,
    saturated: f64,
    alpha: f64,
    n: f64,
}

impl RetentionCurve {
    /// A curve from the water that never drains and that of full pores \[% of volume\], α \[1/cm\]
    /// and n.
    ///
    /// # Errors
    /// When a share is outside of 0 to 100 %, the first above the second, α outside of 1e-6 to
    /// 1000, or n outside of 1.01 to 20.
    pub fn new(residual: f64, saturated: f64, alpha: f64, n: f64) -> Result<Self, OutOfRange> {
        Ok(Self {
            saturated: within("pores", saturated, "%", 0.0, 100.0)?,
            residual: within("water that never drains", residual, "%", 0.0, saturated)?,
            alpha: within("alpha", alpha, "1/cm", 1e-6, 1e3)?,
            n: within("n", n, "1", 1.01, 20.0)?,
        })
    }

    /// A curve through one measurement: all pores and the container capacity \[% of volume\] of a
    /// column of this height \[cm\], nothing held forever, and n = 2 for its shape.
    ///
    /// # Errors
    /// When the capacity is not below the pores, or a number is out of range.
    pub fn through(pores: f64, capacity: f64, height: f64) -> Result<Self, RetentionError> {
        Self::through_with(0.0, pores, capacity, height, SHAPE.value)
    }

    /// The same with the water that never drains \[%\] and with n.
    ///
    /// # Errors
    /// As [`RetentionCurve::through`].
    pub fn through_with(
        residual: f64,
        pores: f64,
        capacity: f64,
        height: f64,
        n: f64,
    ) -> Result<Self, RetentionError> {
        let pot = Pot::straight(height)?;
        let (mut low, mut high) = (1e-6_f64.ln(), 1e3_f64.ln());
        let at = |log: f64| Self::new(residual, pores, log.exp(), n);
        let holds = |log: f64| Ok::<_, OutOfRange>(at(log)?.capacity(&pot));
        if !(capacity < holds(low)? && capacity > holds(high)?) {
            return Err(RetentionError::Impossible { capacity, residual, pores });
        }
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if holds(middle)? > capacity {
                low = middle;
            } else {
                high = middle;
            }
        }
        Ok(at(0.5 * (low + high))?)
    }

    /// All pores \[% of volume\].
    pub fn pores(&self) -> f64 {
        self.saturated
    }

    /// Water \[% of volume\] at a height above the floor \[cm\] after draining.
    pub fn water_at(&self, above: f64) -> f64 {
        let m = 1.0 - 1.0 / self.n;
        let filled = (1.0 + (self.alpha * above).powf(self.n)).powf(-m);
        self.residual + (self.saturated - self.residual) * filled
    }

    /// Container capacity: water \[% of volume\] that a pot holds after draining, its layers
    /// weighted by their area.
    pub fn capacity(&self, pot: &Pot) -> f64 {
        let water = integral(pot.height(), |z| self.water_at(z) * pot.area(z));
        water / pot.volume()
    }

    /// Air \[% of volume\] after draining.
    pub fn air(&self, pot: &Pot) -> f64 {
        self.saturated - self.capacity(pot)
    }

    /// Height above the floor \[cm\] up to which more than this share (0 to 1) of the pores that
    /// can drain stays filled: the perched water.
    ///
    /// # Errors
    /// When the share is not between 0.01 and 0.999.
    pub fn perched_height(&self, share: f64) -> Result<f64, OutOfRange> {
        within("share filled", share, "1", 0.01, 0.999)?;
        let m = 1.0 - 1.0 / self.n;
        Ok((share.powf(-1.0 / m) - 1.0).powf(1.0 / self.n) / self.alpha)
    }
}

/// What a pot holds after draining.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Held {
    /// Air \[% of volume\].
    pub air: Estimate,
    /// Water \[% of volume\].
    pub water: Estimate,
}

/// What a pot holds, from all pores and the container capacity of a column of another height.
///
/// The interval joins that of the measurement with that of the unknown shape of the curve, n from
/// 1.5 to 3, as squares.
pub(super) fn held(
    pores: f64,
    capacity: &Estimate,
    height: f64,
    pot: &Pot,
) -> Result<Held, RetentionError> {
    let with = |n: f64| -> Result<f64, RetentionError> {
        Ok(RetentionCurve::through_with(0.0, pores, capacity.value, height, n)?.capacity(pot))
    };
    let value = with(SHAPE.value)?;
    let Spread::Range(flat, steep) = SHAPE.spread else {
        let water = Estimate::exact(value);
        return Ok(Held { air: water.map(|w| pores - w), water });
    };
    let (a, b) = (with(flat)? - value, with(steep)? - value);
    let (down, up) = (a.min(b).min(0.0), a.max(b).max(0.0));
    let water = Estimate {
        value,
        lower: value - (capacity.value - capacity.lower).hypot(down),
        upper: value + (capacity.upper - capacity.value).hypot(up),
    }
    .clamp(0.0, pores);
    Ok(Held { air: water.map(|w| pores - w), water })
}

/// Gauss–Legendre with five points on pieces that shrink towards the floor, where the curve bends
/// most.
fn integral(to: f64, f: impl Fn(f64) -> f64) -> f64 {
    const AT: [f64; 3] = [0.0, 0.538_469_310_105_683, 0.906_179_845_938_664];
    const WEIGHT: [f64; 3] =
        [0.568_888_888_888_888_9, 0.478_628_670_499_366_5, 0.236_926_885_056_189];
    const PIECES: usize = 48;
    let edge = |i: usize| to * (i as f64 / PIECES as f64).powi(3);
    (0..PIECES)
        .map(|i| {
            let half = 0.5 * (edge(i + 1) - edge(i));
            let middle = 0.5 * (edge(i + 1) + edge(i));
            let pairs: f64 = (1..3)
                .map(|k| WEIGHT[k] * (f(middle - half * AT[k]) + f(middle + half * AT[k])))
                .sum();
            half * (WEIGHT[0] * f(middle) + pairs)
        })
        .sum()
}

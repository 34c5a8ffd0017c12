//! What keeps a fit from being given.

use super::newton::Stuck;
use crate::laplace::LaplaceError;
use crate::model::ModelError;
use crate::survival::SurvivalError;

/// Why there is no fit.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ParametricError {
    /// Impossible times.
    #[error(transparent)]
    Times(#[from] SurvivalError),
    /// No design can be made.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// An event at time 0.
    #[error(
        "record {row}: the event came at time 0, where log time has no value; \
         give the time at which it can have come at the latest"
    )]
    NotAfterStart {
        /// Which record, from 1.
        row: usize,
    },
    /// Times and design of different length.
    #[error("{times} times but {rows} rows in the design; give one row for each time")]
    Lengths {
        /// Times.
        times: usize,
        /// Rows of the design.
        rows: usize,
    },
    /// Nothing happened yet.
    #[error(
        "none of the {n} records has had its event, so no typical time can be estimated; \
         wait for the first event or borrow from other plants by a prior"
    )]
    AllOpen {
        /// Records.
        n: usize,
    },
    /// Everything happened before the first look.
    #[error(
        "in all {n} records the event was over at the first look, so nothing bounds the time from \
         below; look earlier"
    )]
    AllOver {
        /// Records.
        n: usize,
    },
    /// A coefficient without an end.
    #[error(
        "the effect of {coefficient} grows without end: the records with it have had no event, or \
         hardly overlap with the others; leave the term out or give it a prior"
    )]
    Unbounded {
        /// The coefficient.
        coefficient: String,
    },
    /// The scale goes to 0.
    #[error(
        "the scale goes to 0: every record fits the same time exactly, so no spread can be \
         estimated; add records or give the scale a prior"
    )]
    NoSpread,
    /// The Hessian at the optimum is not definite.
    #[error(
        "the records do not determine {parameter} (the curvature of the likelihood is flat there); \
         leave a term out or give a prior"
    )]
    NotDetermined {
        /// The parameter.
        parameter: String,
    },
    /// The optimiser did not arrive.
    #[error(
        "the fit did not reach its optimum after {iterations} steps (largest derivative \
         {gradient:.3e}); nothing is given"
    )]
    NotReached {
        /// Steps made.
        iterations: usize,
        /// Largest absolute derivative.
        gradient: f64,
    },
    /// A number of an option that is out of its range.
    #[error("{what}: {value} is not {expected}; correct it")]
    BadOption {
        /// Which.
        what: String,
        /// The value.
        value: f64,
        /// What was expected.
        expected: &'static str,
    },
    /// The marginal likelihood has no optimum, or none was reached.
    #[error(transparent)]
    Laplace(#[from] LaplaceError),
    /// A random term with a slope.
    #[error("the random term {0} has a slope; give intercepts alone")]
    Slope(String),
    /// Looks too far apart for the approximation.
    #[error(
        "the looks lie so far apart beside the spread of single events that {coefficient} has a \
         flat top where a normal is assumed; look more often, or widen the prior of the scale"
    )]
    TooCoarse {
        /// The coefficient.
        coefficient: String,
    },
}

impl ParametricError {
    /// Names the parameter at which an optimiser got stuck.
    pub(crate) fn stuck(stuck: Stuck, name: impl Fn(usize) -> String) -> Self {
        let scale = |j: usize| name(j) == "log(scale)";
        match stuck {
            Stuck::RunsAway(j) if scale(j) => ParametricError::NoSpread,
            Stuck::RunsAway(j) => ParametricError::Unbounded { coefficient: name(j) },
            Stuck::Flat(j) => ParametricError::NotDetermined { parameter: name(j) },
            Stuck::Start => ParametricError::NotReached { iterations: 0, gradient: f64::INFINITY },
            Stuck::Steps { iterations, gradient } => {
                ParametricError::NotReached { iterations, gradient }
            }
        }
    }
}

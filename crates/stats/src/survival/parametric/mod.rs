//! Time to event by a formula: log T = η + scale·W (accelerated failure time).
//!
//! - [`Law`]: exponential, Weibull, log-normal, log-logistic.
//! - [`fit`]: maximum likelihood with covariates, from exact times, intervals, open and already over
//!   records and delayed entry; a share that never has the event ([`Options::cure`]) and misread
//!   looks ([`Misread`]) are options.
//! - [`fit_random`]: normal random intercepts on log time, by quadrature or Laplace's approximation.
//! - [`posterior`]: few records, with priors; standard deviations summed over a grid.
//! - [`posterior_started`]: the same with starts that are vague, or seen only if still going.
//! - [`Posterior::remaining`]: when what goes on will end, of records that took part in the fit.
//! - [`Fit::predict`]: quantiles with their uncertainty, and the next single event apart from them.

#![allow(
    clippy::needless_range_loop,
    reason = "small matrices are read by row and column, as the formulas are"
)]

mod dense;
mod error;
mod fit;
mod grid;
mod jet;
mod law;
mod newton;
mod normal;
mod objective;
mod predict;
mod prior;
mod random;
mod remaining;
mod row;
mod scatter;
mod small;

pub use error::ParametricError;
pub use fit::{Fit, Misread, MisreadFound, Options, Plateau, fit};
pub use law::Law;
pub use predict::{Next, Predicted, PredictedQuantile};
pub(crate) use random::Records;
pub use random::{RandomFit, RandomFound, RandomModel, fit_random};
pub use remaining::Remaining;
pub(crate) use row::Row;
pub use row::Start;
pub use small::{Beliefs, Believed, Posterior, SpreadBelieved, posterior, posterior_started};

//! The search that choosing crosses and keeping plants share: take some of many offers, at most one
//! of each group and so many in all, within amounts that are there, so that
//!
//! value = Σ gain − weight · c′Kc
//!
//! is largest, where c adds up what the offers taken contribute and K is kinship. The penalty is
//! convex, so a tangent to it never exceeds it: with a tangent at any mixture, and a price on each
//! amount, offers can be judged one by one and the sum is an upper bound ([`relax`]). Prices and
//! tangent are moved to make that bound low; they also say what to try ([`improve`]). What the bound
//! leaves open is searched by branch and bound ([`search`]).

mod improve;
mod problem;
mod relax;
mod search;

pub(crate) use problem::{Choice, NONE, Offer, Problem};
pub(crate) use search::{Solution, solve};

//! Tests in a real browser.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed, which is its job")]

mod house;
mod journeys;
mod phones;
mod reading;

//! Tests against published and independently computed values.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod air;
mod clock;
mod constants;
mod evapotranspiration;
mod feed;
mod heat;
mod machine;
mod salts;
mod substrate;
mod support;

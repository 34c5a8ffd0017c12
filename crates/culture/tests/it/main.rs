//! Physics against published values, reference libraries, slow versions and its own laws.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod air;
mod clock;
mod constants;
mod evapotranspiration;
mod feed;
mod heat;
mod light;
mod machine;
mod reference;
mod remaining;
mod salts;
mod substrate;
mod support;

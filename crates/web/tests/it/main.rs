//! Pages as a browser asks for them, without a socket.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod air;
mod crossing;
mod door;
mod feed;
mod flowers;
mod import;
mod light;
mod pairing;
mod pests;
mod roles;
mod support;
mod tls;
mod today;
mod waits;

//! The record, from the outside.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod backup;
mod chance;
mod damage;
mod doctor;
mod exchange;
mod files;
mod house;
mod kill;
mod operations;
mod regression;
mod search;
mod series;
mod upgrade;

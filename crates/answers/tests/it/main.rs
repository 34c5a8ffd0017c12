//! Acts and answers on whole records.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod air;
mod bring_in;
mod checklists;
mod cross_gates;
mod crossing;
mod crossing_season;
mod drying;
mod feed;
mod flower_gates;
mod flower_life;
mod flower_page;
mod flower_returns;
mod house;
mod light;
mod pages;
mod pests;
mod potting;
mod water_gates;

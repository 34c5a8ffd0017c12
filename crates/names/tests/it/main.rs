//! Tests of the whole crate from outside.

mod agreement;
mod api;
mod checklist;
mod properties;
mod synthetic;
mod typesetting;

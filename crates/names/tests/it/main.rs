//! Tests of the whole crate from outside.

mod api;

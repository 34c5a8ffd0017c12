//! Tests of the workspace as a whole.

mod boundaries;
mod sources;
mod tokens;
mod workspace;

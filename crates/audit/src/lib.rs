//! Tests of the workspace as a whole; there is nothing here but `tests/`.
//!
//! They read the sources: which crate may depend on which, which texts are in the catalogue, and
//! what no source may hold.

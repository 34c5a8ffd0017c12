//! Lists read and compared with what is true of them.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    reason = "a test may stop at the first surprise"
)]
#![allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, reason = "small numbers")]

mod compare;
mod hostile;
mod loggers;
mod matrix;
mod measure;
mod together;
mod whole;

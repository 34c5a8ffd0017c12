//! The command as a whole: the built binary is run, its output and exit status are looked at.

mod bad_input;
mod calc;
mod help;
mod import;
mod record;
mod support;

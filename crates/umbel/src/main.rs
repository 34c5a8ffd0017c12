//! The command `umbel`.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(umbel::run(std::env::args_os()))
}

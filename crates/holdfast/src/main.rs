//! The program: see `holdfast::cli`.

use std::process::ExitCode;

fn main() -> ExitCode {
    holdfast::cli::run()
}

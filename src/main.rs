//! The program `fourlimb`: its commands and its window.

use std::process::ExitCode;

fn main() -> ExitCode {
    fourlimb::cli::run(std::env::args_os().collect())
}

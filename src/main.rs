//! The stand-alone program.

use std::process::ExitCode;

fn main() -> ExitCode {
    if fourlimb::plugin::standalone::run(std::env::args()) {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}

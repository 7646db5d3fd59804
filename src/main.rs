//! The stand-alone program.

use fourlimb::plugin::Fourlimb;
use std::process::ExitCode;

fn main() -> ExitCode {
    if nice_plug::prelude::nice_export_standalone::<Fourlimb>() {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}

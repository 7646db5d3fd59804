//! The stand-alone program: selects the audio backend, opens the window, and restarts when the user chooses other
//! devices.
//!
//! The framework tries JACK and ALSA itself, but it assumes 48 kHz and fails in its audio thread where a device
//! can't be opened. So this module tries devices first and passes the result to the framework.

mod devices;

use super::Fourlimb;
use crate::bridge::standalone_transport::{DeviceChoice, StandaloneTransport, Wishes};
use devices::Found;
use std::io::{self, Write as _};
use std::sync::Arc;

/// Runs until the user closes the window. `args` are the program's arguments, its own name first. Returns whether
/// it ended without an error.
pub fn run(args: Vec<String>) -> bool {
    if args
        .iter()
        .any(|arg| ["-h", "--help"].contains(&arg.as_str()))
    {
        let _ = writeln!(io::stdout(), "{}", devices::HELP);
        return nice_plug::prelude::nice_export_standalone_with_args::<Fourlimb, _>(args);
    }
    let mut wishes = wishes(&args);
    let mut choice = DeviceChoice {
        sound: value(&args, &["--output-device"]),
        port: value(&args, &["--midi-output"]),
        values: Vec::new(),
    };
    loop {
        let Found { args, devices } = devices::find(&args, &choice);
        if let Some(trouble) = &devices.trouble {
            eprintln!("{trouble}");
        }
        let transport = Arc::new(StandaloneTransport::new(wishes, devices, choice.values));
        StandaloneTransport::install(transport.clone());
        let well = nice_plug::prelude::nice_export_standalone_with_args::<Fourlimb, _>(args);
        let Some(chosen) = transport.take_choice().filter(|_| well) else {
            return well;
        };
        choice = chosen;
        // A restart must not resume playing.
        wishes = Wishes {
            playing: false,
            ..transport.wishes()
        };
    }
}

/// Tempo and meter from the command line.
fn wishes(args: &[String]) -> Wishes {
    let usual = Wishes::default();
    let number = |name: &str| value(args, &[name]).and_then(|text| text.parse().ok());
    let bpm = value(args, &["--tempo"]).and_then(|text| text.parse().ok());
    Wishes {
        bpm: bpm.unwrap_or(usual.bpm),
        meter: (
            number("--timesig-num").unwrap_or(usual.meter.0),
            number("--timesig-denom").unwrap_or(usual.meter.1),
        ),
        ..usual
    }
    .sane()
}

/// The value of an option, `--name value` or `--name=value`.
fn value(args: &[String], names: &[&str]) -> Option<String> {
    let mut args = args.iter();
    while let Some(arg) = args.next() {
        for name in names {
            if arg == name {
                return args.next().cloned();
            }
            if let Some(value) = arg
                .strip_prefix(name)
                .and_then(|rest| rest.strip_prefix('='))
            {
                return Some(value.to_owned());
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn options_are_found_either_way() {
        let args = [
            "fourlimb",
            "--tempo",
            "90",
            "--timesig-num=7",
            "-b",
            "dummy",
        ];
        let args: Vec<String> = args.map(str::to_owned).to_vec();
        assert_eq!(value(&args, &["-b", "--backend"]).as_deref(), Some("dummy"));
        let wishes = wishes(&args);
        assert_eq!((wishes.bpm, wishes.meter), (90.0, (7, 4)));
        assert_eq!(value(&args, &["--midi-output"]), None);
    }
}

//! The stand-alone program: selects the audio backend, opens the window, and restarts when the user chooses other
//! devices.
//!
//! The framework tries JACK and ALSA itself, but it assumes 48 kHz and fails in its audio thread where a device
//! can't be opened. So this module tries devices first and passes the result to the framework.

mod devices;
#[cfg(unix)]
mod ending;

use super::Fourlimb;
use super::kept::{self, Kept};
use crate::bridge::standalone_transport::{StandaloneTransport, Wishes};
use crate::params::FourlimbParams;
use crate::project::document::SavedDocument;
use crate::settings::SettingId;
pub use devices::CARD;
use devices::Found;
use std::io::{self, Write as _};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

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
    let last = begin_run();
    let mut wishes = wishes(&args, last.as_ref().map(Kept::wishes).unwrap_or_default());
    let mut choice = last.as_ref().map(Kept::choice).unwrap_or_default();
    choice.sound = value(&args, &["--output-device"]).or(choice.sound);
    choice.port = value(&args, &["--midi-output"]).or(choice.port);
    #[cfg(unix)]
    ending::on_signal(|| {
        // The notes end before the program does.
        if let Some(transport) = StandaloneTransport::installed() {
            transport.stop();
        }
        std::thread::sleep(LAST_BLOCKS);
        end_run();
        std::process::exit(0);
    });
    loop {
        run_now().devices = (choice.sound.clone(), choice.port.clone());
        let Found { args, devices } = devices::find(&args, &choice);
        if let Some(trouble) = &devices.trouble {
            eprintln!("{trouble}");
        }
        let transport = Arc::new(StandaloneTransport::new(wishes, devices, choice.values));
        StandaloneTransport::install(transport.clone());
        let well = nice_plug::prelude::nice_export_standalone_with_args::<Fourlimb, _>(args);
        let Some(chosen) = transport.take_choice().filter(|_| well) else {
            end_run();
            return well;
        };
        // The project goes on with the other devices.
        let mut run = run_now();
        run.project = run
            .params
            .as_ref()
            .map(|params| params.project.document().saved());
        drop(run);
        choice = chosen;
        // A restart must not resume playing.
        wishes = Wishes {
            playing: false,
            ..transport.wishes()
        };
    }
}

/// How long the audio thread gets to end its notes when a signal ends the program: more than ten of its longest blocks.
#[cfg(unix)]
const LAST_BLOCKS: std::time::Duration = std::time::Duration::from_millis(500);

/// What the program knows of its run. Main thread, and the one that waits for signals.
#[derive(Default)]
struct Run {
    /// Where things are kept; `None` where they are not.
    path: Option<std::path::PathBuf>,
    /// The parameters of the instance that runs.
    params: Option<Arc<FourlimbParams>>,
    /// The output device and the MIDI port that were chosen, whether or not this run has them.
    devices: (Option<String>, Option<String>),
    /// The project that the next instance begins with.
    project: Option<SavedDocument>,
}

static RUN: Mutex<Run> = Mutex::new(Run {
    path: None,
    params: None,
    devices: (None, None),
    project: None,
});

fn run_now() -> MutexGuard<'static, Run> {
    RUN.lock().unwrap_or_else(PoisonError::into_inner)
}

/// An instance begins: it gets the project that is to go on. Main thread.
pub(super) fn begin(params: &Arc<FourlimbParams>) {
    let mut run = run_now();
    if let Some(project) = run.project.take() {
        params.project.load(project);
    }
    run.params = Some(params.clone());
}

/// Reads what the last run kept. Says why where it can't, and then keeps nothing, so that the file stays.
fn begin_run() -> Option<Kept> {
    let path = kept::path()?;
    let last = match kept::load(&path) {
        Ok(last) => last,
        Err(error) => {
            eprintln!("{error}");
            return None;
        }
    };
    let mut run = run_now();
    run.path = Some(path);
    run.project = last.as_ref().map(Kept::project);
    last
}

/// Keeps what there is for the next run.
fn end_run() {
    let run = run_now();
    let transport = StandaloneTransport::installed();
    let (Some(path), Some(params), Some(transport)) = (&run.path, &run.params, transport) else {
        return;
    };
    let mut panel = params.settings();
    // Where no window came up, the panel is still to be what it was.
    for (id, value) in SettingId::shown().zip(transport.take_kept()) {
        panel.set(id, value);
    }
    let kept = Kept::new(
        transport.wishes(),
        run.devices.0.clone(),
        run.devices.1.clone(),
        &panel,
        params.project.document().saved(),
    );
    if let Err(error) = kept::save(path, &kept) {
        eprintln!("{error}");
    }
}

/// Tempo and meter from the command line, and the rest as it is usual.
fn wishes(args: &[String], usual: Wishes) -> Wishes {
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
        let wishes = wishes(&args, Wishes::default());
        assert_eq!((wishes.bpm, wishes.meter), (90.0, (7, 4)));
        assert_eq!(value(&args, &["--midi-output"]), None);
    }
}

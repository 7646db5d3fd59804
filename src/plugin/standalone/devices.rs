//! Selects the audio backend: JACK, else a sound card, else none.

mod offers;

use super::value;
use crate::bridge::standalone_transport::{DeviceChoice, Devices};
use cpal::traits::{DeviceTrait, HostTrait};
use offers::{Offer, Try, to_try};

/// Printed before the framework's own help.
pub(super) const HELP: &str = "\
Fourlimb without a recording program: opens a window with its own transport, plays through JACK where a
JACK server runs, else through the sound card. Devices can be chosen in the window too.
";

/// The backend of this system's sound cards, as the framework's `--backend` calls it. It knows no other system's.
pub const CARD: &str = if cfg!(target_os = "windows") {
    "wasapi"
} else if cfg!(target_os = "macos") {
    "core-audio"
} else {
    "alsa"
};

const NOT_AS_ASKED: &str = "No sound: the sound card does not offer this sample rate or block size. Start without \
     --sample-rate and --period-size, and it is asked for its own.";

/// The configuration for the framework.
pub(super) struct Found {
    /// Its command line.
    pub(super) args: Vec<String>,
    /// What the window shows.
    pub(super) devices: Devices,
}

/// Selects a backend. Main thread.
pub(super) fn find(args: &[String], choice: &DeviceChoice) -> Found {
    match value(args, &["-b", "--backend"]).as_deref() {
        None | Some("auto") => jack(args)
            .map_or_else(|| card(args, choice), Ok)
            .unwrap_or_else(|trouble| silent(args, trouble)),
        Some("dummy") => silent(
            args,
            "No sound: started with the silent backend. Start without --backend to be heard."
                .to_owned(),
        ),
        Some("jack") => jack(args).unwrap_or_else(|| as_told(args, "JACK")),
        Some(CARD) => card(args, choice).unwrap_or_else(|trouble| silent(args, trouble)),
        Some(other) => as_told(args, other),
    }
}

/// Passes the user's options to the framework, which reports its own errors.
fn as_told(args: &[String], way: &str) -> Found {
    Found {
        args: args.to_vec(),
        devices: Devices {
            way: way.to_owned(),
            ..Devices::default()
        },
    }
}

fn silent(args: &[String], trouble: String) -> Found {
    let mut devices = Devices {
        trouble: Some(trouble),
        ..Devices::default()
    };
    list(&mut devices);
    // MIDI output runs only beside audio.
    devices.ports.clear();
    Found {
        args: with(args, &[("--backend", "dummy".to_owned())]),
        devices,
    }
}

/// A JACK server, where one runs. It determines sample rate and block size; the framework would otherwise report
/// its own to the plugin.
fn jack(args: &[String]) -> Option<Found> {
    let options = jack::ClientOptions::NO_START_SERVER;
    let (client, _) = jack::Client::new("fourlimb-asks", options).ok()?;
    let (rate, period) = (
        client.sample_rate().to_string(),
        client.buffer_size().to_string(),
    );
    let mut told = vec![
        ("--backend", "jack".to_owned()),
        ("--sample-rate", rate),
        ("--period-size", period),
    ];
    // JACK has no use for the sound card's device name.
    told.push(("--output-device", String::new()));
    told.push(("--midi-output", String::new()));
    Some(Found {
        args: with(args, &told),
        devices: Devices {
            way: "JACK".to_owned(),
            can_follow: true,
            ..Devices::default()
        },
    })
}

/// A sound card that can be opened.
fn card(args: &[String], choice: &DeviceChoice) -> Result<Found, String> {
    let host = cpal::default_host();
    let mut devices = Devices {
        way: "sound card".to_owned(),
        port: choice.port.clone(),
        ..Devices::default()
    };
    list(&mut devices);
    let device = match &choice.sound {
        Some(name) => host
            .output_devices()
            .ok()
            .and_then(|mut all| all.find(|device| name_of(device).as_ref() == Some(name)))
            .ok_or_else(|| format!("No sound: there is no device \"{name}\" any more."))?,
        None => host.default_output_device().ok_or_else(|| {
            "No sound: there is no sound card, and no JACK server runs. Notes are not heard. Connect \
             a card and start again."
                .to_owned()
        })?,
    };
    devices.sound.clone_from(&choice.sound);
    let asked = |names: &[&str]| value(args, names).and_then(|text| text.parse().ok());
    let asked = (
        asked(&["-r", "--sample-rate"]),
        asked(&["-p", "--period-size"]),
    );
    let offers = offers(&device);
    let tries = to_try(&offers, asked);
    if tries.is_empty() && !offers.is_empty() {
        return Err(NOT_AS_ASKED.to_owned());
    }
    let Try { rate, period, .. } = tries
        .into_iter()
        .find(|one| opens(&device, one))
        .ok_or_else(|| {
            "No sound: no sound card could be opened and no JACK server runs. Connect a card, or close \
             the program that holds it, and start again."
                .to_owned()
        })?;
    let told = [
        ("--backend", CARD.to_owned()),
        ("--sample-rate", rate.to_string()),
        ("--period-size", period.to_string()),
        ("--output-device", choice.sound.clone().unwrap_or_default()),
        ("--midi-output", choice.port.clone().unwrap_or_default()),
    ];
    Ok(Found {
        args: with(args, &told),
        devices,
    })
}

/// What a device offers. One that tells no block sizes is left out, since the framework does not open it.
fn offers(device: &cpal::Device) -> Vec<Offer> {
    let Ok(configs) = device.supported_output_configs() else {
        return Vec::new();
    };
    let offer = |config: cpal::SupportedStreamConfigRange| match *config.buffer_size() {
        cpal::SupportedBufferSize::Range { min, max } => Some(Offer {
            channels: config.channels(),
            rates: (config.min_sample_rate(), config.max_sample_rate()),
            periods: (min, max),
            format: config.sample_format(),
        }),
        cpal::SupportedBufferSize::Unknown => None,
    };
    configs.filter_map(offer).collect()
}

/// Whether a device opens in this way, which is the framework's.
fn opens(device: &cpal::Device, one: &Try) -> bool {
    let stream = cpal::StreamConfig {
        channels: one.channels,
        sample_rate: one.rate,
        buffer_size: cpal::BufferSize::Fixed(one.period),
    };
    device
        .build_output_stream_raw(stream, one.format, |_, _| (), |_| (), None)
        .is_ok()
}

fn name_of(device: &cpal::Device) -> Option<String> {
    device.description().ok().map(|it| it.name().to_owned())
}

/// Lists the available devices and ports.
fn list(devices: &mut Devices) {
    if let Ok(all) = cpal::default_host().output_devices() {
        devices.sounds = all.filter_map(|device| name_of(&device)).collect();
        devices.sounds.dedup();
    }
    if let Ok(midi) = midir::MidiOutput::new("fourlimb-asks") {
        let ports = midi.ports();
        devices.ports = ports
            .iter()
            .filter_map(|port| midi.port_name(port).ok())
            .collect();
    }
}

/// A command line with some options replaced; an empty value removes an option.
fn with(args: &[String], told: &[(&str, String)]) -> Vec<String> {
    let short = |name: &str| match name {
        "--backend" => "-b",
        "--sample-rate" => "-r",
        "--period-size" => "-p",
        _ => "",
    };
    let mut out = Vec::new();
    let mut rest = args.iter();
    while let Some(arg) = rest.next() {
        let ours = told
            .iter()
            .find(|(name, _)| arg == name || arg == short(name));
        let joined = |(name, _): &&(&str, String)| {
            arg.strip_prefix(name)
                .is_some_and(|rest| rest.starts_with('='))
        };
        if ours.is_some() {
            rest.next();
        } else if told.iter().find(joined).is_none() {
            out.push(arg.clone());
        }
    }
    for (name, value) in told.iter().filter(|(_, value)| !value.is_empty()) {
        out.extend([(*name).to_owned(), value.clone()]);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn options_are_replaced_added_and_taken_out() {
        let args = [
            "fourlimb",
            "-b",
            "auto",
            "--midi-output=old",
            "--tempo",
            "90",
        ];
        let args: Vec<String> = args.map(str::to_owned).to_vec();
        let told = [
            ("--backend", CARD.to_owned()),
            ("--midi-output", String::new()),
            ("--sample-rate", "44100".to_owned()),
        ];
        let expected = [
            "fourlimb",
            "--tempo",
            "90",
            "--backend",
            CARD,
            "--sample-rate",
            "44100",
        ];
        assert_eq!(with(&args, &told), expected);
    }

    #[test]
    fn without_a_device_there_is_a_reason() {
        let args = ["fourlimb", "--backend", "dummy"].map(str::to_owned);
        let found = find(&args, &DeviceChoice::default());
        assert!(
            found
                .devices
                .trouble
                .is_some_and(|why| why.starts_with("No sound"))
        );
        assert_eq!(found.args, ["fourlimb", "--backend", "dummy"]);
    }
}

//! Sample rates and block lengths, odd and impossible ones: what comes out is sound, and activation
//! neither takes long nor takes what no host can mean.

use super::{RATE, entry, host, rolling, standing};
use hosting::host::{Host, Transport};
use hosting::sound::Sound;

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
/// Half a bar of the default beat and a second of ringing, at a rate in Hz.
fn play(rate: f64) -> Sound {
    let mut host = Host::new(&entry()).unwrap();
    // Waits for the kit.
    host.render_offline().unwrap();
    host.activate(rate, 512).unwrap();
    let mut sound = Sound::new(rate as u32);
    let seconds = |at: u32| f64::from(at) / rate;
    let mut at = 0;
    while seconds(at) < 2.0 {
        let pos = seconds(at) * 2.0;
        let transport = Transport {
            playing: seconds(at) < 1.0,
            pos_quarters: Some(pos),
            bar_quarters: 0.0,
            ..rolling(0)
        };
        host.block(&transport, &[], 512).unwrap();
        let [left, right] = host.heard(512);
        sound.add(left, right);
        at += 512;
    }
    sound
}

/// Below 17 kHz a band of noise once started above half the sample rate, and a filter became
/// unstable. Rates of no device are among these: a host may try any.
#[test]
fn every_rate_gives_sound_and_only_numbers() {
    for rate in [
        1000.0, 3000.0, 7000.0, 8000.0, 11_025.0, 12_000.0, 16_000.0, 17_001.5, 22_050.0, 44_100.0,
    ] {
        let sound = play(rate);
        let both = || sound.left.iter().chain(&sound.right);
        assert!(both().all(|x| x.is_finite()), "not a number at {rate} Hz");
        let peak = both().fold(0.0_f32, |peak, x| peak.max(x.abs()));
        assert!((0.01..=0.9).contains(&peak), "peak {peak} at {rate} Hz");
    }
}

/// Subnormal numbers slow processors down, here and in every plugin that comes after.
#[test]
fn the_output_has_no_subnormal_numbers() {
    let mut host = host();
    let mut at = 0;
    while at < 48_000 * 14 {
        // Two bars of the beat, then all that rings, to its end.
        let transport = if at < 48_000 * 4 {
            rolling(at)
        } else {
            standing(at)
        };
        host.block(&transport, &[], 480).unwrap();
        for x in host.heard(480).into_iter().flatten() {
            assert!(!x.is_subnormal(), "{x:e} at sample {at}");
        }
        at += 480;
    }
}

/// Processor time of this thread, in seconds; the clock on the wall where the system does not say.
fn thread_seconds() -> f64 {
    let said = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = said.and_then(|line| line.split(' ').next()?.parse::<f64>().ok());
    nanoseconds.map_or_else(
        || {
            static START: std::sync::OnceLock<std::time::Instant> = std::sync::OnceLock::new();
            START
                .get_or_init(std::time::Instant::now)
                .elapsed()
                .as_secs_f64()
        },
        |nanoseconds| nanoseconds * 1e-9,
    )
}

/// At most 20 ms on the main thread, at a rate that no other test has rendered a kit for. It was 143 ms
/// at 48 kHz and 536 ms at 192 kHz, optimised; here nothing is.
#[test]
fn activation_takes_milliseconds_at_any_rate() {
    for rate in [47_999.0, 191_999.0, 767_999.0] {
        let mut host = Host::new(&entry()).unwrap();
        let before = thread_seconds();
        host.activate(rate, 8192).unwrap();
        let took = thread_seconds() - before;
        assert!(took < 0.02, "{took} s at {rate} Hz");
    }
}

/// It was refused by nobody, took 46 s and 8.4 GB; other rates ended in an abort.
#[test]
fn impossible_rates_and_block_lengths_are_refused() {
    let mut host = Host::new(&entry()).unwrap();
    for rate in [0.0, -48_000.0, f64::NAN, f64::INFINITY, 768_001.0, 1e7, 0.5] {
        assert!(host.activate(rate, 512).is_err(), "{rate} Hz");
    }
    for frames in [(1, u32::MAX), (1, i32::MAX as u32), (1, (1 << 20) + 1)] {
        assert!(
            host.activate_for(RATE, frames).is_err(),
            "blocks of {frames:?}"
        );
    }
    // A refusal is no end: the next rate works.
    host.activate(768_000.0, 1 << 16).unwrap();
    host.activate(RATE, 64).unwrap();
    host.block(&rolling(0), &[], 64).unwrap();
}

#[test]
fn what_is_no_number_is_no_value() {
    let mut host = host();
    for param in host.params().to_vec() {
        for text in ["nan", "NaN %", "-nan dB", "inf", "-inf", "1e999", ""] {
            let read = host.parse(param.id, text);
            assert!(read.is_err(), "{} takes {text:?} as {read:?}", param.name);
        }
    }
}

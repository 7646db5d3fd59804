//! What ears would notice in a recorded stroke or song, in figures.
//!
//! A stroke begins where it first passes 40 dB below its peak. Its *attack* is the 30 ms from there, its
//! *tail* what lies 50 to 250 ms after.

use crate::sound::Sound;
use rustfft::algorithm::Radix4;
use rustfft::num_complex::Complex32;
use rustfft::{Fft, FftDirection};

/// The figures of a stroke.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figures {
    /// The highest sample, in dB.
    pub peak_db: f32,
    /// Milliseconds until a hundredth of the energy is left: -20 dB.
    pub decay_ms: f32,
    /// The middle of the attack's power spectrum, in Hz.
    pub attack_hz: f32,
    /// The middle of the tail's, in Hz.
    pub tail_hz: f32,
    /// The tail's spectral flatness from 0.2 to 12 kHz: the geometric mean of the power over the arithmetic one. 0
    /// is a bare tone, 0.56 white noise [derived: a periodogram's bins are exponentially distributed].
    pub flatness: f32,
    /// The share of the tail's power that its strongest 25 Hz have: near 1 for a bare tone, near 0 for noise.
    pub line: f32,
    /// How alike left and right are: 1 for the same, 0 for strangers.
    pub correlation: f32,
    /// The beater's or stick's part: power from 2 to 6 kHz in the first 10 ms beside the power below 200 Hz in the
    /// first 100 ms, in dB.
    pub click_db: f32,
}

/// A power in dB; silence is -200 dB.
pub fn db(power: f32) -> f32 {
    10.0 * (power + 1e-20).log10()
}

/// The mean power.
pub fn power(x: &[f32]) -> f32 {
    x.iter().map(|x| x * x).sum::<f32>() / x.len().max(1) as f32
}

/// Both channels added and halved.
pub fn mono(sound: &Sound) -> Vec<f32> {
    let pairs = sound.left.iter().zip(&sound.right);
    pairs.map(|(l, r)| (l + r) * 0.5).collect()
}

/// The power spectrum of a piece under a Hann window, at least `size` long and a power of two, and the width of a bin in
/// Hz.
pub fn spectrum(x: &[f32], size: usize, rate: f32) -> (Vec<f32>, f32) {
    let last = x.len().saturating_sub(1).max(1) as f32;
    let mut data: Vec<Complex32> = (0_u32..)
        .zip(x)
        .map(|(i, x)| x * (0.5 - 0.5 * (std::f32::consts::TAU * i as f32 / last).cos()))
        .map(Complex32::from)
        .collect();
    let size = size.max(x.len()).max(2).next_power_of_two();
    data.resize(size, Complex32::ZERO);
    // Without a planner, which would have every transform there is compiled into this crate.
    Radix4::new(size, FftDirection::Forward).process(&mut data);
    let bins = data[..=size / 2].iter().map(Complex32::norm_sqr).collect();
    (bins, rate / size as f32)
}

/// The middle of a power spectrum above 20 Hz, in Hz.
pub fn centroid(x: &[f32], rate: f32) -> f32 {
    let (bins, width) = spectrum(x, 1 << 15, rate);
    let (mut sum, mut weighted) = (0.0_f64, 0.0_f64);
    for (i, power) in bins.iter().enumerate() {
        let hz = i as f32 * width;
        if hz > 20.0 {
            sum += f64::from(*power);
            weighted += f64::from(*power) * f64::from(hz);
        }
    }
    #[expect(clippy::cast_possible_truncation)]
    let middle = (weighted / sum.max(1e-30)) as f32;
    middle
}

/// The power between two frequencies in Hz.
pub fn band_power(x: &[f32], rate: f32, low: f32, high: f32) -> f32 {
    let (bins, width) = spectrum(x, x.len(), rate);
    let within = |i: usize| (low..high).contains(&(i as f32 * width));
    let bins = bins.iter().enumerate().filter(|(i, _)| within(*i));
    bins.map(|(_, power)| power).sum()
}

fn flatness(x: &[f32], rate: f32) -> f32 {
    let (bins, width) = spectrum(x, x.len(), rate);
    let (mut logs, mut sum, mut count) = (0.0_f64, 0.0_f64, 0.0_f64);
    for (i, power) in bins.iter().enumerate() {
        if (200.0..=12_000.0).contains(&(i as f32 * width)) {
            logs += f64::from(power + 1e-30).ln();
            sum += f64::from(*power);
            count += 1.0;
        }
    }
    #[expect(clippy::cast_possible_truncation)]
    let flatness = ((logs / count).exp() * count / sum.max(1e-30)) as f32;
    flatness
}

fn line(x: &[f32], rate: f32) -> f32 {
    const WIDE_HZ: f32 = 25.0;
    let (bins, width) = spectrum(x, x.len(), rate);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let wide = (WIDE_HZ / width).round().max(1.0) as usize;
    let most = bins
        .chunks(wide)
        .map(|part| part.iter().sum())
        .fold(0.0, f32::max);
    most / bins.iter().sum::<f32>().max(1e-30)
}

/// How alike two channels are, -1..=1.
pub fn correlation(left: &[f32], right: &[f32]) -> f32 {
    let both: f32 = left.iter().zip(right).map(|(l, r)| l * r).sum();
    let size = |x: &[f32]| x.iter().map(|x| x * x).sum::<f32>().sqrt();
    both / (size(left) * size(right)).max(1e-20)
}

/// Measures a stroke.
pub fn figures(sound: &Sound) -> Figures {
    let rate = sound.sample_rate as f32;
    let all = mono(sound);
    let loudest = all.iter().fold(0.0_f32, |peak, x| peak.max(x.abs()));
    let start = all
        .iter()
        .position(|x| x.abs() > loudest * 0.01)
        .unwrap_or(0);
    let stroke = &all[start..];
    let part = |from_s: f32, to_s: f32| {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let at = |seconds: f32| ((seconds * rate) as usize).min(stroke.len());
        &stroke[at(from_s)..at(to_s)]
    };
    let mut left: f64 = stroke.iter().map(|x| f64::from(*x).powi(2)).sum();
    let hundredth = left * 0.01;
    let dies = stroke.iter().position(|x| {
        left -= f64::from(*x).powi(2);
        left < hundredth
    });
    let both = sound.left.iter().chain(&sound.right);
    let peak = both.fold(0.0_f32, |peak, x| peak.max(x.abs()));
    let click = band_power(part(0.0, 0.01), rate, 2000.0, 6000.0) / 0.01;
    let body = band_power(part(0.0, 0.1), rate, 20.0, 200.0) / 0.1;
    Figures {
        peak_db: db(peak * peak),
        decay_ms: dies.unwrap_or(0) as f32 * 1000.0 / rate,
        attack_hz: centroid(part(0.0, 0.03), rate),
        tail_hz: centroid(part(0.05, 0.25), rate),
        flatness: flatness(part(0.05, 0.25), rate),
        line: line(part(0.05, 0.25), rate),
        correlation: correlation(&sound.left[start..], &sound.right[start..]),
        click_db: db(click / body.max(1e-30)),
    }
}

/// The middles of the bands of a third of an octave, in Hz (IEC 61260, nominal).
pub const THIRDS: [f32; 30] = [
    25.0, 31.5, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 315.0, 400.0, 500.0,
    630.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0, 2500.0, 3150.0, 4000.0, 5000.0, 6300.0, 8000.0,
    10_000.0, 12_500.0, 16_000.0, 20_000.0,
];

/// The power in each third of an octave, in dB. Pink noise has the same in all.
pub fn thirds(x: &[f32], rate: f32) -> [f32; 30] {
    const PART: usize = 1 << 14;
    let mut sums = [0.0_f64; 30];
    let half = 2_f32.powf(1.0 / 6.0);
    for part in x.chunks_exact(PART) {
        let (bins, width) = spectrum(part, PART, rate);
        for (i, power) in bins.iter().enumerate() {
            let hz = i as f32 * width;
            let band = THIRDS
                .iter()
                .position(|middle| (middle / half..middle * half).contains(&hz));
            if let Some(sum) = band.and_then(|band| sums.get_mut(band)) {
                *sum += f64::from(*power);
            }
        }
    }
    #[expect(clippy::cast_possible_truncation)]
    sums.map(|sum| db(sum as f32))
}

/// What was measured on recorded strokes of one piece: the least and the greatest of each figure.
#[derive(Debug, Clone, Copy)]
pub struct Recorded {
    /// The piece of ours that it stands beside.
    pub piece: &'static str,
    /// The recorded strokes, from the sample package `supersonic-scsynth-samples` 0.84.2 (npm, CC0).
    pub files: &'static str,
    /// As in [`Figures`].
    pub decay_ms: Option<(f32, f32)>,
    /// As in [`Figures`].
    pub attack_hz: Option<(f32, f32)>,
    /// As in [`Figures`].
    pub tail_hz: Option<(f32, f32)>,
    /// As in [`Figures`].
    pub flatness: Option<(f32, f32)>,
    /// As in [`Figures`], the soft stroke's included: what is too much of it sounds like a bell.
    pub line: Option<(f32, f32)>,
}

/// One recording's figure.
const fn one(x: f32) -> (f32, f32) {
    (x, x)
}

/// The recorded figures of hard strokes. Left out is what another drum or stick makes of it, and what ours is not to
/// follow: a snare tuned low, a crash cut short and filtered, the attack of kicks whose beater is not heard (80 and 98 Hz:
/// ours is to be heard under guitars, 257 Hz).
pub const RECORDED: [Recorded; 9] = [
    Recorded {
        piece: "kick",
        files: "drum_heavy_kick, drum_bass_hard",
        decay_ms: Some((140.7, 413.1)),
        attack_hz: None,
        tail_hz: Some((54.8, 56.1)),
        flatness: Some((0.042, 0.213)),
        line: None,
    },
    Recorded {
        piece: "snare",
        files: "drum_snare_hard",
        decay_ms: Some(one(143.9)),
        attack_hz: Some(one(914.0)),
        tail_hz: Some(one(1122.0)),
        flatness: Some(one(0.141)),
        line: None,
    },
    Recorded {
        piece: "rack tom high",
        files: "drum_tom_hi_hard, drum_tom_mid_hard",
        decay_ms: Some(one(349.1)),
        attack_hz: Some((310.3, 339.4)),
        tail_hz: Some((148.6, 175.7)),
        flatness: Some((0.0113, 0.0128)),
        line: None,
    },
    Recorded {
        piece: "rack tom low",
        files: "drum_tom_mid_hard",
        decay_ms: Some(one(427.3)),
        attack_hz: Some(one(310.3)),
        tail_hz: Some(one(148.6)),
        flatness: Some(one(0.0113)),
        line: None,
    },
    Recorded {
        piece: "floor tom low",
        files: "drum_tom_lo_hard",
        decay_ms: Some(one(607.1)),
        attack_hz: Some(one(303.5)),
        tail_hz: None,
        flatness: Some(one(0.0057)),
        line: None,
    },
    Recorded {
        piece: "hi-hat closed",
        files: "drum_cymbal_closed",
        decay_ms: Some(one(101.2)),
        attack_hz: Some(one(10_398.0)),
        tail_hz: Some(one(9344.0)),
        flatness: Some(one(0.268)),
        line: None,
    },
    Recorded {
        piece: "hi-hat open",
        files: "drum_cymbal_open",
        decay_ms: Some(one(884.6)),
        attack_hz: Some(one(7475.0)),
        tail_hz: Some(one(7883.0)),
        flatness: Some(one(0.1615)),
        line: Some(one(0.040)),
    },
    Recorded {
        piece: "crash left",
        files: "drum_cymbal_hard",
        decay_ms: Some(one(891.6)),
        attack_hz: Some(one(7989.0)),
        tail_hz: Some(one(6993.0)),
        flatness: Some(one(0.0256)),
        line: Some((0.074, 0.103)),
    },
    Recorded {
        piece: "splash",
        files: "drum_splash_hard",
        decay_ms: Some(one(1135.0)),
        attack_hz: Some(one(6806.0)),
        tail_hz: Some(one(6309.0)),
        flatness: Some(one(0.1229)),
        line: Some((0.134, 0.173)),
    },
];

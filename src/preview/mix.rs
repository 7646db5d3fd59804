//! Adds the waves of a voice to the two channels, several samples at a time.
//!
//! The innermost loops are functions of their own over slices and one index, so that the compiler sees that nothing
//! overlaps. They exist twice: for processors that have AVX (eight samples at a time) and for all others. Both do the
//! same arithmetic in the same order, so that a song sounds the same on either.

#![allow(
    clippy::needless_range_loop,
    reason = "the compiler vectorises loops over one index into several slices"
)]

use super::layers::Wave;
use super::room::SPAN;
use multiversion::multiversion;

/// From so many samples before a span on a voice is worked out that grows dull: each sample leans on the three before,
/// and eight are taken at a time.
pub(super) const BEFORE: usize = 8;

/// A value for each sample of a span and of those before it.
type Steps = [f32; SPAN + BEFORE];

/// The samples of a span and of those before it, counted from its first.
const STEPS: Steps = {
    let mut steps = [-(BEFORE as f32); SPAN + BEFORE];
    let mut i = 1;
    while i < steps.len() {
        steps[i] = steps[i - 1] + 1.0;
        i += 1;
    }
    steps
};

/// What is left of a wave, and its gain.
pub(super) struct Part<'a> {
    left: &'a [f32],
    right: &'a [f32],
    gain: f32,
}

impl<'a> Part<'a> {
    /// Of one that is over.
    pub(super) const OVER: Self = Self {
        left: &[],
        right: &[],
        gain: 0.0,
    };

    /// A wave from a sample on.
    pub(super) fn new(wave: &'a Wave, gain: f32, at: usize) -> Self {
        Self {
            left: wave.left.get(at..).unwrap_or_default(),
            right: wave.right.get(at..).unwrap_or_default(),
            gain,
        }
    }
}

/// The soft layer, the hard one and both sticks.
pub(super) type Parts<'a> = [Part<'a>; 4];

/// The levels of a voice at its begin or on its way out, from [`BEFORE`] samples before a span on.
pub(super) struct Levels {
    /// The soft layer's.
    soft: Steps,
    /// All else's.
    rest: Steps,
    /// How dull it is, 0..=1: at 1, what lies at a quarter of the rate is gone.
    dull: Steps,
    /// A channel of the voice at these levels.
    voice: Steps,
}

impl Levels {
    pub(super) fn new() -> Self {
        let [soft, rest, dull, voice] = [[0.0; SPAN + BEFORE]; 4];
        Self {
            soft,
            rest,
            dull,
            voice,
        }
    }

    /// A voice that fades from `fade`, 0..=1, by `fall` a sample, over a span of so many samples. As under a hand, it
    /// falls faster than a bare fade, what the stick and a hard stroke add falls first, and the highs before the lows.
    pub(super) fn fall(&mut self, fade: f32, fall: f32, frames: usize) {
        let n = (frames + BEFORE).min(STEPS.len());
        let (soft, rest) = (&mut self.soft[..n], &mut self.rest[..n]);
        falling((fade, fall), soft, rest, &mut self.dull[..n]);
    }

    /// The place in a span of a voice that begins: its level rises from nothing.
    pub(super) fn begin(&mut self, rise: impl Iterator<Item = f32>) {
        let levels = self.soft.iter_mut().zip(&mut self.rest).skip(BEFORE);
        for ((soft, rest), part) in levels.zip(rise) {
            *soft *= part;
            *rest *= part;
        }
    }
}

/// Adds a voice that rings, each part to its end.
pub(super) fn add(parts: &Parts, left: &mut [f32], right: &mut [f32]) {
    let [soft, hard, first, second] = parts;
    let lasts = |part: &Part| part.left.len() >= left.len();
    let layers_last = lasts(soft) && lasts(hard);
    if layers_last && lasts(first) && lasts(second) {
        add_four(parts, left, right);
    } else if layers_last && first.left.is_empty() && second.left.is_empty() {
        add_two([soft, hard], left, right);
    } else {
        for part in parts.iter().filter(|part| !part.left.is_empty()) {
            add_one(part.left, part.gain, left);
            add_one(part.right, part.gain, right);
        }
    }
}

/// Adds a voice at levels, each part to its end.
pub(super) fn add_levelled(
    parts: &Parts,
    levels: &mut Levels,
    left: &mut [f32],
    right: &mut [f32],
) {
    for (out, channel) in [(left, lefts(parts)), (right, rights(parts))] {
        levelled(channel, levels, BEFORE, out.len());
        for (out, x) in out.iter_mut().zip(&levels.voice) {
            *out += x;
        }
    }
}

/// The same, dulled. The parts are given from [`BEFORE`] samples before the span on.
pub(super) fn add_dulled(parts: &Parts, levels: &mut Levels, left: &mut [f32], right: &mut [f32]) {
    for (out, channel) in [(left, lefts(parts)), (right, rights(parts))] {
        levelled(channel, levels, 0, out.len() + BEFORE);
        dull(&levels.voice, &levels.dull, out);
    }
}

/// A channel of each part, and its gain.
type Channel<'a> = [(&'a [f32], f32); 4];

fn lefts<'a>(parts: &Parts<'a>) -> Channel<'a> {
    let [soft, hard, first, second] = parts;
    [soft, hard, first, second].map(|part| (part.left, part.gain))
}

fn rights<'a>(parts: &Parts<'a>) -> Channel<'a> {
    let [soft, hard, first, second] = parts;
    [soft, hard, first, second].map(|part| (part.right, part.gain))
}

/// So many samples of a channel of a voice at levels, which begin at `from`.
fn levelled(channel: Channel, levels: &mut Levels, from: usize, length: usize) {
    let (soft, rest) = (&levels.soft[from..], &levels.rest[from..]);
    let voice = &mut levels.voice[..length];
    if channel.iter().all(|(wave, _)| wave.len() >= length) {
        four_at_levels(&channel, soft, rest, voice);
    } else {
        voice.fill(0.0);
        for ((wave, gain), levels) in channel.iter().zip([soft, rest, rest, rest]) {
            let end = wave.len().min(length);
            one_at_levels(&wave[..end], *gain, levels, &mut voice[..end]);
        }
    }
}

/// See [`Levels::fall`].
#[multiversion(targets("x86_64+avx"))]
fn falling((fade, fall): (f32, f32), soft: &mut [f32], rest: &mut [f32], dull: &mut [f32]) {
    let n = soft.len().min(STEPS.len());
    let (soft, rest, dull) = (&mut soft[..n], &mut rest[..n], &mut dull[..n]);
    for i in 0..n {
        let fade = (fade - fall * STEPS[i]).clamp(0.0, 1.0);
        // A bend in the fade would be heard as a tick where a tone is strong.
        soft[i] = fade * fade * (3.0 - 2.0 * fade);
        rest[i] = soft[i] * soft[i];
        dull[i] = 1.0 - fade * fade;
    }
}

/// Adds a channel of a part to its end.
#[multiversion(targets("x86_64+avx"))]
fn add_one(wave: &[f32], gain: f32, out: &mut [f32]) {
    let n = out.len().min(wave.len());
    let (wave, out) = (&wave[..n], &mut out[..n]);
    for i in 0..n {
        out[i] += wave[i] * gain;
    }
}

/// Adds two parts that are at least as long as the span.
#[multiversion(targets("x86_64+avx"))]
fn add_two([one, two]: [&Part; 2], left: &mut [f32], right: &mut [f32]) {
    let n = left.len();
    let (left, right) = (&mut left[..n], &mut right[..n]);
    let (l1, l2) = (&one.left[..n], &two.left[..n]);
    let (r1, r2) = (&one.right[..n], &two.right[..n]);
    let (g1, g2) = (one.gain, two.gain);
    for i in 0..n {
        left[i] += l1[i] * g1 + l2[i] * g2;
        right[i] += r1[i] * g1 + r2[i] * g2;
    }
}

/// Adds four parts that are at least as long as the span.
#[multiversion(targets("x86_64+avx"))]
fn add_four([one, two, three, four]: &Parts, left: &mut [f32], right: &mut [f32]) {
    let n = left.len();
    let (left, right) = (&mut left[..n], &mut right[..n]);
    let (l1, l2, l3, l4) = (
        &one.left[..n],
        &two.left[..n],
        &three.left[..n],
        &four.left[..n],
    );
    let (r1, r2, r3, r4) = (
        &one.right[..n],
        &two.right[..n],
        &three.right[..n],
        &four.right[..n],
    );
    let (g1, g2, g3, g4) = (one.gain, two.gain, three.gain, four.gain);
    for i in 0..n {
        left[i] += l1[i] * g1 + l2[i] * g2 + (l3[i] * g3 + l4[i] * g4);
        right[i] += r1[i] * g1 + r2[i] * g2 + (r3[i] * g3 + r4[i] * g4);
    }
}

/// Writes four parts that are at least as long as `out`: the first at its levels, the others at theirs.
#[multiversion(targets("x86_64+avx"))]
fn four_at_levels(parts: &Channel, soft: &[f32], rest: &[f32], out: &mut [f32]) {
    let n = out.len();
    let [(x1, g1), (x2, g2), (x3, g3), (x4, g4)] = *parts;
    let (x1, x2, x3, x4) = (&x1[..n], &x2[..n], &x3[..n], &x4[..n]);
    let (soft, rest) = (&soft[..n], &rest[..n]);
    for i in 0..n {
        out[i] = x1[i] * g1 * soft[i] + (x2[i] * g2 + (x3[i] * g3 + x4[i] * g4)) * rest[i];
    }
}

/// Adds a part that is as long as `out`, at levels.
#[multiversion(targets("x86_64+avx"))]
fn one_at_levels(wave: &[f32], gain: f32, levels: &[f32], out: &mut [f32]) {
    let n = out.len();
    let (wave, levels) = (&wave[..n], &levels[..n]);
    for i in 0..n {
        out[i] += wave[i] * gain * levels[i];
    }
}

/// Adds a channel of a voice, between itself and the mean of four of its samples.
#[multiversion(targets("x86_64+avx"))]
fn dull(voice: &Steps, dull: &Steps, out: &mut [f32]) {
    let n = out.len().min(SPAN);
    let out = &mut out[..n];
    for i in 0..n {
        let at = i + BEFORE;
        let mean = ((voice[at] + voice[at - 1]) + (voice[at - 2] + voice[at - 3])) * 0.25;
        out[i] += voice[at] + (mean - voice[at]) * dull[at];
    }
}

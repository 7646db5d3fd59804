//! From spectral flux to strokes: which peaks count.

use super::novelty::Frame;
use arrayvec::ArrayVec;

/// How far a peak must stand above the recent past at sensitivity 0.5, in flux.
const STEP: f32 = 0.025;
/// That changes by this factor from sensitivity 0.5 to 0 (up) and to 1 (down).
const SENSITIVITY_SPAN: f32 = 3.0;
/// The recent past: so many frames, about 170 ms.
const PAST: usize = 120;
/// Of which this share lies below what counts as usual,
const USUAL: f32 = 0.8;
/// and this much of it raises the bar.
const USUAL_COUNTS: f32 = 1.0;
/// After a stroke nothing counts for so long, in seconds: above the 20 ms of a pick's chatter,
/// below a thirty-second at 240 BPM (31 ms).
const DEAD_S: f64 = 0.026;
/// After a stroke a peak must reach this share of its flux, less with time.
const AFTERGLOW: f32 = 0.8;
/// That share falls to 1/e in so many seconds.
const AFTERGLOW_S: f64 = 0.030;
/// What rings alone for a while flutters, and a stroke into it stands out more: from the first time
/// after a stroke to the second, in seconds, the least flux of a stroke grows to this.
const FLUTTER: f32 = 0.064;
const FLUTTER_S: (f32, f32) = (0.15, 0.40);
/// The flux is averaged over so many frames.
const SMOOTH: usize = 3;
/// A peak is one when so many later frames are lower.
const LOOK: usize = 2;
/// Flux and level of the weakest stroke and of the strongest, for its strength.
const FLUXES: (f32, f32) = (0.05, 0.45);
const LEVELS_DB: (f32, f32) = (-18.0, 0.0);
/// How much the flux counts; the level counts the rest.
const FLUX_COUNTS: f32 = 0.4;

/// A stroke.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Peak {
    /// How many frames before the latest one it was at its highest; fractions count.
    pub(super) frames_ago: f32,
    /// 0..=1.
    pub(super) strength: f32,
}

/// Picks the peaks. Audio thread.
#[derive(Debug, Clone)]
pub(super) struct Peaks {
    dead: u32,
    fade: f32,
    step: f32,
    /// The last frames' flux as it came, newest last.
    raw: [f32; SMOOTH],
    /// The last frames, smoothed, newest last: the candidate, one before it and [`LOOK`] after it.
    near: [Frame; LOOK + 2],
    /// The recent past before the candidate, a ring, and the same in order of size.
    past: [f32; PAST],
    sorted: ArrayVec<f32, PAST>,
    turn: usize,
    afterglow: f32,
    since: u32,
    frames_per_s: f32,
}

impl Peaks {
    pub(super) fn new(frames_per_s: f64) -> Self {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let (dead, fade) = (
            (DEAD_S * frames_per_s).round() as u32,
            (-1.0 / (AFTERGLOW_S * frames_per_s)).exp() as f32,
        );
        #[expect(clippy::cast_possible_truncation)]
        let frames_per_s = frames_per_s as f32;
        Self {
            frames_per_s,
            dead,
            fade,
            step: STEP,
            raw: [0.0; SMOOTH],
            near: [Frame::default(); LOOK + 2],
            past: [0.0; PAST],
            sorted: [0.0; PAST].into(),
            turn: 0,
            afterglow: 0.0,
            since: u32::MAX,
        }
    }

    pub(super) fn set_sensitivity(&mut self, sensitivity: f32) {
        self.step = STEP * SENSITIVITY_SPAN.powf(1.0 - 2.0 * sensitivity.clamp(0.0, 1.0));
    }

    pub(super) fn reset(&mut self) {
        let step = self.step;
        *self = Self {
            step,
            ..Self::new(f64::from(self.frames_per_s))
        };
    }

    /// Takes the next frame; a stroke where one has become certain.
    pub(super) fn follow(&mut self, frame: Frame) -> Option<Peak> {
        self.raw.rotate_left(1);
        self.raw[SMOOTH - 1] = frame.flux;
        let smooth = self.raw.iter().sum::<f32>() / SMOOTH as f32;
        self.near.rotate_left(1);
        self.near[LOOK + 1] = Frame {
            flux: smooth,
            ..frame
        };
        let [before, candidate, after @ ..] = self.near;
        self.since = self.since.saturating_add(1);
        self.afterglow *= self.fade;
        let usual = self.sorted[Self::usual()];
        let bar = (self.step + USUAL_COUNTS * usual)
            .max(self.afterglow)
            .max(self.flutter());
        self.remember(candidate.flux);
        let is_peak = candidate.flux >= before.flux
            && after.iter().all(|frame| frame.flux <= candidate.flux)
            && candidate.flux > bar
            && candidate.audible
            && self.since >= self.dead;
        if !is_peak {
            return None;
        }
        self.since = 0;
        self.afterglow = candidate.flux * AFTERGLOW;
        // The newest samples have none of what rang before the stroke.
        let level_db = after[LOOK - 1].level_db;
        let within =
            |value: f32, (low, high): (f32, f32)| ((value - low) / (high - low)).clamp(0.0, 1.0);
        let strength = FLUX_COUNTS * within(candidate.flux, FLUXES)
            + (1.0 - FLUX_COUNTS) * within(level_db, LEVELS_DB);
        Some(Peak {
            frames_ago: LOOK as f32 - between(before.flux, candidate.flux, after[0].flux),
            strength,
        })
    }

    fn flutter(&self) -> f32 {
        let (from, to) = FLUTTER_S;
        let seconds = self.since as f32 / self.frames_per_s;
        FLUTTER * ((seconds - from) / (to - from)).clamp(0.0, 1.0)
    }

    const fn usual() -> usize {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let place = (PAST as f32 * USUAL) as usize;
        place
    }

    fn remember(&mut self, flux: f32) {
        let gone = std::mem::replace(&mut self.past[self.turn], flux);
        self.turn = (self.turn + 1) % PAST;
        let place = self.sorted.partition_point(|value| *value < gone);
        self.sorted.remove(place.min(PAST - 1));
        let place = self.sorted.partition_point(|value| *value < flux);
        self.sorted.insert(place, flux);
    }
}

/// Where the top of the parabola through three neighbours lies, -0.5..=0.5 from the middle one.
fn between(before: f32, peak: f32, after: f32) -> f32 {
    let bend = before - 2.0 * peak + after;
    if bend < -1e-9 {
        (0.5 * (before - after) / bend).clamp(-0.5, 0.5)
    } else {
        0.0
    }
}

//! Makes the feet play along with the live guitar: with notes on their exact sample, with audio as soon as the
//! detector is certain of a stroke.

use super::in_force::{InForce, Inputs};
use crate::groove::Hit;
use crate::groove::riff_kicks::LiveFeet;
use crate::kit::Piece;
use crate::riff::{Attack, GuitarStroke};
use crate::settings::Settings;
use crate::time::{TICKS_PER_QUARTER, Ticks};
use crate::transport::Span;

/// A kick of the part within half a sixteenth of a live kick counts as the same kick.
const SAME: Ticks = TICKS_PER_QUARTER / 8;
/// Live notes take precedence for this many bars after the last one.
const LEADS_BARS: Ticks = 2;

/// The state of playing along. Audio thread; no allocation.
#[derive(Debug, Clone, Default)]
pub struct LiveKicks {
    feet: LiveFeet,
    /// Samples played before this block. A count adds up to the same in every block size; seconds would not.
    played: u64,
    /// The last live note, in ticks.
    last_note: Option<Ticks>,
    /// The last live kick, in ticks and in seconds.
    last_kick: Option<(Ticks, f64)>,
}

impl LiveKicks {
    /// Resets the timeline position.
    pub fn restart(&mut self) {
        *self = Self {
            played: self.played,
            ..Self::default()
        };
    }

    /// The transport jumped. The feet still need their minimum gaps.
    pub fn jump(&mut self) {
        self.last_kick = None;
        // A note before the jump keeps its precedence, since a loop jumps in every round.
        self.last_note = self.last_note.map(|_| Ticks::MAX);
    }

    /// Records a stroke at a tick.
    pub fn hear(&mut self, struck: &GuitarStroke, tick: Ticks) {
        if struck.note {
            self.last_note = Some(tick);
        }
    }

    /// Whether live notes take precedence, so that the riff is left out of bars that begin at `tick`. `bar` is the
    /// length of a bar.
    pub fn leads(&mut self, tick: Ticks, bar: Ticks) -> bool {
        if self.last_note == Some(Ticks::MAX) {
            self.last_note = Some(tick);
        }
        self.last_note
            .is_some_and(|last| tick - last < LEADS_BARS * bar)
    }

    /// Ends a block of `frames` samples.
    pub fn end_block(&mut self, frames: u32) {
        self.played += u64::from(frames);
    }
}

/// Plays along within one span of a block.
pub struct PlayAlong<'a> {
    /// What is remembered.
    pub live_kicks: &'a mut LiveKicks,
    /// The strokes detected in the span, in order, without those already played.
    pub strokes: &'a [GuitarStroke],
    /// The span.
    pub span: &'a Span,
    /// What holds where it begins.
    pub here: &'a InForce,
    /// What decides what is played.
    pub inputs: Inputs<'a>,
    /// Whether the part already contains the riff's kicks.
    pub follows: bool,
    /// Sample rate in Hz.
    pub sample_rate: f64,
}

impl PlayAlong<'_> {
    /// Plays along with the strokes up to a sample of the block.
    pub fn until(&mut self, sample: u32, strike: &mut impl FnMut(Hit, u32)) {
        while let Some((struck, later)) = self.strokes.split_first() {
            if struck.sample > sample {
                break;
            }
            self.strokes = later;
            self.stroke(struck, strike);
        }
    }

    fn stroke(&mut self, struck: &GuitarStroke, strike: &mut impl FnMut(Hit, u32)) {
        let tick = self.span.tick(struck.sample);
        let Settings {
            bar_settings,
            stroke_settings,
            ..
        } = self.settings_at(tick);
        let beat = self.inputs.chart.own_beats().beat(bar_settings.style);
        // Detection in audio is a little late. Where the riff is known, its kicks are on time.
        let heeds = bar_settings.kick_source.heeds_riff(&beat);
        let plays = heeds && (struck.note || !self.follows);
        if !plays || self.is_edited(tick) {
            return;
        }
        let now_s = self.seconds(struck.sample);
        let attack = Attack {
            tick,
            strength: struck.strength,
        };
        let limits = bar_settings.player.limits();
        let feet = &mut self.live_kicks.feet;
        if let Some(hit) = feet.kick(attack, now_s, self.inputs.bpm, &limits, &stroke_settings) {
            self.live_kicks.last_kick = Some((tick, now_s));
            strike(hit, struck.sample);
        }
    }

    /// Whether a hit of the part leaves enough gap to the live kicks. Hits that the songwriter asked for always play.
    pub fn has_room(&mut self, hit: &Hit) -> bool {
        if hit.piece != Piece::Kick {
            return true;
        }
        let now_s = self.seconds(self.span.sample(hit.tick));
        if let Some((tick, then_s)) = self.live_kicks.last_kick.filter(|_| !hit.asked) {
            let limits = self.here.settings.bar_settings.player.limits();
            let near = (hit.tick - tick).abs() < SAME || now_s - then_s + 1e-4 < limits.feet_s;
            if near {
                return false;
            }
        }
        self.live_kicks.feet.played(hit.limb, now_s);
        true
    }

    /// The settings in force at a tick: those where the span begins need not hold throughout.
    fn settings_at(&self, tick: Ticks) -> Settings {
        if (self.span.from..self.here.until).contains(&tick) {
            self.here.settings
        } else {
            InForce::at(tick, &self.inputs).settings
        }
    }

    fn is_edited(&self, tick: Ticks) -> bool {
        self.inputs.panel.follow_chart && self.inputs.chart.edited(tick).0
    }

    fn seconds(&self, sample: u32) -> f64 {
        (self.live_kicks.played + u64::from(sample)) as f64 / self.sample_rate
    }
}

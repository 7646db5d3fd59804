//! The feet play along with the guitar as it comes in: notes at their very sample, sound as soon as
//! it is sure to be a stroke.

use crate::groove::Hit;
use crate::groove::riff_kicks::LiveFeet;
use crate::kit::Piece;
use crate::riff::{Attack, Struck};
use crate::settings::Settings;
use crate::time::{TICKS_PER_QUARTER, Ticks};
use crate::transport::clock::Span;
use arrayvec::ArrayVec;

/// A kick of the part within half a sixteenth of one that was played along is that kick.
const SAME: Ticks = TICKS_PER_QUARTER / 8;
/// Notes that come in lead for so many bars after the last one.
const LEADS_BARS: Ticks = 2;

/// What playing along remembers. Audio thread; no allocation.
#[derive(Debug, Clone, Default)]
pub struct Live {
    feet: LiveFeet,
    /// Seconds that were played before this block.
    now_s: f64,
    /// The last note that came in, in ticks.
    last_note: Option<Ticks>,
    /// The last kick that was played along, in ticks and in seconds.
    last_kick: Option<(Ticks, f64)>,
}

impl Live {
    /// Forgets where time was.
    pub fn restart(&mut self) {
        *self = Self {
            now_s: self.now_s,
            ..Self::default()
        };
    }

    /// The transport jumped: feet need their time all the same.
    pub fn jump(&mut self) {
        self.last_kick = None;
        // A note before the jump goes on leading, since a loop jumps all the time.
        self.last_note = self.last_note.map(|_| Ticks::MAX);
    }

    /// Hears a stroke at a tick.
    pub fn hear(&mut self, struck: &Struck, tick: Ticks) {
        if struck.note {
            self.last_note = Some(tick);
        }
    }

    /// Whether notes lead, so that the riff stays out of bars that begin at `tick`; `bar` is the
    /// length of a bar.
    pub fn leads(&mut self, tick: Ticks, bar: Ticks) -> bool {
        if self.last_note == Some(Ticks::MAX) {
            self.last_note = Some(tick);
        }
        self.last_note
            .is_some_and(|last| tick - last < LEADS_BARS * bar)
    }

    /// Ends a block of so many samples.
    pub fn end_block(&mut self, frames: u32, sample_rate: f64) {
        self.now_s += f64::from(frames) / sample_rate;
    }
}

/// Stretches of a span in which a locked section is played: from a tick up to another. There are never
/// more: between two of them is a bar, the shortest (1/16 at 1000 BPM) lasts 15 ms, and the longest block
/// (8192 samples) 370 ms.
pub type Edited = ArrayVec<(Ticks, Ticks), 16>;

/// One span of a block, played along with.
pub struct Along<'a> {
    /// What is remembered.
    pub live: &'a mut Live,
    /// The strokes that became known in it, in order; those that were played along are gone.
    pub strokes: &'a [Struck],
    /// The span.
    pub span: &'a Span,
    /// The settings in force where it begins.
    pub settings: Settings,
    /// The bar line after that, in ticks.
    pub turn: Ticks,
    /// The settings in force from there on, where a chart may have another section.
    pub after: Settings,
    /// Whether the part has the riff's kicks already.
    pub follows: bool,
    /// Where nothing is played along, since a locked section is played as it is.
    pub edited: Edited,
    /// In Hz.
    pub sample_rate: f64,
    /// In quarter notes a minute.
    pub bpm: f64,
}

impl Along<'_> {
    /// Plays the strokes up to a sample of the block.
    pub fn until(&mut self, sample: u32, strike: &mut impl FnMut(Hit, u32)) {
        while let Some((struck, later)) = self.strokes.split_first() {
            if struck.sample > sample {
                break;
            }
            self.strokes = later;
            self.stroke(struck, strike);
        }
    }

    fn stroke(&mut self, struck: &Struck, strike: &mut impl FnMut(Hit, u32)) {
        let tick = self.span.tick(struck.sample);
        let Settings {
            bar_settings,
            stroke_settings,
            ..
        } = *self.settings_at(tick);
        // What is heard in sound comes a little late: where the riff is known it is on time.
        let plays = bar_settings.kick_source.heeds_riff(bar_settings.beat())
            && (struck.note || !self.follows);
        if !plays {
            return;
        }
        let now_s = self.seconds(struck.sample);
        if self.is_edited(tick) {
            return;
        }
        let attack = Attack {
            tick,
            strength: struck.strength,
        };
        let limits = bar_settings.player.limits();
        let feet = &mut self.live.feet;
        if let Some(hit) = feet.kick(attack, now_s, self.bpm, &limits, &stroke_settings) {
            self.live.last_kick = Some((tick, now_s));
            strike(hit, struck.sample);
        }
    }

    /// Whether a hit of the part can be struck beside what was played along.
    pub fn has_room(&mut self, hit: &Hit) -> bool {
        if hit.piece != Piece::Kick {
            return true;
        }
        let now_s = self.seconds(self.span.sample(hit.tick));
        if let Some((tick, then_s)) = self.live.last_kick.filter(|_| !self.is_edited(hit.tick)) {
            let limits = self.settings.bar_settings.player.limits();
            let near = (hit.tick - tick).abs() < SAME || now_s - then_s + 1e-4 < limits.feet_s;
            if near {
                return false;
            }
        }
        self.live.feet.played(hit.limb, now_s);
        true
    }

    fn settings_at(&self, tick: Ticks) -> &Settings {
        if tick < self.turn {
            &self.settings
        } else {
            &self.after
        }
    }

    fn is_edited(&self, tick: Ticks) -> bool {
        let inside = |&(from, to): &(Ticks, Ticks)| (from..to).contains(&tick);
        self.edited.iter().any(inside)
    }

    fn seconds(&self, sample: u32) -> f64 {
        self.live.now_s + f64::from(sample) / self.sample_rate
    }
}

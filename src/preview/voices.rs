//! What sounds at once: strokes as voices over the kit's buffers, choked, stolen and let go without
//! a click.

use super::kit::{Kit, Sound};
use super::layers::MOST_LATE;
use super::mix::{BEFORE, Levels, Part, Parts, add, add_dulled, add_levelled};
use super::tone::gain;
use crate::kit::Piece;
use arrayvec::ArrayVec;

/// The most voices that sound at once, those that are fading out included.
pub const MAX_VOICES: usize = 64;

/// How long a voice takes to fall silent that makes room for another, in seconds.
const STEAL_S: f32 = 0.006;
/// How long one takes that is let go when the preview is switched off.
const OFF_S: f32 = 0.006;

/// How far strokes of one velocity differ: in level and in the share of the hard layer, each way, in dB.
/// People's strokes differ more, but that the drummer has decided already.
const LEVEL_DB: f32 = 0.4;
const COLOUR_DB: f32 = 1.5;

/// Samples that a stroke takes to begin which does not begin at its layers' start.
const BEGIN: usize = 16;

/// How many strokes on one piece ring together; the oldest makes room, as one's own new stroke
/// covers it. Skins are struck dead by the next stroke sooner than metal.
fn most(piece: Piece) -> usize {
    match piece {
        Piece::Kick
        | Piece::Snare
        | Piece::SideStick
        | Piece::Sticks
        | Piece::RackHigh
        | Piece::RackLow
        | Piece::FloorHigh
        | Piece::FloorLow => 3,
        Piece::HiHatClosed | Piece::HiHatLoose | Piece::HiHatOpen | Piece::HiHatFoot => 4,
        _ => 5,
    }
}

/// How fast the oldest stroke on a piece makes room for a new one, in seconds.
fn cover(piece: Piece) -> f32 {
    match piece {
        Piece::Kick | Piece::Snare | Piece::SideStick | Piece::Sticks => 0.02,
        Piece::RackHigh | Piece::RackLow | Piece::FloorHigh | Piece::FloorLow => 0.05,
        _ => 0.12,
    }
}

/// How open a hi-hat is; `None` for all else.
fn openness(piece: Piece) -> Option<u8> {
    match piece {
        Piece::HiHatFoot | Piece::HiHatClosed => Some(0),
        Piece::HiHatLoose => Some(1),
        Piece::HiHatOpen => Some(2),
        _ => None,
    }
}

/// How fast a hi-hat that is struck in one place quiets what rings from a more open one, in seconds.
fn choke(openness: u8) -> f32 {
    match openness {
        0 => 0.045,
        _ => 0.09,
    }
}

/// How fast a hand that grabs a cymbal silences it, in seconds. Judged.
const GRAB_S: f32 = 0.06;

#[derive(Debug, Clone, Copy)]
struct Voice {
    piece: Piece,
    /// Samples since it was struck; the stick is `early` and the layers are `skip` samples further in their buffers.
    at: usize,
    early: usize,
    skip: usize,
    soft: f32,
    hard: f32,
    hits: [f32; 2],
    /// 1 while it rings; falls to 0 by `fall` a sample once it is told to go.
    fade: f32,
    fall: f32,
    /// A hand grabs it at this sample since it was struck; `usize::MAX` for never.
    grabbed_at: usize,
}

/// The voices. Audio thread; no allocation.
pub(super) struct Voices {
    ringing: ArrayVec<Voice, MAX_VOICES>,
    sample_rate: f32,
    /// Of the voice that is worked out.
    levels: Levels,
}

impl Voices {
    pub(super) fn new(sample_rate: f32) -> Self {
        Self {
            ringing: ArrayVec::new(),
            sample_rate,
            levels: Levels::new(),
        }
    }

    pub(super) fn sounding(&self) -> usize {
        self.ringing.len()
    }

    pub(super) fn clear(&mut self) {
        self.ringing.clear();
    }

    /// Fades everything out.
    pub(super) fn let_go(&mut self) {
        let rate = self.sample_rate;
        self.ringing
            .iter_mut()
            .for_each(|voice| voice.go(OFF_S, rate));
    }

    /// Strikes a piece; `chance` makes the stroke its own.
    pub(super) fn strike(&mut self, kit: &Kit, piece: Piece, velocity: u8, chance: u64) {
        let rate = self.sample_rate;
        if let Some(now) = openness(piece) {
            let more_open = |voice: &&mut Voice| openness(voice.piece).is_some_and(|o| o > now);
            for voice in self.ringing.iter_mut().filter(more_open) {
                voice.go(choke(now), rate);
            }
        }
        let own = |voice: &&mut Voice| voice.piece == piece && voice.fall == 0.0;
        if self.ringing.iter_mut().filter(own).count() >= most(piece)
            && let Some(oldest) = self.ringing.iter_mut().find(own)
        {
            oldest.go(cover(piece), rate);
        }
        if self.ringing.is_full() {
            // Never happens with one drummer; whoever plays more loses the stroke, not the sound.
            if let Some(oldest) = self.ringing.iter_mut().find(|voice| voice.fall == 0.0) {
                oldest.go(STEAL_S, rate);
            }
            return;
        }
        let _ = self
            .ringing
            .try_push(Voice::new(kit, piece, velocity, chance));
    }

    /// Has a hand grab the voice that was struck last, so many samples after its stroke.
    pub(super) fn grab_last(&mut self, samples: u32) {
        if let Some(voice) = self.ringing.last_mut() {
            voice.grabbed_at = usize::try_from(samples).unwrap_or(usize::MAX);
        }
    }

    /// Adds a span of sound, at most [`SPAN`] samples.
    pub(super) fn render(&mut self, kit: &Kit, left: &mut [f32], right: &mut [f32]) {
        let (levels, rate) = (&mut self.levels, self.sample_rate);
        for voice in self.ringing.iter_mut().filter(|v| v.at >= v.grabbed_at) {
            voice.go(GRAB_S, rate);
        }
        self.ringing
            .retain(|voice| voice.render(kit, levels, left, right));
    }
}

/// 16 bits of a stroke's chance as a number in 0..1.
fn draw(chance: u64, which: u32) -> f32 {
    let bits = u16::try_from((chance >> (16 * which)) & 0xffff).unwrap_or(0);
    f32::from(bits) / 65_536.0
}

impl Voice {
    fn new(kit: &Kit, piece: Piece, velocity: u8, chance: u64) -> Self {
        let sound = kit.sound(piece);
        let v = f32::from(velocity.clamp(1, 127)) / 127.0;
        let level = v.powf(1.2) * gain((draw(chance, 0) * 2.0 - 1.0) * LEVEL_DB);
        let colour = gain((draw(chance, 1) * 2.0 - 1.0) * COLOUR_DB);
        // The hardest stroke is all of the hard layer, a whisper nearly all of the soft one.
        let hard = v.powf(1.15) * if v < 1.0 { colour } else { colour.min(1.0) };
        let turn = draw(chance, 2) * std::f32::consts::FRAC_PI_2;
        let stick = v.powf(sound.hit_power) * gain((draw(chance, 0) * 2.0 - 1.0) * LEVEL_DB);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let (early, skip) = (
            (draw(chance, 3) * (MOST_LATE + 1) as f32) as usize,
            (draw(chance.rotate_left(8), 3) * f32::from(sound.scatter + 1)) as usize,
        );
        Self {
            piece,
            at: 0,
            early: early.min(MOST_LATE),
            skip: skip.min(usize::from(sound.scatter)),
            soft: level * (1.0 - hard).max(0.0),
            hard: level * hard,
            hits: [stick * turn.cos(), stick * turn.sin()],
            fade: 1.0,
            fall: 0.0,
            grabbed_at: usize::MAX,
        }
    }

    /// Tells it to fall silent within `seconds`; never slower than it already was.
    fn go(&mut self, seconds: f32, rate: f32) {
        self.fall = self.fall.max(1.0 / (seconds * rate).max(1.0));
    }

    /// Adds a span and says whether anything is left.
    fn render(
        &mut self,
        kit: &Kit,
        levels: &mut Levels,
        left: &mut [f32],
        right: &mut [f32],
    ) -> bool {
        let sound = kit.sound(self.piece);
        // Who begins in the middle of a swing begins softly.
        let begins = self.skip > 0 && self.at < BEGIN;
        if self.fall == 0.0 && !begins {
            add(&self.parts(sound, 0), left, right);
        } else {
            levels.fall(self.fade, self.fall, left.len());
            if begins {
                let places = self.at..BEGIN;
                levels.begin(places.map(|place| place as f32 / BEGIN as f32));
            }
            if self.fall > 0.0 && self.at >= BEFORE {
                add_dulled(&self.parts(sound, BEFORE), levels, left, right);
            } else {
                add_levelled(&self.parts(sound, 0), levels, left, right);
            }
        }
        self.fade = (self.fade - self.fall * left.len() as f32).max(0.0);
        self.at += left.len();
        let end = sound.hard.left.len().max(sound.soft.left.len());
        self.fade > 0.0 && self.at < end
    }

    /// Its parts, from so many samples before the present one on.
    fn parts<'a>(&self, sound: &'a Sound, back: usize) -> Parts<'a> {
        let at = self.at - back;
        let (body, stick) = (at + self.skip, at + self.early);
        // Sticks are over long before the rest.
        let lasts = sound.hits.iter().any(|wave| stick < wave.left.len());
        let [first, second] = if lasts {
            [0, 1].map(|i| Part::new(&sound.hits[i], self.hits[i], stick))
        } else {
            [Part::OVER; 2]
        };
        let soft = Part::new(&sound.soft, self.soft, body);
        let hard = Part::new(&sound.hard, self.hard, body);
        [soft, hard, first, second]
    }
}

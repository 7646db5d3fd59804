//! What sounds at once: strokes as voices over the kit's buffers, choked, stolen and let go without
//! a click.

use super::kit::{Kit, TAKES};
use crate::kit::Piece;
use arrayvec::ArrayVec;

/// The most voices that sound at once, those that are fading out included.
pub const MAX_VOICES: usize = 64;

/// How long a voice takes to fall silent that makes room for another, in seconds.
const STEAL_S: f32 = 0.006;
/// How long one takes that is let go when the preview is switched off.
const OFF_S: f32 = 0.006;

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
        _ => 6,
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
        0 => 0.03,
        _ => 0.09,
    }
}

#[derive(Debug, Clone, Copy)]
struct Voice {
    piece: Piece,
    take: usize,
    at: usize,
    body: f32,
    edge: f32,
    /// The body's low-pass: how far it follows in a sample, and where it is.
    open: f32,
    smooth: f32,
    pan: (f32, f32),
    /// 1 while it rings; falls to 0 by `fall` a sample once it is told to go.
    fade: f32,
    fall: f32,
}

/// The voices. Audio thread; no allocation.
pub(super) struct Voices {
    ringing: ArrayVec<Voice, MAX_VOICES>,
    /// The take that each piece is struck with next.
    next: [usize; Piece::COUNT],
    sample_rate: f32,
}

impl Voices {
    pub(super) fn new(sample_rate: f32) -> Self {
        Self {
            ringing: ArrayVec::new(),
            next: [0; Piece::COUNT],
            sample_rate,
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

    /// Strikes a piece.
    pub(super) fn strike(&mut self, kit: &Kit, piece: Piece, velocity: u8) {
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
        let take = self.next[piece as usize];
        self.next[piece as usize] = (take + 1) % TAKES;
        self.ringing
            .push(Voice::new(kit, piece, velocity, take, rate));
    }

    /// Adds a span of sound.
    pub(super) fn render(&mut self, kit: &Kit, left: &mut [f32], right: &mut [f32]) {
        self.ringing.retain(|voice| voice.render(kit, left, right));
    }
}

impl Voice {
    fn new(kit: &Kit, piece: Piece, velocity: u8, take: usize, rate: f32) -> Self {
        let sound = kit.sound(piece);
        let v = f32::from(velocity.clamp(1, 127)) / 127.0;
        // What a soft stroke does not excite: skins and wood are dull at a whisper, metal less so.
        let (soft, hard): (f32, f32) = if sound.bright {
            (3000.0, 26_000.0)
        } else {
            (900.0, 22_000.0)
        };
        let cutoff = soft * (hard / soft).powf(v);
        let angle = (sound.pan.clamp(-1.0, 1.0) + 1.0) * std::f32::consts::FRAC_PI_4;
        // At the middle both sides have the full level.
        let side = std::f32::consts::SQRT_2;
        Self {
            piece,
            take,
            at: 0,
            body: v.powf(1.35),
            edge: v.powf(2.6),
            open: 1.0 - (-std::f32::consts::TAU * cutoff / rate).exp(),
            smooth: 0.0,
            pan: (angle.cos() * side, angle.sin() * side),
            fade: 1.0,
            fall: 0.0,
        }
    }

    /// Tells it to fall silent within `seconds`; never slower than it already was.
    fn go(&mut self, seconds: f32, rate: f32) {
        self.fall = self.fall.max(1.0 / (seconds * rate).max(1.0));
    }

    /// Adds a span and says whether anything is left.
    fn render(&mut self, kit: &Kit, left: &mut [f32], right: &mut [f32]) -> bool {
        let take = &kit.sound(self.piece).takes[self.take];
        let body = take.body.get(self.at..).unwrap_or(&[]);
        let edge = take.edge.get(self.at..).unwrap_or(&[]);
        self.at += left.len().min(body.len());
        if self.fall > 0.0 {
            self.fade(body, edge, left, right);
        } else {
            self.ring(body, edge, left, right);
        }
        self.fade > 0.0 && self.at < take.body.len()
    }

    /// The usual case, kept short: there are many voices, and few of them fade.
    fn ring(&mut self, body: &[f32], edge: &[f32], left: &mut [f32], right: &mut [f32]) {
        for ((l, r), body) in left.iter_mut().zip(right.iter_mut()).zip(body) {
            self.smooth += (body * self.body - self.smooth) * self.open;
            *l += self.smooth * self.pan.0;
            *r += self.smooth * self.pan.1;
        }
        let pan = (self.edge * self.pan.0, self.edge * self.pan.1);
        for ((l, r), edge) in left.iter_mut().zip(right.iter_mut()).zip(edge) {
            *l += edge * pan.0;
            *r += edge * pan.1;
        }
    }

    /// A voice on its way out.
    fn fade(&mut self, body: &[f32], edge: &[f32], left: &mut [f32], right: &mut [f32]) {
        let mut edges = edge.iter();
        for ((l, r), body) in left.iter_mut().zip(right.iter_mut()).zip(body) {
            self.smooth += (body * self.body - self.smooth) * self.open;
            let edge = edges.next().map_or(0.0, |edge| edge * self.edge);
            // A bend in the fade would be heard as a tick where a tone is strong.
            let fade = self.fade * self.fade * (3.0 - 2.0 * self.fade);
            let x = (self.smooth + edge) * fade;
            *l += x * self.pan.0;
            *r += x * self.pan.1;
            self.fade = (self.fade - self.fall).max(0.0);
        }
    }
}

//! How much a stroke matters to the listener, and so which of several goes first.

use super::{Limbs, TOLERANCE_S, TimedStroke, before, is_open};
use crate::kit::Piece;
use crate::time::{TICKS_PER_QUARTER, Ticks};

/// The cost of leaving out a stroke is this plus its importance, so fewer strokes come before lesser ones.
const WHOLE_STROKE: u64 = 1_000_000;

/// What an open stroke of the hi-hat at a stroke of the pedal costs less than that: the pedal may then stay.
const FREED_PEDAL: u64 = 1000;

/// Strokes of at least this importance move rather than drop out.
const MOVED_FROM: u64 = 30;

/// A flam's grace note comes less than this before its stroke, in seconds: 15 to 40 ms is common practice, no source.
const FLAM_S: f64 = 0.045;

/// The importance of a grace note: the stroke that it leads to is heard without it.
const GRACE: u64 = 5;

/// Whether a stroke carries the beat, wherever it stands.
fn carries(stroke: TimedStroke) -> bool {
    importance(TimedStroke { tick: 1, ..stroke }) >= MOVED_FROM
}

/// The importance of a stroke to the listener. By piece: the backbeat first, then strokes that mark the form, then
/// fill-ins, then time-keeping. Between equals by place: quarters before eighths before sixteenths. Judged, no
/// source.
fn importance(stroke: TimedStroke) -> u64 {
    let piece = match stroke.piece {
        Piece::Snare | Piece::Kick => 50,
        Piece::CrashLeft | Piece::CrashRight | Piece::China | Piece::SideStick => 40,
        Piece::RackHigh | Piece::RackLow | Piece::FloorHigh | Piece::FloorLow => 30,
        Piece::Splash | Piece::RideBell => 25,
        Piece::Ride | Piece::HiHatOpen | Piece::HiHatLoose | Piece::HiHatClosed => 20,
        Piece::HiHatFoot | Piece::Sticks => 10,
    };
    let on = |part: Ticks| u64::from(stroke.tick % (TICKS_PER_QUARTER / part) == 0);
    piece + on(1) + on(2) + on(4)
}

impl Limbs<'_> {
    /// Whether a hand strikes the hi-hat open at a stroke of the pedal: one of the two has to go.
    fn meets_pedal(&self, i: usize) -> bool {
        let it = self.strokes[i];
        let from = self.pedals.partition_point(|&pedal| before(pedal, it));
        let closes = self
            .pedals
            .get(from)
            .is_some_and(|&pedal| !before(it, pedal));
        is_open(&it) && closes
    }

    /// The cost of leaving out a stroke.
    pub(super) fn cost(&self, i: usize) -> u64 {
        let freed = if self.meets_pedal(i) { FREED_PEDAL } else { 0 };
        WHOLE_STROKE + self.importance(i) - freed
    }

    /// Whether a stroke that can't stay where it is moves rather than drops out.
    pub(super) fn moves(&self, i: usize) -> bool {
        !self.is_grace(i) && carries(self.strokes[i])
    }

    /// The importance of a stroke: less where the pedal contradicts it, or where the listener misses little.
    fn importance(&self, i: usize) -> u64 {
        if self.meets_pedal(i) {
            0
        } else if self.is_grace(i) {
            GRACE
        } else {
            importance(self.strokes[i])
        }
    }

    /// Whether a stroke is a flam's grace note: alone, just before another stroke on the same drum.
    fn is_grace(&self, i: usize) -> bool {
        let it = self.strokes[i];
        if !carries(it) {
            return false;
        }
        let near = |s: &&TimedStroke| (s.seconds - it.seconds).abs() < 3.0 * FLAM_S;
        let same = |s: &&TimedStroke| s.piece == it.piece;
        let mut after = self.strokes[i + 1..].iter().take_while(near).filter(same);
        let mut before = self.strokes[..i].iter().rev().take_while(near).filter(same);
        let Some(main) = after.next() else {
            return false;
        };
        let gap = main.seconds - it.seconds;
        let alone = |other: Option<&TimedStroke>, from: &TimedStroke| {
            other.is_none_or(|other| (other.seconds - from.seconds).abs() > 1.5 * gap)
        };
        (TOLERANCE_S..FLAM_S).contains(&gap)
            && alone(after.next(), main)
            && alone(before.next(), &it)
    }
}

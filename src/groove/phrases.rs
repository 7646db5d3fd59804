//! What a bar plays because of its place in the phrase: the crash that opens it, count-ins and endings. `filled` has
//! the fills.
//!
//! Common practice, no source. No decision depends on earlier output.

mod filled;

use super::beat::Beat;
use super::context::{Call, Context};
use super::stroke::{Limb, Origin, Part, Stroke, StrokeTarget};
use crate::kit::{Piece, Ring};
use crate::settings::{Crashes, Play, Start};
pub(super) use filled::{Landing, at_end, come_home, fill, ground, land, landing};
pub use filled::{ends_in_fill, ends_on_floor_toms};

/// The minimum intensity for the crash that opens a phrase, by the bars that divide the phrase's start: every
/// eighth bar, every fourth, every second. Tuned by ear: a quiet part has few crashes.
const CRASH_NEEDS: [(i64, f32); 3] = [(8, 0.2), (4, 0.4), (2, 0.75)];

/// The crash that opens a bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Opening {
    /// The intensity that it needs.
    pub(super) min_intensity: f32,
    /// Why it is there.
    pub(super) origin: Origin,
}

impl Opening {
    /// A crash that every intensity has.
    fn certain(origin: Origin) -> Self {
        Self {
            min_intensity: 0.0,
            origin,
        }
    }
}

/// The bar's opening crash; `None` where the bar has no crash. `bare`: at density 0.
///
/// A crash that a section states, or on which a fill lands, is played whatever the setting of the crashes. At
/// density 0 without fills, the beat is bare: only the section's own start has a crash.
pub(super) fn opening(ctx: &Context, beat: &Beat, call: &Call, bare: bool) -> Option<Opening> {
    opening_after(ctx, beat, landing(ctx, beat, call), bare)
}

/// As [`opening`], where the landing of the bar is known.
pub(super) fn opening_after(
    ctx: &Context,
    beat: &Beat,
    landing: Option<Landing>,
    bare: bool,
) -> Option<Opening> {
    let starts = ctx.phrase.index == 0;
    let start = ctx
        .section_position
        .filter(|section_position| section_position.index == 0)
        .map(|section_position| section_position.start);
    match start {
        Some(Start::Crash | Start::China) => {
            return Some(Opening::certain(Origin::SectionStart));
        }
        Some(Start::Nothing) => return None,
        Some(Start::Auto | Start::CountIn) | None => {}
    }
    if landing.is_some_and(|landing| landing.crash) {
        return Some(Opening::certain(Origin::Landing));
    }
    let no_fills = ctx.bar_settings.fill_chance <= 0.0;
    let wanted = match ctx.bar_settings.crashes {
        Crashes::Phrase => ctx.starts_section() || !(bare && no_fills),
        Crashes::Section => ctx.starts_section(),
        Crashes::None => false,
    };
    let index = ctx.bar.index();
    let row = CRASH_NEEDS
        .iter()
        .find(|(bars, _)| index.rem_euclid(*bars) == 0);
    (beat.opens && starts && wanted).then(|| Opening {
        min_intensity: row.map_or(1.0, |(_, min_intensity)| *min_intensity),
        origin: if ctx.starts_section() {
            Origin::SectionStart
        } else {
            Origin::PhraseStart
        },
    })
}

/// Plays what replaces the beat (count-in, ending, rest); false where the bar plays the beat.
pub(super) fn instead(ctx: &Context, part: &mut Part) -> bool {
    let counts = &ctx.layout.counts;
    let sticks = match ctx.bar_settings.play {
        Play::Beat => return false,
        Play::Rest => 0,
        Play::CountIn => 4,
        Play::ShortCountIn => 2,
        Play::Ending => {
            end(part);
            return true;
        }
    };
    for count in counts.iter().rev().take(sticks) {
        part.push_stroke(Stroke {
            tick: count.start,
            limb: Limb::LeadHand,
            target: StrokeTarget::Piece(Piece::Sticks),
            origin: Origin::CountIn,
            ..Stroke::EMPTY
        });
    }
    true
}

/// The last hit: kick and crashes together on the 1, ringing. Each hand strikes the crash on its own side.
fn end(part: &mut Part) {
    let hit = |limb, target, min_intensity| Stroke {
        limb,
        target,
        min_intensity,
        origin: Origin::Ending,
        ring: Ring::On,
        ..Stroke::EMPTY
    };
    part.push_stroke(hit(
        Limb::LeadHand,
        StrokeTarget::Piece(Piece::CrashRight),
        0.0,
    ));
    part.push_stroke(hit(
        Limb::OtherHand,
        StrokeTarget::Piece(Piece::CrashLeft),
        0.5,
    ));
    part.push_stroke(hit(Limb::LeadFoot, StrokeTarget::KICK, 0.0));
}

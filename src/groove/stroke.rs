//! Strokes, the part they make, and how a stroke becomes a hit.

use super::cymbal::{HandCymbal, Ladder};
use super::edit::{EditTarget, MAX_IN_BAR, PackedExact};
pub use super::hit::{Hit, Limb};
use super::limits::{is_too_fast, thin};
pub use super::manner::{Manner, Version};
pub use super::origin::Origin;
use super::roles::{CountLayout, TickList};
pub use super::standing::Standing;
use super::stroke_kind::StrokeKind;
use crate::kit::hi_hat::usual_opening;
use crate::kit::{Piece, Ring};
use crate::settings::StrokeSettings;
use crate::time::{Bar, Meter, Ticks};
use arrayvec::ArrayVec;
use std::fmt;

/// What a stroke strikes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StrokeTarget {
    /// This piece, independent of the settings.
    Piece(Piece),
    /// The hand cymbal at the moment of the stroke.
    HandCymbal,
    /// The crash that opens a phrase or on which a fill lands, in place of the hand cymbal. Below the stroke's
    /// minimum intensity it becomes a stroke on the hand cymbal if `rides`, else nothing.
    Opening {
        /// Whether the lead hand has a stroke here apart from the crash.
        rides: bool,
    },
    /// The emphasised hand cymbal: a hi-hat opens, the ride is struck on its bell.
    Lifted,
}

impl StrokeTarget {
    /// The kick.
    pub(super) const KICK: Self = Self::Piece(Piece::Kick);

    /// What a stroke strikes that the songwriter asks for.
    pub(super) fn of_edit(target: EditTarget) -> Self {
        match target {
            EditTarget::Hand => Self::HandCymbal,
            EditTarget::Opening => Self::Opening { rides: false },
            EditTarget::Piece(piece) => Self::Piece(piece),
        }
    }
}

/// A stroke of one limb on one target at one tick, before it becomes a note.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stroke {
    /// Its place on the grid, in ticks on the song's timeline.
    pub tick: Ticks,
    /// Where it sounds with swing and feel, in ticks on the song's timeline. It stays in its bar; within a section of the
    /// chart the 1 may be early, by [`feel::earliest`](super::feel::earliest) at most.
    pub play_tick: Ticks,
    /// The limb.
    pub limb: Limb,
    /// The target.
    pub target: StrokeTarget,
    /// 0 for a core stroke of the beat. An extra has a rank in (0, 1] and sounds where density reaches its rank.
    pub rank: f32,
    /// The versions of the bar that have it.
    pub version: Version,
    /// Whether it is an extra at full level: a doubled snare stroke, not a ghost note.
    pub full: bool,
    /// Why it is there.
    pub origin: Origin,
    /// Its kind: its level and its spreads.
    pub kind: StrokeKind,
    /// How strongly accent changes its velocity, about -1.5..=1.5. The core strokes of a kind in a part average 0.
    pub weight: f32,
    /// How far it deviates from what was meant, in velocity steps (MIDI) at accent 1; accent 0 leaves a fifth.
    pub touch: f32,
    /// Velocity steps (MIDI) added at every accent.
    pub velocity_offset: f32,
    /// Its minimum intensity, 0..=1: it is not played below. 0 for most.
    pub min_intensity: f32,
    /// For a grace note, the ticks from it to its main stroke on the grid; 0 for all others.
    pub grace: Ticks,
    /// Whether it is the second stroke of one motion, on the rebound of the limb's last.
    pub bounce: bool,
    /// How long it is left to ring.
    pub ring: Ring,
    /// How it depends on the hand cymbal.
    pub manner: Manner,
    /// How far it lies within what closed, loose and open mean for a hi-hat, 0..1.
    pub opens: f32,
    /// Its place among the strokes of its limb in the bar, from 0.
    pub turn: u8,
    /// Who wants it.
    pub standing: Standing,
    /// What the songwriter said exactly of it.
    pub exact: PackedExact,
}

impl Stroke {
    /// Whether it is a ghost note: an extra on the snare that is not at full level.
    pub fn is_ghost(&self) -> bool {
        self.rank > 0.0 && !self.full && self.target == StrokeTarget::Piece(Piece::Snare)
    }

    /// What an edit by hand calls it.
    pub fn edit_target(&self) -> EditTarget {
        match self.target {
            StrokeTarget::Piece(piece) => EditTarget::Piece(piece),
            StrokeTarget::HandCymbal | StrokeTarget::Lifted => EditTarget::Hand,
            StrokeTarget::Opening { .. } => EditTarget::Opening,
        }
    }

    /// Whether the songwriter asked for it.
    pub(super) fn is_asked(&self) -> bool {
        self.standing == Standing::Asked
    }

    /// Whether it is a hit of the band.
    pub(super) fn is_stab(&self) -> bool {
        self.standing == Standing::Stab
    }

    /// Whether it is on the hand cymbal as it is ridden: neither emphasised, nor opened or loosened.
    pub(super) fn is_ridden(&self) -> bool {
        self.target == StrokeTarget::HandCymbal && self.manner == Manner::Plain
    }

    /// Whether it may sound at density 0 (`bare`), or above it.
    pub fn is_in(&self, bare: bool) -> bool {
        if bare {
            self.rank == 0.0 && self.version != Version::Varied
        } else {
            self.version != Version::Bare
        }
    }

    /// Whether there is a density at which both sound. Limits hold only between such strokes.
    pub fn sounds_with(&self, other: &Self) -> bool {
        [true, false]
            .into_iter()
            .any(|bare| self.is_in(bare) && other.is_in(bare))
    }

    /// Whether it may be one on a hi-hat.
    pub(super) fn may_be_on_hi_hat(&self) -> bool {
        match self.target {
            StrokeTarget::Piece(piece) => usual_opening(piece).is_some(),
            StrokeTarget::HandCymbal | StrokeTarget::Opening { .. } | StrokeTarget::Lifted => true,
        }
    }

    /// An empty stroke as a base for others.
    pub(super) const EMPTY: Self = Self {
        tick: 0,
        play_tick: 0,
        limb: Limb::LeadHand,
        target: StrokeTarget::HandCymbal,
        rank: 0.0,
        version: Version::Both,
        full: false,
        origin: Origin::Beat,
        kind: StrokeKind::Drum,
        weight: 0.0,
        touch: 0.0,
        velocity_offset: 0.0,
        min_intensity: 0.0,
        grace: 0,
        bounce: false,
        ring: Ring::Free,
        manner: Manner::Plain,
        opens: 0.0,
        turn: 0,
        standing: Standing::Own,
        exact: PackedExact::NONE,
    };
}

/// A fill of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fill {
    /// Its first tick in its bar, on the timeline.
    pub start: Ticks,
    /// The first tick after it in its bar, on the timeline.
    pub end: Ticks,
    /// Name of the figure, for display.
    pub(super) figure: &'static str,
    /// Name of the path, for display.
    pub(super) path: &'static str,
    /// Whether it plays triplets in a straight beat.
    pub(super) triplets: bool,
}

impl Fill {
    /// Whether a stroke at a tick of the timeline belongs to triplets, which do not swing.
    pub(super) fn is_unswung(&self, tick: Ticks) -> bool {
        self.triplets && self.contains(tick)
    }

    /// Whether a tick of the timeline falls into it.
    pub(super) fn contains(&self, tick: Ticks) -> bool {
        (self.start..self.end).contains(&tick)
    }
}

/// Its displayed name: figure and path.
impl fmt::Display for Fill {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { figure, path, .. } = self;
        write!(f, "{figure}, {path}")
    }
}

/// Most strokes in a bar: the sixteenths of 32/2 with four limbs, plus room for fills. A part never exceeds it, so
/// composing never allocates.
pub const MAX_STROKES: usize = 1280;
/// Most removed strokes that a part keeps. Judged: about a bar of them.
pub const MAX_DROPPED: usize = 256;

/// Most strokes that can sound late at one tick: those of a quarter of a count with four limbs, plus a reserve.
const MAX_LATE: usize = 32;

/// The strokes of one bar at full density, in the order in which they sound.
#[derive(Debug, Clone)]
pub struct Part {
    pub(super) bar: Bar,
    pub(super) strokes: Vec<Stroke>,
    pub(super) own: HandCymbal,
    pub(super) ladder: Ladder,
    pub(super) fill: Option<Fill>,
    pub(super) thinned: usize,
    /// The strokes removed first.
    pub(super) dropped: Vec<Stroke>,
    /// Whether the beat's own kicks need both feet, so that *auto* lets the hi-hat hang loose. The same for every bar
    /// of a phrase: see [`hi_hat::is_busy`](super::hi_hat::is_busy).
    pub(super) loose: bool,
    /// Whether hands strike more than the snare and what is ridden, so that they may share the bar in many ways: in own
    /// beats.
    pub(super) free: bool,
    /// How many more of the beat's own strokes the bar's variation may take: leave out, move, or give another piece.
    pub(super) may_take: usize,
    /// The lead foot's next kick after the bar, in ticks from the bar's start, where the riff determines it; `None`
    /// for the next 1.
    pub(super) next_kick: Option<Ticks>,
    /// From a short hit of the band up to where the drums come in again, in ticks of the timeline: the last one.
    pub(super) silence: Option<(Ticks, Ticks)>,
    /// The places in the song's list of the edits that found no stroke.
    pub(super) slept: ArrayVec<u32, MAX_IN_BAR>,
}

impl Part {
    /// An empty part with room for any bar. Allocates: keep it and compose into it again.
    pub fn new() -> Self {
        Self {
            bar: Bar {
                start: 0,
                meter: Meter::FOUR_FOUR,
            },
            strokes: Vec::with_capacity(MAX_STROKES),
            own: HandCymbal::HiHatClosed,
            ladder: &HandCymbal::ALL,
            fill: None,
            thinned: 0,
            dropped: Vec::with_capacity(MAX_DROPPED),
            loose: false,
            free: false,
            may_take: 0,
            next_kick: None,
            silence: None,
            slept: ArrayVec::new(),
        }
    }

    /// The bar that it fills.
    pub fn bar(&self) -> Bar {
        self.bar
    }

    /// Its strokes at full density, in the order in which they sound.
    pub fn strokes(&self) -> &[Stroke] {
        &self.strokes
    }

    /// Its fill.
    pub fn fill(&self) -> Option<Fill> {
        self.fill
    }

    /// Whether a tick of the timeline falls into its fill.
    pub(super) fn in_fill(&self, tick: Ticks) -> bool {
        self.fill.is_some_and(|fill| fill.contains(tick))
    }

    /// Whether the drums wait at a tick of the timeline, after a short hit of the band.
    pub(super) fn is_silent(&self, tick: Ticks) -> bool {
        self.silence
            .is_some_and(|(from, to)| from < tick && tick < to)
    }

    /// The number of strokes that the limits removed: from figures that fell to a slower subdivision, and single
    /// strokes that no hand could reach.
    pub fn thinned(&self) -> usize {
        self.thinned
    }

    /// The strokes that the limits removed, the first [`MAX_DROPPED`] of them, in no particular order.
    pub fn dropped(&self) -> &[Stroke] {
        &self.dropped
    }

    /// The edits of the bar that found no stroke, by their places in the list that the bar was composed with.
    pub fn slept(&self) -> &[u32] {
        &self.slept
    }

    /// The hand cymbal with the settings of a moment.
    pub fn cymbal(&self, stroke_settings: &StrokeSettings) -> HandCymbal {
        self.cymbal_after(None, stroke_settings)
    }

    /// The hand cymbal with the settings of a moment, where *auto* holds another one and leaves it only for a clear
    /// change of intensity.
    pub fn cymbal_after(
        &self,
        held: Option<HandCymbal>,
        stroke_settings: &StrokeSettings,
    ) -> HandCymbal {
        let (own, ladder) = (self.own, self.ladder);
        let chosen = match (stroke_settings.hand.cymbal(), held) {
            // A stated hi-hat stays as stated: a drummer with two kick pedals has a clutch, or a second, closed one.
            (Some(stated), _) => return stated,
            (None, Some(held)) => {
                HandCymbal::auto_from(held, own, ladder, stroke_settings.intensity)
            }
            (None, None) => HandCymbal::auto(own, ladder, stroke_settings.intensity),
        };
        match chosen {
            HandCymbal::HiHatClosed if self.loose => HandCymbal::HiHatLoose,
            chosen => chosen,
        }
    }

    /// The place from which the auto hand cymbal at a tick of the timeline holds: the bar line or the last backbeat.
    /// A hand moves with the accent.
    pub fn cymbal_turn(&self, tick: Ticks) -> Ticks {
        let (_, back) = self.bar.meter.pairs();
        let turns = back.iter().map(|pulse| self.bar.start + pulse.start);
        turns
            .filter(|turn| *turn <= tick)
            .max()
            .unwrap_or(self.bar.start)
    }

    /// Recomposes the part from tick `at` on with `compose`. Strokes before it on the grid stay; the new part's
    /// strokes follow. `struck` is the place on the grid of each limb's last stroke: one that a limb has already played
    /// early is not repeated. Audio thread.
    pub fn change_at(
        &mut self,
        at: Ticks,
        struck: &[Ticks; Limb::ALL.len()],
        compose: impl FnOnce(&mut Self),
    ) {
        let mut kept: ArrayVec<Stroke, MAX_LATE> = ArrayVec::new();
        let late = |s: &&Stroke| s.tick < at && s.play_tick >= at;
        for stroke in self.strokes.iter().filter(late) {
            let _ = kept.try_push(*stroke);
        }
        compose(self);
        self.strokes.retain(|s| s.tick >= at);
        self.not_before(at, struck);
        let room = MAX_STROKES.saturating_sub(self.strokes.len());
        self.strokes.extend(kept.into_iter().take(room));
        self.sort();
    }

    /// Lets every stroke on the grid from a tick on sound at that tick or later: playback begins there. `struck` as in
    /// [`Self::change_at`]. Audio thread.
    pub fn not_before(&mut self, at: Ticks, struck: &[Ticks; Limb::ALL.len()]) {
        self.strokes
            .retain(|s| s.tick < at || s.tick > struck[s.limb as usize]);
        for stroke in self.strokes.iter_mut().filter(|s| s.tick >= at) {
            stroke.play_tick = stroke.play_tick.max(at);
        }
        self.sort();
    }

    /// Moves the whole part by `by` ticks.
    pub fn shift(&mut self, by: Ticks) {
        self.bar.start += by;
        for stroke in self.strokes.iter_mut().chain(&mut self.dropped) {
            stroke.tick += by;
            stroke.play_tick += by;
        }
        if let Some(fill) = &mut self.fill {
            fill.start += by;
            fill.end += by;
        }
    }

    /// Sorts the strokes into the order in which they sound.
    pub(super) fn sort(&mut self) {
        self.strokes
            .sort_unstable_by_key(|s| (s.play_tick, s.limb, s.tick));
    }

    /// Adds a stroke at a tick of the bar. A full part drops it: see [`MAX_STROKES`].
    pub(super) fn push(&mut self, at: Ticks, limb: Limb, target: StrokeTarget, rank: f32) {
        self.push_stroke(Stroke {
            tick: at,
            limb,
            target,
            rank,
            ..Stroke::EMPTY
        });
    }

    /// Adds a stroke whose tick is relative to the bar, otherwise as [`Self::push`].
    pub(super) fn push_stroke(&mut self, stroke: Stroke) {
        if self.strokes.len() < MAX_STROKES {
            let tick = self.bar.start + stroke.tick;
            self.strokes.push(Stroke {
                tick,
                play_tick: tick,
                ..stroke
            });
        }
    }

    /// Counts a stroke that the limits removed. Its tick is on the timeline.
    pub(super) fn drop_stroke(&mut self, stroke: Stroke) {
        self.thinned += 1;
        if self.dropped.len() < MAX_DROPPED {
            self.dropped.push(stroke);
        }
    }

    /// Forgets removed strokes where others replace them.
    pub(super) fn forget_dropped(&mut self, gone: impl Fn(&Stroke) -> bool) {
        let before = self.dropped.len();
        self.dropped.retain(|stroke| !gone(stroke));
        self.thinned -= before - self.dropped.len();
    }

    /// Thins a limb's figure, in ticks from the start of the bar, as [`limits::thin`](super::limits::thin) does,
    /// and counts the strokes removed.
    pub(super) fn thin(
        &mut self,
        (figure, gap): (&mut TickList, Ticks),
        layout: &CountLayout,
        limb: Limb,
        target: StrokeTarget,
    ) {
        if !is_too_fast(figure, gap, layout.bar_len) {
            return;
        }
        let before = figure.clone();
        thin(figure, gap, &layout.counts, layout.bar_len);
        let gone = before.iter().filter(|tick| !figure.contains(tick));
        for &at in gone {
            let tick = self.bar.start + at;
            self.drop_stroke(Stroke {
                tick,
                play_tick: tick,
                limb,
                target,
                ..Stroke::EMPTY
            });
        }
    }

    /// Lowers the stroke pushed last by `by` velocity steps.
    pub(super) fn soften_last(&mut self, by: f32) {
        if let Some(stroke) = self.strokes.last_mut() {
            stroke.velocity_offset -= by;
        }
    }

    /// Whether a limb strikes less than `before` ticks before a tick of the bar, on it, or less than
    /// `after` ticks after it.
    pub(super) fn busy(&self, limb: Limb, at: Ticks, before: Ticks, after: Ticks) -> bool {
        let tick = self.bar.start + at;
        let near = |other: Ticks| tick - other < before && other - tick < after;
        self.strokes.iter().any(|s| s.limb == limb && near(s.tick))
    }
}

impl Default for Part {
    fn default() -> Self {
        Self::new()
    }
}

//! Strokes, the part they make, and how a stroke becomes a hit.

use super::cymbal::HandCymbal;
use super::limits::thin;
use super::roles::{CountLayout, TickList};
use crate::kit::Piece;
use crate::settings::StrokeSettings;
use crate::time::{Bar, Meter, Ticks};
use arrayvec::ArrayVec;
use std::fmt;

/// One of the drummer's limbs; "lead" is the dominant side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Limb {
    /// The hand that rides.
    LeadHand,
    /// The hand that has the snare.
    OtherHand,
    /// The foot that has the kick.
    LeadFoot,
    /// The foot that has the hi-hat pedal and the second kick pedal.
    OtherFoot,
}

impl Limb {
    /// The four limbs.
    pub const ALL: [Self; 4] = [
        Self::LeadHand,
        Self::OtherHand,
        Self::LeadFoot,
        Self::OtherFoot,
    ];

    /// Its name, in the trade's words.
    pub fn name(self) -> &'static str {
        match self {
            Self::LeadHand => "lead hand",
            Self::OtherHand => "other hand",
            Self::LeadFoot => "lead foot",
            Self::OtherFoot => "other foot",
        }
    }
}

/// What a stroke strikes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StrokeTarget {
    /// This piece, whatever the settings.
    Piece(Piece),
    /// The hand cymbal of the moment.
    HandCymbal,
    /// The crash that opens a phrase or that a fill lands on, in place of the hand cymbal. At less
    /// intensity than it needs it is a stroke on the hand cymbal where the hand `rides` there anyway,
    /// and nothing where it does not.
    Opening {
        /// Whether the lead hand has a stroke here without it.
        rides: bool,
    },
    /// The hand cymbal, opened or struck on its bell.
    Lifted,
}

/// One limb hitting one piece at one tick, before it has become a note.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stroke {
    /// Where it stands on the grid, in ticks on the song's timeline.
    pub tick: Ticks,
    /// Where it sounds, with swing and feel, in ticks on the song's timeline; in its own bar.
    pub play_tick: Ticks,
    /// Who.
    pub limb: Limb,
    /// What.
    pub target: StrokeTarget,
    /// 0 for the core of the beat; an extra has a rank in (0, 1] and sounds while it is not above
    /// density.
    pub rank: f32,
    /// How much accent moves it, about -1..=1; the core strokes of a part average 0.
    pub weight: f32,
    /// What is added to its velocity whatever the accent, in MIDI velocity steps: touch, and how
    /// far a ghost note lies below.
    pub velocity_offset: f32,
    /// From which intensity on it is played, 0..=1; 0 for most.
    pub min_intensity: f32,
    /// For a grace note, how many ticks after it its stroke stands on the grid; 0 for all others.
    pub grace: Ticks,
    /// Whether it is the second stroke of one motion, on the rebound of the limb's last.
    pub bounce: bool,
    /// Whether it rings on: the last hit of an ending.
    pub rings: bool,
}

impl Stroke {
    /// Whether it is a ghost note: an extra on the snare.
    pub fn is_ghost(&self) -> bool {
        self.rank > 0.0 && self.target == StrokeTarget::Piece(Piece::Snare)
    }

    /// A stroke to fill in.
    pub(super) const EMPTY: Self = Self {
        tick: 0,
        play_tick: 0,
        limb: Limb::LeadHand,
        target: StrokeTarget::HandCymbal,
        rank: 0.0,
        weight: 0.0,
        velocity_offset: 0.0,
        min_intensity: 0.0,
        grace: 0,
        bounce: false,
        rings: false,
    };
}

/// A stroke that sounds: a stroke with the settings of its moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hit {
    /// When it sounds, in ticks on the song's timeline.
    pub tick: Ticks,
    /// Where it stands on the grid, in ticks on the song's timeline; a grace note where its stroke does.
    pub grid: Ticks,
    /// Who struck.
    pub limb: Limb,
    /// What was struck.
    pub piece: Piece,
    /// How hard, as a MIDI velocity, 1..=127.
    pub velocity: u8,
    /// Whether it is a grace note.
    pub grace: bool,
    /// Whether it is a ghost note: by what it is for, not by how soft it is.
    pub ghost: bool,
    /// Whether it rings on: the last hit of an ending.
    pub rings: bool,
}

/// A fill of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fill {
    /// Where it begins in its bar, in ticks on the timeline.
    pub start: Ticks,
    /// Where it ends in its bar: the first tick after it.
    pub end: Ticks,
    /// What is played, for people.
    pub(super) figure: &'static str,
    /// Where on the kit, for people.
    pub(super) path: &'static str,
    /// Whether it goes in threes where the beat goes in twos.
    pub(super) triplets: bool,
}

impl Fill {
    /// Whether a stroke at a tick of the timeline is one of triplets, which do not swing.
    pub(super) fn is_unswung(&self, tick: Ticks) -> bool {
        self.triplets && (self.start..self.end).contains(&tick)
    }
}

/// Its name, for people: what is played, and where.
impl fmt::Display for Fill {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { figure, path, .. } = self;
        write!(f, "{figure}, {path}")
    }
}

/// Most strokes in a bar: the sixteenths of 32/2 with four limbs, and room for fills. A part never
/// grows beyond, so composing never allocates.
pub const MAX_STROKES: usize = 1280;
/// Most strokes that a part names of those that were taken away. Judged: a bar of them.
pub const MAX_DROPPED: usize = 256;

/// Most strokes that can be late at one tick: those of a quarter of a count with four limbs, and
/// some.
const MAX_LATE: usize = 32;

/// The strokes of one bar at full density, in the order in which they sound.
#[derive(Debug, Clone)]
pub struct Part {
    pub(super) bar: Bar,
    pub(super) strokes: Vec<Stroke>,
    pub(super) own: HandCymbal,
    pub(super) fill: Option<Fill>,
    pub(super) thinned: usize,
    /// The first of those that were taken away.
    pub(super) dropped: Vec<Stroke>,
    /// Whether the hi-hat foot has kicks to play, so that the hi-hat can't be held shut.
    pub(super) loose: bool,
    /// Where the lead foot is next due after the bar, in ticks from its start, where the riff says
    /// so; else on the next 1.
    pub(super) next_kick: Option<Ticks>,
}

impl Part {
    /// An empty part with room for any bar. Allocates; keep it and compose into it.
    pub fn new() -> Self {
        Self {
            bar: Bar {
                start: 0,
                meter: Meter::FOUR_FOUR,
            },
            strokes: Vec::with_capacity(MAX_STROKES),
            own: HandCymbal::HiHatClosed,
            fill: None,
            thinned: 0,
            dropped: Vec::with_capacity(MAX_DROPPED),
            loose: false,
            next_kick: None,
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

    /// How many strokes the limits took away: figures that fell to a slower subdivision, and single
    /// strokes that no hand could reach.
    pub fn thinned(&self) -> usize {
        self.thinned
    }

    /// The strokes that the limits took away, the first [`MAX_DROPPED`] of them, in no order.
    pub fn dropped(&self) -> &[Stroke] {
        &self.dropped
    }

    /// The hand cymbal at a moment of this part.
    pub fn cymbal(&self, stroke_settings: &StrokeSettings) -> HandCymbal {
        self.cymbal_after(None, stroke_settings)
    }

    /// The hand cymbal at a moment of this part, where *auto* holds another one and only leaves it
    /// for a clear change of intensity.
    pub fn cymbal_after(
        &self,
        held: Option<HandCymbal>,
        stroke_settings: &StrokeSettings,
    ) -> HandCymbal {
        let wished = match (stroke_settings.hand.cymbal(), held) {
            (Some(fixed), _) => fixed,
            (None, Some(held)) => HandCymbal::auto_from(held, self.own, stroke_settings.intensity),
            (None, None) => HandCymbal::auto(self.own, stroke_settings.intensity),
        };
        match wished {
            HandCymbal::HiHatClosed if self.loose => HandCymbal::HiHatLoose,
            wished => wished,
        }
    }

    /// Composes anew from tick `at` on, with `compose`: strokes whose place on the grid lies before
    /// it stay as they were, those of the new part follow, and what a limb has struck early is not
    /// struck again. Audio thread.
    pub fn change_at(&mut self, at: Ticks, compose: impl FnOnce(&mut Self)) {
        let mut kept: ArrayVec<Stroke, MAX_LATE> = ArrayVec::new();
        let mut done = [Ticks::MIN; Limb::ALL.len()];
        for stroke in &self.strokes {
            if stroke.play_tick < at {
                let last = &mut done[stroke.limb as usize];
                *last = stroke.tick.max(*last);
            } else if stroke.tick < at {
                let _ = kept.try_push(*stroke);
            }
        }
        compose(self);
        self.strokes
            .retain(|s| s.tick >= at && s.tick > done[s.limb as usize]);
        for stroke in &mut self.strokes {
            stroke.play_tick = stroke.play_tick.max(at);
        }
        let room = MAX_STROKES.saturating_sub(self.strokes.len());
        self.strokes.extend(kept.into_iter().take(room));
        self.sort();
    }

    /// Moves the whole part by so many ticks.
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

    /// Puts the strokes in the order in which they sound.
    pub(super) fn sort(&mut self) {
        self.strokes
            .sort_unstable_by_key(|s| (s.play_tick, s.limb, s.tick));
    }

    /// Adds a stroke at a tick of the bar. A part that is full drops it: see [`MAX_STROKES`].
    pub(super) fn push(&mut self, at: Ticks, limb: Limb, target: StrokeTarget, rank: f32) {
        self.push_stroke(Stroke {
            tick: at,
            limb,
            target,
            rank,
            ..Stroke::EMPTY
        });
    }

    /// Adds a stroke whose tick is one of the bar, in other respects as [`Self::push`].
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

    /// Counts a stroke, at its tick on the timeline, that the limits took away.
    pub(super) fn drop_stroke(&mut self, stroke: Stroke) {
        self.thinned += 1;
        if self.dropped.len() < MAX_DROPPED {
            self.dropped.push(stroke);
        }
    }

    /// Forgets strokes that were taken away, since something else stands in their place.
    pub(super) fn forget_dropped(&mut self, gone: impl Fn(&Stroke) -> bool) {
        let before = self.dropped.len();
        self.dropped.retain(|stroke| !gone(stroke));
        self.thinned -= before - self.dropped.len();
    }

    /// Thins a figure of a limb, in ticks from the start of the bar, as [`limits::thin`](super::limits::thin)
    /// does, and counts what was taken away.
    pub(super) fn thin(
        &mut self,
        (figure, gap): (&mut TickList, Ticks),
        layout: &CountLayout,
        limb: Limb,
        target: StrokeTarget,
    ) {
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

    /// Puts the stroke that was pushed last below its level, by so many velocity steps.
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

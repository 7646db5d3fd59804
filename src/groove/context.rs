//! The context that every step of composing a bar reads.

use super::beat::Cycle;
use super::by_hand::ByHand;
use super::limits::{self, Limits};
use super::roles::{CountLayout, Role};
use super::section::{InPhrase, SectionPosition};
use crate::riff::Attack;
use crate::settings::BarSettings;
use crate::time::{Bar, Ticks, tempo};
use std::cell::OnceCell;

/// How many bars a groove keeps its extras, and how many its shape spans. Common practice, no source: songs are
/// written in eights.
const EIGHT: i64 = 8;
/// How many bars count as a section where no chart says. Judged.
const LONG: i64 = 32;

/// A bar that is being composed.
pub(super) struct Context<'a> {
    pub(super) bar_settings: &'a BarSettings,
    pub(super) layout: CountLayout,
    pub(super) bar: Bar,
    /// Quarter notes a minute.
    pub(super) bpm: f64,
    pub(super) limits: Limits,
    /// The bar's place in its section, where there is a chart.
    pub(super) section_position: Option<SectionPosition>,
    /// The bar's place in its phrase.
    pub(super) phrase: InPhrase,
    /// How much more intensity the next bar has, -1..=1; 0 where it is unknown.
    pub(super) rise: f32,
    /// The guitar's attacks where they are known, and the start of the bar on their timeline.
    pub(super) riff: Option<(&'a [Attack], Ticks)>,
    /// What the songwriter gives the bar by hand.
    pub(super) by_hand: ByHand<'a>,
    /// Whether the beat's kicks need both feet, once [`hi_hat::is_busy`](super::hi_hat::is_busy) was asked: several
    /// steps ask.
    pub(super) busy: OnceCell<bool>,
}

impl<'a> Context<'a> {
    pub(super) fn new(
        bar: Bar,
        bpm: f64,
        bar_settings: &'a BarSettings,
        section_position: Option<SectionPosition>,
    ) -> Self {
        let layout = CountLayout::new(bar.meter);
        Self::with_layout(layout, bar, bpm, bar_settings, section_position)
    }

    /// The context of a bar beside another one, whose layout it has where the meter stays.
    pub(super) fn beside(
        other: &Context,
        bar: Bar,
        bpm: f64,
        bar_settings: &'a BarSettings,
        section_position: Option<SectionPosition>,
    ) -> Self {
        if bar.meter != other.bar.meter {
            return Self::new(bar, bpm, bar_settings, section_position);
        }
        let layout = other.layout.clone();
        Self::with_layout(layout, bar, bpm, bar_settings, section_position)
    }

    fn with_layout(
        layout: CountLayout,
        bar: Bar,
        bpm: f64,
        bar_settings: &'a BarSettings,
        section_position: Option<SectionPosition>,
    ) -> Self {
        let phrase = InPhrase::new(bar.index(), section_position.as_ref(), bar_settings);
        Self {
            bar_settings,
            layout,
            bar,
            bpm,
            limits: bar_settings.player.limits(),
            section_position,
            phrase,
            rise: 0.0,
            riff: None,
            by_hand: ByHand::default(),
            busy: OnceCell::new(),
        }
    }

    /// `seconds` in ticks at the bar's tempo, rounded up. At least one tick: even without speed limits, a limb
    /// can't be in two places at once.
    pub(super) fn ticks(&self, seconds: f64) -> Ticks {
        limits::ticks(seconds, self.bpm).max(1)
    }

    /// Ticks as seconds at the bar's tempo.
    pub(super) fn seconds(&self, ticks: Ticks) -> f64 {
        ticks as f64 / tempo::ticks_per_second(self.bpm)
    }

    /// The bar's place among eight, from 0: counted from the start of the section, or of the song.
    pub(super) fn in_eight(&self) -> usize {
        let index = self
            .section_position
            .map_or(self.bar.index(), |section_position| section_position.index);
        usize::try_from(index.rem_euclid(EIGHT)).unwrap_or_default()
    }

    /// The start of the eight bars: the tick that seeds decisions that hold for as long as a groove.
    pub(super) fn groove_start(&self) -> Ticks {
        let bars = Ticks::try_from(self.in_eight()).unwrap_or_default();
        self.bar.start - bars * self.layout.bar_len
    }

    /// The start of the section; without a chart, of 32 bars, a verse and a chorus.
    pub(super) fn section_start(&self) -> Ticks {
        let bars = self.section_position.map_or_else(
            || self.bar.index().rem_euclid(LONG),
            |section_position| section_position.index,
        );
        self.bar.start - bars * self.layout.bar_len
    }

    /// Whether the bar is the first of its section; without a chart, of the song.
    pub(super) fn starts_section(&self) -> bool {
        self.section_position
            .map_or(self.bar.start == 0, |section_position| {
                section_position.index == 0
            })
    }

    /// The roles of a cycle in this bar.
    pub(super) fn of_cycle<'b>(&self, cycle: Cycle<'b>) -> &'b [Role] {
        cycle.bar(self.in_cycle(cycle.len()))
    }

    /// The bar's place in a cycle of so many bars, from 0. A cycle restarts with each phrase; one that is longer than the
    /// phrase, with the section.
    pub(super) fn in_cycle(&self, bars: usize) -> usize {
        let bars = i64::try_from(bars).unwrap_or(i64::MAX).max(1);
        let index = if bars <= 2 || bars <= self.phrase.bars {
            self.phrase.index
        } else {
            self.section_position
                .map_or(self.bar.index(), |position| position.index)
        };
        usize::try_from(index.rem_euclid(bars)).unwrap_or_default()
    }
}

/// A live request for a bar, beyond its plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Call {
    /// A called fill: its first and last count, in ticks from the start of the bar.
    pub fill: Option<(Ticks, Ticks)>,
    /// Whether a fill called in the bar before lands on this bar's 1.
    pub lands: bool,
}

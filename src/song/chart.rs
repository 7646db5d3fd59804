//! The chart as the drummer follows it: for every tick of the song its bar, its section, and the settings
//! that are in force there.
//!
//! It is compiled once, where there is time, and then only asked: every question is a search of
//! O(log n), so that starting anywhere gives what playing from the start gives.

mod by_hand;

use super::change::Change;
pub use super::own_hand::OwnHand;
use crate::groove::own::OwnBeats;
use crate::groove::{
    ByHand, Hit, Next, Request, SectionPosition, ends_in_fill, ends_on_floor_toms,
};
use crate::settings::{
    BarSettings, KickSource, Play, SectionFill, SettingId, SettingSet, Settings, Start,
};
use crate::time::observed::same_tempo;
use crate::time::{Bar, TempoMap, Ticks};

/// Where levels of the panel leave the chart's as they are: the middle of their range.
pub const MIDDLE: f32 = 0.5;

/// Every section has a stretch of its own in the row of all bars there could be, so that what chance
/// decides in it does not depend on where it stands in the song. The stretch is longer than any song (20,000 bars); a
/// whole number of eights, so that phrases begin with it; and eight times a prime, so that fills, which
/// go in rounds, go on elsewhere in their round.
const STRETCH: i64 = 8 * 2503;

/// A section in its place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Placed {
    /// Its first bar in the chart.
    pub(super) first: usize,
    /// How it begins.
    pub(super) start: Start,
    /// How it ends.
    pub(super) fill: SectionFill,
    /// Which stretch of chance it has.
    pub(super) number: u32,
    /// Its own take.
    pub(super) take: Option<u32>,
    /// What the feet follow in it.
    pub(super) kick_source: Option<KickSource>,
    /// Whether it has notes of its own, which are played as they are.
    pub(super) locked: bool,
}

/// What is in force from a tick on.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Cue {
    at: Ticks,
    settings: Settings,
    of_panel: SettingSet,
}

/// A bar of the chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Here {
    /// The bar, on the song's timeline.
    pub bar: Bar,
    /// Its place in the chart, from 0.
    pub number: usize,
    /// Whether it is played as it was edited by hand: [`Chart::locked`].
    pub locked: bool,
    /// Its section's place in the chart, from 0.
    section: usize,
}

/// The chart, compiled. Any thread; what says so allocates.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Chart {
    bars: Vec<Bar>,
    sections: Vec<Placed>,
    cues: Vec<Cue>,
    /// What is left to the panel anywhere.
    left_to_panel: SettingSet,
    /// The notes of locked sections, in order of time.
    hits: Vec<Hit>,
    /// Where these are played and nothing else, in order and apart: from a tick up to, not including,
    /// another.
    edited: Vec<(Ticks, Ticks)>,
    /// The tempi as the song says them.
    tempo: TempoMap,
    /// What its sections have by hand.
    by_hand: OwnHand,
    /// What the song has by hand where no chart is followed.
    beside: OwnHand,
    /// The songwriter's own beats. They travel with the chart, and an empty chart may have some.
    own_beats: OwnBeats,
}

impl Chart {
    /// Compiles a chart; bars follow each other without gap, changes are in order. The notes of locked
    /// sections come with where they are played, one stretch a section, in order. Allocates.
    pub(super) fn new(
        bars: Vec<Bar>,
        sections: Vec<Placed>,
        start: &Settings,
        changes: &[Change],
        (mut hits, stretches): (Vec<Hit>, Vec<(Ticks, Ticks)>),
        tempo: TempoMap,
    ) -> Self {
        let first = bars.first().map_or(0, |bar| bar.start);
        let mut cues = vec![Cue {
            at: first,
            settings: *start,
            of_panel: SettingSet::default(),
        }];
        for change in changes {
            let last = cues.len() - 1;
            let mut cue = cues[last];
            cue.at = change.at;
            change.apply(&mut cue.settings);
            cue.of_panel.put(change.setting, change.value.is_none());
            if cues[last].at == change.at {
                cues[last] = cue;
            } else if (cue.settings, cue.of_panel) != (cues[last].settings, cues[last].of_panel) {
                cues.push(cue);
            }
        }
        let left_to_panel = cues
            .iter()
            .fold(SettingSet::default(), |all, cue| all.or(cue.of_panel));
        hits.sort_by_key(|hit| (hit.tick, hit.piece));
        // Of neighbours that were cut from one recording both may have an early stroke on the 1.
        hits.dedup_by_key(|hit| (hit.tick, hit.piece));
        let mut edited: Vec<(Ticks, Ticks)> = Vec::with_capacity(stretches.len());
        for (from, to) in stretches {
            match edited.last_mut() {
                Some(last) if from <= last.1 => last.1 = to,
                _ => edited.push((from, to)),
            }
        }
        let mut chart = Self {
            bars,
            sections,
            cues,
            left_to_panel,
            hits,
            edited,
            tempo,
            by_hand: OwnHand::default(),
            beside: OwnHand::default(),
            own_beats: OwnBeats::default(),
        };
        chart.count_in();
        chart
    }

    /// Writes the count-ins into the bars before their sections.
    fn count_in(&mut self) {
        for i in 0..self.sections.len() {
            let Placed { first, start, .. } = self.sections[i];
            if start != Start::CountIn || first == 0 {
                continue;
            }
            let bar = self.bars[first - 1];
            for at in [bar.start, bar.end()] {
                let next = self.cues.partition_point(|cue| cue.at <= at);
                let cue = self.cues[next.saturating_sub(1)];
                if cue.at != at {
                    self.cues.insert(next, Cue { at, ..cue });
                }
            }
            for cue in &mut self.cues {
                if (bar.start..bar.end()).contains(&cue.at) {
                    cue.settings.bar_settings.play = Play::CountIn;
                    cue.of_panel.put(SettingId::Play, false);
                }
            }
        }
    }

    /// The tempi as the song says them.
    pub fn tempo(&self) -> &TempoMap {
        &self.tempo
    }

    /// The first tick after the chart; 0 where it is empty.
    pub fn end(&self) -> Ticks {
        self.bars.last().map_or(0, |bar| bar.end())
    }

    /// A bar by its number, counted from 1; the bars before the song's first section count too.
    pub fn bar(&self, number: u32) -> Option<Bar> {
        let place = usize::try_from(number).ok()?.checked_sub(1)?;
        self.bars.get(place).copied()
    }

    /// The bar that a tick falls in, those before the song's first section included; the last one after the song. `None` where the
    /// chart is empty.
    pub fn bar_at(&self, tick: Ticks) -> Option<Bar> {
        let next = self.bars.partition_point(|bar| bar.start <= tick);
        self.bars.get(next.saturating_sub(1)).copied()
    }

    /// Whether there is nothing to follow.
    pub fn is_empty(&self) -> bool {
        self.bars.is_empty()
    }

    /// The bar that a tick falls in; `None` before and after the chart.
    pub fn at(&self, tick: Ticks) -> Option<Here> {
        let number = self.bars.partition_point(|bar| bar.start <= tick);
        let here = self.here(number.checked_sub(1)?)?;
        (tick < here.bar.end()).then_some(here)
    }

    /// A bar by its place in the chart, from 0.
    pub fn here(&self, number: usize) -> Option<Here> {
        let next = self.sections.partition_point(|s| s.first <= number);
        let section = next.checked_sub(1)?;
        Some(Here {
            bar: *self.bars.get(number)?,
            number,
            locked: self.sections.get(section)?.locked,
            section,
        })
    }

    /// Whether any section leaves a setting to the panel.
    pub fn leaves(&self, setting: SettingId) -> bool {
        self.left_to_panel.has(setting)
    }

    /// Whether a setting is left to the panel at a tick.
    pub fn is_left(&self, tick: Ticks, setting: SettingId) -> bool {
        let next = self.cues.partition_point(|cue| cue.at <= tick);
        let cue = next.checked_sub(1).and_then(|last| self.cues.get(last));
        cue.is_some_and(|cue| cue.of_panel.has(setting))
    }

    /// A level that the chart says with a cue: moved by the panel's, unless some section leaves the level to the
    /// panel, which then means it as it stands.
    fn level(&self, cue: &Cue, setting: SettingId, panel: f32, chart: f32) -> f32 {
        if cue.of_panel.has(setting) {
            panel
        } else if self.leaves(setting) {
            chart
        } else {
            // In this order a panel in the middle leaves the chart's level to the last bit.
            (chart + (panel - MIDDLE)).clamp(0.0, 1.0)
        }
    }

    /// The settings in force at a tick. `panel` has what the chart does not say. Its intensity, density
    /// and accent move the chart's by as far as they are from [`MIDDLE`], unless a section leaves them to the panel.
    /// Outside of the chart the drummer rests.
    pub fn settings(&self, tick: Ticks, panel: &Settings) -> Settings {
        self.in_force(self.at(tick).as_ref(), tick, panel).0
    }

    /// The same where the tick's bar is known, and the first tick after it at which they may differ, if
    /// not at the end of the bar.
    pub fn in_force(
        &self,
        here: Option<&Here>,
        tick: Ticks,
        panel: &Settings,
    ) -> (Settings, Ticks) {
        let mut settings = *panel;
        let next = self.cues.partition_point(|cue| cue.at <= tick);
        let until = self.cues.get(next).map_or(Ticks::MAX, |cue| cue.at);
        let cue = next.checked_sub(1).map(|last| &self.cues[last]);
        let (Some(here), Some(cue)) = (here, cue) else {
            settings.bar_settings.play = Play::Rest;
            settings.fill_now = false;
            return (settings, until);
        };
        let said = &cue.settings;
        let (bar_settings, stroke_settings) =
            (&mut settings.bar_settings, &mut settings.stroke_settings);
        let left = |setting| cue.of_panel.has(setting);
        macro_rules! take_over {
            ($($place:ident.$field:ident $setting:ident),+) => {
                $(if !left(SettingId::$setting) {
                    $place.$field = said.$place.$field;
                })+
            };
        }
        take_over!(
            bar_settings.style Style,
            bar_settings.hand_rate HandRate,
            bar_settings.fill_chance FillChance,
            bar_settings.catch Catch,
            bar_settings.fill_shape FillShape,
            bar_settings.crashes Crashes,
            bar_settings.play Play,
            stroke_settings.hand Hand
        );
        let levels = &said.stroke_settings;
        for (level, setting, chart) in [
            (
                &mut stroke_settings.intensity,
                SettingId::Intensity,
                levels.intensity,
            ),
            (
                &mut stroke_settings.density,
                SettingId::Density,
                levels.density,
            ),
            (
                &mut stroke_settings.accent,
                SettingId::Accent,
                levels.accent,
            ),
        ] {
            *level = self.level(cue, setting, *level, chart);
        }
        settings.fill_now |= said.fill_now;
        let section = &self.sections[here.section];
        if let Some(take) = section.take {
            bar_settings.song_take = Some(bar_settings.take);
            bar_settings.take = take;
        }
        bar_settings.kick_source = section.kick_source.unwrap_or(bar_settings.kick_source);
        (settings, until)
    }

    /// What is asked of the drummer for a bar with this plan, in its section's own time; and by how many ticks
    /// its part is to be moved from there. `bpm` in quarter notes a minute.
    pub fn request(
        &self,
        here: &Here,
        bpm: f64,
        bar_settings: &BarSettings,
        panel: &Settings,
    ) -> (Request<'_>, Ticks) {
        let own = self.own_bar(here);
        let request = Request {
            by_hand: ByHand {
                edits: &self.by_hand.edits,
                stabs: &self.by_hand.stabs,
                later: own.start - here.bar.start,
            },
            section_position: Some(self.section_position(here, panel)),
            next: Some(self.next(here, bpm, panel)),
            own_beats: &self.own_beats,
            ..Request::new(own, bpm, bar_settings)
        };
        (request, here.bar.start - own.start)
    }

    /// A bar in its section's own time, which owns what chance decides.
    pub fn own_bar(&self, here: &Here) -> Bar {
        let section = &self.sections[here.section];
        let index = i64::from(section.number) * STRETCH + count(here.number - section.first);
        Bar {
            start: index * here.bar.meter.bar_len(),
            ..here.bar
        }
    }

    /// Where a bar stands in its section.
    pub fn section_position(&self, here: &Here, panel: &Settings) -> SectionPosition {
        let section_position = self.bare_section_position(here);
        let lead = (section_position.index == 0)
            .then(|| self.lead(here, panel))
            .flatten();
        SectionPosition {
            led: lead.is_some(),
            low: lead == Some(true),
            ..section_position
        }
    }

    /// The same, as if no fill led there.
    fn bare_section_position(&self, here: &Here) -> SectionPosition {
        let section = &self.sections[here.section];
        let next = self.sections.get(here.section + 1);
        let end = next.map_or(self.bars.len(), |section| section.first);
        SectionPosition {
            index: count(here.number - section.first),
            bars: count(end - section.first),
            start: section.start,
            fill: section.fill,
            led: false,
            low: false,
        }
    }

    /// Whether a fill in the bar before leads to this one, and if so, whether it ends on the floor toms.
    fn lead(&self, here: &Here, panel: &Settings) -> Option<bool> {
        let before = here.number.checked_sub(1).and_then(|n| self.here(n));
        let before = before.filter(|before| !before.locked)?;
        let bar_settings = self.settings(before.bar.start, panel).bar_settings;
        let (bar, position) = (self.own_bar(&before), self.bare_section_position(&before));
        ends_in_fill(bar, &bar_settings, &position).then(|| {
            let beat = self.own_beats.beat(bar_settings.style);
            ends_on_floor_toms(bar, &bar_settings, &beat)
        })
    }

    /// How much more intensity the chart has at the start of a bar than at the end of the one before. What the panel
    /// adds moves both.
    fn rise(&self, line: Ticks, panel: &Settings) -> f32 {
        let next = self.cues.partition_point(|cue| cue.at <= line);
        let before = self.cues.partition_point(|cue| cue.at < line);
        let level = |n: usize| {
            let cue = n.checked_sub(1).and_then(|n| self.cues.get(n));
            cue.map(|cue| {
                if cue.of_panel.has(SettingId::Intensity) {
                    panel.stroke_settings.intensity
                } else {
                    cue.settings.stroke_settings.intensity
                }
            })
        };
        match (level(before), level(next)) {
            (Some(before), Some(next)) => next - before,
            _ => 0.0,
        }
    }

    /// The bar after this one, as the drummer has to be ready for it. `bpm` is the tempo of this one, in quarter
    /// notes a minute: where it is the song's, so is that of the next one; a host that goes its own way goes on
    /// as it is.
    pub fn next(&self, here: &Here, bpm: f64, panel: &Settings) -> Next {
        let goes_along = same_tempo(bpm, self.tempo.bpm_at(here.bar.start));
        let next_bpm = if goes_along {
            self.tempo.bpm_at(here.bar.end())
        } else {
            bpm
        };
        let mut after = Next {
            bar: Bar {
                start: here.bar.end(),
                ..here.bar
            },
            bpm: next_bpm,
            bar_settings: panel.bar_settings,
            section_position: None,
            rise: 0.0,
        };
        after.bar_settings.play = Play::Rest;
        match self.here(here.number + 1) {
            Some(next) if !next.locked => Next {
                bar: self.own_bar(&next),
                bpm: next_bpm,
                bar_settings: self.settings(next.bar.start, panel).bar_settings,
                section_position: Some(self.section_position(&next, panel)),
                rise: self.rise(next.bar.start, panel),
            },
            Some(next) => Next {
                // Hand-edited or not, the section is as loud.
                rise: self.rise(next.bar.start, panel),
                ..after
            },
            None => after,
        }
    }

    /// Whether the drummer plays the bar after this one, too, in the same section.
    pub fn section_goes_on(&self, here: &Here) -> bool {
        self.here(here.number + 1)
            .is_some_and(|next| next.section == here.section && !next.locked)
    }

    /// Whether the notes of a locked section are played at a tick, and nothing else, and the first tick
    /// after it at which that may differ.
    pub fn edited(&self, tick: Ticks) -> (bool, Ticks) {
        let next = self.edited.partition_point(|(_, to)| *to <= tick);
        match self.edited.get(next) {
            Some(&(from, to)) if from <= tick => (true, to),
            Some(&(from, _)) => (false, from),
            None => (false, Ticks::MAX),
        }
    }

    /// The notes of locked sections from a tick up to, not including, another, in order.
    pub fn locked(&self, from: Ticks, to: Ticks) -> &[Hit] {
        let at = |tick| self.hits.partition_point(|hit| hit.tick < tick);
        &self.hits[at(from)..at(to)]
    }
}

/// A number of bars; no song has more than fit.
fn count(bars: usize) -> i64 {
    i64::try_from(bars).unwrap_or(i64::MAX)
}

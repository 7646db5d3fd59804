//! Composes one bar as it will be played.

use super::in_force::{InForce, Inputs};
use super::sequencer::Sequencer;
use crate::groove::{Call, Fill, Hit, Part};
use crate::kit::Piece;
use crate::settings::Settings;
use crate::time::Bar;

/// A bar as it will be played with the current inputs.
///
/// The drummer latches style, hand rate and fills at the bar line. Right after such a change, the picture of the
/// current bar is therefore ahead of the sound.
#[derive(Debug, Clone, Default)]
pub struct BarPicture {
    /// Made with the first bar, so that an instance without an editor allocates none.
    sequencer: Option<Sequencer>,
    settings: Settings,
    hits: Vec<Hit>,
    dropped: Vec<Hit>,
    fill: Option<Fill>,
    riding: Option<Piece>,
    thinned: usize,
    follows_riff: bool,
    locked: bool,
    slept: Vec<u32>,
}

impl BarPicture {
    /// Composes a bar. Main thread; allocates.
    pub fn compose(&mut self, bar: Bar, call: Call, inputs: &Inputs) {
        self.hits.clear();
        self.dropped.clear();
        self.slept.clear();
        let hits = &mut self.hits;
        let sequencer = self.sequencer.get_or_insert_default();
        sequencer.look_at(bar, call, inputs, |hit| hits.push(hit));
        let now = InForce::at(bar.start, inputs);
        self.settings = now.settings;
        let bar_settings = &now.settings.bar_settings;
        let beat = inputs.chart.own_beats().beat(bar_settings.style);
        self.follows_riff = sequencer.follows_riff() && bar_settings.kick_source.heeds_riff(&beat);
        self.locked = now.here.is_some_and(|here| here.locked);
        if self.locked {
            (self.fill, self.riding, self.thinned) = (None, None, 0);
            return;
        }
        let part = sequencer.part();
        let stroke_settings = &now.settings.stroke_settings;
        let cymbal = part.cymbal(stroke_settings);
        let beyond = |stroke| Part::perform(stroke, stroke_settings, cymbal);
        self.dropped
            .extend(part.dropped().iter().filter_map(beyond));
        self.slept.extend_from_slice(part.slept());
        self.fill = part.fill();
        self.thinned = part.thinned();
        self.riding = Some(cymbal.piece());
    }

    /// The settings in force where the bar begins: the panel's, or what the chart makes of them.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// The hits, in order of time.
    pub fn hits(&self) -> &[Hit] {
        &self.hits
    }

    /// The strokes that the player's limits took away.
    pub fn dropped(&self) -> &[Hit] {
        &self.dropped
    }

    /// Whether it is played as a region that was edited by hand.
    pub fn is_locked(&self) -> bool {
        self.locked
    }

    /// The edits of the bar that found no stroke: their places in the chart's list, or where no chart is followed in the
    /// list beside it.
    pub fn slept(&self) -> &[u32] {
        &self.slept
    }

    /// Whether the bar's kick follows the riff.
    pub fn follows_riff(&self) -> bool {
        self.follows_riff
    }

    /// How many strokes the player's limits took away.
    pub fn thinned(&self) -> usize {
        self.thinned
    }

    /// The bar's fill.
    pub fn fill(&self) -> Option<Fill> {
        self.fill
    }

    /// The hand cymbal of the lead hand; none in a bar edited by hand.
    pub fn riding(&self) -> Option<Piece> {
        self.riding
    }
}

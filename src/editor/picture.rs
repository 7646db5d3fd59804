//! The hits of the bar on show, composed by the same functions that play it.

use super::snapshot::Snapshot;
use crate::groove::{Call, Fill, HandCymbal, Hit, Part, Request, Stroke, Voice, compose_with};
use crate::kit::Piece;
use crate::plugin::song::Song;
use crate::riff::{Riff, RiffWindow};
use crate::settings::Settings;
use crate::song::chart::Here;
use crate::time::Bar;
use std::sync::Arc;

/// Everything that a bar depends on.
#[derive(Debug, Clone)]
struct Asked {
    bar: Bar,
    bpm: f64,
    panel: Settings,
    call: Call,
    song: Option<Arc<Song>>,
    riff: Arc<Riff>,
}

impl Asked {
    /// Whether the same is asked; a song is the same where it is in the same place.
    fn is(&self, other: &Self) -> bool {
        let at = |song: &Option<Arc<Song>>| song.as_ref().map(Arc::as_ptr);
        let see = |asked: &Self| (asked.bar, asked.bpm, asked.panel, asked.call);
        see(self) == see(other)
            && at(&self.song) == at(&other.song)
            && (Arc::ptr_eq(&self.riff, &other.riff)
                || self.riff.is_empty() && other.riff.is_empty())
    }

    /// The bar's place in the chart, where one is followed.
    fn here(&self) -> Option<(&Song, Here)> {
        let song = self.song.as_deref()?;
        Some((song, song.timeline.chart().at(self.bar.start)?))
    }

    /// The settings in force at a tick.
    fn settings(&self, tick: crate::time::Ticks) -> Settings {
        let song = self.song.as_deref();
        song.map_or(self.panel, |song| {
            song.timeline.chart().settings(tick, &self.panel)
        })
    }
}

/// One bar's hits, kept until something that they depend on changes.
///
/// It shows the settings as they are now. The drummer latches style, hand rate and fills at the
/// bar line, so that right after such a change the picture is ahead of what sounds.
#[derive(Debug, Default)]
pub struct Picture {
    asked: Option<Asked>,
    settings: Settings,
    /// Made at the first bar: a plugin whose editor never opens needs no room for it.
    part: Option<Part>,
    around: Option<RiffWindow>,
    hits: Vec<Hit>,
    /// Which of the hits are ghost notes.
    ghosts: Vec<bool>,
    /// What the player's limits took away.
    dropped: Vec<Hit>,
    fill: Option<Fill>,
    riding: Option<Piece>,
    thinned: usize,
    composed: u64,
}

impl Picture {
    /// Composes a bar as it is played now, unless it is the one that is here. Main thread.
    pub fn compose(&mut self, bar: Bar, snapshot: &Snapshot) {
        // What was called is the affair of the bar that is played.
        let is_played = snapshot.at.is_none_or(|(played, _)| played == bar);
        let asked = Asked {
            bar,
            bpm: snapshot.bpm,
            panel: snapshot.values.settings,
            call: if is_played {
                snapshot.call
            } else {
                Call::default()
            },
            riff: snapshot.attacks.clone(),
            song: snapshot.followed().cloned(),
        };
        if self.asked.as_ref().is_some_and(|last| last.is(&asked)) {
            return;
        }
        self.composed += 1;
        self.hits.clear();
        self.ghosts.clear();
        self.dropped.clear();
        self.settings = asked.settings(bar.start);
        self.play(&asked);
        self.lay_edited_over(&asked);
        self.asked = Some(asked);
    }

    fn play(&mut self, asked: &Asked) {
        let Settings {
            bar_settings,
            stroke_settings,
            ..
        } = self.settings;
        let (request, home) = match asked.here() {
            Some((song, here)) => {
                let chart = song.timeline.chart();
                chart.request(&here, asked.bpm, &bar_settings, &asked.panel)
            }
            None => (Request::new(asked.bar, asked.bpm, &bar_settings), 0),
        };
        let around = self.around.get_or_insert_default();
        around.latch(&asked.riff, asked.bar, -home);
        let request = Request {
            call: asked.call,
            riff: around.attacks(),
            ..request
        };
        let part = self.part.get_or_insert_with(Part::new);
        compose_with(&request, part);
        part.shift(home);
        let cymbal = part.cymbal(&stroke_settings);
        for stroke in part.strokes() {
            // Auto leaves its cymbal in mid-bar for a clear change alone, as a ramp may bring.
            let now = asked.settings(stroke.play_tick).stroke_settings;
            if let Some(hit) = Part::perform(stroke, &now, part.cymbal_after(Some(cymbal), &now)) {
                self.hits.push(hit);
                self.ghosts.push(is_ghost(stroke));
            }
        }
        let beyond = |stroke| Part::perform(stroke, &stroke_settings, cymbal);
        self.dropped
            .extend(part.dropped().iter().filter_map(beyond));
        self.fill = part.fill();
        self.thinned = part.thinned();
        self.riding = Some(HandCymbal::piece(cymbal));
    }

    /// Puts the strokes that were edited by hand in place of the drummer's.
    fn lay_edited_over(&mut self, asked: &Asked) {
        let Some((song, here)) = asked.here() else {
            return;
        };
        let chart = song.timeline.chart();
        let edited = chart.locked(here.bar.start, here.bar.end());
        let mut drummers = self.hits.iter().map(|hit| !chart.edited(hit.tick).0);
        self.ghosts.retain(|_| drummers.next().unwrap_or(true));
        self.hits.retain(|hit| !chart.edited(hit.tick).0);
        self.hits.extend_from_slice(edited);
        self.ghosts.resize(self.hits.len(), false);
        if here.locked {
            self.fill = None;
            self.riding = None;
            self.thinned = 0;
            self.dropped.clear();
        }
    }

    /// The settings in force where the bar begins: the panel's, or what the chart makes of them.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// The hits, in order of time.
    pub fn hits(&self) -> &[Hit] {
        &self.hits
    }

    /// Whether the hit at this place is a ghost note.
    pub fn is_ghost(&self, index: usize) -> bool {
        self.ghosts.get(index).copied().unwrap_or(false)
    }

    /// The bar that it shows.
    pub fn bar(&self) -> Option<Bar> {
        Some(self.asked.as_ref()?.bar)
    }

    /// The strokes that the player's limits took away.
    pub fn dropped(&self) -> &[Hit] {
        &self.dropped
    }

    /// Whether the bar's feet follow the riff.
    pub fn follows_riff(&self) -> bool {
        let bar_settings = &self.settings.bar_settings;
        let known = self.around.as_ref().is_some_and(RiffWindow::is_known);
        known && bar_settings.kick_source.heeds_riff(bar_settings.beat())
    }

    /// How many strokes the player's limits took away.
    pub fn thinned(&self) -> usize {
        self.thinned
    }

    /// The bar's fill.
    pub fn fill(&self) -> Option<Fill> {
        self.fill
    }

    /// What the lead hand rides on; nothing in a bar that was edited by hand.
    pub fn riding(&self) -> Option<Piece> {
        self.riding
    }

    /// How often it has composed: to show that it doesn't where nothing changed.
    pub fn composed(&self) -> u64 {
        self.composed
    }
}

/// A ghost note is what it is for, not how soft it came out: at full intensity it is as loud as a
/// quiet backbeat elsewhere.
fn is_ghost(stroke: &Stroke) -> bool {
    stroke.rank > 0.0 && stroke.voice == Voice::Piece(Piece::Snare)
}

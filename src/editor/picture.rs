//! The hits of the bar on show, composed by the same functions that play it.

use super::snapshot::Snapshot;
use crate::engine::Inputs;
use crate::engine::picture::BarPicture;
use crate::groove::Call;
use crate::project::Song;
use crate::riff::Riff;
use crate::settings::Settings;
use crate::song::Chart;
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
}

/// One bar as it will be played, kept until something that it depends on changes.
#[derive(Debug, Default)]
pub struct Picture {
    asked: Option<Asked>,
    played: BarPicture,
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
        let none = Chart::default();
        let song = asked.song.as_deref();
        let inputs = Inputs {
            panel: &asked.panel,
            chart: song.map_or(&none, |song| song.timeline.chart()),
            riff: &asked.riff,
            bars: &bar,
            bpm: asked.bpm,
        };
        self.played.compose(bar, asked.call, &inputs);
        self.asked = Some(asked);
    }

    /// The bar that it shows.
    pub fn bar(&self) -> Option<Bar> {
        Some(self.asked.as_ref()?.bar)
    }

    /// How often it has composed: to show that it doesn't where nothing changed.
    pub fn composed(&self) -> u64 {
        self.composed
    }

    /// The bar as it will be played.
    pub fn played(&self) -> &BarPicture {
        &self.played
    }
}

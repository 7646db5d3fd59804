//! The hits of the bar on show, composed by the same functions that play it.

use super::snapshot::Snapshot;
use crate::engine::Inputs;
use crate::engine::picture::BarPicture;
use crate::groove::own::OwnBeats;
use crate::groove::{Call, Hit};
use crate::project::Song;
use crate::riff::Riff;
use crate::settings::Settings;
use crate::song::Chart;
use crate::song::chart::OwnHand;
use crate::song::edits::EditRow;
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
    /// Those that hold where no chart is followed.
    edits: Arc<Vec<EditRow>>,
    own_beats: Arc<OwnBeats>,
    /// Whether it is played with what was edited by hand.
    edited: bool,
}

impl Asked {
    /// Whether the same is asked; a song is the same where it is in the same place.
    fn is(&self, other: &Self) -> bool {
        let at = |song: &Option<Arc<Song>>| song.as_ref().map(Arc::as_ptr);
        let see = |asked: &Self| {
            let Self {
                bar,
                bpm,
                panel,
                call,
                edited,
                ..
            } = *asked;
            (bar, bpm, panel, call, edited)
        };
        see(self) == see(other)
            && at(&self.song) == at(&other.song)
            && (self.song.is_some()
                || Arc::ptr_eq(&self.edits, &other.edits)
                || self.edits == other.edits)
            && self.own_beats == other.own_beats
            && (Arc::ptr_eq(&self.riff, &other.riff)
                || self.riff.is_empty() && other.riff.is_empty())
    }
}

/// How long a change is seen, in seconds. Judged: as long as one needs to look from a control to the lanes.
const SEEN_S: f64 = 1.6;

/// What a change of a control did to the bar, to be seen for a moment.
#[derive(Debug, Clone, Default)]
struct Changed {
    /// The strokes before it.
    before: Vec<Hit>,
    /// When it was made, in seconds of the window; `None` until that is known.
    at: Option<f64>,
    /// How visible it still is, 0..=1.
    share: f32,
}

/// One bar as it will be played, kept until something that it depends on changes.
#[derive(Debug, Default)]
pub struct Picture {
    asked: Option<Asked>,
    played: BarPicture,
    composed: u64,
    changed: Option<Changed>,
}

impl Picture {
    /// Composes a bar as it is played now, unless it is the one that is here. Main thread.
    pub fn compose(&mut self, bar: Bar, snapshot: &Snapshot) {
        self.compose_with(bar, snapshot, true);
    }

    /// The same as the drummer plays it without the songwriter's edits.
    pub fn compose_unedited(&mut self, bar: Bar, snapshot: &Snapshot) {
        self.compose_with(bar, snapshot, false);
    }

    fn compose_with(&mut self, bar: Bar, snapshot: &Snapshot, edited: bool) {
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
            edits: snapshot.edits.clone(),
            song: snapshot.followed().cloned(),
            own_beats: snapshot.own_beats.clone(),
            edited,
        };
        if self.asked.as_ref().is_some_and(|last| last.is(&asked)) {
            return;
        }
        self.composed += 1;
        let stays = self.bar() == Some(bar);
        let before = stays.then(|| self.played.hits().to_vec());
        let song = asked.song.as_deref();
        let chart = song.map(|song| song.timeline.chart());
        let mut other = Chart::default();
        match chart {
            Some(chart) if !edited => other = chart.unedited(),
            Some(_) => {}
            None => {
                let edits = asked.edits.iter().filter(|_| edited);
                other.set_beside(OwnHand {
                    edits: edits.map(|row| row.0).collect(),
                    ..OwnHand::default()
                });
                other.set_own_beats(OwnBeats::clone(&asked.own_beats));
            }
        }
        let inputs = Inputs {
            panel: &asked.panel,
            chart: chart.filter(|_| edited).unwrap_or(&other),
            riff: &asked.riff,
            bars: &bar,
            bpm: asked.bpm,
        };
        self.played.compose(bar, asked.call, &inputs);
        self.asked = Some(asked);
        match (before, &mut self.changed) {
            // What is changed on and on, as a level under the pointer, is seen against the strokes before all of it.
            (Some(_), Some(changed)) => changed.at = None,
            (Some(before), changed @ None) => {
                let same = |a: &Hit, b: &Hit| is_same(a, b);
                let now = self.played.hits();
                let differs =
                    before.len() != now.len() || before.iter().zip(now).any(|(a, b)| !same(a, b));
                *changed = differs.then(|| Changed {
                    before,
                    ..Changed::default()
                });
            }
            (None, changed) => *changed = None,
        }
    }

    /// Lets what was changed fade; whether there is still something to be seen of it. `time` in seconds of the window.
    pub fn age(&mut self, time: f64) -> bool {
        let Some(changed) = &mut self.changed else {
            return false;
        };
        let since = time - *changed.at.get_or_insert(time);
        #[expect(clippy::cast_possible_truncation)]
        let share = (1.0 - since / SEEN_S) as f32;
        changed.share = share;
        if share <= 0.0 {
            self.changed = None;
        }
        self.changed.is_some()
    }

    /// How visible it is that a change brought this stroke, 0..=1.
    pub fn newness(&self, hit: &Hit) -> f32 {
        let fresh = |changed: &Changed| !changed.before.iter().any(|old| is_same(old, hit));
        let changed = self.changed.as_ref().filter(|changed| fresh(changed));
        changed.map_or(0.0, |changed| changed.share)
    }

    /// The strokes that a change took away, and how visible they still are, 0..=1.
    pub fn removed(&self) -> impl Iterator<Item = (&Hit, f32)> {
        let hits = self.played.hits();
        self.changed.iter().flat_map(move |changed| {
            let gone = |old: &&Hit| !hits.iter().any(|hit| is_same(old, hit));
            let removed = changed.before.iter().filter(gone);
            removed.map(|hit| (hit, changed.share))
        })
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

/// Whether two strokes are the same to the eye: a piece at a place of the grid.
pub(super) fn is_same(a: &Hit, b: &Hit) -> bool {
    (a.piece, a.grid, a.grace) == (b.piece, b.grid, b.grace)
}

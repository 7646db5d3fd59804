//! What the views show: everything of one frame, as plain values.

use super::controls::Values;
use crate::bridge::Playhead;
use crate::groove::Call;
use crate::groove::own::OwnBeats;
use crate::kit::map_file::NamedMap;
use crate::project::store::Can;
use crate::project::{Document, Project, Song, SongState};
use crate::riff::Riff;
use crate::song::edits::EditRow;
use crate::time::{Bar, Meter, Ticks, tempo};
use std::sync::Arc;

/// The values and the playhead of one frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Snapshot {
    /// What the controls say.
    pub values: Values,
    /// The bar under the playhead and the tick in it, on the song's timeline; `None` while the
    /// transport stands.
    pub at: Option<(Bar, Ticks)>,
    /// Quarter notes a minute; 120 where the host has said nothing yet.
    pub bpm: f64,
    /// The meter in force; 4/4 where the host names none that can be played.
    pub meter: Meter,
    /// The fill that was called in the bar that is played.
    pub call: Call,
    /// What is known of the riff.
    pub riff: RiffFacts,
    /// The riff.
    pub attacks: Arc<Riff>,
    /// The song, where there is one that makes sense.
    pub song: Option<Arc<Song>>,
    /// What was edited by hand where no chart is followed.
    pub edits: Arc<Vec<EditRow>>,
    /// Whether a change of riff or song can be taken back or made again.
    pub can: Can,
    /// Why the song that a project brought can't be read, where it can't.
    pub unread: Option<String>,
    /// The version of the drummer that saved the project, where that is a newer one.
    pub newer_drummer: Option<u64>,
    /// The songwriter's own beats in force.
    pub own_beats: Arc<OwnBeats>,
    /// What the sampler is sent.
    pub map: Arc<NamedMap>,
    /// Why the note map that the project saved can't be read, where it can't.
    pub map_problem: Option<String>,
    /// Why the map for new instances can't be read, where it can't.
    pub start_problem: Option<String>,
}

impl Snapshot {
    /// A frame's values. Main thread.
    pub fn new(values: Values, playhead: &Playhead) -> Self {
        let said = playhead
            .meter
            .and_then(|(n, d)| Meter::new(n.into(), d.into()).ok());
        let meter = playhead.at.map(|(bar, _)| bar.meter).or(said);
        Self {
            values,
            at: playhead.at,
            bpm: tempo::sane_bpm(Some(playhead.bpm), tempo::DEFAULT_BPM),
            meter: meter.unwrap_or(Meter::FOUR_FOUR),
            call: playhead.at.map(|_| playhead.call).unwrap_or_default(),
            riff: RiffFacts::default(),
            attacks: Arc::default(),
            song: None,
            edits: Arc::default(),
            can: Can::default(),
            unread: None,
            newer_drummer: None,
            own_beats: Arc::default(),
            map: Arc::default(),
            map_problem: None,
            start_problem: None,
        }
    }

    /// The same, with what the project holds.
    #[must_use]
    pub fn with_project(mut self, project: &Project) -> Self {
        self.can = project.can();
        self.start_problem = project.start_problem();
        self.with_document(&project.document())
    }

    /// The same, with what a document holds.
    #[must_use]
    pub fn with_document(mut self, document: &Document) -> Self {
        self.riff = RiffFacts::of(&document.riff);
        self.attacks = document.riff.clone();
        match &document.song {
            SongState::Song(song) => self.song = Some(song.clone()),
            SongState::Unread(_, problem) => self.unread = Some(problem.to_string()),
            SongState::Nothing => {}
        }
        self.newer_drummer = document.newer_drummer();
        self.own_beats = document.own_beats().clone();
        self.map = document.map.clone();
        self.edits = document.edits.clone();
        self.map_problem = document.map_problem().map(ToString::to_string);
        self.values.follows = self.followed().is_some();
        self
    }

    /// Takes over where the chart is looked at while the transport stands, as a bar from 0: what it states there counts
    /// in place of the panel's values.
    pub fn look_at(&mut self, look: i64) {
        let tick = self.at.map_or(self.bar(look).start, |(_, tick)| tick);
        if let Some(song) = self.followed().cloned() {
            self.values = self.values.with_chart(song.timeline.chart(), tick);
        }
    }

    /// Whether no riff is known yet.
    pub fn riff_is_new(&self) -> bool {
        !self.riff.known
    }

    /// The song, where its chart is followed.
    pub fn followed(&self) -> Option<&Arc<Song>> {
        let song = self.song.as_ref();
        song.filter(|_| self.values.settings.follow_chart)
    }

    /// The bar to show: the one that is played, or while the transport stands the one in this
    /// place of the song, from 0.
    pub fn bar(&self, look: i64) -> Bar {
        let of_chart = || {
            let bars = self.followed()?.timeline.bars();
            bars.get(usize::try_from(look).ok()?).copied()
        };
        let of_grid = || Bar {
            start: look * self.meter.bar_len(),
            meter: self.meter,
        };
        let standing = || of_chart().unwrap_or_else(of_grid);
        self.at.map_or_else(standing, |(bar, _)| bar)
    }

    /// How far the playhead is through its bar, 0..=1; `None` while the transport stands.
    pub fn progress(&self) -> Option<f32> {
        self.at
            .map(|(bar, tick)| (tick - bar.start) as f32 / bar.meter.bar_len() as f32)
    }
}

/// What is known of the riff.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct RiffFacts {
    /// Its attacks.
    pub attacks: usize,
    /// Whether it is known anywhere.
    pub known: bool,
    /// Whether it goes on after its end.
    pub repeats: bool,
}

impl RiffFacts {
    /// What is known of a riff.
    pub fn of(riff: &Riff) -> Self {
        Self {
            attacks: riff.attacks().len(),
            known: !riff.is_empty(),
            repeats: riff.repeat().is_some(),
        }
    }
}

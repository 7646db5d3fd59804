//! Keeps the document, and what was played, for every thread but the audio thread.
//!
//! What changed goes to the audio thread, and what it captured and played is taken up whenever somebody asks, through
//! [`super::audio_ends`].

mod by_hand;

use super::audio_ends::{AudioEnds, Links, Parcel, links};
use super::default_map;
use super::document::{Document, SavedDocument, Song, SongState};
use super::undo::{Change, Touched, Turned, Undo};
use super::view::ViewSettings;
use crate::kit::map_file::NamedMap;
use crate::kit::{Note, Struck};
use crate::recorder::{Entry, Passage, Recorder};
use crate::riff::Riff;
use crate::settings::{SettingId, Settings};
use crate::song::{SongError, SongFile};
use crate::time::{Meter, ObservedTempoMap, Ticks};
use std::sync::atomic::Ordering;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// What is kept.
struct Kept {
    document: Document,
    undo: Undo,
    /// How often the user has changed it; loading a project is no change.
    changes: u32,
    recorder: Recorder,
    /// The host's meters that the song is laid out in.
    meters: Vec<(Ticks, Meter)>,
    generation: u32,
    /// Why the map for new instances can't be read, where it can't.
    start_problem: Option<String>,
    links: Links,
}

/// The project of an instance. Any thread but the audio thread.
pub struct Project {
    kept: Mutex<Kept>,
    /// The audio thread's ends until they are taken.
    audio: Mutex<Option<AudioEnds>>,
}

impl Default for Project {
    fn default() -> Self {
        let (links, audio) = links();
        Self {
            kept: Mutex::new(Kept {
                document: Document::default(),
                undo: Undo::default(),
                changes: 0,
                recorder: Recorder::default(),
                meters: Vec::new(),
                generation: 0,
                start_problem: None,
                links,
            }),
            audio: Mutex::new(Some(audio)),
        }
    }
}

impl Project {
    /// The audio thread's ends, once. Main thread.
    pub fn take_audio(&self) -> Option<AudioEnds> {
        let mut audio = self.audio.lock().unwrap_or_else(PoisonError::into_inner);
        audio.take()
    }

    /// The document as it is now; a clone that shares what is large.
    pub fn document(&self) -> Document {
        self.lock().document.clone()
    }

    /// The song, where there is one that makes sense.
    pub fn song(&self) -> Option<Arc<Song>> {
        self.lock().document.song.song().cloned()
    }

    /// How often the user has changed it; loading a project is no change.
    pub fn changes(&self) -> u32 {
        self.lock().changes
    }

    /// Whether there is a change to take back, and one to make again.
    pub fn can(&self) -> Can {
        let kept = self.lock();
        Can {
            undo: kept.undo.can_undo(),
            redo: kept.undo.can_redo(),
        }
    }

    /// What was played last ([`Recorder::latest`]), if anything was, and the map that it was played in.
    pub fn latest(&self) -> Option<(Passage, Arc<ObservedTempoMap>)> {
        let kept = self.lock();
        Some((kept.recorder.latest()?, kept.document.observed.clone()))
    }

    /// Looks at the editor otherwise.
    pub fn set_view(&self, view: ViewSettings) {
        self.lock().document.view = view.sane();
    }

    /// Puts another song in place; can be undone. Changes of one `gesture`, one after the other, are undone
    /// together.
    ///
    /// # Errors
    /// [`SongError`] where it makes no sense; then nothing has changed.
    pub fn change_song(&self, file: SongFile, gesture: Option<u64>) -> Result<(), SongError> {
        self.open(file, None, Vec::new(), gesture)
    }

    /// Puts another song in place, and where it brings one, its riff; both are undone together. `panel` has the values
    /// of the settings that the caller then changes on the panel for the song, as they stand before: undoing hands them
    /// back.
    ///
    /// # Errors
    /// As [`Project::change_song`].
    pub fn open_song(
        &self,
        file: SongFile,
        riff: Option<Riff>,
        panel: Vec<(SettingId, f32)>,
    ) -> Result<(), SongError> {
        self.open(file, riff, panel, None)
    }

    fn open(
        &self,
        mut file: SongFile,
        riff: Option<Riff>,
        panel: Vec<(SettingId, f32)>,
        gesture: Option<u64>,
    ) -> Result<(), SongError> {
        let mut kept = self.lock();
        if matches!(kept.document.song, SongState::Nothing) {
            // The first song of a project takes over the project's own beats, where it brings none of that number.
            for (number, beat) in kept.document.own_beats.kept() {
                file.own_beats.entry(number).or_insert(beat);
            }
        }
        let song = Song::new(file, kept.document.host_meters())?;
        let change = Change {
            song: Some(SongState::Song(Arc::new(song))),
            riff: riff.map(Arc::new),
            panel,
            ..Change::default()
        };
        kept.change(change, gesture);
        Ok(())
    }

    /// Forgets the song; can be undone.
    pub fn clear_song(&self) {
        let mut kept = self.lock();
        let change = Change {
            song: Some(SongState::Nothing),
            // Its own beats stay the project's.
            own_beats: Some(kept.document.own_beats().clone()),
            ..Change::default()
        };
        kept.change(change, None);
    }

    /// Changes the riff; can be undone.
    pub fn change_riff(&self, change: impl FnOnce(&mut Riff)) {
        let mut kept = self.lock();
        let mut riff = Riff::clone(&kept.document.riff);
        change(&mut riff);
        let change = Change {
            riff: Some(Arc::new(riff)),
            ..Change::default()
        };
        kept.change(change, None);
    }

    /// Puts another note map in place; can be undone. Changes of one `gesture`, one after the other, are undone
    /// together.
    pub fn change_map(&self, map: NamedMap, gesture: Option<u64>) {
        let change = Change {
            map: Some(Arc::new(map)),
            ..Change::default()
        };
        self.lock().change(change, gesture);
    }

    /// Starts an instance with the map that the user keeps for new ones, if there is one: no change to be undone. Main
    /// thread.
    pub fn start(&self) {
        let mut kept = self.lock();
        match default_map::load() {
            Ok(None) => {}
            Ok(Some(map)) => {
                kept.document.map = Arc::new(map);
                kept.hand_map();
            }
            Err(problem) => kept.start_problem = Some(problem.to_string()),
        }
    }

    /// Why the map for new instances can't be read, where it can't, until a project is loaded or another map is set.
    pub fn start_problem(&self) -> Option<String> {
        self.lock().start_problem.clone()
    }

    /// Plays a stroke at once, through the note map, whether or not the transport runs. It is dropped where too many
    /// wait.
    pub fn try_stroke(&self, struck: Struck) {
        let _ = self.lock().links.tries.push(struck);
    }

    /// Sets whether notes that come in are learned, and so are no riff. What came in before is forgotten.
    pub fn set_learning(&self, learns: bool) {
        let mut kept = self.lock();
        kept.links.learns.store(learns, Ordering::Relaxed);
        while kept.links.learned.pop().is_ok() {}
    }

    /// The next note that came in while notes are learned.
    pub fn learned(&self) -> Option<Note> {
        self.lock().links.learned.pop().ok()
    }

    /// Takes the user's last change back, while the panel stands at these values. Returns what it is to be set to: the
    /// values that a song had replaced.
    #[must_use]
    pub fn undo(&self, panel: &Settings) -> Vec<(SettingId, f32)> {
        self.turn(panel, Undo::undo)
    }

    /// Makes the change again that was last taken back, unless something else was changed since; otherwise as
    /// [`Project::undo`].
    #[must_use]
    pub fn redo(&self, panel: &Settings) -> Vec<(SettingId, f32)> {
        self.turn(panel, Undo::redo)
    }

    fn turn(
        &self,
        panel: &Settings,
        turn: impl FnOnce(&mut Undo, &mut Document, &Settings) -> Option<Turned>,
    ) -> Vec<(SettingId, f32)> {
        let mut kept = self.lock();
        let Kept { undo, document, .. } = &mut *kept;
        let Some(Turned { touched, panel }) = turn(undo, document, panel) else {
            return Vec::new();
        };
        // A song that comes back may have been laid out in other meters.
        kept.meters.clear();
        kept.lay_out();
        kept.changed(touched);
        panel
    }

    /// Takes up what was captured and played.
    pub fn take_up(&self) {
        drop(self.lock());
    }

    /// A project is loaded: what was there is gone.
    pub fn load(&self, saved: SavedDocument) {
        let mut kept = self.lock();
        let document = Document::read(saved, &kept.document);
        let same_song = document.song.is(&kept.document.song);
        let same_riff = document.riff == kept.document.riff;
        let same_map = document.map == kept.document.map;
        let same_edits = document.edits == kept.document.edits;
        let same_own_beats = document.own_beats == kept.document.own_beats;
        kept.meters = document.host_meters().to_vec();
        kept.document = document;
        // The same song may be laid out in other meters now.
        kept.hand_song();
        if !same_riff {
            kept.hand_riff();
        }
        kept.start_problem = None;
        if !same_map {
            kept.hand_map();
        }
        if !(same_song && same_riff && same_map && same_edits && same_own_beats) {
            kept.undo.forget();
        }
    }

    /// What is kept, with all that has arrived.
    fn lock(&self) -> MutexGuard<'_, Kept> {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        kept.take_up();
        kept
    }
}

/// Whether there is a change to take back, and one to make again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Can {
    /// Whether one can be taken back.
    pub undo: bool,
    /// Whether one can be made again.
    pub redo: bool,
}

impl Kept {
    fn take_up(&mut self) {
        while let Ok((of, edit)) = self.links.edits.pop() {
            // Edits of a riff that was replaced since are void.
            if of == self.generation {
                Arc::make_mut(&mut self.document.riff).apply(edit);
            }
        }
        let mut observed = false;
        while let Ok(entry) = self.links.entries.pop() {
            if let Entry::Over(stretch) = &entry {
                observed = true;
                // A song with too many changes of tempo keeps those that it has.
                let _ = Arc::make_mut(&mut self.document.observed).pass(stretch);
            }
            self.recorder.take(&entry);
        }
        if observed {
            self.lay_out();
        }
    }

    /// Makes a change that can be undone, unless it changes nothing.
    fn change(&mut self, change: Change, gesture: Option<u64>) {
        let touched = change.touched();
        if change.differs(&self.document) {
            self.undo.change(change, gesture, &mut self.document);
            self.changed(touched);
        }
    }

    fn changed(&mut self, touched: Touched) {
        self.changes = self.changes.wrapping_add(1);
        if touched.song || touched.edits || touched.own_beats {
            self.hand_song();
        }
        if touched.riff {
            self.hand_riff();
        }
        if touched.map {
            self.hand_map();
        }
    }

    /// Lays the song out anew where the host's meters have changed, and hands its chart on.
    fn lay_out(&mut self) {
        let meters = self.document.host_meters();
        if self.meters == meters {
            return;
        }
        meters.clone_into(&mut self.meters);
        // Other meters can leave a point of automation without its count: then the song stays as it is.
        if let SongState::Song(song) = &self.document.song
            && let Ok(other) = Song::new(song.file.clone(), meters)
            && other.timeline != song.timeline
        {
            self.document.song = SongState::Song(Arc::new(other));
            self.hand_song();
        }
    }

    fn hand_song(&mut self) {
        self.links.charts.write(self.document.chart());
    }

    fn hand_map(&mut self) {
        self.start_problem = None;
        self.links.maps.write(self.document.map.map.clone());
    }

    fn hand_riff(&mut self) {
        self.generation = self.generation.wrapping_add(1);
        let mut riff = Riff::with_room();
        riff.copy_from(&self.document.riff);
        self.links.riffs.write(Parcel {
            riff,
            generation: self.generation,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::song::Chart;
    use serde_json::json;

    /// A project with a song that goes by the host's meter, in a host that had this one.
    fn in_host_meter(meter: &str) -> SavedDocument {
        let section = json!({"name": "verse", "bars": 4, "meter": "host", "style": "rock"});
        SavedDocument(json!({
            "schema": 2,
            "song": {"fourlimb_song": 1, "title": "", "sections": [section]},
            "observed": {"schema": 1, "tempi": [[0, 120.0]], "meters": [[0, meter]],
                "tempi_known": [[0, 6720]], "meters_known": [[0, 6720]]},
        }))
    }

    #[test]
    fn the_audio_thread_has_the_chart_that_is_shown() {
        let project = Project::default();
        let mut ends = project.take_audio().unwrap();
        let mut chart = Chart::default();
        let mut charts = Vec::new();
        for meter in ["4/4", "7/8", "7/8", "4/4"] {
            project.load(in_host_meter(meter));
            project.take_up();
            ends.charts.receive(&mut chart);
            let shown = project.song().unwrap();
            assert_eq!(&chart, shown.timeline.chart(), "{meter}");
            charts.push(chart.clone());
        }
        assert_ne!(charts[0], charts[1]);
    }

    #[test]
    fn a_change_that_changes_nothing_is_none() {
        let project = Project::default();
        project.change_riff(|riff| *riff = Riff::new([], 0, 3840));
        let _ = project.undo(&Settings::default());
        let changes = project.changes();
        project.change_riff(Riff::clear);
        assert!(project.can().redo);
        assert_eq!(project.changes(), changes);
    }

    fn song(title: &str) -> SongFile {
        let section = json!({"name": "verse", "bars": 4, "style": "rock"});
        let song = json!({"fourlimb_song": 1, "title": title, "sections": [section]});
        serde_json::from_value(song).unwrap()
    }

    /// What a song changes on the panel comes and goes with it, also where the panel was moved in between.
    #[test]
    fn a_song_taken_back_gives_the_panel_back() {
        let project = Project::default();
        let with = |intensity, follow_chart| {
            let mut panel = Settings {
                follow_chart,
                ..Settings::default()
            };
            panel.stroke_settings.intensity = intensity;
            panel
        };
        let values = |panel: &Settings| {
            let of_song = [SettingId::Intensity, SettingId::FollowChart];
            of_song.map(|id| (id, panel.get(id))).to_vec()
        };
        let before = with(0.9, false);
        project.open_song(song("a"), None, values(&before)).unwrap();
        // A change of the song says nothing of the panel.
        project.change_song(song("b"), None).unwrap();
        let moved = with(0.4, true);
        assert_eq!(project.undo(&moved), []);
        assert_eq!(project.undo(&moved), values(&before));
        assert!(project.song().is_none());
        assert_eq!(project.redo(&before), values(&moved));
        assert_eq!(project.undo(&moved), values(&before));
    }

    /// The same song again is no change, unless the panel stood otherwise.
    #[test]
    fn a_song_opened_again_can_be_taken_back_where_the_panel_moved() {
        let project = Project::default();
        project.open_song(song("a"), None, Vec::new()).unwrap();
        let changes = project.changes();
        project.open_song(song("a"), None, Vec::new()).unwrap();
        assert_eq!(project.changes(), changes);
        let replaced = vec![(SettingId::Density, 0.75)];
        project
            .open_song(song("a"), None, replaced.clone())
            .unwrap();
        assert_eq!(project.undo(&Settings::default()), replaced);
        assert!(project.song().is_some());
    }
}

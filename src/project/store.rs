//! Keeps the document, and what was played, for every thread but the audio thread.
//!
//! Whole values (the chart, a riff that the user changed) go to the audio thread through triple buffers: the newest
//! one counts, and the audio thread exchanges it for the one in use, which the giver frees in time. What the audio
//! thread captures and plays comes back through bounded queues, and is taken up whenever somebody asks.

use super::default_map;
use super::document::{Document, SavedDocument, Song, SongState};
use super::undo::{Change, Touched, Undo};
use super::view::ViewSettings;
use crate::kit::map_file::NamedMap;
use crate::kit::{Note, NoteMap, Struck};
use crate::recorder::{Entry, Outlet, Passage, Recorder, RecorderTap};
use crate::riff::{Edit, Riff};
use crate::song::{Chart, SongError, SongFile};
use crate::time::{Meter, ObservedTempoMap, Ticks};
use rtrb::{Consumer, Producer, RingBuffer};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use triple_buffer::{Input, Output, triple_buffer};

/// Edits of the riff that can wait: half an hour of sixteenths at 130 BPM while nobody takes them up.
const EDITS: usize = 16_384;
/// Entries of the recorder that can wait. Four limbs in sixteenths at 300 BPM make 160 a second: fifty seconds of
/// them, or a fifth of a second of a host that renders 250 times as fast.
const ENTRIES: usize = 8192;

/// Strokes to be tried, and notes to be learned, that can wait: more than hands can click.
const TRIES: usize = 256;

/// A riff on its way to the audio thread, with the number of its generation.
#[derive(Debug, Clone, Default)]
struct Parcel {
    riff: Riff,
    generation: u32,
}

/// The audio thread's ends.
pub struct AudioEnds {
    /// Charts that come in.
    pub charts: AudioCharts,
    /// Riffs that come in, and edits that go out.
    pub riff: AudioRiff,
    /// Note maps that come in.
    pub maps: AudioMaps,
    /// The sampler is tried and learned.
    pub sampler: AudioSampler,
    /// What is played goes out.
    pub recorder: RecorderTap<Queue>,
}

/// The audio thread's end of the song.
pub struct AudioCharts(Output<Chart>);

/// The audio thread's end of the note map.
pub struct AudioMaps(Output<NoteMap>);

/// The audio thread's end of trying and learning a sampler.
pub struct AudioSampler {
    tries: Consumer<Struck>,
    learned: Producer<Note>,
    learns: Arc<AtomicBool>,
}

impl AudioMaps {
    /// Exchanges the note map in use for a newer one, where there is one.
    ///
    /// # Realtime
    /// No allocation, no lock, nothing is freed.
    pub fn receive(&mut self, used: &mut NoteMap) -> bool {
        let is_new = self.0.update();
        if is_new {
            used.clone_from(self.0.output_buffer_mut());
        }
        is_new
    }
}

impl AudioSampler {
    /// The next stroke that the user wants to hear.
    pub fn next_try(&mut self) -> Option<Struck> {
        self.tries.pop().ok()
    }

    /// Whether notes that come in are to be learned.
    pub fn learns(&self) -> bool {
        self.learns.load(Ordering::Relaxed)
    }

    /// Hands on a note that came in. Notes that nobody takes up are dropped.
    pub fn learn(&mut self, note: Note) {
        let _ = self.learned.push(note);
    }
}

/// The audio thread's end of the riff.
pub struct AudioRiff {
    riffs: Output<Parcel>,
    edits: Producer<(u32, Edit)>,
    generation: u32,
}

/// The recorder's way out of the audio thread.
#[derive(Debug)]
pub struct Queue(Producer<Entry>);

impl Outlet for Queue {
    fn put(&mut self, entry: Entry) -> bool {
        self.0.push(entry).is_ok()
    }
}

impl AudioCharts {
    /// Exchanges the chart in use for a newer one, where there is one.
    ///
    /// # Realtime
    /// No allocation, no lock, nothing is freed.
    pub fn receive(&mut self, used: &mut Chart) -> bool {
        let is_new = self.0.update();
        if is_new {
            std::mem::swap(used, self.0.output_buffer_mut());
        }
        is_new
    }
}

impl AudioRiff {
    /// Exchanges the riff in use for one that the user changed, where there is one.
    ///
    /// # Realtime
    /// No allocation, no lock, nothing is freed.
    pub fn receive(&mut self, used: &mut Riff) -> bool {
        let is_new = self.riffs.update();
        if is_new {
            let parcel = self.riffs.output_buffer_mut();
            self.generation = parcel.generation;
            std::mem::swap(used, &mut parcel.riff);
        }
        is_new
    }

    /// Hands an edit on; false where the queue is full.
    pub fn send(&mut self, edit: Edit) -> bool {
        self.edits.push((self.generation, edit)).is_ok()
    }
}

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
    charts: Input<Chart>,
    riffs: Input<Parcel>,
    maps: Input<NoteMap>,
    tries: Producer<Struck>,
    learned: Consumer<Note>,
    learns: Arc<AtomicBool>,
    edits: Consumer<(u32, Edit)>,
    entries: Consumer<Entry>,
}

/// The project of an instance. Any thread but the audio thread.
pub struct Project {
    kept: Mutex<Kept>,
    /// The audio thread's ends until they are taken.
    audio: Mutex<Option<AudioEnds>>,
}

impl Default for Project {
    fn default() -> Self {
        let (charts, audio_charts) = triple_buffer(&Chart::default());
        let (riffs, audio_riffs) = triple_buffer(&Parcel::default());
        let (maps, audio_maps) = triple_buffer(&NoteMap::default());
        let (tries, audio_tries) = RingBuffer::new(TRIES);
        let (audio_learned, learned) = RingBuffer::new(TRIES);
        let learns = Arc::<AtomicBool>::default();
        let (audio_edits, edits) = RingBuffer::new(EDITS);
        let (audio_entries, entries) = RingBuffer::new(ENTRIES);
        let audio = AudioEnds {
            charts: AudioCharts(audio_charts),
            riff: AudioRiff {
                riffs: audio_riffs,
                edits: audio_edits,
                generation: 0,
            },
            maps: AudioMaps(audio_maps),
            sampler: AudioSampler {
                tries: audio_tries,
                learned: audio_learned,
                learns: learns.clone(),
            },
            recorder: RecorderTap::new(Queue(audio_entries)),
        };
        Self {
            kept: Mutex::new(Kept {
                document: Document::default(),
                undo: Undo::default(),
                changes: 0,
                recorder: Recorder::default(),
                meters: Vec::new(),
                generation: 0,
                start_problem: None,
                charts,
                riffs,
                maps,
                tries,
                learned,
                learns,
                edits,
                entries,
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
        self.open(file, None, gesture)
    }

    /// Puts another song in place, and where it brings one, its riff; both are undone together.
    ///
    /// # Errors
    /// As [`Project::change_song`].
    pub fn open_song(&self, file: SongFile, riff: Option<Riff>) -> Result<(), SongError> {
        self.open(file, riff, None)
    }

    fn open(
        &self,
        file: SongFile,
        riff: Option<Riff>,
        gesture: Option<u64>,
    ) -> Result<(), SongError> {
        let mut kept = self.lock();
        let song = Song::new(file, kept.document.host_meters())?;
        let change = Change {
            song: Some(SongState::Song(Arc::new(song))),
            riff: riff.map(Arc::new),
            ..Change::default()
        };
        kept.change(change, gesture);
        Ok(())
    }

    /// Forgets the song; can be undone.
    pub fn clear_song(&self) {
        let change = Change {
            song: Some(SongState::Nothing),
            ..Change::default()
        };
        self.lock().change(change, None);
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
        let _ = self.lock().tries.push(struck);
    }

    /// Sets whether notes that come in are learned, and so are no riff. What came in before is forgotten.
    pub fn set_learning(&self, learns: bool) {
        let mut kept = self.lock();
        kept.learns.store(learns, Ordering::Relaxed);
        while kept.learned.pop().is_ok() {}
    }

    /// The next note that came in while notes are learned.
    pub fn learned(&self) -> Option<Note> {
        self.lock().learned.pop().ok()
    }

    /// Takes the user's last change back.
    pub fn undo(&self) {
        self.turn(Undo::undo);
    }

    /// Makes the change again that was last taken back, unless something else was changed since.
    pub fn redo(&self) {
        self.turn(Undo::redo);
    }

    fn turn(&self, turn: impl for<'a> FnOnce(&'a mut Undo, &mut Document) -> Option<&'a Change>) {
        let mut kept = self.lock();
        let Kept { undo, document, .. } = &mut *kept;
        let Some(change) = turn(undo, document) else {
            return;
        };
        let touched = change.touched();
        // A song that comes back may have been laid out in other meters.
        kept.meters.clear();
        kept.lay_out();
        kept.changed(touched);
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
        if !(same_song && same_riff && same_map) {
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
        while let Ok((of, edit)) = self.edits.pop() {
            // Edits of a riff that was replaced since are void.
            if of == self.generation {
                Arc::make_mut(&mut self.document.riff).apply(edit);
            }
        }
        let mut observed = false;
        while let Ok(entry) = self.entries.pop() {
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
        if touched.song {
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
        let song = self.document.song.song();
        let chart = song.map(|song| song.timeline.chart().clone());
        self.charts.write(chart.unwrap_or_default());
    }

    fn hand_map(&mut self) {
        self.start_problem = None;
        self.maps.write(self.document.map.map.clone());
    }

    fn hand_riff(&mut self) {
        self.generation = self.generation.wrapping_add(1);
        let mut riff = Riff::with_room();
        riff.copy_from(&self.document.riff);
        self.riffs.write(Parcel {
            riff,
            generation: self.generation,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
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
        project.undo();
        let changes = project.changes();
        project.change_riff(Riff::clear);
        assert!(project.can().redo);
        assert_eq!(project.changes(), changes);
    }
}

//! Keeps the song: the chart as it is saved, shown and changed, laid out for the audio thread whenever it
//! changes. The audio thread gets each new chart [handed over](super::handover).

use super::filing::Filing;
use super::handover::{Giver, Taker, handover};
use super::undo::{Turns, Undo};
use crate::song::{Chart, SongError, SongFile, Timeline};
use crate::time::{Meter, Ticks};
use nice_plug::params::persist::PersistentField;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// How many changes can be taken back. Judged.
const UNDO: usize = 100;

/// A song that makes sense.
#[derive(Debug, Clone, PartialEq)]
pub struct Song {
    /// As it is saved.
    pub file: SongFile,
    /// The same laid out, in the host's meters where it goes by them.
    pub timeline: Timeline,
}

/// A song in a saved project: a song file, or whatever else is found in its place.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Saved(pub Value);

/// What is kept.
#[derive(Debug, Clone, Default)]
pub enum Held {
    /// No song.
    #[default]
    Nothing,
    /// A song.
    Song(Arc<Song>),
    /// Something that a project brought along and that can't be read: kept as it is, so that a newer Fourlimb
    /// or a person may read it.
    Unread(Arc<Saved>, SongError),
}

impl Held {
    fn saved(&self) -> Saved {
        match self {
            Self::Nothing => Saved::default(),
            // Names and numbers alone: nothing in a song file can't be said in JSON.
            Self::Song(song) => Saved(serde_json::to_value(&song.file).unwrap_or_default()),
            Self::Unread(saved, _) => Saved::clone(saved),
        }
    }

    /// Whether both are saved as the same.
    fn is(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Nothing, Self::Nothing) => true,
            (Self::Song(a), Self::Song(b)) => a.file == b.file,
            (Self::Unread(a, _), Self::Unread(b, _)) => a == b,
            _ => false,
        }
    }
}

struct Kept {
    held: Held,
    undo: Undo<Held>,
    /// How often it was changed; loading a project is no change.
    changes: u32,
    /// The host's meters as they are known.
    meters: Vec<(Ticks, Meter)>,
}

/// The keeper. Any thread but the audio thread.
pub struct SongKeeper {
    kept: Mutex<Kept>,
    charts: Giver<Chart>,
    /// The audio thread's end until it is taken.
    audio: Mutex<Option<Taker<Chart>>>,
    filing: Filing,
}

impl Default for SongKeeper {
    fn default() -> Self {
        let (giver, taker) = handover();
        Self {
            kept: Mutex::new(Kept {
                held: Held::Nothing,
                undo: Undo::new(UNDO),
                changes: 0,
                meters: Vec::new(),
            }),
            charts: giver,
            audio: Mutex::new(Some(taker)),
            filing: Filing::default(),
        }
    }
}

impl SongKeeper {
    /// The audio thread's end, once. Main thread.
    pub fn take_audio(&self) -> Option<Taker<Chart>> {
        let mut audio = self.audio.lock().unwrap_or_else(PoisonError::into_inner);
        audio.take()
    }

    /// How files are read and written.
    pub fn filing(&self) -> &Filing {
        &self.filing
    }

    /// What is kept now.
    pub fn held(&self) -> Held {
        self.lock().held.clone()
    }

    /// The song, where there is one that makes sense.
    pub fn song(&self) -> Option<Arc<Song>> {
        match self.held() {
            Held::Song(song) => Some(song),
            Held::Nothing | Held::Unread(..) => None,
        }
    }

    /// How often it was changed; loading a project is no change.
    pub fn changes(&self) -> u32 {
        self.lock().changes
    }

    /// Which changes come next.
    pub fn turns(&self) -> Turns {
        self.lock().undo.turns()
    }

    /// Puts another song in place; can be undone. Changes of one `gesture`, one after the other, are undone
    /// together.
    ///
    /// # Errors
    /// [`SongError`] where it makes no sense; then nothing has changed.
    pub fn change(&self, file: SongFile, gesture: Option<u64>) -> Result<(), SongError> {
        let mut kept = self.lock();
        let timeline = Timeline::in_host(&file, &kept.meters)?;
        let held = Held::Song(Arc::new(Song { file, timeline }));
        self.replace(&mut kept, held, gesture);
        Ok(())
    }

    /// Forgets the song; can be undone.
    pub fn clear(&self) {
        self.replace(&mut self.lock(), Held::Nothing, None);
    }

    /// Takes the last change back.
    pub fn undo(&self) {
        self.turn(Undo::undo);
    }

    /// Makes the change again that was last taken back.
    pub fn redo(&self) {
        self.turn(Undo::redo);
    }

    fn turn(&self, turn: impl FnOnce(&mut Undo<Held>, &mut Held) -> bool) {
        let mut kept = self.lock();
        let Kept { undo, held, .. } = &mut *kept;
        if turn(undo, held) {
            self.changed(&mut kept);
        }
    }

    /// Hears the host's meters, in order, each from a tick on: sections that go by them are laid out anew.
    pub fn hear_meters(&self, meters: &[(Ticks, Meter)]) {
        let mut kept = self.lock();
        if kept.meters != meters {
            meters.clone_into(&mut kept.meters);
            self.lay_out(&mut kept);
        }
    }

    fn lock(&self) -> MutexGuard<'_, Kept> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn replace(&self, kept: &mut Kept, held: Held, gesture: Option<u64>) {
        if kept.held.is(&held) {
            return;
        }
        let before = std::mem::replace(&mut kept.held, held);
        kept.undo.replaced(before, gesture);
        self.changed(kept);
    }

    fn changed(&self, kept: &mut Kept) {
        kept.changes = kept.changes.wrapping_add(1);
        self.lay_out(kept);
    }

    /// Lays the song out anew and gives its chart away.
    fn lay_out(&self, kept: &mut Kept) {
        let Kept { held, meters, .. } = kept;
        let mut chart = Chart::default();
        if let Held::Song(song) = held {
            // Other meters can leave a point of automation without its count: then the song stays as it is.
            if let Ok(timeline) = Timeline::in_host(&song.file, meters)
                && timeline != song.timeline
            {
                let file = song.file.clone();
                *song = Arc::new(Song { file, timeline });
            }
            chart = song.timeline.chart().clone();
        }
        self.charts.give(chart);
    }
}

/// A song as a project saved it.
fn read(saved: Saved, meters: &[(Ticks, Meter)]) -> Held {
    if saved.0.is_null() {
        return Held::Nothing;
    }
    let song = SongFile::parse(&saved.0.to_string()).and_then(|file| {
        let timeline = Timeline::in_host(&file, meters)?;
        Ok(Arc::new(Song { file, timeline }))
    });
    match song {
        Ok(song) => Held::Song(song),
        Err(problem) => Held::Unread(Arc::new(saved), problem),
    }
}

impl PersistentField<'_, Saved> for Arc<SongKeeper> {
    /// A project is loaded: the song of before is gone.
    fn set(&self, saved: Saved) {
        let mut kept = self.lock();
        let held = read(saved, &kept.meters);
        if !kept.held.is(&held) {
            kept.held = held;
            kept.undo.forget();
            self.lay_out(&mut kept);
        }
    }

    fn map<F, R>(&self, f: F) -> R
    where
        F: Fn(&Saved) -> R,
    {
        let saved = self.lock().held.saved();
        f(&saved)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn song(bars: u32) -> SongFile {
        let json = json!({"fourlimb_song": 1, "title": "T",
            "sections": [{"name": "A", "bars": bars, "meter": "host"}]});
        SongFile::parse(&json.to_string()).unwrap()
    }

    fn bars(keeper: &SongKeeper) -> usize {
        let song = keeper.song();
        song.map_or(0, |song| song.timeline.bars().len())
    }

    #[test]
    fn a_gesture_is_undone_at_once_and_changes_one_by_one() {
        let keeper = SongKeeper::default();
        for (bars, gesture) in [(1, None), (2, Some(7)), (3, Some(7)), (4, Some(8))] {
            keeper.change(song(bars), gesture).unwrap();
        }
        let mut seen = Vec::new();
        while keeper.turns().undo.is_some() {
            keeper.undo();
            seen.push(bars(&keeper));
        }
        assert_eq!(seen, [3, 1, 0]);
        keeper.redo();
        keeper.redo();
        assert_eq!(bars(&keeper), 3);
        // The gesture is over: one more change of its own kind is another one.
        keeper.change(song(9), Some(7)).unwrap();
        assert_eq!(keeper.turns().redo, None);
        keeper.undo();
        assert_eq!(bars(&keeper), 3);
    }

    #[test]
    fn nonsense_changes_nothing() {
        let keeper = SongKeeper::default();
        keeper.change(song(2), None).unwrap();
        let facts = (keeper.turns(), keeper.changes());
        let error = keeper.change(song(0), None).unwrap_err();
        assert!(error.to_string().contains("sections[0].bars"), "{error}");
        assert_eq!((keeper.turns(), keeper.changes()), facts);
        assert_eq!(bars(&keeper), 2);
    }

    #[test]
    fn the_audio_thread_gets_every_chart_in_the_hosts_meters() {
        let keeper = SongKeeper::default();
        let mut audio = keeper.take_audio().unwrap();
        let mut used = Chart::default();
        let mut take = || {
            audio.take(|chart| std::mem::swap(chart, &mut used));
            used.here(0).map(|here| here.bar.meter)
        };
        keeper.change(song(2), None).unwrap();
        assert_eq!(take(), Some(Meter::FOUR_FOUR));
        let waltz: Meter = "3/4".parse().unwrap();
        keeper.hear_meters(&[(0, waltz)]);
        assert_eq!(take(), Some(waltz));
        keeper.clear();
        assert_eq!(take(), None);
    }

    /// What can't be read is not lost: it is saved as it came, and comes back when a song that replaced it is
    /// undone.
    #[test]
    fn what_cannot_be_read_is_kept() {
        let keeper = Arc::new(SongKeeper::default());
        let newer = json!({"fourlimb_song": 99, "sections": {"new": "shape"}});
        for strange in [newer.clone(), json!("text"), json!([1, 2]), newer.clone()] {
            keeper.set(Saved(strange.clone()));
            let Held::Unread(_, problem) = keeper.held() else {
                panic!("it was read: {strange}");
            };
            assert!(problem.to_string().len() > 20);
            assert_eq!(keeper.map(Saved::clone).0, strange);
        }
        keeper.change(song(2), None).unwrap();
        keeper.undo();
        assert_eq!(keeper.map(Saved::clone).0, newer);
        keeper.set(Saved::default());
        assert!(matches!(keeper.held(), Held::Nothing));
    }
}

//! What the songwriter changes by hand: edits of strokes, and own beats.

use super::Project;
use crate::groove::own::{OwnBeat, OwnBeats};
use crate::project::document::{Song, SongState};
use crate::project::undo::Change;
use crate::song::edits::EditRow;
use crate::song::{SongError, SongFile};
use std::sync::Arc;

impl Project {
    /// Keeps one of the songwriter's own beats, by its number from 1 to [`SLOTS`](crate::groove::own::SLOTS), in place of
    /// the one that was there; `None` empties the slot. The song keeps it where there is one, else the project. Can be
    /// undone.
    ///
    /// # Errors
    /// [`SongError`] where the beat makes no sense; then nothing has changed.
    pub fn keep_beat(&self, number: u8, beat: Option<OwnBeat>) -> Result<(), SongError> {
        let mut kept = self.lock();
        let mut own_beats = kept.document.own_beats().kept();
        match beat {
            Some(beat) => own_beats.insert(number, beat),
            None => own_beats.remove(&number),
        };
        let mut change = Change::default();
        if let Some(song) = kept.document.song.song() {
            let file = SongFile {
                own_beats,
                ..song.file.clone()
            };
            let song = Song::new(file, kept.document.host_meters())?;
            change.song = Some(SongState::Song(Arc::new(song)));
        } else {
            change.own_beats = Some(Arc::new(OwnBeats::new(&own_beats)?));
        }
        kept.change(change, None);
        Ok(())
    }

    /// Puts other edits by hand in place: of the section at a place of the song, from 0, or of where no chart is
    /// followed. It can be undone. Changes of one `gesture`, one after the other, are undone together.
    ///
    /// # Errors
    /// [`SongError`] where they make no sense; then nothing has changed.
    pub fn change_edits(
        &self,
        section: Option<usize>,
        edits: Vec<EditRow>,
        gesture: Option<u64>,
    ) -> Result<(), SongError> {
        let Some(place) = section else {
            let change = Change {
                edits: Some(Arc::new(edits)),
                ..Change::default()
            };
            self.lock().change(change, gesture);
            return Ok(());
        };
        let Some(mut file) = self.song().map(|song| song.file.clone()) else {
            return Ok(());
        };
        if let Some(section) = file.sections.get_mut(place) {
            section.edits = edits;
        }
        self.change_song(file, gesture)
    }
}

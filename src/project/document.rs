//! The document: the song, the riff, what was observed of the host, how the editor is looked at.
//!
//! Saved, it is one JSON object with a schema number. What can't be read of it, since a newer version wrote it or
//! it is damaged, is kept as it came and saved again, and what is known of it is used.

use super::view::ViewSettings;
use crate::groove::DRUMMER;
use crate::groove::own::{Kept, OwnBeats};
use crate::kit::map_file::{MapError, NamedMap};
use crate::riff::Riff;
use crate::riff::attacks::RiffData;
use crate::song::chart::OwnHand;
use crate::song::edits::EditRow;
use crate::song::{Chart, SongError, SongFile, Timeline};
use crate::time::observed::ObservedData;
use crate::time::{Meter, ObservedTempoMap, Ticks};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use std::sync::Arc;

/// The schema that this program writes, and the latest that it knows. Schema 1 had a field of the state for each
/// part; [`SavedDocument::from_parts`] makes a document of them.
pub const SCHEMA: u32 = 2;

/// A song that makes sense.
#[derive(Debug, Clone, PartialEq)]
pub struct Song {
    /// As it is saved.
    pub file: SongFile,
    /// The same, each section saying everything: what is edited.
    pub whole: SongFile,
    /// The same laid out, in the host's meters where it goes by them.
    pub timeline: Timeline,
    /// Its own beats.
    pub own_beats: Arc<OwnBeats>,
}

impl Song {
    /// Lays a song out in a host with these meters.
    ///
    /// # Errors
    /// [`SongError`] where it makes no sense.
    pub fn new(file: SongFile, meters: &[(Ticks, Meter)]) -> Result<Self, SongError> {
        let timeline = Timeline::in_host(&file, meters)?;
        let whole = file.spelled_out();
        Ok(Self {
            file,
            whole,
            own_beats: Arc::new(timeline.chart().own_beats().clone()),
            timeline,
        })
    }
}

/// What stands in the song's place.
#[derive(Debug, Clone, Default)]
pub enum SongState {
    /// No song.
    #[default]
    Nothing,
    /// A song.
    Song(Arc<Song>),
    /// Something that a project brought along and that can't be read: kept as it is, so that a newer Fourlimb
    /// or a person may read it.
    Unread(Arc<Value>, SongError),
}

impl SongState {
    /// Reads what a project saved.
    fn read(saved: Value, meters: &[(Ticks, Meter)]) -> Self {
        if saved.is_null() {
            return Self::Nothing;
        }
        let song = SongFile::parse(&saved.to_string()).and_then(|file| Song::new(file, meters));
        match song {
            Ok(song) => Self::Song(Arc::new(song)),
            Err(problem) => Self::Unread(Arc::new(saved), problem),
        }
    }

    fn saved(&self) -> Value {
        match self {
            Self::Nothing => Value::Null,
            // Names and numbers alone: nothing in a song file can't be said in JSON.
            Self::Song(song) => serde_json::to_value(&song.file).unwrap_or_default(),
            Self::Unread(saved, _) => Value::clone(saved),
        }
    }

    /// Whether both are saved as the same.
    pub fn is(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Nothing, Self::Nothing) => true,
            (Self::Song(a), Self::Song(b)) => a.file == b.file,
            (Self::Unread(a, _), Self::Unread(b, _)) => a == b,
            _ => false,
        }
    }

    /// The song, where there is one that makes sense.
    pub fn song(&self) -> Option<&Arc<Song>> {
        match self {
            Self::Song(song) => Some(song),
            Self::Nothing | Self::Unread(..) => None,
        }
    }
}

/// The document. A clone shares what is large.
#[derive(Debug, Clone, Default)]
pub struct Document {
    /// The song with its chart.
    pub song: SongState,
    /// The guitar's attacks.
    pub riff: Arc<Riff>,
    /// What was edited by hand where no chart is followed, in ticks of the song. Those of sections are in the song.
    pub edits: Arc<Vec<EditRow>>,
    /// What the sampler is sent.
    pub map: Arc<NamedMap>,
    /// The songwriter's own beats where there is no song; a song has them itself: see [`Document::own_beats`].
    pub own_beats: Arc<OwnBeats>,
    /// Why the saved map can't be read, where it can't.
    map_problem: Option<MapError>,
    /// The host's tempi and meters as far as they were observed.
    pub observed: Arc<ObservedTempoMap>,
    /// How the editor is looked at.
    pub view: ViewSettings,
    /// Fields of the saved form that this version does not know or could not read, as they came.
    unread: Map<String, Value>,
    /// The version of the drummer that saved it, where that is a newer one.
    newer_drummer: Option<u64>,
    /// What stands in the place of those that could not be read, until the user changes it.
    stand_in: StandIn,
}

/// The parts of a document that can stand in for unread ones.
#[derive(Debug, Clone, Default)]
struct StandIn {
    riff: Arc<Riff>,
    edits: Arc<Vec<EditRow>>,
    map: Arc<NamedMap>,
    own_beats: Arc<OwnBeats>,
    view: ViewSettings,
}

/// The fields of the saved form.
const SONG: &str = "song";
const RIFF: &str = "riff";
const MAP: &str = "map";
const EDITS: &str = "edits";
const OWN_BEATS: &str = "own_beats";
const OBSERVED: &str = "observed";
const VIEW: &str = "view";
const NUMBER: &str = "schema";
const PLAYED_BY: &str = "drummer";

/// A document as a project saves it.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct SavedDocument(pub Value);

impl SavedDocument {
    /// A document of the parts that a state of schema 1 held apart (song, riff, observed map, view), each as JSON
    /// text. What is no JSON is kept as text.
    pub fn from_parts(parts: [Option<String>; 4]) -> Self {
        let value = |text: String| serde_json::from_str(&text).unwrap_or(Value::String(text));
        let mut fields: Map<_, _> = [SONG, RIFF, OBSERVED, VIEW]
            .into_iter()
            .zip(parts)
            .filter_map(|(name, text)| Some((name.to_owned(), value(text?))))
            .collect();
        fields.insert(NUMBER.to_owned(), SCHEMA.into());
        Self(Value::Object(fields))
    }
}

impl Document {
    /// Reads what a project saved. Where a part of it is there and can't be read, that of `before` stays.
    pub fn read(saved: SavedDocument, before: &Self) -> Self {
        let mut fields = match saved.0 {
            Value::Object(fields) => fields,
            Value::Null => Map::new(),
            // No document at all: kept in the song's place, where the editor says so.
            strange => Map::from_iter([(SONG.to_owned(), strange)]),
        };
        let number = fields.remove(NUMBER).unwrap_or_else(|| SCHEMA.into());
        let song = fields.remove(SONG).unwrap_or_default();
        let mut document = Self::default();
        let riff = |data: &RiffData| Riff::load(data).ok();
        match part(&mut fields, RIFF, riff) {
            Some(riff) => document.riff = Arc::new(riff),
            None if fields.contains_key(RIFF) => document.riff = before.riff.clone(),
            None => {}
        }
        match part(&mut fields, EDITS, |edits: &Vec<EditRow>| {
            Some(edits.clone())
        }) {
            Some(edits) => document.edits = Arc::new(edits),
            None if fields.contains_key(EDITS) => document.edits = before.edits.clone(),
            None => {}
        }
        match fields.get(MAP).map(NamedMap::read) {
            Some(Ok(map)) => {
                fields.remove(MAP);
                document.map = Arc::new(map);
            }
            Some(Err(problem)) => {
                document.map = before.map.clone();
                document.map_problem = Some(problem);
            }
            // Projects from before there were maps played General MIDI.
            None => {}
        }
        let observed = |data: &ObservedData| ObservedTempoMap::load(data).ok();
        match part(&mut fields, OBSERVED, observed) {
            Some(observed) => document.observed = Arc::new(observed),
            None if fields.contains_key(OBSERVED) => document.observed = before.observed.clone(),
            None => {}
        }
        let own_beats = |kept: &Kept| OwnBeats::new(kept).ok();
        match part(&mut fields, OWN_BEATS, own_beats) {
            Some(own_beats) => document.own_beats = Arc::new(own_beats),
            None if fields.contains_key(OWN_BEATS) => document.own_beats = before.own_beats.clone(),
            None => {}
        }
        match part(&mut fields, VIEW, |view: &ViewSettings| Some(view.sane())) {
            Some(view) => document.view = view,
            None if fields.contains_key(VIEW) => document.view = before.view,
            None => {}
        }
        document.song = SongState::read(song, document.host_meters());
        if number
            .as_u64()
            .is_none_or(|number| number > u64::from(SCHEMA))
        {
            fields.insert(NUMBER.to_owned(), number);
        }
        let drummer = fields.remove(PLAYED_BY);
        let newer = drummer.filter(|said| said.as_u64().is_none_or(|n| n > u64::from(DRUMMER)));
        if let Some(newer) = newer {
            document.newer_drummer = newer.as_u64();
            fields.insert(PLAYED_BY.to_owned(), newer);
        }
        document.unread = fields;
        document.stand_in = StandIn {
            riff: document.riff.clone(),
            edits: document.edits.clone(),
            map: document.map.clone(),
            own_beats: document.own_beats.clone(),
            view: document.view,
        };
        document
    }

    /// The version of the drummer that saved it, where that is a newer one than [`DRUMMER`].
    pub fn newer_drummer(&self) -> Option<u64> {
        self.newer_drummer
    }

    /// Why the note map that the project saved can't be read, until the user sets another.
    pub fn map_problem(&self) -> Option<&MapError> {
        self.map_problem
            .as_ref()
            .filter(|_| self.map == self.stand_in.map)
    }

    /// The songwriter's own beats in force: the song's, or the project's where there is no song.
    pub fn own_beats(&self) -> &Arc<OwnBeats> {
        let of_song = self.song.song().map(|song| &song.own_beats);
        of_song.unwrap_or(&self.own_beats)
    }

    /// The chart that is played: the song's, or an empty one that brings the project's own beats; with the edits that hold
    /// where it is not followed. Allocates.
    pub fn chart(&self) -> Chart {
        let of_song = self.song.song().map(|song| song.timeline.chart().clone());
        let mut chart = of_song.unwrap_or_else(|| {
            let mut chart = Chart::default();
            chart.set_own_beats(OwnBeats::clone(&self.own_beats));
            chart
        });
        chart.set_beside(OwnHand {
            edits: self.edits.iter().map(|row| row.0).collect(),
            ..OwnHand::default()
        });
        chart
    }

    /// The host's meters that a song is laid out in; none where nothing was observed.
    pub fn host_meters(&self) -> &[(Ticks, Meter)] {
        if self.observed.is_empty() {
            &[]
        } else {
            self.observed.meters()
        }
    }

    /// The form in which a project saves it.
    pub fn saved(&self) -> SavedDocument {
        let mut fields = Map::new();
        fields.insert(NUMBER.to_owned(), SCHEMA.into());
        fields.insert(PLAYED_BY.to_owned(), DRUMMER.into());
        fields.insert(SONG.to_owned(), self.song.saved());
        put(&mut fields, RIFF, &self.riff.save());
        put(&mut fields, MAP, &*self.map);
        if !self.edits.is_empty() {
            put(&mut fields, EDITS, &*self.edits);
        }
        put(&mut fields, OBSERVED, &self.observed.save());
        if !self.own_beats.is_empty() {
            put(&mut fields, OWN_BEATS, &self.own_beats.kept());
        }
        put(&mut fields, VIEW, &self.view);
        // What could not be read goes back as it came, unless there is something of ours in its place by now.
        let is_ours = |name: &str| match name {
            RIFF => self.riff != self.stand_in.riff,
            MAP => self.map != self.stand_in.map,
            EDITS => self.edits != self.stand_in.edits,
            // A map grows while the host plays: one that is known goes before one that can't be read.
            OBSERVED => !self.observed.is_empty(),
            VIEW => self.view != self.stand_in.view,
            OWN_BEATS => self.own_beats != self.stand_in.own_beats,
            _ => false,
        };
        for (name, value) in &self.unread {
            if !is_ours(name) {
                fields.insert(name.clone(), value.clone());
            }
        }
        SavedDocument(Value::Object(fields))
    }
}

/// Takes a part out of the saved fields, where it can be read; else it stays there.
fn part<T: DeserializeOwned, U>(
    fields: &mut Map<String, Value>,
    name: &str,
    load: impl FnOnce(&T) -> Option<U>,
) -> Option<U> {
    let data = T::deserialize(fields.get(name)?).ok()?;
    let loaded = load(&data)?;
    fields.remove(name);
    Some(loaded)
}

fn put(fields: &mut Map<String, Value>, name: &str, data: &impl Serialize) {
    // Plain numbers and texts: nothing in them can't be said in JSON.
    fields.insert(
        name.to_owned(),
        serde_json::to_value(data).unwrap_or_default(),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn read(value: Value) -> Document {
        Document::read(SavedDocument(value), &Document::default())
    }

    /// What can't be read is not lost: it is saved as it came.
    #[test]
    fn what_cannot_be_read_is_kept() {
        let newer = json!({"fourlimb_song": 99, "sections": {"new": "shape"}});
        for strange in [newer, json!("text"), json!([1, 2])] {
            let document = read(json!({"schema": 2, "song": strange}));
            let SongState::Unread(_, problem) = &document.song else {
                panic!("it was read: {strange}");
            };
            assert!(problem.to_string().len() > 20);
            assert_eq!(document.saved().0["song"], strange);
        }
    }

    #[test]
    fn a_newer_document_goes_back_as_it_came() {
        let newer = json!({"schema": 9, "song": null, "riff": {"schema": 7}, "observed": "?",
            "map": {"fourlimb_map": 9, "new": 1},
            "view": {"zoom": 150, "light": false, "size": null, "middle_c": 3,
                "steps": [true, false, true]},
            "maps": [1, 2, 3], "drummer": 7});
        let document = read(newer.clone());
        assert_eq!(document.newer_drummer(), Some(7));
        assert_eq!(document.view.zoom, 150);
        assert_eq!(document.saved().0, newer);
        // What was made anew since stands in its place.
        let mut changed = document;
        changed.riff = Arc::new(Riff::new([], 0, 3840));
        assert_eq!(changed.saved().0["riff"]["schema"], 1);
        assert_eq!(changed.saved().0["maps"], json!([1, 2, 3]));
    }

    /// Also where something was there that stands in for it.
    #[test]
    fn an_unread_part_outlives_what_was_there_before() {
        let before = Document {
            riff: Arc::new(Riff::new([], 0, 3840)),
            ..Document::default()
        };
        let newer = json!({"schema": 9, "new": "shape"});
        let saved = SavedDocument(json!({"schema": 2, "song": null, "riff": newer}));
        let mut document = Document::read(saved, &before);
        assert_eq!(document.riff, before.riff);
        assert_eq!(document.saved().0["riff"], newer);
        document.riff = Arc::default();
        assert_eq!(document.saved().0["riff"]["schema"], 1, "the user's own");
    }

    /// A song for a newer drummer is not played by this one, and stays what it is.
    #[test]
    fn the_drummer_is_saved_and_a_newer_one_is_kept() {
        assert_eq!(Document::default().saved().0["drummer"], DRUMMER);
        let mut song = serde_json::to_value(SongFile::parse(SongFile::DEMO).unwrap()).unwrap();
        assert_eq!(song["drummer"], DRUMMER);
        song["drummer"] = (DRUMMER + 1).into();
        let newer = json!({"schema": 2, "drummer": DRUMMER + 1, "song": song});
        let document = read(newer);
        let SongState::Unread(_, problem) = &document.song else {
            panic!("it was read");
        };
        assert!(problem.to_string().contains("newer Fourlimb"), "{problem}");
        assert_eq!(document.saved().0["song"], song);
        assert_eq!(document.saved().0["drummer"], DRUMMER + 1);
        // A project from before drummers had numbers becomes one of this drummer's.
        song.as_object_mut().unwrap().remove("drummer");
        let document = read(json!({"schema": 2, "song": song}));
        assert_eq!(document.newer_drummer(), None);
        assert_eq!(document.saved().0["song"]["drummer"], DRUMMER);
        assert_eq!(document.saved().0["drummer"], DRUMMER);
    }

    #[test]
    fn a_document_comes_back() {
        let song = SongFile::parse(SongFile::DEMO).unwrap();
        let document = Document {
            song: SongState::Song(Arc::new(Song::new(song, &[]).unwrap())),
            riff: Arc::new(Riff::new([], 0, 3840)),
            ..Document::default()
        };
        let back = Document::read(document.saved(), &Document::default());
        assert!(back.song.is(&document.song));
        assert_eq!(back.riff, document.riff);
        assert_eq!(back.saved(), document.saved());
        assert_eq!(read(Value::Null).saved(), Document::default().saved());
    }
}

//! The links between the project and the audio thread: both ends of each.
//!
//! Whole values (the chart, the note map, a riff that the user changed) go to the audio thread through triple buffers: the
//! newest one counts, and the audio thread exchanges it for the one in use, which the giver frees in time. What the audio
//! thread captures and plays comes back through bounded queues.

use crate::kit::{Note, NoteMap, Struck};
use crate::recorder::{Entry, Outlet, RecorderTap};
use crate::riff::{Edit, Riff};
use crate::song::Chart;
use rtrb::{Consumer, Producer, RingBuffer};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
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
pub(super) struct Parcel {
    pub(super) riff: Riff,
    pub(super) generation: u32,
}

/// The project's ends.
pub(super) struct Links {
    pub(super) charts: Input<Chart>,
    pub(super) riffs: Input<Parcel>,
    pub(super) maps: Input<NoteMap>,
    pub(super) tries: Producer<Struck>,
    pub(super) learned: Consumer<Note>,
    pub(super) learns: Arc<AtomicBool>,
    pub(super) edits: Consumer<(u32, Edit)>,
    pub(super) entries: Consumer<Entry>,
}

/// Both ends of every link. Allocates.
pub(super) fn links() -> (Links, AudioEnds) {
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
    let links = Links {
        charts,
        riffs,
        maps,
        tries,
        learned,
        learns,
        edits,
        entries,
    };
    (links, audio)
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

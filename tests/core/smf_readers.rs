//! What a MIDI file says, read by three libraries that share no code: `midly` (strict), `midi_file`
//! and `midi-msg`. None of them knows our writer's ways; together they reject every illegal file
//! that we could think of [measured].

use fourlimb::midi::RegionNote;
use fourlimb::time::Ticks;
use std::collections::BTreeMap;

/// A note as a reader sees it: tick, length, channel from 0, key, velocity.
pub type Seen = (Ticks, Ticks, u8, u8, u8);

/// A track as a reader sees it; ticks from its start.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SeenTrack {
    pub name: String,
    pub notes: Vec<Seen>,
    /// Microseconds a quarter.
    pub tempi: Vec<(Ticks, u32)>,
    /// Numerator and denominator.
    pub meters: Vec<(Ticks, u8, u16)>,
    pub markers: Vec<(Ticks, String)>,
    /// Where its end-of-track event is.
    pub end: Ticks,
}

/// A file as a reader sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SeenFile {
    pub format: u8,
    pub per_quarter: u16,
    pub tracks: Vec<SeenTrack>,
}

impl SeenFile {
    /// The notes of every track, in order.
    pub fn notes(&self) -> Vec<Seen> {
        let mut notes: Vec<_> = self.tracks.iter().flat_map(|t| t.notes.clone()).collect();
        notes.sort_unstable();
        notes
    }
}

pub fn seen(notes: &[RegionNote]) -> Vec<Seen> {
    let see = |n: &RegionNote| (n.tick, n.length, n.note.channel, n.note.key, n.velocity);
    let mut notes: Vec<_> = notes.iter().map(see).collect();
    notes.sort_unstable();
    notes
}

/// Collects a track, and complains of whatever is left open, doubled or misplaced.
#[derive(Default)]
struct Collector {
    at: Ticks,
    open: BTreeMap<(u8, u8), (Ticks, u8)>,
    named: bool,
    ended: bool,
    track: SeenTrack,
}

impl Collector {
    fn wait(&mut self, delta: u32) {
        assert!(!self.ended, "an event after the end of the track");
        self.at += Ticks::from(delta);
    }

    fn on(&mut self, channel: u8, key: u8, velocity: u8) {
        assert!((1..=127).contains(&velocity), "velocity {velocity}");
        let last = self.open.insert((channel, key), (self.at, velocity));
        assert_eq!(last, None, "key {key} is struck while it sounds");
    }

    fn off(&mut self, channel: u8, key: u8) {
        let (on, velocity) = self.open.remove(&(channel, key)).expect("a note-on");
        let note = (on, self.at - on, channel, key, velocity);
        self.track.notes.push(note);
    }

    fn name(&mut self, name: String) {
        assert_eq!((self.at, self.named), (0, false), "one name, at time 0");
        self.named = true;
        self.track.name = name;
    }

    fn end(&mut self) {
        self.ended = true;
        self.track.end = self.at;
    }

    fn done(mut self) -> SeenTrack {
        assert!(self.open.is_empty(), "note-ons without note-off");
        assert!(self.ended, "a track without its end");
        self.track.notes.sort_unstable();
        self.track
    }
}

pub fn midly(bytes: &[u8]) -> SeenFile {
    use midly::{MetaMessage, MidiMessage, Timing, TrackEventKind};
    let smf = midly::Smf::parse(bytes).unwrap();
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    let read = |track: &midly::Track| {
        let mut it = Collector::default();
        for event in track {
            it.wait(event.delta.as_int());
            match event.kind {
                TrackEventKind::Midi { channel, message } => match message {
                    MidiMessage::NoteOn { key, vel } => {
                        it.on(channel.into(), key.into(), vel.into());
                    }
                    MidiMessage::NoteOff { key, .. } => it.off(channel.into(), key.into()),
                    other => panic!("{other:?}"),
                },
                TrackEventKind::Meta(meta) => match meta {
                    MetaMessage::TrackName(name) => it.name(text(name)),
                    MetaMessage::Tempo(micros) => it.track.tempi.push((it.at, micros.as_int())),
                    MetaMessage::TimeSignature(n, log2, ..) => {
                        it.track.meters.push((it.at, n, 1 << log2));
                    }
                    MetaMessage::Marker(name) => it.track.markers.push((it.at, text(name))),
                    MetaMessage::EndOfTrack => it.end(),
                    other => panic!("{other:?}"),
                },
                other => panic!("{other:?}"),
            }
        }
        it.done()
    };
    SeenFile {
        format: smf.header.format as u8,
        per_quarter: match smf.header.timing {
            Timing::Metrical(ticks) => ticks.as_int(),
            other => panic!("{other:?}"),
        },
        tracks: smf.tracks.iter().map(read).collect(),
    }
}

pub fn midi_file(bytes: &[u8]) -> SeenFile {
    use midi_file::core::Message;
    use midi_file::file::{Division, Event, MetaEvent};
    let midi = midi_file::MidiFile::read(bytes).unwrap();
    let read = |track: &midi_file::file::Track| {
        let mut it = Collector::default();
        for event in track.events() {
            it.wait(event.delta_time());
            match event.event() {
                Event::Midi(Message::NoteOn(note)) => it.on(
                    note.channel().into(),
                    note.note_number().into(),
                    note.velocity().into(),
                ),
                Event::Midi(Message::NoteOff(note)) => {
                    it.off(note.channel().into(), note.note_number().into());
                }
                Event::Meta(meta) => match meta {
                    MetaEvent::TrackName(name) => it.name(name.to_string()),
                    MetaEvent::SetTempo(micros) => {
                        it.track.tempi.push((it.at, u32::from(*micros)));
                    }
                    MetaEvent::TimeSignature(meter) => {
                        let denominator = 1 << (meter.denominator() as u8);
                        it.track
                            .meters
                            .push((it.at, meter.numerator(), denominator));
                    }
                    MetaEvent::Marker(name) => it.track.markers.push((it.at, name.to_string())),
                    MetaEvent::EndOfTrack => it.end(),
                    other => panic!("{other:?}"),
                },
                other => panic!("{other:?}"),
            }
        }
        it.done()
    };
    SeenFile {
        format: match midi.header().format() {
            midi_file::file::Format::Single => 0,
            midi_file::file::Format::Multi => 1,
            other => panic!("{other:?}"),
        },
        per_quarter: match midi.header().division() {
            Division::QuarterNote(division) => u16::from(division),
            other => panic!("{other:?}"),
        },
        tracks: midi.tracks().map(read).collect(),
    }
}

pub fn midi_msg(bytes: &[u8]) -> SeenFile {
    use midi_msg::{ChannelVoiceMsg, Division, Meta, MidiFile, MidiMsg};
    let midi = MidiFile::from_midi(bytes).unwrap();
    let read = |track: &midi_msg::Track| {
        let mut it = Collector::default();
        for event in track.events() {
            it.wait(event.delta_time);
            match &event.event {
                MidiMsg::ChannelVoice { channel, msg }
                | MidiMsg::RunningChannelVoice { channel, msg } => match msg {
                    ChannelVoiceMsg::NoteOn { note, velocity } => {
                        it.on(*channel as u8, *note, *velocity);
                    }
                    ChannelVoiceMsg::NoteOff { note, .. } => it.off(*channel as u8, *note),
                    other => panic!("{other:?}"),
                },
                MidiMsg::Meta { msg } => match msg {
                    Meta::TrackName(name) => it.name(name.clone()),
                    Meta::SetTempo(micros) => it.track.tempi.push((it.at, *micros)),
                    Meta::TimeSignature(meter) => {
                        it.track
                            .meters
                            .push((it.at, meter.numerator, meter.denominator));
                    }
                    Meta::Marker(name) => it.track.markers.push((it.at, name.clone())),
                    Meta::EndOfTrack => it.end(),
                    other => panic!("{other:?}"),
                },
                other => panic!("{other:?}"),
            }
        }
        it.done()
    };
    SeenFile {
        format: match midi.header.format {
            midi_msg::SMFFormat::SingleTrack => 0,
            midi_msg::SMFFormat::MultiTrack => 1,
            midi_msg::SMFFormat::MultiSong => 2,
        },
        per_quarter: match midi.header.division {
            Division::TicksPerQuarterNote(ticks) => ticks,
            other => panic!("{other:?}"),
        },
        tracks: midi.tracks.iter().map(read).collect(),
    }
}

/// What all three say.
pub fn agreed(bytes: &[u8]) -> SeenFile {
    let file = midly(bytes);
    assert_eq!(midi_file(bytes), file, "midi_file and midly differ");
    assert_eq!(midi_msg(bytes), file, "midi-msg and midly differ");
    file
}

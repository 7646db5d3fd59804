//! Sends note events to the host, strokes to the preview, and both to the recorder.

use super::preview::PreviewSound;
use crate::engine::{EventSink, Passing};
use crate::groove::Hit;
use crate::midi::{Expression, ExpressionEvent, NoteEvent, NoteOut};
use crate::project::audio_ends::Queue;
use crate::recorder::RecorderTap;
use crate::transport::Span;
use nice_plug::midi::{Channel, Key, VoiceID};
use nice_plug::prelude::*;

/// Sends note events to the host's event list and, once the host took them, to the recorder. Sends strokes to the
/// preview where it is on.
pub struct HostSink<'a, C, P> {
    /// The host.
    pub context: &'a mut C,
    /// The preview, where it is on.
    pub sound: Option<&'a mut PreviewSound>,
    /// Records the events that the host took.
    pub recorder: &'a mut RecorderTap<Queue>,
    /// The plugin that the host runs.
    pub plugin: std::marker::PhantomData<P>,
}

impl<P: Plugin, C: ProcessContext<P>> NoteOut for HostSink<'_, C, P> {
    fn send(&mut self, event: NoteEvent) -> bool {
        let (timing, voice_id) = (event.sample, VoiceID::Wildcard);
        let channel = Channel::Number(event.note.channel);
        let key = Key::Number(event.note.key);
        let host_event = if let Some(velocity) = event.velocity {
            PluginNoteEvent::<P>::NoteOn {
                timing,
                voice_id,
                channel,
                key,
                velocity: f32::from(velocity) / 127.0,
            }
        } else {
            PluginNoteEvent::<P>::NoteOff {
                timing,
                voice_id,
                channel,
                key,
                // Release velocity 64 is the neutral one (MIDI 1.0, as quoted in secondary texts).
                velocity: 64.0 / 127.0,
            }
        };
        let sent = self.context.try_send_event(host_event).is_ok();
        if sent {
            self.recorder.note(&event);
        }
        sent
    }

    fn express(&mut self, event: ExpressionEvent) -> bool {
        let timing = event.sample;
        let host_event = match event.expression {
            Expression::Control {
                channel,
                number,
                value,
            } => PluginNoteEvent::<P>::MidiCC {
                timing,
                channel,
                cc: number,
                value: f32::from(value) / 127.0,
            },
            Expression::Pressure { note, value } => PluginNoteEvent::<P>::PolyPressure {
                timing,
                voice_id: VoiceID::Wildcard,
                channel: Channel::Number(note.channel),
                key: Key::Number(note.key),
                pressure: f32::from(value) / 127.0,
            },
        };
        let sent = self.context.try_send_event(host_event).is_ok();
        if sent {
            self.recorder.express(&event);
        }
        sent
    }
}

impl<P: Plugin, C: ProcessContext<P>> EventSink for HostSink<'_, C, P> {
    fn passes(&mut self, span: &Span, passing: &Passing) {
        self.recorder.pass(span, passing);
    }

    fn ends(&mut self, frames: u32) {
        self.recorder.end_block(frames);
    }

    fn struck(&mut self, sample: u32, hit: &Hit, grab: Option<u32>) {
        if let Some(sound) = &mut self.sound {
            sound.strike(sample, hit, grab);
        }
    }
}

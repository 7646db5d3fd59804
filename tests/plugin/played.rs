//! What was played is kept as the host got it, saved to files, and the host's map with the project.

#![expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a host's arithmetic, on numbers that are small"
)]

use crate::{QUARTER, RATE, host, rolling, set, standing};
use fourlimb::editor::drag_out::MainTask;
use fourlimb::plugin::Fourlimb;
use fourlimb::project::recording::{RecordingError, save};
use fourlimb::project::{Job, Outcome, Project};
use fourlimb::recorder::passes::Passage;
use fourlimb::time::Ticks;
use hosting::host::Transport as Said;
use hosting::state::{document_of, json_of, set_document, state_of};
use nice_plug::context::process::SendEventError;
use nice_plug::midi::Key;
use nice_plug::prelude::*;
use std::fs;
use std::path::Path;

/// The plugin with a host of the test's own around it, so that what it keeps is at hand; no
/// allocation is allowed while it processes.
struct Rig {
    plugin: Fourlimb,
    context: Context,
    sound: [Vec<f32>; 2],
}

struct Context {
    transport: Transport,
    /// The events of the block: sample, key, and the velocity of a note-on.
    sent: Vec<(u32, u8, Option<u8>)>,
    /// How many more events the host takes in this block.
    room: usize,
}

impl ProcessContext<Fourlimb> for Context {
    fn plugin_api(&self) -> PluginApi {
        PluginApi::Clap
    }
    fn execute_background(&self, _task: MainTask) {}
    fn execute_gui(&self, _task: MainTask) {}
    fn transport(&self) -> &Transport {
        &self.transport
    }
    fn next_event(&mut self) -> Option<PluginNoteEvent<Fourlimb>> {
        None
    }
    fn try_send_event(
        &mut self,
        event: PluginNoteEvent<Fourlimb>,
    ) -> Result<(), (PluginNoteEvent<Fourlimb>, SendEventError)> {
        if self.sent.len() == self.room {
            return Err((event, SendEventError::HostBufferFull));
        }
        let (timing, key, velocity) = match &event {
            NoteEvent::NoteOn {
                timing,
                key,
                velocity,
                ..
            } => (*timing, *key, Some((velocity * 127.0).round() as u8)),
            NoteEvent::NoteOff { timing, key, .. } => (*timing, *key, None),
            _ => return Ok(()),
        };
        if let Key::Number(key) = key {
            self.sent.push((timing, key, velocity));
        }
        Ok(())
    }
    fn set_latency_samples(&self, _samples: u32) {}
    fn request_restart(&self) {}
    fn set_current_voice_capacity(&self, _capacity: u32) {}
}

/// Key, tick and velocity of a note-on.
type On = (u8, Ticks, u8);

impl Rig {
    fn new() -> Self {
        let context = Context {
            transport: Transport::new(48_000.0),
            sent: Vec::with_capacity(4096),
            room: 4096,
        };
        Self {
            plugin: Fourlimb::default(),
            context,
            sound: [vec![0.0; 8192], vec![0.0; 8192]],
        }
    }

    #[expect(
        unsafe_code,
        reason = "the framework's buffers are filled by its wrappers"
    )]
    fn block(&mut self, said: &Said, frames: u32) -> Vec<(u32, u8, Option<u8>)> {
        let transport = &mut self.context.transport;
        transport.playing = said.playing;
        transport.tempo = said.bpm;
        transport.pos_beats = said.pos_quarters;
        (transport.time_sig_numerator, transport.time_sig_denominator) =
            said.meter.map(|(n, d)| (n.into(), d.into())).unzip();
        transport.bar_start_pos_beats = Some(said.bar_quarters);
        transport.loop_range_beats = said.loop_quarters;
        self.context.sent.clear();
        let frames = frames as usize;
        let mut buffer = Buffer::default();
        let [left, right] = &mut self.sound;
        // SAFETY: both slices are as long as is said, and outlive the buffer.
        unsafe {
            buffer.set_slices(frames, |slices| {
                *slices = vec![&mut left[..frames], &mut right[..frames]];
            });
        }
        let mut aux = AuxiliaryBuffers {
            inputs: &mut [],
            outputs: &mut [],
        };
        let (plugin, context) = (&mut self.plugin, &mut self.context);
        nice_assert_no_alloc::assert_no_alloc(|| plugin.process(&mut buffer, &mut aux, context));
        self.context.sent.clone()
    }

    /// Rolls from a quarter on for so many, at a tempo, in blocks of `size`; what a host records. A loop is
    /// wrapped by the host at the sample.
    fn roll(
        &mut self,
        from: f64,
        quarters: f64,
        bpm: f64,
        around: Option<(f64, f64)>,
        size: u32,
    ) -> Vec<On> {
        let per_sample = bpm / 60.0 / RATE;
        let (mut at, mut left) = (from, (quarters / per_sample).round() as u32);
        let mut recorded = Vec::new();
        while left > 0 {
            let frames = left.min(size);
            let said = Said {
                pos_quarters: Some(at),
                bpm: Some(bpm),
                bar_quarters: (at / 4.0 + 1e-9).floor() * 4.0,
                loop_quarters: around,
                ..rolling(0)
            };
            for (sample, key, velocity) in self.block(&said, frames) {
                let mut quarter = at + f64::from(sample) * per_sample;
                if let Some((start, end)) = around
                    && quarter >= end - 1e-9
                {
                    quarter -= end - start;
                }
                let tick = (quarter * 960.0 + 1e-6).floor() as Ticks;
                recorded.extend(velocity.map(|velocity| (key, tick, velocity)));
            }
            at += f64::from(frames) * per_sample;
            if let Some((start, end)) = around
                && at >= end - 1e-9
            {
                at -= end - start;
            }
            left -= frames;
        }
        recorded
    }

    fn stop(&mut self) {
        self.block(&standing(0), 64);
    }

    fn latest(&self) -> Passage {
        self.plugin.project().latest().unwrap().0
    }
}

/// The same keys as hard, each within a tick.
#[track_caller]
fn same(kept: &Passage, recorded: &[On]) {
    let mut kept: Vec<_> = kept
        .region
        .notes
        .iter()
        .map(|n| (n.note.key, n.tick, n.velocity))
        .collect();
    kept.sort_unstable();
    let mut recorded = recorded.to_vec();
    recorded.sort_unstable();
    assert_eq!(kept.len(), recorded.len());
    assert!(!kept.is_empty());
    for (a, b) in kept.iter().zip(&recorded) {
        assert!(
            (a.0, a.2) == (b.0, b.2) && (a.1 - b.1).abs() <= 1,
            "{a:?} {b:?}"
        );
    }
}

#[test]
fn a_song_with_changes_of_tempo_is_kept_as_it_was_recorded() {
    for size in [64, 512, 1999] {
        let mut rig = Rig::new();
        let mut recorded = rig.roll(0.0, 16.0, 120.0, None, size);
        recorded.extend(rig.roll(16.0, 8.0, 200.0, None, size));
        recorded.extend(rig.roll(24.0, 8.0, 77.0, None, size));
        rig.stop();
        let kept = rig.latest();
        assert_eq!((kept.from, kept.region.end), (0, 32 * 960));
        same(&kept, &recorded);
        let seen = rig.plugin.project().document().observed;
        let tempi: Vec<_> = seen.tempo().changes().collect();
        assert_eq!(tempi, [(0, 120.0), (16 * 960, 200.0), (24 * 960, 77.0)]);
    }
}

#[test]
fn of_a_loop_the_last_whole_round_is_kept() {
    for size in [64, 500, 1999] {
        let mut rig = Rig::new();
        let around = Some((4.0, 12.0));
        rig.roll(4.0, 8.0, 120.0, around, size);
        let round = rig.roll(4.0, 8.0, 120.0, around, size);
        rig.roll(4.0, 3.0, 120.0, around, size);
        rig.stop();
        let kept = rig.latest();
        assert_eq!((kept.from, kept.region.end), (4 * 960, 12 * 960));
        same(&kept, &round);
    }
}

#[test]
fn after_a_seek_that_place_is_kept() {
    let mut rig = Rig::new();
    rig.roll(0.0, 6.0, 120.0, None, 512);
    let recorded = rig.roll(64.0, 6.0, 120.0, None, 512);
    rig.stop();
    same(&rig.latest(), &recorded);
}

/// A note that the host had no room for is in no recording, so it is not kept either.
#[test]
fn what_the_host_refuses_is_not_kept() {
    let mut rig = Rig::new();
    rig.context.room = 1;
    let recorded = rig.roll(0.0, 16.0, 120.0, None, 4096);
    rig.context.room = 4096;
    rig.stop();
    same(&rig.latest(), &recorded);
}

/// Nobody takes up what is told: the audio thread goes on, and what is lost is counted.
#[test]
fn a_full_queue_is_told_and_the_next_pass_is_whole() {
    let mut rig = Rig::new();
    let recorded = rig.roll(0.0, 2000.0, 400.0, None, 8192);
    let kept = rig.latest();
    assert!(kept.region.notes.len() < recorded.len());
    // The queue is empty now; it says first what was lost.
    rig.roll(2000.0, 4.0, 400.0, None, 512);
    let kept = rig.latest();
    assert!(kept.lost > 0, "nothing was lost");
    rig.stop();
    let recorded = rig.roll(0.0, 16.0, 400.0, None, 512);
    rig.stop();
    let kept = rig.latest();
    assert_eq!(kept.lost, 0);
    same(&kept, &recorded);
}

fn kept_notes(path: &Path) -> usize {
    let bytes = fs::read(path).unwrap();
    let smf = midly::Smf::parse(&bytes).unwrap();
    let on = |event: &midly::TrackEvent| {
        matches!(
            event.kind,
            midly::TrackEventKind::Midi {
                message: midly::MidiMessage::NoteOn { .. },
                ..
            }
        )
    };
    smf.tracks.iter().flatten().filter(|e| on(e)).count()
}

#[test]
fn it_is_saved_and_no_file_is_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let mut rig = Rig::new();
    let recorded = rig.roll(16.0, 8.0, 120.0, None, 512);
    let project = rig.plugin.project();
    let at = |name: &str| folder.path().join(name);
    for name in ["take.mid", "take 2.mid", "take 3.mid"] {
        let outcome = Job::KeepPlayed(at("take")).run(project, |_| true);
        let Outcome::Kept(Ok(saved)) = outcome else {
            panic!("{outcome:?}");
        };
        assert_eq!(saved.path, folder.path().join(name));
        assert_eq!(
            (saved.notes, saved.bars, saved.lost),
            (recorded.len(), (5, 6), 0)
        );
        assert_eq!(kept_notes(&saved.path), recorded.len());
    }
    let saved = save(&at(""), project).unwrap();
    assert_eq!(saved.path, folder.path().join("played.mid"));
    let saved = save(&at("v1.2.MID"), project).unwrap();
    assert_eq!(saved.path, folder.path().join("v1.2.MID"));
    let missing = at("nowhere/take.mid");
    assert!(matches!(
        save(&missing, project),
        Err(RecordingError::File(_))
    ));
    let nothing = save(&at("x"), &Project::default());
    assert!(matches!(nothing, Err(RecordingError::Nothing)));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 5);
}

/// The map that was seen, as the project has it.
fn seen_of(state: &[u8]) -> serde_json::Value {
    let json = json_of(state).unwrap();
    document_of(&json).unwrap()["observed"].take()
}

fn with_seen(state: &[u8], seen: &str) -> Vec<u8> {
    let mut json = json_of(state).unwrap();
    let mut document = document_of(&json).unwrap();
    let text = || serde_json::Value::String(seen.to_owned());
    document["observed"] = serde_json::from_str(seen).unwrap_or_else(|_| text());
    set_document(&mut json, &document);
    state_of(&json)
}

/// Two bars of 4/4 at 120 BPM, two of 7/8 at 90, in a host; bypassed from the second bar on.
fn played_host() -> hosting::host::Host {
    let mut host = host();
    let bypass = host.param("Bypass").unwrap().id;
    for at in (0..8 * QUARTER).step_by(1000) {
        let change = hosting::host::Automation {
            sample: 0,
            param: bypass,
            value: 1.0,
        };
        let changes = if at == 4 * QUARTER {
            vec![change]
        } else {
            vec![]
        };
        host.block(&rolling(at), &changes, 1000).unwrap();
    }
    for step in 0..112 {
        let quarters = 8.0 + f64::from(step) / 16.0;
        let said = Said {
            pos_quarters: Some(quarters),
            bpm: Some(90.0),
            meter: Some((7, 8)),
            bar_quarters: 8.0 + ((quarters - 8.0) / 3.5).floor() * 3.5,
            ..rolling(0)
        };
        host.block(&said, &[], 2000).unwrap();
    }
    host.block(&standing(0), &[], 64).unwrap();
    host
}

#[test]
fn the_hosts_map_is_saved_with_the_project() {
    let mut host = played_host();
    let state = host.save().unwrap();
    let seen = seen_of(&state);
    assert_eq!(
        seen["meters"],
        serde_json::json!([[0, "4/4"], [7680, "7/8"]])
    );
    assert_eq!(seen["tempi"], serde_json::json!([[0, 120.0], [7680, 90.0]]));
    let mut other = crate::host();
    other.load(&state).unwrap();
    assert_eq!(seen_of(&other.save().unwrap()), seen);
    // A state of before the map was saved leaves none behind.
    let mut json = json_of(&state).unwrap();
    let mut document = document_of(&json).unwrap();
    document.as_object_mut().unwrap().remove("observed");
    set_document(&mut json, &document);
    other.load(&state_of(&json)).unwrap();
    assert_eq!(
        seen_of(&other.save().unwrap())["meters"],
        serde_json::json!([[0, "4/4"]])
    );
}

#[test]
fn a_damaged_map_loses_nothing_else() {
    let mut first = played_host();
    set(&mut first, "Density", "71%");
    let state = first.save().unwrap();
    let good = seen_of(&state);
    for damaged in [
        "",
        "{\"schema\"",
        "[]",
        "{\"schema\": 1, \"tempi\": [[0, null]], \"meters\": []}",
        "{\"schema\": 1, \"tempi\": [[0, 120.0]], \"meters\": [[0, \"4/5\"]]}",
        "{\"schema\": 99, \"tempi\": [[0, 120.0]], \"meters\": [[0, \"4/4\"]]}",
    ] {
        let mut host = host();
        host.load(&state).unwrap();
        set(&mut host, "Density", "11%");
        host.load(&with_seen(&state, damaged)).unwrap();
        let density = host.param("Density").unwrap().id;
        assert!(
            (host.value(density).unwrap() - 0.71).abs() < 1e-6,
            "{damaged}"
        );
        assert_eq!(seen_of(&host.save().unwrap()), good, "{damaged}");
    }
}

/// Removed while it plays, with as much on the way as may be; its thread goes with it.
#[test]
fn an_instance_goes_at_any_time() {
    for blocks in [0, 1, 400] {
        let mut host = host();
        for block in 0..blocks {
            host.block(&rolling(block * 8192), &[], 8192).unwrap();
        }
        drop(host);
    }
    let mut rig = Rig::new();
    rig.roll(0.0, 2000.0, 400.0, None, 8192);
    drop(rig);
}

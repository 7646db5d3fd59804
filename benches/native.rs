//! What instructions can't say, measured on this machine: a line each, the name and the number. `cargo xtask performance`
//! makes its page of them.

#![allow(missing_docs, reason = "a bench is a program")]

use benches::{BPM, EMPTY, FOURLIMB, FRAMES, RATE, Rolling, entry};
use fourlimb::bridge::Playhead;
use fourlimb::editor::controls::Values;
use fourlimb::editor::panel::Panel;
use fourlimb::editor::snapshot::Snapshot;
use fourlimb::editor::theme;
use fourlimb::groove::Call;
use fourlimb::project::Project;
use fourlimb::song::SongFile;
use hosting::host::Host;
use std::time::Instant;

/// Instances of a session.
const INSTANCES: usize = 100;
/// Seconds of song time that they play.
const SECONDS: u32 = 10;
/// How often what takes milliseconds is done; the median is told.
const TIMES: usize = 15;

fn main() {
    let entry = entry();
    let mut made = Vec::new();
    let mut activated = Vec::new();
    for _ in 0..TIMES {
        let began = Instant::now();
        let mut host = Host::with_id(&entry, FOURLIMB).expect("the plugin loads");
        made.push(began.elapsed().as_secs_f64() * 1e3);
        let began = Instant::now();
        host.activate(RATE, 512).expect("the plugin activates");
        activated.push(began.elapsed().as_secs_f64() * 1e3);
    }
    println!("make_ms {:.2}", median(&mut made));
    println!("activate_ms {:.2}", median(&mut activated));
    for (name, id) in [("empty", EMPTY), ("fourlimb", FOURLIMB)] {
        let before = memory_kb();
        let mut all: Vec<_> = (0..INSTANCES).map(|_| Rolling::new(id)).collect();
        println!(
            "memory_kb_{name} {:.0}",
            (memory_kb() - before) / INSTANCES as f64
        );
        let blocks = SECONDS * 48_000 / FRAMES;
        let began = busy_s();
        for _ in 0..blocks {
            all = all.into_iter().map(|rolling| rolling.run(1).0).collect();
        }
        let share = (busy_s() - began) / f64::from(SECONDS) * 100.0;
        println!("session_percent_{name} {share:.2}");
    }
    println!("session_bpm {BPM}");
    let (empty, playing) = frames();
    println!("frame_us_empty {empty:.0}");
    println!("frame_us_fourlimb {playing:.0}");
}

/// Microseconds a frame of an empty window and of Fourlimb's, with the demo song.
fn frames() -> (f64, f64) {
    let project = Project::default();
    let song = SongFile::parse(SongFile::DEMO).expect("the demo song is read");
    project
        .change_song(song, None)
        .expect("the demo song is laid out");
    let measure = |show: &mut dyn FnMut(&mut egui::Ui)| {
        let ctx = egui::Context::default();
        theme::apply(&ctx);
        let mut taken: Vec<f64> = (0..600_u16)
            .map(|frame| {
                let input = egui::RawInput {
                    screen_rect: Some(egui::Rect::from_min_size(egui::Pos2::ZERO, theme::WINDOW)),
                    time: Some(f64::from(frame) / 60.0),
                    ..egui::RawInput::default()
                };
                let began = Instant::now();
                let mut output = ctx.run_ui(input, |ui| show(ui));
                output.textures_delta.clear();
                let _ = ctx.tessellate(output.shapes, output.pixels_per_point);
                began.elapsed().as_secs_f64() * 1e6
            })
            .collect();
        median(&mut taken)
    };
    let empty = measure(&mut |ui| {
        ui.label("Fourlimb");
    });
    let mut panel = Panel::default();
    let song = project.song().expect("the demo song");
    let bars = song.timeline.bars();
    let values = Values {
        settings: song.timeline.start_settings(),
        ..Values::default()
    };
    let mut tick = bars[24].start;
    let playing = measure(&mut |ui| {
        tick += 40;
        let bar = bars[bars.partition_point(|bar| bar.start <= tick) - 1];
        let playhead = Playhead {
            at: Some((bar, tick)),
            bpm: 150.0,
            meter: Some((4, 4)),
            call: Call::default(),
        };
        let snapshot = Snapshot::new(values, &playhead).with_project(&project);
        panel.show(ui, &snapshot, &mut Vec::new());
    });
    (empty, playing)
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// The memory of this process in kilobytes; 0 where the system does not say.
fn memory_kb() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmRSS:"));
    let kb = line.and_then(|line| line.split_whitespace().nth(1)?.parse().ok());
    kb.unwrap_or(0.0)
}

/// How long this thread has been on a processor, in seconds, to the system's tick of some milliseconds; 0 where it does
/// not say.
fn busy_s() -> f64 {
    let stat = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    let nanos: Option<f64> = stat
        .split_whitespace()
        .next()
        .and_then(|first| first.parse().ok());
    nanos.unwrap_or(0.0) * 1e-9
}

//! The bridge from audio thread to editor: a snapshot of the playhead, through a triple buffer. It is one-way. The
//! editor controls the drummer through parameters, and in the stand-alone the transport through
//! [`standalone_transport`].

pub mod standalone_transport;

use crate::engine::LivePlayer;
use crate::groove::Call;
use crate::time::{Bar, Ticks};
use crate::transport::HostTime;
use nice_plug_egui::{EguiEditorState, RepaintNotifier};
use standalone_transport::StandaloneTransport;
use std::sync::Arc;
use triple_buffer::{Input, Output, triple_buffer};

/// What the editor sees of the audio thread.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Playhead {
    /// The bar under the playhead and the tick in it; `None` while the transport is stopped.
    pub at: Option<(Bar, Ticks)>,
    /// Quarter notes a minute.
    pub bpm: f64,
    /// The meter that the host reports.
    pub meter: Option<(i32, i32)>,
    /// The called fill of the bar.
    pub call: Call,
}

/// The audio thread's end.
pub struct AudioSide {
    input: Input<Playhead>,
    last: Playhead,
    repaint: RepaintNotifier,
    window: Arc<EguiEditorState>,
}

/// The editor's end.
pub struct EditorSide {
    output: Output<Playhead>,
    standalone_transport: Option<Arc<StandaloneTransport>>,
    /// Asks the editor for a new frame.
    pub repaint: RepaintNotifier,
    /// Whether the window is open, and how large it is.
    pub window: Arc<EguiEditorState>,
}

/// Makes both ends, for a window that is not open yet.
pub fn bridge(window: Arc<EguiEditorState>) -> (AudioSide, EditorSide) {
    let (input, output) = triple_buffer(&Playhead::default());
    let repaint = RepaintNotifier::new();
    let audio = AudioSide {
        input,
        last: Playhead::default(),
        repaint: repaint.clone(),
        window: window.clone(),
    };
    let editor = EditorSide {
        output,
        standalone_transport: StandaloneTransport::installed(),
        repaint,
        window,
    };
    (audio, editor)
}

impl AudioSide {
    /// Whether a window is open.
    pub fn is_watched(&self) -> bool {
        self.window.is_open()
    }

    /// Publishes the playhead to the editor. Audio thread: a copy and an atomic swap, and only while a window is
    /// open and something changed.
    pub fn publish(&mut self, player: &LivePlayer, host: &HostTime) {
        if !self.is_watched() {
            return;
        }
        let at = player.playhead();
        let now = Playhead {
            at,
            bpm: player.bpm(),
            meter: host.meter,
            call: player.call(),
        };
        if now != self.last {
            self.last = now;
            self.input.write(now);
            self.repaint.request_repaint();
        }
    }
}

impl EditorSide {
    /// The stand-alone's transport; `None` in a host. Main thread.
    pub fn standalone_transport(&self) -> Option<&StandaloneTransport> {
        self.standalone_transport.as_deref()
    }

    /// The latest snapshot. Main thread.
    pub fn playhead(&mut self) -> Playhead {
        *self.output.read()
    }
}

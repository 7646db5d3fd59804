//! What the host moves: a parameter that changes while nobody turns it here.

use super::controls::Values;
use crate::settings::{SettingId, SettingSet, Settings};
use egui::Ui;

/// How long after its last move a control is said to be moved by the host, in seconds. Judged: automation that is read at
/// bar lines comes every two seconds at 120 BPM.
const HOLDS_S: f64 = 2.5;
/// For so long after the pointer or a key touched anything here, what moves is not held to be the host's, in seconds:
/// a host may report a change back late.
const OWN_S: f64 = 0.5;

/// What the host moved, and when.
#[derive(Debug, Default)]
pub struct Automated {
    last: Option<Settings>,
    moved: Vec<(SettingId, f64)>,
    /// When anything was last touched here.
    touched: f64,
}

impl Automated {
    /// Compares the panel's values with those of the last frame, and marks what the host moved.
    pub fn follow(&mut self, ui: &Ui, values: &mut Values) {
        let (time, touches) = ui.input(|input| {
            let keys = input
                .events
                .iter()
                .any(|event| !matches!(event, egui::Event::PointerMoved(_)));
            (input.time, input.pointer.any_down() || keys)
        });
        if touches || self.last.is_none() {
            self.touched = time;
        }
        let now = values.settings;
        if let Some(last) = self.last.replace(now)
            && time - self.touched > OWN_S
        {
            for &setting in SettingId::ALL {
                if last.get(setting) != now.get(setting) {
                    self.moved.retain(|(moved, _)| *moved != setting);
                    self.moved.push((setting, time));
                }
            }
        }
        self.moved.retain(|(_, at)| time - at < HOLDS_S);
        let moved = self.moved.iter().map(|(setting, _)| *setting);
        values.automated = moved.collect::<SettingSet>();
        if !self.moved.is_empty() {
            ui.ctx()
                .request_repaint_after(std::time::Duration::from_millis(500));
        }
    }
}

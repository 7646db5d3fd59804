//! The picture: a plain panel of the parameters and the current bar.
//!
//! - [`panel`]: the views in their places: [`header`], [`styles`], [`main_controls`], [`riff`], [`played`], [`lanes`]
//! - [`strip`]: the song strip; [`chart`]: what its sections say
//! - [`songs`]: does what they ask for
//! - [`controls`], [`snapshot`]: what views are given and what they ask for
//! - [`gestures`]: from what they ask for to what a host wants to hear
//! - [`picture`], [`words`], `marks`: the bar composed, in words, and as shapes
//! - [`transport`]: the stand-alone's strip
//! - [`view_settings`]: zoom, theme and size of the window, and the keys of the whole window
//! - [`theme`], [`text`]: every colour, size and word
//!
//! Views take what they show and return what the user wants; only this root talks to parameters.

pub mod chart;
pub mod controls;
pub mod description;
pub mod gestures;
pub mod header;
pub mod lanes;
pub mod main_controls;
mod marks;
pub mod panel;
pub mod picture;
pub mod played;
pub mod riff;
pub mod snapshot;
pub mod songs;
pub mod strip;
pub mod styles;
pub mod text;
pub mod theme;
pub mod transport;
pub mod view_settings;
pub mod widgets;

use crate::plugin::Task;
use crate::plugin::bridge::EditorSide;
use crate::plugin::bridge::desk::{Choice, Desk};
use crate::plugin::params::{AnyParam, FourlimbParams};
use crate::plugin::view::ZOOMS;
use crate::plugin::{load, save};
use crate::riff::import::Place;
use crate::settings::{REVISIONS, SettingId, whole};
use controls::Values;
use gestures::{Gestures, Step};
use header::Turn;
use nice_plug::context::gui::GuiContext;
use nice_plug::editor::dpi::LogicalSize;
use nice_plug::prelude::{ParamSetter, ResizeHint};
use nice_plug_egui::resizable_window::ResizableWindow;
use nice_plug_egui::{
    EguiEditor, EguiEditorState, EguiNiceSettings, Frame, NiceEguiApp, baseview, create_egui_editor,
};
use panel::Panel;
use snapshot::Snapshot;
use songs::{Dialogs, Purpose};
use std::sync::Arc;
use transport::Ask;

/// The editor as the framework sees it.
pub type PluginEditor = EguiEditor<App>;

/// The editor's root. Main thread.
pub struct App {
    params: Arc<FourlimbParams>,
    side: EditorSide,
    context: Option<GuiContext>,
    gestures: Gestures,
    panel: Panel,
    run: Run,
    dialogs: Dialogs,
    /// The changes of riff and song that the host knows of.
    changes: Option<(u32, u32)>,
    /// The window was just opened, and is to become as large as it was.
    restore: bool,
}

/// How often an open dialog is looked after.
const DIALOG_POLL: std::time::Duration = std::time::Duration::from_millis(100);

/// Has something done in the background.
pub type Run = Box<dyn Fn(Task) + Send>;

/// The window before it is first opened.
pub fn window() -> Arc<EguiEditorState> {
    let mut size = theme::WINDOW;
    if Desk::installed().is_some() {
        size.y += theme::TRANSPORT_HEIGHT;
    }
    EguiEditorState::from_size(LogicalSize::new(size.x, size.y), 1.0)
}

/// Makes the editor. Main thread; nothing slow happens before a window opens.
pub fn create(params: Arc<FourlimbParams>, side: EditorSide, run: Run) -> Option<PluginEditor> {
    let (repaint, window) = (side.repaint.clone(), side.window.clone());
    // Windows are measured at 100 %; the smallest zoom needs less.
    let least = theme::WINDOW_LEAST * (f32::from(ZOOMS[0]) / 100.0);
    let resize = ResizeHint::resizable().with_min_logical_size(LogicalSize::new(least.x, least.y));
    create_egui_editor(
        window,
        repaint,
        EguiNiceSettings::new()
            .with_tile(text::NAME)
            .with_resize_hint(resize),
        App {
            params,
            side,
            context: None,
            gestures: Gestures::default(),
            panel: Panel::default(),
            run,
            dialogs: Dialogs::default(),
            changes: None,
            restore: false,
        },
    )
}

impl NiceEguiApp for App {
    /// Nothing slow: a host on Linux may deliver automation meanwhile, which the framework can't
    /// take until the window is there.
    fn build(
        &mut self,
        ctx: egui::Context,
        context: GuiContext,
        _frame: &mut Frame,
    ) -> Result<(), baseview::HandlerError> {
        theme::apply(&ctx);
        view_settings::open(&ctx);
        self.restore = true;
        self.context = Some(context);
        Ok(())
    }

    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut Frame) {
        let mut values = Values {
            settings: self.params.settings(),
            follows: false,
        };
        self.gestures.overlay(&mut values);
        let mut snapshot = Snapshot::new(values, &self.side.playhead());
        snapshot.can = self.params.can();
        let snapshot = snapshot
            .with_riff(&self.params.riff)
            .with_song(&self.params.song);
        let mut intents = Vec::new();
        self.panel.look = view_settings::follow(ui, &self.params.view, &mut self.restore);
        ResizableWindow::new("window")
            .min_size(theme::WINDOW_LEAST)
            .show(ui, |ui| {
                if let Some(desk) = self.side.desk() {
                    standalone(ui, desk, &values);
                }
                self.panel.show(ui, &snapshot, &mut intents);
            });
        view_settings::keep(ui, &self.params.view, self.panel.look);
        match self.panel.take_turn().or_else(|| view_settings::turn(ui)) {
            Some(Turn::Undo) => self.params.undo(),
            Some(Turn::Redo) => self.params.redo(),
            None => {}
        }
        if let Some(act) = self.panel.take_riff_act() {
            let bar = snapshot.meter.bar_len();
            self.params.riff.act(act, bar);
        }
        // What is saved beside the parameters has changed: the host learns it from a parameter.
        let changes = (snapshot.riff.changes, self.params.song.changes());
        let changed = self
            .changes
            .replace(changes)
            .is_some_and(|seen| seen != changes);
        let loading = self.params.riff.loading();
        self.panel.form.tell(loading.progress(), loading.outcome());
        let mut chosen = None;
        let mut guitar = self.panel.form.take();
        let mut played = self.panel.played.take();
        match self.dialogs.answer() {
            Some((Purpose::Song(act), path)) => chosen = Some((act, path)),
            Some((Purpose::Guitar(bar, track), Some(path))) => guitar = Some((path, bar, track)),
            Some((Purpose::Played, Some(path))) => played = Some(path),
            Some((Purpose::Guitar(..) | Purpose::Played, None)) | None => {}
        }
        if let Some((path, place_bar, track)) = guitar {
            let bar = snapshot.meter.bar_len();
            if path.as_os_str().is_empty() {
                let purpose = Purpose::Guitar(place_bar, track);
                self.dialogs.open(purpose, songs::ask_guitar());
            } else {
                (self.run)(Task::Load(Box::new(load::Job {
                    path,
                    track,
                    place: Place {
                        at: (place_bar - 1) * bar,
                        bar,
                    },
                    bpm: snapshot.bpm,
                    sensitivity: values.settings.sensitivity,
                })));
            }
        }
        let saving = self.params.history.saving();
        let busy = saving.progress().is_some();
        self.panel.played.tell(busy, saving.outcome());
        match played {
            Some(path) if path.as_os_str().is_empty() => {
                self.dialogs.open(Purpose::Played, songs::ask_played());
            }
            Some(path) => (self.run)(Task::Save(save::Job { path })),
            None => {}
        }
        let (panel, dialogs) = (&mut self.panel, &mut self.dialogs);
        let loaded = songs::tend(panel, &self.params, &self.run, dialogs, chosen);
        if self.dialogs.is_open() {
            ui.ctx().request_repaint_after(DIALOG_POLL);
        }
        let Some(context) = &self.context else {
            return;
        };
        // The window is open again, with other devices: its controls stand where they stood.
        let kept = self.side.desk().map(Desk::take_kept).unwrap_or_default();
        let (params, setter) = (&self.params, context.param_setter());
        if changed {
            let revision = &params.revision;
            setter.begin_set_parameter(revision);
            setter.set_parameter(revision, (revision.value() + 1) % i32::from(REVISIONS));
            setter.end_set_parameter(revision);
        }
        let kept = SettingId::shown().zip(kept);
        for (control, value) in kept.chain(loaded) {
            for step in [
                Step::Begin(control),
                Step::Set(control, value),
                Step::End(control),
            ] {
                act(params, &setter, step);
            }
        }
        // A gesture that a closing window cut off ends here, in the first frame of the next one.
        let held = ui.input(|input| input.pointer.any_down());
        self.gestures
            .follow(&intents, held, |step| act(params, &setter, step));
    }
}

/// Shows the stand-alone's strip and does what it asks for.
fn standalone(ui: &mut egui::Ui, desk: &Desk, values: &Values) {
    let frame = egui::Frame::NONE
        .fill(theme::of(ui).sunk)
        .inner_margin(egui::Margin::symmetric(theme::MARGIN, theme::MARGIN / 2));
    let mut asks = Vec::new();
    egui::Panel::top("transport")
        .frame(frame)
        .show_separator_line(false)
        .show(ui, |ui| {
            transport::show(ui, desk.wishes(), desk.devices(), &mut asks);
        });
    for ask in asks {
        match ask {
            Ask::Set(wishes) => desk.set(wishes),
            Ask::Rewind => desk.rewind(),
            Ask::Choose(choice) => {
                let values = SettingId::shown()
                    .map(|setting| values.get(setting))
                    .collect();
                desk.choose(Choice { values, ..choice });
                ui.ctx().send_viewport_cmd(egui::ViewportCommand::Close);
            }
        }
    }
}

fn act(params: &FourlimbParams, setter: &ParamSetter, step: Step) {
    match step {
        Step::Begin(setting) => match params.param(setting) {
            AnyParam::Float(param) => setter.begin_set_parameter(param),
            AnyParam::Int(param) => setter.begin_set_parameter(param),
            AnyParam::Bool(param) => setter.begin_set_parameter(param),
        },
        Step::Set(setting, value) => match params.param(setting) {
            AnyParam::Float(param) => setter.set_parameter(param, value),
            AnyParam::Int(param) => setter.set_parameter(param, i32::from(whole(value))),
            AnyParam::Bool(param) => setter.set_parameter(param, value >= 0.5),
        },
        Step::End(setting) => match params.param(setting) {
            AnyParam::Float(param) => setter.end_set_parameter(param),
            AnyParam::Int(param) => setter.end_set_parameter(param),
            AnyParam::Bool(param) => setter.end_set_parameter(param),
        },
    }
}

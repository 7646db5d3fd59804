//! The editor: what is played, and what can be set, in one window.
//!
//! - [`panel`]: the views in their places
//! - [`header`], [`strip`], [`main_controls`], [`beats`], [`drawers`], [`lanes`]: from top to bottom
//! - [`target`]: what the controls turn, the panel or sections; [`section`]: what only sections say
//! - [`compare`]: two states side by side; [`automated`]: what the host moves
//! - [`own_beats`]: beats of the songwriter's own
//! - [`sampler`]: the page of what the sampler is sent; [`help`]: marks and keys; [`first_steps`]: what to do first
//! - [`action`]: everything that a view can ask for; [`mod@carry_out`]: does it
//! - [`controls`], [`snapshot`]: what views are given
//! - [`gestures`]: from what they set to what a host wants to hear; [`touch`]: the same for changes of the song
//! - [`picture`], [`description`], `marks`: the bar composed, in words, and as shapes
//! - [`transport`]: the stand-alone's strip
//! - [`file_form`]: what rows of files share
//! - [`taken_out`], [`drag_out`]: what is dragged out of the window; [`dropped`]: what is dropped on it
//! - [`from_system`]: what the framework does not hand on; `xdnd`: the protocol of X11; [`threads`]: those of a window
//! - [`dialog`]: file dialogs of the system
//! - [`view_settings`]: zoom, theme and size of the window, and the keys of the whole window
//! - [`theme`], [`text`]: every colour, size and word
//!
//! Views take what they show and return the user's actions; only this root carries them out.

pub mod action;
pub mod automated;
pub mod beats;
pub mod carry_out;
pub mod compare;
pub mod controls;
pub mod description;
pub mod dialog;
pub mod drag_out;
pub mod drawers;
pub mod dropped;
pub mod file_form;
pub mod first_steps;
pub mod from_system;
pub mod gestures;
pub mod header;
pub mod help;
pub mod lanes;
pub mod main_controls;
mod marks;
pub mod own_beats;
pub mod panel;
pub mod picture;
pub mod sampler;
pub mod section;
pub mod snapshot;
pub mod strip;
pub mod taken_out;
pub mod target;
pub mod text;
pub mod theme;
pub mod threads;
pub mod touch;
pub mod transport;
pub mod view_settings;
pub mod widgets;
#[cfg(target_os = "linux")]
pub mod xdnd;

use crate::bridge::EditorSide;
use crate::bridge::standalone_transport::{DeviceChoice, StandaloneTransport, Wishes};
use crate::params::{AnyParam, FourlimbParams};
use crate::project::view::ZOOMS;
use crate::project::{Job, JobQueue, dragged};
use crate::settings::{REVISIONS, SettingId, whole};
use action::Action;
use carry_out::{Dialogs, carry_out, region};
use controls::Values;
use drag_out::DragOut;
use from_system::Input;
use gestures::{Gestures, Step};
use nice_plug::context::gui::GuiContext;
use nice_plug::editor::dpi::LogicalSize;
use nice_plug::prelude::{ParamSetter, ResizeHint};
use nice_plug_egui::resizable_window::ResizableWindow;
use nice_plug_egui::{
    EguiEditor, EguiEditorState, EguiNiceSettings, Frame, NiceEguiApp, baseview, create_egui_editor,
};
use panel::Panel;
use snapshot::Snapshot;
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
    jobs: Arc<JobQueue>,
    dialogs: Dialogs,
    drag_out: DragOut,
    /// The changes of the project that the host knows of.
    changes: Option<u32>,
    /// The window was just opened, and is to become as large as it was.
    restore: bool,
}

/// How often an open dialog and the jobs are looked after.
const POLL: std::time::Duration = std::time::Duration::from_millis(100);

/// The window before it is first opened.
pub fn window() -> Arc<EguiEditorState> {
    let mut size = theme::WINDOW;
    if StandaloneTransport::installed().is_some() {
        size.y += theme::TRANSPORT_HEIGHT;
    }
    EguiEditorState::from_size(LogicalSize::new(size.x, size.y), 1.0)
}

/// Makes the editor. Main thread; nothing slow happens before a window opens.
pub fn create(
    params: Arc<FourlimbParams>,
    side: EditorSide,
    jobs: Arc<JobQueue>,
    drag_out: DragOut,
) -> Option<PluginEditor> {
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
            jobs,
            dialogs: Dialogs::default(),
            drag_out,
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
        frame: &mut Frame,
    ) -> Result<(), baseview::HandlerError> {
        theme::apply(&ctx);
        view_settings::open(&ctx);
        ctx.add_plugin(Input::new(self.drag_out.from_system.clone()));
        self.drag_out.watch(frame.baseview_window());
        if dragged::folder().is_some_and(|folder| folder.exists()) {
            self.jobs.send(Job::ClearTakenOut);
        }
        self.restore = true;
        // A window that was closed meanwhile learned no more.
        self.panel.sampler.stop();
        self.params.project.set_learning(false);
        self.context = Some(context);
        Ok(())
    }

    fn ui(&mut self, ui: &mut egui::Ui, frame: &mut Frame) {
        let mut values = Values {
            settings: self.params.settings(),
            ..Values::default()
        };
        self.gestures.overlay(&mut values);
        let project = self.params.project.clone();
        let snapshot = Snapshot::new(values, &self.side.playhead()).with_project(&project);
        let view = project.document().view;
        let mut actions = Vec::new();
        self.panel.look = view_settings::follow(ui, view, &mut self.restore);
        ResizableWindow::new("window")
            .min_size(theme::WINDOW_LEAST)
            .show(ui, |ui| {
                if let Some(transport) = self.side.standalone_transport() {
                    standalone(ui, transport, &values, &snapshot);
                    let wishes = transport.wishes();
                    self.panel.looped = Some(wishes.looping.then_some(wishes.loop_bars));
                }
                self.panel.show(ui, &snapshot, &mut actions);
            });
        if let Some(view) = view_settings::keep(ui, view, self.panel.look) {
            project.set_view(view);
        }
        actions.extend(view_settings::turn(ui));
        let sets: Vec<_> = actions
            .extract_if(.., |action| matches!(action, Action::Set(..)))
            .collect();
        if let Some(transport) = self.side.standalone_transport() {
            roll(transport, &actions);
        }
        self.drag(&mut actions, &snapshot, frame);
        let brought = carry_out(
            actions,
            &snapshot,
            &mut self.panel,
            &self.params,
            &self.jobs,
            &mut self.dialogs,
        );
        // What is saved beside the parameters has changed: the host learns it from a parameter.
        let changes = project.changes();
        let changed = self
            .changes
            .replace(changes)
            .is_some_and(|known| known != changes);
        if self.jobs.is_busy() {
            ui.ctx().request_repaint_after(POLL);
        }
        if self.dialogs.is_open() {
            ui.ctx().request_repaint_after(POLL);
        }
        let Some(context) = &self.context else {
            return;
        };
        // The window is open again, with other devices: its controls stand where they stood.
        let kept = self.side.standalone_transport();
        let kept = kept.map(StandaloneTransport::take_kept).unwrap_or_default();
        let (params, setter) = (&self.params, context.param_setter());
        if changed {
            let revision = &params.revision;
            setter.begin_set_parameter(revision);
            setter.set_parameter(revision, (revision.value() + 1) % i32::from(REVISIONS));
            setter.end_set_parameter(revision);
        }
        let kept = SettingId::shown().zip(kept);
        for (setting, value) in kept.chain(brought) {
            for step in [
                Step::Begin(setting),
                Step::Set(setting, value),
                Step::End(setting),
            ] {
                act(params, &setter, step);
            }
        }
        // A gesture that a closing window cut off ends here, in the first frame of the next one.
        let held = ui.input(|input| input.pointer.any_down());
        self.gestures
            .follow(&sets, held, |step| act(params, &setter, step));
    }
}

impl App {
    /// Drags out of the window what is to be dragged.
    fn drag(&mut self, actions: &mut Vec<Action>, snapshot: &Snapshot, frame: &Frame) {
        let dragged = actions.extract_if(.., |action| matches!(action, Action::TakeOut(_, true)));
        for action in dragged {
            let Action::TakeOut(part, _) = action else {
                continue;
            };
            match region(&part, &self.params, snapshot) {
                Ok(Some(region)) => {
                    let window = frame.baseview_window();
                    self.drag_out.begin(window, region, &self.jobs);
                }
                Ok(None) => {}
                Err(error) => self.panel.said.tell(Err(error.to_string())),
            }
        }
        if let Some(why) = self.drag_out.trouble() {
            self.panel.said.tell(Err(why));
        }
    }
}

/// Does what is asked of the stand-alone's transport.
fn roll(transport: &StandaloneTransport, actions: &[Action]) {
    for action in actions {
        match *action {
            Action::PlayFrom(tick) => transport.play_from(tick),
            Action::Loop(Some((first, last))) => transport.loop_over(first, last),
            Action::Loop(None) => transport.set(Wishes {
                looping: false,
                ..transport.wishes()
            }),
            _ => {}
        }
    }
}

/// Shows the stand-alone's strip and does what it asks for.
fn standalone(
    ui: &mut egui::Ui,
    transport: &StandaloneTransport,
    values: &Values,
    snapshot: &Snapshot,
) {
    let frame = egui::Frame::NONE
        .fill(theme::of(ui).sunk)
        .inner_margin(egui::Margin::symmetric(theme::MARGIN, theme::MARGIN / 2));
    let mut asks = Vec::new();
    egui::Panel::top("transport")
        .frame(frame)
        .show_separator_line(false)
        .show(ui, |ui| {
            let written = transport
                .is_written()
                .then_some((snapshot.bpm, snapshot.meter));
            let shown = (transport.wishes(), written);
            transport::show(ui, shown, transport.devices(), &mut asks);
        });
    for ask in asks {
        match ask {
            Ask::Set(wishes) => transport.set(wishes),
            Ask::Rewind => transport.rewind(),
            Ask::Choose(choice) => {
                let values = SettingId::shown()
                    .map(|setting| values.get(setting))
                    .collect();
                transport.choose(DeviceChoice { values, ..choice });
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

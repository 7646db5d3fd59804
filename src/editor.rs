//! The picture: a plain panel of the parameters and the current bar.
//!
//! Views take what they show and return what the user wants; only this root talks to parameters.

use crate::plugin::bridge::EditorSide;
use crate::plugin::params::FourlimbParams;
use nice_plug::context::gui::GuiContext;
use nice_plug::editor::dpi::LogicalSize;
use nice_plug_egui::{
    EguiEditor, EguiEditorState, EguiNiceSettings, Frame, NiceEguiApp, baseview, create_egui_editor,
};
use std::sync::Arc;

/// The editor as the framework sees it.
pub type PluginEditor = EguiEditor<App>;

/// The editor's root.
pub struct App {
    params: Arc<FourlimbParams>,
    side: EditorSide,
    context: Option<GuiContext>,
}

/// Makes the editor. Main thread; nothing slow happens before a window opens.
pub fn create(params: Arc<FourlimbParams>, side: EditorSide) -> Option<PluginEditor> {
    let repaint = side.repaint.clone();
    create_egui_editor(
        EguiEditorState::from_size(LogicalSize::new(760.0, 520.0), 1.0),
        repaint,
        EguiNiceSettings::new().with_tile("Fourlimb"),
        App {
            params,
            side,
            context: None,
        },
    )
}

impl NiceEguiApp for App {
    fn build(
        &mut self,
        _ctx: egui::Context,
        context: GuiContext,
        _frame: &mut Frame,
    ) -> Result<(), baseview::HandlerError> {
        self.context = Some(context);
        Ok(())
    }

    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut Frame) {
        ui.label(self.params.about());
        let _ = self.side.playhead();
    }
}

//! The views in their places.

use super::bar::BarView;
use super::controls::Intent;
use super::riff::{self, Form, RiffAct};
use super::snapshot::Snapshot;
use super::styles::Styles;
use super::{front, head, played, theme};
use egui::{CentralPanel, Frame, Margin, Panel as Side, Ui};

/// Everything that the window shows, and what its views remember between frames.
#[derive(Debug, Default)]
pub struct Panel {
    styles: Styles,
    bar: BarView,
    riff_act: Option<RiffAct>,
    /// The file that a riff is read from.
    pub form: Form,
    /// The file that what was played is written to.
    pub played: played::Form,
}

impl Panel {
    /// Shows one frame and adds what the user wants to `intents`. Main thread.
    pub fn show(&mut self, ui: &mut Ui, snapshot: &Snapshot, intents: &mut Vec<Intent>) {
        let frame = |fill| {
            Frame::NONE
                .fill(fill)
                .inner_margin(Margin::same(theme::MARGIN))
        };
        Side::top("head")
            .frame(frame(theme::RAISED))
            .show_separator_line(false)
            .show(ui, |ui| head::show(ui, snapshot, intents));
        Side::left("styles")
            .frame(frame(theme::GROUND))
            .resizable(false)
            .show_separator_line(false)
            .exact_size(theme::LIST_WIDTH)
            .show(ui, |ui| self.styles.show(ui, &snapshot.values, intents));
        Side::top("front")
            .frame(frame(theme::GROUND))
            .resizable(false)
            .show_separator_line(false)
            .exact_size(theme::FRONT_HEIGHT)
            .show(ui, |ui| front::show(ui, &snapshot.values, intents));
        let act = Side::top("riff")
            .frame(frame(theme::GROUND))
            .resizable(false)
            .show_separator_line(false)
            .exact_size(theme::RIFF_HEIGHT)
            .show(ui, |ui| riff::show(ui, snapshot, &mut self.form, intents));
        self.riff_act = self.riff_act.or(act.inner);
        Side::top("played")
            .frame(frame(theme::GROUND))
            .resizable(false)
            .show_separator_line(false)
            .exact_size(theme::PLAYED_HEIGHT)
            .show(ui, |ui| self.played.show(ui));
        CentralPanel::no_frame()
            .frame(frame(theme::GROUND))
            .show(ui, |ui| self.bar.show(ui, snapshot));
    }

    /// What the user wants done with the riff, once.
    pub fn take_riff_act(&mut self) -> Option<RiffAct> {
        self.riff_act.take()
    }

    /// The view of the bar.
    pub fn bar(&self) -> &BarView {
        &self.bar
    }
}

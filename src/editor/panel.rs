//! The views in their places.

use super::chart::ChartPage;
use super::lanes::Lanes;
use super::riff::{self, Form};
use super::sampler::SamplerPage;
use super::snapshot::Snapshot;
use super::strip::Strip;
use super::styles::Styles;
use super::{header, main_controls, played, theme};
use crate::editor::action::Action;
use crate::project::view::ViewSettings;
use crate::settings::SettingId;
use egui::{CentralPanel, Frame, Margin, Panel as Side, Ui};

/// Everything that the window shows, and what its views remember between frames.
#[derive(Debug, Default)]
pub struct Panel {
    styles: Styles,
    lanes: Lanes,
    /// The song strip.
    pub strip: Strip,
    /// What the song's sections say.
    pub chart: ChartPage,
    /// What the sampler is sent.
    pub sampler: SamplerPage,
    /// How the editor is looked at; what is wanted of it is changed here.
    pub look: ViewSettings,
    /// The file that a riff is read from.
    pub form: Form,
    /// The file that what was played is written to.
    pub played: played::Form,
}

impl Panel {
    /// Shows one frame and adds what the user asks for to `actions`. Main thread.
    pub fn show(&mut self, ui: &mut Ui, snapshot: &Snapshot, actions: &mut Vec<Action>) {
        let first = snapshot
            .followed()
            .and_then(|_| self.strip.first_bar(snapshot));
        self.lanes.look_from(first.unwrap_or(0));
        let snapshot = &snapshot.clone().at_bar(self.lanes.looks_at());
        let frame = |fill| {
            Frame::NONE
                .fill(fill)
                .inner_margin(Margin::same(theme::MARGIN))
        };
        Side::top("head")
            .frame(frame(theme::of(ui).raised))
            .show_separator_line(false)
            .show(ui, |ui| {
                let thinned = self.lanes.thinned();
                let (look, open) = (&mut self.look, &mut self.sampler.open);
                header::show(ui, snapshot, thinned, (look, open), actions);
            });
        if self.sampler.open {
            let page = CentralPanel::no_frame().frame(frame(theme::of(ui).ground));
            page.show(ui, |ui| {
                let middle_c = &mut self.look.middle_c;
                self.sampler.show(ui, snapshot, middle_c, actions);
            });
            return;
        }
        self.sampler.rest(actions);
        Side::top("strip")
            .frame(frame(theme::of(ui).ground))
            .show_separator_line(false)
            .show(ui, |ui| match &snapshot.song {
                Some(song) => self.strip.show(ui, song, snapshot, actions),
                None => self.chart.empty(ui, snapshot, actions),
            });
        Side::bottom("lanes")
            .frame(frame(theme::of(ui).ground))
            .resizable(false)
            .show_separator_line(false)
            .exact_size(theme::LANES_HEIGHT)
            .show(ui, |ui| self.lanes.show(ui, snapshot));
        if let Some(song) = snapshot.song.as_ref().filter(|_| self.strip.open) {
            let (place, take) = (
                self.strip.chosen,
                snapshot.values.settings.bar_settings.take,
            );
            let page = CentralPanel::no_frame().frame(frame(theme::of(ui).ground));
            page.show(ui, |ui| {
                self.chart.show(ui, song, place, take, actions);
            });
            return;
        }
        Side::left("styles")
            .frame(frame(theme::of(ui).ground))
            .resizable(false)
            .show_separator_line(false)
            .exact_size(theme::LIST_WIDTH)
            .show(ui, |ui| {
                let values = &snapshot.values;
                ui.add_enabled_ui(!values.is_of_chart(SettingId::Style), |ui| {
                    self.styles.show(ui, values, actions);
                });
            });
        Side::right("riff")
            .frame(frame(theme::of(ui).ground))
            .resizable(false)
            .show_separator_line(false)
            .exact_size(theme::RIFF_WIDTH)
            .show(ui, |ui| {
                riff::show(ui, snapshot, &mut self.form, actions);
                ui.add_space(theme::GAP_WIDE);
                self.played.show(ui, actions);
            });
        CentralPanel::no_frame()
            .frame(frame(theme::of(ui).ground))
            .show(ui, |ui| main_controls::show(ui, &snapshot.values, actions));
    }

    /// The view of the phrase.
    pub fn lanes(&self) -> &Lanes {
        &self.lanes
    }
}

//! The views in their places.

use super::chart::{ChartPage, SongAct};
use super::controls::Intent;
use super::header::Turn;
use super::lanes::Lanes;
use super::riff::{self, Form, RiffAct};
use super::snapshot::Snapshot;
use super::strip::Strip;
use super::styles::Styles;
use super::{header, main_controls, played, theme};
use crate::plugin::view::Look;
use crate::settings::SettingId;
use egui::{CentralPanel, Frame, Margin, Panel as Side, Ui};

/// Everything that the window shows, and what its views remember between frames.
#[derive(Debug, Default)]
pub struct Panel {
    styles: Styles,
    lanes: Lanes,
    riff_act: Option<RiffAct>,
    /// The song strip.
    pub strip: Strip,
    /// What the song's sections say.
    pub chart: ChartPage,
    song_acts: Vec<SongAct>,
    turn: Option<Turn>,
    /// How the editor is looked at; what is wanted of it is changed here.
    pub look: Look,
    /// The file that a riff is read from.
    pub form: Form,
    /// The file that what was played is written to.
    pub played: played::Form,
}

impl Panel {
    /// Shows one frame and adds what the user wants to `intents`. Main thread.
    pub fn show(&mut self, ui: &mut Ui, snapshot: &Snapshot, intents: &mut Vec<Intent>) {
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
                let turn = header::show(ui, snapshot, thinned, &mut self.look, intents);
                self.turn = self.turn.or(turn);
            });
        Side::top("strip")
            .frame(frame(theme::of(ui).ground))
            .show_separator_line(false)
            .show(ui, |ui| {
                let acts = &mut self.song_acts;
                match &snapshot.song {
                    Some(song) => self.strip.show(ui, song, snapshot, acts),
                    None => self.chart.empty(ui, snapshot, intents, acts),
                }
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
                self.chart.show(ui, song, place, take, &mut self.song_acts);
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
                    self.styles.show(ui, values, intents);
                });
            });
        let act = Side::right("riff")
            .frame(frame(theme::of(ui).ground))
            .resizable(false)
            .show_separator_line(false)
            .exact_size(theme::RIFF_WIDTH)
            .show(ui, |ui| {
                let act = riff::show(ui, snapshot, &mut self.form, intents);
                ui.add_space(theme::GAP_WIDE);
                self.played.show(ui);
                act
            });
        self.riff_act = self.riff_act.or(act.inner);
        CentralPanel::no_frame()
            .frame(frame(theme::of(ui).ground))
            .show(ui, |ui| main_controls::show(ui, &snapshot.values, intents));
    }

    /// What the user wants done with the riff, once.
    pub fn take_riff_act(&mut self) -> Option<RiffAct> {
        self.riff_act.take()
    }

    /// What the user wants done with the changes of riff and song, once.
    pub fn take_turn(&mut self) -> Option<Turn> {
        self.turn.take()
    }

    /// What the user wants done with the song, once.
    pub fn take_song_acts(&mut self) -> Vec<SongAct> {
        std::mem::take(&mut self.song_acts)
    }

    /// The view of the phrase.
    pub fn lanes(&self) -> &Lanes {
        &self.lanes
    }
}

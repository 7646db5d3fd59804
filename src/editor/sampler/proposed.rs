//! What a file says of a sampler's keys, line by line, until it is put away.

use super::hearing::{Hearing, MIDDLE};
use super::parts::{called, cell};
use crate::editor::action::Action;
use crate::editor::text::sampler as words;
use crate::editor::theme;
use crate::kit::proposal::{Proposal, Sureness};
use crate::kit::{MiddleC, NoteMap};
use egui::{Frame, Margin, RichText, ScrollArea, Ui};

/// What a file says.
#[derive(Debug)]
pub(super) struct Proposed {
    /// Its lines.
    pub(super) proposal: Proposal,
    /// The lists of the file that were not read.
    pub(super) others: Vec<String>,
}

impl Proposed {
    /// Shows it; whether it is put away.
    pub(super) fn show(
        &self,
        ui: &mut Ui,
        (map, middle_c): (&NoteMap, MiddleC),
        hearing: &mut Hearing,
        actions: &mut Vec<Action>,
    ) -> bool {
        let frame = Frame::NONE
            .fill(theme::of(ui).raised)
            .inner_margin(Margin::same(theme::MARGIN / 2));
        let shown = frame.show(ui, |ui| {
            let done = ui.horizontal(|ui| {
                ui.label(RichText::new(words::PROPOSED).strong());
                let (name, hint) = words::DISMISS;
                ui.button(name).on_hover_text(hint).clicked()
            });
            ScrollArea::vertical()
                .id_salt("proposal")
                .max_height(theme::PROPOSAL_HEIGHT)
                .auto_shrink([false, true])
                .show(ui, |ui| {
                    ui.spacing_mut().item_spacing.y = theme::ROW_GAP;
                    self.lines(ui, (map, middle_c), hearing, actions);
                    self.left_out(ui, middle_c);
                });
            done.inner
        });
        shown.inner
    }

    fn lines(
        &self,
        ui: &mut Ui,
        (map, middle_c): (&NoteMap, MiddleC),
        hearing: &mut Hearing,
        actions: &mut Vec<Action>,
    ) {
        let [of_key, of_piece, of_sureness] = theme::PROPOSAL_COLUMNS;
        let quiet = theme::of(ui).text_quiet;
        for line in &self.proposal.lines {
            ui.horizontal(|ui| {
                let button = ui.button(words::HEAR).on_hover_text(words::HEAR_HINT);
                let note = words::note(line.note, middle_c);
                called(&button, &words::of(&note, words::HEAR));
                if button.clicked() {
                    actions.push(hearing.strike(map, line.piece, MIDDLE));
                }
                cell(ui, of_key, |ui| ui.label(&note));
                cell(ui, of_piece, |ui| ui.label(line.piece.name()));
                cell(ui, of_sureness, |ui| {
                    let said = RichText::new(words::sureness(line.sureness));
                    // Read before all others.
                    let doubtful = line.sureness == Sureness::Guess;
                    let said = if doubtful {
                        said.color(theme::of(ui).fill_text).strong()
                    } else {
                        said
                    };
                    ui.label(said);
                });
                ui.label(RichText::new(&line.reason).color(quiet));
            });
        }
    }

    fn left_out(&self, ui: &mut Ui, middle_c: MiddleC) {
        let quiet = theme::of(ui).text_quiet;
        if !self.proposal.unplaced.is_empty() {
            ui.label(RichText::new(words::UNPLACED).strong());
        }
        for unplaced in &self.proposal.unplaced {
            let note = words::note(unplaced.note, middle_c);
            let said = words::of(&note, &unplaced.reason);
            ui.label(RichText::new(said).color(quiet));
        }
        if !self.others.is_empty() {
            ui.label(RichText::new(words::others(&self.others)).color(quiet));
        }
    }
}

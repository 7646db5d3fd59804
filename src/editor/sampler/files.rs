//! The row that loads, saves and keeps note maps.

use crate::editor::action::Action;
use crate::editor::file_form::FileForm;
use crate::editor::text::sampler as words;
use crate::editor::theme;
use egui::Ui;
use std::path::PathBuf;

/// Shows the row.
pub(super) fn show(form: &mut FileForm<PathBuf>, ui: &mut Ui, actions: &mut Vec<Action>) {
    let path = form.path(ui, words::PATH, theme::MAP_PATH_WIDTH);
    if form.button(ui, true, words::LOAD).clicked() {
        actions.push(Action::LoadMap(path.clone()));
    }
    if form.button(ui, true, words::SAVE).clicked() {
        let replace = form.replaces(path.clone());
        actions.push(Action::SaveMap(path, replace));
    }
    if form.button(ui, true, words::KEEP).clicked() {
        actions.push(Action::KeepMap);
    }
}

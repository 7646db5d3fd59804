//! Sections are drawn on the strip where there are none.

use super::scale::Scale;
use super::{NEW_BARS, Strip};
use crate::editor::action::Action;
use crate::editor::snapshot::Snapshot;
use crate::editor::widgets::caption;
use crate::editor::{text, theme};
use crate::project::Song;
use crate::settings::SettingId;
use crate::song::SongFile;
use crate::song::file::Section;
use egui::{Align2, Key, PointerButton, Rect, Role, Ui, WidgetInfo};
use std::collections::BTreeSet;

impl Strip {
    /// What is done with the ground: a section is drawn where there is none, a click elsewhere chooses the panel.
    pub(super) fn draw(
        &mut self,
        ui: &mut Ui,
        ground: &egui::Response,
        scale: &Scale,
        snapshot: &Snapshot,
        actions: &mut Vec<Action>,
    ) {
        ground.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, text::STRIP));
        let song = snapshot.song.as_deref();
        let end = song.map_or(0, |song| song.timeline.bars().len());
        let at = ground.interact_pointer_pos().map(|at| scale.bar_at(at.x));
        // Where the button went down, before it was known to be a drag.
        let from = ui.input(|input| input.pointer.press_origin());
        let from = from.map(|at| scale.bar_at(at.x));
        if ground.drag_started_by(PointerButton::Primary)
            && let Some(bar) = from.filter(|bar| *bar >= end)
        {
            self.drawing = Some((bar, bar));
            self.held = Some(scale.bar);
        }
        if let (Some((_, to)), Some(bar)) = (&mut self.drawing, at) {
            *to = bar;
        }
        if ui.input(|input| input.key_pressed(Key::Escape)) {
            self.drawing = None;
        }
        let pressed = ground.has_focus()
            && ui.input(|input| input.key_pressed(Key::Enter) || input.key_pressed(Key::Insert));
        let mut made = None;
        if pressed {
            made = Some((end, end + NEW_BARS as usize));
        } else if ground.clicked() {
            match at {
                Some(bar) if song.is_none() => made = Some((bar, bar + NEW_BARS as usize)),
                Some(bar) if bar >= end => made = Some((end, end + NEW_BARS as usize)),
                _ => self.chosen.clear(),
            }
        } else if ground.drag_stopped() {
            made = self.drawing.take().map(|(a, b)| (a.min(b), a.max(b) + 1));
        }
        if let Some((a, b)) = self.drawing {
            let (from, to) = (a.min(b), a.max(b) + 1);
            let from = if song.is_some() { end } else { from };
            let x = scale.x(from as f32)..=scale.x(to as f32);
            let rect = Rect::from_x_y_ranges(x, scale.area.y_range());
            let painter = ui.painter();
            painter.rect_filled(rect, theme::CORNER, theme::of(ui).chosen);
            let said = text::bars(
                i64::try_from(from + 1).unwrap_or(1),
                i64::try_from(to).unwrap_or(1),
            );
            let at = rect.center();
            caption(ui, at, Align2::CENTER_CENTER, &said, theme::of(ui).text);
            ui.ctx().request_repaint();
        }
        if let Some((from, to)) = made {
            self.make(song, from, to, actions);
        }
    }

    /// Makes a section of these bars, from 0: the song's first, or one behind its last.
    pub fn make(&mut self, song: Option<&Song>, from: usize, to: usize, actions: &mut Vec<Action>) {
        let place = song.map_or(0, |song| song.whole.sections.len());
        let name = text::new_section(place + 1);
        let (file, place) = match song {
            None => {
                let bars = u32::try_from(to - from).unwrap_or(NEW_BARS);
                let mut file = SongFile::of(text::NEW_SONG, Section::of_panel(&name, bars));
                file.start_bar = u32::try_from(from + 1).unwrap_or(1);
                actions.push(Action::Set(SettingId::FollowChart, 1.0));
                (file, 0)
            }
            Some(song) => {
                let end = song.timeline.bars().len();
                let bars = u32::try_from(to.saturating_sub(end)).unwrap_or(NEW_BARS);
                let mut file = song.whole.clone();
                file.sections.push(Section::of_panel(&name, bars.max(1)));
                (file, place)
            }
        };
        self.chosen = BTreeSet::from([place]);
        self.last = place;
        self.renaming = Some((place, name, false));
        actions.push(Action::ChangeSong(Box::new(file), None));
    }
}

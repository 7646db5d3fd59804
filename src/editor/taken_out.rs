//! What leaves the window as a MIDI file: what it is taken hold of by, and what is said of it.

mod grip;

use super::action::{Action, Part};
use super::text::taken_out as words;
use super::theme;
use egui::{Align2, Area, Context, Frame, Id, Label, Order, RichText, Sense, Ui, vec2};

/// Shows what a part is taken hold of by; `label` says which part it is to whoever can't see it.
pub fn grip(ui: &mut Ui, label: &str, part: Part, actions: &mut Vec<Action>) {
    named(ui, (words::GRIP, label), part, actions);
}

/// The same without a name that is seen, where there is little room.
pub fn small_grip(ui: &mut Ui, label: &str, part: Part, actions: &mut Vec<Action>) {
    named(ui, ("", label), part, actions);
}

fn named(ui: &mut Ui, (name, label): (&str, &str), part: Part, actions: &mut Vec<Action>) {
    let grip = grip::show(ui, name, label);
    if grip.drag_started_by(egui::PointerButton::Primary) {
        actions.push(Action::TakeOut(part, true));
    } else if grip.clicked() {
        actions.push(Action::TakeOut(part, false));
    }
    grip.on_hover_text(words::GRIP_HINT);
}

/// How long it is said where a file is, in seconds. Judged: long enough to read a path and find the folder.
const SAID_S: f64 = 20.0;

/// What is said of the last file, for a while.
#[derive(Debug, Default)]
pub struct Said {
    said: Option<(String, bool)>,
    since: Option<f64>,
}

impl Said {
    /// Says what came of it, or what went wrong.
    pub fn tell(&mut self, said: Result<String, String>) {
        let went_well = said.is_ok();
        let (Ok(said) | Err(said)) = said;
        self.said = Some((said, went_well));
        self.since = None;
    }

    /// Shows it over the window's lower edge, so that nothing moves; a click closes it.
    pub fn show(&mut self, ctx: &Context) {
        let Some((said, went_well)) = &self.said else {
            return;
        };
        let edge = Area::new(Id::unique("said"))
            .order(Order::Foreground)
            .anchor(Align2::LEFT_BOTTOM, vec2(theme::GAP, -theme::GAP));
        let shown = edge.show(ctx, |ui| {
            let palette = theme::of(ui);
            let colour = [palette.fill_text, palette.text][usize::from(*went_well)];
            let said = Label::new(RichText::new(said).color(colour)).sense(Sense::click());
            Frame::popup(ui.style()).show(ui, |ui| ui.add(said)).inner
        });
        let now = ctx.input(|input| input.time);
        let left = SAID_S - (now - *self.since.get_or_insert(now));
        if left > 0.0 && !shown.inner.clicked() {
            let left = std::time::Duration::from_secs_f64(left);
            ctx.request_repaint_after(left);
        } else {
            self.said = None;
        }
    }
}

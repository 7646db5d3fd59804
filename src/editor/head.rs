//! The head: who we are, where the song is, the preview, and bypass.

use super::controls::{Control, Intent};
use super::snapshot::Snapshot;
use super::text::{self, chart as words};
use super::{theme, widgets};
use crate::time::{Bar, Ticks};
use egui::{Align, Button, Layout, RichText, Role, Ui, WidgetInfo};

/// Shows the head; `chart` is whether the chart's page is open.
pub fn show(ui: &mut Ui, snapshot: &Snapshot, chart: &mut bool, intents: &mut Vec<Intent>) {
    ui.horizontal(|ui| {
        ui.heading(RichText::new(text::NAME).strong());
        ui.add_space(theme::GAP_WIDE);
        let song = snapshot.at.map_or_else(
            || text::STOPPED.to_owned(),
            |(bar, tick)| place(snapshot, bar, tick),
        );
        for fact in [text::tempo(snapshot.bpm), snapshot.meter.to_string(), song] {
            ui.label(RichText::new(fact).color(theme::of(ui).text_quiet));
            ui.add_space(theme::GAP);
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            widgets::switch(ui, Control::Bypass, &snapshot.values, intents);
            ui.add_space(theme::GAP);
            let (control, width) = (Control::PreviewLevel, theme::NARROW_LEVEL);
            widgets::narrow_level(ui, control, &snapshot.values, width, intents);
            widgets::switch(ui, Control::Preview, &snapshot.values, intents);
            ui.add_space(theme::GAP);
            let page = Button::new(words::PAGE).selected(*chart);
            let page = ui.add(page).on_hover_text(words::PAGE_HINT);
            *chart ^= page.clicked();
            let open = *chart;
            page.widget_info(|| WidgetInfo::selected(Role::Button, true, open, words::PAGE));
            widgets::switch(ui, Control::FollowChart, &snapshot.values, intents);
        });
    });
}

/// The bar that is played, and its section where the chart is followed.
fn place(snapshot: &Snapshot, bar: Bar, tick: Ticks) -> String {
    let Some(song) = snapshot.followed() else {
        return text::bar(bar.index() + 1);
    };
    let timeline = &song.timeline;
    let number = timeline.bars().partition_point(|b| b.start <= tick);
    let section = timeline.section_at(tick);
    let name = section.and_then(|i| timeline.markers().nth(i));
    match name {
        Some((_, name)) => words::place(number, name),
        None => text::bar(bar.index() + 1),
    }
}

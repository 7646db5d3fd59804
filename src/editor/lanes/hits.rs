//! The hits of the band below the lanes: a click on a stroke of the guitar, or on a sixteenth, makes one.

use super::time_axis::TimeAxis;
use crate::editor::action::Action;
use crate::editor::snapshot::Snapshot;
use crate::editor::text::hits as words;
use crate::editor::theme;
use crate::editor::widgets::focus_ring;
use crate::project::Song;
use crate::riff::Attack;
use crate::riff::weight::standing_out;
use crate::song::hits::{HitRow, mark};
use crate::time::place::nearest;
use crate::time::{Bar, TICKS_PER_QUARTER, Ticks};
use egui::{
    EventFilter, Key, Pos2, Rect, Response, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2,
};

/// How near the pointer has to be to a place, in points.
const REACH: f32 = 12.0;
/// A stroke of the guitar within half a sixteenth of a place is at that place, in ticks.
const NEAR: Ticks = TICKS_PER_QUARTER / 8;

/// Most strokes of the guitar that are looked at in a bar.
const MOST: usize = 1024;

/// What the view remembers between frames.
#[derive(Debug, Default)]
pub(super) struct Hits {
    /// Whether hits are proposed.
    pub(super) suggests: bool,
    /// The place that the keys are at, in ticks of the song.
    cursor: Option<Ticks>,
}

/// A place where a hit is or may be.
struct Place {
    bar: Bar,
    /// In ticks of the song.
    at: Ticks,
    /// How a hit here ends; `None` where there is none.
    held: Option<bool>,
    is_suggested: bool,
    /// Whether the guitar is silent for a quarter from its stroke here on.
    is_silent_after: bool,
}

impl Hits {
    /// Shows the hits of the bars on show, and marks where the user asks for it.
    pub(super) fn show(
        &mut self,
        ui: &Ui,
        time_axis: &TimeAxis,
        snapshot: &Snapshot,
        actions: &mut Vec<Action>,
    ) {
        let places = self.places(time_axis, snapshot);
        let strip = time_axis.guitar;
        let response = ui.interact(strip, ui.scope_id().with("hits"), Sense::click());
        let count = places.iter().filter(|place| place.held.is_some()).count();
        response.widget_info(|| WidgetInfo::labeled(Role::Group, true, words::count(count)));
        let mut chosen = self.keys(ui, &response, &places);
        let nearest_to = |x: f32| {
            let away = |place: &&Place| (time_axis.x(place.at) - x).abs();
            let found = places.iter().min_by(|a, b| away(a).total_cmp(&away(b)));
            found
                .filter(|place| away(place) <= REACH)
                .map(|place| place.at)
        };
        if let Some(pointer) = response
            .interact_pointer_pos()
            .filter(|_| response.clicked())
        {
            chosen = nearest_to(pointer.x);
            self.cursor = chosen;
        }
        let pointed = response
            .hover_pos()
            .and_then(|pointer| nearest_to(pointer.x));
        for place in &places {
            let is_pointed =
                pointed == Some(place.at) || response.has_focus() && self.cursor == Some(place.at);
            paint(ui, time_axis, place, is_pointed);
            let is_named =
                place.held.is_some() || place.is_suggested || attacked(snapshot, place.at);
            if !is_named {
                continue;
            }
            let area = Rect::from_center_size(
                pos2(time_axis.x(place.at), strip.center().y),
                vec2(REACH, strip.height()),
            );
            let id = ui.scope_id().with(("hit", place.at));
            // Reached by a pointer or a screen reader; keys go along the strip.
            let node = ui.interact(area, id, Sense::CLICK);
            let said = in_words(time_axis, place);
            node.widget_info(|| WidgetInfo::labeled(Role::Button, true, said.clone()));
            if node.clicked() {
                chosen = Some(place.at);
                self.cursor = chosen;
            }
        }
        if response.has_focus() {
            focus_ring(ui.painter(), strip, theme::of(ui));
        }
        let found = chosen.and_then(|at| places.iter().find(|place| place.at == at));
        if let Some(place) = found {
            actions.extend(turn(snapshot, place));
        }
        let hint = why_not(snapshot, time_axis).unwrap_or(words::HINT);
        let named = pointed.and_then(|at| places.iter().find(|place| place.at == at));
        response.on_hover_ui_at_pointer(|ui| {
            if let Some(place) = named {
                ui.label(in_words(time_axis, place));
            }
            ui.label(hint);
        });
    }

    /// Every place of the bars on show: their sixteenths, and where the guitar is struck or a hit is between them.
    fn places(&self, time_axis: &TimeAxis, snapshot: &Snapshot) -> Vec<Place> {
        let grid = snapshot.values.settings.bar_settings.riff_grid;
        let mut all = Vec::new();
        for &bar in time_axis.bars {
            let mut attacks: Vec<Attack> = Vec::with_capacity(MOST);
            let beyond = bar.end() + TICKS_PER_QUARTER;
            snapshot.attacks.gather(bar.start, beyond, &mut attacks);
            let suggested = standing_out(&attacks);
            let marked = marked(snapshot, bar);
            let sixteenths = (0..).map(|i| bar.start + i * TICKS_PER_QUARTER / 4);
            let mut ticks: Vec<Ticks> = sixteenths.take_while(|at| *at < bar.end()).collect();
            let snapped = attacks
                .iter()
                .map(|attack| bar.start + grid.snap(attack.tick - bar.start));
            ticks.extend(snapped.chain(marked.iter().map(|hit| hit.0)));
            ticks.retain(|at| (bar.start..bar.end()).contains(at));
            ticks.sort_unstable();
            ticks.dedup();
            all.extend(ticks.into_iter().map(|at| {
                let near = |tick: Ticks| (tick - at).abs() < NEAR;
                let standing = suggested.iter().find(|(attack, _)| near(attack.tick));
                let after = attacks.iter().find(|attack| attack.tick >= at + NEAR);
                Place {
                    bar,
                    at,
                    held: marked.iter().find(|hit| hit.0 == at).map(|hit| hit.1),
                    is_suggested: self.suggests && standing.is_some(),
                    is_silent_after: after
                        .is_none_or(|next| next.tick - at >= TICKS_PER_QUARTER - NEAR),
                }
            }));
        }
        all
    }

    /// Moves along the strip while it has the keys; the place that Enter or space asks for.
    fn keys(&mut self, ui: &Ui, response: &Response, places: &[Place]) -> Option<Ticks> {
        if !response.has_focus() {
            return None;
        }
        let filter = EventFilter {
            horizontal_arrows: true,
            ..EventFilter::default()
        };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
        let pressed = |key| ui.input(|input| input.key_pressed(key));
        let here = self
            .cursor
            .and_then(|at| places.iter().position(|place| place.at == at));
        let last = places.len().saturating_sub(1);
        let to = match here {
            None => 0,
            Some(i) if pressed(Key::ArrowRight) => (i + 1).min(last),
            Some(i) if pressed(Key::ArrowLeft) => i.saturating_sub(1),
            Some(i) => i,
        };
        self.cursor = places.get(to).map(|place| place.at);
        self.cursor
            .filter(|_| pressed(Key::Enter) || pressed(Key::Space))
    }
}

/// Whether the guitar is struck at a place.
fn attacked(snapshot: &Snapshot, at: Ticks) -> bool {
    let mut near = Vec::with_capacity(1);
    snapshot.attacks.gather(at - NEAR, at + NEAR, &mut near);
    !near.is_empty()
}

/// The section that a tick falls in, where its chart is followed: its place from 0, and its first tick.
fn section(snapshot: &Snapshot, at: Ticks) -> Option<(&Song, usize, Ticks)> {
    let song = snapshot.followed()?;
    let place = song.timeline.section_at(at)?;
    let (start, _) = song.timeline.markers().nth(place)?;
    Some((song, place, start))
}

/// The hits of a bar: where, in ticks of the song, and whether they are held.
fn marked(snapshot: &Snapshot, bar: Bar) -> Vec<(Ticks, bool)> {
    let Some((song, place, start)) = section(snapshot, bar.start) else {
        return Vec::new();
    };
    let hits = song.file.sections.get(place).map(|section| &section.hits);
    let hits = hits.into_iter().flatten();
    let all = hits.map(|HitRow(hit)| (start + hit.at, hit.held));
    all.filter(|(at, _)| (bar.start..bar.end()).contains(at))
        .collect()
}

/// Why no hit can be marked in the bars on show.
fn why_not(snapshot: &Snapshot, time_axis: &TimeAxis) -> Option<&'static str> {
    let first = time_axis.bars.first()?;
    match section(snapshot, first.start) {
        None => Some(words::NO_SECTION),
        Some((song, place, _)) => {
            let section = song.file.sections.get(place)?;
            section.locked.is_some().then_some(words::LOCKED)
        }
    }
}

/// A place in words.
fn in_words(time_axis: &TimeAxis, place: &Place) -> String {
    let spoken = nearest(place.bar, place.at);
    words::place(
        time_axis.number(place.bar),
        &spoken,
        place.held,
        place.is_suggested,
    )
}

/// Makes a hit of a place, or the other kind, or none: the first click asks for what the guitar suggests, a short one
/// before silence and else a long one.
fn turn(snapshot: &Snapshot, place: &Place) -> Option<Action> {
    let first = !place.is_silent_after;
    let held = match place.held {
        None => Some(first),
        Some(held) if held == first => Some(!first),
        Some(_) => None,
    };
    let (song, number, start) = section(snapshot, place.at)?;
    let mut file = song.file.clone();
    let section = file.sections.get_mut(number)?;
    if section.locked.is_some() {
        return None;
    }
    mark(&mut section.hits, place.at - start, held);
    Some(Action::ChangeSong(Box::new(file), None))
}

/// Paints a hit: a line through the lanes, and a wedge on the strip's top, with a bar to its right where it is held. A
/// suggested one is an outline.
fn paint(ui: &Ui, time_axis: &TimeAxis, place: &Place, is_pointed: bool) {
    let (painter, palette) = (ui.painter(), theme::of(ui));
    let top = pos2(time_axis.x(place.at), time_axis.guitar.top());
    let half = theme::MARK;
    let wedge = |fill, line: Stroke| {
        let corners: Vec<Pos2> = [vec2(-half, 0.0), vec2(half, 0.0), vec2(0.0, half * 1.8)]
            .map(|by| top + by)
            .to_vec();
        painter.add(Shape::convex_polygon(corners, fill, line));
    };
    let line = Stroke::new(1.5, palette.accent_text);
    if let Some(held) = place.held {
        let through = Stroke::new(1.0, palette.accent_text.gamma_multiply(0.5));
        painter.vline(top.x, time_axis.lanes.y_range(), through);
        wedge(palette.accent_text, line);
        if held {
            let from = top + vec2(half, 1.0);
            painter.line_segment(
                [from, from + vec2(half * 2.6, 0.0)],
                Stroke::new(3.5, palette.accent_text),
            );
        }
    } else if place.is_suggested || is_pointed {
        wedge(egui::Color32::TRANSPARENT, line);
    }
    if is_pointed {
        let below = pos2(top.x, time_axis.guitar.bottom());
        painter.circle_filled(below, 2.0, palette.accent_text);
    }
}

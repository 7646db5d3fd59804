//! What leaves the window as a MIDI file: which part it is, what it is taken hold of by, and what is said of it.

use super::action::Action;
use super::carry_out::as_played;
use super::snapshot::Snapshot;
use super::text::taken_out as words;
use super::{theme, widgets};
use crate::export::What;
use crate::params::FourlimbParams;
use crate::project::dragged::Region;
use crate::song::SongError;
use egui::{Align2, Area, Context, Frame, Id, Label, Order, RichText, Sense, Ui, vec2};
use std::ops::Range;

/// A part of what is played.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Part {
    /// The bars that are on show, counted from 1: the first, and how many.
    Shown(u32, u32),
    /// A part of the song.
    Song(What),
}

impl Part {
    /// Bars on show, from 0.
    pub fn shown(bars: &Range<usize>) -> Self {
        let number = |bar: usize| u32::try_from(bar).unwrap_or(u32::MAX - 1);
        Self::Shown(number(bars.start) + 1, number(bars.len()).max(1))
    }

    /// This part as it is played now; `None` where there is no song.
    ///
    /// # Errors
    /// [`SongError`] where the panel can't be laid out as a song.
    pub fn region(
        &self,
        params: &FourlimbParams,
        snapshot: &Snapshot,
    ) -> Result<Option<Region>, SongError> {
        let song = |what| {
            let song = params.project.song()?;
            let timeline = as_played(params, song.timeline.clone(), true);
            Some(Region {
                timeline: Box::new(timeline),
                what,
            })
        };
        match *self {
            Self::Song(ref what) => Ok(song(what.clone())),
            Self::Shown(first, bars) if snapshot.followed().is_some() => {
                Ok(song(What::Bars(first, first.saturating_add(bars) - 1)))
            }
            Self::Shown(first, bars) => {
                let panel = params.settings();
                let time = (snapshot.meter, snapshot.bpm);
                let riff = &snapshot.attacks;
                Region::of_panel(&panel, riff, time, (first, bars)).map(Some)
            }
        }
    }
}

/// Shows what a part is taken hold of by; `label` says which part it is to whoever can't see it.
pub fn grip(ui: &mut Ui, label: &str, part: Part, actions: &mut Vec<Action>) {
    let grip = widgets::grip(ui, words::GRIP, label);
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

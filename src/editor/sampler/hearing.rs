//! Hearing the sampler: one piece, or one after the other.

use super::parts::listed;
use crate::editor::action::Action;
use crate::kit::hi_hat::usual_opening;
use crate::kit::{NoteMap, Piece, Struck};
use egui::Ui;
use std::time::Duration;

/// The velocities of soft, middle and hard, and the one of everything else. Judged.
pub(super) const VELOCITIES: [u8; 3] = [36, 80, 120];
/// See [`VELOCITIES`].
pub(super) const MIDDLE: u8 = VELOCITIES[1];
/// From one piece to the next, in seconds: the whole kit takes nine. Judged.
const STEP_S: f64 = 0.5;

/// What is heard.
#[derive(Debug, Default)]
pub(super) struct Hearing {
    /// Counts strokes, so that a piece's keys are heard in turn.
    turn: u8,
    /// Where all pieces are heard: the place of the next in the list, and when it is due in seconds of the window.
    next: Option<(usize, f64)>,
    /// The last of them.
    now: Option<Piece>,
}

impl Hearing {
    /// The piece that is heard, while all are.
    pub(super) fn now(&self) -> Option<Piece> {
        self.now
    }

    /// Whether all pieces are heard.
    pub(super) fn is_on(&self) -> bool {
        self.next.is_some()
    }

    /// Begins to hear all pieces.
    pub(super) fn begin(&mut self, now: f64) {
        self.next = Some((0, now));
    }

    /// Hears no more.
    pub(super) fn stop(&mut self) {
        (self.next, self.now) = (None, None);
    }

    /// A stroke on a piece.
    pub(super) fn strike(&mut self, map: &NoteMap, piece: Piece, velocity: u8) -> Action {
        let opening = usual_opening(piece).unwrap_or(0);
        self.stroke(map, (piece, opening), velocity)
    }

    /// A stroke on a piece, the hi-hat so far open, 0..=127.
    pub(super) fn stroke(
        &mut self,
        map: &NoteMap,
        (piece, opening): (Piece, u8),
        velocity: u8,
    ) -> Action {
        let sounds = map.sounding(piece).unwrap_or(piece);
        let keys = u8::try_from(map.get(sounds).notes.len())
            .unwrap_or(1)
            .max(1);
        let turn = self.turn;
        self.turn = turn.wrapping_add(1);
        Action::Hear(Struck {
            piece,
            velocity,
            lead: true,
            turn,
            // By hand, too, all are to be heard.
            alternate: Some(turn % keys),
            opening,
        })
    }

    /// Goes on to the next piece where it is due.
    pub(super) fn follow(&mut self, ui: &Ui, map: &NoteMap, now: f64, actions: &mut Vec<Action>) {
        let Some((place, due)) = self.next else {
            return;
        };
        let mut wait = due - now;
        if wait <= 0.0 {
            let sent = |(_, piece): &(usize, Piece)| map.is_sent(*piece);
            let Some((at, piece)) = listed().enumerate().skip(place).find(sent) else {
                return self.stop();
            };
            // The first key of each: alternates are heard from the row.
            self.turn = 0;
            actions.push(self.strike(map, piece, MIDDLE));
            self.now = Some(piece);
            self.next = Some((at + 1, now + STEP_S));
            wait = STEP_S;
        }
        ui.ctx()
            .request_repaint_after(Duration::from_secs_f64(wait.max(0.0)));
    }
}

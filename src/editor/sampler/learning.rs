//! Learning keys from notes that come in: those of one piece, or of all, one after the other.

use super::parts::{called, listed};
use crate::editor::action::Action;
use crate::editor::text::sampler as words;
use crate::editor::theme;
use crate::kit::map_file::NamedMap;
use crate::kit::{Note, Piece};
use egui::{Key, Modifiers, RichText, Ui};
use std::time::Duration;

/// The same note within this time is the pad that bounced, in seconds. Judged: nobody means two pieces so fast.
const BOUNCE_S: f64 = 0.3;
/// How often notes are looked for.
const POLL: Duration = Duration::from_millis(40);

/// What the next note is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Target {
    /// The key of a piece.
    Key(Piece),
    /// A further key of a piece.
    Alternate(Piece),
    /// The key of the piece at a place in the list, and then of those after it.
    All(usize),
}

/// What is learned.
#[derive(Debug, Default)]
pub(super) struct Learning {
    target: Option<Target>,
    /// Whether the project was told to learn.
    told: bool,
    /// Whether each piece is played as it is asked for.
    hears: bool,
    /// The present piece is still to be played.
    announces: bool,
    /// The time of the last frame, in seconds of the window.
    now: f64,
    /// The note that was learned last, and when.
    last: Option<(Note, f64)>,
}

impl Learning {
    /// Whether anything is learned.
    pub(super) fn is_on(&self) -> bool {
        self.target.is_some()
    }

    /// What the next note is for.
    pub(super) fn target(&self) -> Option<Target> {
        self.target
    }

    /// The piece that the next note is for.
    pub(super) fn piece(&self) -> Option<Piece> {
        match self.target? {
            Target::Key(piece) | Target::Alternate(piece) => Some(piece),
            Target::All(place) => listed().nth(place),
        }
    }

    /// Learns this, or no longer where it is learned already.
    pub(super) fn turn(&mut self, target: Target) {
        self.target = Some(target).filter(|target| self.target != Some(*target));
        self.announces = matches!(self.target, Some(Target::All(_)));
        self.last = None;
    }

    /// Learns nothing.
    pub(super) fn stop(&mut self) {
        self.target = None;
    }

    /// Goes on by a piece, or back; after the last it ends.
    fn step(&mut self, back: bool) {
        self.target = match self.target {
            Some(Target::All(place)) if back => Some(Target::All(place.saturating_sub(1))),
            Some(Target::All(place)) => {
                Some(Target::All(place + 1)).filter(|_| place + 1 < Piece::COUNT)
            }
            _ => None,
        };
        self.announces = self.is_on();
    }

    /// Takes a note up; the map with it, where it is for a piece.
    pub(super) fn learn(&mut self, note: Note, map: &NamedMap) -> Option<NamedMap> {
        let (target, piece) = (self.target?, self.piece()?);
        let bounced = |&(last, at): &(Note, f64)| last == note && self.now - at < BOUNCE_S;
        if self.last.as_ref().is_some_and(bounced) {
            return None;
        }
        self.last = Some((note, self.now));
        let mut map = map.clone();
        // It is this piece's now: as a further key of others it would be read as either.
        for other in Piece::ALL {
            let also_read = &mut map.map.get_mut(other).also_read;
            also_read.retain(|also| *also != note);
        }
        let notes = &mut map.map.get_mut(piece).notes;
        let further = matches!(target, Target::Alternate(_)) && !notes.is_empty();
        if further && !notes.contains(&note) {
            // Where there is no room for more, none is added.
            let _ = notes.try_push(note);
        } else if !further {
            match notes.first_mut() {
                Some(first) => *first = note,
                None => notes.push(note),
            }
        }
        self.step(false);
        Some(map)
    }

    /// Heeds the keys, shows what is to be struck, and tells whether notes are learned; the piece that is to be
    /// heard now.
    pub(super) fn show(&mut self, ui: &mut Ui, now: f64) -> Option<Piece> {
        self.now = now;
        if !self.is_on() {
            return None;
        }
        self.heed_keys(ui);
        if let (Some(target), Some(piece)) = (self.target, self.piece()) {
            ui.horizontal_wrapped(|ui| self.ask(ui, target, piece));
        }
        if self.is_on() {
            ui.ctx().request_repaint_after(POLL);
        }
        let announced = std::mem::take(&mut self.announces) && self.hears;
        self.piece().filter(|_| announced)
    }

    fn heed_keys(&mut self, ui: &Ui) {
        if ui.ctx().text_edit_focused() {
            return;
        }
        let pressed = |key| ui.input_mut(|input| input.consume_key(Modifiers::NONE, key));
        if pressed(Key::Escape) {
            self.stop();
        } else if pressed(Key::S) || pressed(Key::ArrowRight) {
            self.step(false);
        } else if pressed(Key::ArrowLeft) && matches!(self.target, Some(Target::All(_))) {
            self.step(true);
        }
    }

    /// What is to be struck, and what else can be done.
    fn ask(&mut self, ui: &mut Ui, target: Target, piece: Piece) {
        let place = match target {
            Target::All(place) => Some((place + 1, Piece::COUNT)),
            _ => None,
        };
        let said = RichText::new(words::strike(piece, place)).color(theme::of(ui).fill_text);
        ui.label(said.strong());
        let button = |ui: &mut Ui, (name, hint): (&str, &str)| {
            let button = ui.button(name).on_hover_text(hint);
            called(&button, name);
            button.clicked()
        };
        if place.is_some() {
            if button(ui, words::BACK) {
                self.step(true);
            }
            if button(ui, words::SKIP) {
                self.step(false);
            }
            let (name, hint) = words::HEAR_EACH;
            let each = ui.checkbox(&mut self.hears, name).on_hover_text(hint);
            self.announces |= each.changed();
        }
        if button(ui, words::END) {
            self.stop();
        }
    }

    /// Tells the project whether notes are learned, where that has changed.
    pub(super) fn tell(&mut self, actions: &mut Vec<Action>) {
        if self.told != self.is_on() {
            self.told = self.is_on();
            actions.push(Action::Learn(self.told));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn note(key: u8) -> Note {
        Note { channel: 2, key }
    }

    fn learning(target: Target) -> Learning {
        let mut learning = Learning::default();
        learning.turn(target);
        learning
    }

    #[test]
    fn a_key_is_replaced_and_an_alternate_added() {
        let map = NamedMap::default();
        let learned = learning(Target::Key(Piece::Snare)).learn(note(60), &map);
        let learned = learned.unwrap();
        assert_eq!(learned.map.get(Piece::Snare).notes[..], [note(60)]);
        let mut again = learning(Target::Alternate(Piece::Snare));
        let more = again.learn(note(61), &learned).unwrap();
        assert_eq!(more.map.get(Piece::Snare).notes[..], [note(60), note(61)]);
        assert!(!again.is_on() && again.learn(note(62), &more).is_none());
    }

    #[test]
    fn all_are_learned_in_the_order_of_the_list_and_a_bounce_is_no_stroke() {
        let mut map = NamedMap::default();
        let mut learning = learning(Target::All(0));
        for (i, piece) in listed().enumerate() {
            assert_eq!(learning.piece(), Some(piece));
            let key = note(u8::try_from(i).unwrap());
            map = learning.learn(key, &map).unwrap();
            assert!(learning.learn(key, &map).is_none(), "it bounced");
            assert_eq!(map.map.get(piece).notes.first(), Some(&key));
        }
        assert!(!learning.is_on());
    }

    /// A key that was read as another piece is this one's alone.
    #[test]
    fn what_is_learned_is_read_as_nothing_else() {
        let map = NamedMap::default();
        let kicks = &map.map.get(Piece::Kick).also_read;
        let also = *kicks.first().unwrap();
        let learned = learning(Target::Key(Piece::FloorLow)).learn(also, &map);
        assert!(learned.unwrap().map.get(Piece::Kick).also_read.is_empty());
    }
}

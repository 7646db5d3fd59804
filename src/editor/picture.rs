//! The hits of the bar on show, composed by the same functions that play it.

use crate::groove::{
    Call, Fill, Hit, Moment, Part, Plan, Request, Settings, Stroke, Voice, compose_with,
};
use crate::kit::Piece;
use crate::time::Bar;

/// Everything that a bar depends on.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Asked {
    bar: Bar,
    bpm: f64,
    plan: Plan,
    moment: Moment,
    call: Call,
}

/// One bar's hits, kept until something that they depend on changes.
///
/// It shows the settings as they are now. The drummer latches style, hand rate and fills at the
/// bar line, so that right after such a change the picture is ahead of what sounds.
#[derive(Debug, Default)]
pub struct Picture {
    asked: Option<Asked>,
    /// Made at the first bar: a plugin whose editor never opens needs no room for it.
    part: Option<Part>,
    hits: Vec<Hit>,
    /// Which of the hits are ghost notes.
    ghosts: Vec<bool>,
    fill: Option<Fill>,
    composed: u64,
}

impl Picture {
    /// Composes the bar, unless it is the one that is here. `bpm` in quarter notes a minute. Main
    /// thread.
    pub fn compose(&mut self, bar: Bar, bpm: f64, settings: &Settings, call: Call) {
        let Settings { plan, moment, .. } = *settings;
        let asked = Some(Asked {
            bar,
            bpm,
            plan,
            moment,
            call,
        });
        if self.asked == asked {
            return;
        }
        self.asked = asked;
        self.composed += 1;
        let part = self.part.get_or_insert_with(Part::new);
        let request = Request {
            call,
            ..Request::new(bar, bpm, &plan)
        };
        compose_with(&request, part);
        self.hits.clear();
        self.ghosts.clear();
        let cymbal = part.cymbal(&moment);
        for stroke in part.strokes() {
            if let Some(hit) = Part::perform(stroke, &moment, cymbal) {
                self.hits.push(hit);
                self.ghosts.push(is_ghost(stroke));
            }
        }
        self.fill = part.fill();
    }

    /// The hits, in order of time.
    pub fn hits(&self) -> &[Hit] {
        &self.hits
    }

    /// Whether the hit at this place is a ghost note.
    pub fn is_ghost(&self, index: usize) -> bool {
        self.ghosts.get(index).copied().unwrap_or(false)
    }

    /// How many strokes the player's limits took away.
    pub fn thinned(&self) -> usize {
        self.part.as_ref().map_or(0, Part::thinned)
    }

    /// The bar's fill.
    pub fn fill(&self) -> Option<Fill> {
        self.fill
    }

    /// What the lead hand rides on.
    pub fn riding(&self) -> Option<Piece> {
        let moment = self.asked?.moment;
        Some(self.part.as_ref()?.cymbal(&moment).piece())
    }

    /// How often it has composed: to show that it doesn't where nothing changed.
    pub fn composed(&self) -> u64 {
        self.composed
    }
}

/// A ghost note is what it is for, not how soft it came out: at full intensity it is as loud as a
/// quiet backbeat elsewhere.
fn is_ghost(stroke: &Stroke) -> bool {
    stroke.rank > 0.0 && stroke.voice == Voice::Piece(Piece::Snare)
}

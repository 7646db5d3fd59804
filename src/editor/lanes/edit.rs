//! From what is done to strokes on show to the edits of their sections.

use super::selection::{Key, Mark};
use crate::editor::action::Action;
use crate::editor::snapshot::Snapshot;
use crate::editor::text::edit as words;
use crate::groove::{EditAction, EditTarget};
use crate::project::Song;
use crate::song::edits::several::{self, split};
use crate::song::edits::{self, EditRow, Shown};
use crate::time::{Meter, Ticks};
use std::collections::BTreeMap;
use std::sync::Arc;

/// A velocity's ends.
const VELOCITIES: (i16, i16) = (1, 127);

/// The edits as they stood when something was begun.
#[derive(Debug, Clone)]
pub(super) struct Base {
    /// The song, where its chart is followed.
    song: Option<Arc<Song>>,
    /// Those that hold where none is followed.
    beside: Arc<Vec<EditRow>>,
    meter: Meter,
}

/// Where edits are kept, and from where their ticks are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Scope {
    /// The section's place, from 0; `None` where no chart is followed.
    pub(super) section: Option<usize>,
    /// Its first tick.
    pub(super) start: Ticks,
    /// The first tick after it.
    pub(super) end: Ticks,
}

/// A stroke that something is done to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Picked {
    pub(super) key: Key,
    asked: bool,
    velocity: u8,
}

impl Picked {
    pub(super) fn of(mark: &Mark) -> Self {
        Self {
            key: mark.key,
            asked: mark.hit.asked,
            velocity: mark.hit.velocity,
        }
    }

    fn shown(&self, start: Ticks) -> Shown {
        Shown {
            at: self.key.tick - start,
            target: self.key.target,
            grace: self.key.grace,
            asked: self.asked,
        }
    }
}

/// What comes of it: what is asked for, or why it can't be.
pub(super) type Outcome = Result<Vec<Action>, String>;

impl Base {
    pub(super) fn of(snapshot: &Snapshot) -> Self {
        Self {
            song: snapshot.followed().cloned(),
            beside: snapshot.edits.clone(),
            meter: snapshot.meter,
        }
    }

    /// Where the edits of a tick of the song are kept.
    ///
    /// # Errors
    /// In words, why there can be none.
    pub(super) fn scope(&self, tick: Ticks) -> Result<Scope, String> {
        let Some(song) = &self.song else {
            return Ok(Scope {
                section: None,
                start: 0,
                end: Ticks::MAX,
            });
        };
        let timeline = &song.timeline;
        let place = timeline.section_at(tick);
        let section = place.and_then(|place| Some((place, song.whole.sections.get(place)?)));
        let (place, section) = section.ok_or_else(|| words::NO_SECTION.to_owned())?;
        if section.locked.is_some() {
            return Err(words::locked(&section.name));
        }
        let mut starts = timeline.markers().skip(place).map(|(start, _)| start);
        let start = starts.next().unwrap_or(0);
        Ok(Scope {
            section: Some(place),
            start,
            end: starts.next().unwrap_or(timeline.end()),
        })
    }

    /// The edits that are kept there.
    pub(super) fn rows(&self, section: Option<usize>) -> &[EditRow] {
        match (&self.song, section) {
            (Some(song), Some(place)) => {
                let section = song.whole.sections.get(place);
                section.map_or(&[], |section| &section.edits)
            }
            _ => &self.beside,
        }
    }

    /// How many edits there are in the section that a tick falls in.
    pub(super) fn count(&self, tick: Ticks) -> usize {
        let scope = self.scope(tick);
        scope.map_or(0, |scope| self.rows(scope.section).len())
    }

    /// What an edit calls the strokes of the drummer's that are left out from a tick of the song up to another, with
    /// their places in ticks of the song.
    pub(super) fn left_out(&self, from: Ticks, to: Ticks) -> Vec<Key> {
        let Ok(scope) = self.scope(from) else {
            return Vec::new();
        };
        let rows = self.rows(scope.section).iter();
        let keys = rows.filter(|row| row.0.action == EditAction::LeaveOut);
        let keys = keys.map(|EditRow(edit)| Key {
            tick: edit.at + scope.start,
            target: edit.target,
            grace: edit.grace,
            out: true,
        });
        keys.filter(|key| (from..to).contains(&key.tick)).collect()
    }

    /// Does something to strokes, section by section.
    fn alter(
        &self,
        strokes: &[Picked],
        gesture: u64,
        mut does: impl FnMut(&mut Vec<EditRow>, &[&Picked], &Scope),
    ) -> Outcome {
        let mut of_section: BTreeMap<Option<usize>, (Scope, Vec<&Picked>)> = BTreeMap::new();
        for stroke in strokes {
            let scope = self.scope(stroke.key.tick)?;
            let kept = of_section.entry(scope.section);
            kept.or_insert((scope, Vec::new())).1.push(stroke);
        }
        let mut actions = Vec::new();
        for (section, (scope, strokes)) in of_section {
            let mut rows = self.rows(section).to_vec();
            does(&mut rows, &strokes, &scope);
            if section.is_none() {
                // The drummer composes bar by bar.
                let length = self.meter.bar_len();
                split(&mut rows, |tick| tick.div_euclid(length));
            }
            // Also where they are as they were: a drag may have come back to where it began.
            actions.push(Action::Edit(section, rows, Some(gesture)));
        }
        Ok(actions)
    }

    /// Whether strokes that go by so many ticks stay in their sections.
    pub(super) fn has_room(&self, strokes: &[Picked], by: Ticks) -> bool {
        strokes.iter().all(|stroke| {
            let scope = self.scope(stroke.key.tick);
            scope.is_ok_and(|scope| (scope.start..scope.end).contains(&(stroke.key.tick + by)))
        })
    }

    /// Moves strokes by so many ticks.
    pub(super) fn shift(&self, strokes: &[Picked], by: Ticks, gesture: u64) -> Outcome {
        let strokes = sounding(strokes);
        self.alter(&strokes, gesture, |rows, strokes, scope| {
            several::shift(rows, &shown(strokes, scope), by);
        })
    }

    /// Makes strokes so many steps of velocity louder, as far as velocities go.
    pub(super) fn louder(&self, strokes: &[Picked], steps: i16, gesture: u64) -> Outcome {
        let strokes = sounding(strokes);
        self.alter(&strokes, gesture, |rows, strokes, scope| {
            let mut strokes = strokes.iter();
            let all: Vec<_> = strokes.clone().map(|s| s.shown(scope.start)).collect();
            several::change(rows, &all, |_, edit| {
                let velocity = strokes.next().map_or(64, |stroke| stroke.velocity.into());
                let to = (velocity + steps).clamp(VELOCITIES.0, VELOCITIES.1);
                edits::louder(edit, i8::try_from(to - velocity).unwrap_or(0));
            });
        })
    }

    /// Gives strokes exactly this velocity.
    pub(super) fn exactly(&self, strokes: &[Picked], velocity: u8, gesture: u64) -> Outcome {
        let strokes = sounding(strokes);
        self.alter(&strokes, gesture, |rows, strokes, scope| {
            several::change(rows, &shown(strokes, scope), |_, edit| {
                edit.exact.velocity = Some(velocity);
                edit.louder = 0;
            });
        })
    }

    /// Has strokes struck on something else.
    pub(super) fn onto(&self, strokes: &[Picked], target: EditTarget, gesture: u64) -> Outcome {
        let strokes = sounding(strokes);
        self.alter(&strokes, gesture, |rows, strokes, scope| {
            several::change(rows, &shown(strokes, scope), |_, edit| {
                edit.onto = Some(target);
                // Which of its notes, and how far open, are of the piece that it was.
                edit.exact.alternate = None;
                edit.exact.opening = None;
            });
        })
    }

    /// Leaves strokes out; those that are left out already are played again where all of them are.
    pub(super) fn leave_out(&self, strokes: &[Picked], gesture: u64) -> Outcome {
        if strokes.iter().all(|stroke| stroke.key.out) {
            return self.clear(strokes, gesture);
        }
        let strokes = sounding(strokes);
        self.alter(&strokes, gesture, |rows, strokes, scope| {
            several::leave_out(rows, &shown(strokes, scope));
        })
    }

    /// Takes back what was done to strokes.
    pub(super) fn clear(&self, strokes: &[Picked], gesture: u64) -> Outcome {
        self.alter(strokes, gesture, |rows, strokes, scope| {
            let (out, sounding): (Vec<&Picked>, Vec<&Picked>) =
                strokes.iter().partition(|stroke| stroke.key.out);
            several::clear(rows, &shown(&sounding, scope));
            let name = |stroke: &&Picked| {
                let Key {
                    tick,
                    target,
                    grace,
                    ..
                } = stroke.key;
                (tick - scope.start, target, grace)
            };
            several::put_back(rows, &out.iter().map(name).collect::<Vec<_>>());
        })
    }

    /// Takes back all edits from a tick of the song up to another; both are of one section.
    pub(super) fn clear_span(&self, from: Ticks, to: Ticks, gesture: u64) -> Outcome {
        let scope = self.scope(from)?;
        let mut rows = self.rows(scope.section).to_vec();
        let to = to.min(scope.end) - scope.start;
        if edits::clear(&mut rows, from - scope.start, to) == 0 {
            return Ok(Vec::new());
        }
        Ok(vec![Action::Edit(scope.section, rows, Some(gesture))])
    }

    /// Takes back all edits of the section that a tick of the song falls in, also those that sleep.
    pub(super) fn clear_all(&self, tick: Ticks, gesture: u64) -> Outcome {
        let scope = self.scope(tick)?;
        Ok(vec![Action::Edit(scope.section, Vec::new(), Some(gesture))])
    }

    /// Adds a stroke at a tick of the song.
    pub(super) fn add(&self, tick: Ticks, target: EditTarget, gesture: u64) -> Outcome {
        let scope = self.scope(tick)?;
        let mut rows = self.rows(scope.section).to_vec();
        edits::add(&mut rows, tick - scope.start, target);
        Ok(vec![Action::Edit(scope.section, rows, Some(gesture))])
    }

    /// Takes back one edit.
    pub(super) fn forget(&self, section: Option<usize>, row: &EditRow, gesture: u64) -> Action {
        let mut rows = self.rows(section).to_vec();
        rows.retain(|other| other != row);
        Action::Edit(section, rows, Some(gesture))
    }
}

/// Those that sound: what is done to strokes is not done to those that are left out.
fn sounding(strokes: &[Picked]) -> Vec<Picked> {
    let sounding = strokes.iter().filter(|stroke| !stroke.key.out);
    sounding.copied().collect()
}

fn shown(strokes: &[&Picked], scope: &Scope) -> Vec<Shown> {
    let shown = strokes.iter().map(|stroke| stroke.shown(scope.start));
    shown.collect()
}

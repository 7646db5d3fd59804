//! The edits whose strokes are not there now: of all the song, found bar by bar, a few in each frame.

use super::edit::Base;
use crate::editor::picture::Picture;
use crate::editor::snapshot::Snapshot;
use crate::editor::text::edit as words;
use crate::groove::Edit;
use crate::project::Song;
use crate::riff::Riff;
use crate::settings::Settings;
use crate::song::edits::EditRow;
use crate::time::place::counted;
use crate::time::{Bar, Ticks};
use std::sync::Arc;

/// So many bars are looked at in a frame. Judged: a bar takes less than a millisecond to compose.
const IN_FRAME: usize = 4;

/// An edit that sleeps.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Asleep {
    /// Its section's place, from 0; `None` where no chart is followed.
    pub(super) section: Option<usize>,
    /// The edit.
    pub(super) row: EditRow,
    /// In words.
    pub(super) says: String,
}

/// What sleeping depends on.
#[derive(Debug, Clone)]
struct Asked {
    song: Option<Arc<Song>>,
    edits: Arc<Vec<EditRow>>,
    riff: Arc<Riff>,
    panel: Settings,
    bpm: f64,
    bar_len: Ticks,
}

impl Asked {
    fn of(snapshot: &Snapshot) -> Self {
        Self {
            song: snapshot.followed().cloned(),
            edits: snapshot.edits.clone(),
            riff: snapshot.attacks.clone(),
            panel: snapshot.values.settings,
            bpm: snapshot.bpm,
            bar_len: snapshot.meter.bar_len(),
        }
    }

    fn is(&self, other: &Self) -> bool {
        let at = |song: &Option<Arc<Song>>| song.as_ref().map(Arc::as_ptr);
        let is_same_riff =
            Arc::ptr_eq(&self.riff, &other.riff) || self.riff.is_empty() && other.riff.is_empty();
        at(&self.song) == at(&other.song)
            && (Arc::ptr_eq(&self.edits, &other.edits) || self.edits == other.edits)
            && is_same_riff
            && (self.panel, self.bpm, self.bar_len) == (other.panel, other.bpm, other.bar_len)
    }

    /// The edits as they are played, in ticks of the song.
    fn played(&self) -> Vec<Edit> {
        if let Some(song) = &self.song {
            return song.timeline.chart().by_hand().edits.clone();
        }
        let mut beside: Vec<Edit> = self.edits.iter().map(|row| row.0).collect();
        beside.sort_by_key(Edit::name);
        beside
    }
}

/// Looks for edits that sleep.
#[derive(Debug, Default)]
pub(super) struct Survey {
    asked: Option<Asked>,
    /// The bars that are still to be looked at, the last one first, each with its number in the song, from 1.
    to_do: Vec<(i64, Bar)>,
    finding: Vec<Asleep>,
    found: Vec<Asleep>,
    picture: Picture,
}

impl Survey {
    /// The edits that sleep, as far as is known.
    pub(super) fn found(&self) -> &[Asleep] {
        &self.found
    }

    /// Looks on. Returns whether there is more to be looked at. Main thread.
    pub(super) fn go_on(&mut self, snapshot: &Snapshot) -> bool {
        let asked = Asked::of(snapshot);
        let base = Base::of(snapshot);
        if self.asked.as_ref().is_none_or(|last| !last.is(&asked)) {
            self.to_do = edited_bars(&asked, snapshot);
            self.to_do.reverse();
            self.finding = beyond_ends(&asked);
            self.asked = Some(asked);
        } else if self.to_do.is_empty() {
            return false;
        }
        let played = self.asked.as_ref().map(Asked::played).unwrap_or_default();
        for _ in 0..IN_FRAME {
            let Some((number, bar)) = self.to_do.pop() else {
                break;
            };
            self.picture.compose(bar, snapshot);
            let slept = self.picture.played().slept().iter();
            let slept = slept.filter_map(|i| played.get(usize::try_from(*i).ok()?));
            self.finding
                .extend(slept.filter_map(|edit| of_row(edit, &base, (number, bar))));
        }
        if self.to_do.is_empty() {
            self.found = std::mem::take(&mut self.finding);
        }
        !self.to_do.is_empty()
    }
}

/// The row of a section that an edit in ticks of the song was made of.
fn of_row(edit: &Edit, base: &Base, (number, bar): (i64, Bar)) -> Option<Asleep> {
    let scope = base.scope(edit.at).ok()?;
    let name = edit.moved(-scope.start).name();
    let mut rows = base.rows(scope.section).iter();
    let row = *rows.find(|row| row.0.name() == name)?;
    Some(Asleep {
        section: scope.section,
        row,
        says: words::edit(&row.0, number, &counted(bar, edit.at)),
    })
}

/// The bars that have edits, in order, each with its number in the song, from 1.
fn edited_bars(asked: &Asked, snapshot: &Snapshot) -> Vec<(i64, Bar)> {
    let played = asked.played();
    let bars = played.iter().filter_map(|edit| {
        if let Some(song) = &asked.song {
            let here = song.timeline.chart().at(edit.at)?;
            return Some((i64::try_from(here.number).ok()? + 1, here.bar));
        }
        let number = edit.at.div_euclid(asked.bar_len);
        let bar = Bar {
            start: number * asked.bar_len,
            meter: snapshot.meter,
        };
        Some((number + 1, bar))
    });
    let mut bars: Vec<_> = bars.collect();
    bars.dedup();
    bars
}

/// The edits beyond the ends of their sections.
fn beyond_ends(asked: &Asked) -> Vec<Asleep> {
    let Some(song) = &asked.song else {
        return Vec::new();
    };
    let timeline = &song.timeline;
    let starts: Vec<Ticks> = timeline.markers().map(|(start, _)| start).collect();
    let sections = song.whole.sections.iter().enumerate();
    let of_section = sections.flat_map(|(place, section)| {
        let start = starts.get(place).copied().unwrap_or(0);
        let end = starts.get(place + 1).copied().unwrap_or(timeline.end());
        let beyond = move |row: &&EditRow| start + row.0.at.max(row.0.to.unwrap_or(0)) >= end;
        section.edits.iter().filter(beyond).map(move |row| Asleep {
            section: Some(place),
            row: *row,
            says: words::beyond_end(&row.0, &section.name),
        })
    });
    of_section.collect()
}

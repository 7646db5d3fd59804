//! The edits of bars on show whose strokes are not there now.

use super::edit::Base;
use crate::editor::picture::Picture;
use crate::editor::snapshot::Snapshot;
use crate::editor::text::edit as words;
use crate::groove::Edit;
use crate::song::edits::EditRow;
use crate::time::Bar;
use crate::time::place::counted;

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

/// The sleeping edits of bars; `number` is that of the first, from 1.
pub(super) fn asleep(
    pictures: &[Picture],
    (number, bars): (i64, &[Bar]),
    snapshot: &Snapshot,
) -> Vec<Asleep> {
    if pictures
        .iter()
        .all(|picture| picture.played().slept().is_empty())
    {
        return Vec::new();
    }
    let base = Base::of(snapshot);
    let mut beside: Vec<Edit> = snapshot.edits.iter().map(|row| row.0).collect();
    beside.sort_by_key(Edit::name);
    let played = match snapshot.followed() {
        Some(song) => &song.timeline.chart().by_hand().edits,
        None => &beside,
    };
    let mut found = Vec::new();
    for ((picture, bar), number) in pictures.iter().zip(bars).zip(number..) {
        for place in picture.played().slept() {
            let edit = usize::try_from(*place).ok().and_then(|i| played.get(i));
            let Some((edit, scope)) = edit.and_then(|edit| Some((edit, base.scope(edit.at).ok()?)))
            else {
                continue;
            };
            let name = edit.moved(-scope.start).name();
            let row = base.rows(scope.section).iter();
            let Some(row) = row.clone().find(|row| row.0.name() == name) else {
                continue;
            };
            found.push(Asleep {
                section: scope.section,
                row: *row,
                says: words::edit(&row.0, number, &counted(*bar, edit.at)),
            });
        }
    }
    found
}

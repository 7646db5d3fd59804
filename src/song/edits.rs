//! Edits by hand in a song file: a row a stroke, and what people do to them.
//!
//! `[960, "leave out", "snare"]`, `[1440, "add", "crash left", "louder 6"]`,
//! `[480, "change", "hand", "to 600", "softer 12"]`: the place in ticks from the start of the section, what is done,
//! to which stroke, and how.

pub mod several;

use super::file::SongError;
use super::locked::MAX_ROWS;
use crate::choice::unknown;
use crate::groove::edit::MAX_IN_BAR;
use crate::groove::{Edit, EditAction, EditTarget, Exact};
use crate::kit::note_map::MOST_NOTES;
use crate::time::{Bar, Ticks};
use serde::{Deserialize, Serialize};

/// Ticks from here on are no place in a section: beyond the longest song.
const FARTHEST: Ticks = 1 << 40;

/// The words of a row, each before its value.
const TO: &str = "to ";
const ON: &str = "on ";
const LOUDER: &str = "louder ";
const SOFTER: &str = "softer ";
const VELOCITY: &str = "velocity ";
const SOUNDS: &str = "sounds ";
const NOTE: &str = "note ";
const OPEN: &str = "open ";
/// The words that stand alone.
const RINGS: &str = "rings";
const GRACE: &str = "grace";

/// What an edit does, as a word.
const ACTIONS: [(EditAction, &str); 3] = [
    (EditAction::Add, "add"),
    (EditAction::LeaveOut, "leave out"),
    (EditAction::Change, "change"),
];

/// An edit as a row of a song file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Vec<Cell>", into = "Vec<Cell>")]
pub struct EditRow(pub Edit);

/// A cell of a row.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(
    untagged,
    expecting = "write an edit as [960, \"leave out\", \"snare\"], [960, \"add\", \"snare\"] or [960, \"change\", \
                 \"hand\", \"louder 10\"]: ticks from the start of the section (960 a quarter note), what to do, and \
                 the stroke"
)]
enum Cell {
    Number(Ticks),
    Word(String),
}

impl From<EditRow> for Vec<Cell> {
    fn from(EditRow(edit): EditRow) -> Self {
        let action = ACTIONS.iter().find(|(action, _)| *action == edit.action);
        let mut row = vec![Cell::Number(edit.at)];
        let mut say = |word: String| row.push(Cell::Word(word));
        say(action.map_or_else(String::new, |(_, word)| (*word).to_owned()));
        say(edit.target.name().to_owned());
        let number =
            |before: &str, value: Option<Ticks>| value.map(|value| format!("{before}{value}"));
        let louder = Ticks::from(edit.louder);
        let exact = edit.exact;
        let words = [
            edit.grace.then(|| GRACE.to_owned()),
            number(TO, edit.to),
            edit.onto.map(|onto| format!("{ON}{}", onto.name())),
            number(LOUDER, Some(louder).filter(|steps| *steps > 0)),
            number(SOFTER, Some(-louder).filter(|steps| *steps > 0)),
            number(VELOCITY, exact.velocity.map(Ticks::from)),
            number(SOUNDS, edit.tick),
            edit.rings.then(|| RINGS.to_owned()),
            number(NOTE, exact.alternate.map(|at| Ticks::from(at) + 1)),
            number(OPEN, exact.opening.map(Ticks::from)),
        ];
        words.into_iter().flatten().for_each(say);
        row
    }
}

impl TryFrom<Vec<Cell>> for EditRow {
    type Error = String;

    fn try_from(row: Vec<Cell>) -> Result<Self, String> {
        let [
            Cell::Number(at),
            Cell::Word(action),
            Cell::Word(target),
            words @ ..,
        ] = &*row
        else {
            return Err("an edit is a row like [960, \"leave out\", \"snare\"]: a place in ticks, \"add\", \
                        \"leave out\" or \"change\", and the stroke"
                .to_owned());
        };
        let at = place(*at)?;
        let names = ACTIONS.map(|(_, word)| word);
        let action = ACTIONS
            .iter()
            .find(|(_, word)| word == action)
            .map(|(action, _)| *action)
            .ok_or_else(|| unknown("edit", action, &names))?;
        let mut edit = Edit::new(at, stroke(target)?, action);
        for word in words {
            let Cell::Word(word) = word else {
                return Err("write what an edit says in words, as \"louder 10\"".to_owned());
            };
            understand(&mut edit, word)?;
        }
        check(&edit)?;
        Ok(Self(edit))
    }
}

/// A place that can be one in a section.
fn place(tick: Ticks) -> Result<Ticks, String> {
    if (0..FARTHEST).contains(&tick) {
        Ok(tick)
    } else {
        Err(format!(
            "tick {tick} is no place in the section: count from its start, from 0 on"
        ))
    }
}

/// A stroke by its name.
fn stroke(name: &str) -> Result<EditTarget, String> {
    EditTarget::from_name(name).ok_or_else(|| {
        let names: Vec<_> = EditTarget::names().collect();
        unknown("stroke", name, &names)
    })
}

/// Takes up one of the words after an edit.
fn understand(edit: &mut Edit, word: &str) -> Result<(), String> {
    let number = |before| {
        let rest = word.strip_prefix(before)?;
        rest.parse::<Ticks>().ok()
    };
    let within = |before, most: u8| {
        let number = number(before).and_then(|number| u8::try_from(number).ok());
        number.filter(|number| *number <= most)
    };
    let steps = |before| within(before, 126).and_then(|steps| i8::try_from(steps).ok());
    let notes = u8::try_from(MOST_NOTES).unwrap_or(u8::MAX);
    if word == RINGS {
        edit.rings = true;
    } else if word == GRACE {
        edit.grace = true;
    } else if let Some(onto) = word.strip_prefix(ON) {
        edit.onto = Some(stroke(onto)?);
    } else if let Some(to) = number(TO) {
        edit.to = Some(place(to)?);
    } else if let Some(tick) = number(SOUNDS) {
        edit.tick = Some(place(tick)?);
    } else if let Some(steps) = steps(LOUDER) {
        edit.louder = steps;
    } else if let Some(steps) = steps(SOFTER) {
        edit.louder = -steps;
    } else if let Some(velocity) = within(VELOCITY, 127).filter(|velocity| *velocity > 0) {
        edit.exact.velocity = Some(velocity);
    } else if let Some(opening) = within(OPEN, 127) {
        edit.exact.opening = Some(opening);
    } else if let Some(number) = within(NOTE, notes).filter(|number| *number > 0) {
        edit.exact.alternate = Some(number - 1);
    } else {
        let words = [
            "to 1200",
            "on ride",
            "louder 10",
            "softer 10",
            "velocity 101",
            "sounds 955",
            RINGS,
            GRACE,
            "note 2",
            "open 64",
        ];
        return Err(unknown("word for an edit", word, &words));
    }
    Ok(())
}

/// Whether an edit says nothing that goes against itself.
fn check(edit: &Edit) -> Result<(), String> {
    let how = Edit {
        grace: edit.grace,
        ..Edit::new(edit.at, edit.target, edit.action)
    };
    if edit.action == EditAction::LeaveOut && *edit != how {
        return Err(
            "a stroke that is left out is neither moved nor louder: leave the words out".to_owned(),
        );
    }
    if edit.action == EditAction::Add && (edit.to.is_some() || edit.onto.is_some() || edit.grace) {
        return Err(
            "an added stroke is where and what its row says: write its own place and piece, without \"to\", \"on\" \
             and \"grace\""
                .to_owned(),
        );
    }
    Ok(())
}

/// The edits of a section, where they are played.
pub(super) struct Laid {
    /// In ticks of the song, in no particular order. A move into another bar is two: one leaves out, one adds.
    pub(super) edits: Vec<Edit>,
    /// How many lie beyond the end of the section and sleep.
    pub(super) beyond: usize,
}

/// Puts the edits of a section into their places, given its bars. `place` names a field of the section.
///
/// # Errors
/// [`SongError`] where there are more than a section, or one of its bars, has room for, or two name the same stroke.
pub(super) fn lay(
    rows: &[EditRow],
    bars: &[Bar],
    place: impl Fn(&str) -> String,
) -> Result<Laid, SongError> {
    if rows.len() > MAX_ROWS {
        let problem = format!(
            "{} edits are too many: a section has room for {MAX_ROWS}",
            rows.len()
        );
        return Err(SongError::new(place("edits"), problem));
    }
    let mut names: Vec<_> = (0..rows.len()).collect();
    names.sort_by_key(|&i| rows[i].0.name());
    let twice = |pair: &&[usize]| rows[pair[0]].0.name() == rows[pair[1]].0.name();
    if let Some(pair) = names.windows(2).find(twice) {
        let edit = rows[pair[1]].0;
        let problem = format!(
            "the stroke \"{}\" at tick {} is edited by row {} too: leave one of them out",
            edit.target.name(),
            edit.at,
            pair[0]
        );
        return Err(SongError::new(
            place(&format!("edits[{}]", pair[1])),
            problem,
        ));
    }
    let (start, end) = match bars {
        [first, .., last] => (first.start, last.end()),
        [only] => (only.start, only.end()),
        [] => (0, 0),
    };
    let bar_of = |tick: Ticks| bars.partition_point(|bar| bar.start <= tick);
    let mut laid = Laid {
        edits: Vec::with_capacity(rows.len()),
        beyond: 0,
    };
    for EditRow(edit) in rows {
        let edit = edit.moved(start);
        let to = edit.to.unwrap_or(edit.at);
        if edit.at.max(to) >= end {
            laid.beyond += 1;
            if edit.at >= end {
                continue;
            }
        }
        if bar_of(edit.at) == bar_of(to) {
            laid.edits.push(edit);
            continue;
        }
        let gone = Edit::leave_out(edit.at, edit.target);
        laid.edits.push(Edit {
            grace: edit.grace,
            ..gone
        });
        if to < end {
            laid.edits.push(Edit {
                at: to,
                target: edit.struck(),
                action: EditAction::Add,
                to: None,
                onto: None,
                grace: false,
                ..edit
            });
        }
    }
    let mut in_bar = vec![0; bars.len() + 1];
    laid.edits
        .iter()
        .for_each(|edit| in_bar[bar_of(edit.at)] += 1);
    if let Some(bar) = in_bar.iter().position(|edits| *edits > MAX_IN_BAR) {
        let problem = format!(
            "bar {bar} of the section has {} edits, and a bar has room for {MAX_IN_BAR}: lock the section instead",
            in_bar[bar]
        );
        return Err(SongError::new(place("edits"), problem));
    }
    Ok(laid)
}

/// A stroke as it is seen: its place on the grid in ticks from where its edits are counted, what an edit calls it, and
/// whether it is a grace note.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shown {
    /// Its place on the grid; for a grace note, that of its main stroke.
    pub at: Ticks,
    /// What it strikes.
    pub target: EditTarget,
    /// Whether it is a grace note.
    pub grace: bool,
    /// Whether it is there by an edit.
    pub asked: bool,
}

/// The edit that a stroke is there by.
fn of_shown(edits: &[EditRow], shown: &Shown) -> Option<usize> {
    let is_it = |EditRow(edit): &EditRow| {
        (edit.played_at(), edit.struck(), edit.grace) == (Some(shown.at), shown.target, shown.grace)
    };
    edits.iter().position(is_it).filter(|_| shown.asked)
}

/// Adds a stroke at a place on the grid, in ticks. Where one of the drummer's own was left out there, it is played again.
pub fn add(edits: &mut Vec<EditRow>, at: Ticks, target: EditTarget) {
    let added = Edit::add(at, target);
    let name = added.name();
    match edits.iter_mut().find(|row| row.0.name() == name) {
        Some(row) if row.0.action == EditAction::LeaveOut => {
            edits.retain(|row| row.0.name() != name);
        }
        // The drummer's stroke of that name is elsewhere now: another one here would have its name.
        Some(row) if row.0.played_at() != Some(at) || row.0.struck() != target => {
            let moved = row.0;
            row.0 = added;
            let to = moved.to.unwrap_or(moved.at);
            put(
                edits,
                Edit {
                    louder: moved.louder,
                    exact: moved.exact,
                    ..Edit::add(to, moved.struck())
                },
            );
        }
        Some(_) => {}
        None => edits.push(EditRow(added)),
    }
}

/// Puts an edit in the place of the one with its name.
fn put(edits: &mut Vec<EditRow>, edit: Edit) {
    edits.retain(|row| row.0.name() != edit.name());
    edits.push(EditRow(edit));
}

/// Leaves out a stroke that is seen: one that was added is gone, one of the drummer's own is left out.
pub fn leave_out(edits: &mut Vec<EditRow>, shown: &Shown) {
    let Some(i) = of_shown(edits, shown) else {
        put(
            edits,
            Edit {
                grace: shown.grace,
                ..Edit::leave_out(shown.at, shown.target)
            },
        );
        return;
    };
    let edit = edits.swap_remove(i).0;
    if edit.action == EditAction::Change {
        put(
            edits,
            Edit {
                grace: edit.grace,
                ..Edit::leave_out(edit.at, edit.target)
            },
        );
    }
}

/// Changes a stroke that is seen. An edit that then changes nothing is gone.
pub fn change(edits: &mut Vec<EditRow>, shown: &Shown, by: impl FnOnce(&mut Edit)) {
    let mut edit = take(edits, shown);
    by(&mut edit);
    if let Some(edit) = tidied(edit) {
        put(edits, edit);
    }
}

/// Takes the edit of a stroke that is seen out of the others; one that changes nothing where it has none.
fn take(edits: &mut Vec<EditRow>, shown: &Shown) -> Edit {
    of_shown(edits, shown).map_or_else(
        || untouched(shown.at, shown.target, shown.grace),
        |i| edits.swap_remove(i).0,
    )
}

/// An edit that changes nothing.
fn untouched(at: Ticks, target: EditTarget, grace: bool) -> Edit {
    Edit {
        grace,
        ..Edit::new(at, target, EditAction::Change)
    }
}

/// The shortest way to say what an edit does; `None` where that is nothing.
fn tidied(mut edit: Edit) -> Option<Edit> {
    edit.to = edit.to.filter(|to| *to != edit.at);
    edit.onto = edit.onto.filter(|onto| *onto != edit.target);
    if edit.action == EditAction::Add {
        // An added stroke has no other place than its own.
        edit.at = edit.to.take().unwrap_or(edit.at);
        edit.target = edit.onto.take().unwrap_or(edit.target);
    }
    (edit != untouched(edit.at, edit.target, edit.grace)).then_some(edit)
}

/// What a stroke's edit does to its velocity: so many steps louder, as far as steps go.
pub fn louder(edit: &mut Edit, steps: i8) {
    match &mut edit.exact.velocity {
        Some(velocity) => *velocity = velocity.saturating_add_signed(steps).clamp(1, 127),
        None => edit.louder = edit.louder.saturating_add(steps).clamp(-126, 126),
    }
}

/// Takes back the edits whose strokes are, or were, from a place up to another, in ticks. Returns how many.
pub fn clear(edits: &mut Vec<EditRow>, from: Ticks, to: Ticks) -> usize {
    let before = edits.len();
    let inside = |tick: Ticks| (from..to).contains(&tick);
    edits.retain(|EditRow(edit)| !inside(edit.at) && !edit.to.is_some_and(inside));
    before - edits.len()
}

/// An exact stroke: as a region says it.
pub fn exactly(at: Ticks, target: EditTarget, tick: Ticks, exact: Exact) -> Edit {
    Edit {
        tick: Some(tick),
        exact,
        ..Edit::add(at, target)
    }
}

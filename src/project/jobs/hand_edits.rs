//! The jobs of sections that were edited in a recording program: they lock a section, let it go, or become edits.

use super::{HandEdit, JobError, Outcome, named};
use crate::export::NamedSection;
use crate::export::hand_edit::{
    BroughtBack, Reading, Unknown, as_edits, bring_back, strokes, to_midi,
};
use crate::files::{self, Existing};
use crate::kit::NoteMap;

/// Reads the strokes of a section.
fn read(edit: &HandEdit, map: &NoteMap) -> Result<(NamedSection, BroughtBack), JobError> {
    let HandEdit {
        path,
        timeline,
        section,
        ..
    } = edit;
    let named = named(timeline, *section)?;
    let reading = Reading {
        map,
        bars: None,
        // The file stays, and what was left out is told.
        unknown: Unknown::LeaveOut,
        player: timeline.start_settings().bar_settings.player,
    };
    let bytes = files::read_small(path, "region")?;
    let back = bring_back(&bytes, timeline, &named, &reading)
        .map_err(|error| JobError::Edit(path.clone(), named.label.clone(), error))?;
    Ok((named, back))
}

/// Locks a section.
pub(super) fn lock(edit: &HandEdit, map: &NoteMap) -> Result<Outcome, JobError> {
    let (named, back) = read(edit, map)?;
    let said = format!(
        "{} is locked with {}\n{back}",
        named.label,
        strokes(back.rows.len())
    );
    let mut song = edit.song.clone();
    song.lock(edit.section, back.rows)?;
    Ok(Outcome::Changed(song, said.trim_end().to_owned()))
}

/// Writes what a region does otherwise than the drummer as edits of the section; where it does much otherwise, says that a
/// lock may serve better.
pub(super) fn compare(edit: &HandEdit, map: &NoteMap) -> Result<Outcome, JobError> {
    let (named, back) = read(edit, map)?;
    let mut song = edit.song.clone();
    let Some(section) = song.sections.get_mut(edit.section) else {
        return Err(JobError::NoSection);
    };
    if section.locked.is_some() {
        return Err(JobError::IsLocked(named.label));
    }
    section.edits.clear();
    let plain = edit.timeline.with_edits(edit.section, &[])?;
    let found = as_edits(&back.rows, &plain, &named, edit.section)?;
    if found.left > 0 {
        return Err(JobError::NoEdits(named.label, strokes(found.left)));
    }
    let edits = found.edits.len();
    let much = if found.is_small() {
        ""
    } else {
        "\nThat is much of it: a lock may serve better. Undo takes the edits back."
    };
    song.sections[edit.section].edits = found.edits;
    let said = format!(
        "{}: {edits} edits, and the drummer plays the rest{much}\n{back}",
        named.label
    );
    Ok(Outcome::Changed(song, said.trim_end().to_owned()))
}

/// Gives a section back to the drummer; its strokes go to a file.
pub(super) fn unlock(edit: &HandEdit, map: &NoteMap) -> Result<Outcome, JobError> {
    let named = named(&edit.timeline, edit.section)?;
    let mut song = edit.song.clone();
    let rows = song.unlock(edit.section);
    let rows = rows.ok_or_else(|| JobError::NotLocked(named.label.clone()))?;
    let (bytes, _) = to_midi(&rows, &edit.timeline, &named, map)?;
    files::write(&edit.path, &bytes, Existing::Keep)?;
    let said = format!(
        "{} is the drummer's again; {} that it was locked with: {}",
        named.label,
        strokes(rows.len()),
        edit.path.display()
    );
    Ok(Outcome::Changed(song, said))
}

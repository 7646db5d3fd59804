//! What the controls turn: the panel, or the sections that are chosen on the strip.

use super::action::Action;
use super::controls::Values;
use crate::project::Song;
use crate::settings::{KickSource, SettingId, whole};
use crate::song::SongFile;
use crate::song::file::{Level, Section};
use egui::Ui;
use std::collections::BTreeSet;
use std::hash::{DefaultHasher, Hash, Hasher};

/// The values of what is turned: the panel's, or those of the chosen sections (their places, from 0).
pub fn values(panel: &Values, song: Option<&Song>, chosen: &BTreeSet<usize>) -> Values {
    let sections = song.into_iter().flat_map(|song| {
        let sections = &song.whole.sections;
        chosen.iter().filter_map(|place| sections.get(*place))
    });
    panel.of_sections(sections)
}

/// Passes on what the controls ask for. Where sections are chosen, what a section can say becomes a change of the
/// song.
pub fn heed(
    ui: &Ui,
    song: Option<&Song>,
    chosen: &BTreeSet<usize>,
    asked: Vec<Action>,
    actions: &mut Vec<Action>,
) {
    let Some(song) = song.filter(|_| !chosen.is_empty()) else {
        actions.extend(asked);
        return;
    };
    let mut edited: Option<(SongFile, Option<u64>)> = None;
    for action in asked {
        let Some((setting, edit)) = edit_of(&action) else {
            actions.push(action);
            continue;
        };
        let (file, gesture) = edited.get_or_insert_with(|| (song.whole.clone(), None));
        *gesture = gesture_of(ui, setting, chosen);
        for place in chosen {
            if let Some(section) = file.sections.get_mut(*place) {
                edit.make(section, setting);
            }
        }
    }
    if let Some((file, gesture)) = edited {
        actions.push(Action::ChangeSong(Box::new(file), gesture));
    }
}

/// A change of what a section says of a setting.
#[derive(Clone, Copy)]
enum Edit {
    /// This value; a ramp keeps its slope.
    Value(f32),
    /// It ends on this value.
    End(f32),
    /// What the panel says.
    Leave,
}

fn edit_of(action: &Action) -> Option<(SettingId, Edit)> {
    let (setting, edit) = match *action {
        Action::Set(setting, value) => (setting, Edit::Value(value)),
        Action::SetEnd(setting, value) => (setting, Edit::End(value)),
        Action::Leave(setting) => (setting, Edit::Leave),
        _ => return None,
    };
    Values::is_of_section(setting).then_some((setting, edit))
}

impl Edit {
    fn make(self, section: &mut Section, setting: SettingId) {
        let said = section.stated().find(|(stated, _)| *stated == setting);
        let (from, to) = match said.map(|(_, level)| level) {
            Some(Level::Ramp { from, to }) => (Some(from), Some(to)),
            Some(Level::Steady(value)) => (Some(value), None),
            None => (None, None),
        };
        match (self, setting) {
            (Self::Value(take), SettingId::Take) => section.take = Some(whole(take).into()),
            (Self::Leave, SettingId::Take) => (section.take, section.frozen) = (None, None),
            (Self::Value(place), SettingId::KickSource) => {
                let place = usize::from(whole(place));
                section.kick_source = KickSource::ALL.get(place).copied();
            }
            (Self::Leave, SettingId::KickSource) => section.kick_source = None,
            (Self::Leave, _) => section.leave(setting),
            (Self::Value(value), _) => {
                let by = value - from.unwrap_or(value);
                let end = to.map_or(value, |to| (to + by).clamp(0.0, 1.0));
                section.set(setting, Level::between(value, end));
            }
            (Self::End(end), _) => section.set(setting, Level::between(from.unwrap_or(end), end)),
        }
    }
}

/// What makes the changes of one drag one: nothing where no pointer is held.
fn gesture_of(ui: &Ui, setting: SettingId, chosen: &BTreeSet<usize>) -> Option<u64> {
    let pressed = ui.input(|input| input.pointer.press_start_time())?;
    let mut hasher = DefaultHasher::new();
    (setting, chosen, pressed.to_bits()).hash(&mut hasher);
    Some(hasher.finish())
}

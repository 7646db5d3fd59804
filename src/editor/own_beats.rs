//! The songwriter's own beats, below the list of beats: the phrase on show is kept as one, files of them are read and
//! written.

use super::action::Action;
use super::lanes::Lanes;
use super::picture::Picture;
use super::snapshot::Snapshot;
use super::text::own_beats as words;
use super::theme;
use crate::groove::Hit;
use crate::groove::own::SLOTS;
use crate::groove::own::learn::{LearnError, Learned, Wish, from_phrase};
use crate::settings::{STYLE_SLOTS, SettingId};
use crate::time::Bar;
use egui::{Button, Ui};
use std::path::PathBuf;

/// The slot of the beat parameter that an own beat has, by its number from 1.
pub fn slot(number: u8) -> u8 {
    STYLE_SLOTS - SLOTS + number - 1
}

/// The number of the own beat in a slot of the beat parameter, from 1.
pub fn number(slot: u8) -> Option<u8> {
    Some(slot.checked_sub(STYLE_SLOTS - SLOTS)? + 1)
}

/// The first number without a beat; the last one where all have some.
pub fn free(snapshot: &Snapshot) -> u8 {
    let kept = snapshot.own_beats.kept();
    (1..SLOTS)
        .find(|number| !kept.contains_key(number))
        .unwrap_or(SLOTS)
}

/// Makes a beat of the phrase on show, named after its section.
///
/// # Errors
/// [`LearnError`] says what to change.
pub fn of_phrase(hits: &[Hit], bars: &[Bar], snapshot: &Snapshot) -> Result<Learned, LearnError> {
    let section = snapshot
        .followed()
        .zip(bars.first())
        .and_then(|(song, bar)| {
            let place = song.timeline.section_at(bar.start)?;
            Some(song.whole.sections.get(place)?.name.clone())
        });
    let wish = Wish {
        name: section
            .filter(|name| !name.is_empty())
            .unwrap_or_else(|| words::NAME.to_owned()),
        cycle: None,
    };
    from_phrase(hits, bars, &wish)
}

/// Shows what can be done with own beats, while one of this slot is chosen. Returns what came of keeping the phrase on show.
pub fn show(
    ui: &mut Ui,
    snapshot: &Snapshot,
    lanes: &Lanes,
    chosen: u8,
    actions: &mut Vec<Action>,
) -> Option<Result<String, String>> {
    let mut told = None;
    let free = free(snapshot);
    let here = number(chosen).filter(|_| snapshot.own_beats.plan(chosen).is_some());
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = theme::GAP;
        let button = |ui: &mut Ui, (name, hint): (&str, &str), on: bool| {
            ui.add_enabled(on, Button::new(name))
                .on_hover_text(hint)
                .clicked()
        };
        if button(ui, words::KEEP, true) {
            told = Some(keep(lanes, snapshot, free, actions));
        }
        if button(ui, words::READ, true) {
            actions.push(Action::LoadBeat(PathBuf::new(), free));
        }
        if let Some(number) = here {
            if button(ui, words::WRITE, true) {
                actions.push(Action::SaveBeat(PathBuf::new(), number, false));
            }
            if button(ui, words::FORGET, true) {
                actions.push(Action::KeepBeat(number, None));
                actions.push(Action::Set(SettingId::Style, 0.0));
            }
        }
    });
    told
}

/// Keeps the phrase on show as the own beat of a number, and plays it. Returns what is said of it.
fn keep(
    lanes: &Lanes,
    snapshot: &Snapshot,
    number: u8,
    actions: &mut Vec<Action>,
) -> Result<String, String> {
    let pictures = lanes.pictures();
    let bars: Vec<Bar> = pictures.iter().filter_map(Picture::bar).collect();
    let hits: Vec<Hit> = pictures
        .iter()
        .flat_map(|picture| picture.played().hits())
        .copied()
        .collect();
    let learned = of_phrase(&hits, &bars, snapshot).map_err(|error| error.to_string())?;
    let said = words::kept(number, &learned.beat.name, &learned.report.to_string());
    actions.push(Action::KeepBeat(number, Some(Box::new(learned.beat))));
    actions.push(Action::Set(SettingId::Style, f32::from(slot(number))));
    Ok(said)
}

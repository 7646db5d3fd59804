//! What the chosen sections say that the panel has no control for: name, length, meter, tempo, how they begin and end, and
//! how firmly they are held.

use crate::bridge::standalone_transport::{MOST_COUNTS, UNITS};
use crate::choice::Choice;
use crate::editor::action::Action;
use crate::editor::touch::Touch;
use crate::editor::widgets::combo;
use crate::editor::{text, text::chart as words, theme};
use crate::project::Song;
use crate::song::file::{Section, SectionMeter};
use crate::time::Meter;
use crate::time::tempo::MAX_BPM;
use egui::{DragValue, RichText, TextEdit, Ui};
use std::collections::BTreeSet;
use std::path::PathBuf;

/// How firmly a section is held, from loose to firm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Held {
    /// It plays the panel's take.
    Free,
    /// It keeps its take.
    Take,
    /// It is played as it is now, whatever comes and goes around it.
    Now,
    /// It plays an edit by hand.
    Hand,
}

impl Held {
    /// In the order of [`words::HELD`].
    pub const ALL: [Self; 4] = [Self::Free, Self::Take, Self::Now, Self::Hand];

    /// How a section is held.
    pub fn of(section: &Section) -> Self {
        if section.locked.is_some() {
            Self::Hand
        } else if section.frozen.is_some() {
            Self::Now
        } else if section.take.is_some() {
            Self::Take
        } else {
            Self::Free
        }
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        words::HELD[self as usize].0
    }
}

/// Shows the row for the chosen sections (their places, from 0; at least one); `take` is the panel's. `typed` is a path,
/// where no dialog can open.
pub fn show(
    ui: &mut Ui,
    song: &Song,
    chosen: &BTreeSet<usize>,
    take: u32,
    typed: PathBuf,
    actions: &mut Vec<Action>,
) {
    let sections = &song.whole.sections;
    let Some((&place, was)) = chosen
        .first()
        .and_then(|place| Some((place, sections.get(*place)?)))
    else {
        return;
    };
    let mut section = was.clone();
    let mut touch = Touch::default();
    let mut wanted = None;
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = theme::GAP * 1.5;
        // A name and a length are of one section.
        ui.add_enabled_ui(chosen.len() == 1, |ui| {
            name_and_length(ui, &mut section, &mut touch);
        });
        let others = || chosen.iter().filter_map(|place| sections.get(*place));
        let differs = others().any(|other| other.start != was.start);
        let start = &mut section.start;
        pick(ui, words::START, differs, start, &mut touch);
        let differs = others().any(|other| other.fill != was.fill);
        pick(ui, words::FILL, differs, &mut section.fill, &mut touch);
        wanted = held(ui, Held::of(was));
        meter(ui, &mut section, &mut touch);
        tempo(ui, &mut section, &mut touch);
    });
    if let Some(gesture) = touch.made() {
        let mut file = song.whole.clone();
        for place in chosen {
            let other = &mut file.sections[*place];
            if chosen.len() == 1 {
                (other.name, other.bars) = (section.name.clone(), section.bars);
            }
            if section.start != was.start {
                other.start = section.start;
            }
            if section.fill != was.fill {
                other.fill = section.fill;
            }
            if section.meter != was.meter {
                other.meter = section.meter;
            }
            if section.bpm != was.bpm {
                other.bpm = section.bpm;
            }
        }
        actions.push(Action::ChangeSong(Box::new(file), gesture));
    }
    match wanted {
        Some(Held::Hand) => actions.push(Action::Lock(typed, place)),
        Some(_) if was.locked.is_some() => actions.push(Action::Unlock(typed, place)),
        Some(wanted) => {
            let mut file = song.whole.clone();
            for &place in chosen {
                let own = file.sections[place].take.unwrap_or(take);
                let section = &mut file.sections[place];
                section.frozen = None;
                section.take = (wanted != Held::Free).then_some(own);
                if wanted == Held::Now {
                    file = file.frozen(place, own);
                }
            }
            actions.push(Action::ChangeSong(Box::new(file), None));
        }
        None => {}
    }
}

/// A field below its name.
fn field<R>(
    ui: &mut Ui,
    (name, hint): (&str, &str),
    add: impl FnOnce(&mut Ui, egui::Id) -> R,
) -> R {
    ui.vertical(|ui| {
        ui.spacing_mut().item_spacing.y = 1.0;
        let name = RichText::new(name).small().color(theme::of(ui).text_quiet);
        let label = ui.label(name).on_hover_text(hint);
        ui.horizontal(|ui| add(ui, label.id)).inner
    })
    .inner
}

fn name_and_length(ui: &mut Ui, section: &mut Section, touch: &mut Touch) {
    field(ui, words::NAME, |ui, label| {
        let name = TextEdit::singleline(&mut section.name).desired_width(theme::PICK_WIDTH);
        touch.heed(&ui.add(name).labelled_by(label).on_hover_text(words::NAME.1));
    });
    field(ui, words::BARS, |ui, label| {
        let bars = DragValue::new(&mut section.bars).range(1..=999).speed(0.1);
        touch.heed(&ui.add(bars).labelled_by(label).on_hover_text(words::BARS.1));
    });
}

fn meter(ui: &mut Ui, section: &mut Section, touch: &mut Touch) {
    let own = match section.meter {
        Some(SectionMeter::Own(meter)) => Some(meter),
        _ => None,
    };
    let (mut counts, mut unit): (u32, u32) =
        own.map_or((4, 4), |m| (m.numerator().into(), m.denominator().into()));
    field(ui, words::METER, |ui, label| {
        let names = [words::HOST_METER, words::OWN_METER];
        let chosen = names[usize::from(own.is_some())];
        let (list, picked) = combo(ui, "meter", chosen, &names, Some(theme::METER_WIDTH));
        list.labelled_by(label).on_hover_text(words::METER.1);
        let mut is_own = own.is_some();
        if let Some(i) = picked {
            is_own = i == 1;
            touch.once();
        }
        if !is_own {
            section.meter = Some(SectionMeter::Host);
            return;
        }
        let drag = DragValue::new(&mut counts)
            .range(1..=MOST_COUNTS)
            .speed(0.1);
        touch.heed(&ui.add(drag).labelled_by(label));
        ui.label("/");
        let units = UNITS.map(|unit| unit.to_string());
        let units: Vec<&str> = units.iter().map(String::as_str).collect();
        let shown = unit.to_string();
        let (list, picked) = combo(ui, "unit", &shown, &units, Some(theme::UNIT_WIDTH));
        list.labelled_by(label);
        if let Some(i) = picked {
            unit = UNITS[i];
            touch.once();
        }
        section.meter = Meter::new(counts.into(), unit.into())
            .ok()
            .map(SectionMeter::Own);
    });
}

fn tempo(ui: &mut Ui, section: &mut Section, touch: &mut Touch) {
    field(ui, words::TEMPO, |ui, label| {
        let mut bpm = section.bpm.unwrap_or_default();
        let drag = DragValue::new(&mut bpm).range(0.0..=MAX_BPM).speed(0.5);
        let drag = ui.add(drag.max_decimals(2).suffix(text::BPM));
        let drag = drag.labelled_by(label).on_hover_text(words::TEMPO.1);
        if drag.changed() {
            // The slowest that a file can say; below it, none.
            section.bpm = Some(bpm.max(4.0)).filter(|_| bpm > 0.0);
        }
        touch.heed(&drag);
    });
}

/// A choice by name.
fn pick<T: Choice>(
    ui: &mut Ui,
    words: (&str, &str),
    differs: bool,
    chosen: &mut Option<T>,
    touch: &mut Touch,
) {
    field(ui, words, |ui, label| {
        // The first of every such choice is what happens by itself.
        let shown = chosen.map_or(0, |choice| usize::from(choice.place()));
        let shown = if differs {
            text::whose(false, true, false)
        } else {
            T::TEXTS[shown]
        };
        let width = theme::PICK_WIDTH;
        let (list, picked) = combo(ui, words.0, shown, T::TEXTS, Some(width));
        list.labelled_by(label).on_hover_text(words.1);
        if let Some(place) = picked {
            *chosen = Some(T::at(place));
            touch.once();
        }
    });
}

/// How firmly the sections are held; what is wanted instead.
fn held(ui: &mut Ui, now: Held) -> Option<Held> {
    field(ui, words::HOLD, |ui, label| {
        let names = words::HELD.map(|(name, _)| name);
        let (list, picked) = combo(ui, "held", now.name(), &names, Some(theme::PICK_WIDTH));
        list.labelled_by(label).on_hover_ui(|ui| {
            for (name, hint) in words::HELD {
                ui.label(format!("{name}: {hint}"));
            }
        });
        let wanted = picked.map(|place| Held::ALL[place]);
        // Another edit may take the place of the one that is there.
        wanted.filter(|wanted| *wanted != now || now == Held::Hand)
    })
}

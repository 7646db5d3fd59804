//! MusicXML 4.0: one percussion stave, the hands with stems up and the feet with stems down.
//!
//! Format: *MusicXML 4.0*, final community group report of the W3C Music Notation Community Group, June 2021, read in its
//! XML schema. A duration of 960 is a quarter note, as everywhere in Fourlimb.

mod above;
mod legend;
mod notes;

use super::form::Form;
use super::part::WrittenBar;
use super::spell::says_tuplet;
use super::stave::name;
use super::xml::Xml;
use super::{Score, beams::beams};
use crate::kit::{NoteMap, Piece};
use crate::time::TICKS_PER_QUARTER;
use std::collections::BTreeSet;

/// What kind of document it is.
const KIND: &str = "score-partwise PUBLIC \"-//Recordare//DTD MusicXML 4.0 Partwise//EN\" \
                    \"http://www.musicxml.org/dtds/partwise.dtd\"";

/// The height of the stave, in millimetres: that of a part for a music stand. Judged.
const STAVE_MM: f64 = 6.5;

/// The document.
pub(super) fn music_xml(score: &Score) -> Vec<u8> {
    let mut xml = Xml::new(Some(KIND));
    xml.open("score-partwise", &[("version", "4.0")]);
    xml.open("work", &[]);
    xml.text("work-title", &score.title);
    xml.close();
    xml.open("identification", &[]);
    xml.open("encoding", &[]);
    xml.text("software", concat!("Fourlimb ", env!("CARGO_PKG_VERSION")));
    for element in ["accidental", "beam", "stem"] {
        xml.empty("supports", &[("element", element), ("type", "yes")]);
    }
    xml.close();
    xml.close();
    paper(&mut xml, score);
    legend::credits(&mut xml, score);
    instruments(&mut xml, score);
    xml.open("part", &[("id", PART)]);
    for i in 0..score.bars.len() {
        measure(&mut xml, score, i);
    }
    xml.close();
    xml.close();
    xml.finish()
}

const PART: &str = "P1";

/// The paper, in tenths of a space of the stave.
fn paper(xml: &mut Xml, score: &Score) {
    let (width, height) = score.paper.size_mm();
    let tenths = |mm: f64| format!("{:.1}", mm / STAVE_MM * 40.0);
    xml.open("defaults", &[]);
    xml.open("scaling", &[]);
    xml.text("millimeters", &STAVE_MM.to_string());
    xml.text("tenths", "40");
    xml.close();
    xml.open("page-layout", &[]);
    xml.text("page-height", &tenths(height));
    xml.text("page-width", &tenths(width));
    xml.open("page-margins", &[("type", "both")]);
    for margin in ["left-margin", "right-margin", "top-margin", "bottom-margin"] {
        xml.text(margin, &tenths(15.0));
    }
    xml.close();
    xml.close();
    xml.close();
}

/// The id of a piece's instrument.
fn instrument(piece: Piece) -> String {
    format!("{PART}-{}", piece.name().replace(' ', "-"))
}

fn instruments(xml: &mut Xml, score: &Score) {
    let pieces: BTreeSet<Piece> = score.pieces().into_iter().map(|(piece, _)| piece).collect();
    xml.open("part-list", &[]);
    xml.open("score-part", &[("id", PART)]);
    xml.text("part-name", "Drums");
    for piece in &pieces {
        xml.open("score-instrument", &[("id", &instrument(*piece))]);
        xml.text("instrument-name", name(*piece));
        xml.close();
    }
    let map = NoteMap::default();
    for piece in &pieces {
        let Some(note) = map.note(*piece) else {
            continue;
        };
        xml.open("midi-instrument", &[("id", &instrument(*piece))]);
        xml.text("midi-channel", &(u16::from(note.channel) + 1).to_string());
        // Counted from 1.
        xml.text("midi-unpitched", &(u16::from(note.key) + 1).to_string());
        xml.close();
    }
    xml.close();
    xml.close();
}

fn measure(xml: &mut Xml, score: &Score, i: usize) {
    let (bar, form) = (&score.bars[i], score.forms[i]);
    if form == Form::Left {
        return;
    }
    xml.open("measure", &[("number", &bar.number.to_string())]);
    if let Form::Repeated { .. } = form {
        xml.open("barline", &[("location", "left")]);
        xml.text("bar-style", "heavy-light");
        xml.empty("repeat", &[("direction", "forward")]);
        xml.close();
    }
    attributes(xml, score, i);
    above::marks(xml, score, i);
    if bar.slashes {
        notes::slashes(xml, bar);
    } else {
        voices(xml, bar);
    }
    right_line(xml, score, i);
    xml.close();
}

fn attributes(xml: &mut Xml, score: &Score, i: usize) {
    let (bar, marks) = (&score.bars[i], &score.marks[i]);
    let before = i.checked_sub(1).map(|i| score.forms[i]);
    let is_sign = |form| matches!(form, Form::Sign { .. } | Form::SignGoesOn);
    let form = score.forms[i];
    let ends = before.is_some_and(is_sign) && !matches!(form, Form::SignGoesOn);
    // One-bar signs in a row are one sign that goes on.
    let goes_on = form == Form::Sign { bars: 1 } && before == Some(form) && !marks.breaks();
    let begins = matches!(form, Form::Sign { .. } | Form::Rests { .. }) && !goes_on;
    let stops = ends && !goes_on;
    if i > 0 && !marks.meter && !begins && !stops {
        return;
    }
    xml.open("attributes", &[]);
    if i == 0 {
        xml.text("divisions", &TICKS_PER_QUARTER.to_string());
    }
    if marks.meter {
        xml.open("time", &[]);
        let meter = bar.bar.meter.to_string();
        let (beats, kind) = meter.split_once('/').unwrap_or((&meter, "4"));
        xml.text("beats", beats);
        xml.text("beat-type", kind);
        xml.close();
    }
    if i == 0 {
        xml.open("clef", &[]);
        xml.text("sign", "percussion");
        xml.close();
    }
    if stops {
        xml.open("measure-style", &[]);
        xml.text_with("measure-repeat", &[("type", "stop")], "");
        xml.close();
    }
    if begins {
        xml.open("measure-style", &[]);
        match form {
            Form::Sign { bars } => {
                let bars = bars.to_string();
                let kind = [("type", "start"), ("slashes", &bars)];
                xml.text_with("measure-repeat", &kind, &bars);
            }
            Form::Rests { bars } => xml.text("multiple-rest", &bars.to_string()),
            _ => {}
        }
        xml.close();
    }
    xml.close();
}

fn voices(xml: &mut Xml, bar: &WrittenBar) {
    let meter = bar.bar.meter;
    if bar.is_empty() {
        notes::rest_of_bar(xml, meter.bar_len());
        return;
    }
    let mut written = false;
    for (voice, down) in [(&bar.hands, false), (&bar.feet, true)] {
        if voice.chords.is_empty() {
            continue;
        }
        if written {
            xml.open("backup", &[]);
            xml.text("duration", &meter.bar_len().to_string());
            xml.close();
        }
        written = true;
        let beams = beams(&voice.events, meter);
        for (event, beams) in voice.events.iter().zip(&beams) {
            let bare = down && says_tuplet(&bar.hands.events, event);
            notes::event(xml, event, beams, voice, notes::Way { down, bare });
        }
    }
}

fn right_line(xml: &mut Xml, score: &Score, i: usize) {
    let times = match score.forms[i] {
        Form::Repeated { bars: 1, times } | Form::RepeatEnds { times } => Some(times),
        _ => None,
    };
    // The next bar that is written.
    let next = (i + 1..score.bars.len()).find(|n| score.forms[*n] != Form::Left);
    let style = match next {
        _ if times.is_some() => "light-heavy",
        None => "light-heavy",
        Some(next) if score.marks[next].section.is_some() => "light-light",
        Some(_) => return,
    };
    xml.open("barline", &[("location", "right")]);
    xml.text("bar-style", style);
    if let Some(times) = times {
        let times = times.to_string();
        xml.empty("repeat", &[("direction", "backward"), ("times", &times)]);
    }
    xml.close();
}

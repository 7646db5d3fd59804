//! What stands above and below the bars.

use crate::export::score::Score;
use crate::export::score::form::Form;
use crate::export::score::marks::Marks;
use crate::export::score::xml::Xml;
use crate::time::{Meter, Ticks};

/// The marks of a bar, and of its fill.
pub(super) fn marks(xml: &mut Xml, score: &Score, i: usize) {
    let marks = &score.marks[i];
    if let Some(section) = &marks.section {
        direction(xml, "above", None, None, |xml| {
            xml.text("rehearsal", section);
        });
    }
    if let Some(bpm) = marks.bpm {
        let sound = |xml: &mut Xml| xml.empty("sound", &[("tempo", &number(bpm))]);
        direction(xml, "above", None, Some(&sound), |xml| {
            metronome(xml, score.bars[i].bar.meter, bpm);
        });
    }
    if let Some(beat) = marks.beat {
        words(xml, "above", None, beat);
    }
    swing(xml, marks);
    let times = match score.forms[i] {
        Form::Repeated { times, .. } => Some(times),
        _ => None,
    };
    if let Some(times) = times.filter(|times| *times > 2) {
        words(xml, "above", None, &format!("play {times} times"));
    }
    if let Some((_, span)) = &score.bars[i].fill {
        words(xml, "above", Some(span.start), "fill");
    }
    if let Some(dynamic) = marks.dynamic {
        direction(xml, "below", None, None, |xml| {
            xml.open("dynamics", &[]);
            xml.empty(dynamic.letters(), &[]);
            xml.close();
        });
        if let Some(to) = marks.swells_to {
            // A count on, where it does not stand on the dynamic.
            let next = score.bars[i]
                .bar
                .meter
                .counts()
                .first()
                .map(|count| count.len);
            words(
                xml,
                "below",
                next,
                if to > dynamic { "cresc." } else { "dim." },
            );
        }
    }
}

fn swing(xml: &mut Xml, marks: &Marks) {
    let Some(swing) = marks.swing else {
        return;
    };
    let sound = |xml: &mut Xml| {
        xml.open("sound", &[]);
        xml.open("swing", &[]);
        match swing {
            Some(swing) => {
                xml.text("first", &swing.ratio.0.to_string());
                xml.text("second", &swing.ratio.1.to_string());
                xml.text(
                    "swing-type",
                    if swing.sixteenths { "16th" } else { "eighth" },
                );
            }
            None => xml.empty("straight", &[]),
        }
        xml.close();
        xml.close();
    };
    let text = swing.map_or_else(|| "straight".to_owned(), |swing| swing.to_string());
    direction(xml, "above", None, Some(&sound), |xml| {
        xml.text("words", &text);
    });
}

fn words(xml: &mut Xml, placement: &str, offset: Option<Ticks>, text: &str) {
    direction(xml, placement, offset, None, |xml| {
        xml.text_with("words", &[("font-style", "italic")], text);
    });
}

fn direction(
    xml: &mut Xml,
    placement: &str,
    offset: Option<Ticks>,
    sound: Option<&dyn Fn(&mut Xml)>,
    kind: impl FnOnce(&mut Xml),
) {
    xml.open("direction", &[("placement", placement)]);
    xml.open("direction-type", &[]);
    kind(xml);
    xml.close();
    if let Some(offset) = offset.filter(|offset| *offset > 0) {
        xml.text("offset", &offset.to_string());
    }
    if let Some(sound) = sound {
        sound(xml);
    }
    xml.close();
}

/// The tempo by the count where all counts are alike, else by the quarter note.
fn metronome(xml: &mut Xml, meter: Meter, bpm: f64) {
    let (unit, dotted, bpm) = beat(meter, bpm);
    xml.open("metronome", &[]);
    xml.text("beat-unit", unit);
    if dotted {
        xml.empty("beat-unit-dot", &[]);
    }
    xml.text("per-minute", &number(bpm));
    xml.close();
}

/// The unit that a tempo is said in: its name, whether it has a dot, and how many there are a minute, where there are
/// `bpm` quarter notes.
fn beat(meter: Meter, bpm: f64) -> (&'static str, bool, f64) {
    let counts = meter.counts();
    let length = counts.first().map_or(960, |count| count.len);
    let alike = counts.iter().all(|count| count.len == length);
    match length {
        1440 if alike => ("quarter", true, bpm * 960.0 / 1440.0),
        1920 if alike => ("half", false, bpm / 2.0),
        720 if alike => ("eighth", true, bpm * 960.0 / 720.0),
        _ => ("quarter", false, bpm),
    }
}

/// A number without needless digits.
fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

//! Notes, rests and slashes of a voice.

use super::instrument;
use crate::export::score::beams::{Beam, beams};
use crate::export::score::part::{Chord, Head, Voice, WrittenBar};
use crate::export::score::spell::{Event, NoteValue, Tuplet};
use crate::export::score::stave::{Look, Shape};
use crate::export::score::xml::Xml;
use crate::groove::Limb;
use crate::kit::{Piece, Ring};
use crate::time::Ticks;

/// The names of note values, the whole note first.
const VALUES: [&str; 9] = [
    "whole", "half", "quarter", "eighth", "16th", "32nd", "64th", "128th", "256th",
];

/// How an event is written.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Way {
    /// Whether its stem goes down: the second voice.
    pub(super) down: bool,
    /// Whether its tuplet has no number: the hands' says it for both.
    pub(super) bare: bool,
}

/// The number of a voice: the hands are the first.
fn number(down: bool) -> &'static str {
    if down { "2" } else { "1" }
}

/// A bar in which nobody plays.
pub(super) fn rest_of_bar(xml: &mut Xml, length: Ticks) {
    xml.open("note", &[]);
    xml.empty("rest", &[("measure", "yes")]);
    xml.text("duration", &length.to_string());
    xml.text("voice", "1");
    xml.close();
}

/// A note, with its chord and its grace notes, or a rest.
pub(super) fn event(xml: &mut Xml, event: &Event, beams: &[Beam], voice: &Voice, way: Way) {
    let down = way.down;
    let Some(chord) = event.note.map(|note| &voice.chords[note]) else {
        rest(xml, event, way, true);
        return;
    };
    graces(xml, chord, down);
    for (i, head) in chord.heads.iter().enumerate() {
        let look = Look::of(head.piece, head.by_foot);
        xml.open("note", &[]);
        if i > 0 {
            xml.empty("chord", &[]);
        }
        unpitched(xml, look);
        xml.text("duration", &event.length.to_string());
        xml.empty("instrument", &[("id", &instrument(head.piece))]);
        xml.text("voice", number(down));
        value(xml, event);
        xml.text("stem", if down { "down" } else { "up" });
        notehead(xml, look, head.ghost);
        if i == 0 {
            write_beams(xml, beams);
        }
        notations(xml, event, chord, i, way);
        if i == 0 {
            sticking(xml, &chord.heads, chord.roll);
        }
        xml.close();
    }
}

fn rest(xml: &mut Xml, event: &Event, way: Way, shown: bool) {
    let hidden = [("print-object", "no")];
    xml.open("note", if shown { &[] } else { &hidden });
    xml.empty("rest", &[]);
    xml.text("duration", &event.length.to_string());
    xml.text("voice", number(way.down));
    value(xml, event);
    if event
        .tuplet
        .is_some_and(|tuplet| tuplet.begins || tuplet.ends)
    {
        xml.open("notations", &[]);
        tuplet(xml, event, way);
        xml.close();
    }
    xml.close();
}

/// Grace notes: one is a flam's, with its stroke through the stem; two and more are a drag's, beamed.
fn graces(xml: &mut Xml, chord: &Chord, down: bool) {
    let many = chord.graces.len() > 1;
    for (i, head) in chord.graces.iter().enumerate() {
        let look = Look::of(head.piece, head.by_foot);
        xml.open("note", &[]);
        xml.empty("grace", &[("slash", if many { "no" } else { "yes" })]);
        unpitched(xml, look);
        xml.empty("instrument", &[("id", &instrument(head.piece))]);
        xml.text("voice", number(down));
        xml.text("type", if many { "16th" } else { "eighth" });
        xml.text("stem", if down { "down" } else { "up" });
        notehead(xml, look, head.ghost);
        if many {
            let state = match i {
                0 => "begin",
                i if i + 1 == chord.graces.len() => "end",
                _ => "continue",
            };
            xml.text_with("beam", &[("number", "1")], state);
            xml.text_with("beam", &[("number", "2")], state);
        }
        if look.open {
            xml.open("notations", &[]);
            open(xml, look.step < 0);
            xml.close();
        }
        sticking(xml, std::slice::from_ref(head), false);
        xml.close();
    }
}

fn unpitched(xml: &mut Xml, look: Look) {
    let (step, octave) = look.letter();
    xml.open("unpitched", &[]);
    xml.text("display-step", &step.to_string());
    xml.text("display-octave", &octave.to_string());
    xml.close();
}

/// Value, dot and tuplet of a note or a rest.
fn value(xml: &mut Xml, event: &Event) {
    let Some(NoteValue { halvings, dotted }) = event.value else {
        return;
    };
    xml.text("type", VALUES[usize::from(halvings).min(VALUES.len() - 1)]);
    if dotted {
        xml.empty("dot", &[]);
    }
    if let Some(Tuplet { actual, normal, .. }) = event.tuplet {
        xml.open("time-modification", &[]);
        xml.text("actual-notes", &actual.to_string());
        xml.text("normal-notes", &normal.to_string());
        xml.close();
    }
}

fn notehead(xml: &mut Xml, look: Look, ghost: bool) {
    let shape = match look.shape {
        Shape::Round => "normal",
        Shape::Cross => "x",
        Shape::CircledCross => "circle-x",
        Shape::Diamond => "diamond",
    };
    if ghost {
        xml.text_with("notehead", &[("parentheses", "yes")], shape);
    } else if look.shape != Shape::Round {
        xml.text("notehead", shape);
    }
}

fn write_beams(xml: &mut Xml, beams: &[Beam]) {
    for (i, beam) in beams.iter().enumerate() {
        let state = match beam {
            Beam::Begins => "begin",
            Beam::GoesOn => "continue",
            Beam::Ends => "end",
            Beam::Forward => "forward hook",
            Beam::Backward => "backward hook",
        };
        xml.text_with("beam", &[("number", &(i + 1).to_string())], state);
    }
}

/// What stands at a note: the tuplet and the accent with the chord's first head, the circle with its own.
fn notations(xml: &mut Xml, event: &Event, chord: &Chord, i: usize, way: Way) {
    let look = Look::of(chord.heads[i].piece, chord.heads[i].by_foot);
    let is_edge = event
        .tuplet
        .is_some_and(|tuplet| tuplet.begins || tuplet.ends);
    let hit = chord.hit.filter(|_| i == 0);
    let (edge, accent) = (i == 0 && is_edge, i == 0 && chord.accent || hit.is_some());
    let rings = i == 0 && chord.rings && !chord.heads[0].by_foot;
    let roll = i == 0 && chord.roll;
    let closes = chord.closes && chord.heads[i].piece == Piece::HiHatClosed;
    if !(edge || accent || rings || roll || closes || look.open) {
        return;
    }
    xml.open("notations", &[]);
    if edge {
        tuplet(xml, event, way);
    }
    if roll {
        xml.open("ornaments", &[]);
        xml.text_with("tremolo", &[("type", "single")], "1");
        xml.close();
    }
    if look.open {
        open(xml, look.step < 0);
    }
    if closes {
        xml.open("technical", &[]);
        xml.empty("stopped", &[("placement", "above")]);
        xml.close();
    }
    if accent {
        xml.open("articulations", &[]);
        let above = [("placement", "above")];
        match hit {
            // As drum charts write what the band strikes together, above the stave: short, or held.
            Some(Ring::Grabbed) => {
                xml.empty("strong-accent", &[("placement", "above"), ("type", "up")]);
            }
            Some(_) => {
                xml.empty("accent", &above);
                xml.empty("tenuto", &above);
            }
            None => xml.empty("accent", &above),
        }
        xml.close();
    }
    if rings {
        xml.empty("fermata", &[]);
    }
    xml.close();
}

fn tuplet(xml: &mut Xml, event: &Event, way: Way) {
    let Some(tuplet) = event.tuplet else {
        return;
    };
    for (is, kind) in [(tuplet.begins, "start"), (tuplet.ends, "stop")] {
        if is {
            let bare = [("type", kind), ("bracket", "no"), ("show-number", "none")];
            xml.empty("tuplet", if way.bare { &bare } else { &bare[..1] });
        }
    }
}

/// The circle of an open hi-hat; below the stave for a foot.
fn open(xml: &mut Xml, below: bool) {
    let place = if below { "below" } else { "above" };
    xml.open("technical", &[]);
    xml.empty("open-string", &[("placement", place)]);
    xml.close();
}

/// Who strikes: R, L, or B for both, twice for a roll, below the stave; the feet on a line of their own.
fn sticking(xml: &mut Xml, heads: &[Head], twice: bool) {
    for (lead, other, line) in [
        (Limb::LeadHand, Limb::OtherHand, "1"),
        (Limb::LeadFoot, Limb::OtherFoot, "2"),
    ] {
        let is = |limb| heads.iter().any(|head| head.limb == Some(limb));
        let letter = match (is(lead), is(other)) {
            (true, true) => "B",
            (true, false) => "R",
            (false, true) => "L",
            (false, false) => continue,
        };
        xml.open("lyric", &[("number", line), ("placement", "below")]);
        xml.text("text", &letter.repeat(1 + usize::from(twice)));
        xml.close();
    }
}

/// A slash for every count, and the hits above.
pub(super) fn slashes(xml: &mut Xml, bar: &WrittenBar) {
    let meter = bar.bar.meter;
    let all = beams(&bar.hands.events, meter);
    for (hit, beams) in bar.hands.events.iter().zip(&all) {
        if hit.note.is_some() {
            event(xml, hit, beams, &bar.hands, Way::default());
        } else {
            rest(xml, hit, Way::default(), false);
        }
    }
    if !bar.hands.events.is_empty() {
        xml.open("backup", &[]);
        xml.text("duration", &meter.bar_len().to_string());
        xml.close();
    }
    for count in meter.counts() {
        xml.open("note", &[]);
        xml.open("unpitched", &[]);
        xml.text("display-step", "B");
        xml.text("display-octave", "4");
        xml.close();
        xml.text("duration", &count.len.to_string());
        xml.text("voice", "2");
        if let Some(NoteValue { halvings, dotted }) = NoteValue::of(count.len) {
            xml.text("type", VALUES[usize::from(halvings).min(VALUES.len() - 1)]);
            if dotted {
                xml.empty("dot", &[]);
            }
        }
        xml.text("stem", "none");
        xml.text("notehead", "slash");
        xml.close();
    }
}

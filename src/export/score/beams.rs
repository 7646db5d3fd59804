//! Beams: which notes of a count hang together, and by how many.

use super::spell::{Event, is_of_threes};
use crate::time::{Meter, Ticks};

/// What a beam does at a note.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Beam {
    /// It begins.
    Begins,
    /// It goes on.
    GoesOn,
    /// It ends.
    Ends,
    /// A stub towards the next note.
    Forward,
    /// A stub towards the note before.
    Backward,
}

/// The beams of each event, the outermost first; none for rests and single notes. Beams go by counts, in n/2 by quarters
/// where a count is of two.
pub(super) fn beams(events: &[Event], meter: Meter) -> Vec<Vec<Beam>> {
    let mut beams = vec![Vec::new(); events.len()];
    let counts = meter.counts();
    let quarter = crate::time::TICKS_PER_QUARTER;
    let group = |at: Ticks| {
        let count = counts.iter().rev().find(|count| count.start <= at);
        let start = count.map_or(0, |count| count.start);
        let long = count.is_some_and(|count| count.len > quarter && !is_of_threes(count.len));
        if long {
            start + (at - start) / quarter * quarter
        } else {
            start
        }
    };
    let flags = |event: &Event| match (event.note, event.value) {
        (Some(_), Some(value)) => value.flags(),
        _ => 0,
    };
    let mut i = 0;
    while i < events.len() {
        if flags(&events[i]) == 0 {
            i += 1;
            continue;
        }
        let here = group(events[i].at);
        // A long note ends the group; rests between stay under the beam.
        let long = |event: &Event| event.note.is_some() && flags(event) == 0;
        let end = events[i..]
            .iter()
            .position(|event| group(event.at) != here || long(event))
            .map_or(events.len(), |n| i + n);
        let notes: Vec<usize> = (i..end).filter(|n| flags(&events[*n]) > 0).collect();
        if notes.len() > 1 {
            for (n, &place) in notes.iter().enumerate() {
                beams[place] = of_note(events, &notes, n, &flags);
            }
        }
        i = end;
    }
    beams
}

fn of_note(
    events: &[Event],
    notes: &[usize],
    n: usize,
    flags: &impl Fn(&Event) -> u8,
) -> Vec<Beam> {
    let place = notes[n];
    let mine = &events[place];
    let joins = |other: Option<usize>, level: u8| {
        // An inner beam does not go over a rest.
        other.is_some_and(|other| {
            flags(&events[other]) >= level && (level == 1 || other.abs_diff(place) == 1)
        })
    };
    let before = n.checked_sub(1).map(|n| notes[n]);
    let after = notes.get(n + 1).copied();
    (1..=flags(mine))
        .map(|level| match (joins(before, level), joins(after, level)) {
            (true, true) => Beam::GoesOn,
            (true, false) => Beam::Ends,
            (false, true) => Beam::Begins,
            (false, false) if before.is_none() => Beam::Forward,
            (false, false) => Beam::Backward,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::spell::spell;
    use super::*;

    /// Beams in short: `[` begins, `=` goes on, `]` ends, `/` and `\` stubs.
    fn short(meter: &str, onsets: &[Ticks]) -> String {
        let meter: Meter = meter.parse().unwrap();
        let letter = |beam: &Beam| match beam {
            Beam::Begins => '[',
            Beam::GoesOn => '=',
            Beam::Ends => ']',
            Beam::Forward => '/',
            Beam::Backward => '\\',
        };
        let all = beams(&spell(meter, onsets, false), meter);
        let words: Vec<String> = all
            .iter()
            .map(|beams| beams.iter().map(letter).collect())
            .collect();
        words.join(" ").trim_end().to_owned()
    }

    #[test]
    fn beams_go_by_counts() {
        for (meter, onsets, expected) in [
            ("4/4", &[0, 480, 960, 1440][..], "[ ] [ ]"),
            ("4/4", &[0, 240, 480], "[[ =] ]"),
            ("4/4", &[0, 480, 720], "[ =[ ]]"),
            ("4/4", &[0, 720], "[ ]\\"),
            ("4/4", &[0, 240], "[/ ]"),
            ("4/4", &[0, 240, 720], "[/ = ]\\"),
            ("4/4", &[480, 960], ""),
            ("4/4", &[240, 720], " [ ]\\"),
            ("6/8", &[0, 480, 960, 1440, 2400], "[ = ]"),
            (
                "7/8",
                &[0, 480, 960, 1440, 1920, 2400, 2880],
                "[ ] [ ] [ = ]",
            ),
            ("2/2", &[0, 480, 960, 1440], "[ ] [ ]"),
        ] {
            assert_eq!(short(meter, onsets), expected, "{meter} {onsets:?}");
        }
    }
}

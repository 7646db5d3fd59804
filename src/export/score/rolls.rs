//! Rolls: two strokes of one hand a thirty-second apart are a sixteenth with a stroke through its stem.
//!
//! So rudiments of double strokes are written, as is the bounce of a ghost note. Common practice, no source. Single
//! strokes are written out, since both hands have to be read.

use super::part::Chord;
use crate::time::{Meter, TICKS_PER_QUARTER, Ticks};

const SIXTEENTH: Ticks = TICKS_PER_QUARTER / 4;

/// Folds the rolls of one voice of a bar; its heads say who strikes.
pub(super) fn fold(chords: &mut Vec<Chord>, meter: Meter) {
    let counts = meter.counts();
    // Whether a place is a count's, or so many ticks after it; and the end of its count.
    let count_of = |at: Ticks| counts.iter().rev().find(|count| count.start <= at);
    let mut i = 0;
    while i + 1 < chords.len() {
        let (first, second) = (&chords[i], &chords[i + 1]);
        let next = chords.get(i + 2).map(|chord| chord.at);
        let folds = count_of(first.at).is_some_and(|count| {
            let after = first.at + SIXTEENTH;
            let on_sixteenth = (first.at - count.start) % SIXTEENTH == 0;
            // It lasts a sixteenth and no longer: that is what the stroke divides.
            let fills = next == Some(after)
                || (after == count.start + count.len && next.is_none_or(|n| n > after));
            on_sixteenth
                && fills
                && second.at == first.at + SIXTEENTH / 2
                && is_bounce(first, second)
        });
        if folds {
            chords.remove(i + 1);
            chords[i].roll = true;
        }
        i += 1;
    }
}

/// Whether the second chord is the first one's stroke once more.
fn is_bounce(first: &Chord, second: &Chord) -> bool {
    let plain = second.graces.is_empty() && !second.accent && !second.rings && !first.rings;
    first.heads.len() == 1 && first.heads == second.heads && !first.heads[0].by_foot && plain
}

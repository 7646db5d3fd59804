//! Reading keys off our own exports. No proof that others' regions are read: those are in `usage`.

use crate::export::{demo, song};
use crate::support::general_midi;
use crate::usage::{Region, Scores};
use fourlimb::engine::offline;
use fourlimb::kit::NoteMap;
use fourlimb::kit::usage::UsedNote;
use fourlimb::song::Timeline;
use rand::prelude::*;
use rand::rngs::StdRng;

fn region(timeline: &Timeline) -> Region {
    let notes: Vec<UsedNote> = offline::render(timeline, &NoteMap::default())
        .notes
        .iter()
        .map(|note| UsedNote {
            tick: note.tick,
            note: note.note,
            velocity: note.velocity,
        })
        .collect();
    let truth = notes
        .iter()
        .map(|used| (used.note, general_midi(used.note.key)))
        .collect();
    Region {
        bars: timeline.bars().to_vec(),
        notes,
        truth,
    }
}

#[test]
fn sure_lines_of_our_own_songs() {
    let mut songs = vec![demo()];
    for (style, meter) in [
        ("rock", "4/4"),
        ("half-time", "4/4"),
        ("double-kick", "4/4"),
        ("rock", "6/8"),
        ("rock", "3/4"),
    ] {
        let section = format!(
            r#""name": "A", "bars": 32, "meter": "{meter}", "style": "{style}", "fill_chance": 1"#
        );
        songs.push(song(style, &[&section]));
    }
    let mut scores = Scores::default();
    for (nth, timeline) in songs.iter().enumerate() {
        let mut rng = StdRng::seed_from_u64(nth as u64);
        scores.add(&region(timeline).exchanged(&mut rng));
    }
    scores.print("our own songs");
    for (kind, score) in &scores.kinds {
        // One sure kick of these six songs was wrong before a kick had to stand without running keys beside it.
        let known = usize::from(*kind == "kick");
        assert!(score.wrong[0] <= known, "{kind}");
    }
    for kind in ["kick", "snare"] {
        assert!(
            scores.kinds[kind].right.iter().sum::<usize>() >= 4,
            "{kind}"
        );
    }
}

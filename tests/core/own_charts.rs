//! Text charts that are read back, and beats that are typed as one.

use crate::own_beats::{FIRST, bare, kept, own_part};
use crate::own_teaching::wish;
use crate::support::*;
use fourlimb::engine::offline;
use fourlimb::export::taught::from_chart;
use fourlimb::export::text_chart;
use fourlimb::export::text_chart::read::read;
use fourlimb::groove::Hit;
use fourlimb::groove::vocabulary::VOCABULARY;
use fourlimb::settings::{Hand, HandRate, StrokeSettings};
use fourlimb::song::Timeline;
use fourlimb::time::Meter;

/// Printed, read, and printed again.
fn same_again(name: &str, timeline: &Timeline) -> Result<(), String> {
    let hits = offline::play(timeline);
    let printed = text_chart::chart(timeline, &hits);
    let read = read(&printed, None).map_err(|error| format!("{name}: {error}"))?;
    let again = text_chart::chart(timeline, &read.hits);
    if printed == again {
        return Ok(());
    }
    let mut lines = printed.lines().zip(again.lines());
    let differs = lines.find(|(a, b)| a != b);
    Err(format!("{name}: {differs:#?}"))
}

/// Every golden song as a chart.
#[test]
fn a_chart_that_is_read_is_printed_the_same() {
    crate::golden::all(crate::goldens_chart::songs().map(|(name, song)| same_again(&name, &song)));
    let goldens = VOCABULARY.iter().map(|beat| {
        let song = crate::goldens::song(beat.name());
        same_again(beat.name(), &song)
    });
    crate::golden::all(goldens);
}

/// The charts of every beat in odd meters, bar by bar.
#[test]
fn the_charts_of_every_meter_are_read_back() {
    for name in ["4-4", "3-4", "5-4", "6-8", "7-8"] {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/core/charts");
        let text = std::fs::read_to_string(format!("{folder}/{name}.txt")).unwrap();
        let meter: Meter = name.replace('-', "/").parse().unwrap();
        for block in text.split("\n\n") {
            let (title, rest) = block.split_once('\n').unwrap();
            let chart = read(block, Some(meter)).unwrap();
            assert_eq!(chart.title, title);
            let again: String = chart
                .bars
                .iter()
                .map(|(_, bar)| text_chart::bar(*bar, &chart.hits))
                .collect();
            assert_eq!(again.trim_end(), rest.trim_end(), "{name}: {title}");
        }
    }
}

/// A chart as a songwriter types it, and what comes of it.
#[test]
fn a_typed_chart_becomes_a_beat() {
    let text = "hi-hat |x-x-|x-x-|x-x-|x-x-|\n\
                snare  |----|O---|-,--|O---|\n\
                kick   |o--o|----|--o-|----|\n";
    let beat = from_chart(text, None, &wish()).unwrap().learned.beat;
    assert_eq!(
        (beat.cymbal, beat.rate),
        (Hand::HiHatClosed, Some(HandRate::Eighths))
    );
    let own = kept(&beat);
    let (plan, moment) = bare(FIRST);
    let part = own_part(&own, bar(2, Meter::FOUR_FOUR), 120.0, &plan);
    let plain = |hit| Hit {
        velocity: 90,
        ..hit
    };
    let hits: Vec<_> = part.hits(&moment).map(plain).collect();
    let expected = "                1    2    3    4   \n\
                    hi-hat closed  |x-x-|x-x-|x-x-|x-x-|\n\
                    snare          |----|o---|----|o---|\n\
                    kick           |o--o|----|--o-|----|\n";
    assert_eq!(text_chart::bar(part.bar(), &hits), expected);
    // The ghost note comes with density.
    let some = StrokeSettings {
        density: 0.1,
        ..moment
    };
    let ghost = part
        .hits(&some)
        .any(|hit| hit.ghost && hit.grid - part.bar().start == 2160);
    assert!(ghost);
}

#[test]
fn a_chart_that_cannot_be_read_says_where() {
    for (text, says) in [
        ("", "line 1: there is no row"),
        ("zither |x---|", "line 1: no piece is called \"zither\""),
        ("kick |o---|\nsnare |q---|", "line 2: \"q\" is no letter"),
        ("kick |o---|o-|o---|", "different lengths"),
        (
            "kick |o---|o---|\nsnare |o---|",
            "1 cells are not the 2 counts of 2/4",
        ),
        ("bar 1\nkick |o---|\n\nbar 2: as bar 7", "no bar 7"),
        ("kick |o------|", "divides no count"),
    ] {
        let error = read(text, None).unwrap_err().to_string();
        assert!(error.contains(says), "{text:?}: {error}");
    }
}

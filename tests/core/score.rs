//! Scores: what a document of MusicXML says is what is played.

use crate::export::{demo, odd_meters, song};
use crate::support::{cases, random_sections, section_fields};
use fourlimb::engine::offline;
use fourlimb::export::score::form::Form;
use fourlimb::export::score::{Score, ScoreFormat, ScoreOptions, write};
use fourlimb::export::{ExportError, What};
use fourlimb::groove::{Hit, Limb};
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::Ticks;
use hosting::songs::{self, Ranges};
use proptest::prelude::*;
use roxmltree::{Document, Node, ParsingOptions};
use serde_json::json;

/// A stroke as a document has it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stroke {
    /// The bar, from 1.
    pub bar: usize,
    /// Where in the bar.
    pub at: Ticks,
    /// The piece.
    pub piece: String,
    /// Whether it is a grace note.
    pub grace: bool,
}

/// The MusicXML of a song.
pub fn xml(song: &Timeline, options: &ScoreOptions) -> String {
    let written = write(song, ScoreFormat::MusicXml, options).unwrap();
    String::from_utf8(written.bytes).unwrap()
}

pub fn parsed(xml: &str) -> Document<'_> {
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    Document::parse_with_options(xml, options).unwrap()
}

fn child<'a>(node: Node<'a, 'a>, name: &str) -> Option<Node<'a, 'a>> {
    node.children().find(|child| child.has_tag_name(name))
}

fn number(node: Node, name: &str) -> Option<i64> {
    child(node, name)?.text()?.parse().ok()
}

/// The strokes of a measure, with the voice of each; every voice fills the bar.
fn strokes_of(measure: Node) -> Vec<(Ticks, String, bool, String)> {
    let (mut at, mut last) = (0, 0);
    let mut strokes = Vec::new();
    let mut ends = Vec::new();
    for node in measure.children().filter(Node::is_element) {
        match node.tag_name().name() {
            "backup" => {
                ends.push(at);
                at -= number(node, "duration").unwrap();
                assert_eq!(at, 0);
            }
            "note" => {
                let duration = number(node, "duration").unwrap_or(0);
                let start = if child(node, "chord").is_some() {
                    last
                } else {
                    at
                };
                if let Some(instrument) = child(node, "instrument") {
                    let id = instrument.attribute("id").unwrap();
                    let piece = id.strip_prefix("P1-").unwrap().replace('-', " ");
                    let piece = piece.replace("hi hat", "hi-hat");
                    let grace = child(node, "grace").is_some();
                    let voice = child(node, "voice").unwrap().text().unwrap().to_owned();
                    let stem = child(node, "stem").unwrap().text().unwrap();
                    assert_eq!(stem, if voice == "1" { "up" } else { "down" });
                    let is_roll = |n: &Node| n.has_tag_name("tremolo") && n.text() == Some("1");
                    if node.descendants().any(|n| is_roll(&n)) {
                        assert_eq!(child(node, "type").unwrap().text(), Some("16th"));
                        let second = start + duration / 2;
                        strokes.push((second, piece.clone(), grace, voice.clone()));
                    }
                    strokes.push((start, piece, grace, voice));
                }
                if child(node, "chord").is_none() {
                    last = at;
                    at += duration;
                }
            }
            _ => {}
        }
    }
    ends.push(at);
    assert!(ends.iter().all(|end| *end == ends[0]), "{ends:?}");
    strokes
}

/// Every stroke of a document, repeats played, and how many of them stand in the second voice.
pub fn strokes(xml: &str) -> (Vec<Stroke>, usize) {
    let document = parsed(xml);
    let (mut all, mut below) = (Vec::new(), 0);
    let mut group: Vec<Vec<(Ticks, String, bool, String)>> = Vec::new();
    let measures = document.descendants().filter(|n| n.has_tag_name("measure"));
    for measure in measures {
        let number: usize = measure.attribute("number").unwrap().parse().unwrap();
        let repeats: Vec<_> = measure
            .descendants()
            .filter(|n| n.has_tag_name("repeat"))
            .collect();
        let is = |way: &str| {
            repeats
                .iter()
                .find(|r| r.attribute("direction") == Some(way))
        };
        if is("forward").is_some() {
            group.clear();
        }
        let here = strokes_of(measure);
        group.push(here.clone());
        let times = is("backward").map_or(1, |r| r.attribute("times").unwrap().parse().unwrap());
        let first = number + 1 - if times > 1 { group.len() } else { 1 };
        let played = if times > 1 { group.clone() } else { vec![here] };
        for turn in 0..times {
            for (i, strokes) in played.iter().enumerate() {
                let bar = first + turn * played.len() + i;
                // The first time a group was taken as it came.
                if times > 1 && turn == 0 && i + 1 < played.len() {
                    continue;
                }
                for (at, piece, grace, voice) in strokes.iter().cloned() {
                    below += usize::from(voice == "2");
                    all.push(Stroke {
                        bar,
                        at,
                        piece,
                        grace,
                    });
                }
            }
        }
        if times > 1 {
            group.clear();
        }
    }
    all.sort();
    (all, below)
}

/// What is played, as strokes of the grid.
pub fn played(song: &Timeline) -> Vec<Stroke> {
    let hits = offline::play(song);
    let mut strokes: Vec<_> = hits.iter().map(|hit| stroke(song, hit)).collect();
    // A grace note whose stroke density leaves out is a stroke.
    for i in 0..strokes.len() {
        let main = |other: &Stroke| {
            !other.grace && (other.bar, other.at) == (strokes[i].bar, strokes[i].at)
        };
        let mine: Vec<&Hit> = hits
            .iter()
            .filter(|hit| !hit.grace && hit.grid == hits[i].grid)
            .collect();
        let foot = |hit: &Hit| matches!(hit.limb, Limb::LeadFoot | Limb::OtherFoot);
        let has_main = strokes.iter().any(main) && mine.iter().any(|hit| !foot(hit));
        let last = hits
            .iter()
            .rposition(|hit| hit.grace && hit.grid == hits[i].grid);
        if strokes[i].grace && !has_main && last == Some(i) {
            strokes[i].grace = false;
        }
    }
    strokes.sort();
    strokes
}

fn stroke(song: &Timeline, hit: &Hit) -> Stroke {
    let bar = song.bars().partition_point(|bar| bar.start <= hit.grid);
    Stroke {
        bar,
        at: hit.grid - song.bars()[bar - 1].start,
        piece: hit.piece.name().to_owned(),
        grace: hit.grace,
    }
}

#[test]
fn the_demo_song_is_written_stroke_by_stroke() {
    for song in [demo(), odd_meters()] {
        let (written, below) = strokes(&xml(&song, &ScoreOptions::default()));
        assert_eq!(written, played(&song));
        // The feet stand below, but in fills that go through hands and feet.
        let feet = |hit: &Hit| matches!(hit.limb, Limb::LeadFoot | Limb::OtherFoot);
        let feet = offline::play(&song).iter().filter(|hit| feet(hit)).count();
        assert!(below <= feet && below * 10 > feet * 7, "{below} of {feet}");
    }
}

proptest! {
    #![proptest_config(cases(60))]
    /// Any song: every stroke has its bar, its place and its piece, with stickings or without.
    #[test]
    fn a_score_says_what_is_played(
        sections in random_sections(
            Ranges { fields: section_fields().collect(), bars: 1..=6, bpm: 40.0..=300.0 },
            4,
        ),
        stickings in any::<bool>(),
    ) {
        let text = songs::song(&json!({ "phrase_bars": 2 }), sections);
        let song = Timeline::new(&SongFile::parse(&text).unwrap()).unwrap();
        let options = ScoreOptions { stickings, ..ScoreOptions::default() };
        let xml = xml(&song, &options);
        prop_assert_eq!(strokes(&xml).0, played(&song));
        prop_assert_eq!(xml.contains("<lyric"), stickings && xml.contains("<instrument "));
    }
}

/// What was edited by hand lies anywhere: it goes to the nearest place that can be read, and no stroke is lost.
#[test]
fn strokes_beside_the_grid_go_to_the_nearest_place() {
    let rows: Vec<_> = (0..64)
        .map(|i| json!([i * 240 + (i * 37) % 41 - 20, "snare", 90]))
        .chain([json!([700, "snare", 60]), json!([7661, "kick", 99])])
        .collect();
    let rows = serde_json::to_string(&rows).unwrap();
    let song = song(
        "Edited",
        &[&format!(r#""name": "A", "bars": 4, "locked": {rows}"#)],
    );
    let (written, _) = strokes(&xml(&song, &ScoreOptions::default()));
    assert_eq!(written.len(), 66);
    let places: Vec<_> = written
        .iter()
        .filter(|s| s.piece == "snare" && !s.grace)
        .collect();
    let expected: Vec<_> = (0..64)
        .map(|i| (i / 16 + 1, (i as Ticks % 16) * 240))
        .collect();
    assert_eq!(
        places.iter().map(|s| (s.bar, s.at)).collect::<Vec<_>>(),
        expected
    );
    let grace: Vec<_> = written
        .iter()
        .filter(|s| s.grace)
        .map(|s| (s.bar, s.at))
        .collect();
    assert_eq!(grace, [(1, 720)]);
    // A kick just before the bar line is the 1.
    assert!(
        written
            .iter()
            .any(|s| s.piece == "kick" && (s.bar, s.at) == (3, 0))
    );
}

#[test]
fn equal_bars_are_folded_and_rests_are_one() {
    let bare =
        r#""style": "rock", "density": 0, "fill_chance": 0, "fill": "none", "crashes": "none""#;
    let song = song(
        "Bare",
        &[
            r#""name": "Wait", "bars": 6, "play": "rest""#,
            &format!(r#""name": "A", "bars": 8, "play": "beat", "start": "nothing", {bare}"#),
        ],
    );
    let score = Score::of(&song, &ScoreOptions::default()).unwrap();
    assert_eq!(score.forms[0], Form::Rests { bars: 6 });
    assert_eq!(score.forms[6], Form::Repeated { bars: 1, times: 8 });
    let xml = xml(&song, &ScoreOptions::default());
    assert!(xml.contains("<multiple-rest>6</multiple-rest>"));
    assert!(xml.contains("times=\"8\"") && xml.contains("play 8 times"));
    assert_eq!(strokes(&xml).0, played(&song));
}

#[test]
fn a_part_has_the_strokes_of_the_whole() {
    let song = demo();
    let all = strokes(&xml(&song, &ScoreOptions::default())).0;
    for (what, bars) in [
        (What::Bars(9, 12), 9..=12),
        (What::Section("Chorus 2".to_owned()), 41..=48),
    ] {
        let options = ScoreOptions {
            what,
            ..ScoreOptions::default()
        };
        let part: Vec<_> = all
            .iter()
            .filter(|s| bars.contains(&s.bar))
            .cloned()
            .collect();
        let xml = xml(&song, &options);
        assert_eq!(strokes(&xml).0, part);
        for always in [
            "<divisions>",
            "<sign>percussion",
            "<metronome>",
            "<rehearsal>",
            "<time>",
        ] {
            assert!(xml.contains(always), "{always}");
        }
    }
    let options = ScoreOptions {
        what: What::Bars(70, 90),
        ..ScoreOptions::default()
    };
    let error = write(&song, ScoreFormat::MusicXml, &options).unwrap_err();
    assert!(matches!(error, ExportError::Bars { .. }), "{error}");
}

#[test]
fn slashes_stand_for_time_and_hits_above_them() {
    let options = ScoreOptions {
        slashes: true,
        ..ScoreOptions::default()
    };
    let xml = xml(&demo(), &options);
    let (written, _) = strokes(&xml);
    assert!(xml.contains(">slash</notehead>"));
    let all = played(&demo());
    assert!(
        written.len() * 2 < all.len(),
        "{} of {}",
        written.len(),
        all.len()
    );
    assert!(written.iter().all(|stroke| all.contains(stroke)));
}

#[test]
fn swing_is_a_direction_and_the_notes_stay_straight() {
    let mut song = song(
        "Swung",
        &[r#""name": "A", "bars": 2, "style": "rock", "hand_rate": "eighths""#],
    );
    song.start_mut().bar_settings.swing = 2.0 / 3.0;
    let xml = xml(&song, &ScoreOptions::default());
    assert!(xml.contains("<first>2</first>") && xml.contains("<second>1</second>"));
    assert!(xml.contains("<swing-type>eighth</swing-type>") && xml.contains("swing eighths, 2:1"));
    let (written, _) = strokes(&xml);
    assert_eq!(written, played(&song));
    assert!(written.iter().any(|stroke| stroke.at == 480));
}

#[test]
fn names_may_have_any_characters() {
    let name = "\u{1}<&\"'>\n雷 ä é \u{fffe}";
    let quoted = serde_json::to_string(name).unwrap();
    let song = song(name, &[&format!(r#""name": {quoted}, "bars": 1"#)]);
    let xml = xml(&song, &ScoreOptions::default());
    let document = parsed(&xml);
    let text = |tag: &str| {
        let node = document
            .descendants()
            .find(|n| n.has_tag_name(tag))
            .unwrap();
        node.text().unwrap().to_owned()
    };
    let expected = "\u{fffd}<&\"'> 雷 ä é \u{fffd}";
    assert_eq!(text("work-title"), expected);
    assert_eq!(text("rehearsal"), expected);
}

#[test]
fn a_packed_score_holds_the_plain_one() {
    let options = ScoreOptions::default();
    let packed = write(&demo(), ScoreFormat::Packed, &options).unwrap().bytes;
    let plain = xml(&demo(), &options);
    assert!(
        packed.len() * 8 < plain.len(),
        "{} {}",
        packed.len(),
        plain.len()
    );
    let mut archive = zip::ZipArchive::new(std::io::Cursor::new(packed)).unwrap();
    assert!(archive.by_name("META-INF/container.xml").is_ok());
    let mut inside = String::new();
    let mut file = archive.by_name("score.musicxml").unwrap();
    std::io::Read::read_to_string(&mut file, &mut inside).unwrap();
    assert_eq!(inside, plain);
}

#[test]
fn three_hours_are_written_in_seconds() {
    // 5,400 bars of 4/4 at 120 BPM are three hours.
    let section = |i: usize| {
        let style = [
            "rock",
            "double-kick",
            "blast",
            "shuffle",
            "gallop",
            "D-beat",
        ][i % 6];
        format!(r#""name": "Part {i}", "bars": 45, "style": "{style}", "bpm": 120"#)
    };
    let sections: Vec<_> = (0..120).map(section).collect();
    let sections: Vec<&str> = sections.iter().map(String::as_str).collect();
    let song = song("Long", &sections);
    assert_eq!(song.bars().len(), 5400);
    let begun = std::time::Instant::now();
    let xml = xml(&song, &ScoreOptions::default());
    let seconds = begun.elapsed().as_secs_f64();
    println!(
        "three hours: {:.1} MB in {seconds:.2} s",
        xml.len() as f64 / 1e6
    );
    // Measured: see docs/score.md; the bound is for a busy machine without optimisation.
    assert!(seconds < 30.0, "{seconds}");
    assert_eq!(strokes(&xml).0.len(), offline::play(&song).len());
}

/// Double strokes of one hand are a roll, single strokes are not; both say every stroke.
#[test]
fn rolls_are_folded_and_single_strokes_are_not() {
    let ghost = |song: &Timeline| {
        let xml = xml(
            song,
            &ScoreOptions {
                stickings: true,
                ..ScoreOptions::default()
            },
        );
        assert_eq!(strokes(&xml).0, played(song));
        (
            xml.matches("<tremolo").count(),
            xml.matches("<text>RR<").count() + xml.matches("<text>LL<").count(),
        )
    };
    let (mut rolls, mut letters) = (0, 0);
    for take in 1..60 {
        let sections = [format!(
            r#""name": "A", "bars": 4, "bpm": 80, "style": "rock", "take": {take}, "density": 1, "fill": "long""#
        )];
        let found = ghost(&song("Rolls", &[&sections[0]]));
        rolls += found.0;
        letters += found.1;
    }
    assert!(rolls > 0 && rolls == letters, "{rolls} {letters}");
}

/// A plus stands where the hi-hat is closed again, and nowhere else.
#[test]
fn a_hi_hat_that_closes_has_a_plus() {
    let rows = r#"[[0, "hi-hat closed", 90], [480, "hi-hat open", 90], [960, "hi-hat closed", 90],
        [1440, "hi-hat closed", 90], [1920, "hi-hat open", 90], [3840, "hi-hat closed", 90]]"#;
    let song = song(
        "Plus",
        &[&format!(r#""name": "A", "bars": 2, "locked": {rows}"#)],
    );
    let xml = xml(&song, &ScoreOptions::default());
    assert_eq!(
        (
            xml.matches("<open-string").count(),
            xml.matches("<stopped").count()
        ),
        (2, 1)
    );
    let document = parsed(&xml);
    let plus = document
        .descendants()
        .find(|n| n.has_tag_name("stopped"))
        .unwrap();
    let note = plus.ancestors().find(|n| n.has_tag_name("note")).unwrap();
    let before = note
        .prev_siblings()
        .filter(|n| n.has_tag_name("note"))
        .count();
    assert_eq!(before - 1, 2);
}

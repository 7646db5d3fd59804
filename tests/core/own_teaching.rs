//! Beats that are taught: every beat of the vocabulary is exported, taught, and played as what it was.

use crate::own_beats::{FIRST, bare, kept, own_part};
use crate::support::*;
use fourlimb::export::taught::{Taught, from_midi};
use fourlimb::export::text_chart;
use fourlimb::export::{Options, export};
use fourlimb::groove::own::learn::{Heard, LearnError, Wish, learn};
use fourlimb::groove::own::{OwnBeat, OwnBeats, OwnHands, Strikes};
use fourlimb::groove::vocabulary::VOCABULARY;
use fourlimb::groove::{Hit, Limb, Part};
use fourlimb::kit::{NoteMap, Piece};
use fourlimb::settings::{BarSettings, Hand, HandRate, StrokeSettings};
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::{Bar, Meter, Ticks};
use std::collections::{BTreeMap, BTreeSet};

/// A voice of a rhythm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Voice {
    Kick,
    Snare,
    Ghost,
    SideStick,
    Hand,
    Toms(Piece),
    Foot,
}

/// Onsets: when and in which voice.
type Onsets = BTreeSet<(Ticks, Voice)>;

fn onsets(part: &Part, moment: &StrokeSettings) -> Onsets {
    let ridden = part.cymbal(moment).piece();
    let voice = |hit: &Hit| match hit.piece {
        Piece::Kick => Voice::Kick,
        Piece::Snare if hit.ghost => Voice::Ghost,
        Piece::Snare => Voice::Snare,
        Piece::SideStick => Voice::SideStick,
        Piece::HiHatFoot => Voice::Foot,
        piece if piece == ridden && hit.limb < Limb::LeadFoot => Voice::Hand,
        piece @ (Piece::RackHigh | Piece::RackLow | Piece::FloorHigh | Piece::FloorLow) => {
            Voice::Toms(piece)
        }
        _ => Voice::Hand,
    };
    let hits: Vec<Hit> = part.hits(moment).filter(|hit| !hit.grace).collect();
    hits.iter()
        .map(|hit| (hit.grid - part.bar().start, voice(hit)))
        .collect()
}

/// The Hamming distance of two rhythms as binary vectors of onsets, a vector for each voice: the number of places at which
/// they differ. Toussaint, "A Comparison of Rhythmic Similarity Measures", ISMIR 2004, compares it with others.
fn hamming(a: &Onsets, b: &Onsets) -> usize {
    a.symmetric_difference(b).count()
}

/// What a beat plays as a rule: the onsets that stand in most of a phrase's even bars, and in most of its odd ones, in twelve
/// takes of two phrases.
fn rhythm(own: &OwnBeats, plan: &BarSettings, moment: &StrokeSettings) -> [Onsets; 2] {
    let mut often: [BTreeMap<(Ticks, Voice), usize>; 2] = Default::default();
    for take in 1..=12 {
        let plan = BarSettings { take, ..*plan };
        for index in 4..12 {
            let part = own_part(own, bar(index, Meter::FOUR_FOUR), 120.0, &plan);
            for onset in onsets(&part, moment) {
                *often[index as usize % 2].entry(onset).or_default() += 1;
            }
        }
    }
    often.map(|often| {
        let most = often.into_iter().filter(|(_, n)| *n > 24);
        most.map(|(onset, _)| onset).collect()
    })
}

fn distance(a: &[Onsets; 2], b: &[Onsets; 2]) -> usize {
    a.iter().zip(b).map(|(a, b)| hamming(a, b)).sum()
}

/// What every beat of the vocabulary plays at a moment.
fn rhythms(moment: &StrokeSettings) -> Vec<[Onsets; 2]> {
    let of = |style| rhythm(OwnBeats::NONE, &bare(style).0, moment);
    (0..BEATS).map(of).collect()
}

/// Intensity and density.
type Moments = [(f32, f32); 4];

/// At the first of them a beat is exported.
const BARE: Moments = [(0.5, 0.0), (0.2, 0.25), (0.75, 0.5), (0.95, 1.0)];
const LIVELY: Moments = [(0.5, 0.4), (0.2, 0.25), (0.75, 0.6), (0.95, 1.0)];

fn moments(moments: Moments) -> [StrokeSettings; 4] {
    moments.map(|(intensity, density)| StrokeSettings {
        intensity,
        density,
        ..bare(0).1
    })
}

/// Sixteen bars of a beat as a MIDI file, as a person plays them.
fn region(style: &str, density: f32, fill_chance: f32) -> Vec<u8> {
    let json = format!(
        r#"{{"fourlimb_song": 1, "title": "T", "sections": [{{"name": "A", "bars": 16, "bpm": 120,
        "style": "{style}", "density": {density}, "intensity": 0.5, "fill_chance": {fill_chance}}}]}}"#
    );
    let timeline = Timeline::new(&SongFile::parse(&json).unwrap()).unwrap();
    let map = NoteMap::default();
    export(&timeline, &Options::default(), &map).unwrap().bytes
}

fn taught(style: &str, density: f32, fill_chance: f32) -> Taught {
    let wish = Wish {
        name: style.to_owned(),
        ..Wish::default()
    };
    let bytes = region(style, density, fill_chance);
    from_midi(&bytes, &NoteMap::default(), None, &wish).unwrap()
}

/// The bars of an own beat as a drummer reads them, for messages.
fn shown(own: &OwnBeats, plan: &BarSettings, moment: &StrokeSettings) -> String {
    let parts = [5, 6].map(|index| own_part(own, bar(index, Meter::FOUR_FOUR), 120.0, plan));
    let chart = |part: &Part| text_chart::bar(part.bar(), &part.hits(moment).collect::<Vec<_>>());
    parts.iter().map(chart).collect()
}

/// What is wrong with a beat that was taught: `known` is what each beat plays at each moment.
fn faults(style: u8, taught: &Taught, at: Moments, known: &[Vec<[Onsets; 2]>]) -> Vec<String> {
    let name = VOCABULARY[usize::from(style)].name();
    let own = kept(&taught.learned.beat);
    let mut wrong = Vec::new();
    let (of_own, _) = bare(FIRST);
    for (moment, known) in moments(at).iter().zip(known) {
        let mine = rhythm(&own, &of_own, moment);
        let to = |style: u8| distance(&mine, &known[usize::from(style)]);
        let original = to(style);
        let others = (0..BEATS).filter(|other| *other != style);
        let nearest = others.min_by_key(|other| to(*other)).unwrap();
        if to(nearest) <= original {
            let nearest = VOCABULARY[usize::from(nearest)].name();
            wrong.push(format!(
                "{name} at intensity {} and density {}: {original} from itself, and no farther from {nearest}\n{}taught\n{}original\n{}",
                moment.intensity,
                moment.density,
                taught.learned.report,
                shown(&own, &of_own, moment),
                shown(&own, &bare(style).0, moment),
            ));
        }
    }
    wrong
}

/// Bare beats: the core is the same stroke by stroke, and the nearest beat is the original, at other intensities and
/// densities too.
#[test]
fn every_beat_is_taught_from_its_region() {
    let known = moments(BARE).map(|moment| rhythms(&moment));
    let mut wrong = Vec::new();
    for style in 0..BEATS {
        let taught = taught(VOCABULARY[usize::from(style)].name(), 0.0, 0.0);
        let own = kept(&taught.learned.beat);
        let moment = moments(BARE)[0];
        for index in 4..12 {
            let [mine, original] = [FIRST, style].map(|style| {
                let plan = bare(style).0;
                let part = own_part(&own, bar(index, Meter::FOUR_FOUR), 120.0, &plan);
                onsets(&part, &moment)
            });
            if mine != original {
                let differs: Vec<_> = mine.symmetric_difference(&original).collect();
                let name = &taught.learned.beat.name;
                wrong.push(format!("{name}: the core differs at {differs:?}"));
            }
        }
        wrong.extend(faults(style, &taught, BARE, &known));
    }
    assert!(
        wrong.is_empty(),
        "{} faults\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

/// From what a songwriter would export, with extras, variations and fills, comes a beat that plays as a rule what the
/// region plays as a rule.
#[test]
fn a_lively_region_is_taught_as_it_is() {
    let mut wrong = Vec::new();
    for style in 0..BEATS {
        let name = VOCABULARY[usize::from(style)].name();
        let bytes = region(name, 0.4, 0.5);
        let taught = taught(name, 0.4, 0.5);
        let own = kept(&taught.learned.beat);
        let moment = moments(LIVELY)[0];
        let mine = rhythm(&own, &bare(FIRST).0, &moment);
        let file = fourlimb::midi::smf_read::read(&bytes, &NoteMap::default()).unwrap();
        let mut often: [BTreeMap<(Ticks, Piece), usize>; 2] = Default::default();
        for note in &file.notes {
            // On the nearest twelfth of a count.
            let tick = (note.tick + 40) / 80 * 80;
            let piece = match note.piece {
                Piece::Kick | Piece::Snare | Piece::SideStick => note.piece,
                _ => continue,
            };
            let soft = piece == Piece::Snare && note.velocity < 55;
            if !soft {
                *often[(tick / 3840 % 2) as usize]
                    .entry((tick % 3840, piece))
                    .or_default() += 1;
            }
        }
        let mut differ = 0;
        for (mine, often) in mine.iter().zip(&often) {
            let voice = |voice: &Voice| match voice {
                Voice::Kick => Some(Piece::Kick),
                Voice::Snare => Some(Piece::Snare),
                Voice::SideStick => Some(Piece::SideStick),
                _ => None,
            };
            let mine: BTreeSet<_> = mine
                .iter()
                .filter_map(|(t, v)| Some((*t, voice(v)?)))
                .collect();
            let theirs: BTreeSet<_> = often
                .iter()
                .filter(|(_, n)| **n > 4)
                .map(|(k, _)| *k)
                .collect();
            differ += mine.symmetric_difference(&theirs).count();
        }
        if differ > 3 {
            let shown = shown(&own, &bare(FIRST).0, &moment);
            wrong.push(format!(
                "{name}: {differ} strokes of two bars\n{}{shown}",
                taught.learned.report
            ));
        }
    }
    assert!(
        wrong.is_empty(),
        "{} faults\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

fn learned(style: &str) -> OwnBeat {
    taught(style, 0.0, 0.0).learned.beat
}

/// The riding hand is found, so that hand cymbal and hand rate act on it.
#[test]
fn the_riding_hand_is_found() {
    for (style, cymbal, rate, hands) in [
        (
            "rock",
            Hand::HiHatClosed,
            Some(HandRate::Quarters),
            OwnHands::Lead,
        ),
        (
            "skank",
            Hand::HiHatClosed,
            Some(HandRate::Eighths),
            OwnHands::Lead,
        ),
        (
            "half-time",
            Hand::Crash,
            Some(HandRate::Quarters),
            OwnHands::Lead,
        ),
        (
            "breakdown",
            Hand::China,
            Some(HandRate::Quarters),
            OwnHands::Lead,
        ),
        (
            "slow breakdown",
            Hand::Crash,
            Some(HandRate::Halves),
            OwnHands::Lead,
        ),
        (
            "shuffle",
            Hand::HiHatClosed,
            Some(HandRate::Eighths),
            OwnHands::Lead,
        ),
        (
            "gravity blast",
            Hand::HiHatClosed,
            Some(HandRate::Eighths),
            OwnHands::Bounce,
        ),
        (
            "hand-to-hand",
            Hand::HiHatClosed,
            Some(HandRate::Sixteenths),
            OwnHands::Both,
        ),
        (
            "tom groove",
            Hand::FloorTom,
            Some(HandRate::Sixteenths),
            OwnHands::Drums(Piece::FloorLow, Piece::RackLow),
        ),
        ("off-beat bell", Hand::RideBell, None, OwnHands::Lead),
    ] {
        let beat = learned(style);
        assert_eq!(
            (beat.cymbal, beat.rate, beat.hands),
            (cymbal, rate, hands),
            "{style}"
        );
    }
    let train = learned("train");
    assert_eq!(train.hands, OwnHands::Drums(Piece::Snare, Piece::Snare));
    assert!(learned("shuffle").triplets && !learned("rock").triplets);
}

/// A bar of strokes, repeated: tick and piece.
fn repeated(bars: usize, strokes: &[(Ticks, Piece)]) -> (Vec<Heard>, Vec<Bar>) {
    let bars: Vec<_> = (0..).take(bars).map(|i| bar(i, Meter::FOUR_FOUR)).collect();
    let heard = bars.iter().flat_map(|bar| {
        let heard = |&(tick, piece)| Heard::new(bar.start + tick, piece, 100);
        strokes.iter().map(heard)
    });
    (heard.collect(), bars)
}

const SIMPLE: [(Ticks, Piece); 8] = [
    (0, Piece::Kick),
    (1920, Piece::Kick),
    (960, Piece::Snare),
    (2880, Piece::Snare),
    (0, Piece::Ride),
    (960, Piece::Ride),
    (1920, Piece::Ride),
    (2880, Piece::Ride),
];

pub fn wish() -> Wish {
    Wish {
        name: "mine".to_owned(),
        ..Wish::default()
    }
}

/// What stands in some repetitions has its rank by how often.
#[test]
fn extras_are_ranked_by_how_often_they_come() {
    let (mut heard, bars) = repeated(8, &SIMPLE);
    for (i, bar) in bars.iter().enumerate() {
        if i % 4 != 3 {
            heard.push(Heard::new(bar.start + 2400, Piece::Kick, 90));
        }
        if i == 5 {
            heard.push(Heard::new(bar.start + 720, Piece::Snare, 30));
        }
    }
    let beat = learn(&heard, &bars, &wish()).unwrap().beat;
    assert_eq!(beat.bars.len(), 1);
    let rank = |count, tick, piece| {
        let at = |s: &&fourlimb::groove::own::OwnStroke| {
            (s.count, s.tick, s.strikes) == (count, tick, Strikes::Piece(piece))
        };
        beat.bars[0].iter().find(at).map(|s| (s.rank, s.ghost))
    };
    assert_eq!(rank(1, 0, Piece::Kick), Some((0.0, false)));
    assert_eq!(rank(3, 480, Piece::Kick), Some((0.25, false)));
    assert_eq!(rank(1, 720, Piece::Snare), Some((0.88, true)));
}

/// Two bars that differ are a cycle of two; one of four bars is told from four times one.
#[test]
fn the_cycle_is_found() {
    let (one, bars) = repeated(4, &SIMPLE);
    assert_eq!(learn(&one, &bars, &wish()).unwrap().report.cycle, 1);
    let mut two = one.clone();
    for bar in bars.iter().skip(1).step_by(2) {
        two.retain(|s| s.tick != bar.start || s.piece != Piece::Kick);
        two.push(Heard::new(bar.start + 480, Piece::Kick, 100));
        two.push(Heard::new(bar.start + 1440, Piece::Kick, 100));
    }
    assert_eq!(learn(&two, &bars, &wish()).unwrap().report.cycle, 2);
    let stated = Wish {
        cycle: Some(4),
        ..wish()
    };
    assert_eq!(learn(&one, &bars, &stated).unwrap().beat.bars.len(), 4);
    let wrong = Wish {
        cycle: Some(9),
        ..wish()
    };
    assert!(matches!(
        learn(&one, &bars, &wrong),
        Err(LearnError::Cycle { cycle: 9, most: 4 })
    ));
}

/// What is not understood is said.
#[test]
fn what_is_left_out_is_said() {
    let (mut heard, bars) = repeated(4, &SIMPLE);
    heard.push(Heard::new(bars[1].start + 960 - 30, Piece::Snare, 40));
    heard.push(Heard::new(bars[2].start + 1920 + 60, Piece::Kick, 70));
    heard.push(Heard::new(bars[0].start, Piece::Sticks, 70));
    heard.push(Heard::new(bars[3].end() + 960, Piece::Kick, 70));
    for tick in [2160, 2400, 2640, 3120, 3360] {
        heard.push(Heard::new(bars[3].start + tick, Piece::FloorLow, 100));
    }
    let report = learn(&heard, &bars, &wish()).unwrap().report;
    assert_eq!((report.graces, report.sticks, report.outside), (2, 1, 1));
    assert_eq!(report.fills, [4]);
    let text = report.to_string();
    for part in [
        "2 grace notes left out",
        "bar 4: read as a fill",
        "outside of the bars",
    ] {
        assert!(text.contains(part), "{text}");
    }
    assert_eq!(learn(&[], &bars, &wish()), Err(LearnError::Empty));
    assert_eq!(learn(&heard, &[], &wish()), Err(LearnError::Bars(0)));
    // A file whose last note lies at the end of time: their usual meter would be looked for until then.
    let many = vec![bars[0]; 1 << 21];
    assert_eq!(
        learn(&heard, &many, &wish()),
        Err(LearnError::Bars(many.len()))
    );
}

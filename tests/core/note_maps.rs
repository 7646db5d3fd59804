//! Note maps: what goes out through any of them comes back, and live play sends what an export writes.

use crate::chart::charts;
use crate::support::{Blocks, cases};
use fourlimb::engine::{EventSink, LivePlayer, offline};
use fourlimb::export::hand_edit::{Reading, Unknown, bring_back, to_midi};
use fourlimb::export::{Options, export, sections};
use fourlimb::groove::Hit;
use fourlimb::kit::hi_hat::{Controller, HiHat};
use fourlimb::kit::map_file::NamedMap;
use fourlimb::kit::note_map::{Choke, Instead, Length, PieceNotes, Turns};
use fourlimb::kit::{Note, NoteMap, Piece, Response};
use fourlimb::midi::smf_read::read;
use fourlimb::midi::{Expression, ExpressionEvent, NoteEvent, NoteOut, Region, RegionNote};
use fourlimb::settings::Player;
use fourlimb::song::Timeline;
use fourlimb::time::Ticks;
use fourlimb::transport::HostTime;
use proptest::prelude::*;
use proptest::sample::{select, subsequence};

const RATE: f64 = 48_000.0;

prop_compose! {
    fn responses()(floor in 1..=127_u8, ceiling in 1..=127_u8, bend in -100..=100_i8) -> Response {
        Response { floor: floor.min(ceiling), ceiling: ceiling.max(floor), bend }
    }
}

prop_compose! {
    fn controllers()(
        number in 0..=119_u8,
        channel in 0..16_u8,
        closed in 0..=127_u8,
        open in 0..=127_u8,
        lead_ms in 0..=100_u8,
    ) -> Controller {
        Controller { number, channel, closed, open, lead_ms }
    }
}

/// What a piece has beside its notes.
fn manners() -> impl Strategy<Value = PieceNotes> {
    (
        select(Turns::ALL.to_vec()),
        responses(),
        select(Length::ALL.to_vec()),
        prop_oneof![
            Just(Choke::NoteOff),
            Just(Choke::Aftertouch),
            (0..16_u8, 0..128_u8).prop_map(|(channel, key)| Choke::Key(Note { channel, key })),
        ],
        prop_oneof![
            Just(Instead::Nearest),
            Just(Instead::Nothing),
            select(Piece::ALL.to_vec()).prop_map(Instead::Piece),
        ],
    )
        .prop_map(|(turns, response, length, choke, instead)| PieceNotes {
            turns,
            response,
            length,
            choke,
            instead,
            ..PieceNotes::default()
        })
}

/// Maps of all kinds, whose notes are all different: up to three for each piece, one of which is only read.
fn maps() -> impl Strategy<Value = NoteMap> {
    let all: Vec<Note> = (0..16)
        .flat_map(|channel| (0..128).map(move |key| Note { channel, key }))
        .collect();
    (
        subsequence(all, 80).prop_shuffle(),
        proptest::collection::vec((manners(), 0..=2_usize, 0..=1_usize), Piece::COUNT),
        proptest::option::of(controllers()),
        proptest::collection::vec(0..=127_u8, 0..4),
    )
        .prop_map(|(notes, pieces, controller, between)| {
            let mut notes = notes.into_iter();
            let mut map = NoteMap::silent();
            for (piece, (manner, own, also)) in Piece::ALL.into_iter().zip(pieces) {
                *map.get_mut(piece) = PieceNotes {
                    notes: notes.by_ref().take(own).collect(),
                    also_read: notes.by_ref().take(also).collect(),
                    ..manner
                };
            }
            map.hi_hat = match controller {
                Some(controller) => HiHat::Controller(controller),
                None => HiHat::Keys(between.into_iter().zip(notes).collect()),
            };
            map
        })
}

/// Everything that is sent, in order.
#[derive(Debug, Default)]
struct Wire(Vec<(u32, Event)>);

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Event {
    On(Note, u8),
    Off(Note),
    Express(Expression),
}

impl NoteOut for Wire {
    fn send(&mut self, event: NoteEvent) -> bool {
        let what = match event.velocity {
            Some(velocity) => Event::On(event.note, velocity),
            None => Event::Off(event.note),
        };
        self.0.push((event.sample, what));
        true
    }

    fn express(&mut self, event: ExpressionEvent) -> bool {
        self.0
            .push((event.sample, Event::Express(event.expression)));
        true
    }
}

impl EventSink for Wire {}

/// What is played live through a map, in blocks of a size: ticks and events. At the end the transport stops.
fn live(song: &Timeline, map: &NoteMap, block: u32) -> Vec<(Ticks, Event)> {
    let mut player = LivePlayer::new(RATE);
    player.exchange_chart(|used| {
        used.clone_from(song.chart());
        true
    });
    player.exchange_map(|used| {
        used.clone_from(map);
        true
    });
    let panel = song.start_settings();
    let end = song.tempo().seconds(song.end() as f64) * RATE;
    let mut at = 0.0;
    let mut sent = Vec::new();
    while at < end + f64::from(block) {
        let host = HostTime {
            playing: at < end,
            bpm: Some(song.tempo().bpm_at(0)),
            pos_quarters: Some(song.tempo().ticks(at / RATE) / 960.0),
            meter: Some((4, 4)),
            ..HostTime::default()
        };
        let frames = if host.playing {
            block.min((end - at).ceil() as u32)
        } else {
            block
        };
        let mut wire = Wire::default();
        player.block(&host, &panel, frames, false, &mut wire);
        for (sample, event) in wire.0 {
            let tick = song.tempo().ticks((at + f64::from(sample)) / RATE);
            // What the stop sends is beyond the song, however its end is rounded.
            let tick = if host.playing {
                tick.floor() as Ticks
            } else {
                Ticks::MAX
            };
            sent.push((tick, event));
        }
        at += f64::from(frames);
    }
    sent
}

/// The values of a region's controller and pressures as they were sent live, but for those after the song.
fn expressed(sent: &[(Ticks, Event)], end: Ticks) -> Vec<(Ticks, Expression)> {
    let only = |&(tick, event): &(Ticks, Event)| match event {
        Event::Express(expression) if tick < end => Some((tick, expression)),
        _ => None,
    };
    sent.iter().filter_map(only).collect()
}

/// Live, an event falls on a sample, so that it may come out a tick earlier; the last ticks may then lie on either side of
/// the song's end.
fn same_expressions(live: &[(Ticks, Expression)], region: &Region) -> Result<(), String> {
    let offline = region.expressions.iter();
    let offline: Vec<_> = offline
        .map(|e| (e.tick, e.expression))
        .filter(|(tick, _)| *tick < region.end)
        .collect();
    for (a, b) in live.iter().zip(&offline) {
        if a.1 != b.1 || (a.0 - b.0).abs() > 1 {
            return Err(format!("live {a:?}, exported {b:?}"));
        }
    }
    let same = live.len().min(offline.len());
    match live[same..].iter().chain(&offline[same..]).next() {
        Some(alone) if alone.0 < region.end - 1 => Err(format!("{alone:?} on one side only")),
        _ => Ok(()),
    }
}

/// A controller of which nothing is sent twice, and which always stands where the stroke needs it.
fn controller_is_right(sent: &[(Ticks, Event)], map: &NoteMap) -> Result<(), String> {
    let controller = map.hi_hat.controller();
    let mut value = None;
    for (tick, event) in sent {
        if let Event::Express(Expression::Control {
            channel,
            number,
            value: now,
        }) = *event
        {
            let ours = controller.map(|c| (c.channel, c.number));
            if ours != Some((channel, number)) {
                return Err(format!("{event:?} at {tick}, of no controller of the map"));
            }
            if value.replace(now) == Some(now) {
                return Err(format!("{now} at {tick} for the second time"));
            }
        }
    }
    let closed = controller.map(|c| c.closed);
    // At rest the foot holds the hi-hat shut.
    if value.is_some() && value != closed {
        return Err(format!("{value:?} is left, not {closed:?}"));
    }
    Ok(())
}

/// Every note-on of a hi-hat has the controller where its hit wants it, in the region; of several at one tick, one has.
fn openings_fit(song: &Timeline, map: &NoteMap) -> Result<(), String> {
    let Some(controller) = map.hi_hat.controller() else {
        return Ok(());
    };
    let hits = offline::play(song);
    let sent = offline::notes(&hits, song, map);
    let wanted = |(note, hit): &(RegionNote, Hit)| {
        map.send(&hit.struck())
            .filter(|sent| sent.note == note.note)
            .and_then(|sent| sent.opening)
            .map(|opened| opened.value)
    };
    for struck in &sent.notes {
        let (tick, Some(value)) = (struck.0.tick, wanted(struck)) else {
            continue;
        };
        let before = sent.expressions.iter().take_while(|(e, _)| e.tick <= tick);
        let values = before.filter_map(|(e, _)| match e.expression {
            Expression::Control { value, .. } => Some(value),
            Expression::Pressure { .. } => None,
        });
        let last = values.last();
        let here = sent.notes.iter().filter(|(note, _)| note.tick == tick);
        if !here.filter_map(wanted).any(|value| last == Some(value)) {
            return Err(format!(
                "{last:?} before {struck:?}, which wants {value} of {controller:?}"
            ));
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(cases(64))]

    #[test]
    fn a_map_goes_to_its_file_and_comes_back(map in maps(), name in "[ -~]{0,80}") {
        let named = NamedMap { name, map };
        let back = NamedMap::parse(&named.to_text());
        prop_assert_eq!(back.as_ref(), Ok(&named), "{}", named.to_text());
    }
}

proptest! {
    #![proptest_config(cases(16))]

    /// Design, rule 1, for what is sent beside notes as well.
    #[test]
    fn openings_and_chokes_are_sent_live_as_they_are_exported(
        song in charts(),
        map in maps(),
        block in select(vec![64, 333, 4096]),
    ) {
        let region = offline::render(&song, &map);
        let sent = live(&song, &map, block);
        prop_assert_eq!(same_expressions(&expressed(&sent, song.end()), &region), Ok(()));
        prop_assert_eq!(controller_is_right(&sent, &map), Ok(()));
        prop_assert_eq!(openings_fit(&song, &map), Ok(()));
        // Every note that begins ends, on its own key.
        let mut sounding = std::collections::BTreeSet::new();
        for (tick, event) in &sent {
            match event {
                Event::On(note, _) => prop_assert!(sounding.insert(*note), "{note:?} at {tick} twice"),
                Event::Off(note) => prop_assert!(sounding.remove(note), "{note:?} at {tick}, silent"),
                Event::Express(_) => {}
            }
        }
        prop_assert!(sounding.is_empty(), "{sounding:?} hang");
    }

    /// A region that came from a map is read as strokes, and these make the same region again.
    #[test]
    fn a_region_goes_through_any_map_of_distinct_keys_and_back(song in charts(), map in maps()) {
        let options = Options::default();
        let bytes = export(&song, &options, &map).unwrap().bytes;
        let Ok(file) = read(&bytes, &map) else {
            return Err(TestCaseError::fail("it can't be read"));
        };
        // What is read is a hit that was played, sounding as it did.
        let hits = offline::play(&song);
        for note in &file.notes {
            prop_assert_eq!(note.candidates.len(), 1);
            let same = hits.iter().any(|hit| {
                hit.tick == note.tick
                    && map.send(&hit.struck()).is_some_and(|sent| {
                        (sent.piece, sent.note, sent.velocity) == (note.piece, note.note, note.sent)
                    })
            });
            let chokes = Piece::ALL.into_iter().any(|p| map.get(p).choke == Choke::Key(note.note));
            prop_assert!(same || chokes, "{:?}", note);
        }
        for section in sections(&song) {
            let mut options = Options::default();
            options.set("section", &section.label).unwrap();
            let part = export(&song, &options, &map).unwrap().bytes;
            let reading = Reading { map: &map, bars: None, unknown: Unknown::LeaveOut, player: Player::Machine };
            let Ok(back) = bring_back(&part, &song, &section, &reading) else {
                continue;
            };
            prop_assert!(back.report.unclear.is_empty(), "{:?}", back.report);
            let (again, early) = to_midi(&back.rows, &song, &section, &map).unwrap();
            prop_assert!(!early);
            let (was, is) = (notes(&part, &map), notes(&again, &map));
            // Two pieces that sound through the same one at the same time come back as one stroke.
            let alone = |note: &&Sounded| was.iter().filter(|n| n.0 == note.0).count() == 1;
            let of = |notes: &'_ [Sounded]| notes.iter().filter(alone).copied().collect::<Vec<_>>();
            prop_assert_eq!(of(&was), of(&is));
        }
    }
}

/// A note of a file: when and on which piece, which note, how hard.
type Sounded = ((Ticks, Piece), Note, u8);

/// The notes of a file.
fn notes(bytes: &[u8], map: &NoteMap) -> Vec<Sounded> {
    let file = read(bytes, map).unwrap();
    let notes = file.notes.iter();
    let mut notes: Vec<_> = notes.map(|n| ((n.tick, n.piece), n.note, n.sent)).collect();
    notes.sort_unstable();
    notes
}

/// Common practice, no source: where hands have keys of their own, the lead hand has the first.
#[test]
fn alternates_go_by_hand_or_in_turn() {
    let note = |key| Note { channel: 0, key };
    let mut map = NoteMap::silent();
    *map.get_mut(Piece::Snare) = PieceNotes {
        notes: [note(38), note(39), note(40)].into_iter().collect(),
        turns: Turns::ByHand,
        ..PieceNotes::default()
    };
    let key = |map: &NoteMap, lead, turn, alternate| {
        let struck = fourlimb::kit::Struck {
            piece: Piece::Snare,
            velocity: 90,
            lead,
            turn,
            alternate,
            opening: 0,
        };
        map.send(&struck).unwrap().note.key
    };
    assert_eq!([true, false].map(|lead| key(&map, lead, 7, None)), [38, 39]);
    assert_eq!(key(&map, true, 7, Some(2)), 40);
    map.get_mut(Piece::Snare).turns = Turns::InTurn;
    assert_eq!(
        [0, 1, 2, 3].map(|turn| key(&map, true, turn, None)),
        [38, 39, 40, 38]
    );
}

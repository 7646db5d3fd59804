//! MIDI name documents and the trade's words, against General MIDI, the document type's rules, and whatever may come.

use crate::midnam_dtd::check;
use crate::support::general_midi;
use fourlimb::kit::midnam::{MidnamError, NamedList, clean, read, write};
use fourlimb::kit::names::propose;
use fourlimb::kit::proposal::{Proposal, Sureness};
use fourlimb::kit::{Note, NoteMap, Piece};
use midi_msg::GMPercussionMap;
use proptest::prelude::*;
use std::collections::BTreeMap;

fn note(key: u8) -> Note {
    Note { channel: 9, key }
}

/// The 47 names by the table that `general_midi.rs` has the source of.
fn table() -> BTreeMap<u8, String> {
    serde_json::from_str(include_str!("gm1_percussion.json")).unwrap()
}

/// The 47 names by another library, whose own source is MMA0007 / RP-003: `AcousticBassDrum` and the like.
fn of_library() -> BTreeMap<u8, String> {
    let name = |key| format!("{:?}", GMPercussionMap::try_from(key).unwrap());
    (35..=81).map(|key| (key, name(key))).collect()
}

/// What General MIDI Level 2 (MMA RP-024, 1999) adds [memory].
const LEVEL_2: [(u8, &str); 14] = [
    (27, "High Q"),
    (28, "Slap"),
    (29, "Scratch Push"),
    (30, "Scratch Pull"),
    (31, "Sticks"),
    (32, "Square Click"),
    (33, "Metronome Click"),
    (34, "Metronome Bell"),
    (82, "Shaker"),
    (83, "Jingle Bell"),
    (84, "Belltree"),
    (85, "Castanets"),
    (86, "Mute Surdo"),
    (87, "Open Surdo"),
];

fn is_general_midi(proposal: &Proposal, keys: impl Iterator<Item = u8>) {
    for key in keys {
        let placed = proposal.lines.iter().find(|line| line.note == note(key));
        let piece = general_midi(key);
        assert_eq!(
            placed.map(|line| line.piece),
            piece,
            "key {key}: {placed:?}"
        );
        let left = proposal.unplaced.iter().any(|left| left.note == note(key));
        assert_eq!(left, piece.is_none(), "key {key}");
    }
    // The key to play is that of the built-in map.
    for piece in Piece::ALL {
        let first = proposal.lines.iter().find(|line| line.piece == piece);
        // General MIDI has one key for loose and open, and sticks in level 2 only.
        let Some(first) = first else {
            let none = [Piece::HiHatLoose, Piece::Sticks];
            assert!(none.contains(&piece), "{}", piece.name());
            continue;
        };
        assert_eq!(
            first.note,
            NoteMap::default().note(piece).unwrap(),
            "{}",
            piece.name()
        );
        // Neither of its snares has a plain name: acoustic or electric.
        let sureness = if piece == Piece::Snare {
            Sureness::Likely
        } else {
            Sureness::Sure
        };
        assert_eq!(first.sureness, sureness, "{}", piece.name());
        assert!(first.reason.contains("its name is"));
    }
}

/// General MIDI by two references that know nothing of each other: every piece of the kit is placed as the built-in map
/// has it, no other instrument is.
#[test]
fn general_midi_is_placed_by_its_names() {
    for mut names in [table(), of_library()] {
        assert_eq!(names.len(), 47);
        let notes = |names: &BTreeMap<u8, String>| -> Vec<(Note, String)> {
            names
                .iter()
                .map(|(key, name)| (note(*key), name.clone()))
                .collect()
        };
        is_general_midi(&propose(&notes(&names)), 35..=81);
        names.extend(LEVEL_2.map(|(key, name)| (key, name.to_owned())));
        is_general_midi(&propose(&notes(&names)), 27..=87);
    }
}

/// A document around the inside of a device.
pub fn document(inside: &str) -> String {
    format!(
        r#"<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE MIDINameDocument PUBLIC "-//MIDI Manufacturers Association//DTD MIDINameDocument 1.0//EN" "http://www.midi.org/dtds/MIDINameDocument10.dtd">
<MIDINameDocument><Author>Somebody</Author><MasterDeviceNames><Manufacturer>Nobody</Manufacturer><Model>Box</Model>
{inside}
</MasterDeviceNames></MIDINameDocument>"#
    )
}

fn mode(channels: impl IntoIterator<Item = u8>, set: &str) -> String {
    let assign =
        |channel| format!(r#"<ChannelNameSetAssign Channel="{channel}" NameSet="{set}"/>"#);
    let all: String = channels.into_iter().map(assign).collect();
    format!(
        r#"<CustomDeviceMode Name="All"><ChannelNameSetAssignments>{all}</ChannelNameSetAssignments></CustomDeviceMode>"#
    )
}

fn available(channels: &[u8]) -> String {
    let one = |channel: u8| {
        let available = channels.contains(&channel);
        format!(r#"<AvailableChannel Channel="{channel}" Available="{available}"/>"#)
    };
    let all: String = (1..=16).map(one).collect();
    format!("<AvailableForChannels>{all}</AvailableForChannels>")
}

const BANK: &str = r#"<PatchBank Name="A"><PatchNameList><Patch Number="1" Name="P"/></PatchNameList></PatchBank>"#;

fn all() -> Vec<u8> {
    (0..16).collect()
}

/// A list in short: its name, channels, and keys with names.
pub type Short = (String, Vec<u8>, Vec<(u8, String)>);

pub fn short(lists: &[NamedList]) -> Vec<Short> {
    let list = |list: &NamedList| {
        let notes = list
            .notes
            .iter()
            .map(|named| (named.key, named.name.clone()));
        (list.list.clone(), list.channels.clone(), notes.collect())
    };
    lists.iter().map(list).collect()
}

/// As [`Short`], written down.
type Expected<'a> = (&'a str, Vec<u8>, &'a [(u8, &'a str)]);

fn is(text: &str, expected: &[Expected<'_>]) {
    assert_eq!(check(text), Ok(()), "{text}");
    let lists = read(text.as_bytes()).unwrap();
    let expected: Vec<Short> = expected
        .iter()
        .map(|(name, channels, notes)| {
            let notes = notes.iter().map(|(key, name)| (*key, (*name).to_owned()));
            ((*name).to_owned(), channels.clone(), notes.collect())
        })
        .collect();
    assert_eq!(short(&lists), expected, "{text}");
    assert!(lists.iter().all(|list| list.device == "Box"));
}

#[test]
fn lists_are_found_in_every_shape_of_document() {
    let kick = r#"<Note Number="36" Name="Kick"/>"#;
    let list = format!(r#"<NoteNameList Name="Kit">{kick}</NoteNameList>"#);
    let uses = r#"<UsesNoteNameList Name="Kit"/>"#;
    let notes: &[(u8, &str)] = &[(36, "Kick")];
    let set = |channels: &[u8], inside: &str| {
        format!(
            r#"<ChannelNameSet Name="S">{}{inside}</ChannelNameSet>"#,
            available(channels)
        )
    };
    let every: Vec<u8> = (1..=16).collect();
    let patch = |inside: &str| {
        format!(
            r#"<PatchBank Name="A"><PatchNameList><Patch Number="1" Name="Loud">{inside}</Patch></PatchNameList></PatchBank>"#
        )
    };

    // Channel 10 only: by a mode, or by what is available.
    let by_mode = [
        mode([10], "S"),
        set(&every, &format!("{uses}{BANK}")),
        list.clone(),
    ];
    is(&document(&by_mode.concat()), &[("Kit", vec![9], notes)]);
    let by_set = [
        mode([1], "other"),
        set(&[10], &format!("{uses}{BANK}")),
        list.clone(),
    ];
    let text = document(&by_set.concat());
    assert!(
        check(&text).unwrap_err().contains("other"),
        "a reference to nothing is seen"
    );
    assert_eq!(read(text.as_bytes()).unwrap()[0].channels, [9]);

    // All channels.
    let wide = [
        mode(1..=16, "S"),
        set(&every, &format!("{uses}{BANK}")),
        list.clone(),
    ];
    is(&document(&wide.concat()), &[("Kit", all(), notes)]);

    // The set has a list of its own, without a name.
    let own = format!("<NoteNameList>{kick}</NoteNameList>{BANK}");
    is(
        &document(&[mode([3], "S"), set(&every, &own)].concat()),
        &[("S", vec![2], notes)],
    );

    // Through a patch of a bank: by name, of its own, and through a list of patches elsewhere.
    let by_patch = [mode([10], "S"), set(&every, &patch(uses)), list.clone()];
    is(&document(&by_patch.concat()), &[("Kit", vec![9], notes)]);
    let own = patch(&format!("<NoteNameList>{kick}</NoteNameList>"));
    is(
        &document(&[mode([10], "S"), set(&every, &own)].concat()),
        &[("Loud", vec![9], notes)],
    );
    let bank = r#"<PatchBank Name="A"><UsesPatchNameList Name="Patches"/></PatchBank>"#;
    let patches = format!(
        r#"<PatchNameList Name="Patches"><Patch Number="1" Name="P">{uses}</Patch></PatchNameList>"#
    );
    let far = [
        mode([10, 11], "S"),
        set(&every, bank),
        patches,
        list.clone(),
    ];
    is(&document(&far.concat()), &[("Kit", vec![9, 10], notes)]);

    // Nobody uses the second list.
    let two = [
        mode([10], "S"),
        set(&every, &format!("{uses}{BANK}")),
        list.clone(),
        r#"<NoteNameList Name="Spare"><Note Number="0" Name="Low"/></NoteNameList>"#.to_owned(),
    ];
    is(
        &document(&two.concat()),
        &[("Kit", vec![9], notes), ("Spare", vec![], &[(0, "Low")])],
    );

    // Groups, a key twice, a blank name, entities of XML, numbers in another order.
    let groups = r##"<NoteNameList Name="Kit">
        <Note Number="127" Name="Cup &amp; &quot;bow&quot; &#228;"/>
        <NoteGroup Name="Snare"><Note Number="38" Name="Centre"/><Note Number="040" Name=" Edge "/></NoteGroup>
        <NoteGroup/><Note Number="41" Name="  "/>
        <Note Number="36" Name="Kick"/><Note Number="36" Name="Boom"/><Note Number="36" Name="Kick"/>
    </NoteNameList>"##;
    let text = document(
        &[
            mode([10], "S"),
            set(&every, &format!("{uses}{BANK}")),
            groups.into(),
        ]
        .concat(),
    );
    let expected: &[(u8, &str)] = &[
        (36, "Kick / Boom / Kick"),
        (38, "Centre"),
        (40, "Edge"),
        (127, "Cup & \"bow\" ä"),
    ];
    is(&text, &[("Kit", vec![9], expected)]);
    let list = &read(text.as_bytes()).unwrap()[0];
    assert_eq!(list.notes[1].group, "Snare");
    assert_eq!(list.on(9)[1], (note(38), "Snare: Centre".to_owned()));
    let placed = propose(&list.on(9));
    assert_eq!(
        placed
            .lines
            .iter()
            .filter(|line| line.piece == Piece::Snare)
            .count(),
        2
    );
}

/// Sets that share a list of patches, and many of both: the work grows with the document, not with its square.
#[test]
fn shared_lists_are_gone_through_once() {
    let set = r#"<ChannelNameSet Name="S"><PatchBank Name="B"><UsesPatchNameList Name="P"/></PatchBank></ChannelNameSet>"#;
    let patch = r#"<Patch Number="1" Name="P"><UsesNoteNameList Name="N"/></Patch>"#;
    let text = document(&format!(
        r#"{}{}<PatchNameList Name="P">{}</PatchNameList><NoteNameList Name="N"><Note Number="1" Name="A"/></NoteNameList>"#,
        mode([10], "S"),
        set.repeat(15_000),
        patch.repeat(15_000),
    ));
    assert_eq!(short(&read(text.as_bytes()).unwrap())[0].1, [9]);
}

#[test]
fn what_is_written_is_valid() {
    let named = |channel, key, name| (Note { channel, key }, name);
    for notes in [
        vec![],
        vec![named(9, 36, "Kick")],
        vec![named(9, 36, ""), named(16, 36, "A"), named(0, 128, "B")],
        vec![
            named(0, 0, "<\"&'>"),
            named(15, 127, "]]>"),
            named(9, 36, "Kick"),
            named(9, 36, "Tap"),
        ],
    ] {
        for device in ["Box", "", "\u{1}", "R&D \"1\" <2>"] {
            let text = write(device, &notes);
            assert_eq!(check(&text), Ok(()), "{text}");
        }
    }
    // The checker sees what is wrong.
    let text = write("Box", &[named(9, 36, "Kick")]);
    for (from, to) in [
        ("<Author>Fourlimb</Author>", ""),
        ("<Model>Box</Model>", ""),
        ("<PatchNameList>", "<PatchNameList/><PatchNameList>"),
        ("Available=\"true\"", "Available=\"yes\""),
        ("<Note Number=\"36\" Name=\"Kick\"/>", ""),
        ("Number=\"36\"", "Number=\"136\""),
        ("Number=\"36\"", ""),
        ("<Note ", "<Note Colour=\"red\" "),
        (
            "NoteNameList Name=\"Notes 10\"",
            "NoteNameList Name=\"Notes\"",
        ),
        ("DTD MIDINameDocument 1.0", "DTD MIDINameDocument 2.0"),
    ] {
        let damaged = text.replacen(from, to, 1);
        assert_ne!(damaged, text, "{from}");
        assert!(check(&damaged).is_err(), "{from} as {to}");
    }
    // Two names of a key are both there.
    let two = write("Box", &[named(9, 36, "Kick"), named(9, 36, "Tap")]);
    assert_eq!(read(two.as_bytes()).unwrap()[0].notes[0].name, "Kick / Tap");
}

/// The built-in map, written for a host, reads back as itself.
#[test]
fn a_map_is_written_and_proposed_again() {
    let names: Vec<(Note, &str)> = Piece::ALL
        .into_iter()
        // One key, two pieces.
        .filter(|piece| *piece != Piece::HiHatLoose)
        .map(|piece| (NoteMap::default().note(piece).unwrap(), piece.name()))
        .collect();
    let lists = read(write("Kit", &names).as_bytes()).unwrap();
    assert_eq!(lists[0].channels, [9]);
    let proposal = propose(&lists[0].on(9));
    assert_eq!(proposal.unplaced, []);
    for (note, name) in names {
        let line = proposal
            .lines
            .iter()
            .find(|line| line.note == note)
            .unwrap();
        assert_eq!((line.piece.name(), line.sureness), (name, Sureness::Sure));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// Any names, on any channels and keys: written, they are valid, and read as they were.
    #[test]
    fn what_is_written_is_read(
        device in ".{0,40}",
        names in proptest::collection::btree_map((0..16_u8, 0..128_u8), "(?s).{0,300}|[<>&\"' \t\r\n\u{0}\u{7f}\u{ffff}a]{0,20}", 0..40),
    ) {
        let notes: Vec<(Note, &str)> = names
            .iter()
            .map(|((channel, key), name)| (Note { channel: *channel, key: *key }, &**name))
            .collect();
        let text = write(&device, &notes);
        prop_assert_eq!(check(&text), Ok(()));
        let mut expected: BTreeMap<u8, Vec<(u8, String)>> = BTreeMap::new();
        for (note, name) in notes {
            let name = clean(name);
            if !name.is_empty() {
                expected.entry(note.channel).or_default().push((note.key, name));
            }
        }
        if expected.is_empty() {
            prop_assert_eq!(read(text.as_bytes()), Err(MidnamError::NoNotes));
            return Ok(());
        }
        let lists = read(text.as_bytes()).unwrap();
        let device = Some(clean(&device)).filter(|name| !name.is_empty());
        let device = device.unwrap_or("Drums".to_owned());
        prop_assert!(lists.iter().all(|list| list.device == device));
        let read: BTreeMap<u8, Vec<(u8, String)>> = short(&lists)
            .into_iter()
            .map(|(_, channels, notes)| (channels[0], notes))
            .collect();
        prop_assert_eq!(read, expected);
    }

    /// Whatever the names are: each note is placed or listed, once, with a reason.
    #[test]
    fn every_note_is_placed_or_listed(
        names in proptest::collection::vec((0..128_u8, "(?i)((kick|tom|crash|floor|low|high|1|2|left|hat|open|bell|rim| |.){0,6})"), 0..30),
    ) {
        let notes: Vec<(Note, String)> =
            names.into_iter().map(|(key, name)| (note(key), name)).collect();
        let proposal = propose(&notes);
        let lines = proposal.lines.iter().map(|line| (line.note, &line.reason));
        let left = proposal.unplaced.iter().map(|left| (left.note, &left.reason));
        let mut told: Vec<_> = lines.chain(left).collect();
        prop_assert!(told.iter().all(|(_, reason)| !reason.is_empty()));
        told.sort_by_key(|(note, _)| *note);
        let mut given: Vec<Note> = notes.iter().map(|(note, _)| *note).collect();
        given.sort();
        prop_assert_eq!(told.into_iter().map(|(note, _)| note).collect::<Vec<_>>(), given);
    }
}

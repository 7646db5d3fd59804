//! The sampler's page, with the project and the files behind it.

use super::chart::{Host, keeper, page, press, says};
use super::{Harness, Role, text, theme};
use egui::{Event, Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use fourlimb::editor::text::sampler as words;
use fourlimb::kit::map_file::NamedMap;
use fourlimb::kit::note_map::{Choke, Instead, Length, Turns};
use fourlimb::kit::proposal::{Line, Proposal, Sureness, Unplaced};
use fourlimb::kit::{MiddleC, Note, Piece, Struck};
use fourlimb::project::audio_ends::AudioSampler;
use std::collections::BTreeSet;

fn opened() -> Harness<'static, Host> {
    let mut harness = page();
    turn_page(&mut harness);
    harness
}

fn turn_page(harness: &mut Harness<'_, Host>) {
    harness.state_mut().panel.types_paths = true;
    harness.get_by_label(words::PAGE).click();
    harness.run();
}

fn map(harness: &Harness<'_, Host>) -> NamedMap {
    NamedMap::clone(&keeper(harness).document().map)
}

fn first(harness: &Harness<'_, Host>, piece: Piece) -> Option<u8> {
    let map = map(harness);
    let note = map.map.get(piece).notes.first();
    note.map(|note| note.key)
}

fn of(piece: Piece, what: &str) -> String {
    words::of(piece.name(), what)
}

/// Types into a field, in place of what stands there.
fn type_in(harness: &mut Harness<'_, Host>, role: Role, label: &str, typed: &str) {
    harness.get_by_role_and_label(role, label).click();
    harness.run();
    harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    harness.run();
    harness.event(Event::Text(typed.to_owned()));
    harness.run();
    harness.key_press(Key::Enter);
    harness.run();
}

fn type_key(harness: &mut Harness<'_, Host>, piece: Piece, typed: &str) {
    type_in(harness, Role::SpinButton, &of(piece, words::KEY), typed);
}

fn choose(harness: &mut Harness<'_, Host>, list: &str, choice: &str) {
    harness.get_by_role_and_label(Role::ComboBox, list).click();
    harness.run();
    // A long list scrolls.
    harness.get_by_label(choice).scroll_to_me();
    harness.run();
    harness.get_by_label(choice).click();
    harness.run();
}

/// The audio thread's end of trying and learning.
fn audio(harness: &Harness<'_, Host>) -> AudioSampler {
    keeper(harness).take_audio().unwrap().sampler
}

fn heard(audio: &mut AudioSampler) -> Vec<Struck> {
    std::iter::from_fn(|| audio.next_try()).collect()
}

#[test]
fn a_key_is_typed_by_number_or_name_and_undone() {
    let mut harness = opened();
    type_key(&mut harness, Piece::Kick, "24");
    assert_eq!(first(&harness, Piece::Kick), Some(24));
    type_key(&mut harness, Piece::Kick, "C2");
    assert_eq!(first(&harness, Piece::Kick), Some(48));
    type_key(&mut harness, Piece::Kick, "nonsense");
    assert_eq!(first(&harness, Piece::Kick), Some(48));
    press(&mut harness, text::UNDO);
    press(&mut harness, text::UNDO);
    assert_eq!(map(&harness), NamedMap::default());
}

#[test]
fn middle_c_is_named_as_the_sampler_names_it() {
    let mut harness = opened();
    let kick = of(Piece::Kick, words::KEY);
    let shown = |harness: &Harness<'_, Host>| {
        let field = harness.get_by_role_and_label(Role::SpinButton, &kick);
        field.value().unwrap_or_default()
    };
    assert_eq!(shown(&harness), "36 C1");
    choose(&mut harness, words::MIDDLE_C.0, "C4");
    assert_eq!(harness.state().panel.look.middle_c, MiddleC::C4);
    assert_eq!(shown(&harness), "36 C2");
    type_key(&mut harness, Piece::Kick, "C1");
    assert_eq!(first(&harness, Piece::Kick), Some(24));
}

#[test]
fn what_the_sampler_lacks_is_folded_by_table_or_by_hand_and_said() {
    let mut harness = opened();
    // General MIDI has one key for any hi-hat that is not shut.
    assert!(says(&harness, "hi-hat loose has no key: hi-hat open plays"));
    type_key(&mut harness, Piece::China, words::NONE);
    assert!(!map(&harness).map.is_sent(Piece::China));
    let sounds = |harness: &Harness<'_, Host>| map(harness).map.sounding(Piece::China);
    assert_eq!(sounds(&harness), Some(Piece::CrashRight));
    assert!(says(&harness, "the sampler lacks 2 of 18 pieces"));
    let state = of(Piece::China, words::STATE);
    choose(&mut harness, &state, &words::played_by(Piece::Splash));
    assert_eq!(sounds(&harness), Some(Piece::Splash));
    choose(&mut harness, &state, words::NOTHING);
    assert_eq!(
        map(&harness).map.get(Piece::China).instead,
        Instead::Nothing
    );
    assert_eq!(sounds(&harness), None);
    type_key(&mut harness, Piece::China, "30");
    assert_eq!(sounds(&harness), Some(Piece::China));
}

#[test]
fn a_piece_is_learned_from_a_note_and_undone() {
    let mut harness = opened();
    let mut audio = audio(&harness);
    press(&mut harness, &of(Piece::Snare, words::LEARN.0));
    assert!(audio.learns() && says(&harness, "strike the snare now"));
    let note = Note {
        channel: 2,
        key: 61,
    };
    audio.learn(note);
    harness.run_steps(3);
    assert_eq!(map(&harness).map.get(Piece::Snare).notes[..], [note]);
    assert!(!audio.learns());
    press(&mut harness, text::UNDO);
    assert_eq!(map(&harness), NamedMap::default());
}

#[test]
fn all_are_learned_one_by_one_skipped_with_a_key_and_ended() {
    let mut harness = opened();
    let mut audio = audio(&harness);
    press(&mut harness, words::LEARN_ALL.0);
    assert!(says(&harness, "1 of 18: strike the kick now"));
    harness.key_press(Key::S);
    harness.run();
    assert!(says(&harness, "2 of 18: strike the hi-hat foot now"));
    for key in [70, 71] {
        audio.learn(Note { channel: 9, key });
        harness.run_steps(3);
    }
    let learned = [Piece::Kick, Piece::HiHatFoot, Piece::FloorLow];
    let keys = learned.map(|piece| first(&harness, piece));
    assert_eq!(keys, [Some(36), Some(70), Some(71)]);
    assert!(says(&harness, "4 of 18"));
    harness.key_press(Key::ArrowLeft);
    harness.run();
    assert!(says(&harness, "3 of 18: strike the floor tom low now"));
    assert!(heard(&mut audio).is_empty(), "nothing plays by itself");
    harness
        .get_by_role_and_label(Role::CheckBox, words::HEAR_EACH.0)
        .click();
    harness.run();
    harness.key_press(Key::ArrowRight);
    harness.run();
    let pieces: Vec<_> = heard(&mut audio)
        .iter()
        .map(|struck| struck.piece)
        .collect();
    assert_eq!(pieces, [Piece::FloorLow, Piece::FloorHigh]);
    harness.key_press(Key::Escape);
    harness.run();
    assert!(!audio.learns() && !says(&harness, "strike the"));
}

#[test]
fn a_page_that_is_closed_learns_and_plays_no_more() {
    let mut harness = opened();
    let mut audio = audio(&harness);
    press(&mut harness, words::LEARN_ALL.0);
    assert!(audio.learns());
    turn_page(&mut harness);
    assert!(!audio.learns());
    turn_page(&mut harness);
    press(&mut harness, words::HEAR_ALL.0);
    turn_page(&mut harness);
    heard(&mut audio);
    harness.run_steps(120);
    assert!(heard(&mut audio).is_empty());
}

#[test]
fn a_piece_is_heard_soft_middle_and_hard() {
    let mut harness = opened();
    let mut audio = audio(&harness);
    for strength in words::STRENGTHS {
        press(&mut harness, &of(Piece::Ride, strength));
    }
    let struck = heard(&mut audio);
    assert!(struck.iter().all(|struck| struck.piece == Piece::Ride));
    let velocities: Vec<_> = struck.iter().map(|struck| struck.velocity).collect();
    assert_eq!(velocities.len(), 3);
    assert!(velocities.is_sorted_by(|soft, hard| soft < hard));
}

/// Every piece that is sent, once, within ten seconds, and the window names it.
#[test]
fn the_whole_kit_is_heard_in_the_order_of_the_list() {
    let mut harness = opened();
    let mut audio = audio(&harness);
    press(&mut harness, words::HEAR_ALL.0);
    let mut pieces = Vec::new();
    for _ in 0..10 * 60 {
        harness.step();
        for struck in heard(&mut audio) {
            pieces.push(struck.piece);
            let name = words::heard(struck.piece);
            assert!(says(&harness, &name), "{name}");
        }
    }
    assert_eq!(pieces[..2], [Piece::Kick, Piece::HiHatFoot]);
    let map = map(&harness).map;
    let sent: BTreeSet<_> = Piece::ALL.into_iter().filter(|p| map.is_sent(*p)).collect();
    assert_eq!(pieces.len(), sent.len());
    assert_eq!(pieces.into_iter().collect::<BTreeSet<_>>(), sent);
    assert!(!says(&harness, words::HEAR_NO_MORE));
}

#[test]
fn searching_leaves_the_pieces_that_have_the_words() {
    let mut harness = opened();
    type_in(&mut harness, Role::TextInput, words::SEARCH, "tom");
    let shown = |harness: &Harness<'_, Host>, piece: Piece| {
        let key = of(piece, words::KEY);
        harness
            .query_by_role_and_label(Role::SpinButton, &key)
            .is_some()
    };
    assert!(shown(&harness, Piece::RackHigh) && shown(&harness, Piece::FloorLow));
    assert!(!shown(&harness, Piece::Kick) && !shown(&harness, Piece::China));
    type_in(&mut harness, Role::TextInput, words::SEARCH, "cowbell");
    assert!(says(&harness, words::NOTHING_FOUND));
}

#[test]
fn a_key_of_two_pieces_is_named() {
    let mut harness = opened();
    assert!(says(&harness, words::NO_CONFLICT));
    type_key(&mut harness, Piece::SideStick, "38");
    assert!(says(&harness, "! same key as snare"));
    assert!(says(&harness, "38 D1: snare and side stick, used twice"));
    assert!(says(&harness, "38 D1 on channel 10: snare and side stick"));
    assert!(!says(&harness, words::NO_CONFLICT));
}

#[test]
fn a_damaged_file_is_said_and_the_map_stays() {
    let folder = tempfile::tempdir().unwrap();
    let (damaged, saved) = (
        folder.path().join("bad.json"),
        folder.path().join("kit.json"),
    );
    std::fs::write(&damaged, r#"{"kick": 36, "snare": 999}"#).unwrap();
    let mut harness = opened();
    type_key(&mut harness, Piece::Kick, "24");
    let before = map(&harness);
    let path = |path: &std::path::Path| path.to_str().unwrap().to_owned();
    type_in(&mut harness, Role::TextInput, words::PATH, &path(&damaged));
    press(&mut harness, words::LOAD.0);
    assert!(says(&harness, "bad.json") && says(&harness, "use 0 to 127"));
    assert!(says(&harness, "the map stays as it is"));
    assert_eq!(map(&harness), before);

    type_in(&mut harness, Role::TextInput, words::PATH, &path(&saved));
    press(&mut harness, words::SAVE.0);
    assert!(says(&harness, "map written to"));
    press(&mut harness, words::SAVE.0);
    assert!(says(&harness, "Press again"));
    press(&mut harness, words::BUILT_IN[0].0);
    assert!(!map(&harness).map.is_sent(Piece::Sticks));
    press(&mut harness, words::LOAD.0);
    assert_eq!(map(&harness), before);
    assert!(says(&harness, "17 of 18 pieces"));
}

#[test]
fn seldom_settings_open_below_their_row() {
    let mut harness = opened();
    let snare = Piece::Snare;
    let length = of(snare, words::LENGTH.0);
    assert!(harness.query_by_label(&length).is_none());
    press(&mut harness, snare.name());
    choose(&mut harness, &length, Length::UntilNext.name());
    let choke = of(snare, words::CHOKE.0);
    choose(&mut harness, &choke, words::CHOKES[2]);
    let alternates = of(snare, words::ALTERNATES.0);
    press(&mut harness, &words::of(&alternates, words::ADD));
    let nth = words::nth(&alternates, 1);
    type_in(&mut harness, Role::SpinButton, &nth, "39");
    choose(&mut harness, &of(snare, words::TURNS), Turns::ByHand.name());
    let bend = of(snare, words::RESPONSE[2].0);
    type_in(&mut harness, Role::SpinButton, &bend, "-40");
    let notes = map(&harness).map.get(snare).clone();
    let keys: Vec<_> = notes.notes.iter().map(|note| note.key).collect();
    assert_eq!((keys, notes.turns), (vec![38, 39], Turns::ByHand));
    assert_eq!(
        (notes.length, notes.choke),
        (Length::UntilNext, Choke::Aftertouch)
    );
    assert_eq!(notes.response.bend, -40);
    press(&mut harness, &words::of(&nth, words::REMOVE));
    assert_eq!(map(&harness).map.get(snare).notes.len(), 1);
    press(&mut harness, snare.name());
    assert!(harness.query_by_label(&length).is_none());
}

#[test]
fn the_hi_hat_opens_by_keys_or_by_a_controller() {
    let mut harness = opened();
    let mut audio = audio(&harness);
    press(&mut harness, Piece::HiHatClosed.name());
    press(&mut harness, words::ADD_OPENING.0);
    let whose = |what: &str| words::of(words::WHOLE_HI_HAT, what);
    let nth = words::nth(&whose(words::OPEN_AT.0), 1);
    type_in(&mut harness, Role::SpinButton, &nth, "75");
    type_in(
        &mut harness,
        Role::SpinButton,
        &words::of(&nth, words::KEY),
        "60",
    );
    let openings: Vec<_> = map(&harness).map.hi_hat.openings().collect();
    let note = Note {
        channel: 9,
        key: 60,
    };
    assert_eq!(openings, [(95, note)]);
    press(&mut harness, &words::of(&nth, words::HEAR));
    let struck = heard(&mut audio).pop().unwrap();
    let sent = map(&harness).map.send(&struck).unwrap();
    assert_eq!(sent.note, note);
    let opens = whose(words::OPENING.0);
    choose(&mut harness, &opens, words::OPENINGS[1]);
    type_in(
        &mut harness,
        Role::SpinButton,
        &whose(words::CONTROLLER[4].0),
        "12",
    );
    let controller = *map(&harness).map.hi_hat.controller().unwrap();
    assert_eq!((controller.number, controller.lead_ms), (4, 12));
}

/// A map with a proposal, as a file that is no map of ours gives one.
fn proposal() -> Proposal {
    let note = |key| Note { channel: 9, key };
    let line = |piece, key, sureness, reason: &str| Line {
        piece,
        note: note(key),
        sureness,
        reason: reason.to_owned(),
    };
    Proposal {
        lines: vec![
            line(Piece::Kick, 24, Sureness::Sure, "named \"Bass Drum\""),
            line(Piece::China, 30, Sureness::Guess, "strong, on first beats"),
        ],
        unplaced: vec![Unplaced {
            note: note(99),
            reason: "named \"Cowbell\"".to_owned(),
        }],
    }
}

#[test]
fn what_a_file_says_is_shown_until_it_is_put_away() {
    let mut harness = opened();
    let mut audio = audio(&harness);
    let others = vec!["Brushes".to_owned()];
    let sampler = &mut harness.state_mut().panel.sampler;
    sampler.propose(Some(proposal()), others);
    harness.run();
    for said in [
        "Bass Drum",
        "strong, on first beats",
        "a guess",
        "Cowbell",
        "Brushes",
    ] {
        assert!(says(&harness, said), "{said}");
    }
    press(
        &mut harness,
        &words::of("30 F#0 on channel 10", words::HEAR),
    );
    assert_eq!(
        heard(&mut audio).pop().map(|struck| struck.piece),
        Some(Piece::China)
    );
    press(&mut harness, words::DISMISS.0);
    assert!(!says(&harness, "Bass Drum"));
}

/// Every control has a name, and no two have the same.
#[test]
fn every_control_has_a_name_of_its_own() {
    let mut harness = opened();
    for piece in [Piece::HiHatLoose, Piece::CrashLeft] {
        press(&mut harness, piece.name());
        let roles = [
            Role::Button,
            Role::CheckBox,
            Role::ComboBox,
            Role::SpinButton,
            Role::TextInput,
        ];
        let mut names = BTreeSet::new();
        for role in roles {
            for node in harness.query_all_by_role(role) {
                let name = node.accesskit_node().label().unwrap_or_default();
                assert!(
                    !name.is_empty(),
                    "a {role:?} without a name at {:?}",
                    node.rect()
                );
                assert!(
                    names.insert((format!("{role:?}"), name.clone())),
                    "{name} twice"
                );
            }
        }
        assert!(names.len() > 18 * 7, "{}", names.len());
    }
}

/// In a small window everything is reached by scrolling.
#[test]
fn a_small_window_scrolls_to_the_last_piece() {
    let mut harness = opened();
    let size = egui::vec2(900.0, 600.0);
    assert_eq!(size, theme::WINDOW_LEAST);
    harness.set_size(size);
    harness.run();
    let reached = |harness: &Harness<'_, Host>| {
        let sticks = of(Piece::Sticks, words::KEY);
        let field = harness.query_by_role_and_label(Role::SpinButton, &sticks);
        field.is_some_and(|field| field.rect().bottom() < size.y)
    };
    assert!(!reached(&harness));
    let kick = of(Piece::Kick, words::KEY);
    let at = harness.get_by_label(&kick).rect().center();
    harness.hover_at(at);
    harness.run();
    harness.event(Event::MouseWheel {
        unit: egui::MouseWheelUnit::Point,
        source: egui::MouseWheelSource::Unknown,
        delta: egui::vec2(0.0, -2000.0),
        phase: egui::TouchPhase::Move,
        modifiers: Modifiers::NONE,
    });
    harness.run_steps(60);
    assert!(reached(&harness));
}

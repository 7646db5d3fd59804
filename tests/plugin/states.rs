//! Projects of each released version: states as the plugin saved them then, and what they played. Each is loaded by the
//! plugin of today and has to play the same, or the changelog says why it does not.
//!
//! A folder of `states` is a version: `v1` is what the first release writes. Beside `NAME.state`, the bytes that a host
//! keeps, lies `NAME.txt`, the notes: tick, channel, key and velocity. Neither is ever written again. Where a change of the
//! drummer is wanted, `NAME.changed.txt` has its line of the changelog and the notes since.
//!
//! `UPDATE_STATES=new` writes the states of [`projects`] that are not there yet into the folder of [`VERSION`], and nothing
//! else. `UPDATE_STATES="a line of the changelog"` writes the notes of today beside states that play otherwise.

use super::{QUARTER, host, rolling, set};
use hosting::host::{Expressed, Transport};
use hosting::state::{document_of, json_of, set_document, set_part, state_of};
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// The version that states are added to: a new one with each schema of the document, or with each release that saves more.
const VERSION: &str = "v1";

/// How long a project is played, in quarter notes at 120 BPM: sixteen bars of 4/4.
const PLAYED: u32 = 64;

/// Samples of a tick at 120 BPM and 48 kHz.
const TICK: u32 = QUARTER / 960;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/plugin/states")
}

/// A beat of the songwriter's own.
fn limping() -> Value {
    json!({"fourlimb_beat": 1, "name": "limping", "meter": "4/4", "feel": "straight",
        "hand_cymbal": "hi-hat closed", "hand_rate": "eighths", "hands": "one rides", "crash_opens": true,
        "bars": [[[1, 0, "kick", {"weight": 0.4}], [1, 720, "kick"], [2, 0, "snare"],
            [2, 720, "snare", {"rank": 0.3, "ghost": true}], [3, 480, "kick", {"rank": 0.5}],
            [4, 0, "snare"]]]})
}

/// The guitar's attacks: muted sixteenths with gaps, eight bars, and the last two go round.
fn riff() -> Value {
    let attacks: Vec<i64> = (0..64)
        .flat_map(|i| [if i % 3 == 2 { 720 } else { 480 }, 40 + i % 80])
        .collect();
    json!({"schema": 1, "spans": [[0, 30720]], "repeat": [23040, 30720], "attacks": attacks})
}

/// A song of everything that a section can say.
fn song() -> Value {
    json!({"fourlimb_song": 1, "title": "All of it", "take": 21, "phrase_bars": 4, "start_bar": 2,
        "kick_source": "both", "riff_grid": "sixteenths and triplets", "own_beats": {"3": limping()},
        "sections": [
            {"name": "Count", "bars": 2, "meter": "4/4", "bpm": 120, "style": "rock", "start": "count-in",
                "hand": "auto", "hand_rate": "eighths", "intensity": 0.45, "density": 0.6, "accent": 0.5,
                "fill_chance": 1.0, "fill": "long",
                "edits": [[960, "leave out", "snare"], [1440, "add", "crash left", "louder 6"],
                    [480, "change", "hand", "to 600", "softer 12"], [0, "change", "opening", "on china"],
                    [2880, "change", "snare", "velocity 101", "sounds 2875"]]},
            {"name": "Stops", "bars": 2, "style": "own 3", "intensity": {"from": 0.5, "to": 0.9},
                "hits": [[0, "long"], [1440, "short"], [2400, "short"]]},
            {"name": "Odd", "bars": 2, "meter": "7/8", "style": "double-kick", "catch": 0.7, "start": "china",
                "take": 3, "fill_shape": "break", "crashes": "section only"},
            {"name": "Locked", "bars": 2, "meter": "4/4", "locked": [
                [-20, "kick", 104], [0, "crash left", 120, "rings"], [0, "kick", 110], [480, "hi-hat open", 84],
                [960, "snare", 118], [1200, "snare", 40], [1925, "ride", 77], [2880, "snare", 119],
                [3840, "china", 122], [7660, "crash right", 115]]},
            {"name": "Panel", "bars": 2, "style": "gallop", "as_panel": ["intensity", "density"], "frozen": 3},
            {"name": "End", "bars": 1, "play": "ending"}]})
}

/// A song whose settings are drawn as automation.
fn automated() -> Value {
    json!({"fourlimb_song": 1, "title": "Drawn", "take": 5, "sections": [
            {"name": "A", "bars": 8, "meter": "4/4", "bpm": 120, "style": "rock"},
            {"name": "B", "bars": 8, "style": "blast"}],
        "automation": {
            "intensity": [{"bar": 3, "value": 0.3}, {"bar": 6, "count": 3, "value": 0.95}],
            "density": [{"bar": 1, "value": 0.0, "hold": true}, {"bar": 5, "value": 1.0}],
            "style": [{"bar": 11, "value": "double-kick"}],
            "hand": [{"bar": 4, "value": "ride"}],
            "fill_now": [{"bar": 7, "count": 3, "value": "on"}, {"bar": 8, "value": "off"}],
            "play": [{"bar": 15, "value": "ending"}, {"bar": 16, "value": "rest"}]}})
}

/// A sampler with all that a row of a note map can say.
fn map() -> Value {
    json!({"fourlimb_map": 1, "name": "My sampler", "channel": 10, "pieces": {
            "kick": {"notes": [24, 25], "alternates": "in turn"},
            "snare": {"notes": [38, 40], "alternates": "by hand",
                "velocity": {"floor": 12, "ceiling": 120, "bend": 20}},
            "hi-hat closed": {"notes": [60]}, "hi-hat loose": {"notes": [60]}, "hi-hat open": {"notes": [60]},
            "hi-hat foot": {"notes": [61]},
            "crash left": {"notes": [49], "choke": {"note": 58}, "length": "as it rings"},
            "ride": {"notes": [{"channel": 2, "key": 51}], "also read": [59], "length": "until the next"},
            "rack tom high": {"notes": [48]}, "floor tom low": {"notes": [41]},
            "splash": {"instead": "crash left"}, "sticks": {"instead": "nothing"}},
        "hi_hat": {"controller": 4, "channel": 10, "closed": 127, "open": 0, "lead_ms": 10}})
}

/// The parts of a document, by their names.
type Parts = Vec<(&'static str, Value)>;

/// What the panel is set to: names and texts of parameters.
type Panel = Vec<(&'static str, &'static str)>;

/// The projects that are saved: name, panel, parts of the document.
fn projects() -> Vec<(&'static str, Panel, Parts)> {
    let panel = vec![
        ("Beat", "gallop"),
        ("Intensity", "83%"),
        ("Hand cymbal", "ride bell"),
        ("Density", "71%"),
        ("Accent contrast", "92%"),
        ("Fill chance", "95%"),
        ("Hand rate", "quarters"),
        ("Phrase", "2 bars"),
        ("Take", "321"),
        ("Switch at", "count"),
        ("Looseness", "80%"),
        ("Swing", "58%"),
        ("Chops", "extreme"),
        ("Fill shape", "long"),
        ("Crashes", "section only"),
    ];
    let chart = vec![
        ("Play the chart", "on"),
        ("Density", "65%"),
        ("Intensity", "40%"),
    ];
    let edits = json!([
        [960, "leave out", "snare"],
        [1440, "add", "china", "velocity 120"],
        [5760, "change", "kick", "to 5880"],
        [8160, "add", "rack tom high", "softer 5"]
    ]);
    vec![
        ("panel", panel, vec![]),
        ("chart", chart.clone(), vec![("song", song())]),
        (
            "chart-and-riff",
            chart.clone(),
            vec![("song", song()), ("riff", riff())],
        ),
        (
            "riff",
            vec![
                ("Kick source", "riff"),
                ("Riff grid", "off"),
                ("Catch", "60%"),
            ],
            vec![("riff", riff())],
        ),
        (
            "note-map",
            vec![
                ("Fill chance", "100%"),
                ("Phrase", "2 bars"),
                ("Beat", "half-time"),
            ],
            vec![("map", map())],
        ),
        ("edits", vec![("Beat", "rock")], vec![("edits", edits)]),
        (
            "own-beat",
            vec![("Beat", "own 2")],
            vec![("own_beats", json!({"2": limping()}))],
        ),
        (
            "automated",
            vec![("Play the chart", "on")],
            vec![("song", automated())],
        ),
        (
            "all-of-it",
            chart,
            vec![("song", song()), ("riff", riff()), ("map", map())],
        ),
    ]
}

/// What a host keeps of a project that is made in a new instance.
fn saved(panel: &[(&str, &str)], parts: &[(&str, Value)]) -> Vec<u8> {
    let mut host = host();
    for (part, value) in parts {
        set_part(&mut host, part, value).unwrap();
    }
    for (name, text) in panel {
        set(&mut host, name, text);
    }
    host.save().unwrap()
}

/// What a state plays from the start, one line an event.
fn played(state: &[u8]) -> String {
    let mut host = host();
    host.load(state).unwrap();
    let mut text = String::new();
    for sample in (0..PLAYED * QUARTER).step_by(500) {
        let notes = host.block(&rolling(sample), &[], 500).unwrap();
        let mut beside = host.expressed().iter().peekable();
        for (i, note) in notes.iter().enumerate() {
            while let Some((at, _, expressed)) = beside.next_if(|(_, before, _)| *before <= i) {
                express(&mut text, sample + at, *expressed);
            }
            if let Some(velocity) = note.velocity {
                let (at, channel, key) =
                    ((sample + note.sample) / TICK, note.channel + 1, note.key);
                let _ = writeln!(text, "{at} {channel} {key} {velocity}");
            }
        }
        for (at, _, expressed) in beside {
            express(&mut text, sample + at, *expressed);
        }
    }
    host.block(&Transport::AT_REST, &[], 64).unwrap();
    text
}

fn express(text: &mut String, sample: u32, expressed: Expressed) {
    let _ = writeln!(text, "{} {expressed:?}", sample / TICK);
}

/// The first lines that differ.
fn difference(was: &str, is: &str) -> Option<String> {
    if was == is {
        return None;
    }
    let (was, is): (Vec<_>, Vec<_>) = (was.lines().collect(), is.lines().collect());
    let missing = was.iter().filter(|line| !is.contains(line)).take(4);
    let surplus = is.iter().filter(|line| !was.contains(line)).take(4);
    Some(format!(
        "{} events were pinned, {} are played\n  no more: {:?}\n  new: {:?}",
        was.len(),
        is.len(),
        missing.collect::<Vec<_>>(),
        surplus.collect::<Vec<_>>()
    ))
}

/// The states of every version.
fn states() -> Vec<PathBuf> {
    let versions = fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().path());
    let mut states: Vec<_> = versions
        .filter(|path| path.is_dir())
        .flat_map(|version| {
            fs::read_dir(version)
                .unwrap()
                .map(|entry| entry.unwrap().path())
        })
        .filter(|path| path.extension().is_some_and(|end| end == "state"))
        .collect();
    states.sort();
    states
}

/// Text as one line, for lines of the changelog that are broken.
fn unbroken(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether a state plays what is pinned, or what a line of the changelog allows.
fn plays_as_pinned(state: &Path, update: Option<&str>) -> Result<(), String> {
    let name = state.display();
    let now = played(&fs::read(state).unwrap());
    let read = |path: &Path| fs::read_to_string(path).map(|text| text.replace('\r', ""));
    let pinned = read(&state.with_extension("txt")).map_err(|error| format!("{name}: {error}"))?;
    let changed = state.with_extension("changed.txt");
    let Some(told) = difference(&pinned, &now) else {
        return Ok(());
    };
    let log = unbroken(include_str!("../../CHANGELOG.md"));
    if let Some(line) = update.filter(|line| *line != "new") {
        if !log.contains(&unbroken(line)) {
            return Err(format!("the changelog has no line \"{line}\""));
        }
        fs::write(&changed, format!("{line}\n{now}")).unwrap();
        return Ok(());
    }
    let Ok(allowed) = read(&changed) else {
        return Err(format!(
            "{name} plays otherwise than when it was saved, and no line of the changelog allows it: {told}\n  If it is \
             wanted, write that line, and run UPDATE_STATES=\"the line\" cargo test --test plugin states"
        ));
    };
    let (line, notes) = allowed.split_once('\n').unwrap_or_default();
    if line.trim().is_empty() || !log.contains(&unbroken(line)) {
        return Err(format!(
            "{}: the changelog has no line \"{line}\"",
            changed.display()
        ));
    }
    difference(notes, &now).map_or(Ok(()), |told| Err(format!("{}: {told}", changed.display())))
}

/// Design, what a project keeps: a saved project plays what it played.
#[test]
fn saved_projects_play_what_they_played() {
    let update = std::env::var("UPDATE_STATES").ok();
    if update.as_deref() == Some("new") {
        for (name, panel, parts) in projects() {
            let path = folder().join(VERSION).join(name).with_extension("state");
            if path.exists() {
                continue;
            }
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            let state = saved(&panel, &parts);
            fs::write(path.with_extension("txt"), played(&state)).unwrap();
            fs::write(&path, state).unwrap();
        }
    }
    let states = states();
    assert!(states.len() >= projects().len(), "{states:?}");
    let wrong: Vec<_> = states
        .iter()
        .filter_map(|state| plays_as_pinned(state, update.as_deref()).err())
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The states of the present version are those that today's plugin saves: where one is saved otherwise, there is a new
/// version, whose states are added.
#[test]
fn the_plugin_saves_as_the_latest_states_have_it() {
    for (name, panel, parts) in projects() {
        let path = folder().join(VERSION).join(name).with_extension("state");
        let kept = json_of(&fs::read(&path).unwrap()).unwrap();
        let now = json_of(&saved(&panel, &parts)).unwrap();
        let of = |state: &Value| {
            let mut document = document_of(state).unwrap();
            // It is no schema: a drummer of another number plays the same file.
            document["drummer"].take();
            document["song"]["drummer"].take();
            (document, state["params"].clone())
        };
        let ((kept, _), (now, params)) = (of(&kept), of(&now));
        let names = |value: &Value| {
            value
                .as_object()
                .unwrap()
                .keys()
                .cloned()
                .collect::<Vec<_>>()
        };
        assert_eq!(
            kept["schema"], now["schema"],
            "{name}: start a folder of states for this schema"
        );
        assert_eq!(names(&kept), names(&now), "{name}");
        assert!(params.as_object().unwrap().len() >= 28, "{name}");
    }
}

/// Every state, opened and saved again, plays the same once more: saving loses nothing of it.
#[test]
fn a_saved_project_outlives_being_saved_again() {
    for state in states() {
        let bytes = fs::read(&state).unwrap();
        let mut host = host();
        host.load(&bytes).unwrap();
        let again = host.save().unwrap();
        let (was, is) = (json_of(&bytes).unwrap(), json_of(&again).unwrap());
        for part in ["song", "riff", "map", "edits", "own_beats"] {
            let part_of = |state: &Value| document_of(state).unwrap()[part].take();
            assert_eq!(part_of(&was), part_of(&is), "{}: {part}", state.display());
        }
        assert_eq!(played(&bytes), played(&again), "{}", state.display());
    }
}

/// A state that a newer version saved goes back to the host as it came: what is known of it is played, the rest is kept.
#[test]
fn a_newer_state_is_kept_and_not_flattened() {
    let path = folder().join(VERSION).join("all-of-it.state");
    let mut newer = json_of(&fs::read(path).unwrap()).unwrap();
    let mut document = document_of(&newer).unwrap();
    document["schema"] = 99.into();
    document["later"] = json!({"of": ["a", "later", "version"]});
    document["map"] = json!({"fourlimb_map": 99, "shape": "new"});
    document["song"]["drummer"] = 99.into();
    set_document(&mut newer, &document);
    newer["params"]["from_the_future"] = json!({"f32": 0.25});
    newer["params"]["choice_of_the_future"] = json!({"i32": 7});
    newer["fields"]["later"] = "anything".into();
    let mut host = host();
    host.load(&state_of(&newer)).unwrap();
    let again = json_of(&host.save().unwrap()).unwrap();
    let kept = document_of(&again).unwrap();
    for part in ["schema", "later", "map", "song"] {
        assert_eq!(kept[part], document[part], "{part}");
    }
    let beyond = &kept["newer_state"];
    for name in ["from_the_future", "choice_of_the_future"] {
        assert_eq!(beyond["params"][name], newer["params"][name], "{name}");
    }
    assert_eq!(beyond["fields"]["later"], newer["fields"]["later"]);
    // Once more through this version, and nothing is added.
    host.load(&state_of(&again)).unwrap();
    assert_eq!(json_of(&host.save().unwrap()).unwrap(), again);
}

/// The way back: a parameter that an older version did not know and kept is taken up by the version that knows it.
#[test]
fn what_an_older_version_kept_is_taken_up_again() {
    let mut state = json_of(&host().save().unwrap()).unwrap();
    let density = state["params"]
        .as_object_mut()
        .unwrap()
        .remove("density")
        .unwrap();
    assert_ne!(density, json!({"f32": 0.25}));
    let mut document = document_of(&state).unwrap();
    document["newer_state"] =
        json!({"params": {"density": {"f32": 0.25}, "beyond": {"i32": 1}}, "fields": {}});
    set_document(&mut state, &document);
    let mut host = host();
    host.load(&state_of(&state)).unwrap();
    let again = json_of(&host.save().unwrap()).unwrap();
    assert_eq!(again["params"]["density"], json!({"f32": 0.25}));
    let kept = document_of(&again).unwrap()["newer_state"].take();
    assert_eq!(
        kept,
        json!({"params": {"beyond": {"i32": 1}}, "fields": {}})
    );
}

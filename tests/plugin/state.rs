//! Saved state: what comes back, what is made whole, what is refused.

use super::{host, ons, roll, set};
use hosting::state::{document_of, json_of, state_of};

const SETTINGS: [(&str, &str); 10] = [
    ("Beat", "gallop"),
    ("Intensity", "83%"),
    ("Hand cymbal", "ride bell"),
    ("Density", "71%"),
    ("Accent contrast", "12%"),
    ("Fill chance", "95%"),
    ("Hand rate", "quarters"),
    ("Phrase", "8 bars"),
    ("Take", "321"),
    ("Switch at", "count"),
];

#[test]
fn everything_comes_back() {
    let mut first = host();
    for (name, text) in SETTINGS {
        set(&mut first, name, text);
    }
    let state = first.save().unwrap();
    let mut second = host();
    second.load(&state).unwrap();
    for (name, text) in SETTINGS {
        let param = second.param(name).unwrap().id;
        let value = second.value(param).unwrap();
        assert_eq!(second.show(param, value).unwrap(), text);
    }
    let notes = ons(&roll(&mut first, 0, 800_000, 512));
    assert_eq!(notes, ons(&roll(&mut second, 0, 800_000, 512)));
    assert!(notes.len() > 50);
}

#[test]
fn a_parameter_that_an_older_state_lacks_gets_its_default() {
    let mut host = host();
    for (name, text) in SETTINGS {
        set(&mut host, name, text);
    }
    let mut json = json_of(&host.save().unwrap()).unwrap();
    assert!(
        json["params"]
            .as_object_mut()
            .unwrap()
            .remove("density")
            .is_some()
    );
    json["params"]["from_the_future"] = serde_json::json!({ "f32": 0.5 });
    host.load(&state_of(&json)).unwrap();
    let density = host.param("Density").unwrap().clone();
    assert_eq!(host.value(density.id).unwrap(), density.default);
    let accent = host.param("Accent contrast").unwrap().id;
    assert!((host.value(accent).unwrap() - 0.12).abs() < 1e-6);
}

#[test]
fn a_damaged_state_is_refused_and_leaves_what_was_there() {
    let mut host = host();
    set(&mut host, "Density", "71%");
    let good = host.save().unwrap();
    let density = host.param("Density").unwrap().id;
    let short_length = [&40_u64.to_le_bytes()[..], &good[8..]].concat();
    let huge_length = [&u64::MAX.to_le_bytes()[..], &good[8..]].concat();
    let not_json = [&4_u64.to_le_bytes()[..], b"{\"a\""].concat();
    for (what, bytes) in [
        ("empty", vec![]),
        ("cut off", good[..good.len() / 2].to_vec()),
        ("too short a length", short_length),
        ("huge length", huge_length),
        ("not JSON", not_json),
    ] {
        assert!(host.load(&bytes).is_err(), "{what}");
        assert!((host.value(density).unwrap() - 0.71).abs() < 1e-6, "{what}");
    }
    host.load(&good).unwrap();
}

/// A project that was saved by the first version, with its parts in fields of their own, comes back whole.
#[test]
fn a_project_of_the_first_version_comes_back() {
    let json = include_str!("states/version-1.json");
    let old: serde_json::Value = serde_json::from_str(json).unwrap();
    let mut host = host();
    host.load(&state_of(&old)).unwrap();
    let new = json_of(&host.save().unwrap()).unwrap();
    for (id, value) in old["params"].as_object().unwrap() {
        assert_eq!(new["params"][id], *value, "{id}");
    }
    // A parameter that came later has its default: crashes as the phrase.
    assert_eq!(new["params"]["crashes"]["i32"], 0);
    let document = document_of(&new).unwrap();
    assert_eq!(document["schema"], 2);
    for (part, field) in [
        ("song", "song"),
        ("riff", "riff"),
        ("observed", "seen"),
        ("view", "view"),
    ] {
        let text = old["fields"][field].as_str().unwrap();
        let mut was: serde_json::Value = serde_json::from_str(text).unwrap();
        if part == "song" {
            // It said nothing of its drummer; this one plays it now.
            was["drummer"] = fourlimb::groove::DRUMMER.into();
            // A choice has another word since.
            for section in was["sections"].as_array_mut().unwrap() {
                if section["start"] == "nothing" {
                    section["start"] = "no crash".into();
                }
            }
        }
        if part == "view" {
            was["middle_c"] = 3.into();
            was["steps"] = serde_json::json!([false, false, false]);
        }
        assert_eq!(document[part], was, "{part}");
        assert!(new["fields"][field].is_null(), "{field}");
    }
    assert_eq!(json_of(&host.save().unwrap()).unwrap(), new);
}

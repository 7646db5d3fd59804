//! Random song files, as text: for properties, and for whoever plays songs until something breaks.
//!
//! A section is drawn from a seed of its own, so a property that fails can be shrunk to the fewest sections.

use rand::RngExt;
use rand::seq::IndexedRandom;
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;
use serde_json::{Map, Value, json};
use std::ops::RangeInclusive;

/// Meters that songs are written in.
pub const METERS: [&str; 7] = ["4/4", "4/4", "3/4", "5/4", "6/8", "7/8", "12/8"];

/// What may stand in a random section.
#[derive(Debug, Clone)]
pub struct Ranges {
    /// The fields, each with the texts that it can be; a level from 0 to 1 where there are none. Half of the
    /// levels are ramps; one in four is 0 or 1. A text that stands there twice comes twice as often. The meter,
    /// where it is not among them, is as often one of [`METERS`] as any that there is.
    pub fields: Vec<(&'static str, &'static [&'static str])>,
    /// How many bars a section has.
    pub bars: RangeInclusive<u32>,
    /// Quarter notes a minute.
    pub bpm: RangeInclusive<f64>,
}

/// A section of a song file, as JSON. The same seed and ranges give the same section.
pub fn section(seed: u64, ranges: &Ranges) -> Value {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut fields = Map::new();
    fields.insert("name".to_owned(), "S".into());
    fields.insert(
        "bars".to_owned(),
        rng.random_range(ranges.bars.clone()).into(),
    );
    fields.insert(
        "bpm".to_owned(),
        rng.random_range(ranges.bpm.clone()).into(),
    );
    fields.insert("take".to_owned(), rng.random_range(1..=999).into());
    let any = format!(
        "{}/{}",
        rng.random_range(1..=32),
        2 << rng.random_range(0..4)
    );
    let usual = METERS[rng.random_range(0..METERS.len())];
    let meter = if rng.random() { usual } else { &any };
    fields.insert("meter".to_owned(), meter.into());
    for &(field, texts) in &ranges.fields {
        let value = match texts.choose(&mut rng) {
            Some(&text) => text.into(),
            None if rng.random() => json!({ "from": level(&mut rng), "to": level(&mut rng) }),
            None => level(&mut rng).into(),
        };
        fields.insert(field.to_owned(), value);
    }
    Value::Object(fields)
}

fn level(rng: &mut Xoshiro256PlusPlus) -> f32 {
    if rng.random_ratio(1, 4) {
        f32::from(u8::from(rng.random::<bool>()))
    } else {
        rng.random()
    }
}

/// The text of a song file with these sections. `fields` are those of the song beside its title: a JSON object.
pub fn song(fields: &Value, sections: impl IntoIterator<Item = Value>) -> String {
    let mut song = fields.as_object().cloned().unwrap_or_default();
    song.insert("fourlimb_song".to_owned(), 1.into());
    song.insert("title".to_owned(), "Random".into());
    song.insert("sections".to_owned(), sections.into_iter().collect());
    Value::Object(song).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn a_seed_gives_the_same_section_and_another_gives_another() {
        let ranges = Ranges {
            fields: vec![
                ("style", &["rock", "blast"]),
                ("intensity", &[]),
                ("density", &[]),
            ],
            bars: 1..=3,
            bpm: 40.0..=400.0,
        };
        let first = section(1, &ranges);
        assert_eq!(first, section(1, &ranges));
        assert_ne!(first, section(2, &ranges));
        let all: Vec<_> = (0..200).map(|seed| section(seed, &ranges)).collect();
        for (field, value) in [
            ("style", json!("rock")),
            ("style", json!("blast")),
            ("bars", json!(3)),
        ] {
            assert!(
                all.iter().any(|section| section[field] == value),
                "{field} {value}"
            );
        }
        let meters: BTreeSet<_> = all
            .iter()
            .filter_map(|section| section["meter"].as_str())
            .collect();
        assert!(
            METERS.iter().all(|meter| meters.contains(meter)),
            "{meters:?}"
        );
        assert!(meters.len() > 50, "{meters:?}");
        let steady = |section: &&Value| section["density"].is_number();
        let steady = all.iter().filter(steady).count();
        assert!((60..140).contains(&steady), "{steady}");
        assert!(all.iter().any(|section| section["density"] == json!(0.0)));
    }
}

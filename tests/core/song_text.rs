//! The text of a song: the same song when it is read again, and laid out for people.

use crate::locked::rows;
use crate::support::cases;
use fourlimb::choice::Choice as _;
use fourlimb::groove::DRUMMER;
use fourlimb::riff::{Attack, Riff};
use fourlimb::settings::{SectionFill, SettingId, StyleSlot};
use fourlimb::song::SongFile;
use fourlimb::song::file::{Level, Point, PointValue, Section, SectionMeter};
use fourlimb::time::Meter;
use proptest::collection::{btree_map, vec};
use proptest::option;
use proptest::prelude::*;
use proptest::sample::select;

/// Any finite number of that many bits, the smallest and the largest too.
fn floats() -> impl Strategy<Value = f32> {
    prop_oneof![
        0.0..=1.0_f32,
        any::<f32>().prop_filter("finite", |x| x.is_finite())
    ]
}

fn levels() -> impl Strategy<Value = Option<Level>> {
    option::of(prop_oneof![
        floats().prop_map(Level::Steady),
        (floats(), floats()).prop_map(|(from, to)| Level::Ramp { from, to }),
    ])
}

/// Names longer than a line, and with quotes, backslashes, brackets, line breaks and letters beyond ASCII.
fn names() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-z ]{0,9}",
        r#"["\\\[\]{},:\n\t ]{0,9}"#,
        any::<String>(),
        "[a-z\"]{100,130}"
    ]
}

fn meters() -> impl Strategy<Value = SectionMeter> {
    let own = (1..=32_i64, select(vec![2, 4, 8, 16]));
    prop_oneof![
        Just(SectionMeter::Host),
        own.prop_map(|(n, d)| SectionMeter::Own(Meter::new(n, d).unwrap())),
    ]
}

fn sections() -> impl Strategy<Value = Section> {
    let bpm = prop_oneof![
        Just(133.7),
        any::<f64>().prop_filter("finite", |x| x.is_finite())
    ];
    let words = (
        names(),
        option::of(select(StyleSlot::CHOICES)),
        option::of(select(SectionFill::ALL)),
        option::of(meters()),
    );
    let numbers = (any::<u32>(), option::of(any::<u32>()), option::of(bpm));
    let all = (levels(), levels(), levels(), levels());
    (words, numbers, all, option::weighted(0.3, rows(1 << 30))).prop_map(
        |((name, style, fill, meter), (bars, take, bpm), (a, b, c, d), locked)| Section {
            name,
            bars,
            meter,
            bpm,
            style,
            fill,
            take,
            intensity: a,
            density: b,
            accent: c,
            fill_chance: d,
            locked,
            ..Section::default()
        },
    )
}

fn songs() -> impl Strategy<Value = SongFile> {
    let value = prop_oneof![
        floats().prop_map(PointValue::Number),
        names().prop_map(PointValue::Name)
    ];
    let point = (any::<u32>(), any::<u32>(), value, any::<bool>());
    let point = point.prop_map(|(bar, count, value, hold)| Point {
        bar,
        count,
        value,
        hold,
    });
    let lanes = select(vec![
        SettingId::Style,
        SettingId::Intensity,
        SettingId::FillNow,
        SettingId::Play,
    ]);
    let riff = vec((0..99_999_i64, 0..=127_u8), 0..200).prop_map(|attacks| {
        let attack = |(tick, strength)| Attack {
            tick,
            strength: f32::from(strength) / 127.0,
        };
        Riff::new(attacks.into_iter().map(attack), 0, 100_000).save()
    });
    (
        names(),
        vec(sections(), 0..5),
        btree_map(lanes, vec(point, 0..20), 0..3),
        option::of(riff),
        any::<(u32, u32, u32)>(),
    )
        .prop_map(
            |(title, sections, automation, riff, (take, phrase_bars, start_bar))| SongFile {
                fourlimb_song: 1,
                drummer: DRUMMER,
                title,
                take,
                phrase_bars,
                start_bar,
                sections,
                automation,
                kick_source: None,
                riff_grid: None,
                riff,
                own_beats: Default::default(),
            },
        )
}

proptest! {
    #![proptest_config(cases(200))]

    #[test]
    fn what_is_written_is_read_back_to_the_last_bit(song in songs()) {
        let text = song.to_text();
        let back = SongFile::parse(&text).map_err(|error| TestCaseError::fail(format!("{error}\n{text}")))?;
        // Infinities aside, equal numbers are equal bits but for zero's sign; so are equal texts.
        prop_assert_eq!(&back, &song);
        prop_assert_eq!(back.to_text(), text);
    }
}

#[test]
fn a_song_is_laid_out_for_people() {
    let json = r#"{"fourlimb_song": 1, "title": "A \"B\"", "sections": [
        {"name": "Verse", "bars": 8, "bpm": 150, "intensity": {"from": 0.1, "to": 0.8}},
        {"name": "Long", "bars": 4, "meter": "4/4", "bpm": 150.5, "style": "double-kick half-time", "hand": "hi-hat open", "hand_rate": "eighths", "fill": "long"},
        {"name": "Lift", "bars": 1, "locked": [[-3, "kick", 100], [240, "crash left", 127, "rings"]]},
        {"name": "Hush", "bars": 1, "locked": []}],
        "automation": {"style": [{"bar": 2, "value": "gallop"}, {"bar": 3, "count": 2, "value": "rock"}]},
        "riff": {"schema": 1, "spans": [[0, 3840]], "attacks": [0, 127, 480, 100]}}"#;
    let expected = r#"{
  "fourlimb_song": 1,
  "drummer": 2,
  "title": "A \"B\"",
  "take": 1,
  "phrase_bars": 4,
  "sections": [
    { "name": "Verse", "bars": 8, "bpm": 150.0, "intensity": { "from": 0.1, "to": 0.8 } },
    {
      "name": "Long", "bars": 4, "meter": "4/4", "bpm": 150.5, "style": "double-kick half-time",
      "hand": "hi-hat open", "hand_rate": "eighths", "fill": "long"
    },
    {
      "name": "Lift", "bars": 1,
      "locked": [
        [-3, "kick", 100],
        [240, "crash left", 127, "rings"]
      ]
    },
    { "name": "Hush", "bars": 1, "locked": [] }
  ],
  "automation": {
    "style": [
      { "bar": 2, "count": 1, "value": "gallop" },
      { "bar": 3, "count": 2, "value": "rock" }
    ]
  },
  "riff": {
    "schema": 1,
    "spans": [
      [0, 3840]
    ],
    "attacks": [0, 127, 480, 100]
  }
}
"#;
    let text = SongFile::parse(json).unwrap().to_text();
    assert_eq!(text, expected, "{text}");
    let demo = SongFile::parse(SongFile::DEMO).unwrap().to_text();
    assert!(demo.lines().all(|line| line.len() <= 110));
}

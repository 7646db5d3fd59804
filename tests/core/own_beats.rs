//! The songwriter's own beats, played as any beat.

use crate::brute_force::{Blow, faults, two_hands_and_two_feet};
use crate::support::*;
use fourlimb::export::text_chart;
use fourlimb::groove::own::{Kept, OwnBeat, OwnBeats, OwnHands, OwnStroke, Strikes};
use fourlimb::groove::vocabulary::{self, VOCABULARY};
use fourlimb::groove::{Hit, Limb, Part, Request, compose_with};
use fourlimb::kit::Piece;
use fourlimb::settings::{
    BarSettings, Crashes, Hand, HandRate, STYLE_SLOTS, Settings, StrokeSettings, Style,
};
use fourlimb::time::tempo::ticks_per_second;
use fourlimb::time::{Bar, Meter, Ticks};
use proptest::prelude::*;
use proptest::sample::select;

/// The slot of the first own beat.
pub const FIRST: u8 = STYLE_SLOTS - 8;

/// One own beat, kept as number 1.
pub fn kept(beat: &OwnBeat) -> OwnBeats {
    OwnBeats::new(&Kept::from([(1, beat.clone())])).unwrap()
}

pub fn own_part(own_beats: &OwnBeats, bar: Bar, bpm: f64, bar_settings: &BarSettings) -> Part {
    let mut part = Part::new();
    let request = Request {
        own_beats,
        ..Request::new(bar, bpm, bar_settings)
    };
    compose_with(&request, &mut part);
    part
}

/// The bare settings of a slot: no fills, no crashes, on the grid, at density 0.
pub fn bare(style: u8) -> (BarSettings, StrokeSettings) {
    let settings = Settings::default();
    let bar_settings = BarSettings {
        style,
        feel: 0.0,
        fill_chance: 0.0,
        crashes: Crashes::None,
        ..settings.bar_settings
    };
    let stroke_settings = StrokeSettings {
        density: 0.0,
        ..settings.stroke_settings
    };
    (bar_settings, stroke_settings)
}

fn stroke(count: u8, tick: Ticks, strikes: Strikes) -> OwnStroke {
    OwnStroke {
        count,
        tick,
        strikes,
        rank: 0.0,
        weight: None,
        ghost: false,
    }
}

fn piece(count: u8, tick: Ticks, piece: Piece) -> OwnStroke {
    stroke(count, tick, Strikes::Piece(piece))
}

/// A syncopated backbeat in 4/4.
fn backbeat() -> OwnBeat {
    OwnBeat {
        name: "limping".to_owned(),
        meter: Meter::FOUR_FOUR,
        triplets: false,
        cymbal: Hand::HiHatClosed,
        rate: Some(HandRate::Eighths),
        hands: OwnHands::Lead,
        opens: true,
        bars: vec![vec![
            piece(1, 0, Piece::Kick),
            piece(1, 720, Piece::Kick),
            piece(3, 480, Piece::Kick),
            piece(2, 0, Piece::Snare),
            piece(4, 0, Piece::Snare),
        ]],
    }
}

/// A bar as a chart, without how hard.
fn chart(beat: &OwnBeat, meter: &str, bar_settings: impl Fn(&mut BarSettings)) -> String {
    let (mut plan, stroke_settings) = bare(FIRST);
    bar_settings(&mut plan);
    let part = own_part(&kept(beat), bar(2, meter.parse().unwrap()), 120.0, &plan);
    let plain = |hit| Hit {
        velocity: 90,
        ..hit
    };
    let hits: Vec<_> = part.hits(&stroke_settings).map(plain).collect();
    text_chart::bar(part.bar(), &hits)
}

#[test]
fn an_own_beat_plays_what_it_says() {
    let expected = "                1    2    3    4   \n\
                    hi-hat closed  |x-x-|x-x-|x-x-|x-x-|\n\
                    snare          |----|o---|----|o---|\n\
                    kick           |o--o|----|--o-|----|\n";
    assert_eq!(chart(&backbeat(), "4/4", |_| ()), expected);
}

#[test]
fn the_hand_rate_acts_on_it() {
    let quarters = chart(&backbeat(), "4/4", |plan| {
        plan.hand_rate = HandRate::Quarters
    });
    assert!(
        quarters.contains("hi-hat closed  |x---|x---|x---|x---|"),
        "{quarters}"
    );
}

#[test]
fn in_another_meter_it_leaves_out_or_repeats_whole_counts() {
    for (meter, snare, kick) in [
        ("3/4", "|----|----|o---|", "|o--o|o--o|----|"),
        (
            "5/4",
            "|----|o---|----|----|o---|",
            "|o--o|----|--o-|--o-|----|",
        ),
        ("6/8", "|------|o-----|", "|o----o|------|"),
        ("7/8", "|----|o---|----o-|", "|o--o|----|--o---|"),
        ("2/4", "|----|o---|", "|o--o|----|"),
    ] {
        let chart = chart(&backbeat(), meter, |_| ());
        let has = |name: &str, line: &str| {
            let line = format!("{name:<14} {line}\n");
            assert!(chart.contains(&line), "{meter}: no {line}in\n{chart}");
        };
        has("snare", snare);
        has("kick", kick);
    }
}

/// Its own extras come in at their ranks.
#[test]
fn extras_have_their_ranks() {
    let mut beat = backbeat();
    beat.bars[0].push(OwnStroke {
        rank: 0.5,
        ..piece(2, 480, Piece::Kick)
    });
    let (plan, bare) = bare(FIRST);
    let part = own_part(&kept(&beat), bar(2, Meter::FOUR_FOUR), 120.0, &plan);
    let at = part.bar().start + 960 + 480;
    for (density, sounds) in [(0.0, false), (0.49, false), (0.5, true), (1.0, true)] {
        let moment = StrokeSettings { density, ..bare };
        let found = part
            .hits(&moment)
            .any(|hit| hit.grid == at && hit.piece == Piece::Kick);
        assert_eq!(found, sounds, "density {density}");
    }
}

/// Weights decide which of two strokes is the louder, the more so the greater the accent.
#[test]
fn weights_are_by_place() {
    let mut beat = backbeat();
    for (stroke, weight) in beat.bars[0].iter_mut().zip([-0.5, 1.0, -0.5]) {
        stroke.weight = Some(weight);
    }
    let (plan, bare) = bare(FIRST);
    let own = kept(&beat);
    let loud = |accent| {
        let mut sums = [0_u32; 2];
        for index in 0..40 {
            let part = own_part(&own, bar(index, Meter::FOUR_FOUR), 120.0, &plan);
            let start = part.bar().start;
            for hit in part.hits(&StrokeSettings { accent, ..bare }) {
                if hit.piece == Piece::Kick && hit.grid - start <= 720 {
                    sums[usize::from(hit.grid > start)] += u32::from(hit.velocity);
                }
            }
        }
        (f64::from(sums[1]) - f64::from(sums[0])) / 40.0
    };
    assert!(loud(0.5) > 10.0, "{}", loud(0.5));
    assert!(loud(1.0) > loud(0.5) + 5.0, "{} {}", loud(1.0), loud(0.5));
    assert!(loud(0.0).abs() < 4.0, "{}", loud(0.0));
}

#[test]
fn an_empty_own_slot_plays_the_last_beat_of_the_vocabulary() {
    let last = u8::try_from(VOCABULARY.len() - 1).unwrap();
    for slot in FIRST..STYLE_SLOTS {
        assert_eq!(
            OwnBeats::NONE.beat(slot).name(),
            VOCABULARY.last().unwrap().name()
        );
        let [own, built_in] = [slot, last].map(|style| {
            let (plan, moment) = bare(style);
            let part = part(bar(1, Meter::FOUR_FOUR), 120.0, &plan);
            let hits: Vec<_> = part.hits(&moment).collect();
            decisions(&hits)
        });
        assert_eq!(own, built_in);
    }
}

#[test]
fn own_slots_have_their_texts_and_the_old_ones_are_read() {
    for (number, slot) in (1..).zip(FIRST..STYLE_SLOTS) {
        assert_eq!(Style::slot_text(slot), format!("own {number}"));
        for text in [
            format!("own {number}"),
            format!("OWN {number}"),
            format!("free {}", slot + 1),
        ] {
            assert_eq!(Style::slot_from_text(&text), Some(slot), "{text}");
        }
    }
    assert_eq!(Style::slot_text(FIRST - 1), "free 56");
    assert_eq!(vocabulary::slot("own 1"), None);
}

/// What strikes where: count, sixteenth or third, voice, rank.
fn strokes() -> impl Strategy<Value = Vec<OwnStroke>> {
    let pieces: Vec<_> = Piece::ALL
        .into_iter()
        .filter(|p| *p != Piece::Sticks)
        .collect();
    let strikes = prop_oneof![
        3 => Just(Strikes::Hand),
        3 => select(vec![Piece::Kick, Piece::Snare]).prop_map(Strikes::Piece),
        2 => select(pieces).prop_map(Strikes::Piece),
    ];
    let at = select(vec![0, 0, 0, 480, 480, 240, 720, 320, 640, 120]);
    let rank = prop_oneof![3 => Just(0.0), 1 => 0.01..=1.0_f32];
    let one = (
        1..=4_u8,
        at,
        strikes,
        rank,
        proptest::option::of(-1.5..=1.5_f32),
        any::<bool>(),
    );
    let one = one.prop_map(|(count, tick, strikes, rank, weight, soft)| OwnStroke {
        count,
        tick,
        strikes,
        rank,
        weight,
        ghost: soft && rank > 0.0 && strikes == Strikes::Piece(Piece::Snare),
    });
    proptest::collection::vec(one, 1..40).prop_map(|mut strokes| {
        strokes.sort_by_key(|s| (s.count, s.tick, s.strikes.instrument()));
        strokes.dedup_by_key(|s| (s.count, s.tick, s.strikes.instrument()));
        strokes
    })
}

pub fn beats() -> impl Strategy<Value = OwnBeat> {
    let rates: Vec<_> = HandRate::ALL
        .iter()
        .copied()
        .filter(|r| *r != HandRate::Auto)
        .collect();
    let cymbals: Vec<_> = Hand::ALL
        .iter()
        .copied()
        .filter(|h| *h != Hand::Auto)
        .collect();
    let drums = vec![
        Piece::Snare,
        Piece::RackHigh,
        Piece::RackLow,
        Piece::FloorHigh,
        Piece::FloorLow,
    ];
    let hands = prop_oneof![
        4 => Just(OwnHands::Lead),
        1 => Just(OwnHands::Bounce),
        1 => Just(OwnHands::Both),
        1 => (select(drums.clone()), select(drums)).prop_map(|(a, b)| OwnHands::Drums(a, b)),
    ];
    let hands = (hands, any::<bool>(), any::<bool>());
    let ride = (select(cymbals), proptest::option::of(select(rates)));
    (proptest::collection::vec(strokes(), 1..=4), ride, hands).prop_map(
        |(bars, (cymbal, rate), (hands, triplets, opens))| OwnBeat {
            name: "random".to_owned(),
            meter: Meter::FOUR_FOUR,
            triplets,
            cymbal,
            rate,
            hands,
            opens,
            bars,
        },
    )
}

proptest! {
    #![proptest_config(cases(400))]

    /// Whatever a songwriter writes, two hands and two feet can play what comes of it, into the next bar too.
    #[test]
    fn random_own_beats_can_be_played(
        beat in beats(),
        plan in plans(),
        moment in moments(),
        meter in likely_meters(),
        bpm in 50.0..=260.0_f64,
        index in 0..40_i64,
    ) {
        prop_assert_eq!(beat.check(), Ok(()));
        let own = kept(&beat);
        let plan = BarSettings { style: FIRST, feel: 0.0, swing: 0.5, ..plan };
        let parts = [0, 1].map(|i| own_part(&own, bar(index + i, meter), bpm, &plan));
        let start = parts[0].bar().start;
        let ms = |tick: Ticks| (tick - start) as f64 / ticks_per_second(bpm) * 1000.0;
        let until = ms(parts[0].bar().end()) + 400.0;
        let hits = parts.iter().flat_map(|part| part.hits(&moment));
        let mut hits: Vec<(f64, Hit)> = hits.map(|hit| (ms(hit.grid), hit)).collect();
        hits.retain(|(at, hit)| *at < until && !hit.grace);
        let shown = || text_chart::bar(parts[0].bar(), &hits.iter().map(|h| h.1).collect::<Vec<_>>());
        // The foot lets the halves ring, which whoever reads the region gives to a hand.
        let splash = |hit: &Hit| hit.limb == Limb::OtherFoot && hit.piece == Piece::HiHatOpen;
        let limbs: Vec<_> = hits.iter().copied().filter(|(_, hit)| !splash(hit)).collect();
        let found = faults(plan.player, &limbs);
        prop_assert!(found.is_empty(), "{:?}\n{}", found, shown());
        let blows: Vec<Blow> = hits.iter().map(|(at, hit)| (*at, hit.piece)).collect();
        prop_assert!(two_hands_and_two_feet(plan.player, &blows), "{}", shown());
    }

    /// What is written is read back.
    #[test]
    fn its_file_is_read_back(beat in beats()) {
        let text = fourlimb::song::own_beat::to_text(&beat);
        prop_assert_eq!(fourlimb::song::own_beat::parse(&text).unwrap(), beat);
    }
}

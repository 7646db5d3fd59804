//! The riff: captured, and followed by the feet.

use crate::support::cases;
use fourlimb::engine::{BlockInput, LivePlayer};
use fourlimb::groove::{Hit, Part, Request, compose_with, vocabulary};
use fourlimb::kit::Piece;
use fourlimb::midi::NoteEvent;
use fourlimb::riff::window::MARGIN;
use fourlimb::riff::{Attack, Edit, GuitarStroke, Riff};
use fourlimb::settings::Listen;
use fourlimb::settings::{BarSettings, KickSource, Player, RiffGrid, Settings, StrokeSettings};
use fourlimb::song::chart::MIDDLE;
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::{Bar, Meter, Ticks};
use fourlimb::transport::HostTime;
use proptest::prelude::*;

const BAR: Ticks = 3840;
const RATE: f64 = 48_000.0;

fn attack(tick: Ticks, strength: f32) -> Attack {
    Attack { tick, strength }
}

fn style(name: &str) -> u8 {
    let place = vocabulary::VOCABULARY.iter().position(|b| b.name() == name);
    u8::try_from(place.unwrap()).unwrap()
}

fn bar_settings(source: KickSource, grid: RiffGrid, player: Player) -> BarSettings {
    BarSettings {
        kick_source: source,
        riff_grid: grid,
        player,
        fill_chance: 0.0,
        feel: 0.0,
        ..Settings::default().bar_settings
    }
}

/// The kicks of bars of 4/4, by the riff.
fn kicks(
    riff: &Riff,
    bars: std::ops::Range<i64>,
    bpm: f64,
    bar_settings: &BarSettings,
) -> Vec<Hit> {
    let (mut part, mut around) = (Part::new(), Vec::with_capacity(8192));
    let stroke_settings = StrokeSettings {
        density: 1.0,
        ..Settings::default().stroke_settings
    };
    let mut hits = Vec::new();
    for index in bars {
        let bar = Bar {
            start: index * BAR,
            meter: Meter::FOUR_FOUR,
        };
        riff.gather(bar.start - MARGIN, bar.end() + MARGIN, &mut around);
        let known = riff.knows(bar.start, bar.end()).then_some(&*around);
        let request = Request {
            riff: known,
            ..Request::new(bar, bpm, bar_settings)
        };
        compose_with(&request, &mut part);
        hits.extend(
            part.hits(&stroke_settings)
                .filter(|hit| hit.piece == Piece::Kick),
        );
    }
    hits
}

fn ticks(hits: &[Hit]) -> Vec<Ticks> {
    hits.iter().map(|hit| hit.tick).collect()
}

/// A host that rolls at a tempo, and the player in it; returns kicks by sample.
fn perform(
    player: &mut LivePlayer,
    settings: &Settings,
    listen: Listen,
    struck: &[(u64, u32, f32, bool)],
    bpm: f64,
    blocks: impl IntoIterator<Item = u32>,
) -> Vec<(u64, u8)> {
    let (mut at, mut kicks) = (0_u64, Vec::new());
    for frames in blocks {
        let quarters = at as f64 / RATE * bpm / 60.0;
        let host = HostTime {
            playing: true,
            bpm: Some(bpm),
            pos_quarters: Some(quarters),
            pos_samples: Some(at as i64),
            meter: Some((4, 4)),
            bar_quarters: Some((quarters / 4.0).floor() * 4.0),
            loop_quarters: None,
        };
        let due: Vec<GuitarStroke> = struck
            .iter()
            .filter(|s| (at..at + u64::from(frames)).contains(&s.0))
            .map(|&(sample, ago, strength, note)| GuitarStroke {
                sample: (sample - at) as u32,
                ago,
                strength,
                note,
            })
            .collect();
        player.set_panel(&Settings {
            listen,
            ..*settings
        });
        let block = BlockInput {
            host,
            guitar: &due,
            frames,
        };
        let mut events: Vec<NoteEvent> = Vec::new();
        player.process(&block, &mut events);
        assert!(events.is_sorted_by_key(|event| event.sample));
        let kick = |e: &&NoteEvent| e.note.key == 36 && e.velocity.is_some();
        let of = |e: &NoteEvent| (at + u64::from(e.sample), e.velocity.unwrap());
        kicks.extend(events.iter().filter(kick).map(of));
        at += u64::from(frames);
    }
    kicks
}

fn to_sample(tick: Ticks, bpm: f64) -> u64 {
    (tick as f64 / 960.0 * 60.0 / bpm * RATE).ceil() as u64
}

#[test]
fn the_grid_takes_the_nearest_slot() {
    for (grid, at, slot) in [
        (RiffGrid::Off, 137, 137),
        (RiffGrid::Sixteenths, 137, 240),
        (RiffGrid::Sixteenths, 119, 0),
        (RiffGrid::Triplets, 300, 320),
        (RiffGrid::ThirtySeconds, 137, 120),
        (RiffGrid::SixteenthsAndTriplets, 310, 320),
        (RiffGrid::SixteenthsAndTriplets, 230, 240),
        (RiffGrid::Sixteenths, -119, 0),
        (RiffGrid::Sixteenths, -121, -240),
    ] {
        assert_eq!(grid.snap(at), slot, "{grid:?} {at}");
    }
}

/// A gallop played a little off the grid, the 1 a little early: the kicks of a beat that follows
/// the riff are the gallop, and no other beat's kick changes.
#[test]
fn beats_that_follow_the_riff_play_it() {
    let gallop: Vec<Ticks> = (0..8)
        .flat_map(|c| [0, 480, 720].map(|t| c * 960 + t))
        .collect();
    let played = gallop
        .iter()
        .enumerate()
        .map(|(i, t)| attack(t + [-14, 11, 3][i % 3], 0.9));
    let riff = Riff::new(played, -60, 2 * BAR);
    let with = |name, source| BarSettings {
        style: style(name),
        ..bar_settings(source, RiffGrid::Sixteenths, Player::Extreme)
    };
    for name in ["breakdown", "hammer blast"] {
        assert!(vocabulary::beat(style(name)).follows_riff);
        let hits = kicks(&riff, 0..2, 140.0, &with(name, KickSource::Beat));
        assert_eq!(ticks(&hits), gallop, "{name}");
    }
    let own = kicks(
        &Riff::default(),
        0..2,
        140.0,
        &with("rock", KickSource::Beat),
    );
    let beat = kicks(&riff, 0..2, 140.0, &with("rock", KickSource::Beat));
    assert_eq!(own, beat);
    let riffed = kicks(&riff, 0..2, 140.0, &with("rock", KickSource::Riff));
    assert_eq!(ticks(&riffed), gallop);
    // Both: the beat's kicks, and the gallop's that lie farther than half a sixteenth from them.
    let bare = with("four on the floor", KickSource::Both);
    let both = ticks(&kicks(&riff, 0..2, 140.0, &bare));
    assert_eq!(both, gallop);
    // Where the riff is not known the beat goes on as it was.
    let after = kicks(&riff, 4..6, 140.0, &with("rock", KickSource::Riff));
    assert_eq!(
        ticks(&after),
        ticks(&kicks(
            &Riff::default(),
            4..6,
            140.0,
            &with("rock", KickSource::Beat)
        ))
    );
    // A rest of the guitar is a rest of the feet.
    let rest = Riff::new([], 0, 2 * BAR);
    assert_eq!(
        kicks(&rest, 0..2, 140.0, &with("breakdown", KickSource::Beat)),
        []
    );
}

#[test]
fn density_leaves_out_the_weak_ones_first() {
    let strengths = [1.0, 0.2, 0.8, 0.5];
    let riff = Riff::new(
        (0..16).map(|i| attack(i * 240, strengths[i as usize % 4])),
        0,
        BAR,
    );
    let bar_settings = bar_settings(KickSource::Riff, RiffGrid::Sixteenths, Player::Machine);
    let mut part = Part::new();
    let bar = Bar {
        start: 0,
        meter: Meter::FOUR_FOUR,
    };
    let request = Request {
        riff: Some(riff.attacks()),
        ..Request::new(bar, 120.0, &bar_settings)
    };
    compose_with(&request, &mut part);
    let count = |density| {
        let stroke_settings = StrokeSettings {
            density,
            ..Settings::default().stroke_settings
        };
        part.hits(&stroke_settings)
            .filter(|hit| hit.piece == Piece::Kick)
            .count()
    };
    assert_eq!([0.0, 0.2, 0.4].map(count), [8, 12, 16]);
    // Strong attacks are loud kicks.
    let stroke_settings = Settings::default().stroke_settings;
    let hits: Vec<Hit> = part
        .hits(&stroke_settings)
        .filter(|hit| hit.piece == Piece::Kick)
        .collect();
    let mean = |i: usize| {
        hits.iter()
            .skip(i)
            .step_by(4)
            .map(|h| f64::from(h.velocity))
            .sum::<f64>()
            / 4.0
    };
    assert!(mean(0) > mean(1) + 10.0, "{} {}", mean(0), mean(1));
}

/// No foot is faster than it can be, and no two kicks closer than two feet can be.
fn assert_feet(hits: &[(f64, Option<fourlimb::groove::Limb>)], player: Player, context: &str) {
    let limits = player.limits();
    // Ticks are rounded up when the limits are applied and samples when they sound.
    let hair = 1.5e-4;
    for pair in hits.windows(2) {
        let gap = pair[1].0 - pair[0].0;
        assert!(
            gap + hair >= limits.feet_s && gap > 0.0,
            "{context}: {gap} s {pair:?}"
        );
    }
    for foot in [
        fourlimb::groove::Limb::LeadFoot,
        fourlimb::groove::Limb::OtherFoot,
    ] {
        let of: Vec<f64> = hits
            .iter()
            .filter(|h| h.1 == Some(foot))
            .map(|h| h.0)
            .collect();
        for pair in of.windows(2) {
            assert!(
                pair[1] - pair[0] + hair >= limits.foot_s,
                "{context}: {foot:?} {pair:?}"
            );
        }
    }
}

fn garbage() -> impl Strategy<Value = Vec<(Ticks, f32)>> {
    // Up to 1,000 attacks a second at 120 BPM over four bars.
    (1_usize..8000).prop_flat_map(|count| prop::collection::vec((0..4 * BAR, 0.0_f32..1.0), count))
}

proptest! {
    #![proptest_config(cases(24))]

    #[test]
    fn the_riffs_kicks_respect_the_feet(
        attacks in garbage(),
        bpm in 60.0_f64..260.0,
        grid in prop::sample::select(RiffGrid::ALL),
        source in prop::sample::select(&[KickSource::Riff, KickSource::Both][..]),
        player in prop::sample::select(Player::ALL),
    ) {
        let riff = Riff::new(attacks.iter().map(|a| attack(a.0, a.1)), 0, 4 * BAR);
        let bar_settings = bar_settings(source, grid, player);
        let hits = kicks(&riff, 0..4, bpm, &bar_settings);
        let second = 60.0 / bpm / 960.0;
        let timed: Vec<_> = hits.iter().map(|h| (h.grid as f64 * second, Some(h.limb))).collect();
        assert_feet(&timed, player, "captured");
        prop_assert!(!hits.is_empty());
    }

    #[test]
    fn live_kicks_respect_the_feet(
        attacks in garbage(),
        source in prop::sample::select(&[KickSource::Riff, KickSource::Both][..]),
        player in prop::sample::select(Player::ALL),
        frames in 1_u32..2000,
    ) {
        let mut struck: Vec<_> = attacks
            .iter()
            .map(|a| (to_sample(a.0, 120.0), 0, a.1, true))
            .collect();
        struck.sort_by_key(|s| s.0);
        let settings = Settings { bar_settings: bar_settings(source, RiffGrid::Off, player), ..Settings::default() };
        let blocks = std::iter::repeat_n(frames, 400_000 / frames as usize);
        let mut live = LivePlayer::new(RATE);
        let kicks = perform(&mut live, &settings, Listen::Off, &struck, 120.0, blocks);
        let timed: Vec<_> = kicks.iter().map(|k| (k.0 as f64 / RATE, None)).collect();
        assert_feet(&timed, player, "live");
    }

    /// What two feet can play sounds the same live and captured, whatever the block size, and live at
    /// the very sample.
    #[test]
    fn live_and_captured_give_the_same_kicks(
        slots in prop::collection::vec(any::<bool>(), 64),
        off in prop::collection::vec(-20_i64..20, 64),
        bpm in 100.0_f64..155.0,
        frames in 1_u32..2000,
    ) {
        let places: Vec<Ticks> = (0..64)
            .filter(|i| slots[*i])
            .map(|i| (i as i64 * 240 + off[i]).max(0) + 240)
            .collect();
        let struck: Vec<_> = places.iter().map(|t| (to_sample(*t, bpm), 0, 0.8, true)).collect();
        let bar_settings = BarSettings { style: style("breakdown"), ..bar_settings(KickSource::Riff, RiffGrid::Off, Player::Skilled) };
        let settings = Settings { bar_settings, ..Settings::default() };
        let end = to_sample(6 * BAR, bpm) as u32;
        let blocks = || (0..=end / frames).map(|_| frames);
        let mut player = LivePlayer::new(RATE);
        let live = perform(&mut player, &settings, Listen::Notes, &struck, bpm, blocks());
        // Until the bar after the first attack the beat may play itself.
        let first = places.first().map_or(0, |t| t.div_euclid(BAR) * BAR + BAR);
        let first = to_sample(first, bpm) - 60;
        let live: Vec<u64> = live.iter().map(|k| k.0).filter(|s| *s >= first).collect();
        player.reset();
        let captured: Vec<Ticks> = player.riff().attacks().iter().map(|a| a.tick).collect();
        prop_assert!(captured.iter().zip(&places).all(|(a, b)| (a - b).abs() <= 1), "{captured:?} {places:?}");
        prop_assert_eq!(captured.len(), places.len());
        let riff = player.riff().clone();
        let mut second = LivePlayer::new(RATE);
        second.riff_mut().copy_from(&riff);
        let again = perform(&mut second, &settings, Listen::Off, &[], bpm, blocks());
        let last = struck.last().map_or(0, |s| s.0);
        let again: Vec<u64> = again.iter().map(|k| k.0).filter(|s| *s >= first && *s <= last + 60).collect();
        let live: Vec<u64> = live.into_iter().filter(|s| *s <= last + 60).collect();
        let tick = (60.0 / bpm / 960.0 * RATE).ceil() as u64 + 1;
        prop_assert_eq!(live.len(), again.len(), "{:?} {:?}", live, again);
        for (a, b) in live.iter().zip(&again) {
            prop_assert!(a.abs_diff(*b) <= tick, "{a} {b}");
            prop_assert!(struck.iter().any(|s| s.0 == *a), "{a} is no attack's sample");
        }
    }
}

/// Kicks that follow the guitar take the level of the moment at which they sound, and the time since the kick before,
/// whatever the block size: here the chart's intensity moves from step to step within the blocks.
#[test]
fn live_kicks_are_as_loud_in_every_block_size() {
    let song = r#"{"fourlimb_song": 1, "title": "t", "kick_source": "riff", "sections": [
        {"name": "A", "bars": 8, "bpm": 120, "style": "breakdown", "density": 1.0,
         "intensity": {"from": 0.0, "to": 1.0}}]}"#;
    let song = Timeline::new(&SongFile::parse(song).unwrap()).unwrap();
    let settings = Settings {
        follow_chart: true,
        stroke_settings: StrokeSettings {
            intensity: MIDDLE,
            density: MIDDLE,
            accent: MIDDLE,
            ..Settings::default().stroke_settings
        },
        ..song.start_settings()
    };
    // Sixteenths, each a little off the grid; as loud as they come.
    let struck: Vec<_> = (0..8 * 16)
        .map(|i| (to_sample(i * 240 + i * 7 % 31, 120.0), 0, 0.8, true))
        .collect();
    let play = |frames: u32| {
        let mut player = LivePlayer::new(RATE);
        player.exchange_chart(|used| {
            used.clone_from(song.chart());
            true
        });
        let blocks = (0..=8 * 96_000 / frames).map(|_| frames);
        perform(
            &mut player,
            &settings,
            Listen::Notes,
            &struck,
            120.0,
            blocks,
        )
    };
    let fine = play(1);
    assert!(fine.len() > 100, "{}", fine.len());
    for frames in [64, 333, 1000, 8192] {
        let coarse = play(frames);
        let differ: Vec<_> = fine.iter().zip(&coarse).filter(|(a, b)| a != b).collect();
        assert_eq!(fine.len(), coarse.len(), "{frames}");
        assert!(differ.is_empty(), "{frames}: {differ:?}");
    }
}

/// A second pass punches in at its first stroke and out a bar after its last; the detector's delay is
/// taken off; what is handed on makes the same riff.
#[test]
fn the_last_pass_wins_where_it_played() {
    let settings = Settings::default();
    let mut player = LivePlayer::new(RATE);
    let mut copy = Riff::with_room();
    let late = 480; // 10 ms
    let sound = |tick: Ticks| (to_sample(tick, 120.0) + late, late as u32, 0.7, false);
    let pass = |player: &mut LivePlayer, copy: &mut Riff, places: &[Ticks]| {
        let struck: Vec<_> = places.iter().map(|t| sound(*t)).collect();
        player.reset();
        perform(
            player,
            &settings,
            Listen::SideChain,
            &struck,
            120.0,
            [1024; 480],
        );
        player.reset();
        player.capture_mut().drain(|edit: Edit| copy.apply(edit));
    };
    pass(
        &mut player,
        &mut copy,
        &[0, 960, 1920, 2880, BAR, BAR + 960],
    );
    let places = |riff: &Riff| riff.attacks().iter().map(|a| a.tick).collect::<Vec<_>>();
    let near = |riff: &Riff, wished: &[Ticks]| {
        let found = places(riff);
        assert_eq!(found.len(), wished.len(), "{found:?} {wished:?}");
        assert!(
            found.iter().zip(wished).all(|(a, b)| (a - b).abs() <= 1),
            "{found:?} {wished:?}"
        );
    };
    near(player.riff(), &[0, 960, 1920, 2880, BAR, BAR + 960]);
    assert_eq!(&copy, player.riff());
    // The second pass plays only from beat 3 of bar 1 to beat 1 of bar 2.
    pass(&mut player, &mut copy, &[1900, 2400, BAR]);
    near(player.riff(), &[0, 960, 1900, 2400, BAR]);
    assert_eq!(&copy, player.riff());
    // A pass in which nothing is heard changes nothing.
    let before = player.riff().clone();
    pass(&mut player, &mut copy, &[]);
    assert_eq!(&before, player.riff());
}

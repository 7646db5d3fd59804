//! Its limits: no clicks, no more voices than there may be, no louder than it may be. Loudness and
//! true peak by the crate `ebur128` (EBU R 128, ITU-R BS.1770).

use super::{HZ, RATE, db, dry, kit, mono, one, play, power, strike};
use crate::support::Blocks as _;
use fourlimb::engine::{EventSink, LivePlayer};
use fourlimb::groove::Hit;
use fourlimb::groove::vocabulary::slot;
use fourlimb::kit::Piece;
use fourlimb::midi::{ExpressionEvent, NoteEvent, NoteOut};
use fourlimb::preview::{DEFAULT_LEVEL_DB, LEVELS_DB, Mix, Preview, Strike, stroke_chance};
use fourlimb::settings::DEFAULT_ROOM;
use fourlimb::settings::{Hand, Player, Settings};
use fourlimb::transport::HostTime;
use hosting::sound::Sound as Recording;

/// In the default room, at a level in dB.
fn roomy(level_db: f32) -> Mix {
    Mix {
        level_db,
        room: DEFAULT_ROOM,
    }
}

/// How sharply a signal bends at most: a step shows as a spike many times the rest.
fn sharpest(x: &[f32]) -> f32 {
    x.windows(4)
        .map(|w| (w[3] - 3.0 * w[2] + 3.0 * w[1] - w[0]).abs())
        .fold(0.0, f32::max)
}

/// Neither switching off, nor a choke, nor a stroke that makes an older one go, ticks: on a slow, pure
/// tone a step would stand out.
#[test]
fn letting_go_does_not_click() {
    let ringing = one(Piece::FloorLow, 100, 0.6);
    // Past the stick, where only the skin rings.
    let (from, cut) = (9600, 14_400);
    let rest = sharpest(&ringing[from..cut]);
    let mut stepped = ringing.clone();
    stepped[cut..].fill(0.0);
    assert!(
        sharpest(&stepped[from..]) > rest * 30.0,
        "the measure sees a step"
    );

    let mut preview = Preview::new(HZ);
    let mut out = Vec::new();
    preview.strike(strike(0, Piece::FloorLow, 100).1);
    for block in 0..60 {
        if block == 30 {
            preview.let_go();
        }
        let (mut left, mut right) = ([0.0; 480], [0.0; 480]);
        preview.render(kit(), dry(-12.0), &mut left, &mut right);
        out.extend(left);
    }
    assert!(
        sharpest(&out[from..]) < rest * 6.0,
        "{} of {rest}",
        sharpest(&out[from..])
    );
    assert!(
        out[14_400 + 480..].iter().all(|x| *x == 0.0),
        "10 ms later it is silent"
    );
    assert!(preview.is_silent());

    // Four strokes: the first makes room for the fourth while it still rings.
    let strikes: Vec<_> = (0..4)
        .map(|i| strike(i * 4800, Piece::FloorLow, 1))
        .collect();
    let strikes = [&[strike(0, Piece::FloorLow, 127)], &strikes[1..]].concat();
    let stolen = mono(&play(&strikes, RATE / 2, &[512], dry(-12.0)));
    let after = 3 * 4800 + 1200;
    assert!(
        sharpest(&stolen[after..]) < rest * 6.0,
        "{} of {rest}",
        sharpest(&stolen[after..])
    );
}

#[test]
fn the_block_size_is_not_heard() {
    let strikes: Vec<_> = (0..60)
        .map(|i| {
            strike(
                i * 997 + 13,
                Piece::ALL[i as usize % Piece::COUNT],
                40 + i as u8,
            )
        })
        .collect();
    let whole = play(&strikes, RATE * 2, &[RATE * 2], roomy(-3.0));
    for blocks in [&[64][..], &[1, 7, 300, 2], &[8192]] {
        let cut = play(&strikes, RATE * 2, blocks, roomy(-3.0));
        for (a, b) in [(&whole.left, &cut.left), (&whole.right, &cut.right)] {
            let apart = a
                .iter()
                .zip(b)
                .map(|(a, b)| (a - b).abs())
                .fold(0.0, f32::max);
            assert!(apart < 1e-5, "{blocks:?}: {apart}");
        }
    }
}

#[test]
fn more_strokes_than_any_drummer_has_stay_bounded() {
    let strikes: Vec<_> = (0..4000_u32)
        .map(|i| strike(i * 12, Piece::ALL[(i * 7 % 18) as usize], 127))
        .collect();
    let loud = play(&strikes, RATE * 2, &[256, 511], roomy(LEVELS_DB.1));
    assert!(loud.left.iter().chain(&loud.right).all(|x| x.is_finite()));
    let peak = loud.loudness().unwrap().true_peak_db;
    assert!(peak <= -1.0, "true peak {peak} dB");
}

/// What the player strikes, heard.
struct Ear {
    preview: Preview,
    struck: usize,
}

impl NoteOut for Ear {
    fn express(&mut self, _: ExpressionEvent) -> bool {
        true
    }

    fn send(&mut self, _: NoteEvent) -> bool {
        true
    }
}

impl EventSink for Ear {
    fn struck(&mut self, sample: u32, hit: &Hit, grab: Option<u32>) {
        self.struck += 1;
        let (piece, velocity) = (hit.piece, hit.velocity);
        self.preview.strike(Strike {
            grab,
            sample,
            piece,
            velocity,
            chance: stroke_chance(1, hit.tick, piece),
        });
    }
}

/// Eight bars of a beat with everything on, as the plugin would sound them.
fn hear(style: &str, hand: Hand, bpm: f64, level_db: f32) -> Recording {
    let mut settings = Settings::default();
    settings.bar_settings.style = slot(style).unwrap();
    settings.bar_settings.fill_chance = 1.0;
    settings.bar_settings.player = Player::Machine;
    settings.stroke_settings.intensity = 1.0;
    settings.stroke_settings.density = 1.0;
    settings.stroke_settings.accent = 1.0;
    settings.stroke_settings.hand = hand;
    let mut player = LivePlayer::new(f64::from(RATE));
    let mut ear = Ear {
        preview: Preview::new(HZ),
        struck: 0,
    };
    let mut recording = Recording::new(RATE);
    let frames = 480;
    let blocks = (8.0 * 4.0 * 60.0 / bpm * f64::from(RATE)) as u32 / frames;
    for block in 0..blocks {
        let pos = f64::from(block * frames) / f64::from(RATE) * bpm / 60.0;
        let host = HostTime {
            playing: true,
            bpm: Some(bpm),
            pos_quarters: Some(pos),
            meter: Some((4, 4)),
            bar_quarters: Some((pos / 4.0).floor() * 4.0),
            ..HostTime::default()
        };
        player.block(&host, &settings, frames, false, &mut ear);
        let (mut left, mut right) = ([0.0; 480], [0.0; 480]);
        ear.preview
            .render(kit(), roomy(level_db), &mut left, &mut right);
        recording.add(&left, &right);
    }
    assert!(ear.struck > 150, "{style}: {} strokes", ear.struck);
    recording
}

/// True peak at most -1 dBTP at any level (EBU R 128 recommends that maximum for programmes); at the
/// default level the loudest thing there is stays well below the -23 LUFS of a broadcast plus what
/// a mix of drums alone may have over it.
#[test]
fn the_densest_blast_stays_within_limits() {
    for (style, hand) in [
        ("bomb blast", Hand::Crash),
        ("gravity blast", Hand::China),
        ("hammer blast", Hand::HiHatOpen),
    ] {
        let most = hear(style, hand, 280.0, LEVELS_DB.1).loudness().unwrap();
        assert!(most.true_peak_db <= -1.0, "{style} at most: {most:?}");
        let usual = hear(style, hand, 280.0, DEFAULT_LEVEL_DB)
            .loudness()
            .unwrap();
        // Whatever is struck at once: the peaks are rounded before the level.
        assert!(usual.true_peak_db <= -10.5, "{style}: {usual:?}");
        assert!((-25.0..=-16.0).contains(&usual.lufs), "{style}: {usual:?}");
    }
}

/// The level is what the parameter says: 12 dB between its default and its most, but for the limiter.
#[test]
fn the_level_is_in_decibels() {
    let at = |level| {
        db(power(&mono(&play(
            &[strike(0, Piece::RackLow, 60)],
            RATE,
            &[512],
            dry(level),
        ))))
    };
    let (least, usual, less) = (at(LEVELS_DB.0), at(DEFAULT_LEVEL_DB), at(-24.0));
    assert!((usual - less - 12.0).abs() < 0.1, "{usual} {less}");
    assert!((usual - least - 36.0).abs() < 0.1, "{usual} {least}");
}

#[test]
fn what_is_off_leaves_the_output_alone() {
    let mut preview = Preview::new(HZ);
    preview.strike(strike(0, Piece::Kick, 127).1);
    preview.let_go();
    let (mut left, mut right) = ([0.5; 64], [0.25; 64]);
    preview.render(kit(), dry(-12.0), &mut left, &mut right);
    assert_eq!((left, right), ([0.5; 64], [0.25; 64]));
}

/// The hardest stroke on each piece, at the default level in the default room: 12 dB below full scale, and no
/// piece is out of proportion. Between 6 dB and nothing below the loudest are drums, below that cymbals and sticks.
#[test]
fn the_hardest_stroke_peaks_12_db_below_full_scale() {
    for piece in Piece::ALL {
        let stroke = play(
            &[strike(0, piece, 127)],
            RATE / 2,
            &[512],
            roomy(DEFAULT_LEVEL_DB),
        );
        let both = stroke.left.iter().chain(&stroke.right);
        let peak = 20.0 * both.fold(0.0_f32, |peak, x| peak.max(x.abs())).log10();
        assert!(
            (-24.0..=-11.99).contains(&peak),
            "{}: {peak} dB",
            piece.name()
        );
    }
}

/// Every 16 steps of velocity are heard, the last as well: in the default room at the default level, compressor and
/// rounding leave at least a decibel of each, in the power of 0.4 s and in momentary loudness (EBU Tech 3341).
#[test]
fn velocity_is_heard_up_to_the_hardest_stroke() {
    for piece in Piece::ALL {
        let levels = [47, 63, 79, 95, 111, 127].map(|velocity| {
            let stroke = play(
                &[strike(0, piece, velocity)],
                RATE * 2 / 5,
                &[512],
                roomy(DEFAULT_LEVEL_DB),
            );
            let power = power(&stroke.left) + power(&stroke.right);
            [f64::from(db(power)), stroke.momentary().unwrap()]
        });
        for pair in levels.windows(2) {
            let louder = [0, 1].map(|i| pair[1][i] - pair[0][i]);
            assert!(
                louder.iter().all(|db| *db >= 1.0),
                "{}: {levels:?}",
                piece.name()
            );
        }
    }
}

/// A room of nothing is no room, and one that is turned down is silent in the end.
#[test]
fn the_room_is_as_large_as_asked_for() {
    let tail = |room: f32| {
        let strikes = [strike(0, Piece::SideStick, 110)];
        let mix = Mix {
            level_db: -12.0,
            room,
        };
        let all = mono(&play(&strikes, RATE, &[512], mix));
        db(power(&all[14_400..19_200]))
    };
    let [none, half, all] = [0.0, 0.5, 1.0].map(tail);
    assert!(none < -120.0, "{none} dB");
    assert!(
        half > none + 30.0 && all > half + 3.0,
        "{none} {half} {all}"
    );
}

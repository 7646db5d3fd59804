//! Every meter with everything on: nothing that can be asked of the drummer is too much.

use crate::support::*;
use fourlimb::groove::{Call, Part, Request, compose_with};
use fourlimb::riff::Attack;
use fourlimb::riff::window::MARGIN;
use fourlimb::settings::{
    BarSettings, FillShape, HandRate, KickSource, Player, RiffGrid, Settings,
};
use fourlimb::time::Meter;
use rand::rngs::StdRng;
use rand::{RngExt as _, SeedableRng as _};

/// Composes a bar with everything on. One in `dense` has a riff that no guitar could play.
fn compose_all(meter: Meter, style: u8, dense: usize, random: &mut StdRng, part: &mut Part) {
    let mut pick = |n: usize| random.random_range(0..n);
    let bar = bar(i64::try_from(pick(64)).unwrap(), meter);
    let counts = meter.counts();
    let from = counts[pick(counts.len())].start;
    let Settings { bar_settings, .. } = Settings::default();
    let bar_settings = BarSettings {
        style,
        fill_chance: 1.0,
        hand_rate: HandRate::Sixteenths,
        player: Player::ALL[pick(4)],
        kick_source: KickSource::ALL[pick(3)],
        riff_grid: RiffGrid::ALL[pick(5)],
        fill_shape: FillShape::ALL[pick(4)],
        ..bar_settings
    };
    let (before, after) = (bar.start - MARGIN, bar.end() + MARGIN);
    let attacks = (before..after).step_by(20).take(8192).map(|tick| Attack {
        tick,
        strength: 1.0,
    });
    let attacks: Option<Vec<_>> = (pick(dense) == 0).then(|| attacks.collect());
    let end = meter.bar_len();
    let fill = [None, Some((0, end)), Some((from, end))][pick(3)];
    let call = Call {
        fill,
        lands: pick(2) == 0,
    };
    let bpm = [20.0, 90.0, 250.0][pick(3)];
    let request = Request {
        call,
        riff: attacks.as_deref(),
        ..Request::new(bar, bpm, &bar_settings)
    };
    compose_with(&request, part);
    assert!(part.strokes().iter().all(|s| s.play_tick >= bar.start));
}

/// Every meter, a few beats each; the longest and the shortest bar with all of them.
#[test]
fn no_meter_beat_fill_or_riff_is_too_much() {
    let mut part = Part::new();
    let mut random = StdRng::seed_from_u64(14);
    for numerator in 1..=32 {
        for denominator in [2, 4, 8, 16] {
            let meter = Meter::new(numerator, denominator).unwrap();
            for _ in 0..4 {
                let style = random.random_range(0..BEATS);
                compose_all(meter, style, 4, &mut random, &mut part);
            }
        }
    }
    for (numerator, denominator, times) in [(32, 2, 6), (1, 16, 12)] {
        let meter = Meter::new(numerator, denominator).unwrap();
        for style in (0..BEATS).cycle().take(times * usize::from(BEATS)) {
            compose_all(meter, style, 40, &mut random, &mut part);
        }
    }
}

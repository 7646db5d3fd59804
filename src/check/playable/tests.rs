//! Cases that a drummer would answer without thinking.

use crate::check::playable::*;
use crate::settings::Player;
use Piece::*;

/// Strokes at ticks, at 120 BPM: 1920 ticks a second.
fn at(strokes: &[(Ticks, Piece)]) -> Vec<TimedStroke> {
    let struck = |&(tick, piece): &(Ticks, Piece)| TimedStroke {
        tick,
        seconds: tick as f64 / 1920.0,
        piece,
    };
    strokes.iter().map(struck).collect()
}

fn found(strokes: &[(Ticks, Piece)], player: Player) -> Vec<(usize, Why, String)> {
    let strokes = at(strokes);
    problems(&strokes, &player.limits())
        .into_iter()
        .map(|p| (p.stroke, p.why, p.change.words(strokes[p.stroke].piece)))
        .collect()
}

fn run(piece: Piece, step: Ticks, n: Ticks) -> Vec<(Ticks, Piece)> {
    (0..n).map(|i| (i * step, piece)).collect()
}

#[test]
fn three_hands_and_three_feet() {
    let three = [(0, Snare), (0, HiHatClosed), (0, CrashLeft), (960, Snare)];
    let expected = vec![(1, Why::ThirdHand, "leave out the hi-hat closed".to_owned())];
    for &player in Player::ALL {
        assert_eq!(found(&three, player), expected);
    }
    let toms = [(0, Snare), (0, FloorLow), (0, CrashLeft), (960, Snare)];
    let expected = "leave out the floor tom low".to_owned();
    assert_eq!(
        found(&toms, Player::Machine),
        vec![(1, Why::ThirdHand, expected)]
    );
    let kicks = [(0, Kick), (0, Kick), (0, Kick), (960, Kick)];
    assert_eq!(found(&kicks, Player::Machine).len(), 1);
    assert_eq!(found(&kicks, Player::Machine)[0].1, Why::ThirdFoot);
}

#[test]
fn the_pedal_needs_the_other_foot() {
    let both = [(0, Kick), (0, HiHatFoot)];
    assert_eq!(found(&both, Player::Everyday), vec![]);
    let double = [(0, Kick), (0, HiHatFoot), (0, Kick)];
    let leave = "leave out the hi-hat foot".to_owned();
    assert_eq!(
        found(&double, Player::Machine),
        vec![(1, Why::PedalFoot, leave)]
    );
}

#[test]
fn speed_limits_per_limb() {
    // 120 BPM: a sixteenth is 125 ms, a thirty-second 62.5 ms.
    assert_eq!(found(&run(HiHatClosed, 240, 16), Player::Everyday), vec![]);
    assert_eq!(found(&run(HiHatClosed, 120, 16), Player::Extreme), vec![]);
    let fast = found(&run(HiHatClosed, 120, 16), Player::Everyday);
    assert!(fast.len() >= 4, "{fast:?}");
    assert!(fast.iter().all(|f| f.1 == Why::HandTooFast), "{fast:?}");
    // Feet alternate at half their interval.
    assert_eq!(found(&run(Kick, 240, 16), Player::Everyday), vec![]);
    let kicks = found(&run(Kick, 120, 16), Player::Skilled);
    assert!(kicks.iter().all(|f| f.1 == Why::FootTooFast) && !kicks.is_empty());
}

#[test]
fn moves_take_time() {
    // Both hands on the hi-hat, a thirty-second after one another, and back from the china.
    let near = [
        (0, HiHatClosed),
        (0, Snare),
        (230, HiHatClosed),
        (230, Snare),
    ];
    assert_eq!(found(&near, Player::Extreme), vec![]);
    let far = [(0, HiHatClosed), (0, Snare), (205, China), (205, Snare)];
    let far = found(&far, Player::Extreme);
    assert_eq!(far.len(), 1);
    assert_eq!(far[0].1, Why::TooFar);
}

#[test]
fn one_motion_gives_two() {
    // 52 ms: one hand holds it on the snare while the other rides, not on a cymbal.
    let blast = |piece| {
        let mut strokes = run(piece, 100, 32);
        strokes.extend(run(Ride, 240, 13));
        strokes
    };
    assert_eq!(found(&blast(Snare), Player::Extreme), vec![]);
    assert!(!found(&blast(China), Player::Extreme).is_empty());
    assert!(!found(&blast(FloorLow), Player::Extreme).is_empty());
    // A double on a tom beside a ride.
    let double = [(0, RackLow), (100, RackLow), (0, Ride), (240, Ride)];
    assert_eq!(found(&double, Player::Extreme), vec![]);
}

#[test]
fn what_carries_the_beat_is_moved() {
    // A tom 52 ms after two crashes; the hands are free again a sixteenth later.
    let strokes = [(0, CrashLeft), (0, China), (100, FloorLow), (960, Snare)];
    let later = "move the floor tom low a sixteenth later".to_owned();
    assert_eq!(
        found(&strokes, Player::Extreme),
        vec![(2, Why::HandTooFast, later)]
    );
}

#[test]
fn order_does_not_matter_and_nothing_is_playable() {
    assert_eq!(found(&[], Player::Everyday), vec![]);
    let mut strokes = run(Snare, 100, 40);
    strokes.extend(run(China, 90, 40));
    let count = found(&strokes, Player::Skilled).len();
    strokes.reverse();
    assert_eq!(found(&strokes, Player::Skilled).len(), count);
}

#[test]
fn the_hi_hat_is_open_or_closed() {
    // Both hands and the pedal at one tick.
    let all = [
        (0, HiHatClosed),
        (0, HiHatOpen),
        (0, HiHatFoot),
        (960, Snare),
    ];
    let leave = |piece: Piece| format!("leave out the {}", piece.name());
    for &player in Player::ALL {
        assert_eq!(
            found(&all, player),
            vec![(1, Why::OneHiHat, leave(HiHatOpen))]
        );
    }
    // General MIDI has one key for open and loose; which of the two goes makes no difference to the hands.
    for open in [HiHatOpen, HiHatLoose] {
        let both = [(0, Kick), (0, open), (0, HiHatClosed), (960, Snare)];
        let found = found(&both, Player::Machine);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].1, Why::OneHiHat);
    }
    // Opened, and closed by the foot: the usual way.
    let closed = [(0, HiHatOpen), (480, HiHatFoot), (480, HiHatClosed)];
    assert_eq!(found(&closed, Player::Everyday), vec![]);
}

#[test]
fn a_flam_with_a_crash_drops_its_grace_note() {
    for drum in [Snare, FloorHigh] {
        // 28 ms: 54 ticks.
        let flam = [(906, drum), (960, drum), (960, CrashLeft), (1920, drum)];
        for &player in &[Player::Everyday, Player::Skilled, Player::Extreme] {
            let found = found(&flam, player);
            assert_eq!(found.len(), 1, "{found:?}");
            assert_eq!(
                (found[0].0, &*found[0].2),
                (0, &*format!("leave out the {}", drum.name()))
            );
        }
        // Without the crash it takes two hands.
        assert_eq!(found(&flam[..2], Player::Everyday), vec![]);
    }
}

#[test]
fn the_foot_does_not_close_what_a_hand_strikes_open() {
    let leave = "leave out the hi-hat foot".to_owned();
    for open in [HiHatOpen, HiHatLoose] {
        let both = [(0, open), (0, HiHatFoot), (960, Snare)];
        assert_eq!(
            found(&both, Player::Machine),
            vec![(1, Why::OneHiHat, leave.clone())]
        );
        // Two hands on the open hi-hat are one reason, and so the pedal goes.
        let hands = [(0, open), (0, open), (0, HiHatFoot), (960, Snare)];
        assert_eq!(found(&hands, Player::Machine).len(), 1);
        // A third hand has to go anyway: the one on the hi-hat, and the foot may stay.
        let three = [(0, Snare), (0, CrashLeft), (0, open), (0, HiHatFoot)];
        let found = found(&three, Player::Machine);
        assert_eq!((found.len(), found[0].0), (1, 2));
    }
    assert_eq!(
        found(&[(0, HiHatClosed), (0, HiHatFoot)], Player::Everyday),
        vec![]
    );
}

#[test]
fn two_feet_have_a_pace() {
    // 120 BPM: 100 ms are 192 ticks, 57.5 ms 110.
    let two = |gap| [(0, Kick), (gap, Kick), (1920, Snare)];
    for (player, gap) in [(Player::Everyday, 192), (Player::Extreme, 110)] {
        assert_eq!(found(&two(gap + 1), player), vec![]);
        let close = found(&two(gap - 10), player);
        assert_eq!(close.len(), 1);
        assert_eq!(close[0].1, Why::FootTooFast);
    }
    // One kick written twice is left out.
    let twice = found(&two(0), Player::Skilled);
    assert_eq!((twice.len(), &*twice[0].2), (1, "leave out the kick"));
    assert_eq!(found(&two(0), Player::Machine), vec![]);
}

//! Beside recorded drums: decay, colour and air within a factor of 1.5, in the orders that recordings have.
//!
//! The figures are ours, measured as [`hosting::figures`] says on the strokes `drum_*` of the sample package
//! `supersonic-scsynth-samples` 0.84.2 (npm, CC0).

use super::{RATE, dry, play, strike};
use fourlimb::kit::Piece;
use hosting::figures::{Figures, RECORDED, figures};

fn measured(piece: Piece, velocity: u8) -> Figures {
    figures(&play(
        &[strike(0, piece, velocity)],
        RATE * 3,
        &[512],
        dry(-12.0),
    ))
}

#[test]
fn decay_and_colour_are_those_of_recorded_strokes() {
    for recorded in RECORDED {
        let piece = Piece::ALL
            .into_iter()
            .find(|piece| piece.name() == recorded.piece)
            .unwrap();
        let ours = measured(piece, 127);
        for (what, ours, theirs) in [
            ("decay in ms", ours.decay_ms, recorded.decay_ms),
            (
                "centroid of the attack in Hz",
                ours.attack_hz,
                recorded.attack_hz,
            ),
            ("centroid of the tail in Hz", ours.tail_hz, recorded.tail_hz),
            ("flatness of the tail", ours.flatness, recorded.flatness),
        ] {
            let Some((low, high)) = theirs else { continue };
            assert!(
                (low / 1.5..=high * 1.5).contains(&ours),
                "{}, {what}: {ours}, recorded {low} to {high}",
                recorded.piece
            );
        }
        // A tail of few lines would be a bell, however flat the rest of it is.
        if let Some((_, most)) = recorded.line {
            assert!(ours.line <= most * 1.5, "{}: {ours:?}", recorded.piece);
        }
    }
}

/// Modes stand out of every cymbal's wash, and none rules it: between noise (.56) and what a bell is (.24 of the power in
/// 25 Hz, as our ride's bell has it).
#[test]
fn cymbals_are_neither_noise_nor_bells() {
    for piece in [
        Piece::HiHatLoose,
        Piece::HiHatOpen,
        Piece::Ride,
        Piece::CrashLeft,
        Piece::CrashRight,
        Piece::China,
        Piece::Splash,
    ] {
        for velocity in [60, 127] {
            let ours = measured(piece, velocity);
            assert!(
                ours.flatness < 0.3 && ours.line < 0.15,
                "{} at {velocity}: {ours:?}",
                piece.name()
            );
        }
    }
}

/// Force changes colour on every piece: brighter, longer, and at no step the other way.
#[test]
fn force_changes_colour_and_length() {
    for piece in Piece::ALL {
        let strokes = [30, 60, 90, 120].map(|velocity| measured(piece, velocity));
        for pair in strokes.windows(2) {
            assert!(
                pair[0].attack_hz < pair[1].attack_hz,
                "{}: {pair:?}",
                piece.name()
            );
            assert!(
                pair[0].decay_ms < pair[1].decay_ms * 1.01,
                "{}: {pair:?}",
                piece.name()
            );
        }
        let [soft, .., hard] = strokes;
        assert!(
            hard.attack_hz > soft.attack_hz * 1.01,
            "{}: {soft:?} {hard:?}",
            piece.name()
        );
        assert!(
            hard.decay_ms > soft.decay_ms * 1.01,
            "{}: {soft:?} {hard:?}",
            piece.name()
        );
    }
}

/// The beater is heard at any force: its part is at most 24 dB below the body (common practice, no figure).
#[test]
fn the_beater_is_heard_at_any_force() {
    for velocity in [30, 60, 90, 120] {
        let kick = measured(Piece::Kick, velocity);
        assert!(kick.click_db > -24.0, "{velocity}: {kick:?}");
    }
}

/// Two channels and not one twice.
#[test]
fn cymbals_are_wide() {
    for piece in [
        Piece::CrashLeft,
        Piece::HiHatOpen,
        Piece::Splash,
        Piece::Ride,
    ] {
        let ours = measured(piece, 110);
        assert!(
            (0.2..0.8).contains(&ours.correlation),
            "{}: {ours:?}",
            piece.name()
        );
    }
}

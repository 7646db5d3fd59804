//! What a drum sampler can hear of a stroke beyond its piece and its velocity: how far the hi-hat is open, and whose turn
//! it is among the strokes of its limb.

use super::chance::{Decision, chance};
use super::context::Context;
use super::stroke::{Limb, Part, Stroke};
use crate::kit::Piece;

/// Where the openings of a loose hi-hat begin, how far intensity lifts them, and how far they stray, of 127. Judged: the
/// halves touch, and wash more the louder the part.
const LOOSE: (f32, f32, f32) = (40.0, 30.0, 14.0);
/// How far a closed hi-hat strays from shut, and an open one from open, of 127. Judged.
const SHUT_STRAYS: f32 = 16.0;
const OPEN_STRAYS: f32 = 23.0;

/// Gives every stroke its turn and the draw of its opening.
pub(super) fn draw(ctx: &Context, part: &mut Part) {
    let mut turns = [0_u8; Limb::ALL.len()];
    for stroke in &mut part.strokes {
        let turn = &mut turns[stroke.limb as usize];
        stroke.turn = *turn;
        *turn = turn.wrapping_add(1);
        if stroke.may_be_on_hi_hat() {
            let take = ctx.bar_settings.take;
            stroke.opens = chance(take, stroke.tick, Decision::Opening, stroke.limb as u64);
        }
    }
}

/// How far the hi-hat is open for a stroke on a piece at an intensity of 0..=1: 0 (shut) to 127; 0 for other pieces.
/// More intensity never shuts it.
pub(super) fn opening(stroke: &Stroke, piece: Piece, intensity: f32) -> u8 {
    let opening = match piece {
        Piece::HiHatClosed => SHUT_STRAYS * stroke.opens,
        Piece::HiHatLoose => LOOSE.0 + LOOSE.1 * intensity + LOOSE.2 * stroke.opens,
        Piece::HiHatOpen => 127.0 - OPEN_STRAYS * (1.0 - stroke.opens),
        _ => 0.0,
    };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let opening = opening.clamp(0.0, 127.0) as u8;
    opening
}

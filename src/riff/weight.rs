//! How far a stroke of the guitar stands out: by its strength and by the silence after it.

use super::Attack;
use crate::time::{TICKS_PER_QUARTER, Ticks};

/// How much strength counts, and how much the silence after a stroke. Judged: an open chord is strong and rings; a muted
/// run is neither.
const STRENGTH: f32 = 0.65;
const SILENCE: f32 = 0.35;
/// From here on a longer silence counts no more, in ticks: a quarter. Judged.
const LONGEST: Ticks = TICKS_PER_QUARTER;
/// A stroke of this weight stands out. Judged: a strong one before an eighth of silence, or a full one in a run of
/// eighths does not.
const STANDS_OUT: f32 = 0.82;

/// The weight of the stroke at a place in the list, 0..=1. The last one is followed by silence.
pub fn weight(attacks: &[Attack], i: usize) -> f32 {
    let Some(attack) = attacks.get(i) else {
        return 0.0;
    };
    let next = attacks.get(i + 1);
    let silence = next.map_or(LONGEST, |next| (next.tick - attack.tick).clamp(0, LONGEST));
    STRENGTH * attack.strength + SILENCE * (silence as f32 / LONGEST as f32)
}

/// The strokes that stand out: where a band may strike together. Each with whether it is followed by silence, a quarter at
/// least. In order of time.
pub fn standing_out(attacks: &[Attack]) -> Vec<(Attack, bool)> {
    let silent = |i: usize| {
        let next = attacks.get(i + 1);
        next.is_none_or(|next| next.tick - attacks[i].tick >= LONGEST)
    };
    (0..attacks.len())
        .filter(|&i| weight(attacks, i) >= STANDS_OUT)
        .map(|i| (attacks[i], silent(i)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn attack(tick: Ticks, strength: f32) -> Attack {
        Attack { tick, strength }
    }

    #[test]
    fn strong_strokes_before_silence_stand_out() {
        let attacks = [
            attack(0, 0.4),
            attack(240, 0.4),
            attack(480, 1.0),
            attack(960, 0.9),
            attack(1200, 0.5),
            attack(2880, 0.8),
        ];
        let found = standing_out(&attacks);
        let ticks: Vec<_> = found.iter().map(|(a, silent)| (a.tick, *silent)).collect();
        assert_eq!(ticks, [(480, false), (2880, true)]);
        for i in 0..attacks.len() {
            assert!((0.0..=1.0).contains(&weight(&attacks, i)));
        }
        assert_eq!(weight(&attacks, 6), 0.0);
    }
}

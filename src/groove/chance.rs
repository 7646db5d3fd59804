//! Random decisions without state: each has a generator of its own, seeded by take, place and kind.
//!
//! A decision never depends on how many came before it. Starting anywhere, looping and offline export therefore
//! give the same notes.
//!
//! The generator is xoshiro256++ (Blackman & Vigna, *Scrambled linear pseudorandom number
//! generators*, 2021), seeded through `SplitMix64` as its authors recommend. Both are portable: the crate promises
//! their values. The sampling is our own, so that no library update changes a song.

use crate::time::Ticks;

/// The kind of a decision. Its number is part of the seed: never reuse or renumber one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u64)]
pub enum Decision {
    /// Whether a phrase ends in a fill.
    Fill = 1,
    // 2 is retired: it chose the fill from a list.
    /// The density at which a ghost note comes in.
    Ghost = 3,
    /// The density at which an extra kick comes in.
    Push = 4,
    // 5 is retired: it was the deviation of a stroke from its planned velocity.
    /// The length of a fill.
    FillLength = 6,
    /// The family of a fill.
    FillFamily = 7,
    /// The offset of a take in a family's round of fills.
    FillRound = 8,
    /// The dynamic shape of a fill.
    FillSwell = 9,
    /// The drift of timing that all limbs share: lattice values for every octave.
    Drift = 10,
    // 11 is retired: it was the part of the timing that is a stroke's own.
    /// What the feet do under a fill.
    FillFeet = 12,
    /// Whether a bar inside a phrase ends in a small fill.
    SmallFill = 20,
    /// Whether a fill lands on a crash.
    FillLanding = 21,
    /// On which side of the kit a fill ends.
    FillSide = 22,
    /// How the last count of a fill breaks its pattern.
    FillClosing = 23,
    /// Whether the hi-hat opens into a bar line, and how.
    HatLine = 30,
    /// Whether and where it opens within a bar.
    HatLean = 31,
    /// The density from which the hi-hat foot keeps time beside the hand.
    FootTime = 32,
    /// Whether the hi-hat foot ends a phrase with a splash.
    FootSplash = 33,
    /// Whether a ghost note bounces, and from which density on.
    Drag = 34,
    /// Whether a snare of the groove has a grace note, and from which density on.
    Flam = 35,
    // 13 is retired: it chose how the last bar of a four-bar group is varied.
    /// The density at which an extra of the lead hand, or a second cymbal, comes in.
    Double = 40,
    /// Whether a place has a ghost note or an extra kick, where it could have either.
    GhostOrKick = 41,
    /// How many changes a bar makes to its groove, for each voice.
    Changes = 42,
    /// Which strokes a bar changes.
    Change = 43,
    /// The density at which what a bar adds comes in.
    Addition = 44,
    /// Whether and where the hi-hat opens, or the ride's bell is struck, in a bar.
    Lift = 45,
    /// How a phrase of eight bars turns at its end.
    Turn = 46,
    /// Whether an extra stays for the whole section.
    Stays = 47,
    /// The traits of a take's player.
    Evening = 50,
    /// What a place in the bar has of its own in one take: time and weight.
    Signature = 51,
    /// A single stroke of one limb: its own part of touch and timing.
    Stroke = 52,
    /// What the strokes of all limbs at one tick share of touch and timing.
    Together = 53,
    /// What the strokes of a kind share within one count of touch.
    TouchInCount = 54,
    /// The slow part of touch: lattice values.
    TouchDrift = 55,
    /// What makes the sound of a stroke its own in the preview: its level, its colour, its stick.
    StrokeSound = 60,
    /// How far the hi-hat is open at a stroke, within what closed, loose and open mean.
    Opening = 70,
    /// Whether a hit of the band is set up.
    SetUp = 80,
}

/// A number in [0, 1), the same for the same take, place, decision and index, forever.
///
/// `place` is the tick that seeds the decision: the start of a bar or of a phrase. `index` distinguishes several
/// decisions of one kind at one place. Any thread; no allocation.
pub fn chance(take: u32, place: Ticks, decision: Decision, index: u64) -> f32 {
    // The upper 24 bits fill an f32's mantissa exactly.
    (bits(take, place, decision, index) >> 40) as f32 / (1_u64 << 24) as f32
}

/// 64 random bits, for decisions that need several small numbers at once. Otherwise as [`chance`].
pub fn bits(take: u32, place: Ticks, decision: Decision, index: u64) -> u64 {
    let mut seed = 0x4f75_726c_696d_6221_u64;
    for word in [
        u64::from(take),
        place.cast_unsigned(),
        decision as u64,
        index,
    ] {
        // One round of SplitMix64's finaliser for each word, so that neighbouring places do not correlate.
        seed = (seed ^ word).wrapping_add(0x9e37_79b9_7f4a_7c15);
        seed = (seed ^ (seed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        seed = (seed ^ (seed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        seed ^= seed >> 31;
    }
    first_of(seed)
}

/// The first output of xoshiro256++ seeded with a number. It needs two of the four words of the state, so this is a
/// third of the work of making a generator: composing a bar draws about five hundred times.
fn first_of(seed: u64) -> u64 {
    // The n-th word of the state is SplitMix64's n-th output.
    let word = |n: u64| {
        let z = seed.wrapping_add(0x9e37_79b9_7f4a_7c15_u64.wrapping_mul(n));
        let z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    };
    let (first, last) = (word(1), word(4));
    first.wrapping_add(last).rotate_left(23).wrapping_add(first)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_xoshiro::Xoshiro256PlusPlus;
    use rand_xoshiro::rand_core::{Rng, SeedableRng};

    /// Value stability: a change here changes every song that was ever made with Fourlimb.
    #[test]
    fn values_are_frozen() {
        let seen: Vec<f32> = [
            (1, 0, Decision::Fill, 0),
            (1, 3840, Decision::Fill, 0),
            (2, 0, Decision::Fill, 0),
            (1, 0, Decision::Ghost, 0),
            (1, 0, Decision::Ghost, 1),
            (999, -3840, Decision::Drift, 7),
        ]
        .map(|(take, place, decision, index)| chance(take, place, decision, index))
        .to_vec();
        assert_eq!(seen, FROZEN);
    }

    const FROZEN: [f32; 6] = [
        0.380_043_63,
        0.159_151_38,
        0.958_805_5,
        0.477_070_03,
        0.868_715_4,
        0.086_798_01,
    ];

    #[test]
    fn the_shortcut_is_the_generators_first_output() {
        let mut seed = 1_u64;
        for _ in 0..10_000 {
            assert_eq!(
                first_of(seed),
                Xoshiro256PlusPlus::seed_from_u64(seed).next_u64()
            );
            seed = seed.wrapping_mul(0x5851_f42d_4c95_7f2d).wrapping_add(1);
        }
    }

    /// Reference vector: the first outputs of xoshiro256++ from the state 1, 2, 3, 4, computed by
    /// its authors' C source as published with the `rand_xoshiro` crate.
    #[test]
    fn generator_is_the_published_one() {
        let mut seed = [0; 32];
        for (i, word) in [1_u64, 2, 3, 4].into_iter().enumerate() {
            seed[i * 8..i * 8 + 8].copy_from_slice(&word.to_le_bytes());
        }
        let mut rng = Xoshiro256PlusPlus::from_seed(seed);
        let expected = [
            41_943_041,
            58_720_359,
            3_588_806_011_781_223,
            3_591_011_842_654_386,
        ];
        assert_eq!([(); 4].map(|()| rng.next_u64()), expected);
    }

    #[test]
    fn neighbouring_places_are_spread_evenly() {
        let mut bins = [0_u32; 10];
        for bar in 0..10_000 {
            let x = chance(1, bar * 3840, Decision::Fill, 0);
            assert!((0.0..1.0).contains(&x));
            let bin = (0..9_u8).take_while(|i| x * 10.0 >= f32::from(*i) + 1.0);
            bins[bin.count()] += 1;
        }
        // Chi-squared, 9 degrees of freedom: 27.9 is exceeded once in a thousand (handbook table).
        let chi2: f64 = bins
            .iter()
            .map(|&n| (f64::from(n) - 1000.0).powi(2) / 1000.0)
            .sum();
        assert!(chi2 < 27.9, "{bins:?}");
    }
}

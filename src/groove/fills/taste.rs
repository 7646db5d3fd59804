//! Which fills suit which beat.

use super::super::beat::Taste;

/// The weights and paths of a taste.
#[derive(Debug)]
pub(super) struct Likes {
    /// The relative frequency of each family, in the order of the families that are drawn.
    pub(super) families: [u8; super::figures::Family::DRAWN],
    /// The relative frequency of fills of one count, two, three, and of four counts or the whole bar.
    pub(super) lengths: [u8; 4],
    /// How often a fill ends on the floor toms, 0..=1.
    pub(super) low: f32,
    /// The paths that suit, as indices into the list of paths.
    pub(super) paths: &'static [u8],
    /// Whether triplets and sextuplets suit a straight beat.
    pub(super) triplets: bool,
    /// Whether a whole-bar fill may take two bars in a slow song.
    pub(super) two_bars: bool,
    /// Scales the minimum intensity of fast strokes (`super::place::min_intensity`); 1 is the usual.
    pub(super) reluctance: f32,
}

impl Taste {
    /// The relative frequency of fills of one, two, three and four counts, and whether a slow song may have fills of
    /// two bars.
    pub(in super::super) fn lengths(self) -> ([u8; 4], bool) {
        let likes = self.likes();
        (likes.lengths, likes.two_bars)
    }

    /// How often a fill ends on the floor toms, 0..=1.
    pub(in super::super) fn ends_low(self) -> f32 {
        self.likes().low
    }

    /// The scale of the minimum intensity of its fast strokes.
    pub(in super::super) fn likes_fast(self) -> f32 {
        self.likes().reluctance
    }
}

const EVERYWHERE: &[u8] = &[
    0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22,
];

impl Taste {
    /// Judged and common practice, no source. Families in order: hands, flams, feet, hits, space,
    /// roll.
    pub(super) fn likes(self) -> &'static Likes {
        match self {
            Self::Open => &Likes {
                families: [45, 13, 24, 14, 4, 0],
                lengths: [32, 36, 14, 18],
                low: 0.62,
                paths: EVERYWHERE,
                triplets: true,
                two_bars: true,
                reluctance: 1.0,
            },
            Self::Short => &Likes {
                families: [42, 0, 8, 25, 0, 25],
                lengths: [60, 40, 0, 0],
                low: 0.15,
                paths: &[0, 1, 6, 7, 8, 13, 14, 15, 19],
                triplets: false,
                two_bars: false,
                reluctance: 0.3,
            },
            Self::Space => &Likes {
                families: [0, 9, 7, 26, 58, 0],
                lengths: [30, 42, 8, 20],
                low: 0.6,
                paths: &[0, 1, 2, 4, 7, 8, 9, 10, 11, 13, 17, 18, 19],
                triplets: true,
                two_bars: false,
                reluctance: 1.0,
            },
            Self::PickUp => &Likes {
                families: [55, 18, 12, 15, 0, 0],
                lengths: [60, 30, 6, 4],
                low: 0.4,
                paths: &[0, 1, 6, 8, 13, 14, 15, 16, 18, 19, 20],
                triplets: false,
                two_bars: false,
                reluctance: 0.6,
            },
            Self::Toms => &Likes {
                families: [50, 12, 22, 12, 4, 0],
                lengths: [14, 38, 16, 32],
                low: 0.75,
                paths: &[2, 3, 4, 5, 7, 9, 10, 11, 12, 13, 1, 16, 17, 18, 19, 21, 22],
                triplets: true,
                two_bars: true,
                reluctance: 0.8,
            },
            Self::Quiet => &Likes {
                families: [55, 30, 0, 15, 0, 0],
                lengths: [68, 32, 0, 0],
                low: 0.45,
                paths: &[0, 1, 2, 6, 11, 13, 14, 16, 19, 22],
                triplets: false,
                two_bars: false,
                reluctance: 1.3,
            },
        }
    }
}

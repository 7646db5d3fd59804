//! The paths of fills over the kit.

use crate::kit::Piece::{
    self, CrashLeft, CrashRight, FloorHigh, FloorLow, RackHigh, RackLow, Snare,
};

/// How the strokes of a fill are spread over the kit.
#[derive(Debug)]
pub(super) enum Way {
    /// Over these pieces, each for an equal share of the fill's length.
    Along(&'static [Piece]),
    /// A piece for each hand, the lead hand's first.
    Split(Piece, Piece),
    /// The same in two places, the second for the second half of the fill.
    SplitTwice((Piece, Piece), (Piece, Piece)),
    /// Accents along these pieces, everything else on the snare.
    Accents(&'static [Piece]),
    /// Accents on the crashes with a kick, everything else on the snare.
    Crashes,
}

/// A path with its name.
#[derive(Debug)]
pub(super) struct Path {
    pub(super) name: &'static str,
    pub(super) way: Way,
}

const fn path(name: &'static str, way: Way) -> Path {
    Path { name, way }
}

/// Every path. Common practice, no source. Figures and tastes refer to paths by index.
pub(super) static PATHS: [Path; 23] = [
    path("on the snare", Way::Along(&[Snare])),
    path("snare to floor tom", Way::Along(&[Snare, FloorLow])),
    path("rack to floor", Way::Along(&[RackHigh, FloorLow])),
    path(
        "snare and down the toms",
        Way::Along(&[Snare, RackHigh, RackLow, FloorLow]),
    ),
    path(
        "down the toms",
        Way::Along(&[RackHigh, RackLow, FloorHigh, FloorLow]),
    ),
    path(
        "up the toms",
        Way::Along(&[FloorLow, RackLow, RackHigh, Snare]),
    ),
    path(
        "to the floor tom and back",
        Way::Along(&[Snare, FloorHigh, Snare]),
    ),
    path("on the floor toms", Way::Along(&[FloorHigh, FloorLow])),
    path("floor tom and snare", Way::Split(FloorLow, Snare)),
    path("floor tom and rack tom", Way::Split(FloorHigh, RackLow)),
    path("the two rack toms", Way::Split(RackLow, RackHigh)),
    path("the two floor toms", Way::Split(FloorLow, FloorHigh)),
    path(
        "accents down the toms",
        Way::Accents(&[RackHigh, RackLow, FloorHigh, FloorLow]),
    ),
    path("accents on the floor tom", Way::Accents(&[FloorLow])),
    path("accents on the rack tom", Way::Accents(&[RackHigh])),
    path("accents on the crashes", Way::Crashes),
    path(
        "snare and rack toms",
        Way::Along(&[Snare, RackHigh, RackLow]),
    ),
    path(
        "rack toms, then floor toms",
        Way::SplitTwice((RackLow, RackHigh), (FloorLow, FloorHigh)),
    ),
    path(
        "snare and rack tom, then floor tom",
        Way::SplitTwice((RackLow, Snare), (FloorLow, Snare)),
    ),
    path("rack tom and snare", Way::Split(RackLow, Snare)),
    path(
        "snare and floor tom by turns",
        Way::Along(&[Snare, FloorLow, Snare, FloorLow]),
    ),
    path(
        "down the toms by pairs",
        Way::Along(&[RackHigh, RackLow, FloorLow]),
    ),
    path(
        "accents on the rack toms",
        Way::Accents(&[RackHigh, RackLow]),
    ),
];

/// Sets of paths, as indices into [`PATHS`].
pub(super) const ON_SNARE: &[u8] = &[0];
pub(super) const SNARE_FLOOR: &[u8] = &[0, 1, 2, 6, 16, 20];
pub(super) const ALONG: &[u8] = &[0, 1, 2, 3, 4, 6, 7, 16, 20, 21];
/// With the way up, which is rare.
pub(super) const ALL_WAYS: &[u8] = &[0, 1, 2, 3, 4, 5, 6, 7, 16, 20, 21];
pub(super) const LOW: &[u8] = &[0, 1, 2, 3, 4, 7, 16, 21];
pub(super) const SPLIT: &[u8] = &[8, 9, 10, 11, 17, 18, 19];
pub(super) const ACCENTS: &[u8] = &[8, 12, 13, 14, 15, 18, 22];
/// No flam is played on a crash.
pub(super) const FLAM_ACCENTS: &[u8] = &[8, 12, 13, 14, 18, 22];
/// For the hits of breaks: a piece for each hand.
pub(super) const HITS: &[u8] = &[8, 19];

impl Path {
    /// The piece for a hand's stroke at a position (0..1) in the fill, and whether a kick accompanies it.
    pub(super) fn piece(&self, lead: bool, accent: bool, share: f64) -> (Piece, bool) {
        let along = |pieces: &[Piece]| {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let i = (share * pieces.len() as f64) as usize;
            pieces[i.min(pieces.len() - 1)]
        };
        match self.way {
            Way::Along(pieces) => (along(pieces), false),
            Way::Split(first, second) => (if lead { first } else { second }, false),
            Way::SplitTwice(first, second) => {
                let (a, b) = if share < 0.5 { first } else { second };
                (if lead { a } else { b }, false)
            }
            Way::Accents(pieces) if accent => (along(pieces), false),
            Way::Crashes if accent && lead => (CrashRight, true),
            Way::Crashes if accent => (CrashLeft, true),
            Way::Accents(_) | Way::Crashes => (Snare, false),
        }
    }

    /// Whether it ends on the floor toms, from where the lead hand lands on the crash beside them.
    pub(super) fn ends_low(&self) -> bool {
        let last = match self.way {
            Way::Along(pieces) | Way::Accents(pieces) => pieces.last().copied(),
            Way::Split(lead, _) | Way::SplitTwice(_, (lead, _)) => Some(lead),
            Way::Crashes => None,
        };
        matches!(last, Some(FloorHigh | FloorLow))
    }
}

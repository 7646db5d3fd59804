//! What the riding hand does.

use super::bars::Bars;
use crate::groove::beat::Feel;
use crate::groove::hands::rate_roles;
use crate::groove::own::OwnHands;
use crate::groove::own::model::{OwnBeat, OwnStroke, Strikes};
use crate::groove::roles::CountLayout;
use crate::kit::Piece;
use crate::settings::{Hand, HandRate};
use crate::time::{Meter, Ticks};
use std::collections::{BTreeMap, BTreeSet};

/// What a hand can ride on: pieces that it strikes as one.
const RIDDEN: [&[Piece]; 6] = [
    &[Piece::HiHatClosed, Piece::HiHatLoose, Piece::HiHatOpen],
    &[Piece::Ride, Piece::RideBell],
    &[Piece::CrashRight, Piece::CrashLeft],
    &[Piece::China],
    &[Piece::Splash],
    &[Piece::FloorLow],
];

/// Strokes of hands on drums are accents where they are so much harder than the softest, in velocity steps. Judged.
const ACCENT: f32 = 10.0;

/// What the riding hand strikes, and where it usually does.
#[derive(Debug)]
pub(super) struct Riding {
    /// The pieces, and the one that it strikes most; none where nothing is ridden.
    pieces: &'static [Piece],
    cymbal: Hand,
    meter: Meter,
    usual: BTreeSet<(usize, Ticks)>,
    /// Both hands on drums, in turn.
    drums: Option<Drums>,
}

/// Both hands on drums.
#[derive(Debug)]
struct Drums {
    lead: Piece,
    other: Piece,
    /// Where the snare is accented, if it is one of the two drums; `None` where each stroke on it is an accent.
    accents: Option<BTreeSet<(usize, Ticks)>>,
}

impl Riding {
    pub(super) fn find(table: &Bars, meter: Meter) -> Self {
        let bars = table.len();
        let of = |pieces: &[Piece]| {
            let struck = table.heard().flat_map(BTreeMap::values);
            struck.filter(|s| pieces.contains(&s.piece)).count()
        };
        let cymbals = RIDDEN
            .into_iter()
            .filter(|pieces| !pieces.contains(&Piece::FloorLow));
        let rides_none = cymbals.map(of).all(|struck| struck < bars);
        let drums = rides_none.then(|| drums(table, meter)).flatten();
        let most = RIDDEN.into_iter().max_by_key(|pieces| {
            let drum = pieces.contains(&Piece::FloorLow);
            // The first of equals, and a cymbal before a drum.
            let nth = RIDDEN.iter().position(|other| other == pieces);
            (
                !drum && of(pieces) >= bars,
                of(pieces),
                RIDDEN.len() - nth.unwrap_or_default(),
            )
        });
        let pieces = most.filter(|pieces| of(pieces) >= bars && drums.is_none());
        let pieces: &[Piece] = pieces.unwrap_or_default();
        let of_one = |piece: &&Piece| of(&[**piece]);
        let cymbal = pieces.iter().rev().max_by_key(of_one);
        let cymbal = match (cymbal, &drums) {
            (Some(piece), _) => hand(*piece),
            (None, Some(drums)) if drums.lead == Piece::FloorLow => Hand::FloorTom,
            (None, _) => Hand::HiHatClosed,
        };
        let mut usual: BTreeMap<(usize, Ticks), usize> = BTreeMap::new();
        for bar in table.heard() {
            let mine = bar.iter().filter(|(_, s)| pieces.contains(&s.piece));
            let places: BTreeSet<_> = mine.map(|((count, at, _), _)| (*count, *at)).collect();
            for place in places {
                *usual.entry(place).or_default() += 1;
            }
        }
        usual.retain(|_, n| *n * 2 >= bars);
        Self {
            pieces,
            cymbal,
            meter,
            usual: usual.into_keys().collect(),
            drums,
        }
    }

    /// Whether anything is ridden.
    pub(super) fn is_some(&self) -> bool {
        !self.pieces.is_empty()
    }

    /// Whether a piece is what it rides.
    pub(super) fn rides(&self, piece: Piece) -> bool {
        self.pieces.contains(&piece)
    }

    /// Whether half of the bars have a stroke of the riding hand there.
    pub(super) fn is_usual(&self, count: usize, at: Ticks) -> bool {
        self.usual.contains(&(count, at))
    }

    /// What it strikes.
    pub(super) fn cymbal(&self) -> Hand {
        self.cymbal
    }

    /// Finds how often it strikes, with which hands, and what the beat is felt in.
    pub(super) fn figure(&self, beat: &mut OwnBeat) {
        if let Some(drums) = &self.drums {
            beat.hands = OwnHands::Drums(drums.lead, drums.other);
            beat.rate = Some(HandRate::Sixteenths);
            for bar in &mut beat.bars {
                bar.retain(|s| !is_tap(s, drums));
            }
            return;
        }
        beat.triplets = is_felt_in_threes(beat, self.meter);
        let layout = CountLayout::new(self.meter);
        let counts = self.meter.counts();
        let tick = |s: &OwnStroke| {
            let count = counts.get(usize::from(s.count).wrapping_sub(1));
            count.map_or(0, |count| count.start + s.tick)
        };
        let ticks = |bar: &[OwnStroke], strikes: &[Strikes]| -> BTreeSet<Ticks> {
            let mine = bar
                .iter()
                .filter(|s| strikes.contains(&s.strikes) && s.rank <= 0.5 && !s.ghost);
            mine.map(tick).collect()
        };
        let steps = |rate, feel| -> BTreeSet<Ticks> {
            layout.resolve(rate_roles(rate, feel)).into_iter().collect()
        };
        let plays = |strikes: &[Strikes], steps: &BTreeSet<Ticks>| {
            beat.bars.iter().all(|bar| ticks(bar, strikes) == *steps)
        };
        let snare = Strikes::Piece(Piece::Snare);
        let rates = [
            HandRate::Quarters,
            HandRate::Eighths,
            HandRate::Sixteenths,
            HandRate::Halves,
        ];
        let feels = if beat.triplets {
            [Feel::Triplets, Feel::Straight]
        } else {
            [Feel::Straight, Feel::Triplets]
        };
        let found = feels.into_iter().find_map(|feel| {
            let rate = rates
                .into_iter()
                .find(|rate| plays(&[Strikes::Hand], &steps(*rate, feel)));
            rate.map(|rate| (rate, feel))
        });
        let sixteenths = steps(HandRate::Sixteenths, Feel::Straight);
        let (rate, triplets, hands) = match found {
            Some((rate, feel)) => {
                let bounces = rate != HandRate::Sixteenths && plays(&[snare], &sixteenths);
                let hands = if bounces {
                    OwnHands::Bounce
                } else {
                    OwnHands::Lead
                };
                // Quarters are quarters in either.
                let told = matches!(rate, HandRate::Eighths | HandRate::Sixteenths);
                let triplets = if told {
                    feel == Feel::Triplets
                } else {
                    beat.triplets
                };
                (Some(rate), triplets, hands)
            }
            None if self.is_some() && plays(&[Strikes::Hand, snare], &sixteenths) => {
                (Some(HandRate::Sixteenths), false, OwnHands::Both)
            }
            None => (None, beat.triplets, OwnHands::Lead),
        };
        (beat.rate, beat.triplets, beat.hands) = (rate, triplets, hands);
        let (Some(rate), false) = (rate, hands == OwnHands::Both) else {
            return;
        };
        // What the rate has is the figure, whatever single bars leave out.
        let feel = if triplets {
            Feel::Triplets
        } else {
            Feel::Straight
        };
        let steps = steps(rate, feel);
        for stroke in beat.bars.iter_mut().flatten() {
            let at = counts.get(usize::from(stroke.count).wrapping_sub(1));
            let at = at.map_or(0, |count| count.start + stroke.tick);
            if stroke.strikes == Strikes::Hand && steps.contains(&at) {
                stroke.rank = 0.0;
            }
        }
    }
}

/// Whether a stroke is an unaccented one of hands on drums, which their figure has.
fn is_tap(stroke: &OwnStroke, drums: &Drums) -> bool {
    match stroke.strikes {
        Strikes::Piece(Piece::Snare) => {
            let place = (usize::from(stroke.count) - 1, stroke.tick);
            let accents = drums.accents.as_ref();
            stroke.ghost || accents.is_some_and(|accents| !accents.contains(&place))
        }
        Strikes::Piece(piece) => piece == drums.lead || piece == drums.other,
        Strikes::Hand => false,
    }
}

/// Both hands in sixteenths on drums, if that is what the bars have: each hand on its drum, or on the snare.
fn drums(table: &Bars, meter: Meter) -> Option<Drums> {
    let layout = CountLayout::new(meter);
    let steps = layout.resolve(rate_roles(HandRate::Sixteenths, Feel::Straight));
    let counts = meter.counts();
    let place = |tick: Ticks| {
        let i = counts.iter().rposition(|count| count.start <= tick)?;
        Some((i, tick - counts.get(i)?.start))
    };
    let by_hand = [
        Piece::Snare,
        Piece::RackHigh,
        Piece::RackLow,
        Piece::FloorHigh,
        Piece::FloorLow,
    ];
    let mut sides: [BTreeMap<Piece, usize>; 2] = Default::default();
    let mut loud: BTreeMap<(usize, Ticks), Vec<f32>> = BTreeMap::new();
    let (mut struck, mut all) = (0, 0);
    for bar in table.heard() {
        for (i, &step) in steps.iter().enumerate() {
            let (count, at) = place(step)?;
            all += 1;
            let here = |piece: &Piece| bar.get(&(count, at, Strikes::Piece(*piece)));
            let found = by_hand
                .iter()
                .find_map(|piece| here(piece).map(|s| (*piece, s)));
            let Some((piece, stroke)) = found else {
                continue;
            };
            struck += 1;
            if piece == Piece::Snare {
                loud.entry((count, at))
                    .or_default()
                    .push(f32::from(stroke.velocity));
            }
            *sides[i % 2].entry(piece).or_default() += 1;
        }
    }
    // A bar may leave out a stroke.
    if all == 0 || struck * 100 < all * 94 {
        return None;
    }
    let [lead, other] = sides.map(|side| {
        let most = side.into_iter().max_by_key(|(_, n)| *n);
        most.map(|(piece, _)| piece)
    });
    let (lead, other) = (lead?, other?);
    let mean = |all: &[f32]| all.iter().sum::<f32>() / all.len().max(1) as f32;
    let means = || loud.values().map(|all| mean(all));
    let (least, most) = (
        means().fold(f32::INFINITY, f32::min),
        means().fold(0.0, f32::max),
    );
    let is_accent = |all: &[f32]| most - least >= ACCENT && mean(all) * 2.0 >= least + most;
    let accents = loud
        .iter()
        .filter(|(_, all)| is_accent(all))
        .map(|(place, _)| *place);
    Some(Drums {
        lead,
        other,
        accents: [lead, other]
            .contains(&Piece::Snare)
            .then(|| accents.collect()),
    })
}

/// Whether more strokes lie on thirds of counts than between their eighths. A meter of three units a count is felt as it
/// is.
fn is_felt_in_threes(beat: &OwnBeat, meter: Meter) -> bool {
    let counts = meter.counts();
    let (mut thirds, mut others) = (0, 0);
    for stroke in beat.bars.iter().flatten() {
        let Some(count) = counts.get(usize::from(stroke.count).wrapping_sub(1)) else {
            continue;
        };
        if count.units != 2 || stroke.tick == 0 {
            continue;
        }
        if stroke.tick * 3 % count.len == 0 {
            thirds += 1;
        } else {
            others += 1;
        }
    }
    thirds > others
}

/// The hand cymbal that is this piece.
fn hand(piece: Piece) -> Hand {
    let same = |hand: &&Hand| {
        let of = hand.cymbal().map(crate::groove::HandCymbal::piece);
        of == Some(piece) || (piece == Piece::CrashLeft && of == Some(Piece::CrashRight))
    };
    Hand::ALL
        .iter()
        .find(same)
        .copied()
        .unwrap_or(Hand::HiHatClosed)
}

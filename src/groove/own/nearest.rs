//! The beat of the vocabulary that an own beat is nearest to. It lends its habits: what density may add, which fills suit,
//! how its bars vary.

use super::model::{OwnBeat, OwnHands, Strikes};
use crate::groove::beat::{Beat, Cycle, Feel, Figure, Hands};
use crate::groove::hands::rate_roles;
use crate::groove::roles::CountLayout;
use crate::groove::vocabulary::VOCABULARY;
use crate::kit::Piece;
use crate::settings::HandRate;
use crate::time::Ticks;
use std::collections::BTreeSet;

/// A beat lends its habits where no more than this share of the strokes of both differs. Judged: a kick and a snare of a
/// rock beat.
const MOST: f32 = 0.25;

/// Onsets of a bar: when, and in which voice.
type Onsets = BTreeSet<(Ticks, Strikes)>;

/// The nearest beat, by the Hamming distance of the onsets of the core (Toussaint, "A Comparison of Rhythmic Similarity
/// Measures", ISMIR 2004, has it among others), over all bars of both cycles; `None` where none is near.
pub(super) fn nearest(own: &OwnBeat) -> Option<&'static Beat<'static>> {
    let layout = CountLayout::new(own.meter);
    let bars = own.bars.len() * 2;
    let mine: Vec<Onsets> = (0..bars).map(|i| of_own(own, i, &layout)).collect();
    let distance = |beat: &Beat| {
        let (mut differ, mut all) = (0, 0);
        for (i, mine) in mine.iter().enumerate() {
            let other = of_beat(beat, i, &layout);
            differ += mine.symmetric_difference(&other).count();
            all += mine.len() + other.len();
        }
        differ as f32 / all.max(1) as f32
    };
    let of_all = VOCABULARY.iter().filter(|beat| {
        let threes = beat.feel == Feel::Triplets;
        hands(own) == hands_of(beat) && threes == own.triplets
    });
    let of_all = of_all.map(|beat| (distance(beat), beat));
    let found = of_all.min_by(|a, b| a.0.total_cmp(&b.0));
    found
        .filter(|(distance, _)| *distance <= MOST)
        .map(|(_, beat)| beat)
}

/// Which hands ride, as far as habits differ.
fn hands(own: &OwnBeat) -> u8 {
    match own.hands {
        OwnHands::Lead => 0,
        OwnHands::Bounce => 1,
        OwnHands::Both => 2,
        OwnHands::Drums(..) => 3,
    }
}

fn hands_of(beat: &Beat) -> u8 {
    match beat.lead.hands {
        Hands::Lead => 0,
        Hands::LeadAndFreehand => 1,
        Hands::Both => 2,
        Hands::Drums(..) => 3,
    }
}

fn of_own(own: &OwnBeat, bar: usize, layout: &CountLayout) -> Onsets {
    let bar = own.bars.get(bar % own.bars.len().max(1));
    let core = bar.into_iter().flatten().filter(|s| s.rank == 0.0);
    let mut onsets: Onsets = core
        .filter_map(|stroke| {
            let count = layout
                .counts
                .get(usize::from(stroke.count).wrapping_sub(1))?;
            Some((count.start + stroke.tick, stroke.strikes))
        })
        .collect();
    if let Some(rate) = own.rate {
        onsets.retain(|(_, strikes)| *strikes != Strikes::Hand);
        let feel = if own.triplets {
            Feel::Triplets
        } else {
            Feel::Straight
        };
        ride(&mut onsets, rate, feel, own.hands == OwnHands::Both, layout);
    }
    onsets
}

fn of_beat(beat: &Beat, bar: usize, layout: &CountLayout) -> Onsets {
    let mut onsets = Onsets::new();
    let mut strike = |cycle: Cycle, strikes| {
        let roles = cycle.bar(bar % cycle.len().max(1));
        let ticks = layout.resolve(roles);
        onsets.extend(ticks.iter().map(|tick| (*tick, strikes)));
    };
    strike(beat.kick, Strikes::Piece(Piece::Kick));
    strike(beat.snare, Strikes::Piece(beat.snare_piece));
    strike(beat.pedal, Strikes::Piece(Piece::HiHatFoot));
    match beat.lead.figure {
        Figure::Roles(cycle) => strike(cycle, Strikes::Hand),
        Figure::Rate(rate) => {
            let both = beat.lead.hands == Hands::Both;
            ride(&mut onsets, rate, beat.feel, both, layout);
        }
    }
    onsets
}

/// Adds what the hand rides at a rate. Where both hands ride, the snare stands in place of one of theirs.
fn ride(onsets: &mut Onsets, rate: HandRate, feel: Feel, both: bool, layout: &CountLayout) {
    for &tick in &layout.resolve(rate_roles(rate, feel)) {
        if !(both && onsets.contains(&(tick, Strikes::Piece(Piece::Snare)))) {
            onsets.insert((tick, Strikes::Hand));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::Hand;
    use crate::time::Meter;

    #[test]
    fn a_beat_is_nearest_to_itself() {
        for beat in &VOCABULARY {
            let layout = CountLayout::new(Meter::FOUR_FOUR);
            let onsets = of_beat(beat, 0, &layout);
            let same = VOCABULARY.iter().filter(|other| {
                let all = (0..2).all(|i| of_beat(other, i, &layout) == of_beat(beat, i, &layout));
                all && hands_of(other) == hands_of(beat) && other.feel == beat.feel
            });
            assert_eq!(same.count(), 1, "{}", beat.name());
            assert!(!onsets.is_empty());
        }
    }

    #[test]
    fn what_no_beat_is_like_has_no_nearest() {
        let own = OwnBeat {
            name: "odd".to_owned(),
            meter: Meter::FOUR_FOUR,
            triplets: false,
            cymbal: Hand::Splash,
            rate: None,
            hands: OwnHands::Lead,
            opens: true,
            bars: vec![vec![super::super::OwnStroke {
                count: 2,
                tick: 720,
                strikes: Strikes::Piece(Piece::RackHigh),
                rank: 0.0,
                weight: None,
                ghost: false,
            }]],
        };
        assert!(nearest(&own).is_none());
    }
}

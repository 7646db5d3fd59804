//! The two hands: the lead hand's figure, the snare, and the assignment of strokes to hands.

use super::beat::{Beat, Feel, Figure, Hands};
use super::context::Context;
use super::phrases::Opening;
use super::roles::{On, Role, Sub, TickList};
use super::stroke::{Limb, Part, Stroke, StrokeTarget};
use crate::kit::Piece;
use crate::settings::HandRate;
use crate::time::{Ticks, Value};

/// The shortest time between strokes at which one hand plays alone, in seconds; closer strokes alternate between
/// the hands. 7 Hz is the upper edge of what review figures allow one hand (5 to 7 Hz, quoted in Fujii et al. 2009,
/// abstract).
const HAND_TO_HAND_BELOW_S: f64 = 1.0 / 7.0;

/// How far the unaccented strokes of a groove on drums lie below its accents, in velocity: on toms, and on the
/// snare that also has the backbeat. Tuned by ear.
const TAP: f32 = 4.0;
const SNARE_TAP: f32 = 16.0;

/// The roles of a hand rate, in straight and in triplet beats.
pub(super) fn rate_roles(rate: HandRate, feel: Feel) -> &'static [Role] {
    const SHUFFLE: &[Role] = &[
        Role::At(On::Every, Sub::Beat),
        Role::At(On::Every, Sub::Let),
    ];
    match (rate, feel) {
        (HandRate::Halves, _) => &[Role::At(On::Odd, Sub::Beat)],
        (HandRate::Quarters, _) => &[Role::Run(Value::Quarter)],
        (HandRate::Auto | HandRate::Eighths, Feel::Straight) => &[Role::Run(Value::Eighth)],
        (HandRate::Auto | HandRate::Eighths, Feel::Triplets) => SHUFFLE,
        (HandRate::Sixteenths, Feel::Straight) => &[Role::Run(Value::Sixteenth)],
        (HandRate::Sixteenths, Feel::Triplets) => &[Role::Run(Value::Triplet)],
    }
}

/// The shortest count over which *auto* rides eighths where the beat rides quarters, in seconds: 85 BPM. Common
/// practice, no source: slower, quarters leave holes in which a band drifts apart.
const SLOW_COUNT_S: f64 = 60.0 / 85.0;
/// The shortest eighth of 6/8, 9/8 and 12/8 at which *auto* rides every one, in seconds: a dotted quarter of 140 BPM.
/// Faster, the hand rides the counts. Judged.
const RIDDEN_EIGHTH_S: f64 = HAND_TO_HAND_BELOW_S;

/// The beat's own hand rate at the pace of the song. Quarters become eighths in slow songs, and in meters whose counts
/// have three eighths.
fn at_this_pace(ctx: &Context, beat: &Beat, rate: HandRate) -> HandRate {
    let Some(count) = ctx.layout.counts.first() else {
        return rate;
    };
    let compound = ctx.layout.counts.iter().all(|count| count.units == 3);
    let finer = if compound {
        ctx.seconds(count.unit()) >= RIDDEN_EIGHTH_S
    } else {
        // At 85 BPM itself the quarters stay; hosts' tempi have rounding errors.
        ctx.seconds(count.len) > SLOW_COUNT_S * 1.0001
    };
    match rate {
        // Of a triplet beat, the finer rate is every eighth of such a meter, and the coarser one long and short.
        HandRate::Quarters if finer && compound && beat.feel == Feel::Triplets => {
            HandRate::Sixteenths
        }
        HandRate::Quarters if finer && !beat.crawls => HandRate::Eighths,
        rate => rate,
    }
}

/// How often the lead hand strikes in this bar; `None` where the beat has a rhythm of its own.
pub(super) fn rate(ctx: &Context, beat: &Beat) -> Option<HandRate> {
    match (ctx.bar_settings.hand_rate, beat.lead.figure) {
        (HandRate::Auto, Figure::Roles(_)) => None,
        (HandRate::Auto, Figure::Rate(rate)) => Some(at_this_pace(ctx, beat, rate)),
        (rate, _) => Some(rate),
    }
}

/// Decides which hands play in this bar, and the lead figure: its steps go to the empty list `steps`.
fn figure(ctx: &Context, beat: &Beat, snare: &TickList, steps: &mut TickList) -> Hands {
    let Some(rate) = rate(ctx, beat) else {
        if let Figure::Roles(roles) = beat.lead.figure {
            ctx.layout.resolve_into(ctx.of_cycle(roles), steps);
        }
        return beat.lead.hands;
    };
    ctx.layout.resolve_into(rate_roles(rate, beat.feel), steps);
    let slower = |rate, steps: &mut TickList| {
        steps.clear();
        ctx.layout.resolve_into(rate_roles(rate, beat.feel), steps);
    };
    let shortest = steps
        .windows(2)
        .map(|w| w[1] - w[0])
        .min()
        .unwrap_or(ctx.layout.bar_len);
    let hands = match beat.lead.hands {
        hands @ (Hands::Both | Hands::Drums(..)) => hands,
        _ if rate != HandRate::Sixteenths => return beat.lead.hands,
        Hands::Lead if shortest >= ctx.ticks(HAND_TO_HAND_BELOW_S) => {
            return Hands::Lead;
        }
        Hands::Lead => Hands::Both,
        Hands::LeadAndFreehand => {
            slower(HandRate::Eighths, steps);
            return beat.lead.hands;
        }
    };
    // Hand to hand is possible where no hand is too fast and the snare coincides with steps of the figure.
    let limits = &ctx.limits;
    let fits = rate == HandRate::Sixteenths
        && shortest >= ctx.ticks(limits.hands_s)
        && shortest * 2 >= ctx.ticks(limits.hand_s + limits.travel_s)
        && snare.iter().all(|tick| steps.contains(tick));
    if fits {
        return hands;
    }
    if rate == HandRate::Sixteenths {
        slower(HandRate::Eighths, steps);
    }
    Hands::Lead
}

/// Adds the strokes of both hands to the part.
pub(super) fn play(ctx: &Context, beat: &Beat, opens: Option<Opening>, part: &mut Part) {
    let (mut snare, mut steps) = (TickList::new(), TickList::new());
    ctx.layout
        .resolve_into(ctx.of_cycle(beat.snare), &mut snare);
    let hand_gap = ctx.ticks(ctx.limits.hand_s);
    let hands = figure(ctx, beat, &snare, &mut steps);
    let struck = StrokeTarget::Piece(beat.snare_piece);
    match hands {
        Hands::Lead | Hands::LeadAndFreehand => {
            let snare_gap = if hands == Hands::Lead {
                hand_gap
            } else {
                ctx.ticks(ctx.limits.rebound_s)
            };
            part.thin(
                (&mut snare, snare_gap),
                &ctx.layout,
                Limb::OtherHand,
                struck,
            );
            let ridden = StrokeTarget::HandCymbal;
            part.thin((&mut steps, hand_gap), &ctx.layout, Limb::LeadHand, ridden);
            for &tick in &snare {
                part.push_stroke(Stroke {
                    tick,
                    limb: Limb::OtherHand,
                    target: struck,
                    // The rim is the fulcrum (freehand technique): every stroke may be the second of a motion.
                    bounce: hands == Hands::LeadAndFreehand,
                    ..Stroke::EMPTY
                });
            }
            let lead = if let Hands::Drums(Some(piece), _) = beat.lead.hands {
                StrokeTarget::Piece(piece)
            } else {
                StrokeTarget::HandCymbal
            };
            // Where the lead hand rides on the snare, the other hand plays the backbeat.
            let on_snare = lead == StrokeTarget::Piece(Piece::Snare);
            for &tick in steps
                .iter()
                .filter(|tick| !(on_snare && snare.contains(tick)))
            {
                part.push(tick, Limb::LeadHand, lead, 0.0);
            }
        }
        Hands::Both | Hands::Drums(..) => {
            let voices = match hands {
                Hands::Drums(lead, other) => [
                    lead.map_or(StrokeTarget::HandCymbal, StrokeTarget::Piece),
                    StrokeTarget::Piece(other),
                ],
                _ => [StrokeTarget::HandCymbal; 2],
            };
            // With an odd number of steps, one hand would play the last step and the next bar's first.
            let even = steps.len() - steps.len() % 2;
            for (i, &tick) in steps[..even].iter().enumerate() {
                let limb = [Limb::LeadHand, Limb::OtherHand][i % 2];
                let target = if snare.contains(&tick) {
                    struck
                } else {
                    voices[i % 2]
                };
                part.push(tick, limb, target, 0.0);
                if matches!(hands, Hands::Drums(..)) && target != struck {
                    part.soften_last(TAP);
                } else if voices[i % 2] == struck && !snare.contains(&tick) {
                    part.soften_last(SNARE_TAP);
                }
            }
        }
    }
    if let Some(plan) = beat.own {
        plan.play_others(ctx, part);
    }
    if let Some(opening) = opens {
        open(hand_gap, opening, part);
    }
}

/// Makes the lead hand open the bar on the crash.
fn open(gap: Ticks, opening: Opening, part: &mut Part) {
    let Opening {
        min_intensity,
        origin,
    } = opening;
    let start = part.bar.start;
    let on_the_1 = |s: &&mut Stroke| s.tick == start && s.limb == Limb::LeadHand;
    if let Some(stroke) = part.strokes.iter_mut().find(on_the_1) {
        // In a groove on drums the lead hand's stroke on the 1 is not on a cymbal.
        let min_intensity = if stroke.target == StrokeTarget::HandCymbal {
            min_intensity
        } else {
            0.0
        };
        stroke.target = StrokeTarget::Opening { rides: true };
        stroke.min_intensity = min_intensity;
        stroke.velocity_offset = 0.0;
        stroke.origin = origin;
    } else {
        part.strokes
            .retain(|s| s.limb != Limb::LeadHand || s.tick - start >= gap);
        part.push_stroke(Stroke {
            limb: Limb::LeadHand,
            target: StrokeTarget::Opening { rides: false },
            min_intensity,
            origin,
            ..Stroke::EMPTY
        });
    }
}

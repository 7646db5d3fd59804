//! Puts the part of a bar together.

use super::roles::Layout;
use super::settings::Plan;
use super::stroke::{Limb, Part};
use super::{
    Limits, dynamics, extras, feel, feet, fills, hands, limbs, limits, phrases, riff_kicks,
};
use crate::riff::Attack;
use crate::time::{Bar, Ticks, tempo};

/// What every step of composing a bar needs to know.
pub(super) struct Context<'a> {
    pub(super) plan: &'a Plan,
    pub(super) layout: Layout,
    pub(super) bar: Bar,
    /// Quarter notes a minute.
    pub(super) bpm: f64,
    pub(super) limits: Limits,
    /// The bar's place in its phrase, from 0.
    pub(super) in_phrase: i64,
    /// The bar's place in the beat's cycle, from 0.
    pub(super) in_cycle: usize,
}

impl<'a> Context<'a> {
    fn new(bar: Bar, bpm: f64, plan: &'a Plan) -> Self {
        let in_phrase = bar.index().rem_euclid(plan.phrase.bars());
        Self {
            plan,
            layout: Layout::new(bar.meter),
            bar,
            bpm,
            limits: plan.player.limits(),
            in_phrase,
            in_cycle: usize::from(in_phrase % 2 == 1),
        }
    }

    /// A time in seconds as ticks at the bar's tempo, rounded up; at least one, since even without
    /// limits no limb is in two places at once.
    pub(super) fn ticks(&self, seconds: f64) -> Ticks {
        limits::ticks(seconds, self.bpm).max(1)
    }

    /// Ticks as seconds at the bar's tempo.
    pub(super) fn seconds(&self, ticks: Ticks) -> f64 {
        ticks as f64 / tempo::ticks_per_second(self.bpm)
    }

    /// Whether it is the last bar of its phrase.
    pub(super) fn is_last_of_phrase(&self) -> bool {
        self.in_phrase + 1 == self.plan.phrase.bars()
    }

    /// The tick that owns what repeats inside the phrase.
    pub(super) fn phrase_start(&self) -> Ticks {
        self.bar.start - self.in_phrase * self.layout.bar_len
    }

    /// The roles of this bar of a cycle.
    pub(super) fn of_cycle<T: Copy>(&self, cycle: &[T]) -> Option<T> {
        cycle.get(self.in_cycle % cycle.len().max(1)).copied()
    }
}

/// What was asked of a bar at the moment, beyond its plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Call {
    /// A fill that was called: from a count to another, in ticks from the start of the bar.
    pub fill: Option<(Ticks, Ticks)>,
    /// Whether a fill that was called in the bar before lands on this one's 1.
    pub lands: bool,
}

/// Composes the part of `bar` at `bpm` quarter notes a minute into `part`, replacing what it held.
///
/// Pure: the part depends on nothing but the arguments. Audio thread.
///
/// # Realtime
/// No allocation; the cost grows with the strokes of the bar alone.
pub fn compose(bar: Bar, bpm: f64, plan: &Plan, part: &mut Part) {
    compose_called(bar, bpm, plan, &Call::default(), part);
}

/// As [`compose`], with a fill that was called.
pub fn compose_called(bar: Bar, bpm: f64, plan: &Plan, call: &Call, part: &mut Part) {
    compose_with(bar, bpm, plan, call, None, part);
}

/// As [`compose_called`], where the guitar's attacks are known: those of the bar and of
/// [`riff_kicks::MARGIN`] around it, in order. `None` where they are not.
///
/// # Realtime
/// No allocation; the cost grows with the strokes and the attacks of the bar alone.
pub fn compose_with(
    bar: Bar,
    bpm: f64,
    plan: &Plan,
    call: &Call,
    riff: Option<&[Attack]>,
    part: &mut Part,
) {
    let next = Context::new(
        Bar {
            start: bar.end(),
            ..bar
        },
        bpm,
        plan,
    );
    let ctx = Context::new(bar, bpm, plan);
    let reaches_on = call.fill.is_some_and(|(_, to)| to == ctx.layout.bar_len);
    let after = Call {
        fill: None,
        lands: reaches_on,
    };
    // A fill that begins later has nothing to do with its bar's first strokes.
    draft(&next, &after, None, |span| span.from <= 0, part);
    let ahead = limbs::ahead(part);

    draft(&ctx, call, riff, |_| true, part);
    feet::assign(&ctx, plan.beat(), part);
    part.strokes
        .sort_unstable_by_key(|stroke| (stroke.tick, stroke.limb));
    limbs::settle(&ctx, &ahead, call, part);
    part.loose = !plan.beat().clamped && feet::pedal_is_busy(part);
    dynamics::weigh(&ctx, part);
    feel::place(&ctx, plan.beat(), part);
    riff_kicks::hold(&ctx, plan.beat(), riff, part);
    debug_assert!(one_place_a_limb(part), "a limb is in two places: {part:?}");
}

/// Writes down what is wanted of a bar: hands, kicks, extras, and the fill, if that one is asked for.
fn draft(
    ctx: &Context,
    call: &Call,
    riff: Option<&[Attack]>,
    asked: impl Fn(&fills::Span) -> bool,
    part: &mut Part,
) {
    let beat = ctx.plan.beat();
    part.bar = ctx.bar;
    part.strokes.clear();
    part.own = beat.lead.cymbal;
    part.fill = None;
    part.thinned = 0;
    part.next_kick = None;
    if phrases::instead(ctx, part) {
        return;
    }
    let opens = phrases::opening(ctx, beat, call);
    hands::play(ctx, beat, opens, part);
    feet::play(ctx, beat, opens, part);
    extras::add(ctx, beat, part);
    riff_kicks::follow(ctx, beat, riff, part);
    match phrases::fill(ctx, beat, call) {
        Some(span) if asked(&span) => fills::play(ctx, beat, &span, call, part),
        Some(_) => {}
        None => phrases::vary(ctx, beat, part),
    }
}

fn one_place_a_limb(part: &Part) -> bool {
    Limb::ALL.into_iter().all(|limb| {
        let mut last = None;
        part.strokes
            .iter()
            .filter(|s| s.limb == limb)
            .all(|s| last.replace(s.tick) != Some(s.tick))
    })
}

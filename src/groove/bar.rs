//! Composes the part of a bar.

use super::beat::Beat;
use super::by_hand::ByHand;
use super::context::{Call, Context};
use super::evening::Evening;
use super::fills::Workbench;
use super::own::OwnBeats;
use super::own::sheet::Sheet;
use super::section::SectionPosition;
use super::stroke::{Limb, Manner, Part, StrokeTarget};
use super::{
    catch, crashes, drags, dynamics, edits, extras, feel, feet, fills, hands, hi_hat, limbs,
    openings, phrases, riff_kicks, stab, variation,
};
use crate::kit::Piece;
use crate::riff::Attack;
use crate::settings::{BarSettings, Start};
use crate::time::{Bar, Ticks};

/// The input of [`Composer::compose`]: the bar to compose, and everything that its part depends on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Request<'a> {
    /// The bar.
    pub bar: Bar,
    /// Quarter notes a minute.
    pub bpm: f64,
    /// The plan of the bar.
    pub bar_settings: BarSettings,
    /// The live request, beyond the plan.
    pub call: Call,
    /// Where the bar stands in its section; `None` without a chart, when phrases are counted from tick 0.
    pub section_position: Option<SectionPosition>,
    /// The next bar; `None` where it is unknown. The composer then assumes that the plan stays.
    pub next: Option<Next>,
    /// The guitar's attacks in the bar and [`MARGIN`](crate::riff::window::MARGIN) around it, in order; `None` where they
    /// are not known.
    pub riff: Option<&'a [Attack]>,
    /// What the songwriter gives it by hand.
    pub by_hand: ByHand<'a>,
    /// The songwriter's own beats, for this bar and the next.
    pub own_beats: &'a OwnBeats,
}

/// The bar after the one that is composed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Next {
    /// The bar, in its own section's time: its start seeds its random decisions.
    pub bar: Bar,
    /// Quarter notes a minute in it.
    pub bpm: f64,
    /// Its settings.
    pub bar_settings: BarSettings,
    /// Where it stands in its section.
    pub section_position: Option<SectionPosition>,
    /// How much more intensity it has than the end of the bar before, -1..=1: a fill leads up to it. 0 where it is
    /// unknown.
    pub rise: f32,
}

impl Request<'_> {
    /// A request for a bar without neighbours, riff or chart. `bpm` in quarter notes a minute.
    pub fn new(bar: Bar, bpm: f64, bar_settings: &BarSettings) -> Self {
        Self {
            bar,
            bpm,
            bar_settings: *bar_settings,
            call: Call::default(),
            section_position: None,
            next: None,
            riff: None,
            by_hand: ByHand::default(),
            own_beats: OwnBeats::NONE,
        }
    }
}

/// Composes bars. Owns the buffers that composing needs.
#[derive(Debug, Clone)]
pub struct Composer {
    bench: Workbench,
    /// The bar without variation, where it differs.
    bare: Part,
    /// The player, until another take is asked for.
    evening: Evening,
}

impl Composer {
    /// A composer with its buffers. Allocates: make one and keep it.
    pub fn new() -> Self {
        limbs::prepare();
        Self {
            bench: Workbench::new(),
            bare: Part::new(),
            evening: Evening::new(0),
        }
    }
}

impl Default for Composer {
    fn default() -> Self {
        Self::new()
    }
}

/// Composes the part of `bar` at `bpm` quarter notes a minute into `part`, replacing its contents. See
/// [`compose_with`].
pub fn compose(bar: Bar, bpm: f64, bar_settings: &BarSettings, part: &mut Part) {
    compose_with(&Request::new(bar, bpm, bar_settings), part);
}

impl Composer {
    /// Composes the part of a bar into `part`, replacing its contents.
    ///
    /// Pure: the part depends on nothing but the request. Audio thread.
    ///
    /// # Realtime
    /// No allocation. The cost is linear in the strokes and the attacks of the bar.
    pub fn compose(&mut self, request: &Request, part: &mut Part) {
        let Self {
            bench,
            bare,
            evening,
        } = self;
        let &Request {
            bar,
            bpm,
            ref bar_settings,
            ref call,
            section_position,
            riff,
            own_beats,
            ..
        } = request;
        let beat = &own_beats.beat(bar_settings.style);
        let ctx = Context {
            rise: request.next.map_or(0.0, |next| next.rise),
            riff: riff.map(|riff| (riff, bar.start)),
            by_hand: request.by_hand,
            ..Context::new(bar, bpm, bar_settings, section_position)
        };
        let reaches_on = call.fill.is_some_and(|(_, to)| to == ctx.layout.bar_len);
        let after = Call {
            fill: None,
            lands: reaches_on,
        };
        let goes_on = Next {
            bar: Bar {
                start: bar.end(),
                ..bar
            },
            bpm,
            bar_settings: *bar_settings,
            section_position: None,
            rise: 0.0,
        };
        let next = request.next.unwrap_or(goes_on);
        let next_beat = &own_beats.beat(next.bar_settings.style);
        let ahead_ctx = Context {
            riff: riff.map(|riff| (riff, bar.end())),
            by_hand: request.by_hand.later_by(next.bar.start - bar.end()),
            ..Context::beside(
                &ctx,
                next.bar,
                next.bpm,
                &next.bar_settings,
                next.section_position,
            )
        };
        // The first strokes of the next bar, as far as this one has to make room for them.
        let ahead = |bare, part: &mut Part, bench: &mut Workbench| {
            let drafted = Drafted::Ahead { bare };
            let differs = draft((&ahead_ctx, next_beat), &after, None, drafted, part, bench);
            part.shift(bar.end() - next.bar.start);
            let own = beat.lead.cymbal;
            (limbs::ahead(part, bar.end(), bpm / next.bpm, own), differs)
        };
        let into = hi_hat::opening_into(&ahead_ctx, next_beat, &after);
        let closes = hi_hat::opening_into(&ctx, beat, call);
        let settle = |ahead: &limbs::Ahead, part: &mut Part| {
            limbs::one_hand_rides(part);
            crashes::settle(&ctx, beat, ahead, part);
            hi_hat::make_room(&ctx, beat, into.is_some(), part);
            feet::assign(&ctx, beat, part);
            hi_hat::open(&ctx, beat, into, part);
            hi_hat::play_foot(&ctx, beat, closes, part);
            if let Some(plan) = beat.own {
                plan.one_hi_hat(part);
            }
            part.strokes
                .sort_unstable_by_key(|stroke| (stroke.tick, stroke.limb));
            limbs::settle(&ctx, ahead, call, part);
            crashes::demote_unsupported(part);
        };
        let (varied_ahead, differs_ahead) = ahead(false, part, bench);
        let opens = into.map(|_| hi_hat::last_off_beat(&ctx, beat));
        let varied = Drafted::Varied { opens };
        let differs = draft((&ctx, beat), call, riff, varied, part, bench);
        settle(&varied_ahead, part);
        if differs || differs_ahead {
            // What sounds at density 0 alone is solved by itself: a limb may have a stroke of each at one tick.
            let (bare_ahead, _) = ahead(true, bare, bench);
            draft((&ctx, beat), call, riff, Drafted::Bare, bare, bench);
            settle(&bare_ahead, bare);
            part.merge(bare);
        }
        part.loose = !beat.clamped && hi_hat::is_busy(&ctx, beat);
        if evening.take() != bar_settings.song_take() {
            *evening = Evening::new(bar_settings.song_take());
        }
        dynamics::weigh(&ctx, beat, evening, part);
        openings::draw(&ctx, part);
        feel::place(&ctx, beat, evening, part);
        riff_kicks::hold(&ctx, beat, riff, part);
        edits::apply(&ctx, beat, evening, &request.by_hand, part);
        debug_assert!(one_place_a_limb(part), "a limb is in two places: {part:?}");
    }
}

/// Composes a single bar as [`Composer::compose`] does, with a composer of its own. Allocates.
pub fn compose_with(request: &Request, part: &mut Part) {
    Composer::new().compose(request, part);
}

/// What a draft is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Drafted {
    /// For the bar before, which has to make room for the first strokes of the hands: with all that may be played
    /// above density 0, or `bare`.
    Ahead { bare: bool },
    /// To be played above density 0. From the tick `opens` of the bar on, the hi-hat opens into the next bar.
    Varied { opens: Option<Ticks> },
    /// To be played at density 0.
    Bare,
}

/// Drafts a bar: hands, kicks, extras, and the fill where `fill` lets it, else the variation. Returns whether the
/// bare version of the bar has other strokes of the beat than this one.
fn draft(
    (ctx, beat): (&Context, &Beat),
    call: &Call,
    riff: Option<&[Attack]>,
    drafted: Drafted,
    part: &mut Part,
    bench: &mut Workbench,
) -> bool {
    part.bar = ctx.bar;
    part.strokes.clear();
    part.own = beat.lead.cymbal;
    part.free = beat.own.is_some_and(Sheet::has_others);
    part.ladder = beat.lead.ladder;
    part.fill = None;
    part.thinned = 0;
    part.dropped.clear();
    part.may_take = variation::MOST_TAKEN;
    part.next_kick = None;
    if phrases::instead(ctx, part) {
        return false;
    }
    let landing = phrases::landing(ctx, beat, call);
    let [opens, opens_bare] =
        [false, true].map(|bare| phrases::opening_after(ctx, beat, landing, bare));
    let is_bare = matches!(drafted, Drafted::Bare | Drafted::Ahead { bare: true });
    let opens_here = if is_bare { opens_bare } else { opens };
    let is_ahead = matches!(drafted, Drafted::Ahead { .. });
    let fill = phrases::fill(ctx, beat, call);
    // Only a fill that begins at or before the bar line changes the bar's first strokes.
    let span = fill.filter(|span| !is_ahead || span.from <= 0);
    // Outside of fills the hands' first strokes do not depend on the feet.
    let with_feet = !is_ahead || span.is_some();
    hands::play(ctx, beat, opens_here, part);
    if opens_here.is_some() {
        begin_with(ctx, part);
    }
    if with_feet {
        feet::play(ctx, beat, opens_here, part);
    }
    if let Some(landing) = landing {
        phrases::come_home(ctx, landing, part);
    }
    let followed = riff_kicks::follow(ctx, beat, riff, part);
    let which = if is_ahead {
        extras::Which::Any
    } else {
        extras::Which::Groove
    };
    if !is_bare {
        let feet_follow = followed.replaced || !with_feet;
        extras::add(ctx, beat, feet_follow, landing.is_some(), which, part);
        drags::add(ctx, beat, part);
    }
    if landing.is_some() {
        phrases::ground(part);
    }
    let mut differs = opens != opens_bare;
    match span {
        Some(span) => {
            let start = ctx.bar.start;
            let inside = span.from.max(0)..span.to;
            part.forget_dropped(|stroke| inside.contains(&(stroke.tick - start)));
            fills::play(ctx, beat, &span, call, part, bench);
        }
        None if fill.is_none() => {
            if let Drafted::Varied { opens } = drafted {
                differs |= variation::vary(ctx, beat, followed.heeded, opens, part);
            }
        }
        None => {}
    }
    catch::play(ctx, part);
    stab::play(ctx, beat, part);
    crashes::keep_near(ctx, part);
    differs
}

/// Opens the section on the cymbal that the chart names.
fn begin_with(ctx: &Context, part: &mut Part) {
    let first = ctx
        .section_position
        .filter(|section_position| section_position.index == 0);
    let start = first.map(|section_position| section_position.start);
    for stroke in &mut part.strokes {
        if !matches!(stroke.target, StrokeTarget::Opening { .. }) {
            continue;
        }
        match start {
            // A crash even where the hand cymbal is the china, on which phrases would open.
            Some(Start::Crash) => stroke.manner = Manner::Crash,
            Some(Start::China) => stroke.target = StrokeTarget::Piece(Piece::China),
            _ => {}
        }
    }
}

fn one_place_a_limb(part: &Part) -> bool {
    Limb::ALL.into_iter().all(|limb| {
        let mut last = None;
        [true, false].into_iter().all(|bare| {
            last = None;
            let sounds = part
                .strokes
                .iter()
                .filter(|s| s.limb == limb && s.is_in(bare) && !s.is_asked());
            let mut ticks = sounds.map(|s| s.tick);
            ticks.all(|tick| last.replace(tick) != Some(tick))
        })
    })
}

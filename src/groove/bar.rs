//! Composes the part of a bar.

use super::context::{Call, Context};
use super::fill_span::FillSpan;
use super::fills::Workbench;
use super::section::SectionPosition;
use super::stroke::{Limb, Part, StrokeTarget};
use super::{dynamics, extras, feel, feet, fills, hands, limbs, phrases, riff_kicks};
use crate::kit::Piece;
use crate::riff::Attack;
use crate::settings::{BarSettings, Start};
use crate::time::Bar;

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
        }
    }
}

/// Composes bars. Owns the buffers that composing needs.
#[derive(Debug, Clone)]
pub struct Composer {
    bench: Workbench,
}

impl Composer {
    /// A composer with its buffers. Allocates: make one and keep it.
    pub fn new() -> Self {
        Self {
            bench: Workbench::new(),
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
        let bench = &mut self.bench;
        let &Request {
            bar,
            bpm,
            ref bar_settings,
            ref call,
            section_position,
            riff,
            ..
        } = request;
        let ctx = Context {
            rise: request.next.map_or(0.0, |next| next.rise),
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
        let ahead = {
            let ctx = Context::new(
                next.bar,
                next.bpm,
                &next.bar_settings,
                next.section_position,
            );
            // Only a fill that begins at or before the bar line changes the next bar's first strokes.
            draft(&ctx, &after, None, |span| span.from <= 0, part, bench);
            part.shift(bar.end() - next.bar.start);
            limbs::ahead(part, bar.end(), bpm / next.bpm)
        };

        draft(&ctx, call, riff, |_| true, part, bench);
        feet::assign(&ctx, bar_settings.beat(), part);
        part.strokes
            .sort_unstable_by_key(|stroke| (stroke.tick, stroke.limb));
        limbs::settle(&ctx, &ahead, call, part);
        part.loose = !bar_settings.beat().clamped && feet::pedal_is_busy(part);
        dynamics::weigh(&ctx, part);
        feel::place(&ctx, bar_settings.beat(), part);
        riff_kicks::hold(&ctx, bar_settings.beat(), riff, part);
        debug_assert!(one_place_a_limb(part), "a limb is in two places: {part:?}");
    }
}

/// Composes a single bar as [`Composer::compose`] does, with a composer of its own. Allocates.
pub fn compose_with(request: &Request, part: &mut Part) {
    Composer::new().compose(request, part);
}

/// Drafts a bar: hands, kicks, extras, and the fill where `fill` lets it.
fn draft(
    ctx: &Context,
    call: &Call,
    riff: Option<&[Attack]>,
    asked: impl Fn(&FillSpan) -> bool,
    part: &mut Part,
    bench: &mut Workbench,
) {
    let beat = ctx.bar_settings.beat();
    part.bar = ctx.bar;
    part.strokes.clear();
    part.own = beat.lead.cymbal;
    part.fill = None;
    part.thinned = 0;
    part.dropped.clear();
    part.next_kick = None;
    if phrases::instead(ctx, part) {
        return;
    }
    let opens = phrases::opening(ctx, beat, call);
    hands::play(ctx, beat, opens, part);
    if let Some(piece) = opens.and_then(|_| begins_with(ctx)) {
        open_on(piece, part);
    }
    feet::play(ctx, beat, opens, part);
    let landing = phrases::landing(ctx, beat, call);
    if let Some(landing) = landing {
        phrases::come_home(ctx, landing, part);
    }
    extras::add(ctx, beat, part);
    riff_kicks::follow(ctx, beat, riff, part);
    if landing.is_some() {
        phrases::ground(part);
    }
    match phrases::fill(ctx, beat, call) {
        Some(span) if asked(&span) => {
            let start = ctx.bar.start;
            let inside = span.from.max(0)..span.to;
            part.forget_dropped(|stroke| inside.contains(&(stroke.tick - start)));
            fills::play(ctx, beat, &span, call, part, bench);
        }
        Some(_) => {}
        None => phrases::vary(ctx, beat, part),
    }
}

/// The piece that opens the section, where the chart names one.
fn begins_with(ctx: &Context) -> Option<Piece> {
    let section_position = ctx
        .section_position
        .filter(|section_position| section_position.index == 0)?;
    match section_position.start {
        // A crash even where the hand cymbal is the china, on which phrases would open.
        Start::Crash => Some(Piece::CrashLeft),
        Start::China => Some(Piece::China),
        Start::Auto | Start::Nothing | Start::CountIn => None,
    }
}

/// Makes `piece` the one that opens the bar, in place of a crash.
fn open_on(piece: Piece, part: &mut Part) {
    for stroke in &mut part.strokes {
        if matches!(stroke.target, StrokeTarget::Opening { .. }) {
            stroke.target = StrokeTarget::Piece(piece);
        }
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

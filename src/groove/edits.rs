//! Applies the songwriter's edits to the finished part of a bar.
//!
//! The songwriter edits what is seen: strokes that limbs, dynamics and feel have already shaped. So edits come last, and
//! nothing but the strokes in their way changes. A stroke that the songwriter asked for ranks above all of the drummer's
//! own. A hand leaves out what it can't play beside it, and the feet do so too. Two strokes that both were asked for stay,
//! whether or not anybody can play them.
//!
//! Both bars at a line have to agree on the limb of an asked stroke near it. There the limb follows from the edits alone.

use super::beat::Beat;
use super::by_hand::ByHand;
use super::chance::{Decision, chance};
use super::context::Context;
use super::cymbal::{HandCymbal, Ladder};
use super::edit::{Edit, EditAction, EditTarget, MAX_IN_BAR};
use super::evening::Evening;
use super::limbs::{drop_lone_graces, minimum_gap, other};
use super::stroke::{
    Limb, MAX_STROKES, Manner, Origin, Part, Standing, Stroke, StrokeTarget, Version,
};
use super::stroke_kind::{StrokeKind, is_hand};
use super::{dynamics, feel, limits};
use crate::kit::{Piece, Ring};
use crate::time::{TICKS_PER_QUARTER, Ticks};
use arrayvec::ArrayVec;

/// Most asked strokes around a bar that limbs are found for.
const MAX_AROUND: usize = 3 * MAX_IN_BAR;
/// Asked strokes of one hand that follow within a sixteenth alternate. Judged.
const ALTERNATES: Ticks = TICKS_PER_QUARTER / 4;
/// How far a run of alternating strokes is followed back, in strokes. Judged: a bar of sixteenths.
const LONGEST_RUN: usize = 16;
/// The weight of an added stroke off the counts, as that of the drummer's own drums.
const OFF_WEIGHT: f32 = -0.2;

/// An asked stroke by its place, with the limb that plays it.
#[derive(Debug, Clone, Copy)]
struct Asked {
    /// Its place on the grid.
    tick: Ticks,
    target: EditTarget,
    limb: Limb,
    /// When it sounds exactly, if that is said.
    exact: Option<Ticks>,
    /// Whether the drummer may have no stroke there.
    needs_room: bool,
}

impl Asked {
    /// As a stroke of a part.
    fn stroke(&self) -> Stroke {
        Stroke {
            tick: self.tick,
            play_tick: self.exact.unwrap_or(self.tick),
            limb: self.limb,
            target: StrokeTarget::of_edit(self.target),
            standing: Standing::Asked,
            ..Stroke::EMPTY
        }
    }
}

type AllAsked = ArrayVec<Asked, MAX_AROUND>;
type Placed = ArrayVec<(Stroke, bool), MAX_IN_BAR>;

/// Applies the edits to a part that is otherwise finished. Audio thread; no allocation.
pub(super) fn apply(
    ctx: &Context,
    beat: &Beat,
    evening: &Evening,
    by_hand: &ByHand,
    part: &mut Part,
) {
    part.slept.clear();
    let (start, end) = (part.bar.start, part.bar.end());
    let len = end - start;
    let around = by_hand.edits_within(start - len, end + len);
    if around.is_empty() {
        return;
    }
    let asked = limbs(ctx, by_hand, around);
    let here = || {
        let numbers = by_hand.edits_within(start, end).take(MAX_IN_BAR);
        numbers.filter_map(|i| Some((i, by_hand.edit(i)?)))
    };
    // Where an opening is left out the hand rides on, and that stroke may be left out or changed too.
    let first =
        |edit: &Edit| edit.action == EditAction::LeaveOut && edit.target == EditTarget::Opening;
    let in_turn = here()
        .filter(|(_, edit)| first(edit))
        .chain(here().filter(|(_, edit)| !first(edit)));
    let mut placed = Placed::new();
    for (i, edit) in in_turn {
        let found = match edit.action {
            EditAction::LeaveOut => leave_out(&edit, part),
            EditAction::Change => change(&edit, part, &mut placed),
            EditAction::Add => {
                add(ctx, beat, evening, &edit, part, &mut placed);
                true
            }
        };
        if !found {
            let _ = u32::try_from(i).map(|i| part.slept.try_push(i));
        }
    }
    placed.sort_unstable_by_key(|(stroke, _)| (stroke.tick, stroke.target != StrokeTarget::KICK));
    for (stroke, exact) in placed {
        place(ctx, &asked, stroke, exact, part);
    }
    let beside = asked
        .iter()
        .filter(|asked| asked.needs_room && !(start..end).contains(&asked.tick));
    let ridden = (part.own, part.ladder);
    for asked in beside {
        let stroke = asked.stroke();
        part.strokes.retain(|s| {
            s.is_asked() || !is_in_the_way(ctx, ridden, &stroke, asked.exact.is_some(), s)
        });
    }
    drop_lone_graces(part);
    part.sort();
}

/// Whether an edit names this stroke.
fn names(edit: &Edit, stroke: &Stroke) -> bool {
    stroke.tick + stroke.grace == edit.at
        && stroke.edit_target() == edit.target
        && (stroke.grace > 0) == edit.grace
}

/// Leaves a stroke out. Where a crash opens the bar and the hand rides there, it rides on. Returns whether there was one.
fn leave_out(edit: &Edit, part: &mut Part) -> bool {
    let mut found = false;
    part.strokes.retain_mut(|stroke| {
        if !names(edit, stroke) {
            return true;
        }
        found = true;
        let rides = stroke.target == StrokeTarget::Opening { rides: true };
        if rides {
            stroke.target = StrokeTarget::HandCymbal;
            stroke.manner = Manner::Plain;
            stroke.kind = StrokeKind::Cymbal;
            stroke.min_intensity = 0.0;
            stroke.origin = Origin::Beat;
        }
        rides
    });
    found
}

/// Changes a stroke; one that needs room is taken out and placed anew. Returns whether there was one.
fn change(edit: &Edit, part: &mut Part, placed: &mut Placed) -> bool {
    let mut found = false;
    let moves = edit.to.map_or(0, |to| to - edit.at);
    part.strokes.retain_mut(|stroke| {
        let leads_to = !edit.grace && stroke.grace > 0 && stroke.tick + stroke.grace == edit.at;
        if leads_to && stroke.edit_target() == edit.target {
            // A grace note goes with its stroke.
            stroke.tick += moves;
            stroke.play_tick += moves;
            stroke.target = StrokeTarget::of_edit(edit.struck());
        }
        if !names(edit, stroke) {
            return true;
        }
        let is_first = !std::mem::replace(&mut found, true);
        voice(edit, stroke);
        if !edit.needs_room() {
            return true;
        }
        // The bare and the varied bar may both have it.
        if is_first {
            stroke.tick += moves;
            stroke.play_tick += moves;
            if let Some(onto) = edit.onto {
                stroke.target = StrokeTarget::of_edit(onto);
                stroke.kind = StrokeKind::of(stroke, false, false);
                stroke.manner = Manner::Plain;
            }
            stroke.play_tick = edit.tick.unwrap_or(stroke.play_tick);
            let _ = placed.try_push((*stroke, edit.tick.is_some()));
        }
        false
    });
    found
}

/// Adds a stroke. One that the drummer has already becomes the songwriter's.
fn add(
    ctx: &Context,
    beat: &Beat,
    evening: &Evening,
    edit: &Edit,
    part: &mut Part,
    placed: &mut Placed,
) {
    let named = || part.strokes.iter().filter(|stroke| names(edit, stroke));
    let has = |version| named().any(|stroke| stroke.version == version);
    if has(Version::Both) || has(Version::Bare) && has(Version::Varied) {
        for stroke in part.strokes.iter_mut().filter(|s| names(edit, s)) {
            let version = stroke.version;
            voice(edit, stroke);
            // The bare and the varied bar may each have it.
            stroke.version = version;
            if stroke.target == StrokeTarget::Piece(Piece::HiHatFoot) {
                // Whatever the hand rides.
                stroke.manner = Manner::Plain;
            }
            stroke.play_tick = edit.tick.unwrap_or(stroke.play_tick);
        }
        if edit.target == EditTarget::Piece(Piece::HiHatFoot) {
            part.strokes
                .iter_mut()
                .filter(|s| s.tick == edit.at)
                .for_each(shut);
        }
        return;
    }
    // One that the bare or the varied bar alone has is placed anew, in both.
    part.strokes.retain(|stroke| !names(edit, stroke));
    let at = edit.at - part.bar.start;
    let on_count = ctx.layout.counts.iter().any(|count| count.start == at);
    let mut stroke = Stroke {
        tick: edit.at,
        target: StrokeTarget::of_edit(edit.target),
        weight: if on_count { 0.0 } else { OFF_WEIGHT },
        ..Stroke::EMPTY
    };
    stroke.kind = StrokeKind::of(&stroke, false, false);
    stroke.touch = dynamics::touch(ctx, evening, &stroke);
    stroke.opens = chance(ctx.bar_settings.take, edit.at, Decision::Opening, 0);
    let felt = || feel::placed(ctx, beat, evening, &stroke, part.in_fill(edit.at));
    stroke.play_tick = edit.tick.unwrap_or_else(felt);
    voice(edit, &mut stroke);
    let _ = placed.try_push((stroke, edit.tick.is_some()));
}

/// What an edit says of how its stroke sounds.
fn voice(edit: &Edit, stroke: &mut Stroke) {
    stroke.velocity_offset += f32::from(edit.louder);
    stroke.exact = edit.exact.into();
    if edit.rings {
        stroke.ring = Ring::On;
    }
    stroke.standing = Standing::Asked;
    stroke.origin = Origin::ByHand;
    if edit.needs_room() {
        stroke.rank = 0.0;
        stroke.min_intensity = 0.0;
        stroke.version = Version::Both;
        stroke.bounce = false;
    }
}

/// Gives a stroke a limb, and takes away what that limb can't play beside it.
fn place(ctx: &Context, asked: &AllAsked, mut stroke: Stroke, exact: bool, part: &mut Part) {
    let (start, end) = (part.bar.start, part.bar.end());
    let ridden = (part.own, part.ladder);
    let target = stroke.edit_target();
    let known = asked
        .iter()
        .find(|asked| (asked.tick, asked.target) == (stroke.tick, target));
    stroke.limb = known.map_or(own_limb(target), |asked| asked.limb);
    let in_way = |stroke: &Stroke, part: &Part| {
        let others = part.strokes.iter();
        others
            .filter(|other| is_in_the_way(ctx, ridden, stroke, exact, other))
            .count()
    };
    let near = ctx.ticks(ctx.limits.hand_s.max(ctx.limits.lift_s) + ctx.limits.travel_s);
    let is_near_line = stroke.tick - start < near || end - stroke.tick < near;
    if is_hand(stroke.limb) && is_drum(stroke.target) && !is_near_line {
        let swapped = Stroke {
            limb: other(stroke.limb),
            ..stroke
        };
        if in_way(&stroke, part) > 0 && in_way(&swapped, part) == 0 {
            stroke.limb = swapped.limb;
        }
    }
    part.strokes
        .retain(|s| s.is_asked() || !is_in_the_way(ctx, ridden, &stroke, exact, s));
    let is_pedal = |s: &Stroke| s.target == StrokeTarget::Piece(Piece::HiHatFoot);
    let mut here = part.strokes.iter_mut().filter(|s| s.tick == stroke.tick);
    if is_pedal(&stroke) {
        here.for_each(shut);
    } else if here.any(|s| is_pedal(s)) {
        shut(&mut stroke);
    }
    let before = part
        .strokes
        .iter()
        .filter(|s| s.limb == stroke.limb && s.tick <= stroke.tick);
    stroke.turn = u8::try_from(before.count()).unwrap_or(u8::MAX);
    let earliest = feel::earliest(ctx.bar_settings.feel, ctx.bpm);
    let inside = ctx.section_position.is_some_and(|at| at.index > 0);
    let first = if inside { start - earliest } else { start };
    stroke.play_tick = stroke.play_tick.clamp(first, end - 1);
    if !exact {
        stroke.play_tick = between_neighbours(ctx, &stroke, part);
        // Feel may have brought two neighbours so near to each other that nothing can be played between them.
        part.strokes
            .retain(|s| s.is_asked() || !is_in_the_way(ctx, ridden, &stroke, true, s));
    }
    if part.strokes.len() < MAX_STROKES {
        part.strokes.push(stroke);
    }
}

/// Lets a stroke of the hand be on a shut hi-hat, since the foot strikes with it.
fn shut(stroke: &mut Stroke) {
    if matches!(
        stroke.target,
        StrokeTarget::HandCymbal | StrokeTarget::Lifted
    ) {
        stroke.manner = Manner::Shut;
    }
}

/// When a stroke sounds, as near to its time as the neighbours of its limb allow.
fn between_neighbours(ctx: &Context, stroke: &Stroke, part: &Part) -> Ticks {
    let mine = |s: &&Stroke| s.limb == stroke.limb;
    let mut play_tick = stroke.play_tick;
    for earlier in part
        .strokes
        .iter()
        .filter(mine)
        .filter(|s| s.tick < stroke.tick)
    {
        let gap = gap(ctx, earlier, stroke).min(stroke.tick - earlier.tick);
        play_tick = play_tick.max(earlier.play_tick + gap);
    }
    for later in part
        .strokes
        .iter()
        .filter(mine)
        .filter(|s| s.tick > stroke.tick)
    {
        let gap = gap(ctx, stroke, later).min(later.tick - stroke.tick);
        play_tick = play_tick.min(later.play_tick - gap);
    }
    play_tick
}

/// The least time from one stroke of a limb to the next, in ticks.
fn gap(ctx: &Context, earlier: &Stroke, later: &Stroke) -> Ticks {
    if is_hand(earlier.limb) {
        minimum_gap(ctx, earlier, later)
    } else {
        ctx.ticks(ctx.limits.foot_s)
    }
}

/// The cymbals that the hand of a part may ride: the beat's own, and those of its ladder.
type Ridden = (HandCymbal, Ladder);

/// Whether two strokes may be on one piece, as far as the beat's own cymbals say it.
fn may_be_one((own, ladder): Ridden, asked: &Stroke, stroke: &Stroke) -> bool {
    if asked.target == stroke.target {
        return true;
    }
    let StrokeTarget::Piece(piece) = asked.target else {
        return false;
    };
    let is_it = |cymbal: HandCymbal| match stroke.target {
        StrokeTarget::HandCymbal => cymbal.piece() == piece,
        StrokeTarget::Lifted => cymbal.lifted() == piece,
        StrokeTarget::Opening { .. } => cymbal.opening() == piece,
        StrokeTarget::Piece(_) => false,
    };
    is_it(own) || ladder.iter().any(|cymbal| is_it(*cymbal))
}

/// Whether a stroke of the part can't be played beside an asked one: its limb is not back, or it would have one piece
/// struck twice.
fn is_in_the_way(
    ctx: &Context,
    ridden: Ridden,
    asked: &Stroke,
    exact: bool,
    stroke: &Stroke,
) -> bool {
    if asked.tick == stroke.tick {
        let on_hat = |s: &Stroke| is_hand(s.limb) && s.may_be_on_hi_hat();
        let is_open = |s: &Stroke| {
            matches!(
                s.target,
                StrokeTarget::Piece(Piece::HiHatOpen | Piece::HiHatLoose)
            )
        };
        let is_pedal = |s: &Stroke| s.target == StrokeTarget::Piece(Piece::HiHatFoot);
        let twice = may_be_one(ridden, asked, stroke) || on_hat(asked) && on_hat(stroke);
        let pedalled = is_open(asked) && is_pedal(stroke) || is_pedal(asked) && is_open(stroke);
        if twice || pedalled {
            return true;
        }
    }
    let time = |s: &Stroke| if exact { s.play_tick } else { s.tick };
    let (earlier, later) = if time(stroke) <= time(asked) {
        (stroke, asked)
    } else {
        (asked, stroke)
    };
    let between = time(later) - time(earlier);
    let kicks = asked.target == StrokeTarget::KICK && stroke.target == StrokeTarget::KICK;
    if asked.limb == stroke.limb {
        between < gap(ctx, earlier, later)
    } else {
        kicks && between < ctx.ticks(ctx.limits.feet_s)
    }
}

fn is_drum(target: StrokeTarget) -> bool {
    matches!(
        target,
        StrokeTarget::Piece(
            Piece::Snare
                | Piece::SideStick
                | Piece::RackHigh
                | Piece::RackLow
                | Piece::FloorHigh
                | Piece::FloorLow
        )
    )
}

/// The limb that usually has a target: common practice, no source.
fn own_limb(target: EditTarget) -> Limb {
    match target {
        EditTarget::Piece(Piece::Kick) => Limb::LeadFoot,
        EditTarget::Piece(Piece::HiHatFoot) => Limb::OtherFoot,
        EditTarget::Piece(Piece::Snare | Piece::SideStick | Piece::CrashLeft) => Limb::OtherHand,
        _ => Limb::LeadHand,
    }
}

/// The asked strokes around a bar with their limbs, from the edits alone: each on its own limb, in fast runs and at one
/// moment in turn.
fn limbs(ctx: &Context, by_hand: &ByHand, around: std::ops::Range<usize>) -> AllAsked {
    let mut found = AllAsked::new();
    let first = run_start(by_hand, around.start);
    let alternates = ALTERNATES.max(ctx.ticks(limits::FOOT_TO_FOOT_BELOW_S));
    let mut last = [Ticks::MIN / 2; Limb::ALL.len()];
    for i in first..around.end {
        let Some(edit) = by_hand.edit(i) else {
            continue;
        };
        let Some(tick) = edit.played_at() else {
            continue;
        };
        let target = edit.struck();
        let own = own_limb(target);
        let pair = match own {
            Limb::LeadHand | Limb::OtherHand => other(own),
            _ if target == EditTarget::Piece(Piece::Kick) => Limb::OtherFoot,
            _ => own,
        };
        let rest = |limb: Limb| tick - last[limb as usize];
        let limb = if rest(own) <= alternates && rest(pair) > rest(own) {
            pair
        } else {
            own
        };
        last[limb as usize] = tick;
        let asked = Asked {
            tick,
            target,
            limb,
            exact: edit.tick,
            needs_room: edit.needs_room(),
        };
        if i >= around.start && found.try_push(asked).is_err() {
            break;
        }
    }
    found
}

/// The first edit of the run that goes on at this place of the list.
fn run_start(by_hand: &ByHand, at: usize) -> usize {
    let mut first = at;
    while let (Some(before), Some(here)) = (
        first.checked_sub(1).and_then(|i| by_hand.edit(i)),
        by_hand.edit(first),
    ) {
        if here.at - before.at > ALTERNATES || at - first >= LONGEST_RUN {
            break;
        }
        first -= 1;
    }
    first
}

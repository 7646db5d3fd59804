//! The strokes that the songwriter asked for and two hands and two feet can't play: why, and the nearest change.

use super::edit::{Base, Outcome, Picked};
use super::grid::Grid;
use super::selection::{Key, Mark};
use crate::check::playable::{Problem, TimedStroke, Why, problems};
use crate::editor::text::edit as words;
use crate::groove::EditTarget;
use crate::kit::Piece;
use crate::settings::Player;
use crate::time::place::counted;
use crate::time::tempo::ticks_per_second;
use crate::time::{Bar, Ticks};

/// A stroke that is beyond two hands and two feet.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Beyond {
    /// The stroke.
    pub(super) mark: Mark,
    /// The stroke, and those that are in its way.
    pub(super) keys: Vec<Key>,
    /// Why, in words.
    pub(super) why: String,
    /// The nearest change.
    pub(super) change: Change,
}

/// The nearest change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Change {
    /// It goes by so many ticks, to a place of this bar.
    Move(Ticks, Bar),
    /// It is struck on another piece.
    Onto(Piece),
    /// It is left out.
    LeaveOut,
}

impl Beyond {
    /// The change in words.
    pub(super) fn remedy(&self) -> String {
        match self.change {
            Change::Move(by, bar) => words::move_to(&counted(bar, self.mark.key.tick + by)),
            Change::Onto(piece) => words::on_instead(piece.name()),
            Change::LeaveOut => words::LEAVE_OUT.0.to_owned(),
        }
    }

    /// Makes the change. Returns also what the stroke is called after it.
    pub(super) fn mend(&self, base: &Base, gesture: u64) -> (Outcome, Option<Key>) {
        let stroke = [Picked::of(&self.mark)];
        let key = self.mark.key;
        match self.change {
            Change::Move(by, _) => {
                let tick = key.tick + by;
                let moved = Key { tick, ..key };
                (base.shift(&stroke, by, gesture), Some(moved))
            }
            Change::Onto(piece) => {
                let target = EditTarget::Piece(piece);
                let struck = Key { target, ..key };
                (base.onto(&stroke, target, gesture), Some(struck))
            }
            Change::LeaveOut => (base.leave_out(&stroke, gesture), None),
        }
    }
}

/// Judges the strokes on show, in order of time, at a tempo in quarter notes a minute. Only what was asked for by edits is
/// named: for the rest the drummer answers.
pub(super) fn judge(
    marks: &[Mark],
    bars: &[Bar],
    grid: &Grid,
    (bpm, player): (f64, Player),
) -> Vec<Beyond> {
    let sounding: Vec<&Mark> = marks
        .iter()
        .filter(|mark| !mark.key.out && !mark.locked)
        .collect();
    if !sounding.iter().any(|mark| mark.hit.asked) {
        return Vec::new();
    }
    let limits = player.limits();
    let strokes: Vec<_> = sounding.iter().map(|mark| timed(mark, bpm)).collect();
    let found = problems(&strokes, &limits);
    let asked = |i: &usize| sounding.get(*i).is_some_and(|mark| mark.hit.asked);
    let mut beyond: Vec<Beyond> = Vec::new();
    for problem in &found {
        let all = std::iter::once(&problem.stroke).chain(&problem.in_the_way);
        let Some(&named) = all.clone().find(|i| asked(i)) else {
            continue;
        };
        let Some(mark) = sounding.get(named) else {
            continue;
        };
        if beyond.iter().any(|other| other.mark.key == mark.key) {
            continue;
        }
        let keys = all.clone().filter_map(|i| Some(sounding.get(*i)?.key));
        let keys = keys.collect();
        let others = all
            .filter(|i| **i != named)
            .filter_map(|i| sounding.get(*i));
        let tries = Tries {
            sounding: &sounding,
            named,
            player,
            bpm,
        };
        beyond.push(Beyond {
            mark: **mark,
            keys,
            why: why(problem, mark, others.copied(), bpm),
            change: tries.nearest(bars, grid),
        });
    }
    beyond
}

/// A stroke by piece and time.
fn timed(mark: &Mark, bpm: f64) -> TimedStroke {
    TimedStroke {
        tick: mark.hit.tick,
        seconds: mark.hit.tick as f64 / ticks_per_second(bpm),
        piece: mark.hit.piece,
    }
}

/// Why a stroke can't be played, with what the limbs do instead.
fn why<'a>(
    problem: &Problem,
    mark: &Mark,
    others: impl Iterator<Item = &'a Mark>,
    bpm: f64,
) -> String {
    let beside = others.map(|other| {
        let seconds = (other.hit.tick - mark.hit.tick) as f64 / ticks_per_second(bpm);
        #[expect(clippy::cast_possible_truncation)]
        let ms = (seconds * 1000.0).round() as i64;
        words::busy(other.hit.limb, other.hit.piece, ms)
    });
    let mut beside: Vec<String> = beside.collect();
    beside.dedup();
    let place = counted(mark.bar, mark.hit.grid);
    let reason = match problem.why {
        Why::ThirdHand => words::THIRD_HAND.to_owned(),
        Why::ThirdFoot => words::THIRD_FOOT.to_owned(),
        Why::HandTooFast => words::NO_HAND.to_owned(),
        other => other.to_string(),
    };
    words::beyond((mark.hit.piece.name(), &place), &reason, &beside)
}

/// Pieces that stand in for each other.
const FAMILIES: [&[Piece]; 3] = [
    &[
        Piece::CrashLeft,
        Piece::CrashRight,
        Piece::China,
        Piece::Splash,
    ],
    &[
        Piece::RackHigh,
        Piece::RackLow,
        Piece::FloorHigh,
        Piece::FloorLow,
    ],
    &[
        Piece::HiHatClosed,
        Piece::HiHatLoose,
        Piece::HiHatOpen,
        Piece::Ride,
        Piece::RideBell,
    ],
];

/// Tries changes of one stroke, and judges each.
struct Tries<'a> {
    sounding: &'a [&'a Mark],
    /// Which of them is changed.
    named: usize,
    player: Player,
    bpm: f64,
}

impl Tries<'_> {
    /// The nearest change after which fewer strokes are beyond: the next place of the grid, another piece of its kind, the
    /// place after that, else it is left out. The drummer makes room, so what was asked for is judged alone where that
    /// is the trouble.
    fn nearest(&self, bars: &[Bar], grid: &Grid) -> Change {
        let Some(mark) = self.sounding.get(self.named) else {
            return Change::LeaveOut;
        };
        let tick = mark.key.tick;
        let later = grid.next(tick, true);
        let earlier = grid.next(tick, false);
        let two = [
            later.and_then(|tick| grid.next(tick, true)),
            earlier.and_then(|tick| grid.next(tick, false)),
        ];
        let places = |of: [Option<Ticks>; 2]| {
            let places = of.into_iter().flatten();
            places.filter_map(|to| {
                let bar = bars.iter().find(|bar| (bar.start..bar.end()).contains(&to));
                Some(Change::Move(to - tick, *bar?))
            })
        };
        let family = FAMILIES.iter().find(|all| all.contains(&mark.hit.piece));
        let others = family
            .into_iter()
            .flat_map(|all| all.iter())
            .filter(|piece| **piece != mark.hit.piece);
        let mut tries = places([later, earlier])
            .chain(others.map(|piece| Change::Onto(*piece)))
            .chain(places(two));
        let (asked, at) = self.asked();
        let before = problems(&asked, &self.player.limits()).len();
        // Where only the drummer's own strokes are in the way, they are judged, too.
        let (strokes, at, before) = if before > 0 {
            (asked, at, before)
        } else {
            let all: Vec<_> = self.sounding.iter().map(|m| timed(m, self.bpm)).collect();
            let before = problems(&all, &self.player.limits()).len();
            (all, self.named, before)
        };
        tries
            .find(|change| self.helps(*change, (&strokes, at), before))
            .unwrap_or(Change::LeaveOut)
    }

    /// What was asked for alone, and the place of the changed stroke in it.
    fn asked(&self) -> (Vec<TimedStroke>, usize) {
        let asked = self.sounding.iter().filter(|mark| mark.hit.asked);
        let before = self.sounding.get(..self.named).unwrap_or_default().iter();
        let at = before.filter(|mark| mark.hit.asked).count();
        (asked.map(|mark| timed(mark, self.bpm)).collect(), at)
    }

    fn helps(&self, change: Change, (strokes, at): (&[TimedStroke], usize), before: usize) -> bool {
        let mut strokes = strokes.to_vec();
        let Some(stroke) = strokes.get_mut(at) else {
            return false;
        };
        match change {
            Change::Move(by, _) => {
                stroke.tick += by;
                stroke.seconds = stroke.tick as f64 / ticks_per_second(self.bpm);
            }
            Change::Onto(piece) => stroke.piece = piece,
            Change::LeaveOut => return true,
        }
        let changed = *stroke;
        let grid = self
            .sounding
            .get(self.named)
            .map_or(0, |mark| mark.key.tick);
        let to = match change {
            Change::Move(by, _) => grid + by,
            _ => grid,
        };
        // Where its piece is struck already, it would only be doubled.
        let doubles = |(i, mark): (usize, &&Mark)| {
            i != self.named && mark.hit.piece == changed.piece && mark.key.tick == to
        };
        if self.sounding.iter().enumerate().any(doubles) {
            return false;
        }
        let after = problems(&strokes, &self.player.limits());
        let concerned =
            |problem: &Problem| problem.stroke == at || problem.in_the_way.contains(&at);
        after.len() < before && !after.iter().any(concerned)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::groove::beat::Feel;
    use crate::groove::{Hit, Limb, Origin};
    use crate::kit::Struck;
    use crate::time::Meter;

    const BAR: Bar = Bar {
        start: 0,
        meter: Meter::FOUR_FOUR,
    };

    fn mark(grid: Ticks, piece: Piece, limb: Limb, asked: bool) -> Mark {
        let struck = Struck {
            piece,
            velocity: 100,
            lead: true,
            turn: 0,
            alternate: None,
            opening: 0,
        };
        let hit = Hit {
            tick: grid,
            grid,
            limb,
            asked,
            origin: Origin::ByHand,
            ..Hit::of(&struck)
        };
        Mark {
            key: Key::of(&hit),
            hit,
            bar: BAR,
            locked: false,
        }
    }

    fn judged(marks: &[Mark], bpm: f64) -> Vec<Beyond> {
        let grid = Grid::of([(BAR, Feel::Straight)]);
        judge(marks, &[BAR], &grid, (bpm, Player::Extreme))
    }

    /// Three hands on count 2: one stroke is named, with what the hands do, and goes to the next free place.
    #[test]
    fn a_third_hand_is_named_with_what_helps() {
        let marks = [
            mark(960, Piece::CrashRight, Limb::LeadHand, true),
            mark(960, Piece::Snare, Limb::OtherHand, true),
            mark(960, Piece::FloorLow, Limb::LeadHand, true),
        ];
        let found = judged(&marks, 120.0);
        let [beyond] = &found[..] else {
            panic!("{found:?}")
        };
        assert_eq!(beyond.mark.hit.piece, Piece::FloorLow);
        for said in [
            words::THIRD_HAND,
            "crash right",
            "snare",
            "floor tom low on 2",
        ] {
            assert!(beyond.why.contains(said), "{said}: {}", beyond.why);
        }
        assert_eq!(beyond.change, Change::Move(240, BAR));
        assert_eq!(beyond.remedy(), words::move_to("2 e"));
        // What helps is tried: with it, all can be played.
        let mut mended = marks;
        mended[2] = mark(1200, Piece::FloorLow, Limb::LeadHand, true);
        assert_eq!(judged(&mended, 120.0), []);
    }

    /// Where the places beside it are no use either, it is left out; where none was asked for, nothing is said.
    #[test]
    fn what_nothing_helps_is_left_out() {
        let run = |asked| {
            let each = (0..16).flat_map(|i| {
                [
                    mark(i * 240, Piece::Ride, Limb::LeadHand, asked),
                    mark(i * 240, Piece::Snare, Limb::OtherHand, asked),
                ]
            });
            each.collect::<Vec<_>>()
        };
        let mut marks = run(true);
        marks.insert(9, mark(960, Piece::China, Limb::LeadHand, true));
        let found = judged(&marks, 120.0);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].change, Change::LeaveOut);
        assert_eq!(judged(&run(false), 400.0), []);
    }

    /// A locked region answers for itself, and a stroke that is left out is none.
    #[test]
    fn only_what_edits_ask_for_is_judged() {
        let third = |change: fn(&mut Mark)| {
            let mut marks = [
                mark(960, Piece::CrashRight, Limb::LeadHand, true),
                mark(960, Piece::Snare, Limb::OtherHand, true),
                mark(960, Piece::FloorLow, Limb::LeadHand, true),
            ];
            marks.iter_mut().for_each(change);
            judged(&marks, 120.0).len()
        };
        assert_eq!(third(|_| {}), 1);
        assert_eq!(third(|mark| mark.locked = true), 0);
        assert_eq!(third(|mark| mark.key.out = true), 0);
    }
}

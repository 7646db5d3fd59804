//! When a change of a setting is heard: the plan at the bar line or the count, the moment at once,
//! the auto hand cymbal on a count. The project's own promise, no source.

use crate::support::*;
use fourlimb::engine::{Inputs, Played, Sequencer};
use fourlimb::groove::{Hit, Limb, vocabulary};
use fourlimb::kit::Piece;
use fourlimb::riff::Riff;
use fourlimb::settings::{Settings, SwitchAt};
use fourlimb::song::Chart;
use fourlimb::time::Ticks;
use fourlimb::transport::bars::BarGrid;
use proptest::prelude::*;
use proptest::sample::select;

const BAR: Ticks = 3840;

fn settings(style: &str) -> Settings {
    let mut settings = Settings::default();
    settings.bar_settings.style = vocabulary::slot(style).unwrap();
    settings.bar_settings.fill_chance = 0.0;
    settings.bar_settings.feel = 0.0;
    settings.stroke_settings.density = 0.0;
    settings
}

/// Plays three bars of 4/4 at 120 BPM with settings that change at ticks.
fn play(first: Settings, changes: &[(Ticks, Settings)]) -> Vec<Hit> {
    let (mut sequencer, grid) = (Sequencer::new(), BarGrid::new());
    let mut hits = Vec::new();
    let (mut at, mut now) = (0, first);
    for &(tick, next) in changes.iter().chain(&[(3 * BAR, first)]) {
        play_span(&mut sequencer, (at, tick), &now, &grid, 120.0, |hit| {
            hits.push(hit)
        });
        (at, now) = (tick, next);
    }
    hits
}

fn kicks(hits: &[Hit]) -> Vec<Ticks> {
    let of = hits.iter().filter(|hit| hit.piece == Piece::Kick);
    of.map(|hit| hit.tick).collect()
}

#[test]
fn a_change_of_style_waits_for_the_bar_line_or_the_count() {
    let (rock, double) = (settings("rock"), settings("double-kick"));
    let heard = |switch_at, tick| {
        let (rock, double) = (
            Settings { switch_at, ..rock },
            Settings {
                switch_at,
                ..double
            },
        );
        let kicks = kicks(&play(rock, &[(tick, double)]));
        // The first kick where the rock beat has none.
        kicks.into_iter().find(|at| at % (BAR / 2) != 0).unwrap()
    };
    assert_eq!(heard(SwitchAt::Bar, 1000), BAR + 240);
    assert_eq!(heard(SwitchAt::Count, 1000), 1920 + 240);
    assert_eq!(heard(SwitchAt::Count, 960), 960);
    // A host may deliver it up to a sixteenth late.
    assert_eq!(heard(SwitchAt::Bar, BAR + 239), BAR + 240);
    assert_eq!(heard(SwitchAt::Bar, BAR + 240), 2 * BAR + 240);
}

#[test]
fn intensity_and_density_act_on_the_next_stroke() {
    let mut quiet = settings("double-kick");
    quiet.stroke_settings.intensity = 0.1;
    let mut loud = quiet;
    loud.stroke_settings.intensity = 1.0;
    let hits = play(quiet, &[(BAR + 240, loud)]);
    let velocity = |tick| {
        let kick = hits
            .iter()
            .find(|h| h.tick == tick && h.piece == Piece::Kick);
        kick.unwrap().velocity
    };
    assert!(velocity(BAR + 240) > velocity(BAR) + 10);
    let bare = settings("rock");
    let mut dense = bare;
    dense.stroke_settings.density = 1.0;
    let from = BAR + 961;
    let hits = play(bare, &[(from, dense)]);
    let drums = |range: std::ops::Range<Ticks>| {
        let drum = |h: &&Hit| matches!(h.piece, Piece::Snare | Piece::Kick);
        let of = |h: &&Hit| drum(h) && range.contains(&h.tick);
        hits.iter().filter(of).count()
    };
    // Of the bare beat, a kick and a backbeat each; then ghost notes and extra kicks too.
    assert_eq!(drums(BAR..from), 2);
    assert!(drums(from..2 * BAR) > 3, "{}", drums(from..2 * BAR));
}

#[test]
fn the_auto_cymbal_moves_on_bar_lines_or_with_a_leap_on_a_backbeat() {
    let moves = |changes: &[(Ticks, Settings)]| {
        let hits = play(settings("skank"), changes);
        let hand: Vec<_> = hits
            .iter()
            .filter(|h| h.limb == Limb::LeadHand && h.tick > 0)
            .collect();
        let moves = hand.windows(2).filter(|w| w[0].piece != w[1].piece);
        moves.map(|w| w[1].tick).collect::<Vec<_>>()
    };
    let at = |intensity| {
        let mut settings = settings("skank");
        settings.stroke_settings.intensity = intensity;
        settings
    };
    // Up through every rung, a step every sixty ticks: twice in three bars, on the second line and a backbeat.
    let ramp: Vec<_> = (1..192)
        .map(|i: u8| (Ticks::from(i) * 60, at(f32::from(i) / 191.0)))
        .collect();
    let found = moves(&ramp);
    assert!(!found.is_empty() && found.len() <= 3, "{found:?}");
    let turns = |tick: &Ticks| [0, 960, 2880].contains(&(tick % BAR));
    assert!(found.iter().all(turns), "{found:?}");
    // A leap from verse to chorus is heard on the next backbeat, what wavers after it is not.
    let leap = [(BAR + 1000, at(0.95)), (BAR + 3000, at(0.4))];
    assert_eq!(moves(&leap), [BAR + 2880, 2 * BAR]);
}

proptest! {
    #![proptest_config(cases(256))]

    /// Swing and feel change when the core's strokes sound, not which (extras may give way to swing): where a change falls between a stroke's
    /// place on the grid and its sound, the stroke is neither lost nor struck twice.
    #[test]
    fn a_change_beside_the_grid_loses_and_doubles_nothing(
        plans in [plans(), plans()],
        at in prop_oneof![BAR..BAR + 300, BAR + 900..BAR + 1000, 0..2 * BAR],
        switch_at in select(SwitchAt::ALL),
    ) {
        let heard = |exact: bool| {
            let [first, second] = plans.map(|mut bar_settings| {
                if exact {
                    (bar_settings.feel, bar_settings.swing) = (0.0, 0.5);
                }
                let mut settings = Settings { bar_settings, switch_at, ..Settings::default() };
                settings.stroke_settings.density = 0.0;
                settings
            });
            // Both graces of a drag belong to one place on the grid.
            let mut hits: Vec<_> = play(first, &[(at, second)])
                .into_iter()
                .filter(|hit| !hit.grace)
                .map(|hit| (hit.grid, hit.limb))
                .collect();
            hits.sort_unstable();
            hits
        };
        let (exact, loose) = (heard(true), heard(false));
        prop_assert!(loose.windows(2).all(|w| w[0] != w[1]), "doubled");
        // One that was early has been struck before a change at its place could take it away. So has one of the old
        // part's just after, which then stands for it.
        for (grid, limb) in exact {
            let near = |other: &&(Ticks, Limb)| other.1 == limb && (grid..grid + 240).contains(&other.0);
            prop_assert!(loose.iter().any(|other| near(&other)), "{:?} is lost", (grid, limb));
        }
    }
}

/// A switch that is pressed and released between two counts calls a fill each time, not only the first.
#[test]
fn every_tap_calls_a_fill() {
    let (mut sequencer, grid) = (Sequencer::new(), BarGrid::new());
    let (up, down) = (
        settings("rock"),
        Settings {
            fill_now: true,
            ..settings("rock")
        },
    );
    for bar in 0..3 {
        let start = bar * BAR;
        // Between the second count and the third.
        for (from, to, panel) in [(0, 1200, up), (1200, 1400, down), (1400, 2000, up)] {
            let span = (start + from, start + to);
            play_span(&mut sequencer, span, &panel, &grid, 120.0, |_| {});
        }
        play_span(
            &mut sequencer,
            (start + 2000, start + BAR),
            &up,
            &grid,
            120.0,
            |_| {},
        );
        assert_eq!(sequencer.call().fill, Some((1920, 2880)), "bar {bar}");
    }
}

/// Plays three bars in spans of `step` ticks, cut where a setting changes. Where `passes`, spans in which the sequencer
/// rests are passed over, as they are live. Returns the hits, and how many spans were passed over.
fn in_spans(step: Ticks, changes: &[(Ticks, Settings)], passes: bool) -> (Vec<Hit>, usize) {
    let (mut sequencer, grid) = (Sequencer::new(), BarGrid::new());
    let (chart, riff) = (Chart::default(), Riff::default());
    let (mut hits, mut passed) = (Vec::new(), 0);
    let mut panel = Settings::default();
    let mut at = 0;
    while at < 3 * BAR {
        for (_, next) in changes.iter().filter(|change| change.0 == at) {
            panel = *next;
            sequencer.inputs_changed();
        }
        let cut = changes
            .iter()
            .map(|change| change.0)
            .filter(|tick| *tick > at);
        let to = cut.fold((at / step + 1) * step, Ticks::min).min(3 * BAR);
        let inputs = Inputs {
            panel: &panel,
            chart: &chart,
            riff: &riff,
            bars: &grid,
            bpm: 120.0,
        };
        if passes && sequencer.rests(at, to) {
            passed += 1;
        } else {
            sequencer.play(at, to, &inputs, |played| {
                if let Played::Hit(hit) = played {
                    hits.push(hit);
                }
            });
        }
        at = to;
    }
    (hits, passed)
}

proptest! {
    #![proptest_config(cases(200))]

    /// Passing over a span in which the sequencer rests loses nothing: settings that change before it, calls of fills
    /// that wait for a count, and the lines of counts and bars all end the rest.
    #[test]
    fn nothing_is_lost_where_the_sequencer_rests(
        changes in proptest::collection::vec(
            (
                0..3 * BAR,
                select(vec!["rock", "double-kick", "bomb blast", "breakdown"]),
                any::<bool>(),
                select(SwitchAt::ALL),
                0.0_f32..=1.0,
            ),
            0..8,
        ),
        step in 1_i64..300,
    ) {
        let mut changes: Vec<_> = changes
            .into_iter()
            .map(|(tick, style, fill_now, switch_at, density)| {
                let mut settings = settings(style);
                (settings.fill_now, settings.switch_at) = (fill_now, switch_at);
                settings.stroke_settings.density = density;
                (tick, settings)
            })
            .collect();
        changes.sort_by_key(|change| change.0);
        let (all, _) = in_spans(step, &changes, false);
        let (hits, passed) = in_spans(step, &changes, true);
        prop_assert_eq!(hits, all);
        prop_assert!(step > 100 || passed > 20, "{passed} spans were passed over");
    }
}

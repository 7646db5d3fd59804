//! When a change of a setting is heard: the plan at the bar line or the count, the moment at once,
//! the auto hand cymbal on a count. The project's own promise, no source.

use crate::support::*;
use fourlimb::engine::Sequencer;
use fourlimb::groove::{Hit, Limb, vocabulary};
use fourlimb::kit::Piece;
use fourlimb::settings::{Settings, SwitchAt};
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
    let ghosts = |range: std::ops::Range<Ticks>| {
        let of = |h: &&Hit| h.piece == Piece::Snare && range.contains(&h.tick);
        hits.iter().filter(of).count()
    };
    assert_eq!(ghosts(BAR..from), 1);
    assert!(ghosts(from..2 * BAR) > 2);
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
        // One that was early has been struck before a change at its place could take it away.
        for hit in exact {
            prop_assert!(loose.contains(&hit), "{hit:?} is lost");
        }
    }
}

//! Beats whose grids are written out in public, against the vocabulary.

use crate::support::*;
use fourlimb::groove::vocabulary;
use fourlimb::kit::Piece;
use fourlimb::settings::{BarSettings, Settings, StrokeSettings};
use fourlimb::time::Meter;

/// One grid: sixteen slots of a bar, as copied in `published`.
struct Grid {
    ours: &'static str,
    cymbal: &'static str,
    snare: &'static str,
    kick: &'static str,
}

/// The four blast grids. Source: public tab notation of blast beats on a 16-slot bar: (1) cymbal,
/// snare and kick on even slots; (2) cymbal and kick even, snare odd; (3) cymbal and snare even,
/// kick every slot; (4) cymbal and kick even, snare every slot [read]. The names: traditional blast
/// as a single-stroke roll split between cymbal and snare, kick with the cymbal (Schlueter, quoted in
/// an encyclopaedia; a second article agrees) [read]; hammer blast as snare, kick and cymbal
/// together [read]; bomb blast over continuous double kick [read; names vary]; freehand blast with two
/// snare hits a motion [read].
const BLASTS: [Grid; 4] = [
    Grid {
        ours: "hammer blast",
        cymbal: "x-x-x-x-x-x-x-x-",
        snare: "o-o-o-o-o-o-o-o-",
        kick: "o-o-o-o-o-o-o-o-",
    },
    Grid {
        ours: "blast",
        cymbal: "x-x-x-x-x-x-x-x-",
        snare: "-o-o-o-o-o-o-o-o",
        kick: "o-o-o-o-o-o-o-o-",
    },
    Grid {
        ours: "bomb blast",
        cymbal: "x-x-x-x-x-x-x-x-",
        snare: "o-o-o-o-o-o-o-o-",
        kick: "oooooooooooooooo",
    },
    Grid {
        ours: "gravity blast",
        cymbal: "x-x-x-x-x-x-x-x-",
        snare: "oooooooooooooooo",
        kick: "o-o-o-o-o-o-o-o-",
    },
];

/// The D-beat's two published versions over 16 slots, where `1 & 2 & 3 & 4 &` are the even slots.
/// Source: tab notation copied as data from a mirror of an encyclopaedia's D-beat article [read].
const D_BEATS: [Grid; 2] = [
    Grid {
        ours: "D-beat",
        cymbal: "x-x-x-x-x-x-x-x-",
        snare: "--o---o---o---o-",
        kick: "o---oo--o---oo--",
    },
    Grid {
        ours: "D-beat",
        cymbal: "x-x-x-x-x-x-x-x-",
        snare: "--o---o---o---o-",
        kick: "o----o--o--o-o--",
    },
];

/// The standard rock beat: kick 1 and 3, snare 2 and 4. Source: de Clercq 2016, *Music Theory
/// Online* 22(3) [read].
const ROCK: Grid = Grid {
    ours: "rock",
    cymbal: "x---x---x---x---",
    snare: "----o-------o---",
    kick: "o-------o-------",
};

/// Our beat over sixteen slots: cymbal, snare, kick.
fn ours(name: &str) -> [String; 3] {
    let Settings {
        bar_settings,
        stroke_settings,
        ..
    } = Settings::default();
    let bar_settings = BarSettings {
        feel: 0.0,
        style: vocabulary::slot(name).unwrap(),
        fill_chance: 0.0,
        ..bar_settings
    };
    let stroke_settings = StrokeSettings {
        density: 0.0,
        ..stroke_settings
    };
    let part = part(bar(1, Meter::FOUR_FOUR), 120.0, &bar_settings);
    let mut lines = [(); 3].map(|()| vec!['-'; 16]);
    for hit in part.hits(&stroke_settings) {
        let at = hit.tick - part.bar().start;
        assert_eq!(at % 240, 0, "{name} leaves the grid");
        let (line, letter) = match hit.piece {
            Piece::Kick => (2, 'o'),
            Piece::Snare => (1, 'o'),
            _ => (0, 'x'),
        };
        lines[line][at as usize / 240] = letter;
    }
    lines.map(|line| line.into_iter().collect())
}

fn is_ours(grid: &Grid) -> bool {
    ours(grid.ours) == [grid.cymbal, grid.snare, grid.kick]
}

#[test]
fn blasts_are_the_published_grids() {
    for grid in &BLASTS {
        assert!(is_ours(grid), "{}: {:#?}", grid.ours, ours(grid.ours));
    }
}

#[test]
fn the_d_beat_is_one_of_the_published_versions() {
    assert!(D_BEATS.iter().any(is_ours), "{:#?}", ours("D-beat"));
}

#[test]
fn the_rock_beat_is_the_published_one() {
    let [_, snare, kick] = ours(ROCK.ours);
    assert_eq!([snare.as_str(), kick.as_str()], [ROCK.snare, ROCK.kick]);
}

/// Skank or polka beat: kick and snare alternate on consecutive eighths, the cymbal on the beat or
/// with the kick. Source: a metal glossary on a blog [read].
#[test]
fn the_skank_alternates_on_eighths() {
    let [cymbal, snare, kick] = ours("skank");
    assert_eq!(kick, "o---o---o---o---");
    assert_eq!(snare, "--o---o---o---o-");
    let with_kick = kick.chars().zip(cymbal.chars());
    assert!(with_kick.filter(|(k, _)| *k == 'o').all(|(_, c)| c == 'x'));
}

/// A half-time beat turns its kick-snare cycle one metrical level slower than the rock beat. Source:
/// de Clercq 2016, *Music Theory Online* 22(3), abstract [read].
#[test]
fn half_time_is_the_rock_beat_a_level_slower() {
    let stretched: String = ROCK.snare[..8].chars().flat_map(|c| [c, '-']).collect();
    assert_eq!(ours("half-time")[1], stretched);
}

//! How fills land, and that they can be played: crashes, hands, kicks, and the section that follows.

use crate::fill_shapes::{COUNT, CRASHES, at, by_hand, settings};
use crate::support::*;
use fourlimb::check::playable::{TimedStroke, problems};
use fourlimb::engine::offline;
use fourlimb::groove::{Hit, Limb, Part, Request, Stroke, StrokeTarget, compose_with};
use fourlimb::kit::Piece;
use fourlimb::riff::Attack;
use fourlimb::settings::{BarSettings, Hand, KickSource, Player, RiffGrid, StrokeSettings};
use fourlimb::song::{SongFile, Timeline};
use fourlimb::time::tempo::ticks_per_second;
use fourlimb::time::{Meter, Ticks};

/// Crashes of fills and of their landings stand on a kick or a snare, and no flam is on a crash; with the feet on the
/// beat and on a riff.
#[test]
fn no_crash_hangs_in_the_air() {
    let attacks: Vec<Attack> = (-16..3_000)
        .filter(|i| i % 16 != 0 && i % 3 != 0)
        .map(|i| Attack {
            tick: i * 240,
            strength: if i % 5 == 0 { 0.2 } else { 1.0 },
        })
        .collect();
    let (mut crashes, mut bare) = (0, Vec::new());
    for style in 0..BEATS {
        for source in [KickSource::Beat, KickSource::Riff, KickSource::Both] {
            let bar_settings = BarSettings {
                kick_source: source,
                ..settings(style)
            };
            for index in 3..80 {
                let bar = bar(index, Meter::FOUR_FOUR);
                let mut part = Part::new();
                let riff = (source != KickSource::Beat).then_some(attacks.as_slice());
                compose_with(
                    &Request {
                        riff,
                        ..Request::new(bar, 150.0, &bar_settings)
                    },
                    &mut part,
                );
                let start = part.fill().map_or(Ticks::MAX, |fill| fill.start);
                // On the ride, so that a crash is never the hand cymbal.
                let stroke_settings = StrokeSettings {
                    hand: Hand::Ride,
                    ..at(0.8)
                };
                let hits: Vec<Hit> = part.hits(&stroke_settings).collect();
                let led = index % 4 == 0;
                for hit in hits.iter().filter(|h| CRASHES.contains(&h.piece)) {
                    let is_fills = hit.grid >= start || (hit.grid == bar.start && led);
                    if !is_fills {
                        continue;
                    }
                    crashes += 1;
                    let under = hits.iter().any(|h| {
                        h.grid == hit.grid && matches!(h.piece, Piece::Kick | Piece::Snare)
                    });
                    if hit.grace || !under {
                        let beat = bar_settings.beat().name();
                        bare.push(format!(
                            "{beat} {source:?} bar {index} at {}",
                            hit.grid - bar.start
                        ));
                    }
                }
            }
        }
    }
    println!("{} of {crashes} crashes are bare", bare.len());
    assert!(
        bare.is_empty() && crashes > 1000,
        "{} of {crashes}: {:?}",
        bare.len(),
        &bare[..bare.len().min(20)]
    );
}

/// The hand that lands on the left crash does not cross the other, which has just struck on the floor toms.
#[test]
fn hands_come_home_uncrossed() {
    let (mut left, mut right, mut crossed) = (0, 0, Vec::new());
    for style in 0..BEATS {
        for index in (3..160).step_by(4) {
            let bar_settings = settings(style);
            let [fill, next] =
                [0, 1].map(|i| part(bar(index + i, Meter::FOUR_FOUR), 140.0, &bar_settings));
            let line = next.bar().start;
            // Below the intensities at which beats ride the right crash, and open on it.
            let Some(landing) = next
                .hits(&at(0.6))
                .find(|hit| hit.grid == line && CRASHES.contains(&hit.piece))
            else {
                continue;
            };
            let hits: Vec<Hit> = fill.hits(&at(0.6)).collect();
            let other = hits
                .iter()
                .rfind(|hit| by_hand(hit) && hit.limb != landing.limb);
            let floor = other.is_some_and(|hit| {
                line - hit.grid < COUNT / 2
                    && matches!(hit.piece, Piece::FloorHigh | Piece::FloorLow)
            });
            if landing.piece == Piece::CrashLeft {
                left += 1;
                if floor {
                    crossed.push(fill.fill().unwrap().to_string());
                }
            } else {
                right += 1;
            }
        }
    }
    println!("left {left}, right {right}, crossed {}", crossed.len());
    assert!(
        crossed.len() * 50 <= left,
        "{} of {left}: {:?}",
        crossed.len(),
        crossed.first()
    );
    assert!(left > 200 && right > 200, "{left} {right}");
}

/// After a fill the lead hand plays the 1 wherever the beat has it there, on a crash or on what it rides. Before, it was
/// silent at low intensity where the fill had ended on the floor toms.
#[test]
fn the_hand_that_rides_is_back_on_the_1() {
    let (mut landings, mut silent) = (0, Vec::new());
    for style in 0..BEATS {
        for index in (4..160).step_by(4) {
            for intensity in [0.1, 0.3, 0.6] {
                let leads = |fill_chance| {
                    let bar_settings = BarSettings {
                        fill_chance,
                        ..settings(style)
                    };
                    let part = part(bar(index, Meter::FOUR_FOUR), 140.0, &bar_settings);
                    let line = part.bar().start;
                    part.hits(&at(intensity))
                        .any(|hit| hit.grid == line && hit.limb == Limb::LeadHand)
                };
                if leads(0.0) {
                    landings += 1;
                    if !leads(1.0) {
                        silent.push((settings(style).beat().name(), index, intensity));
                    }
                }
            }
        }
    }
    println!("silent after a fill: {} of {landings}", silent.len());
    assert!(silent.is_empty() && landings > 3000, "{:?}", silent.first());
}

/// A called fill that is let go of in mid-bar lands on a kick that sounds at every density, whatever the beat, the
/// player, the meter and the tempo.
#[test]
fn every_called_fill_lands_on_a_kick() {
    let mut missing = Vec::new();
    for style in 0..BEATS {
        for &player in Player::ALL {
            for name in ["4/4", "3/4", "7/8", "6/8"] {
                let meter: Meter = name.parse().unwrap();
                let counts = meter.counts();
                for bpm in [80.0, 120.0, 160.0, 200.0, 240.0] {
                    for to in 1..counts.len() {
                        for from in 0..to {
                            let bar = bar((to * 7 + from) as i64, meter);
                            let bar_settings = BarSettings {
                                player,
                                fill_chance: 0.0,
                                ..settings(style)
                            };
                            let fill = (counts[from].start, counts[to].start);
                            let call = fourlimb::groove::Call {
                                fill: Some(fill),
                                lands: false,
                            };
                            let mut part = Part::new();
                            compose_with(
                                &Request {
                                    call,
                                    ..Request::new(bar, bpm, &bar_settings)
                                },
                                &mut part,
                            );
                            let lands = |s: &&Stroke| {
                                s.tick == bar.start + fill.1
                                    && s.rank == 0.0
                                    && s.target == StrokeTarget::Piece(Piece::Kick)
                            };
                            if part.strokes().iter().find(lands).is_none() {
                                missing.push(format!(
                                    "{} {} {name} {bpm} {fill:?}",
                                    bar_settings.beat().name(),
                                    player.name()
                                ));
                            }
                        }
                    }
                }
            }
        }
    }
    assert!(
        missing.is_empty(),
        "{}: {:?}",
        missing.len(),
        &missing[..missing.len().min(20)]
    );
}

/// The fill and the bars around it, for all players, where bars are short and hands have no time. Before: a tom groove
/// in 11/16 at 398 BPM could ask for too much.
#[test]
fn fills_in_the_fastest_bars_can_be_played() {
    const BPM: f64 = 398.0;
    let mut wrong = Vec::new();
    let asked = |meter, bar_settings: &BarSettings| {
        let bars = [2, 3, 4].map(|i| part(bar(i, meter), BPM, bar_settings));
        let stroke_settings = at(0.9);
        let hits = bars.iter().flat_map(|part| part.hits(&stroke_settings));
        let struck: Vec<TimedStroke> = hits
            .map(|hit| TimedStroke {
                tick: hit.tick,
                seconds: hit.tick as f64 / ticks_per_second(BPM),
                piece: hit.piece,
            })
            .collect();
        let found = problems(&struck, &bar_settings.player.limits());
        let fill = bars[1].fill().unwrap();
        (!found.is_empty()).then(|| format!("{fill}: {found:?}"))
    };
    for style in 0..BEATS {
        for (name, &player) in ["11/16", "5/8"]
            .iter()
            .flat_map(|name| Player::ALL.iter().map(move |player| (name, player)))
        {
            for take in 1..=2 {
                let bar_settings = BarSettings {
                    player,
                    take,
                    ..settings(style)
                };
                if let Some(fault) = asked(name.parse().unwrap(), &bar_settings) {
                    let beat = bar_settings.beat().name();
                    wrong.push(format!(
                        "{beat} {name} {} take {take}: {fault}",
                        player.name()
                    ));
                }
            }
        }
    }
    let n = wrong.len();
    assert!(n == 0, "{n}: {:#?}", &wrong[..n.min(8)]);
}

/// A verse that ends in a long fill into a louder chorus, as the chart says: the fill knows the chorus.
#[test]
fn a_fill_leads_up_to_the_section_that_follows() {
    let growth = |take: u32, next: f64| {
        let json = format!(
            r#"{{"fourlimb_song": 1, "title": "rise", "take": {take}, "sections":
                [{{"name": "A", "bars": 4, "bpm": 120, "style": "rock", "intensity": 0.5, "fill": "long"}},
                 {{"name": "B", "bars": 4, "style": "rock", "intensity": {next}}}]}}"#
        );
        let song = Timeline::new(&SongFile::parse(&json).unwrap()).unwrap();
        let hits = offline::play(&song);
        let mean = |count: i64| {
            let from = 3 * 3840 + count * COUNT;
            let here = hits.iter().filter(|hit| {
                by_hand(hit) && !hit.grace && (from..from + COUNT).contains(&hit.grid)
            });
            let velocities: Vec<f64> = here.map(|hit| f64::from(hit.velocity)).collect();
            velocities.iter().sum::<f64>() / velocities.len().max(1) as f64
        };
        mean(3) - mean(0)
    };
    let mean = |next| (1..=12).map(|take| growth(take, next)).sum::<f64>() / 12.0;
    let (up, level, down) = (mean(0.9), mean(0.5), mean(0.2));
    println!("into louder {up:.1}, the same {level:.1}, softer {down:.1}");
    assert!(
        up >= 15.0 && up > level + 8.0 && level > down,
        "{up} {level} {down}"
    );
}

/// The hands go with the guitar: triplets over a riff of triplets, and sixteenths over one of sixteenths, whatever the
/// beat is felt in. Before, beats filled straight over triplets.
#[test]
fn fills_are_felt_as_the_riff_under_them() {
    // Half a step of the riff is fine too.
    for step in [320, 240] {
        let riff: Vec<Attack> = (-20..16 * 80)
            .map(|i| Attack {
                tick: i * step,
                strength: 1.0,
            })
            .collect();
        let (mut fills, mut strokes, mut clashes) = (0, 0, Vec::new());
        for style in 0..BEATS {
            for bpm in [90.0, 120.0, 160.0] {
                for index in (3..40).step_by(4) {
                    let mut part = Part::new();
                    let bar_settings = BarSettings {
                        kick_source: KickSource::Riff,
                        riff_grid: RiffGrid::SixteenthsAndTriplets,
                        ..settings(style)
                    };
                    let bar = bar(index, Meter::FOUR_FOUR);
                    let request = Request {
                        riff: Some(&riff),
                        ..Request::new(bar, bpm, &bar_settings)
                    };
                    compose_with(&request, &mut part);
                    let Some(fill) = part.fill() else { continue };
                    fills += 1;
                    for hit in part.hits(&at(0.8)) {
                        let off = hit.grid.rem_euclid(COUNT);
                        let struck = by_hand(&hit) && !hit.grace && hit.grid >= fill.start;
                        strokes += usize::from(struck);
                        if struck && off % (step / 2) != 0 {
                            clashes.push(format!(
                                "{} at {bpm}, bar {index}: {fill}",
                                bar_settings.beat().name()
                            ));
                            break;
                        }
                    }
                }
            }
        }
        println!(
            "riff of {step} ticks: {} of {fills} fills clash",
            clashes.len()
        );
        assert!(
            clashes.is_empty(),
            "{} of {fills}: {:?}",
            clashes.len(),
            &clashes[..1]
        );
        assert!(fills > 600 && strokes > 3000, "{fills} {strokes}");
    }
}

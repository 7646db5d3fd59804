//! How a beat suits the guitar of a section: counted on what would be played. It never chooses.

use super::in_force::Inputs;
use super::sequencer::Sequencer;
use crate::groove::Call;
use crate::kit::Piece;
use crate::riff::{Attack, Riff};
use crate::settings::{Settings, Style};
use crate::song::Chart;
use crate::time::{Bar, TICKS_PER_QUARTER, Ticks};

/// A drum and the guitar meet within half a sixteenth, in ticks.
const MEET: Ticks = TICKS_PER_QUARTER / 8;
/// A beat suits a riff where its kicks meet at least so many of three strokes, and no more than one kick of three stands
/// alone. Judged: fewer, and kick and guitar read as two parts.
const MET_OF_THREE: usize = 2;
const ALONE_OF_THREE: usize = 1;

/// Most strokes of the guitar that are counted in a bar.
const MOST: usize = 1024;

/// How a beat and the guitar go together over some bars.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Fit {
    /// The guitar's strokes.
    pub strokes: usize,
    /// How many of them have a kick.
    pub met: usize,
    /// The kicks.
    pub kicks: usize,
    /// How many of them stand alone.
    pub alone: usize,
    /// The snare's strokes, without ghost notes.
    pub snares: usize,
    /// How many of them the guitar leaves room for.
    pub clear: usize,
    /// The strokes that are too fast for the player.
    pub beyond: usize,
}

impl Fit {
    /// Counts a beat over bars where the riff is known, on the settings that are in force there but for the beat and fills;
    /// `None` where the riff is known in none of them. Main thread; allocates. `bpm` in quarter notes a minute.
    pub fn of(
        style: Style,
        bars: &[Bar],
        bpm: f64,
        in_force: &Settings,
        riff: &Riff,
    ) -> Option<Self> {
        let mut settings = *in_force;
        settings.follow_chart = false;
        settings.fill_now = false;
        settings.bar_settings.style = style.slot();
        settings.bar_settings.fill_chance = 0.0;
        let chart = Chart::default();
        let mut sequencer = Sequencer::new();
        let mut fit = Self::default();
        let mut attacks = Vec::with_capacity(MOST);
        for bar in bars.iter().filter(|bar| riff.knows(bar.start, bar.end())) {
            attacks.clear();
            riff.gather(bar.start, bar.end(), &mut attacks);
            let inputs = Inputs {
                panel: &settings,
                chart: &chart,
                riff,
                bars: bar,
                bpm,
            };
            let (mut kicks, mut snares) = (Vec::new(), Vec::new());
            sequencer.look_at(*bar, Call::default(), &inputs, |hit| match hit.piece {
                Piece::Kick => kicks.push(hit.grid),
                Piece::Snare | Piece::SideStick if !hit.ghost && !hit.grace => {
                    snares.push(hit.grid);
                }
                _ => {}
            });
            fit.count(&attacks, &kicks, &snares);
            fit.beyond += sequencer.part().thinned();
        }
        (fit.strokes > 0).then_some(fit)
    }

    /// Counts the strokes of a bar.
    fn count(&mut self, attacks: &[Attack], kicks: &[Ticks], snares: &[Ticks]) {
        let meets =
            |tick: Ticks, all: &[Ticks]| all.iter().any(|other| (other - tick).abs() < MEET);
        let guitar: Vec<Ticks> = attacks.iter().map(|attack| attack.tick).collect();
        self.strokes += guitar.len();
        self.met += guitar.iter().filter(|tick| meets(**tick, kicks)).count();
        self.kicks += kicks.len();
        self.alone += kicks.iter().filter(|tick| !meets(**tick, &guitar)).count();
        self.snares += snares.len();
        self.clear += snares.iter().filter(|tick| !meets(**tick, &guitar)).count();
    }

    /// Whether the beat suits the riff.
    pub fn suits(&self) -> bool {
        self.met * 3 >= self.strokes * MET_OF_THREE
            && self.alone * 3 <= self.kicks * ALONE_OF_THREE
            && self.beyond == 0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::Meter;

    const BPM: f64 = 120.0;

    fn bars() -> Vec<Bar> {
        let bar = |i: i64| Bar {
            start: i * 3840,
            meter: Meter::FOUR_FOUR,
        };
        (0..4).map(bar).collect()
    }

    fn bare() -> Settings {
        let mut settings = Settings::default();
        settings.stroke_settings.density = 0.0;
        settings
    }

    /// The kicks of a beat, as a riff.
    fn riff_of(style: Style, by: Ticks) -> Riff {
        let mut settings = bare();
        settings.bar_settings.style = style.slot();
        settings.bar_settings.fill_chance = 0.0;
        let (chart, none) = (Chart::default(), Riff::default());
        let mut attacks = Vec::new();
        for bar in &bars() {
            let inputs = Inputs {
                panel: &settings,
                chart: &chart,
                riff: &none,
                bars: bar,
                bpm: BPM,
            };
            Sequencer::new().look_at(*bar, Call::default(), &inputs, |hit| {
                if hit.piece == Piece::Kick {
                    attacks.push(Attack {
                        tick: (hit.grid + by).min(bar.end() - 1),
                        strength: 0.9,
                    });
                }
            });
        }
        Riff::new(attacks, 0, 4 * 3840)
    }

    fn fit(style: Style, riff: &Riff) -> Option<Fit> {
        Fit::of(style, &bars(), BPM, &bare(), riff)
    }

    /// A beat suits the riff that its own kicks make, and one that avoids them it does not.
    #[test]
    fn a_beat_suits_its_own_kicks() {
        for &style in Style::ALL {
            let Some(own) = fit(style, &riff_of(style, 0)) else {
                assert_eq!(style, Style::CymbalAndFoot);
                continue;
            };
            assert_eq!((own.met, own.alone), (own.strokes, 0), "{}", style.name());
            assert!(own.suits() || own.beyond > 0, "{} {own:?}", style.name());
        }
        let beside = fit(Style::Rock, &riff_of(Style::Rock, 240)).unwrap();
        assert!(!beside.suits(), "{beside:?}");
    }

    /// A stroke more on a kick never makes it suit less; one away from every kick never makes it suit more.
    #[test]
    fn the_measure_is_monotone() {
        let counted = |attacks: &[Ticks]| {
            let mut fit = Fit::default();
            let attacks: Vec<_> = attacks
                .iter()
                .map(|&tick| Attack {
                    tick,
                    strength: 0.8,
                })
                .collect();
            fit.count(&attacks, &[0, 960, 1920, 2400], &[960]);
            fit
        };
        let places = [0, 480, 960, 1920, 2160, 2400, 3360];
        for n in 0..1 << places.len() {
            let has = |i: usize| n & (1 << i) != 0;
            let with = |extra: Option<Ticks>| {
                let chosen = (0..places.len()).filter(|i| has(*i)).map(|i| places[i]);
                let mut all: Vec<_> = chosen.chain(extra).collect();
                all.sort_unstable();
                counted(&all)
            };
            let before = with(None);
            for i in (0..places.len()).filter(|i| !has(*i)) {
                let after = with(Some(places[i]));
                let on_kick = [0, 960, 1920, 2400].contains(&places[i]);
                if on_kick {
                    assert!(after.suits() || !before.suits() || before.strokes == 0);
                } else if before.strokes > 0 {
                    assert!(before.suits() || !after.suits());
                }
            }
        }
    }
}

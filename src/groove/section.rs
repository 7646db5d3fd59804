//! Sections of a chart as the drummer sees them: a bar's position in its section, how sections begin and end, and
//! how their bars divide into phrases.

use crate::settings::{BarSettings, FillShape};
use crate::settings::{SectionFill, Start};

impl SectionFill {
    /// The shape of the fill; `None` where chance decides or there is no fill.
    pub(super) fn shape(self) -> Option<FillShape> {
        match self {
            Self::Auto | Self::None => None,
            Self::Short => Some(FillShape::Short),
            Self::Long => Some(FillShape::Long),
            Self::Break => Some(FillShape::Break),
        }
    }
}

/// Where a bar stands in its section.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SectionPosition {
    /// Bars from the section's first, from 0.
    pub index: i64,
    /// Bars of the section, at least 1.
    pub bars: i64,
    /// How the section begins.
    pub start: Start,
    /// How it ends.
    pub fill: SectionFill,
    /// Whether a fill at the end of the previous section leads into this one.
    pub led: bool,
    /// Whether that fill ends on the floor toms.
    pub low: bool,
}

/// A bar's position in its phrase, and the length of the phrase in bars. `index` counts the song's bars from 0, or
/// with a chart, the bars in the section's own time.
pub fn place_in_phrase(
    index: i64,
    section_position: Option<&SectionPosition>,
    bar_settings: &BarSettings,
) -> (i64, i64) {
    let InPhrase { index, bars, .. } = InPhrase::new(index, section_position, bar_settings);
    (index, bars)
}

/// Where a bar stands in its phrase.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct InPhrase {
    /// Bars from the phrase's first, from 0.
    pub(super) index: i64,
    /// Bars of the phrase.
    pub(super) bars: i64,
    /// Bars of the next one.
    pub(super) next: i64,
    /// The number of the phrase. Neighbouring phrases alternate between odd and even.
    pub(super) number: i64,
}

impl InPhrase {
    /// The place of the bar with this index in the song, from 0.
    ///
    /// Phrases are counted from the start of the section. The bars left over at its end form a phrase of their own;
    /// fewer than half a phrase join the last one, since no drummer ends a phrase one bar before the chorus.
    pub(super) fn new(
        index: i64,
        section_position: Option<&SectionPosition>,
        bar_settings: &BarSettings,
    ) -> Self {
        let bars = bar_settings.phrase.bars();
        let number = index.div_euclid(bars);
        let Some(section_position) = section_position else {
            return Self {
                index: index.rem_euclid(bars),
                bars,
                next: bars,
                number,
            };
        };
        let rest = section_position.bars % bars;
        let whole = section_position.bars - rest;
        let last = match rest {
            0 => whole - bars,
            rest if rest * 2 < bars && whole > 0 => whole - bars,
            _ => whole,
        };
        let first = (section_position.index - section_position.index % bars).min(last);
        let of = |first: i64| {
            if first < last {
                bars
            } else {
                section_position.bars - last
            }
        };
        Self {
            index: section_position.index - first,
            bars: of(first),
            next: of(first + bars),
            number: (index - section_position.index + first).div_euclid(bars),
        }
    }

    /// Bars to the phrase's end, this one included.
    pub(super) fn left(&self) -> i64 {
        self.bars - self.index
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::Settings;

    fn phrases(bars: i64) -> Vec<i64> {
        let bar_settings = Settings::default().bar_settings;
        let place = |index| {
            let section_position = SectionPosition {
                index,
                bars,
                start: Start::Auto,
                fill: SectionFill::Auto,
                led: false,
                low: false,
            };
            InPhrase::new(800 + index, Some(&section_position), &bar_settings)
        };
        let starts: Vec<_> = (0..bars).filter(|&bar| place(bar).index == 0).collect();
        for bar in 0..bars {
            let here = place(bar);
            assert!((1..=here.bars).contains(&here.left()));
        }
        for (i, &start) in starts.iter().enumerate() {
            let end = starts.get(i + 1).copied().unwrap_or(bars);
            assert_eq!(place(start).bars, end - start);
            let parity = place(start).number - place(starts[0]).number;
            assert_eq!(parity, i64::try_from(i).unwrap());
        }
        starts
    }

    #[test]
    fn a_section_is_cut_into_phrases() {
        let cuts: [(i64, &[i64]); 10] = [
            (1, &[0]),
            (2, &[0]),
            (3, &[0]),
            (4, &[0]),
            (5, &[0]),
            (6, &[0, 4]),
            (7, &[0, 4]),
            (8, &[0, 4]),
            (9, &[0, 4]),
            (11, &[0, 4, 8]),
        ];
        for (bars, starts) in cuts {
            assert_eq!(phrases(bars), starts, "{bars} bars");
        }
    }
}

//! What of a song's bars is written once and repeated, as drummers read it: repeats with a number of times, signs for one
//! bar and for two, rests of several bars.
//!
//! Repeats stay inside a section, and inside what has one tempo and one beat. Common practice, no source: a bar that
//! comes up to three times has the sign for one bar, a pair that comes twice the sign for two; what comes more often
//! stands between repeat signs with its number.

use super::part::WrittenBar;

/// How a bar is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// As it is.
    Plain,
    /// As it is; a group of so many bars begins here and is played so many times.
    Repeated {
        /// How many bars the group has.
        bars: usize,
        /// How often it is played.
        times: usize,
    },
    /// As it is, inside a group.
    Inside,
    /// As it is, the last of a group that is played so many times.
    RepeatEnds {
        /// How often it is played.
        times: usize,
    },
    /// Not at all: a repeat plays it.
    Left,
    /// By the sign for so many bars, which begins here.
    Sign {
        /// How many bars the sign repeats: 1 or 2.
        bars: usize,
    },
    /// By the sign that began the bar before.
    SignGoesOn,
    /// By the rest of so many bars, which begins here.
    Rests {
        /// How many.
        bars: usize,
    },
    /// By the rest that began before.
    RestGoesOn,
}

/// The lengths of a group that may be repeated, in bars, the shortest first.
const GROUPS: [usize; 4] = [1, 2, 4, 8];

/// How every bar is written. `breaks`: the bars, by their place, before which nothing goes on: something is said there.
pub fn forms(bars: &[WrittenBar], breaks: impl Fn(usize) -> bool) -> Vec<Form> {
    let mut forms = Vec::with_capacity(bars.len());
    while forms.len() < bars.len() {
        let from = forms.len();
        let until = (from + 1..bars.len())
            .find(|i| breaks(*i))
            .unwrap_or(bars.len());
        stretch(&bars[from..until], &mut forms);
    }
    forms
}

/// The forms of bars of one section, tempo and meter.
fn stretch(bars: &[WrittenBar], forms: &mut Vec<Form>) {
    let mut at = 0;
    while at < bars.len() {
        let rests = bars[at..].iter().take_while(|bar| bar.is_empty()).count();
        if rests > 1 {
            forms.push(Form::Rests { bars: rests });
            forms.extend((1..rests).map(|_| Form::RestGoesOn));
            at += rests;
            continue;
        }
        let group = GROUPS
            .into_iter()
            .filter(|_| rests == 0)
            .map(|bars_in_it| (bars_in_it, times(&bars[at..], bars_in_it)))
            .find(|(_, times)| *times > 1);
        let Some((length, times)) = group else {
            forms.push(Form::Plain);
            at += 1;
            continue;
        };
        match (length, times) {
            (1, 2 | 3) | (2, 2) => {
                forms.extend((0..length).map(|_| Form::Plain));
                for _ in 1..times {
                    forms.push(Form::Sign { bars: length });
                    forms.extend((1..length).map(|_| Form::SignGoesOn));
                }
            }
            _ => {
                forms.push(Form::Repeated {
                    bars: length,
                    times,
                });
                if length > 1 {
                    forms.extend((2..length).map(|_| Form::Inside));
                    forms.push(Form::RepeatEnds { times });
                }
                forms.extend((length..length * times).map(|_| Form::Left));
            }
        }
        at += length * times;
    }
}

/// How often a group of so many bars comes in a row.
fn times(bars: &[WrittenBar], length: usize) -> usize {
    let Some(group) = bars.get(..length) else {
        return 0;
    };
    let like = |other: &[WrittenBar]| {
        other.len() == length && group.iter().zip(other).all(|(a, b)| a.is_like(b))
    };
    bars.chunks(length).take_while(|chunk| like(chunk)).count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::score::part::{Chord, Head, Voice};
    use crate::kit::Piece;
    use crate::time::{Bar, Meter};

    /// Bars of a letter each; a space is an empty one.
    fn bars(letters: &str) -> Vec<WrittenBar> {
        let bar = |(i, letter): (usize, char)| {
            let heads = vec![Head {
                piece: Piece::Snare,
                by_foot: false,
                ghost: false,
                limb: None,
            }];
            let chord = Chord {
                at: 60 * i64::from(u32::from(letter) % 32),
                heads,
                graces: Vec::new(),
                accent: false,
                hit: None,
                rings: false,
                closes: false,
                roll: false,
            };
            let hands = Voice {
                chords: if letter == ' ' {
                    Vec::new()
                } else {
                    vec![chord]
                },
                events: Vec::new(),
            };
            WrittenBar {
                bar: Bar {
                    start: i64::try_from(i).unwrap() * 3840,
                    meter: Meter::FOUR_FOUR,
                },
                number: i + 1,
                hands,
                feet: Voice::default(),
                fill: None,
                slashes: false,
            }
        };
        letters.chars().enumerate().map(bar).collect()
    }

    fn short(letters: &str, breaks: &[usize]) -> String {
        let forms = forms(&bars(letters), |i| breaks.contains(&i));
        assert_eq!(forms.len(), letters.len());
        let word = |form: &Form| match form {
            Form::Plain => "x".to_owned(),
            Form::Repeated { bars, times } => format!("[{bars}*{times}"),
            Form::Inside => ".".to_owned(),
            Form::RepeatEnds { times } => format!("{times}]"),
            Form::Left => "-".to_owned(),
            Form::Sign { bars } => format!("%{bars}"),
            Form::SignGoesOn => "%".to_owned(),
            Form::Rests { bars } => format!("r{bars}"),
            Form::RestGoesOn => "r".to_owned(),
        };
        forms.iter().map(word).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn equal_bars_are_written_once() {
        for (letters, expected) in [
            ("ABC", "x x x"),
            ("AABC", "x %1 x x"),
            ("AAA", "x %1 %1"),
            ("AAAAB", "[1*4 - - - x"),
            ("ABAB", "x x %2 %"),
            ("ABABAB", "[2*3 3] - - - -"),
            ("ABCDABCD", "[4*2 . . 2] - - - -"),
            ("    A ", "r4 r r r x x"),
        ] {
            assert_eq!(short(letters, &[]), expected, "{letters}");
        }
        assert_eq!(short("AAAA", &[2]), "x %1 x %1");
        assert_eq!(short("    ", &[2]), "r2 r r2 r");
    }
}

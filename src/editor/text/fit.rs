//! How a beat goes with the guitar, in words.

use crate::engine::fit::Fit;
use std::fmt::Write as _;

/// The reason: "kicks on 9 of 11 strokes, 2 kicks alone; snare where the guitar leaves room".
pub fn reason(fit: &Fit) -> String {
    let Fit {
        strokes,
        met,
        alone,
        snares,
        clear,
        beyond,
        ..
    } = *fit;
    let mut said = match met {
        0 => format!("kicks on none of {strokes} strokes"),
        _ if met == strokes => format!("kicks on all {strokes} strokes"),
        _ => format!("kicks on {met} of {strokes} strokes"),
    };
    let _ = match alone {
        0 => Ok(()),
        1 => write!(said, ", 1 kick alone"),
        n => write!(said, ", {n} kicks alone"),
    };
    let _ = match clear {
        _ if snares == 0 => Ok(()),
        0 => write!(said, "; snare with the guitar"),
        _ if clear == snares => write!(said, "; snare where the guitar leaves room"),
        n => write!(said, "; {n} of {snares} snares where it leaves room"),
    };
    if beyond > 0 {
        said.push_str("; too fast for these chops");
    }
    said
}

/// The same in a tooltip.
pub fn with_guitar(fit: &Fit) -> String {
    let begins = if fit.suits() {
        "Suits the guitar here"
    } else {
        "With the guitar here"
    };
    format!("{begins}: {}.", reason(fit))
}

/// A beat of the list that suits the guitar, to be heard.
pub fn suiting(beat: &str, reason: &str) -> String {
    format!("{beat}, suits the guitar: {reason}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_reason_is_in_words() {
        let fit = Fit {
            strokes: 11,
            met: 9,
            kicks: 11,
            alone: 2,
            snares: 3,
            clear: 3,
            beyond: 0,
        };
        assert_eq!(
            reason(&fit),
            "kicks on 9 of 11 strokes, 2 kicks alone; snare where the guitar leaves room"
        );
        assert!(fit.suits());
    }
}

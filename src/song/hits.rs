//! Hits of the band in a song file: a row a hit, as `[1440, "short"]` or `[0, "long"]`.

use crate::choice::unknown;
use crate::groove::Stab;
use crate::time::Ticks;
use serde::{Deserialize, Serialize};

/// Ticks from here on are no place in a section: beyond the longest song.
const FARTHEST: Ticks = 1 << 40;

/// After a short hit a hand grabs the cymbal; after a long one it rings.
const SHORT: &str = "short";
const LONG: &str = "long";

/// A hit of the band as a row of a song file. Its place is in ticks from the start of its section.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Written", into = "Written")]
pub struct HitRow(pub Stab);

/// A row as it is written.
#[derive(Serialize, Deserialize)]
#[serde(
    expecting = "write a hit as [1440, \"short\"] or [1440, \"long\"]: ticks from the start of the section (960 a \
                 quarter note), and how it ends"
)]
struct Written(Ticks, String);

impl From<HitRow> for Written {
    fn from(HitRow(stab): HitRow) -> Self {
        let length = if stab.held { LONG } else { SHORT };
        Self(stab.at, length.to_owned())
    }
}

impl TryFrom<Written> for HitRow {
    type Error = String;

    fn try_from(Written(at, length): Written) -> Result<Self, String> {
        if !(0..FARTHEST).contains(&at) {
            return Err(format!(
                "tick {at} is no place in the section: count from its start, from 0 on"
            ));
        }
        let held = match length.as_str() {
            SHORT => false,
            LONG => true,
            _ => return Err(unknown("length of a hit", &length, &[SHORT, LONG])),
        };
        Ok(Self(Stab { at, held }))
    }
}

/// Marks a hit at a place, or changes the one that is there; `None` takes it away.
pub fn mark(hits: &mut Vec<HitRow>, at: Ticks, held: Option<bool>) {
    hits.retain(|hit| hit.0.at != at);
    hits.extend(held.map(|held| HitRow(Stab { at, held })));
    hits.sort_by_key(|hit| hit.0);
}

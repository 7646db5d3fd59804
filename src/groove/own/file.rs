//! The form that own beats have in files, in songs and in projects.

use super::error::OwnBeatError;
use super::model::{OwnBeat, OwnHands, OwnStroke, Strikes};
use crate::choice::unknown;
use crate::kit::Piece;
use crate::settings::{Hand, HandRate};
use crate::time::Ticks;
use serde::{Deserialize, Serialize};

/// The version of the form that this program writes, and the latest that it reads.
pub const VERSION: u32 = 1;

/// What a beat is felt in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Felt {
    /// Eighths and sixteenths.
    Straight,
    /// Three to a count.
    Triplets,
}

/// Which hands ride.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
enum HandsChoice {
    /// One hand rides, the other has the snare.
    #[serde(rename = "one rides")]
    Lead,
    /// The same, with two strokes from one motion on the snare.
    #[serde(rename = "one rides, one bounces")]
    Bounce,
    /// Both ride in turn.
    #[serde(rename = "both ride")]
    Both,
    /// Both strike drums in turn.
    #[serde(rename = "both on drums")]
    Drums,
}

/// A beat as it is written.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Written {
    fourlimb_beat: u32,
    name: String,
    meter: String,
    #[serde(default = "straight")]
    feel: Felt,
    hand_cymbal: Hand,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    hand_rate: Option<HandRate>,
    #[serde(default = "one_rides")]
    hands: HandsChoice,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    drums: Option<(Name, Name)>,
    #[serde(default = "yes")]
    crash_opens: bool,
    bars: Vec<Vec<WrittenStroke>>,
}

fn straight() -> Felt {
    Felt::Straight
}

fn one_rides() -> HandsChoice {
    HandsChoice::Lead
}

fn yes() -> bool {
    true
}

/// A piece by its name.
#[derive(Debug, Clone, Copy)]
struct Name(Piece);

impl Serialize for Name {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.0.name())
    }
}

impl<'de> Deserialize<'de> for Name {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let name = String::deserialize(deserializer)?;
        let names = Piece::ALL.map(Piece::name);
        let piece = Piece::from_name(&name);
        let piece = piece.ok_or_else(|| unknown("piece", &name, &names));
        piece.map(Self).map_err(serde::de::Error::custom)
    }
}

/// A stroke as it is written: count, ticks after it, what it strikes, and what else is to say.
#[derive(Serialize, Deserialize)]
#[serde(
    untagged,
    expecting = "write a stroke as [2, 480, \"snare\"]: count from 1, ticks after it (960 a quarter note), \
                 \"hand\" or a piece; after these {\"rank\": 0.4} for an extra, {\"weight\": 0.5} for an accent, \
                 {\"rank\": 0.4, \"ghost\": true} for a ghost note"
)]
enum WrittenStroke {
    Plain(u8, Ticks, String),
    More(u8, Ticks, String, More),
}

/// What else there is to say of a stroke.
#[derive(Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct More {
    #[serde(default, skip_serializing_if = "is_0")]
    rank: f32,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    weight: Option<f32>,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    ghost: bool,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde asks for it")]
fn is_0(number: &f32) -> bool {
    *number == 0.0
}

impl From<OwnBeat> for Written {
    fn from(beat: OwnBeat) -> Self {
        let stroke = |stroke: OwnStroke| {
            let OwnStroke {
                count,
                tick,
                strikes,
                rank,
                weight,
                ghost,
            } = stroke;
            let name = strikes.name().to_owned();
            let more = More {
                rank,
                weight,
                ghost,
            };
            if more == More::default() {
                WrittenStroke::Plain(count, tick, name)
            } else {
                WrittenStroke::More(count, tick, name, more)
            }
        };
        let (hands, drums) = match beat.hands {
            OwnHands::Lead => (HandsChoice::Lead, None),
            OwnHands::Bounce => (HandsChoice::Bounce, None),
            OwnHands::Both => (HandsChoice::Both, None),
            OwnHands::Drums(lead, other) => (HandsChoice::Drums, Some((Name(lead), Name(other)))),
        };
        Self {
            fourlimb_beat: VERSION,
            name: beat.name,
            meter: beat.meter.to_string(),
            feel: if beat.triplets {
                Felt::Triplets
            } else {
                Felt::Straight
            },
            hand_cymbal: beat.cymbal,
            hand_rate: beat.rate,
            hands,
            drums,
            crash_opens: beat.opens,
            bars: beat
                .bars
                .into_iter()
                .map(|bar| bar.into_iter().map(stroke).collect())
                .collect(),
        }
    }
}

impl TryFrom<Written> for OwnBeat {
    type Error = OwnBeatError;

    fn try_from(written: Written) -> Result<Self, OwnBeatError> {
        version(written.fourlimb_beat)?;
        let meter = written.meter.parse();
        let meter = meter.map_err(|error| OwnBeatError::new("meter", format!("{error}")))?;
        let hands = match (written.hands, written.drums) {
            (HandsChoice::Drums, Some((lead, other))) => OwnHands::Drums(lead.0, other.0),
            (HandsChoice::Drums, None) => {
                let problem = "missing: say which drums the hands strike, as [\"floor tom low\", \"rack tom low\"]";
                return Err(OwnBeatError::new("drums", problem));
            }
            (_, Some(_)) => {
                let problem = "only \"hands\": \"both on drums\" strike drums in turn: say so, or leave \
                               the field out";
                return Err(OwnBeatError::new("drums", problem));
            }
            (HandsChoice::Lead, None) => OwnHands::Lead,
            (HandsChoice::Bounce, None) => OwnHands::Bounce,
            (HandsChoice::Both, None) => OwnHands::Both,
        };
        let mut bars = Vec::with_capacity(written.bars.len());
        for (i, bar) in written.bars.into_iter().enumerate() {
            let stroke = |(j, stroke)| {
                read_stroke(stroke)
                    .map_err(|problem| OwnBeatError::new(format!("bars[{i}][{j}]"), problem))
            };
            let bar: Result<Vec<_>, _> = bar.into_iter().enumerate().map(stroke).collect();
            bars.push(bar?);
        }
        let beat = Self {
            name: written.name,
            meter,
            triplets: written.feel == Felt::Triplets,
            cymbal: written.hand_cymbal,
            rate: written.hand_rate,
            hands,
            opens: written.crash_opens,
            bars,
        };
        beat.check()?;
        Ok(beat)
    }
}

/// Whether this program reads a version.
pub(super) fn version(version: u32) -> Result<(), OwnBeatError> {
    if (1..=VERSION).contains(&version) {
        return Ok(());
    }
    let problem = format!(
        "this beat is version {version}, and this program reads up to version {VERSION}: open it with a newer \
         Fourlimb"
    );
    Err(OwnBeatError::new("fourlimb_beat", problem))
}

fn read_stroke(written: WrittenStroke) -> Result<OwnStroke, String> {
    let (count, tick, name, more) = match written {
        WrittenStroke::Plain(count, tick, name) => (count, tick, name, More::default()),
        WrittenStroke::More(count, tick, name, more) => (count, tick, name, more),
    };
    let strikes = if name == Strikes::HAND {
        Strikes::Hand
    } else {
        let piece = Piece::from_name(&name).ok_or_else(|| {
            let names: Vec<_> = [Strikes::HAND]
                .into_iter()
                .chain(Piece::ALL.map(Piece::name))
                .collect();
            unknown("piece", &name, &names)
        });
        Strikes::Piece(piece?)
    };
    Ok(OwnStroke {
        count,
        tick,
        strikes,
        rank: more.rank,
        weight: more.weight,
        ghost: more.ghost,
    })
}

impl Serialize for OwnBeat {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        Written::from(self.clone()).serialize(serializer)
    }
}

impl<'de> Deserialize<'de> for OwnBeat {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let written = Written::deserialize(deserializer)?;
        Self::try_from(written).map_err(serde::de::Error::custom)
    }
}

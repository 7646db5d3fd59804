//! A note map from a file of any kind: one of ours, a MIDI name document, or a drum region that was played on the sampler.

use super::smf_tracks::{ReadError, Tracks};
use crate::kit::general_midi::PERCUSSION_CHANNEL;
use crate::kit::map_file::{MapError, NamedMap};
use crate::kit::midnam::{self, MidnamError, NamedList};
use crate::kit::proposal::Proposal;
use crate::kit::usage::{self, UsedNote};
use crate::kit::{Note, names};
use crate::time::{Bar, Ticks};

/// A map that was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadMap {
    /// The map; where it is proposed, to be confirmed by ear.
    pub map: NamedMap,
    /// What speaks for it, where it is proposed: each note with its piece, and those that were left out.
    pub proposal: Option<Proposal>,
    /// The names of the lists of a name document that were not read.
    pub others: Vec<String>,
}

/// A file that no map can be read from. Each message says what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SourceError {
    /// One of our maps, damaged.
    #[error(transparent)]
    Map(#[from] MapError),
    /// A name document, damaged.
    #[error(transparent)]
    Names(#[from] MidnamError),
    /// A MIDI file, damaged.
    #[error(transparent)]
    Region(#[from] ReadError),
    /// A name document without the list that was asked for.
    #[error("it has no list of note names \"{0}\": use one of {names}", names = .1.join(", "))]
    NoList(String, Vec<String>),
    /// Nothing could be placed.
    #[error(
        "nothing in it could be taken for a piece of the kit: set the keys by hand, or learn them from the sampler"
    )]
    Nothing,
    /// None of the three kinds.
    #[error(
        "it is neither a map of Fourlimb (JSON), nor a MIDI name document (.midnam), nor a MIDI file: choose one of these"
    )]
    Unknown,
}

/// Reads a map from a file's bytes. `list` names a list of a name document; without it, the one that names the most pieces
/// is read.
///
/// # Errors
/// [`SourceError`] says what is wrong and what to do.
pub fn read(bytes: &[u8], list: Option<&str>) -> Result<ReadMap, SourceError> {
    let read = match kind(bytes) {
        Some(Kind::Region) => region(bytes)?,
        Some(Kind::Names) => names(bytes, list)?,
        Some(Kind::Map) => {
            let json =
                std::str::from_utf8(bytes).map_err(|error| MapError::Json(error.to_string()))?;
            ReadMap {
                map: NamedMap::parse(json)?,
                proposal: None,
                others: Vec::new(),
            }
        }
        None => return Err(SourceError::Unknown),
    };
    if read.map.map.played().next().is_none() {
        return Err(SourceError::Nothing);
    }
    Ok(read)
}

enum Kind {
    Map,
    Names,
    Region,
}

/// The kind of a file, by its first characters: XML may be in UTF-16, JSON may not.
fn kind(bytes: &[u8]) -> Option<Kind> {
    if bytes.windows(4).take(256).any(|head| head == b"MThd") {
        return Some(Kind::Region);
    }
    let marks = [0xEF, 0xBB, 0xBF, 0xFE, 0xFF, 0];
    let is_blank = |byte: &u8| byte.is_ascii_whitespace() || marks.contains(byte);
    match bytes.iter().find(|byte| !is_blank(byte))? {
        b'<' => Some(Kind::Names),
        b'{' | b'[' => Some(Kind::Map),
        _ => None,
    }
}

fn names(bytes: &[u8], list: Option<&str>) -> Result<ReadMap, SourceError> {
    let lists = midnam::read(bytes)?;
    let proposed = |list: &NamedList| {
        let on = |channel: &u8| *channel == PERCUSSION_CHANNEL;
        let channel = match list.channels.first() {
            Some(first) if !list.channels.iter().any(on) => *first,
            _ => PERCUSSION_CHANNEL,
        };
        names::propose(&list.on(channel))
    };
    let title = |list: &NamedList| match (list.device.trim(), list.list.trim()) {
        ("", name) => name.to_owned(),
        (device, "") => device.to_owned(),
        (device, name) => format!("{device}: {name}"),
    };
    let titles: Vec<String> = lists.iter().map(title).collect();
    let chosen = match list {
        Some(wanted) => {
            let is_it = |at: &usize| titles[*at] == wanted || lists[*at].list == wanted;
            let none = || SourceError::NoList(wanted.to_owned(), titles.clone());
            (0..lists.len()).find(is_it).ok_or_else(none)?
        }
        None => (0..lists.len())
            .rev()
            .max_by_key(|at| proposed(&lists[*at]).lines.len())
            .ok_or(SourceError::Nothing)?,
    };
    let proposal = proposed(&lists[chosen]);
    let mut others = titles;
    let name = others.swap_remove(chosen);
    Ok(ReadMap {
        map: NamedMap {
            name: NamedMap::short(&name),
            map: proposal.to_map(),
        },
        proposal: Some(proposal),
        others,
    })
}

fn region(bytes: &[u8]) -> Result<ReadMap, SourceError> {
    let file = Tracks::read(bytes)?;
    let mut notes: Vec<_> = file.tracks.iter().flat_map(|track| &track.notes).collect();
    // Other instruments of a whole song are no drums.
    if notes.iter().any(|note| note.channel == PERCUSSION_CHANNEL) {
        notes.retain(|note| note.channel == PERCUSSION_CHANNEL);
    }
    notes.sort_by_key(|note| note.at);
    let used: Vec<_> = notes
        .iter()
        .map(|note| UsedNote {
            tick: file.ticks(note.at),
            note: Note {
                channel: note.channel,
                key: note.key,
            },
            velocity: note.velocity,
        })
        .collect();
    let end = used.last().map_or(0, |note| note.tick + 1);
    let proposal = usage::propose(&used, &bars(&file, end)?);
    Ok(ReadMap {
        map: NamedMap {
            name: String::new(),
            map: proposal.to_map(),
        },
        proposal: Some(proposal),
        others: Vec::new(),
    })
}

/// Most bars that are looked at: over an hour of 4/4 at 200 BPM.
const MOST_BARS: usize = 4096;

/// The bars of a file up to a tick.
fn bars(file: &Tracks, end: Ticks) -> Result<Vec<Bar>, ReadError> {
    let meters = file.meters()?;
    let mut bars = Vec::new();
    let mut start = 0;
    while start < end && bars.len() < MOST_BARS {
        let held = meters.partition_point(|(from, _)| *from <= start).max(1);
        let (_, meter) = meters[held - 1];
        let bar = Bar { start, meter };
        let next = meters.get(held).map_or(Ticks::MAX, |(from, _)| *from);
        start = bar.end().min(next);
        bars.push(bar);
    }
    Ok(bars)
}

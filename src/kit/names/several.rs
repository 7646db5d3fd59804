//! Several toms, several crashes: which keys sound the same one, and in which order they stand.

use super::words::{Reading, Word};
use crate::kit::{Note, Piece, proposal::Sureness};
use std::collections::BTreeMap;

/// What a name says about which of several it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(super) struct Mark {
    floor: bool,
    /// From the highest, 0, to the lowest.
    height: Option<i8>,
    number: Option<u32>,
    /// Of the player: `Left` or `Right`.
    side: Option<Word>,
}

impl Mark {
    /// The mark of a tom or of a crash.
    pub(super) fn new(reading: &Reading) -> Self {
        let has = |word| reading.has(word);
        let mid = has(Word::Mid) || has(Word::Half);
        let height = match (has(Word::High), mid, has(Word::Low)) {
            (true, false, false) if has(Word::Very) => Some(-1),
            (true, false, false) => Some(0),
            (true, true, false) => Some(1),
            (false, true, false) => Some(2),
            (false, true, true) => Some(3),
            (false, false, true) if has(Word::Very) => Some(5),
            (false, false, true) => Some(4),
            _ => None,
        };
        let number = reading.numbers.first().copied();
        let side = match (has(Word::Left), has(Word::Right)) {
            (true, false) => Some(Word::Left),
            (false, true) => Some(Word::Right),
            _ => None,
        };
        Self {
            floor: has(Word::Floor),
            height,
            number,
            side,
        }
    }

    /// Of toms that have a height or a number, the side is that of the hand.
    fn of_tom(mut self) -> Self {
        if self.height.is_some() || self.number.is_some() {
            self.side = None;
        }
        self
    }

    fn says_nothing(self) -> bool {
        let Self {
            height,
            number,
            side,
            ..
        } = self;
        (height, number, side) == (None, None, None)
    }
}

/// A key that is one of several.
#[derive(Debug, Clone, Copy)]
pub(super) struct Key {
    pub note: Note,
    pub mark: Mark,
    /// Its name is that of the piece itself, and not of a shade of it.
    pub plain: bool,
    /// A tom that hangs, by its name.
    pub rack: bool,
}

/// Where a key was placed, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Placed {
    pub piece: Piece,
    pub sureness: Sureness,
    pub why: String,
}

/// How sure a key is whose name may say more than the piece.
pub(super) fn shaded(sureness: Sureness, plain: bool) -> Sureness {
    if plain {
        sureness
    } else {
        sureness.max(Sureness::Likely)
    }
}

/// One tom or crash: the numbers of the keys that sound it.
struct Source {
    mark: Mark,
    keys: Vec<usize>,
    /// Its lowest key.
    note: Note,
}

/// Tells the sources apart by their marks. Keys whose names say nothing are sources of their own where their names
/// are plain: two keys called "Tom" are two toms, but "Tom edge" is no tom beside "Tom".
fn sources(keys: &[Key], mark: impl Fn(Mark) -> Mark) -> Vec<Source> {
    let mut found: BTreeMap<(Mark, Option<Note>), Vec<usize>> = BTreeMap::new();
    let mut shades = Vec::new();
    for (at, key) in keys.iter().enumerate() {
        let mark = mark(key.mark);
        if !mark.says_nothing() {
            found.entry((mark, None)).or_default().push(at);
        } else if key.plain {
            found.entry((mark, Some(key.note))).or_default().push(at);
        } else {
            shades.push((mark, at));
        }
    }
    for (mark, at) in shades {
        let plain = found
            .keys()
            .find(|(other, note)| *other == mark && note.is_some());
        let home = plain.copied().unwrap_or((mark, None));
        found.entry(home).or_default().push(at);
    }
    let source = |((mark, _), numbers): (_, Vec<usize>)| {
        let note = numbers.iter().map(|&at| keys[at].note).min()?;
        Some(Source {
            mark,
            keys: numbers,
            note,
        })
    };
    found.into_iter().filter_map(source).collect()
}

/// By what sources were brought into order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum By {
    Alone,
    Words,
    Numbers,
    Keys,
}

/// The pitch of a source's lowest key: the key, then the channel.
fn pitch(source: &Source) -> (u8, u8) {
    (source.note.key, source.note.channel)
}

/// Brings sources into order by what all of them say: words, else numbers. Says whether either did.
fn by_names(sources: &mut [Source]) -> Option<By> {
    let all = |says: fn(&Mark) -> bool| sources.iter().all(|source| says(&source.mark));
    if sources.len() < 2 {
        Some(By::Alone)
    } else if all(|mark| mark.height.is_some()) {
        sources.sort_by_key(|source| (source.mark.height, source.mark.number));
        Some(By::Words)
    } else if all(|mark| mark.number.is_some()) {
        sources.sort_by_key(|source| source.mark.number);
        Some(By::Numbers)
    } else if all(|mark| mark.side.is_some()) {
        sources.sort_by_key(|source| source.mark.side);
        Some(By::Words)
    } else {
        None
    }
}

/// Brings toms into order, the highest first. The number 1 is the highest, the left one is higher than the right one,
/// and where no name tells, a higher key is a higher tom: common practice, no source.
fn toms_in_order(toms: &mut [Source]) -> By {
    by_names(toms).unwrap_or_else(|| {
        toms.sort_by_key(pitch);
        toms.reverse();
        By::Keys
    })
}

/// The pieces of toms in order, the highest first.
const TOMS: [Piece; 4] = [
    Piece::RackHigh,
    Piece::RackLow,
    Piece::FloorHigh,
    Piece::FloorLow,
];

fn spread(n: usize, over: &[Piece]) -> impl Iterator<Item = Piece> {
    (0..n).map(move |at| over[at * over.len() / n])
}

/// The pieces of so many toms that hang or don't say, then of so many floor toms. Four toms are the four pieces,
/// whatever they are called; of more than four, neighbours share one; of fewer, the floor toms stay on the floor.
/// Of two toms that say neither, one hangs and one stands. Common practice, no source.
fn fold(racks: usize, floors: usize, hang: bool) -> Vec<Piece> {
    let [high, low, floor, _] = TOMS;
    match (racks, floors) {
        (2, 0) if !hang => vec![high, floor],
        (2, 0) => vec![high, low],
        (1 | 3, 0) => TOMS[..racks].to_vec(),
        // As General MIDI's six.
        (6, 0) => spread(4, &TOMS[..2])
            .chain(TOMS[2..].iter().copied())
            .collect(),
        (_, 0) => spread(racks, &TOMS).collect(),
        _ => {
            let (over, under) = match (racks, floors) {
                (3.., 1) => TOMS.split_at(3),
                (1, 3..) => TOMS.split_at(1),
                _ => TOMS.split_at(2),
            };
            spread(racks, over).chain(spread(floors, under)).collect()
        }
    }
}

/// Places the keys of toms.
pub(super) fn toms(keys: &[Key]) -> Vec<Placed> {
    let all = sources(keys, Mark::of_tom);
    let (mut floors, mut racks): (Vec<_>, Vec<_>) = all.into_iter().partition(|tom| tom.mark.floor);
    let hang = keys.iter().any(|key| key.rack);
    let pieces = fold(racks.len(), floors.len(), hang);
    let order = [&mut racks, &mut floors].map(|toms| {
        let by = toms_in_order(toms);
        vec![by; toms.len()]
    });
    let toms: Vec<Source> = racks.into_iter().chain(floors).collect();
    let count = toms.len();
    let mut placed = vec![None; keys.len()];
    let mut taken = None;
    for (at, ((tom, piece), by)) in toms.iter().zip(pieces).zip(order.concat()).enumerate() {
        // Numbers may go up as the toms go down, or with the keys: then nobody knows.
        let doubted =
            by == By::Numbers && toms.windows(2).any(|two| pitch(&two[0]) < pitch(&two[1]));
        let shared = taken == Some(piece);
        taken = Some(piece);
        let sureness = match by {
            By::Keys => Sureness::Guess,
            _ if doubted || shared => Sureness::Likely,
            By::Numbers | By::Words | By::Alone => Sureness::Sure,
        };
        let by = if by == By::Keys { ", by its key" } else { "" };
        let why = format!("tom {} of {count} from the highest{by}", at + 1);
        for &key in &tom.keys {
            placed[key] = Some(Placed {
                piece,
                sureness: shaded(sureness, keys[key].plain),
                why: why.clone(),
            });
        }
    }
    placed.into_iter().flatten().collect()
}

/// Larger numbers of a crash are its size in inches.
const MOST_CRASHES: u32 = 5;

/// The side of a crash by its name.
fn side(mark: Mark) -> Option<(Piece, Sureness, &'static str)> {
    let counted = mark.number.filter(|number| *number <= MOST_CRASHES);
    match (mark.side, counted) {
        (Some(Word::Left), _) => Some((Piece::CrashLeft, Sureness::Sure, "left by its name")),
        (Some(_), _) => Some((Piece::CrashRight, Sureness::Sure, "right by its name")),
        (None, Some(1)) => Some((
            Piece::CrashLeft,
            Sureness::Sure,
            "the first is the left one",
        )),
        (None, Some(2)) => Some((
            Piece::CrashRight,
            Sureness::Sure,
            "the second is the right one",
        )),
        // The kit has two: the others go left and right in turn.
        (None, Some(number)) if number % 2 == 1 => Some((
            Piece::CrashLeft,
            Sureness::Guess,
            "one more crash, taken as left",
        )),
        (None, Some(_)) => Some((
            Piece::CrashRight,
            Sureness::Guess,
            "one more crash, taken as right",
        )),
        (None, None) => None,
    }
}

/// Places the keys of crashes: by words, numbers, size (the smaller one is on the left) or keys (the lower one is). Common
/// practice, no source.
pub(super) fn crashes(keys: &[Key]) -> Vec<Placed> {
    let (sided, mut open): (Vec<_>, Vec<_>) = sources(keys, |mark| mark)
        .into_iter()
        .partition(|crash| side(crash.mark).is_some());
    let mut placed = vec![None; keys.len()];
    let mut place = |crash: &Source, piece, sureness: Sureness, why: &str| {
        for &key in &crash.keys {
            placed[key] = Some(Placed {
                piece,
                sureness: shaded(sureness, keys[key].plain),
                why: why.to_owned(),
            });
        }
    };
    let mut free = vec![Piece::CrashLeft, Piece::CrashRight];
    for crash in &sided {
        if let Some((piece, sureness, why)) = side(crash.mark) {
            free.retain(|other| *other != piece);
            place(crash, piece, sureness, why);
        }
    }
    let by = by_names(&mut open).unwrap_or_else(|| {
        open.sort_by_key(pitch);
        By::Keys
    });
    let count = open.len();
    let vacant = if free.is_empty() {
        vec![Piece::CrashLeft, Piece::CrashRight]
    } else {
        free.clone()
    };
    for (at, (crash, piece)) in open.iter().zip(spread(count, &vacant)).enumerate() {
        let first = at == 0 || spread(count, &vacant).nth(at - 1) != Some(piece);
        let sureness = match by {
            _ if free.is_empty() || !first => Sureness::Guess,
            By::Alone if sided.is_empty() => Sureness::Sure,
            _ => Sureness::Likely,
        };
        let why = match by {
            By::Alone if sided.is_empty() => "the only crash",
            By::Alone => "its name has no side, the other crash has",
            By::Keys => "its name has no side: by its key",
            By::Words | By::Numbers => "its name has no side: by its size",
        };
        place(crash, piece, sureness, why);
    }
    placed.into_iter().flatten().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn toms_fold_from_the_highest_down() {
        use Piece::{FloorHigh, FloorLow, RackHigh, RackLow};
        for (racks, floors, hang, expected) in [
            (0, 1, false, vec![FloorHigh]),
            (0, 2, false, vec![FloorHigh, FloorLow]),
            (1, 0, false, vec![RackHigh]),
            (1, 1, false, vec![RackHigh, FloorHigh]),
            (2, 0, false, vec![RackHigh, FloorHigh]),
            (2, 0, true, vec![RackHigh, RackLow]),
            (2, 1, false, vec![RackHigh, RackLow, FloorHigh]),
            (3, 0, false, vec![RackHigh, RackLow, FloorHigh]),
            (3, 1, false, vec![RackHigh, RackLow, FloorHigh, FloorLow]),
            (1, 3, false, vec![RackHigh, RackLow, FloorHigh, FloorLow]),
            (4, 0, false, vec![RackHigh, RackLow, FloorHigh, FloorLow]),
            (
                3,
                2,
                false,
                vec![RackHigh, RackHigh, RackLow, FloorHigh, FloorLow],
            ),
            (
                4,
                2,
                false,
                vec![RackHigh, RackHigh, RackLow, RackLow, FloorHigh, FloorLow],
            ),
            (
                6,
                0,
                false,
                vec![RackHigh, RackHigh, RackLow, RackLow, FloorHigh, FloorLow],
            ),
        ] {
            assert_eq!(fold(racks, floors, hang), expected, "{racks} {floors}");
        }
        // Whatever comes: a lower tom is never on a higher piece, and four toms or more use all pieces.
        for racks in 0..20 {
            for floors in 0..20 {
                let pieces = fold(racks, floors, false);
                assert_eq!(pieces.len(), racks + floors);
                assert!(pieces.is_sorted(), "{racks} {floors}");
                let mut used = pieces;
                used.dedup();
                let expected = if racks == 0 {
                    floors.min(2)
                } else {
                    (racks + floors).min(4)
                };
                assert_eq!(used.len(), expected, "{racks} {floors}");
            }
        }
    }
}

//! Locked sections: strokes that were edited by hand, kept in the song file as they are, in ticks from
//! the start of their section, so that nothing around the section changes them.

use super::file::{SongError, SongFile};
use crate::choice::unknown;
use crate::groove::{EditTarget, Hit, Limb, Origin};
use crate::kit::hi_hat::usual_opening;
use crate::kit::note_map::MOST_NOTES;
use crate::kit::{Piece, Ring};
use crate::time::{TICKS_PER_QUARTER, Ticks};
use serde::{Deserialize, Serialize};

/// A stroke may come so many ticks before its section, this one not included: half a sixteenth, so that
/// it is nearer to the section's 1 than to the sixteenth before. Who plays the 1 a little early means the
/// 1. Judged.
pub const EARLY: Ticks = TICKS_PER_QUARTER / 8;

/// Most strokes in a locked section: an hour of sixteenths on one piece at 83 BPM. Judged.
pub const MAX_ROWS: usize = 20_000;

/// Most strokes in the locked sections of a song. Judged: about 3 MB of text.
pub const MAX_ROWS_IN_SONG: usize = 100_000;

/// Ticks from here on are no place in a section: beyond the longest song.
const FARTHEST: Ticks = 1 << 40;

/// A stroke of a locked section, a row in the file: `[240, "snare", 101]`, or `[0, "crash left", 120,
/// "rings"]`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Written", into = "Written")]
pub struct Row {
    /// When it sounds, in ticks from the start of the section; more than minus [`EARLY`].
    pub tick: Ticks,
    /// What is struck.
    pub piece: Piece,
    /// How hard, as a MIDI velocity, 1..=127.
    pub velocity: u8,
    /// Whether its note is a long one, as that of an ending's last hit.
    pub rings: bool,
    /// Which of its piece's notes it has on the sampler, from 0, where the piece has several.
    pub alternate: Option<u8>,
    /// How far the hi-hat is open, 0 (shut) to 127, where the region says it.
    pub opening: Option<u8>,
}

impl Row {
    /// A stroke of which nothing more is known.
    pub fn new(tick: Ticks, piece: Piece, velocity: u8) -> Self {
        Self {
            tick,
            piece,
            velocity,
            rings: false,
            alternate: None,
            opening: None,
        }
    }
}

/// A row as it is written: place, piece, velocity, and up to three words.
#[derive(Serialize, Deserialize)]
#[serde(
    untagged,
    expecting = "write a stroke as [240, \"snare\", 101]: ticks from the start of the section (960 a \
                 quarter note), piece, velocity from 1 to 127; after these \"rings\" for a long note, \
                 \"note 2\" for the second note of the piece, \"open 64\" for a hi-hat that is open so far"
)]
enum Written {
    Plain(Ticks, String, i64),
    One(Ticks, String, i64, String),
    Two(Ticks, String, i64, String, String),
    Three(Ticks, String, i64, String, String, String),
}

/// The word for a long note.
const RINGS: &str = "rings";
/// Before the number of a piece's note, from 1.
const NOTE: &str = "note ";
/// Before how far a hi-hat is open.
const OPEN: &str = "open ";

impl From<Row> for Written {
    fn from(row: Row) -> Self {
        let (tick, piece, velocity) = (row.tick, row.piece.name().to_owned(), row.velocity.into());
        let rings = row.rings.then(|| RINGS.to_owned());
        let alternate = row
            .alternate
            .map(|at| format!("{NOTE}{}", u16::from(at) + 1));
        let opening = row.opening.map(|opening| format!("{OPEN}{opening}"));
        let mut words = [rings, alternate, opening].into_iter().flatten();
        match (words.next(), words.next(), words.next()) {
            (Some(a), Some(b), Some(c)) => Self::Three(tick, piece, velocity, a, b, c),
            (Some(a), Some(b), _) => Self::Two(tick, piece, velocity, a, b),
            (Some(a), ..) => Self::One(tick, piece, velocity, a),
            (None, ..) => Self::Plain(tick, piece, velocity),
        }
    }
}

impl TryFrom<Written> for Row {
    type Error = String;

    fn try_from(written: Written) -> Result<Self, String> {
        let (tick, name, velocity, words) = match written {
            Written::Plain(tick, piece, velocity) => (tick, piece, velocity, Vec::new()),
            Written::One(tick, piece, velocity, a) => (tick, piece, velocity, vec![a]),
            Written::Two(tick, piece, velocity, a, b) => (tick, piece, velocity, vec![a, b]),
            Written::Three(tick, piece, velocity, a, b, c) => {
                (tick, piece, velocity, vec![a, b, c])
            }
        };
        let piece = Piece::from_name(&name);
        let names = Piece::ALL.map(Piece::name);
        let piece = piece.ok_or_else(|| unknown("piece", &name, &names))?;
        let velocity = u8::try_from(velocity)
            .ok()
            .filter(|velocity| (1..=127).contains(velocity))
            .ok_or_else(|| format!("velocity {velocity} is out of range: use 1 to 127"))?;
        if !(1 - EARLY..FARTHEST).contains(&tick) {
            return Err(format!(
                "tick {tick} is no place in the section: count from its start, {} at the earliest",
                1 - EARLY
            ));
        }
        let mut row = Self::new(tick, piece, velocity);
        for word in words {
            row.understand(&word)?;
        }
        Ok(row)
    }
}

impl Row {
    /// Takes up one of the words after a row.
    fn understand(&mut self, word: &str) -> Result<(), String> {
        let number = |before| word.strip_prefix(before).and_then(|n| n.parse::<u8>().ok());
        if word == RINGS {
            self.rings = true;
        } else if let Some(number) =
            number(NOTE).filter(|n| (1..=MOST_NOTES).contains(&usize::from(*n)))
        {
            self.alternate = Some(number - 1);
        } else if let Some(opening) = number(OPEN).filter(|opening| *opening <= 127) {
            self.opening = Some(opening);
        } else {
            return Err(unknown(
                "word for a stroke",
                word,
                &[RINGS, "note 2", "open 64"],
            ));
        }
        Ok(())
    }
}

impl SongFile {
    /// Locks a section, by its place from 0: it plays these strokes, which may come in any order, and
    /// nothing else. Returns the strokes that it was locked with before, for whoever wants to keep them.
    ///
    /// # Errors
    /// [`SongError`] where there is no such section or the strokes make no sense; the song stays as it
    /// was.
    pub fn lock(
        &mut self,
        section: usize,
        mut rows: Vec<Row>,
    ) -> Result<Option<Vec<Row>>, SongError> {
        rows.sort_by_key(|row| (row.tick, row.piece));
        let sections = self.sections.len();
        let Some(locked) = self.sections.get_mut(section) else {
            let problem = format!(
                "there is no section {}: the song has {sections}",
                section + 1
            );
            return Err(SongError::new("sections", problem));
        };
        let place = |field: &str| super::layout::place(section, locked, field);
        check(&rows, place)?;
        let before = locked.locked.replace(rows);
        if let Err(error) = within_bounds(self) {
            self.sections[section].locked = before;
            return Err(error);
        }
        Ok(before)
    }

    /// Unlocks a section, by its place from 0: the drummer plays it again. Returns the strokes that it
    /// was locked with, which the song no longer has: keep them. `None` where it was not locked.
    pub fn unlock(&mut self, section: usize) -> Option<Vec<Row>> {
        self.sections.get_mut(section)?.locked.take()
    }
}

/// Whether all locked sections together are small enough.
pub(super) fn within_bounds(song: &SongFile) -> Result<(), SongError> {
    let rows = song.sections.iter().flat_map(|section| &section.locked);
    let total: usize = rows.map(Vec::len).sum();
    if total > MAX_ROWS_IN_SONG {
        let problem = format!(
            "its locked sections have {total} strokes, and a song has room for {MAX_ROWS_IN_SONG}: \
             unlock one of them"
        );
        return Err(SongError::new("sections", problem));
    }
    Ok(())
}

/// Whether rows make a section; `place` names a field of it.
fn check(rows: &[Row], place: impl Fn(&str) -> String) -> Result<(), SongError> {
    if rows.len() > MAX_ROWS {
        let problem = format!(
            "{} strokes are too many: a section has room for {MAX_ROWS}",
            rows.len()
        );
        return Err(SongError::new(place("locked"), problem));
    }
    let mut order: Vec<usize> = (0..rows.len()).collect();
    order.sort_by_key(|&i| (rows[i].tick, rows[i].piece));
    let twice = |pair: &&[usize]| {
        let (a, b) = (rows[pair[0]], rows[pair[1]]);
        (a.tick, a.piece) == (b.tick, b.piece)
    };
    if let Some(pair) = order.windows(2).find(twice) {
        let Row { tick, piece, .. } = rows[pair[1]];
        let problem = format!(
            "the {} is struck at tick {tick} by row {} too: leave one of them out",
            piece.name(),
            pair[0]
        );
        return Err(SongError::new(
            place(&format!("locked[{}]", pair[1])),
            problem,
        ));
    }
    Ok(())
}

/// A locked section in its place.
pub(super) struct Laid {
    /// Its strokes that are played, in order of time.
    pub(super) hits: Vec<Hit>,
    /// From which tick on it plays: its first bar line, or its first stroke, if that is early.
    pub(super) from: Ticks,
    /// How many strokes lie beyond its end.
    pub(super) beyond: usize,
}

/// Puts rows into their place in the song: the section goes from one tick up to another, and nothing
/// sounds before tick 0. `place` names a field of the section.
pub(super) fn lay(
    rows: &[Row],
    (start, end): (Ticks, Ticks),
    place: impl Fn(&str) -> String,
) -> Result<Laid, SongError> {
    check(rows, place)?;
    let mut kept: Vec<Row> = rows.to_vec();
    kept.retain(|row| row.tick < end - start);
    let hits = hits(&kept, start);
    Ok(Laid {
        from: hits.first().map_or(start, |hit| hit.tick.min(start)),
        beyond: rows.len() - hits.len(),
        hits,
    })
}

/// The hits of rows whose section starts at a tick, in order of time; nothing sounds before tick 0.
pub fn hits(rows: &[Row], start: Ticks) -> Vec<Hit> {
    let mut kept: Vec<&Row> = rows.iter().collect();
    kept.sort_by_key(|row| (row.tick, row.piece));
    let mut limbs = Limbs::default();
    let mut turns = Turns::default();
    kept.into_iter()
        .map(|row| {
            let tick = (start + row.tick).max(0);
            Hit {
                tick,
                grid: tick,
                limb: limbs.next(row),
                piece: row.piece,
                velocity: row.velocity,
                origin: Origin::ByHand,
                target: EditTarget::Piece(row.piece),
                asked: true,
                grace: false,
                // A hand-edited stroke says nothing of its role.
                ghost: false,
                ring: if row.rings { Ring::On } else { Ring::Free },
                opening: row.opening.or(usual_opening(row.piece)).unwrap_or(0),
                turn: turns.next(row),
                alternate: row.alternate,
            }
        })
        .collect()
}

/// When each limb struck last, in ticks.
struct Limbs([Ticks; Limb::ALL.len()]);

impl Default for Limbs {
    fn default() -> Self {
        Self([-FARTHEST; Limb::ALL.len()])
    }
}

impl Limbs {
    /// Who strikes: the limb that has the piece, but where it struck no more than a sixteenth ago, the
    /// one of the pair that has waited longer. Whether it can is another question, which
    /// [`crate::check::playable`] answers. Judged.
    fn next(&mut self, row: &Row) -> Limb {
        let (own, other) = match row.piece {
            Piece::HiHatFoot => (Limb::OtherFoot, Limb::OtherFoot),
            Piece::Kick => (Limb::LeadFoot, Limb::OtherFoot),
            Piece::Snare | Piece::SideStick => (Limb::OtherHand, Limb::LeadHand),
            _ => (Limb::LeadHand, Limb::OtherHand),
        };
        let last = |limb: Limb| self.0[limb as usize];
        let busy = row.tick - last(own) <= TICKS_PER_QUARTER / 4;
        let limb = if busy && last(other) < last(own) {
            other
        } else {
            own
        };
        self.0[limb as usize] = row.tick;
        limb
    }
}

/// Counts the strokes of each piece, for the notes that take turns.
#[derive(Default)]
struct Turns([u8; Piece::COUNT]);

impl Turns {
    fn next(&mut self, row: &Row) -> u8 {
        let turn = &mut self.0[row.piece as usize];
        let now = *turn;
        *turn = turn.wrapping_add(1);
        now
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Limb::{LeadFoot, LeadHand, OtherFoot, OtherHand};

    fn row(tick: Ticks, piece: Piece) -> Row {
        Row::new(tick, piece, 100)
    }

    #[test]
    fn feet_take_turns_where_kicks_are_close_and_hands_have_a_stroke_each() {
        let rows = [
            row(0, Piece::Kick),
            row(0, Piece::Snare),
            row(0, Piece::CrashLeft),
            row(240, Piece::Kick),
            row(480, Piece::Kick),
            row(1440, Piece::Kick),
        ];
        let laid = lay(&rows, (3840, 7680), str::to_owned).unwrap();
        let limbs: Vec<_> = laid.hits.iter().map(|hit| hit.limb).collect();
        let expected = [LeadFoot, OtherHand, LeadHand, OtherFoot, LeadFoot, LeadFoot];
        assert_eq!(limbs, expected);
    }

    #[test]
    fn strokes_before_the_song_sound_with_it_and_those_beyond_the_end_do_not() {
        let rows = [row(3840, Piece::Kick), row(-20, Piece::Kick)];
        let laid = lay(&rows, (0, 3840), str::to_owned).unwrap();
        assert_eq!((laid.hits[0].tick, laid.from, laid.beyond), (0, 0, 1));
        let later = lay(&rows, (3840, 7680), str::to_owned).unwrap();
        assert_eq!((later.hits[0].tick, later.from), (3820, 3820));
    }
}

//! Which strokes carry an accent on the page.
//!
//! A drummer's strokes all differ a little, and accents that follow every one of them say nothing. So an accent stands
//! where the part leans throughout: at a place of the bar where a drum is struck harder than elsewhere, on average over
//! the bars of the section that have this beat. A fill is played once, and its strokes are compared with each other.
//! Hands on cymbals lean on every count by themselves, and feet are even: both are written without accents. Judged.

use crate::groove::{Fill, Hit};
use crate::kit::Piece;
use crate::song::Timeline;
use crate::time::{Bar, Ticks};
use std::collections::BTreeMap;

/// How much harder an accent is than the rest, in velocity: about half of what accents of a snare roll measure at the
/// default accent. Judged.
const HARDER: f64 = 12.0;

/// The sum of velocities, and how many.
type Sum = (f64, f64);

/// What the strokes of a song are compared with.
pub(super) struct Accents {
    bars: Vec<Bar>,
    /// Each bar's section and beat.
    parts: Vec<(usize, u8)>,
    /// By part and piece.
    pieces: BTreeMap<((usize, u8), Piece), Sum>,
    /// By part, piece and place in the bar.
    places: BTreeMap<((usize, u8), Piece, Ticks), Sum>,
    /// Each fill's span, and its strokes.
    fills: Vec<(Ticks, Ticks, Sum)>,
}

impl Accents {
    /// Listens to a song, whose hits are sorted by bar.
    pub(super) fn of(song: &Timeline, by_bar: &[Vec<Hit>], fills: &[Fill]) -> Self {
        let bars = song.bars().to_vec();
        let part = |bar: &Bar| {
            let style = song.settings(bar.start).bar_settings.style;
            (song.section_at(bar.start).unwrap_or(usize::MAX), style)
        };
        let mut accents = Self {
            parts: bars.iter().map(part).collect(),
            bars,
            pieces: BTreeMap::new(),
            places: BTreeMap::new(),
            fills: fills
                .iter()
                .map(|fill| (fill.start, fill.end, (0.0, 0.0)))
                .collect(),
        };
        for (i, hits) in by_bar.iter().enumerate() {
            for hit in hits.iter().filter(|hit| may_have(hit)) {
                accents.listen(i, hit);
            }
        }
        accents
    }

    fn listen(&mut self, bar: usize, hit: &Hit) {
        let add = |sum: &mut Sum| {
            sum.0 += f64::from(hit.velocity);
            sum.1 += 1.0;
        };
        if let Some(fill) = self.fill_of(hit) {
            add(&mut self.fills[fill].2);
            return;
        }
        let part = self.parts[bar];
        add(self.pieces.entry((part, hit.piece)).or_default());
        let place = (part, hit.piece, hit.grid - self.bars[bar].start);
        add(self.places.entry(place).or_default());
    }

    fn fill_of(&self, hit: &Hit) -> Option<usize> {
        let after = self.fills.partition_point(|(start, ..)| *start <= hit.grid);
        let fill = after.checked_sub(1)?;
        (hit.grid < self.fills[fill].1).then_some(fill)
    }

    /// Whether a hit of a bar, by its place in the song from 0, is accented.
    pub(super) fn has(&self, bar: usize, hit: &Hit) -> bool {
        if !may_have(hit) {
            return false;
        }
        let mean = |sum: Option<&Sum>| sum.map_or(0.0, |(sum, n)| sum / n.max(1.0));
        if let Some(fill) = self.fill_of(hit) {
            return f64::from(hit.velocity) - mean(Some(&self.fills[fill].2)) >= HARDER;
        }
        let part = self.parts[bar];
        let place = (part, hit.piece, hit.grid - self.bars[bar].start);
        mean(self.places.get(&place)) - mean(self.pieces.get(&(part, hit.piece))) >= HARDER
    }
}

/// Whether a stroke may be accented: one of the hands on a drum, as it is meant.
fn may_have(hit: &Hit) -> bool {
    use Piece::{FloorHigh, FloorLow, RackHigh, RackLow, SideStick, Snare};
    let drum = matches!(
        hit.piece,
        FloorHigh | FloorLow | RackHigh | RackLow | SideStick | Snare
    );
    drum && !hit.ghost && !hit.grace
}

//! Locked sections: what was edited by hand is played as it is, whatever becomes of the song around it, and
//! never lost.

use crate::chart::{BAR, from, live_is_export};
use crate::support::cases;
use fourlimb::engine::{BlockInput, LivePlayer, offline};
use fourlimb::groove::Limb;
use fourlimb::kit::Piece;
use fourlimb::midi::NoteEvent;
use fourlimb::riff::GuitarStroke;
use fourlimb::settings::KickSource;
use fourlimb::song::locked::{EARLY, MAX_ROWS, MAX_ROWS_IN_SONG, Row};
use fourlimb::song::{SongError, SongFile, Timeline};
use fourlimb::time::Ticks;
use fourlimb::transport::HostTime;
use proptest::collection::btree_map;
use proptest::prelude::*;
use proptest::sample::select;

pub fn rows(farthest: Ticks) -> impl Strategy<Value = Vec<Row>> {
    let place = (1 - EARLY..farthest, select(Piece::ALL.to_vec()));
    let how = (1..=127_u8, proptest::bool::weighted(0.1));
    btree_map(place, how, 0..60).prop_map(|rows| {
        let row = |((tick, piece), (velocity, rings))| Row {
            rings,
            ..Row::new(tick, piece, velocity)
        };
        rows.into_iter().map(row).collect()
    })
}

fn file(sections: &str) -> SongFile {
    let json = format!(r#"{{"fourlimb_song": 1, "title": "T", "sections": [{sections}]}}"#);
    SongFile::parse(&json).unwrap()
}

fn timeline(file: &SongFile) -> Timeline {
    Timeline::new(file).unwrap()
}

fn edited(rows: &[Row], from: Ticks, to: Ticks) -> Vec<(Ticks, Piece, u8)> {
    let inside = rows.iter().filter(|row| (from..to).contains(&row.tick));
    let mut all: Vec<_> = inside
        .map(|row| (row.tick, row.piece, row.velocity))
        .collect();
    all.sort_unstable();
    all
}

/// `sections` with the one of this place locked.
fn locked(sections: &str, place: usize, rows: &[Row]) -> SongFile {
    let mut file = file(sections);
    assert_eq!(file.lock(place, rows.to_vec()).unwrap(), None);
    file
}

const AROUND: &str = r#"{"name": "A", "bars": 2, "style": "double-kick", "fill": "long"},
    {"name": "B", "bars": 2, "meter": "7/8", "style": "blast"},
    {"name": "C", "bars": 2, "meter": "4/4", "style": "rock"}"#;

proptest! {
    #![proptest_config(cases(24))]

    /// Design, rule 1, with hand-edited strokes early, late, and beyond the end; two locked neighbours.
    #[test]
    fn a_locked_section_is_played_live_as_it_is_exported(
        first in rows(2 * 3360 + 500),
        second in rows(BAR),
        neighbour in 0..3_usize,
        block in select(vec![64, 333, 4096]),
        bar in 0..6_usize,
    ) {
        let mut file = locked(AROUND, 1, &first);
        file.lock(neighbour, second).unwrap();
        prop_assert_eq!(live_is_export(&timeline(&file), block, bar), Ok(()));
    }

    /// It is what was edited and nothing else; the same after what is around it has changed.
    #[test]
    fn what_is_around_leaves_it_alone(rows in rows(2 * 3360)) {
        let before = offline::play(&timeline(&locked(AROUND, 1, &rows)));
        let whole = 2 * 3360;
        let mine = |hits: &[_], start: Ticks| {
            let mut all: Vec<_> = from(hits, start - EARLY, start + whole);
            // The bar before plays up to the first early stroke.
            let first = edited(&rows, 1 - EARLY, 1).first().map_or(0, |row| row.0);
            all.retain(|hit| hit.0 >= EARLY + first);
            all.iter_mut().for_each(|hit| hit.0 -= EARLY);
            all.sort_unstable();
            all
        };
        prop_assert_eq!(mine(&before, 2 * BAR), edited(&rows, 1 - EARLY, whole));
        let around = r#"{"name": "New", "bars": 3, "meter": "5/4", "bpm": 222.5, "style": "gallop"},
            {"name": "A", "bars": 1, "meter": "3/4"}, {"name": "B", "bars": 2, "meter": "7/8"}"#;
        let after = offline::play(&timeline(&locked(around, 2, &rows)));
        prop_assert_eq!(mine(&after, 3 * 4800 + 2880), edited(&rows, 1 - EARLY, whole));
    }
}

fn row(tick: Ticks, piece: Piece) -> Row {
    Row::new(tick, piece, 90)
}

#[test]
fn strokes_beyond_a_section_that_got_shorter_are_kept_and_reported() {
    let rows = [row(0, Piece::Kick), row(BAR + 10, Piece::Snare)];
    let long = locked(r#"{"name": "Verse", "bars": 2}"#, 0, &rows);
    assert_eq!(timeline(&long).warnings(), []);
    let mut short = long.clone();
    short.sections[0].bars = 1;
    let played = timeline(&short);
    assert_eq!(offline::play(&played).len(), 1);
    let warning = played.warnings()[0].to_string();
    assert!(
        warning.starts_with("sections[0].locked (\"Verse\"): 1 of"),
        "{warning}"
    );
    let back = SongFile::parse(&serde_json::to_string(&short).unwrap()).unwrap();
    short = back;
    short.sections[0].bars = 2;
    assert_eq!(short, long);
}

/// The bar before plays to the first early stroke and no further, and its fill comes as ever.
#[test]
fn the_bar_before_gives_way_and_keeps_its_fill() {
    let free = offline::play(&timeline(&file(AROUND)));
    let early = [row(-100, Piece::CrashLeft), row(960, Piece::Kick)];
    let hits = offline::play(&timeline(&locked(AROUND, 1, &early)));
    let toms = |hits: &[_]| {
        let fill = from(hits, BAR, 2 * BAR).into_iter();
        fill.filter(|hit| hit.1 >= Piece::RackHigh).count()
    };
    assert!(toms(&free) > 2 && toms(&hits) > 2);
    assert_eq!(
        from(&hits, 2 * BAR - 100, 2 * BAR),
        [(0, Piece::CrashLeft, 90)]
    );
    // Section C begins as if nothing led there.
    assert!(!from(&hits, 2 * BAR + 2 * 3360, 2 * BAR + 2 * 3360 + BAR).is_empty());
}

/// A guitar that comes in drives the kick, but not where the kicks are edited by hand.
#[test]
fn nothing_is_played_along_in_a_locked_section() {
    let plain = r#"{"name": "A", "bars": 1, "style": "rock"}, {"name": "B", "bars": 1}"#;
    let kicks = |song: &Timeline| {
        let mut panel = song.start_settings();
        panel.bar_settings.kick_source = KickSource::Riff;
        let mut player = LivePlayer::new(48_000.0);
        player.exchange_chart(|used| {
            used.clone_from(song.chart());
            true
        });
        let mut kicks = [0, 0];
        for block in 0..400_u32 {
            let seconds = f64::from(block) * 0.01;
            let host = HostTime {
                playing: true,
                bpm: Some(120.0),
                pos_quarters: Some(seconds * 2.0),
                meter: Some((4, 4)),
                ..HostTime::default()
            };
            // A stroke of the guitar every 0.2 s, off every grid.
            let note = GuitarStroke {
                sample: 7,
                ago: 0,
                strength: 1.0,
                note: true,
            };
            let struck = if block % 20 == 3 { vec![note] } else { vec![] };
            player.set_panel(&panel);
            let block = BlockInput {
                host,
                guitar: &struck,
                frames: 480,
            };
            let mut events: Vec<NoteEvent> = Vec::new();
            player.process(&block, &mut events);
            let on = |e: &&NoteEvent| e.velocity.is_some() && e.note.key == 36;
            kicks[usize::from(seconds >= 2.0)] += events.iter().filter(on).count();
        }
        kicks
    };
    let open = kicks(&timeline(&file(plain)));
    assert!(open[1] > 4, "{open:?}");
    // Two of them where the guitar has one too.
    let rows = [
        row(0, Piece::Kick),
        row(60, Piece::Kick),
        row(442, Piece::Kick),
    ];
    let shut = kicks(&timeline(&locked(plain, 1, &rows)));
    assert_eq!(shut, [open[0], 3]);
}

#[test]
fn tracks_by_limb_have_every_stroke() {
    let rows: Vec<_> = (0..32).map(|i| row(i * 120, Piece::Kick)).collect();
    let song = timeline(&locked(r#"{"name": "A", "bars": 1}"#, 0, &rows));
    let limbs: Vec<_> = offline::play(&song).iter().map(|hit| hit.limb).collect();
    assert_eq!(limbs.len(), 32);
    assert!(
        limbs
            .windows(2)
            .all(|pair| pair[0] != pair[1] && pair[0] >= Limb::LeadFoot)
    );
}

#[test]
fn nonsense_is_named_with_its_row_and_section() {
    let with = |row: &str| {
        format!(
            r#"{{"fourlimb_song": 1, "title": "T", "sections": [{{"name": "A", "bars": 1}},
            {{"name": "Lift", "bars": 1, "locked": [[0, "kick", 100], {row}]}}]}}"#
        )
    };
    let table = [
        (
            r#"[0, "kik", 100]"#,
            "there is no piece \"kik\": use one of kick, snare",
        ),
        (
            r#"[0, "snare", 0]"#,
            "velocity 0 is out of range: use 1 to 127",
        ),
        (r#"[0, "snare", 128]"#, "velocity 128"),
        (r#"[-120, "snare", 1]"#, "-119 at the earliest"),
        (
            r#"[9000000000000000000, "snare", 1]"#,
            "no place in the section",
        ),
        (
            r#"[1e99, "snare", 1]"#,
            "write a stroke as [240, \"snare\", 101]",
        ),
        (r#"[0.5, "snare", 1]"#, "write a stroke as"),
        (r#"[0, "snare"]"#, "write a stroke as"),
        (r#"{"tick": 0}"#, "write a stroke as"),
        (r#"[0, "snare", 1, "loud"]"#, "\"loud\": use one of rings"),
        (
            r#"[0, "kick", 3]"#,
            "the kick is struck at tick 0 by row 0 too",
        ),
    ];
    for (row, words) in table {
        let read = |json: String| -> Result<Timeline, SongError> {
            Timeline::new(&SongFile::parse(&json)?)
        };
        let error = read(with(row)).unwrap_err().to_string();
        assert!(
            error.starts_with("sections[1].locked[1] (\"Lift\"): "),
            "{error}"
        );
        assert!(error.contains(words), "{error}");
    }
    assert!(SongFile::parse(&with(r#"[-119, "hi-hat loose", 127, "rings"]"#)).is_ok());
}

#[test]
fn too_many_strokes_are_refused_and_a_refusal_changes_nothing() {
    let many = |n: usize| -> Vec<_> { (0..n).map(|i| row(i as Ticks, Piece::Ride)).collect() };
    let bars = |n: usize| vec![r#"{"name": "A", "bars": 6}"#; n].join(",");
    let mut song = file(&bars(6));
    let error = song.lock(0, many(MAX_ROWS + 1)).unwrap_err().to_string();
    assert!(
        error.contains("20001") && error.contains("20000"),
        "{error}"
    );
    assert!(song.lock(6, vec![]).is_err());
    assert_eq!(song, file(&bars(6)));
    for section in 0..MAX_ROWS_IN_SONG / MAX_ROWS {
        song.lock(section, many(MAX_ROWS)).unwrap();
    }
    let full = song.clone();
    let error = song.lock(5, many(1)).unwrap_err().to_string();
    assert!(error.contains("unlock one of them"), "{error}");
    assert_eq!(song, full);
    song.sections[5].locked = Some(many(1));
    assert!(Timeline::new(&song).is_err());
    assert_eq!(song.unlock(5), Some(many(1)));
    assert_eq!(song.lock(0, many(2)).unwrap(), Some(many(MAX_ROWS)));
    assert_eq!(
        (song.unlock(0), song.unlock(0), song.unlock(99)),
        (Some(many(2)), None, None)
    );
}

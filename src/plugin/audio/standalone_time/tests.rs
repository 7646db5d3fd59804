//! What the stand-alone's transport says, block by block.

use super::*;
use crate::bridge::standalone_transport::Devices;
use crate::song::{SongFile, Timeline};

fn own(wishes: Wishes) -> (Arc<StandaloneTransport>, StandaloneTime) {
    let transport = Arc::new(StandaloneTransport::new(
        wishes,
        Devices::default(),
        Vec::new(),
    ));
    (transport.clone(), StandaloneTime::new(transport))
}

#[test]
fn it_rolls_stops_and_goes_on_at_the_bar() {
    let rolls = Wishes {
        playing: true,
        ..Wishes::default()
    };
    let (transport, mut time) = own(rolls);
    let mut block = || time.roll(&transport.wishes(), 48_000.0, 24_000, None);
    // At 120 BPM a quarter has 24,000 samples.
    for i in 0..6 {
        let now = block();
        assert!(now.playing);
        assert_eq!(now.pos_quarters, Some(f64::from(i)));
        assert_eq!(now.bar_quarters, Some(if i < 4 { 0.0 } else { 4.0 }));
    }
    transport.set(Wishes::default());
    assert!(!block().playing);
    assert_eq!(block().pos_quarters, Some(6.0), "it stands");
    transport.set(rolls);
    assert_eq!(block().pos_quarters, Some(4.0), "the bar begins again");
    transport.rewind();
    assert_eq!(block().pos_quarters, Some(0.0));
    assert_eq!(block().pos_quarters, Some(1.0), "once");
}

#[test]
fn it_loops_over_bars_of_any_meter() {
    let wishes = Wishes {
        playing: true,
        meter: (7, 8),
        looping: true,
        loop_bars: (2, 3),
        ..Wishes::default()
    };
    let (transport, mut time) = own(wishes);
    let mut seen = Vec::new();
    for _ in 0..16 {
        let now = time.roll(&transport.wishes(), 48_000.0, 12_000, None);
        assert_eq!(now.loop_quarters, Some((3.5, 10.5)));
        seen.push(now.pos_quarters.unwrap());
    }
    let expected: Vec<f64> = (0..16).map(|i| 3.5 + f64::from(i % 14) * 0.5).collect();
    assert_eq!(seen, expected);
}

#[test]
fn another_meter_begins_the_song_again() {
    let wishes = Wishes {
        playing: true,
        ..Wishes::default()
    };
    let (transport, mut time) = own(wishes);
    for _ in 0..5 {
        time.roll(&transport.wishes(), 48_000.0, 24_000, None);
    }
    transport.set(Wishes {
        meter: (3, 4),
        ..wishes
    });
    assert_eq!(
        time.roll(&transport.wishes(), 48_000.0, 24_000, None)
            .pos_quarters,
        Some(0.0)
    );
}

/// A bar of 4/4 at 150 BPM, one of 7/8, two of 4/4 at 75.
fn song() -> Chart {
    laid_out().chart().clone()
}

fn laid_out() -> Timeline {
    let file = r#"{"fourlimb_song": 1, "title": "Written", "sections": [
        {"name": "A", "bars": 1, "bpm": 150, "meter": "4/4", "style": "rock"},
        {"name": "B", "bars": 1, "meter": "7/8"},
        {"name": "C", "bars": 2, "bpm": 75, "meter": "4/4"}]}"#;
    let file: SongFile = serde_json::from_str(file).unwrap();
    Timeline::new(&file).unwrap()
}

/// What the transport says after so many milliseconds, each a block. Nothing allocates.
fn after(
    time: &mut StandaloneTime,
    transport: &StandaloneTransport,
    song: &Chart,
    ms: u32,
) -> HostTime {
    let mut now = HostTime::default();
    nice_assert_no_alloc::assert_no_alloc(|| {
        for _ in 0..ms {
            now = time.roll(&transport.wishes(), 48_000.0, 48, Some(song));
        }
    });
    now
}

fn says(time: &HostTime) -> (f64, f64, (i32, i32)) {
    (
        time.bpm.unwrap(),
        time.bar_quarters.unwrap(),
        time.meter.unwrap(),
    )
}

#[test]
fn a_song_is_played_at_its_own_tempi_in_its_own_meters() {
    let (transport, mut time) = own(Wishes {
        playing: true,
        bpm: 120.0,
        meter: (3, 4),
        ..Wishes::default()
    });
    let song = song();
    assert_eq!(
        says(&after(&mut time, &transport, &song, 1)),
        (150.0, 0.0, (4, 4))
    );
    // Four quarters at 150 BPM last 1600 ms, seven eighths 1400.
    assert_eq!(
        says(&after(&mut time, &transport, &song, 1_599)),
        (150.0, 0.0, (4, 4))
    );
    assert_eq!(
        says(&after(&mut time, &transport, &song, 1)),
        (150.0, 4.0, (7, 8))
    );
    assert_eq!(
        says(&after(&mut time, &transport, &song, 1_399)),
        (150.0, 4.0, (7, 8))
    );
    let third = after(&mut time, &transport, &song, 1);
    assert_eq!(says(&third), (75.0, 7.5, (4, 4)));
    assert!((third.pos_quarters.unwrap() - 7.5).abs() < 1e-9);
    // Eight quarters at 75 BPM last 6400 ms; then the song is over, and begins again when it is started.
    assert!(after(&mut time, &transport, &song, 6_399).playing);
    assert!(!after(&mut time, &transport, &song, 2).playing);
    assert!(!transport.wishes().playing);
    transport.set(Wishes {
        playing: true,
        ..transport.wishes()
    });
    assert_eq!(
        after(&mut time, &transport, &song, 1).pos_quarters,
        Some(0.0)
    );
}

#[test]
fn a_block_over_a_change_of_tempo_ends_where_the_song_does() {
    let (transport, mut time) = own(Wishes {
        playing: true,
        ..Wishes::default()
    });
    let song = song();
    // 3.0 s are 7.5 quarters; a block of half a second more at 75 BPM.
    for _ in 0..7 {
        time.roll(&transport.wishes(), 48_000.0, 24_000, Some(&song));
    }
    assert!((time.at - (7.5 + 0.625)).abs() < 1e-9, "{}", time.at);
}

#[test]
fn it_plays_from_a_tick_and_loops_over_the_bars_of_a_section() {
    let (transport, mut time) = own(Wishes::default());
    let song = song();
    after(&mut time, &transport, &song, 1);
    // The second half of the third bar.
    transport.play_from(7_200 + 1_920);
    let here = after(&mut time, &transport, &song, 1);
    assert!(here.playing && transport.wishes().playing);
    assert_eq!(
        (here.pos_quarters, says(&here)),
        (Some(9.5), (75.0, 7.5, (4, 4)))
    );
    // The bar of 7/8 goes round: 1400 ms.
    let timeline = laid_out();
    let bars = [0, 1, 2, 3].map(|place| timeline.bars_of_section(place));
    assert_eq!(bars, [Some((1, 1)), Some((2, 2)), Some((3, 4)), None]);
    let (first, last) = bars[1].unwrap();
    transport.loop_over(first, last);
    let first = after(&mut time, &transport, &song, 1);
    assert_eq!(
        (first.pos_quarters, first.loop_quarters),
        (Some(4.0), Some((4.0, 7.5)))
    );
    let again = after(&mut time, &transport, &song, 1_400);
    assert!(
        (again.pos_quarters.unwrap() - 4.0).abs() < 1e-9,
        "{again:?}"
    );
    // Asked for a place after the loop, it plays on; asked for one before, the loop holds it.
    transport.play_from(7_200);
    let out = after(&mut time, &transport, &song, 1_000);
    assert_eq!((out.loop_quarters, out.playing), (None, true));
    transport.play_from(0);
    let back = after(&mut time, &transport, &song, 1_600 + 1_400 + 200);
    assert_eq!(back.loop_quarters, Some((4.0, 7.5)));
    assert!((4.0..7.5).contains(&back.pos_quarters.unwrap()), "{back:?}");
    // Bars that the song has not are no loop.
    transport.loop_over(9, 12);
    assert_eq!(after(&mut time, &transport, &song, 1).loop_quarters, None);
}

#[test]
fn a_place_that_was_asked_for_while_it_stands_is_where_it_starts() {
    let (transport, mut time) = own(Wishes::default());
    let song = song();
    transport.go_to(960);
    assert_eq!(
        after(&mut time, &transport, &song, 1).pos_quarters,
        Some(1.0)
    );
    transport.set(Wishes {
        playing: true,
        ..transport.wishes()
    });
    assert_eq!(
        after(&mut time, &transport, &song, 1).pos_quarters,
        Some(1.0)
    );
    after(&mut time, &transport, &song, 100);
    transport.stop();
    after(&mut time, &transport, &song, 1);
    transport.set(Wishes {
        playing: true,
        ..transport.wishes()
    });
    assert_eq!(
        after(&mut time, &transport, &song, 1).pos_quarters,
        Some(0.0),
        "once"
    );
}

#[test]
fn the_window_is_told_where_it_is_and_whose_the_tempo_is() {
    let (transport, mut time) = own(Wishes {
        playing: true,
        ..Wishes::default()
    });
    let song = song();
    let framework = Transport::new(48_000.0);
    for _ in 0..3 {
        time.block(&framework, 19_200, Some(&song));
    }
    assert_eq!((transport.at(), transport.is_written()), (1_920, true));
    time.block(&framework, 19_200, None);
    assert!(!transport.is_written());
}

/// The framework's conversion of JACK's bar, beat and tick, after its source.
fn as_told(bar: i32, beat: f64, tick: f64, (counts, unit): (i32, i32)) -> Transport {
    let mut told = Transport::new(44_100.0);
    told.playing = true;
    told.tempo = Some(100.0);
    (told.time_sig_numerator, told.time_sig_denominator) = (Some(counts), Some(unit));
    told.bar_number = Some(bar);
    told.pos_samples = Some(44_100 * 6);
    told.pos_beats = Some(f64::from(bar) * 4.0 + beat / f64::from(unit) * 4.0 + tick);
    told
}

#[test]
fn jack_counts_from_one_and_we_from_nought() {
    for (bar, beat, tick, meter, quarters) in [
        (1, 1.0, 0.0, (4, 4), 0.0),
        (1, 4.0, 0.5, (4, 4), 3.5),
        (3, 2.0, 0.25, (4, 4), 9.25),
        (2, 3.0, 0.0, (3, 4), 5.0),
        // Six seconds at 100 BPM, from the frame.
        (4, 2.0, 0.0, (7, 8), 10.0),
    ] {
        let time = jack(&as_told(bar, beat, tick, meter));
        let at = time.pos_quarters.unwrap();
        assert!(
            (at - quarters).abs() < 1e-9,
            "{bar} {beat} {tick} {meter:?}: {at}"
        );
    }
    let mut bare = as_told(1, 1.0, 0.0, (4, 4));
    (bare.pos_beats, bare.bar_number) = (None, None);
    assert_eq!(jack(&bare).pos_quarters, Some(10.0), "no timebase master");
}

/// The song that the program brings along, in blocks of 512 samples: every bar of it is announced at its own tempo and in
/// its own meter, and it lasts as long as it is written.
#[test]
fn the_demo_song_is_played_as_it_is_written() {
    let file = SongFile::parse(SongFile::DEMO).unwrap();
    let timeline = Timeline::new(&file).unwrap();
    let (transport, mut time) = own(Wishes {
        playing: true,
        ..Wishes::default()
    });
    let (mut heard, mut blocks) = (Vec::new(), 0_u32);
    loop {
        let now = time.roll(&transport.wishes(), 48_000.0, 512, Some(timeline.chart()));
        if !now.playing {
            break;
        }
        let bar = (now.bar_quarters.unwrap(), now.meter.unwrap());
        if heard.last() != Some(&bar) {
            heard.push(bar);
        }
        let at = tick_of(now.pos_quarters.unwrap());
        assert_eq!(now.bpm, Some(timeline.tempo().bpm_at(at)));
        blocks += 1;
    }
    let written = timeline.bars().iter().map(|bar| {
        let meter = (bar.meter.numerator().into(), bar.meter.denominator().into());
        (quarters(bar.start), meter)
    });
    assert_eq!(heard, written.collect::<Vec<_>>());
    assert!(heard.iter().any(|(_, meter)| *meter == (7, 8)));
    let (lasts, said) = (
        timeline.tempo().seconds(timeline.end() as f64),
        f64::from(blocks) * 512.0 / 48_000.0,
    );
    assert!(
        (said - lasts).abs() < 512.0 / 48_000.0,
        "{said} s for {lasts} s"
    );
}

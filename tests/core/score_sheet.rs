//! The short chart that is printed, and the text chart: what stands on them, and that it stands on the page.

use crate::export::{demo, song};
use crate::score::parsed;
use fourlimb::export::What;
use fourlimb::export::score::{Paper, ScoreFormat, ScoreOptions, write};
use fourlimb::song::Timeline;

/// A song of twelve sections, each with a beat of its own.
fn twelve() -> Timeline {
    let section = |i: usize| {
        let style = fourlimb::settings::Style::NAMES[i * 2];
        format!(
            r#""name": "A section with a long name {i}", "bars": 8, "style": "{style}", "fill_chance": 1"#
        )
    };
    let sections: Vec<_> = (0..12).map(section).collect();
    let sections: Vec<&str> = sections.iter().map(String::as_str).collect();
    song("Twelve", &sections)
}

#[test]
fn twelve_sections_are_a_page_and_everything_stands_on_it() {
    for paper in Paper::ALL {
        let options = ScoreOptions {
            paper: *paper,
            stickings: true,
            ..ScoreOptions::default()
        };
        let pdf = write(&twelve(), ScoreFormat::Pdf, &options).unwrap().bytes;
        assert!(pdf.starts_with(b"%PDF-1.7"));
        let count = |word: &[u8]| {
            pdf.windows(word.len())
                .filter(|window| *window == word)
                .count()
        };
        assert_eq!(count(b"/Type /Page\n"), 1);
        let svg = write(&twelve(), ScoreFormat::Svg, &options).unwrap().bytes;
        let svg = String::from_utf8(svg).unwrap();
        let document = parsed(&svg);
        let (width, height) = paper.size_mm();
        let size = format!("0 0 {width} {height}");
        assert_eq!(document.root_element().attribute("viewBox"), Some(&*size));
        let mut texts = Vec::new();
        for node in document.descendants().filter(|n| n.has_tag_name("text")) {
            let number = |name: &str| node.attribute(name).unwrap().parse::<f64>().unwrap();
            let right = number("x") + number("textLength");
            assert!(number("x") >= 11.0 && right <= width - 11.0, "{node:?}");
            assert!(number("y") > 11.0 && number("y") < height - 9.0, "{node:?}");
            texts.push(node.text().unwrap().to_owned());
        }
        for i in 0..12 {
            let style = fourlimb::settings::Style::NAMES[i * 2];
            assert!(texts.iter().any(|text| text.starts_with(style)), "{style}");
        }
        assert_eq!(texts.iter().filter(|text| *text == "8 bars").count(), 12);
        for node in document.descendants().filter(|n| n.has_tag_name("path")) {
            let text = node
                .attribute("d")
                .unwrap()
                .replace(|c: char| c.is_ascii_alphabetic(), " ");
            let numbers: Vec<f64> = text
                .split_whitespace()
                .map(|n| n.parse().unwrap())
                .collect();
            for point in numbers.chunks(2) {
                let inside = (5.0..width - 5.0).contains(&point[0])
                    && (5.0..height - 5.0).contains(&point[1]);
                assert!(inside, "{point:?} of {width} by {height}");
            }
        }
    }
}

#[test]
fn a_song_of_forty_sections_has_more_pages() {
    let section = |i: usize| format!(r#""name": "{i}", "bars": 2"#);
    let sections: Vec<_> = (0..40).map(section).collect();
    let sections: Vec<&str> = sections.iter().map(String::as_str).collect();
    let pdf = write(
        &song("Forty", &sections),
        ScoreFormat::Pdf,
        &ScoreOptions::default(),
    )
    .unwrap()
    .bytes;
    let word = b"/Type /Page\n";
    let pages = pdf
        .windows(word.len())
        .filter(|window| window == word)
        .count();
    assert_eq!(pages, 3);
}

#[test]
fn a_text_chart_has_what_is_asked_for_and_no_more() {
    let options = ScoreOptions {
        what: What::Bars(20, 24),
        ..ScoreOptions::default()
    };
    let text = |options: &ScoreOptions| {
        let written = write(&demo(), ScoreFormat::Text, options).unwrap();
        assert_eq!(written.bars, (20, 24));
        String::from_utf8(written.bytes).unwrap()
    };
    let plain = text(&options);
    assert!(
        plain.contains("== Lift: 4/4, 150 BPM ==")
            && plain.contains("bar 24")
            && !plain.contains("bar 25")
    );
    assert!(!plain.contains("hands ") && !plain.contains("dynamics"));
    let more = text(&ScoreOptions {
        stickings: true,
        dynamics: true,
        ..options
    });
    let rows = |name: &str| more.lines().filter(|line| line.starts_with(name)).count();
    assert_eq!(
        (rows("hands "), rows("feet "), rows("dynamics  ")),
        (5, 5, 5)
    );
    let hands: String = more
        .lines()
        .filter(|line| line.starts_with("hands"))
        .collect();
    assert!(
        hands.contains('R') && hands.contains('L') && hands.contains('B'),
        "{more}"
    );
}

#[test]
fn the_ending_says_what_is_written() {
    for name in ScoreFormat::NAMES {
        let found = ScoreFormat::of_file(&format!("a song.v2.{}", name.to_uppercase()));
        assert_eq!(found.map(ScoreFormat::name), Ok(*name));
    }
    for name in ["score", "score.", "score.doc"] {
        let error = ScoreFormat::of_file(name).unwrap_err().to_string();
        assert!(
            error.contains(".musicxml, .mxl, .pdf, .svg, .txt"),
            "{error}"
        );
    }
}

//! Pages as SVG 1.1: one below the other in one picture.

use super::{Drawing, Item, Segment};
use crate::export::score::xml::Xml;
use std::fmt::Write as _;

/// The picture.
pub(in crate::export::score) fn svg(drawing: &Drawing) -> Vec<u8> {
    let (width, page) = drawing.size;
    let height = page * drawing.pages.len().max(1) as f64;
    let mut xml = Xml::new(None);
    let size = [width, height].map(number);
    let view = format!("0 0 {} {}", size[0], size[1]);
    xml.open(
        "svg",
        &[
            ("xmlns", "http://www.w3.org/2000/svg"),
            ("width", &format!("{}mm", size[0])),
            ("height", &format!("{}mm", size[1])),
            ("viewBox", &view),
        ],
    );
    xml.text("title", &drawing.title);
    let whole = [
        ("width", &*size[0]),
        ("height", &*size[1]),
        ("fill", "white"),
    ];
    xml.empty("rect", &whole);
    for (i, items) in drawing.pages.iter().enumerate() {
        let down = format!("translate(0 {})", number(page * i as f64));
        xml.open("g", &[("transform", &down)]);
        for item in items {
            write(&mut xml, item);
        }
        xml.close();
    }
    xml.close();
    xml.finish()
}

fn write(xml: &mut Xml, item: &Item) {
    match item {
        Item::Fill(outline) => xml.empty("path", &[("d", &path(outline))]),
        Item::Stroke(outline, width) => xml.empty(
            "path",
            &[
                ("d", &path(outline)),
                ("fill", "none"),
                ("stroke", "black"),
                ("stroke-width", &number(*width)),
            ],
        ),
        Item::Text((x, y), size, text) => {
            // Whatever face there is, the text is as wide as it was laid out.
            let place = [*x, *y, *size, super::width(text, *size)].map(number);
            let attributes = [
                ("x", &*place[0]),
                ("y", &*place[1]),
                ("font-size", &*place[2]),
                ("font-family", "sans-serif"),
                ("textLength", &*place[3]),
                ("lengthAdjust", "spacingAndGlyphs"),
            ];
            xml.text_with("text", &attributes, text);
        }
    }
}

fn path(outline: &[Segment]) -> String {
    let mut text = String::new();
    for segment in outline {
        let (letter, points) = match segment {
            Segment::Move(to) => ('M', vec![to]),
            Segment::Line(to) => ('L', vec![to]),
            Segment::Curve(a, b, to) => ('C', vec![a, b, to]),
            Segment::Close => ('Z', Vec::new()),
        };
        text.push(letter);
        for (i, (x, y)) in points.into_iter().enumerate() {
            let between = if i > 0 { " " } else { "" };
            let _ = write!(text, "{between}{} {}", number(*x), number(*y));
        }
    }
    text
}

/// A number to a hundredth of a millimetre.
fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

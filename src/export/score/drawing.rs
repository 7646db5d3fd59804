//! Pages of lines, shapes and letters, in millimetres from the upper left corner, and as what files they are written.

mod face;
mod pdf;
mod svg;

pub(super) use face::width;
pub(super) use pdf::pdf;
pub(super) use svg::svg;

/// A point: millimetres to the right, and down.
pub(super) type Point = (f64, f64);

/// A part of an outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Segment {
    /// Begins there.
    Move(Point),
    /// A straight line there.
    Line(Point),
    /// A cubic curve by two points to a third.
    Curve(Point, Point, Point),
    /// Back to where it began.
    Close,
}

/// What is drawn, in black.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Item {
    /// A line along an outline, so wide.
    Stroke(Vec<Segment>, f64),
    /// An outline, filled.
    Fill(Vec<Segment>),
    /// Letters on a base line that begins there, so high.
    Text(Point, f64, String),
}

/// Pages of one size.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Drawing {
    /// Their title.
    pub(super) title: String,
    /// Width and height, in millimetres.
    pub(super) size: (f64, f64),
    /// What stands on each.
    pub(super) pages: Vec<Vec<Item>>,
}

/// A line between two points, so wide.
pub(super) fn line(from: Point, to: Point, width: f64) -> Item {
    Item::Stroke(vec![Segment::Move(from), Segment::Line(to)], width)
}

/// A filled polygon.
pub(super) fn polygon(points: &[Point]) -> Item {
    let mut outline: Vec<_> = points.iter().map(|point| Segment::Line(*point)).collect();
    if let Some(first) = outline.first_mut() {
        *first = Segment::Move(points[0]);
    }
    outline.push(Segment::Close);
    Item::Fill(outline)
}

/// An ellipse with these half axes, turned by so many radians against the clock.
pub(super) fn ellipse(middle: Point, half: (f64, f64), turn: f64) -> Vec<Segment> {
    // Four curves that come within 0.03 % of a circle.
    const BULGE: f64 = 0.552_284_75;
    let (sin, cos) = turn.sin_cos();
    let at = |along: f64, across: f64| {
        let (along, across) = (along * half.0, across * half.1);
        (
            middle.0 + along * cos + across * sin,
            middle.1 - along * sin + across * cos,
        )
    };
    vec![
        Segment::Move(at(1.0, 0.0)),
        Segment::Curve(at(1.0, BULGE), at(BULGE, 1.0), at(0.0, 1.0)),
        Segment::Curve(at(-BULGE, 1.0), at(-1.0, BULGE), at(-1.0, 0.0)),
        Segment::Curve(at(-1.0, -BULGE), at(-BULGE, -1.0), at(0.0, -1.0)),
        Segment::Curve(at(BULGE, -1.0), at(1.0, -BULGE), at(1.0, 0.0)),
        Segment::Close,
    ]
}

//! The signs of the short chart, drawn by ourselves: heads, rests, flags, clef, repeat signs. `s` is a space of the stave, in
//! millimetres.

use crate::export::score::drawing::{Item, Point, Segment, ellipse, line, polygon};
use crate::export::score::stave::Shape;

/// Half the width of a notehead, in spaces.
pub(super) const HALF_HEAD: f64 = 0.6;
/// The thickness of a stem and of a line of the stave, in spaces.
pub(super) const THIN: f64 = 0.12;

/// A notehead; open ones are half notes and longer.
pub(super) fn head(at: Point, shape: Shape, open: bool, s: f64) -> Vec<Item> {
    let (x, y) = at;
    let cross = |half: f64| {
        let (wide, high) = (half * s, 0.9 * half * s);
        let thick = if open { 0.24 } else { 0.16 } * s;
        vec![
            line((x - wide, y - high), (x + wide, y + high), thick),
            line((x - wide, y + high), (x + wide, y - high), thick),
        ]
    };
    match shape {
        Shape::Round if open => vec![Item::Stroke(
            ellipse(at, (0.55 * s, 0.36 * s), 0.35),
            0.2 * s,
        )],
        Shape::Round => vec![Item::Fill(ellipse(at, (0.64 * s, 0.45 * s), 0.35))],
        Shape::Cross => cross(0.5),
        Shape::CircledCross => {
            let mut items = cross(0.36);
            items.push(Item::Stroke(
                ellipse(at, (0.52 * s, 0.52 * s), 0.0),
                THIN * s,
            ));
            items
        }
        Shape::Diamond => {
            let corners = [
                (x, y - 0.52 * s),
                (x + 0.6 * s, y),
                (x, y + 0.52 * s),
                (x - 0.6 * s, y),
            ];
            vec![polygon(&corners)]
        }
    }
}

/// The brackets of a ghost note.
pub(super) fn brackets((x, y): Point, s: f64) -> Vec<Item> {
    let arc = |side: f64| {
        let at = |u: f64, v: f64| (x + side * u * s, y + v * s);
        let outline = vec![
            Segment::Move(at(0.8, -0.65)),
            Segment::Curve(at(1.15, -0.3), at(1.15, 0.3), at(0.8, 0.65)),
        ];
        Item::Stroke(outline, 0.13 * s)
    };
    vec![arc(1.0), arc(-1.0)]
}

/// A rest of a value, by how often a whole one is halved, its middle on the middle line.
pub(super) fn rest((x, y): Point, halvings: u8, s: f64) -> Vec<Item> {
    let at = |u: f64, v: f64| (x + u * s, y + v * s);
    match halvings {
        0 | 1 => {
            let (top, bottom) = if halvings == 0 {
                (-1.0, -0.5)
            } else {
                (-0.5, 0.0)
            };
            vec![polygon(&[
                at(-0.6, top),
                at(0.6, top),
                at(0.6, bottom),
                at(-0.6, bottom),
            ])]
        }
        2 => vec![Item::Fill(vec![
            Segment::Move(at(-0.25, -1.4)),
            Segment::Line(at(0.42, -0.5)),
            Segment::Curve(at(0.05, -0.1), at(0.1, 0.1), at(0.5, 0.65)),
            Segment::Line(at(0.42, 0.75)),
            Segment::Curve(at(-0.15, 0.5), at(-0.25, 0.85), at(0.1, 1.35)),
            Segment::Curve(at(-0.65, 1.0), at(-0.6, 0.35), at(0.12, 0.5)),
            Segment::Line(at(-0.42, -0.25)),
            Segment::Curve(at(0.0, -0.6), at(-0.02, -0.85), at(-0.32, -1.32)),
            Segment::Close,
        ])],
        _ => {
            let flags = f64::from(halvings - 2);
            let mut items = Vec::new();
            let bottom = 0.5 + 0.5 * flags;
            for flag in 0..(halvings - 2) {
                let v = -0.5 + f64::from(flag);
                let slant = 0.18 * f64::from(flag);
                items.push(Item::Fill(ellipse(
                    at(-0.35 - slant, v),
                    (0.22 * s, 0.22 * s),
                    0.0,
                )));
                items.push(Item::Stroke(
                    vec![
                        Segment::Move(at(-0.35 - slant, v + 0.15)),
                        Segment::Curve(
                            at(-0.1 - slant, v + 0.3),
                            at(0.2 - slant, v + 0.2),
                            at(0.38 - slant, v - 0.2),
                        ),
                    ],
                    0.12 * s,
                ));
            }
            let slant = 0.18 * (flags - 1.0);
            items.push(line(
                at(0.38, -0.7),
                at(0.02 - slant, bottom + 0.3),
                0.12 * s,
            ));
            items
        }
    }
}

/// Flags at the end of a stem that goes up (`way` -1) or down (1).
pub(super) fn flags((x, y): Point, count: u8, way: f64, s: f64) -> Vec<Item> {
    let flag = |i: u8| {
        let y = y - way * f64::from(i) * 0.75 * s;
        let at = |u: f64, v: f64| (x + u * s, y - way * v * s);
        Item::Fill(vec![
            Segment::Move(at(0.0, 0.0)),
            Segment::Curve(at(0.1, 0.9), at(1.2, 1.1), at(0.8, 2.3)),
            Segment::Curve(at(0.95, 1.4), at(0.3, 1.1), at(0.0, 0.75)),
            Segment::Close,
        ])
    };
    (0..count).map(flag).collect()
}

/// An accent.
pub(super) fn accent((x, y): Point, s: f64) -> Vec<Item> {
    let at = |u: f64, v: f64| (x + u * s, y + v * s);
    vec![Item::Stroke(
        vec![
            Segment::Move(at(-0.6, -0.35)),
            Segment::Line(at(0.6, 0.0)),
            Segment::Line(at(-0.6, 0.35)),
        ],
        0.15 * s,
    )]
}

/// The small circle of an open hi-hat.
pub(super) fn circle(at: Point, s: f64) -> Item {
    Item::Stroke(ellipse(at, (0.32 * s, 0.32 * s), 0.0), THIN * s)
}

/// The plus of a hi-hat that is closed again.
pub(super) fn plus((x, y): Point, s: f64) -> Vec<Item> {
    let half = 0.38 * s;
    vec![
        line((x - half, y), (x + half, y), 1.2 * THIN * s),
        line((x, y - half), (x, y + half), 1.2 * THIN * s),
    ]
}

/// The clef of percussion, on a stave whose lowest line is at `y`.
pub(super) fn clef((x, y): Point, s: f64) -> Vec<Item> {
    let bar = |left: f64| {
        let (from, to) = (x + left * s, x + (left + 0.5) * s);
        polygon(&[
            (from, y - 3.0 * s),
            (to, y - 3.0 * s),
            (to, y - s),
            (from, y - s),
        ])
    };
    vec![bar(0.0), bar(0.85)]
}

/// A slash for a count of time.
pub(super) fn slash((x, y): Point, s: f64) -> Item {
    polygon(&[
        (x - 0.9 * s, y + s),
        (x - 0.4 * s, y + s),
        (x + 0.9 * s, y - s),
        (x + 0.4 * s, y - s),
    ])
}

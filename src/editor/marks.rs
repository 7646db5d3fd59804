//! The mark of a stroke: a shape and a colour for every kind of piece.
//!
//! Drums are filled and cymbals are drawn in lines, as noteheads and crosses are on paper.

use super::theme::Palette;
use crate::kit::Piece;
use egui::{Color32, Painter, Pos2, Shape, Stroke, Vec2, vec2};

/// The colour of a piece's kind.
pub(super) fn colour(palette: &Palette, piece: Piece) -> Color32 {
    match piece {
        Piece::Kick => palette.kick,
        Piece::Snare | Piece::SideStick | Piece::Sticks => palette.snare,
        Piece::HiHatClosed | Piece::HiHatLoose | Piece::HiHatOpen | Piece::HiHatFoot => {
            palette.hi_hat
        }
        Piece::Ride | Piece::RideBell => palette.ride,
        Piece::CrashLeft | Piece::CrashRight | Piece::China | Piece::Splash => palette.crash,
        Piece::RackHigh | Piece::RackLow | Piece::FloorHigh | Piece::FloorLow => palette.tom,
    }
}

/// Paints a piece's mark around `at`, `half` points to every side, hollow ones in the colour of the `ground`.
pub(super) fn paint(
    painter: &Painter,
    piece: Piece,
    (at, half): (Pos2, f32),
    colour: Color32,
    ground: Color32,
) {
    let line = Stroke::new(1.8, colour);
    let thin = Stroke::new(1.3, colour);
    let corner = |x: f32, y: f32| at + vec2(x, y) * half;
    let cross = |size: f32| {
        let (x, y) = (vec2(size, size) * half, vec2(size, -size) * half);
        painter.line_segment([at - x, at + x], line);
        painter.line_segment([at - y, at + y], line);
    };
    let polygon = |corners: &[Vec2], filled: bool| {
        let points = corners.iter().map(|c| at + *c * half).collect();
        let fill = if filled { colour } else { ground };
        painter.add(Shape::convex_polygon(points, fill, line));
    };
    let diamond = [
        vec2(0.0, -1.1),
        vec2(1.1, 0.0),
        vec2(0.0, 1.1),
        vec2(-1.1, 0.0),
    ];
    let upward = [vec2(0.0, -1.0), vec2(1.1, 0.9), vec2(-1.1, 0.9)];
    let downward = [vec2(0.0, 1.0), vec2(1.1, -0.9), vec2(-1.1, -0.9)];
    match piece {
        Piece::Kick => polygon(
            &[
                vec2(-0.9, -0.9),
                vec2(0.9, -0.9),
                vec2(0.9, 0.9),
                vec2(-0.9, 0.9),
            ],
            true,
        ),
        Piece::Snare => {
            painter.circle_filled(at, half, colour);
        }
        Piece::SideStick => {
            painter.circle(at, half, ground, line);
        }
        Piece::Sticks => {
            painter.line_segment([corner(-0.9, 0.9), corner(0.6, -1.0)], line);
            painter.line_segment([corner(0.9, 0.9), corner(-0.6, -1.0)], line);
        }
        Piece::HiHatClosed => cross(0.9),
        Piece::HiHatLoose => {
            cross(0.9);
            painter.line_segment([corner(-0.9, -1.4), corner(0.9, -1.4)], thin);
        }
        Piece::HiHatOpen => {
            cross(0.75);
            painter.circle_stroke(at, half * 1.25, thin);
        }
        Piece::HiHatFoot => {
            cross(0.75);
            painter.line_segment([corner(-0.9, 1.3), corner(0.9, 1.3)], line);
        }
        Piece::Ride => polygon(&diamond, false),
        Piece::RideBell => polygon(&diamond, true),
        Piece::CrashLeft | Piece::CrashRight => {
            cross(0.85);
            painter.line_segment([corner(0.0, -1.2), corner(0.0, 1.2)], line);
            painter.line_segment([corner(-1.2, 0.0), corner(1.2, 0.0)], line);
        }
        Piece::China => polygon(&downward, false),
        Piece::Splash => polygon(&upward, false),
        Piece::RackHigh | Piece::RackLow => polygon(&upward, true),
        Piece::FloorHigh | Piece::FloorLow => polygon(&downward, true),
    }
}

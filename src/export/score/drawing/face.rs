//! The letters of the printed page: the face that the window has, under its open licence (`epaint_default_fonts`).

use ttf_parser::{Face, GlyphId};

/// The font's file.
pub(super) const FONT: &[u8] = epaint_default_fonts::UBUNTU_LIGHT;

/// The face; `None` never, since the file is part of the program.
pub(super) fn face() -> Option<Face<'static>> {
    Face::parse(FONT, 0).ok()
}

/// The glyph of a letter; 0, the sign for what a font lacks, where it has none.
pub(super) fn glyph(face: &Face, letter: char) -> GlyphId {
    face.glyph_index(letter).unwrap_or(GlyphId(0))
}

/// How wide a text is, in millimetres, where its letters are so high.
pub(in crate::export::score) fn width(text: &str, size: f64) -> f64 {
    let Some(face) = face() else {
        return 0.0;
    };
    let advance = |letter| face.glyph_hor_advance(glyph(&face, letter)).unwrap_or(0);
    let units: f64 = text.chars().map(|letter| f64::from(advance(letter))).sum();
    units / f64::from(face.units_per_em()) * size
}

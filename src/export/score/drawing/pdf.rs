//! Pages as PDF 1.7: lines, shapes, and letters that can be searched, with the glyphs of the font that are used.

use super::face::{FONT, face, glyph};
use super::{Drawing, Item, Point, Segment};
use flate2::Compression;
use flate2::write::ZlibEncoder;
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use std::collections::BTreeMap;
use std::io::Write as _;
use subsetter::GlyphRemapper;
use ttf_parser::Face;

/// Points in a millimetre.
const POINTS: f64 = 72.0 / 25.4;
/// The name of the font inside the document.
const NAME: Name = Name(b"F");
/// The registry of glyphs that are named by number.
const SYSTEM: SystemInfo = SystemInfo {
    registry: Str(b"Adobe"),
    ordering: Str(b"Identity"),
    supplement: 0,
};

/// Its places in the document.
struct Refs {
    catalog: Ref,
    tree: Ref,
    font: Ref,
    glyphs: Ref,
    descriptor: Ref,
    map: Ref,
    file: Ref,
}

/// The document.
pub(in crate::export::score) fn pdf(drawing: &Drawing) -> Vec<u8> {
    let refs = Refs {
        catalog: Ref::new(1),
        tree: Ref::new(2),
        font: Ref::new(3),
        glyphs: Ref::new(4),
        descriptor: Ref::new(5),
        map: Ref::new(6),
        file: Ref::new(7),
    };
    let mut pdf = Pdf::new();
    let mut used = Used::default();
    let mut next = Ref::new(9);
    let (width, height) = drawing.size;
    let mut pages = Vec::new();
    let mut contents = Vec::new();
    for items in &drawing.pages {
        let (page, content) = (next.bump(), next.bump());
        pages.push(page);
        contents.push((content, used.content(items, height)));
    }
    pdf.catalog(refs.catalog).pages(refs.tree);
    pdf.document_info(Ref::new(8))
        .title(TextStr(&drawing.title))
        .producer(TextStr("Fourlimb"));
    let count = i32::try_from(pages.len()).unwrap_or(i32::MAX);
    pdf.pages(refs.tree)
        .kids(pages.iter().copied())
        .count(count);
    for (page, (content, bytes)) in pages.iter().zip(contents) {
        let mut page = pdf.page(*page);
        let size = [width, height].map(|mm| real(mm * POINTS));
        page.media_box(Rect::new(0.0, 0.0, size[0], size[1]));
        page.parent(refs.tree).contents(content);
        page.resources().fonts().pair(NAME, refs.font);
        page.finish();
        pdf.stream(content, &packed(&bytes))
            .filter(Filter::FlateDecode);
    }
    if let Some(face) = face() {
        used.write(&mut pdf, &refs, &face);
    }
    pdf.finish()
}

/// The glyphs that are used, and their letters.
#[derive(Default)]
struct Used {
    mapper: GlyphRemapper,
    letters: BTreeMap<u16, char>,
}

impl Used {
    fn content(&mut self, items: &[Item], height: f64) -> Vec<u8> {
        let mut content = Content::new();
        let at = |(x, y): Point| (real(x * POINTS), real((height - y) * POINTS));
        for item in items {
            match item {
                Item::Fill(outline) => {
                    trace(&mut content, outline, at);
                    content.fill_nonzero();
                }
                Item::Stroke(outline, width) => {
                    content.set_line_width(real(width * POINTS));
                    trace(&mut content, outline, at);
                    content.stroke();
                }
                Item::Text(from, size, text) => {
                    let (x, y) = at(*from);
                    content
                        .begin_text()
                        .set_font(NAME, real(size * POINTS))
                        .next_line(x, y);
                    content.show(Str(&self.glyphs(text))).end_text();
                }
            }
        }
        content.finish().to_vec()
    }

    /// The numbers of a text's glyphs, two bytes each.
    fn glyphs(&mut self, text: &str) -> Vec<u8> {
        let Some(face) = face() else {
            return Vec::new();
        };
        let mut bytes = Vec::with_capacity(2 * text.len());
        for letter in text.chars() {
            let new = self.mapper.remap(glyph(&face, letter).0);
            self.letters.entry(new).or_insert(letter);
            bytes.extend(new.to_be_bytes());
        }
        bytes
    }

    fn write(&self, pdf: &mut Pdf, refs: &Refs, face: &Face) {
        let units = f32::from(face.units_per_em());
        let scaled = |value: i16| f32::from(value) / units * 1000.0;
        let base = Name(b"FOURLB+Light");
        pdf.type0_font(refs.font)
            .base_font(base)
            .encoding_predefined(Name(b"Identity-H"))
            .descendant_font(refs.glyphs)
            .to_unicode(refs.map);
        let mut font = pdf.cid_font(refs.glyphs);
        font.subtype(CidFontType::Type2)
            .base_font(base)
            .system_info(SYSTEM);
        font.font_descriptor(refs.descriptor)
            .cid_to_gid_map_predefined(Name(b"Identity"));
        let widths = self.mapper.remapped_gids().map(|old| {
            let advance = face
                .glyph_hor_advance(ttf_parser::GlyphId(old))
                .unwrap_or(0);
            f32::from(advance) / units * 1000.0
        });
        font.widths().consecutive(0, widths);
        font.finish();
        let bounds = face.global_bounding_box();
        let bounds = [bounds.x_min, bounds.y_min, bounds.x_max, bounds.y_max].map(scaled);
        pdf.font_descriptor(refs.descriptor)
            .name(base)
            .flags(FontFlags::SYMBOLIC)
            .bbox(Rect::new(bounds[0], bounds[1], bounds[2], bounds[3]))
            .italic_angle(0.0)
            .ascent(scaled(face.ascender()))
            .descent(scaled(face.descender()))
            .cap_height(scaled(face.capital_height().unwrap_or(700)))
            .stem_v(60.0)
            .font_file2(refs.file);
        let mut map = UnicodeCmap::new(Name(b"Custom"), SYSTEM);
        for (glyph, letter) in &self.letters {
            map.pair(*glyph, *letter);
        }
        pdf.stream(refs.map, &map.finish());
        let subset = subsetter::subset(FONT, 0, &self.mapper).unwrap_or_default();
        let length = i32::try_from(subset.len()).unwrap_or(0);
        pdf.stream(refs.file, &packed(&subset))
            .filter(Filter::FlateDecode)
            .pair(Name(b"Length1"), length);
    }
}

fn trace(content: &mut Content, outline: &[Segment], at: impl Fn(Point) -> (f32, f32)) {
    for segment in outline {
        match *segment {
            Segment::Move(to) => {
                let (x, y) = at(to);
                content.move_to(x, y);
            }
            Segment::Line(to) => {
                let (x, y) = at(to);
                content.line_to(x, y);
            }
            Segment::Curve(a, b, to) => {
                let (a, b, to) = (at(a), at(b), at(to));
                content.cubic_to(a.0, a.1, b.0, b.1, to.0, to.1);
            }
            Segment::Close => {
                content.close_path();
            }
        }
    }
}

/// A number of the document.
#[expect(
    clippy::cast_possible_truncation,
    reason = "the format has single precision"
)]
fn real(value: f64) -> f32 {
    value as f32
}

fn packed(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::default());
    // A vector takes whatever is written to it.
    let _ = encoder.write_all(bytes);
    encoder.finish().unwrap_or_default()
}

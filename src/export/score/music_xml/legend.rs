//! The title and the legend, as words on the first page.

use crate::export::score::Score;
use crate::export::score::stave::{Look, Shape, name};
use crate::export::score::xml::Xml;

/// Title and legend.
pub(super) fn credits(xml: &mut Xml, score: &Score) {
    credit(xml, "title", &score.title, "center");
    let lines: Vec<String> = score
        .pieces()
        .into_iter()
        .map(|(piece, by_foot)| {
            let foot = if by_foot && Look::of(piece, by_foot) != Look::of(piece, false) {
                " by foot"
            } else {
                ""
            };
            format!("{}{foot}: {}", name(piece), place(Look::of(piece, by_foot)))
        })
        .collect();
    if !lines.is_empty() {
        credit(xml, "legend", &lines.join("; "), "left");
    }
}

fn credit(xml: &mut Xml, kind: &str, text: &str, justify: &str) {
    xml.open("credit", &[("page", "1")]);
    xml.text("credit-type", kind);
    let (size, valign) = if kind == "title" {
        ("16", "top")
    } else {
        ("7", "bottom")
    };
    let attributes = [
        ("justify", justify),
        ("valign", valign),
        ("font-size", size),
    ];
    xml.text_with("credit-words", &attributes, text);
    xml.close();
}

/// A place and a head in words.
fn place(look: Look) -> String {
    let head = match look.shape {
        Shape::Round => "note",
        Shape::Cross => "cross",
        Shape::CircledCross => "circled cross",
        Shape::Diamond => "diamond",
    };
    let ring = if look.open { " under a circle" } else { "" };
    let step = look.step;
    let place = match step {
        -1 => "just below the stave".to_owned(),
        9 => "just above the stave".to_owned(),
        0..=8 if step % 2 == 0 => format!("on line {}", step / 2 + 1),
        0..=8 => format!("in space {}", step / 2 + 1),
        _ if step % 2 == 0 => format!("on ledger line {} above", (step - 8) / 2),
        _ => format!("over ledger line {}", (step - 9) / 2),
    };
    format!("{head}{ring} {place}")
}

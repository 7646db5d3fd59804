//! The sections of a song by name, where several may share one.

use crate::export::ExportError;
use crate::song::Timeline;
use crate::time::{Bar, Ticks};
use std::ops::Range;

/// A section of a song.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedSection {
    /// Its unique label: its name; where several sections share the name, the name and a number ("Verse 2"); where
    /// that is also a name, or it has none, its number in the song ("#2").
    pub label: String,
    /// Where it is, in ticks.
    pub span: Range<Ticks>,
}

/// Every section of a song, in order.
pub fn sections(song: &Timeline) -> Vec<NamedSection> {
    let markers: Vec<_> = song.markers().collect();
    let names: Vec<_> = markers.iter().map(|(_, name)| name.trim()).collect();
    let ends = markers.iter().skip(1).map(|(at, _)| *at);
    let ends = ends.chain([song.end()]);
    markers
        .iter()
        .zip(ends)
        .enumerate()
        .map(|(i, (&(start, _), end))| NamedSection {
            label: label(&names, i),
            span: start..end,
        })
        .collect()
}

fn label(names: &[&str], i: usize) -> String {
    let name = names[i];
    let alike = |names: &[&str]| names.iter().filter(|other| **other == name).count();
    let number = format!("#{}", i + 1);
    if name.is_empty() {
        return number;
    }
    if alike(names) == 1 {
        return name.to_owned();
    }
    let counted = format!("{name} {}", alike(&names[..=i]));
    if names.contains(&counted.as_str()) {
        return number;
    }
    counted
}

/// The bars of a section.
pub fn bars_of<'a>(song: &'a Timeline, section: &NamedSection) -> &'a [Bar] {
    let bars = song.bars();
    let at = |tick: Ticks| bars.partition_point(|bar| bar.start < tick);
    &bars[at(section.span.start)..at(section.span.end)]
}

/// The section that a text refers to.
pub(super) fn find(song: &Timeline, text: &str) -> Result<NamedSection, ExportError> {
    Ok(sections(song).swap_remove(number_of(song, text)?))
}

/// The index in the song, from 0, of the section that a text refers to: by label, by label in any case, or by
/// number from 1.
///
/// # Errors
/// [`ExportError`] names the sections that there are.
pub fn number_of(song: &Timeline, text: &str) -> Result<usize, ExportError> {
    let text = text.trim();
    let sections = sections(song);
    let lower = text.to_lowercase();
    let number = text.strip_prefix('#').unwrap_or(text).parse::<usize>();
    let found = sections
        .iter()
        .position(|section| section.label == text)
        .or_else(|| {
            let mut alike = sections.iter().enumerate();
            let mut alike = alike
                .by_ref()
                .filter(|(_, s)| s.label.to_lowercase() == lower);
            let first = alike.next().map(|(i, _)| i);
            first.filter(|_| alike.next().is_none())
        })
        .or_else(|| number.ok()?.checked_sub(1).filter(|i| *i < sections.len()));
    if let Some(i) = found {
        return Ok(i);
    }
    let name = text.to_owned();
    let named: Vec<_> = song
        .markers()
        .zip(&sections)
        .filter(|((_, name), _)| name.trim().to_lowercase() == lower)
        .map(|(_, section)| section.label.clone())
        .collect();
    if named.len() > 1 {
        return Err(ExportError::Several {
            name,
            labels: named,
        });
    }
    let labels = sections.into_iter().map(|section| section.label).collect();
    Err(ExportError::NoSection { name, labels })
}

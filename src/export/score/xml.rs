//! XML, element by element, indented.

use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event};

/// A document as it is written. In memory, where nothing fails.
pub(in crate::export::score) struct Xml {
    writer: Writer<Vec<u8>>,
    open: Vec<&'static str>,
}

impl Xml {
    /// A document; `kind` is what follows the word DOCTYPE, where there is one.
    pub(in crate::export::score) fn new(kind: Option<&str>) -> Self {
        let mut xml = Self {
            writer: Writer::new_with_indent(Vec::new(), b' ', 1),
            open: Vec::new(),
        };
        xml.write(Event::Decl(BytesDecl::new(
            "1.0",
            Some("UTF-8"),
            Some("no"),
        )));
        if let Some(kind) = kind {
            xml.write(Event::DocType(BytesText::from_escaped(kind)));
        }
        xml
    }

    fn write(&mut self, event: Event) {
        // A vector takes whatever is written to it.
        let _ = self.writer.write_event(event);
    }

    fn start(name: &'static str, attributes: &[(&str, &str)]) -> BytesStart<'static> {
        let mut start = BytesStart::new(name);
        for (name, value) in attributes {
            start.push_attribute((*name, &*plain(value)));
        }
        start
    }

    /// Begins an element.
    pub(in crate::export::score) fn open(
        &mut self,
        name: &'static str,
        attributes: &[(&str, &str)],
    ) {
        self.write(Event::Start(Self::start(name, attributes)));
        self.open.push(name);
    }

    /// Ends the element that began last.
    pub(in crate::export::score) fn close(&mut self) {
        if let Some(name) = self.open.pop() {
            self.write(Event::End(BytesEnd::new(name)));
        }
    }

    /// An element without content.
    pub(in crate::export::score) fn empty(
        &mut self,
        name: &'static str,
        attributes: &[(&str, &str)],
    ) {
        self.write(Event::Empty(Self::start(name, attributes)));
    }

    /// An element with a text.
    pub(in crate::export::score) fn text(&mut self, name: &'static str, text: &str) {
        self.text_with(name, &[], text);
    }

    /// An element with attributes and a text.
    pub(in crate::export::score) fn text_with(
        &mut self,
        name: &'static str,
        attributes: &[(&str, &str)],
        text: &str,
    ) {
        self.write(Event::Start(Self::start(name, attributes)));
        self.write(Event::Text(BytesText::new(&plain(text))));
        self.write(Event::End(BytesEnd::new(name)));
    }

    /// The document's bytes.
    pub(in crate::export::score) fn finish(self) -> Vec<u8> {
        let mut bytes = self.writer.into_inner();
        bytes.push(b'\n');
        bytes
    }
}

/// A text on one line, without the characters that XML 1.0 has no place for (its section 2.2).
pub(in crate::export::score) fn plain(text: &str) -> String {
    let line = |letter: char| match letter {
        '\t' | '\n' | '\r' => ' ',
        '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => '\u{fffd}',
        letter => letter,
    };
    text.chars().map(line).collect()
}

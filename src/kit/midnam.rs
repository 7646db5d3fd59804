//! MIDI name documents (`.midnam`): the names of a device's keys, read and written.
//!
//! The format is the MIDI Manufacturers' Association's, XML by the document type `MIDINameDocument 1.0`. A document
//! has lists of note names; sets of names say on which channels they hold, directly or through the patches of their
//! banks. Nothing outside of the document is read: its type is named by an address on the network, which nobody asks.
//!
//! Documents come from anywhere, so everything is bounded: bytes, depth, nodes, attributes, names. A document that
//! declares entities is refused: the parser bounds how deep they nest, but not how often a large one is repeated.

mod encoding;
mod lists;
mod write;

pub use lists::{NamedKey, NamedList};
pub use write::write;

use roxmltree::{Document, Node, ParsingOptions};

/// The public identifier of the document type.
pub const PUBLIC_ID: &str = "-//MIDI Manufacturers Association//DTD MIDINameDocument 1.0//EN";

/// The address of the document type. Nothing here opens it.
pub const SYSTEM_ID: &str = "http://www.midi.org/dtds/MIDINameDocument10.dtd";

/// The largest document that is read, in bytes. Our judgement: a list of 128 names is about 6,000.
pub const MOST_BYTES: usize = 4 << 20;

/// The most names that a document may have. Our judgement: 512 full lists.
pub const MOST_NAMES: usize = 65_536;

/// The longest name, in characters. Our judgement: ten times what a host shows.
pub const LONGEST_NAME: usize = 256;

/// The deepest nesting of elements; the document type has ten levels or so.
const DEEPEST: u32 = 32;

/// The most nodes of the tree, texts between elements included: about 100 bytes of memory each.
const MOST_NODES: u32 = 400_000;

/// The most attributes of an element: the parser compares each with each. The document type has five at most.
const MOST_ATTRIBUTES: usize = 128;

/// The most declarations of namespaces: the parser compares each with each. The document type has none.
const MOST_NAMESPACES: usize = 16;

/// A name document that can't be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MidnamError {
    /// More than [`MOST_BYTES`].
    #[error(
        "the document has {0} bytes: up to {MOST_BYTES} are read, so take out the lists that you don't need"
    )]
    TooLarge(usize),
    /// An encoding that is not read.
    #[error(
        "the document says that its encoding is \"{0}\": UTF-8, UTF-16, ISO-8859-1 and US-ASCII are read, so save it as UTF-8"
    )]
    Encoding(String),
    /// Not what its encoding says.
    #[error("the document is not text in {encoding} (byte {at}): save it as UTF-8")]
    NotText {
        /// The encoding that it says, or should have.
        encoding: &'static str,
        /// The first byte that can't be read, counted from 0.
        at: usize,
    },
    /// Not XML.
    #[error("the document is no well-formed XML ({0}): export it again from where it comes from")]
    NotXml(String),
    /// It declares entities.
    #[error(
        "the document declares entities (<!ENTITY), which may blow it up: write the text itself where they are used"
    )]
    Entities,
    /// More of something than any document of its kind has.
    #[error(
        "the document has {0}: no name document needs that, so export it again from where it comes from"
    )]
    TooMuch(&'static str),
    /// XML, but of another kind.
    #[error("the document is a <{0}>, not a <MIDINameDocument>: choose a .midnam file")]
    OtherKind(String),
    /// A note without a number or a name.
    #[error("a note of the list \"{list}\" has no {attribute}: give it one, or take the note out")]
    Missing {
        /// The list.
        list: String,
        /// The attribute.
        attribute: &'static str,
    },
    /// A number that is no MIDI key.
    #[error(
        "the list \"{list}\" has a note with the number \"{number}\": MIDI keys go from 0 to 127"
    )]
    Key {
        /// The list.
        list: String,
        /// What stands there.
        number: String,
    },
    /// More than [`LONGEST_NAME`].
    #[error(
        "key {key} of the list \"{list}\" has a name of {characters} characters: shorten it to {LONGEST_NAME}"
    )]
    LongName {
        /// The list.
        list: String,
        /// The key.
        key: u8,
        /// How long the name is.
        characters: usize,
    },
    /// It names patches or controllers, but no note.
    #[error("the document names no notes: choose one that has a list of note names (NoteNameList)")]
    NoNotes,
    /// Its note names are in another document.
    #[error(
        "the document takes the note names \"{0}\" from elsewhere: choose the document that has this list"
    )]
    Elsewhere(String),
}

/// Reads the lists of note names of a document, in its order. A list has at least one name.
///
/// A channel that is no MIDI channel is passed over: the list is read all the same. So is a note whose name is blank.
///
/// # Errors
/// [`MidnamError`] says what is wrong and what to do.
pub fn read(bytes: &[u8]) -> Result<Vec<NamedList>, MidnamError> {
    if bytes.len() > MOST_BYTES {
        return Err(MidnamError::TooLarge(bytes.len()));
    }
    let text = encoding::text(bytes)?;
    bounded(&text)?;
    let options = ParsingOptions {
        allow_dtd: true,
        nodes_limit: MOST_NODES,
        entity_resolver: None,
    };
    let document = Document::parse_with_options(&text, options).map_err(|error| match error {
        roxmltree::Error::NodesLimitReached => MidnamError::TooMuch("too many elements"),
        error => MidnamError::NotXml(error.to_string()),
    })?;
    let root = document.root_element();
    if !is_within(root, DEEPEST) {
        return Err(MidnamError::TooMuch("elements nested too deep"));
    }
    if root.tag_name().name() != "MIDINameDocument" {
        let name = root.tag_name().name();
        return Err(MidnamError::OtherKind(clean(name)));
    }
    lists::read(root)
}

/// What the parser itself doesn't bound.
fn bounded(text: &str) -> Result<(), MidnamError> {
    // Entities are declared in no other way, and XML has no other case for it.
    if text.contains("<!ENTITY") {
        return Err(MidnamError::Entities);
    }
    if text.matches("xmlns").nth(MOST_NAMESPACES).is_some() {
        return Err(MidnamError::TooMuch("too many namespaces"));
    }
    // A tag has no "<" inside, and an attribute has two quotes.
    let mut tags = text.split('<').filter(|tag| !tag.starts_with("!--"));
    let quotes = |tag: &str| tag.matches(['"', '\'']).nth(2 * MOST_ATTRIBUTES).is_some();
    if tags.any(quotes) {
        return Err(MidnamError::TooMuch("too many attributes"));
    }
    Ok(())
}

/// Whether the elements below nest at most so deep.
fn is_within(node: Node<'_, '_>, levels: u32) -> bool {
    levels > 0 && node.children().all(|child| is_within(child, levels - 1))
}

/// A name as it is read and written: without control characters and what XML can't hold, each white space a blank,
/// none at the ends, at most [`LONGEST_NAME`] characters.
pub fn clean(name: &str) -> String {
    let space = |c: char| if c.is_whitespace() { ' ' } else { c };
    let held = |c: &char| !c.is_control() && !matches!(c, '\u{fffe}' | '\u{ffff}');
    let kept: String = name.chars().map(space).filter(held).collect();
    let short: String = kept.trim().chars().take(LONGEST_NAME).collect();
    short.trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_cleaned() {
        assert_eq!(clean(" a\tb\u{7}\u{fffe}\n "), "a b");
        let long = clean(&"é".repeat(1000));
        assert_eq!(long.chars().count(), LONGEST_NAME);
        assert_eq!(clean(&long), long);
    }
}

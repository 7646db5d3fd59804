//! A checker of name documents, from the rules of the document type "MIDINameDocument 1.0".
//!
//! The content models of `MIDINameDocument`, `MasterDeviceNames`, `ChannelNameSet`, `PatchBank`, `Patch`,
//! `NoteNameList`, `NoteGroup` and `Note`, and the attributes of the last three, are as public notes on the document
//! type quote them [read]. The others are from memory. Elements that our documents don't use are left out: they are
//! refused.

use roxmltree::{Document, Node, ParsingOptions};
use std::collections::BTreeSet;

/// Element, content model, attributes ("!" marks those that must be there).
const RULES: &[(&str, &str, &str)] = &[
    (
        "MIDINameDocument",
        "(Author,(MasterDeviceNames+|ExtendingDeviceNames+|StandardDeviceMode+))",
        "",
    ),
    ("Author", "#PCDATA", ""),
    (
        "MasterDeviceNames",
        "(((Manufacturer,Model+)|Device),(CustomDeviceMode|SupportsStandardDeviceMode)+,ChannelNameSet*,\
         (PatchNameList|NoteNameList|ControlNameList|ValueNameList)*)",
        "",
    ),
    ("Manufacturer", "#PCDATA", ""),
    ("Model", "#PCDATA", ""),
    (
        "CustomDeviceMode",
        "(DeviceModeEnable?,DeviceModeDisable?,ChannelNameSetAssignments,\
         (PatchNameList|NoteNameList|ControlNameList|ValueNameList)*)",
        "!Name",
    ),
    ("ChannelNameSetAssignments", "(ChannelNameSetAssign+)", ""),
    ("ChannelNameSetAssign", "EMPTY", "!Channel !NameSet"),
    (
        "ChannelNameSet",
        "(AvailableForChannels,(NoteNameList|UsesNoteNameList)?,(ControlNameList|UsesControlNameList)?,PatchBank+)",
        "!Name",
    ),
    ("AvailableForChannels", "(AvailableChannel+)", ""),
    ("AvailableChannel", "EMPTY", "!Channel !Available"),
    (
        "PatchBank",
        "(MIDICommands?,(UsesPatchNameList|PatchNameList))",
        "!Name ROM",
    ),
    ("UsesPatchNameList", "EMPTY", "!Name"),
    ("PatchNameList", "(Patch+)", "Name"),
    (
        "Patch",
        "(PatchMIDICommands?,ChannelNameSetAssignments?,(NoteNameList|UsesNoteNameList)?,\
         (ControlNameList|UsesControlNameList)?)",
        "!Number !Name ProgramChange",
    ),
    ("UsesNoteNameList", "EMPTY", "!Name"),
    ("NoteNameList", "(NoteGroup|Note)+", "Name"),
    ("NoteGroup", "(Note*)", "Name"),
    ("Note", "EMPTY", "!Number !Name"),
];

/// Where a content model may end, from each of the places where it may start.
struct Model<'a> {
    rest: &'a str,
    children: &'a [&'a str],
}

impl Model<'_> {
    /// A particle (a name, or a group in brackets) with its sign, applied to every start.
    fn particle(&mut self, from: &BTreeSet<usize>) -> BTreeSet<usize> {
        let before = self.rest;
        let mut ends = self.once(from);
        let after = self.rest;
        let sign = after.chars().next().filter(|c| "?*+".contains(*c));
        if let Some(sign) = sign {
            if sign != '?' {
                let mut open = ends.clone();
                while !open.is_empty() {
                    self.rest = before;
                    open = &self.once(&open) - &ends;
                    ends.extend(&open);
                }
            }
            if sign != '+' {
                ends.extend(from);
            }
            self.rest = &after[1..];
        }
        ends
    }

    fn once(&mut self, from: &BTreeSet<usize>) -> BTreeSet<usize> {
        if let Some(inner) = self.rest.strip_prefix('(') {
            self.rest = inner;
            let mut ends = self.particle(from);
            loop {
                let (sign, rest) = self.rest.split_at(1);
                self.rest = rest;
                match sign {
                    "," => ends = self.particle(&ends),
                    "|" => ends.extend(self.particle(from)),
                    ")" => return ends,
                    other => panic!("{other} in a content model"),
                }
            }
        }
        let end = self.rest.find(|c: char| !c.is_alphanumeric());
        let (name, rest) = self.rest.split_at(end.unwrap_or(self.rest.len()));
        self.rest = rest;
        let fits = |at: &&usize| self.children.get(**at) == Some(&name);
        from.iter().filter(fits).map(|at| at + 1).collect()
    }
}

fn content(model: &str, children: &[&str]) -> bool {
    let mut rest = Model {
        rest: model,
        children,
    };
    let ends = rest.particle(&BTreeSet::from([0]));
    assert_eq!(rest.rest, "", "{model} is read to its end");
    ends.contains(&children.len())
}

fn element(node: Node) -> Result<(), String> {
    let name = node.tag_name().name();
    let (_, model, attributes) = RULES
        .iter()
        .find(|(element, ..)| *element == name)
        .ok_or(format!("{name} is not in the document type"))?;
    let children: Vec<&str> = node
        .children()
        .filter(Node::is_element)
        .map(|child| child.tag_name().name())
        .collect();
    let texts = node.children().filter(Node::is_text);
    let text: String = texts.filter_map(|text| text.text()).collect();
    let fits = match *model {
        "EMPTY" => node.children().count() == 0,
        "#PCDATA" => children.is_empty(),
        model => text.trim().is_empty() && content(model, &children),
    };
    if !fits {
        return Err(format!("{name} has {children:?} and \"{}\"", text.trim()));
    }
    for attribute in node.attributes() {
        let known = attributes
            .split(' ')
            .any(|known| known.trim_start_matches('!') == attribute.name());
        if !known {
            return Err(format!("{name} has the attribute {}", attribute.name()));
        }
        let value = attribute.value();
        let fits = match attribute.name() {
            "Number" if name == "Note" => value.parse().is_ok_and(|key: u8| key < 128),
            "Number" | "ProgramChange" => value.parse().is_ok_and(|number: u8| number < 128),
            "Channel" => value
                .parse()
                .is_ok_and(|channel: u8| (1..=16).contains(&channel)),
            "Available" | "ROM" => ["true", "false"].contains(&value),
            _ => true,
        };
        if !fits {
            return Err(format!("{} of {name} is \"{value}\"", attribute.name()));
        }
    }
    for attribute in attributes
        .split(' ')
        .filter_map(|known| known.strip_prefix('!'))
    {
        if node.attribute(attribute).is_none() {
            return Err(format!("{name} lacks {attribute}"));
        }
    }
    node.children()
        .filter(Node::is_element)
        .try_for_each(element)
}

/// What is referred to is there.
fn references(root: Node) -> Result<(), String> {
    for (from, attribute, to) in [
        ("UsesNoteNameList", "Name", "NoteNameList"),
        ("UsesPatchNameList", "Name", "PatchNameList"),
        ("ChannelNameSetAssign", "NameSet", "ChannelNameSet"),
    ] {
        for node in root.descendants().filter(|node| node.has_tag_name(from)) {
            let name = node.attribute(attribute);
            let there = |other: Node| other.has_tag_name(to) && other.attribute("Name") == name;
            if !root.descendants().any(there) {
                return Err(format!("there is no {to} {name:?}"));
            }
        }
    }
    Ok(())
}

/// Whether a document is valid.
pub fn check(text: &str) -> Result<(), String> {
    let doctype = "<!DOCTYPE MIDINameDocument PUBLIC \"-//MIDI Manufacturers Association//DTD MIDINameDocument 1.0//EN\" \
                   \"http://www.midi.org/dtds/MIDINameDocument10.dtd\">";
    if !text.contains(doctype) {
        return Err("it has another document type".to_owned());
    }
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    let document =
        Document::parse_with_options(text, options).map_err(|error| error.to_string())?;
    let root = document.root_element();
    if !root.has_tag_name("MIDINameDocument") {
        return Err("it has another root".to_owned());
    }
    element(root)?;
    references(root)
}

#[test]
fn content_models_are_applied() {
    for (model, children, fits) in [
        ("(A,B)", "A B", true),
        ("(A,B)", "B A", false),
        ("(A,B?)", "A", true),
        ("(A+|B)", "A A A", true),
        ("(A+|B)", "A B", false),
        ("(A|B)+", "A B A", true),
        ("(A|B)+", "", false),
        ("((A,B)*,A?)", "A B A B A", true),
        ("((A,B)*,A?)", "A B B", false),
        ("((A?)*,B)", "A A B", true),
    ] {
        let children: Vec<&str> = children.split_whitespace().collect();
        assert_eq!(content(model, &children), fits, "{model} {children:?}");
    }
}

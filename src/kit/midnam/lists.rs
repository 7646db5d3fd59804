//! From the tree of a document to its lists of note names, and the channels that use them.

use super::{LONGEST_NAME, MOST_NAMES, MidnamError, clean};
use crate::kit::{Note, names};
use roxmltree::Node;
use std::collections::BTreeMap;

/// A key and its name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedKey {
    /// 0..=127.
    pub key: u8,
    /// Its name, not blank. Where a list names a key twice, both names, with " / " between.
    pub name: String,
    /// The group of keys that the document puts it in; blank where it says none.
    pub group: String,
}

/// A list of note names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedList {
    /// The device: its model, or what else it is called.
    pub device: String,
    /// The list: its own name, or that of the patch or set that has it.
    pub list: String,
    /// The channels that use it, 0..=15, ascending; empty where the document doesn't say.
    pub channels: Vec<u8>,
    /// The names by key, ascending.
    pub notes: Vec<NamedKey>,
}

impl NamedList {
    /// The notes on a channel (0..=15) with the names by which [`names::propose`] knows them: with that of their group
    /// where it says what they are.
    pub fn on(&self, channel: u8) -> Vec<(Note, String)> {
        let note = |named: &NamedKey| {
            let key = named.key;
            let name = names::in_group(&named.group, &named.name);
            (Note { channel, key }, name)
        };
        self.notes.iter().map(note).collect()
    }
}

/// A set of channels, one bit each.
type Channels = u16;

type Element<'a> = Node<'a, 'a>;

fn is(node: Element<'_>, name: &str) -> bool {
    node.is_element() && node.tag_name().name() == name
}

/// The children of a kind.
fn children<'a>(node: Element<'a>, name: &'static str) -> impl Iterator<Item = Element<'a>> {
    node.children().filter(move |child| is(*child, name))
}

/// An attribute without blanks at its ends; none where it is blank.
fn attribute<'a>(node: Element<'a>, name: &str) -> Option<&'a str> {
    let value = node.attribute(name)?.trim();
    (!value.is_empty()).then_some(value)
}

/// Channels are counted from 1 in a document. What is no channel is none.
fn channel(node: Element<'_>) -> Channels {
    let number = attribute(node, "Channel").and_then(|text| text.parse::<u32>().ok());
    match number {
        Some(number @ 1..=16) => 1 << (number - 1),
        _ => 0,
    }
}

/// The lists of a device, by what refers to them.
struct Device<'a> {
    name: String,
    /// Every list of the device, in the order of the document.
    lists: Vec<Element<'a>>,
    /// The lists by their place in the tree, and by name: the first of a name.
    by_place: BTreeMap<Element<'a>, usize>,
    by_name: BTreeMap<&'a str, usize>,
    /// The channels of each list.
    channels: Vec<Channels>,
    /// A list that is used and not there.
    missing: Option<&'a str>,
}

/// The name of a device. A device of a document stands for one or several models.
fn device_name(node: Element<'_>) -> String {
    let text = |kind| {
        let texts: Vec<String> = children(node, kind)
            .filter_map(|child| child.text().map(clean))
            .filter(|text| !text.is_empty())
            .collect();
        (!texts.is_empty()).then(|| clean(&texts.join(", ")))
    };
    let named = || {
        let of = children(node, "Device").find_map(|device| attribute(device, "Name"));
        of.or_else(|| attribute(node, "Name")).map(clean)
    };
    text("Model")
        .or_else(named)
        .or_else(|| text("Manufacturer"))
        .unwrap_or_default()
}

impl<'a> Device<'a> {
    fn new(node: Element<'a>) -> Self {
        let all = |kind| node.descendants().filter(move |node| is(*node, kind));
        let lists: Vec<Element<'a>> = all("NoteNameList").collect();
        let by_place = lists.iter().zip(0..).map(|(list, at)| (*list, at));
        let mut by_name = BTreeMap::new();
        for (at, list) in lists.iter().enumerate() {
            if let Some(name) = attribute(*list, "Name") {
                by_name.entry(name).or_insert(at);
            }
        }
        let mut device = Self {
            name: device_name(node),
            by_place: by_place.collect(),
            by_name,
            channels: vec![0; lists.len()],
            lists,
            missing: None,
        };
        let mut assigned: BTreeMap<&str, Channels> = BTreeMap::new();
        for assign in all("ChannelNameSetAssign") {
            if let Some(name) = attribute(assign, "NameSet") {
                *assigned.entry(name).or_default() |= channel(assign);
            }
        }
        let mut banks: BTreeMap<&str, Element<'_>> = BTreeMap::new();
        for list in all("PatchNameList") {
            if let Some(name) = attribute(list, "Name") {
                banks.entry(name).or_insert(list);
            }
        }
        // Sets share lists of patches: each is gone through once, whoever uses it.
        let mut patches: BTreeMap<Element<'_>, Channels> = BTreeMap::new();
        for set in all("ChannelNameSet") {
            let channels = channels_of(set, &assigned);
            device.uses(set, channels);
            for bank in children(set, "PatchBank") {
                let own = children(bank, "PatchNameList");
                let used = children(bank, "UsesPatchNameList")
                    .filter_map(|used| banks.get(attribute(used, "Name")?).copied());
                for list in own.chain(used) {
                    *patches.entry(list).or_default() |= channels;
                }
            }
        }
        for (list, channels) in patches {
            for patch in children(list, "Patch") {
                device.uses(patch, channels);
            }
        }
        device
    }

    /// A set or a patch has a list of its own, or uses one by its name.
    fn uses(&mut self, node: Element<'a>, channels: Channels) {
        for child in node.children() {
            let list = if is(child, "NoteNameList") {
                self.by_place.get(&child).copied()
            } else if is(child, "UsesNoteNameList") {
                let name = attribute(child, "Name");
                let found = name.and_then(|name| self.by_name.get(name).copied());
                if found.is_none() {
                    self.missing = self.missing.or(name);
                }
                found
            } else {
                None
            };
            if let Some(list) = list {
                self.channels[list] |= channels;
            }
        }
    }
}

/// The channels that a set holds for: those to which a mode assigns it, as far as it is available there; where no mode
/// does, those that it is available for.
fn channels_of(set: Element<'_>, assigned: &BTreeMap<&str, Channels>) -> Channels {
    let available = children(set, "AvailableForChannels")
        .flat_map(|all| children(all, "AvailableChannel"))
        .filter(|one| {
            !attribute(*one, "Available").is_some_and(|text| text.eq_ignore_ascii_case("false"))
        })
        .fold(0, |channels, one| channels | channel(one));
    let assigned = attribute(set, "Name").and_then(|name| assigned.get(name));
    match assigned {
        Some(assigned) if assigned & available != 0 => assigned & available,
        Some(assigned) if *assigned != 0 => *assigned,
        _ => available,
    }
}

/// Reads the lists below the root of a document.
pub(super) fn read(root: Node<'_, '_>) -> Result<Vec<NamedList>, MidnamError> {
    let mut found = Vec::new();
    let mut missing = None;
    let mut left = MOST_NAMES;
    // `Node` has two lifetimes, of the tree and of the text: here both are the tree's.
    let root: Element<'_> = root;
    for node in root.children().filter(Node::is_element) {
        let device = Device::new(node);
        missing = missing.or(device.missing);
        for (list, channels) in device.lists.iter().zip(&device.channels) {
            let name = list_name(*list);
            let notes = notes(*list, &name, &mut left)?;
            if !notes.is_empty() {
                found.push(NamedList {
                    device: device.name.clone(),
                    list: name,
                    channels: (0..16).filter(|at| channels & (1 << at) != 0).collect(),
                    notes,
                });
            }
        }
    }
    match missing {
        _ if !found.is_empty() => Ok(found),
        Some(name) => Err(MidnamError::Elsewhere(clean(name))),
        None => Err(MidnamError::NoNotes),
    }
}

/// The name of a list, else that of the patch or set around it.
fn list_name(list: Element<'_>) -> String {
    let around = list
        .ancestors()
        .find_map(|node| attribute(node, "Name"))
        .unwrap_or_default();
    clean(around)
}

fn notes(list: Element<'_>, name: &str, left: &mut usize) -> Result<Vec<NamedKey>, MidnamError> {
    let mut by_key: BTreeMap<u8, NamedKey> = BTreeMap::new();
    let own = list.children().flat_map(|child| {
        let group = if is(child, "NoteGroup") {
            Some(child)
        } else {
            None
        };
        let grouped = group.into_iter().flat_map(|group| children(group, "Note"));
        let alone = is(child, "Note").then_some(child);
        let group = group.and_then(|group| attribute(group, "Name"));
        grouped.chain(alone).map(move |note| (group, note))
    });
    for (group, note) in own {
        *left = left
            .checked_sub(1)
            .ok_or(MidnamError::TooMuch("too many note names"))?;
        let missing = |attribute| MidnamError::Missing {
            list: name.to_owned(),
            attribute,
        };
        let number = attribute(note, "Number").ok_or_else(|| missing("number"))?;
        let key = number.parse().ok().filter(|key| *key < 128);
        let key: u8 = key.ok_or_else(|| MidnamError::Key {
            list: name.to_owned(),
            number: clean(number),
        })?;
        let text = note.attribute("Name").ok_or_else(|| missing("name"))?;
        let characters = text.chars().count();
        if characters > LONGEST_NAME {
            return Err(MidnamError::LongName {
                list: name.to_owned(),
                key,
                characters,
            });
        }
        let text = clean(text);
        if text.is_empty() {
            continue;
        }
        match by_key.get_mut(&key) {
            None => {
                let group = clean(group.unwrap_or_default());
                let name = text;
                by_key.insert(key, NamedKey { key, name, group });
            }
            Some(named) if named.name == text => {}
            Some(named) => named.name = clean(&format!("{} / {text}", named.name)),
        }
    }
    Ok(by_key.into_values().collect())
}

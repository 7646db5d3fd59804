//! Writes a name document: the names of keys, for a host to show.

use super::{PUBLIC_ID, SYSTEM_ID, clean};
use crate::kit::{Note, general_midi::PERCUSSION_CHANNEL};
use std::collections::BTreeMap;
use std::fmt::Write;

/// What a device without a name is called.
const NAMELESS: &str = "Drums";

/// Who made the document: its author, and the maker of the device that it describes.
const AUTHOR: &str = "Fourlimb";

/// Writes the document that names these keys (channels 0..=15, keys 0..=127; others are left out) as those of a
/// device.
///
/// Names are cleaned (see [`clean`]); blank ones are left out. Two names of one key stand together, with " / "
/// between. Each channel has a list of its own. The document type wants a bank with a patch in each set of names: it
/// is the first one, whose number hosts take where none was chosen; it refers to the same list.
pub fn write(device: &str, notes: &[(Note, &str)]) -> String {
    let device = Some(clean(device)).filter(|name| !name.is_empty());
    let device = escaped(&device.unwrap_or_else(|| NAMELESS.to_owned()));
    let channels = by_channel(notes);
    let mut text = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <!DOCTYPE MIDINameDocument PUBLIC \"{PUBLIC_ID}\" \"{SYSTEM_ID}\">\n\
         <MIDINameDocument>\n\
         \x20 <Author>{AUTHOR}</Author>\n\
         \x20 <MasterDeviceNames>\n\
         \x20   <Manufacturer>{AUTHOR}</Manufacturer>\n\
         \x20   <Model>{device}</Model>\n\
         \x20   <CustomDeviceMode Name=\"{device}\">\n\
         \x20     <ChannelNameSetAssignments>\n"
    );
    for channel in channels.keys().map(|channel| channel + 1) {
        line(
            &mut text,
            8,
            &format!("<ChannelNameSetAssign Channel=\"{channel}\" NameSet=\"Channel {channel}\"/>"),
        );
    }
    line(&mut text, 6, "</ChannelNameSetAssignments>");
    line(&mut text, 4, "</CustomDeviceMode>");
    for channel in channels.keys().map(|channel| channel + 1) {
        set(&mut text, channel, &device);
    }
    for (channel, names) in &channels {
        let channel = channel + 1;
        line(
            &mut text,
            4,
            &format!("<NoteNameList Name=\"Notes {channel}\">"),
        );
        for (key, name) in names {
            let name = escaped(name);
            line(
                &mut text,
                6,
                &format!("<Note Number=\"{key}\" Name=\"{name}\"/>"),
            );
        }
        if names.is_empty() {
            // A list has something; a group may be empty.
            line(&mut text, 6, "<NoteGroup/>");
        }
        line(&mut text, 4, "</NoteNameList>");
    }
    line(&mut text, 2, "</MasterDeviceNames>");
    line(&mut text, 0, "</MIDINameDocument>");
    text
}

/// The names by channel and key. Without any, the percussion channel has none.
fn by_channel(notes: &[(Note, &str)]) -> BTreeMap<u8, BTreeMap<u8, String>> {
    let mut channels: BTreeMap<u8, BTreeMap<u8, String>> = BTreeMap::new();
    for (Note { channel, key }, name) in notes {
        let name = clean(name);
        if *channel > 15 || *key > 127 || name.is_empty() {
            continue;
        }
        let names = channels.entry(*channel).or_default();
        let named = names.entry(*key).or_insert_with(|| name.clone());
        if *named != name {
            *named = clean(&format!("{named} / {name}"));
        }
    }
    if channels.is_empty() {
        channels.insert(PERCUSSION_CHANNEL, BTreeMap::new());
    }
    channels
}

/// The set of names of a channel (from 1), with its bank.
fn set(text: &mut String, channel: u8, device: &str) {
    let uses = format!("<UsesNoteNameList Name=\"Notes {channel}\"/>");
    line(
        text,
        4,
        &format!("<ChannelNameSet Name=\"Channel {channel}\">"),
    );
    line(text, 6, "<AvailableForChannels>");
    for other in 1..=16 {
        let available = other == channel;
        line(
            text,
            8,
            &format!("<AvailableChannel Channel=\"{other}\" Available=\"{available}\"/>"),
        );
    }
    line(text, 6, "</AvailableForChannels>");
    line(text, 6, &uses);
    line(text, 6, "<PatchBank Name=\"Kit\">");
    line(text, 8, "<PatchNameList>");
    line(
        text,
        10,
        &format!("<Patch Number=\"1\" Name=\"{device}\" ProgramChange=\"0\">"),
    );
    line(text, 12, &uses);
    line(text, 10, "</Patch>");
    line(text, 8, "</PatchNameList>");
    line(text, 6, "</PatchBank>");
    line(text, 4, "</ChannelNameSet>");
}

fn line(text: &mut String, indent: usize, content: &str) {
    // Writing to a string can't fail.
    let _ = writeln!(text, "{:indent$}{content}", "");
}

/// A text as it stands in an attribute or an element.
fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&apos;"),
            letter => escaped.push(letter),
        }
    }
    escaped
}

//! The bytes of an XML document as text: by their byte order mark, else by what the document says of itself.

use super::MidnamError;

/// Bytes at the start in which a document says what its encoding is.
const DECLARATION: usize = 256;

/// Decodes a document.
pub(super) fn text(bytes: &[u8]) -> Result<String, MidnamError> {
    match bytes {
        [0xEF, 0xBB, 0xBF, rest @ ..] => utf_8(rest, 3),
        [0xFF, 0xFE, rest @ ..] => utf_16(rest, u16::from_le_bytes),
        [0xFE, 0xFF, rest @ ..] => utf_16(rest, u16::from_be_bytes),
        _ => match declared(bytes) {
            None => utf_8(bytes, 0),
            Some(name) => match &*name.to_ascii_uppercase() {
                "UTF-8" | "UTF8" => utf_8(bytes, 0),
                "ISO-8859-1" | "ISO_8859-1" | "LATIN1" | "LATIN-1" => {
                    Ok(bytes.iter().map(|byte| char::from(*byte)).collect())
                }
                "US-ASCII" | "ASCII" => match bytes.iter().position(|byte| !byte.is_ascii()) {
                    None => utf_8(bytes, 0),
                    Some(at) => Err(MidnamError::NotText {
                        encoding: "US-ASCII",
                        at,
                    }),
                },
                _ => Err(MidnamError::Encoding(name)),
            },
        },
    }
}

fn utf_8(bytes: &[u8], from: usize) -> Result<String, MidnamError> {
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok(text.to_owned()),
        Err(error) => Err(MidnamError::NotText {
            encoding: "UTF-8",
            at: from + error.valid_up_to(),
        }),
    }
}

fn utf_16(bytes: &[u8], unit: fn([u8; 2]) -> u16) -> Result<String, MidnamError> {
    let error = |at| MidnamError::NotText {
        encoding: "UTF-16",
        at,
    };
    let (pairs, rest) = bytes.as_chunks::<2>();
    if !rest.is_empty() {
        return Err(error(2 + bytes.len() - 1));
    }
    let mut text = String::with_capacity(bytes.len());
    let mut at = 2;
    for decoded in char::decode_utf16(pairs.iter().copied().map(unit)) {
        let letter = decoded.map_err(|_| error(at))?;
        at += 2 * letter.len_utf16();
        text.push(letter);
    }
    Ok(text)
}

/// The encoding that the XML declaration names: `<?xml version="1.0" encoding="UTF-8"?>`.
fn declared(bytes: &[u8]) -> Option<String> {
    let start = &bytes[..bytes.len().min(DECLARATION)];
    // What is no ASCII can't be in a declaration.
    let start: String = start.iter().map(|byte| char::from(*byte)).collect();
    let (declaration, _) = start.strip_prefix("<?xml")?.split_once("?>")?;
    let (_, after) = declaration.split_once("encoding")?;
    let value = after.trim_start().strip_prefix('=')?.trim_start();
    let quote = value.chars().next().filter(|c| ['"', '\''].contains(c))?;
    let (name, _) = value[1..].split_once(quote)?;
    Some(super::clean(name))
}

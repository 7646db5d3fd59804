//! A recording without all that is not sound, before a decoder sees it: titles and pictures in a file say
//! themselves how large they are, and a decoder that believes a damaged one asks for gigabytes.
//!
//! RIFF WAVE: chunks of a name, a size (32 bits, little end first) and so many bytes, padded to even. FLAC (RFC
//! 9639): `fLaC`, blocks of a type, a size (24 bits, big end first) and so many bytes, then frames. A tag in front (ID3): ten
//! bytes, of which the last four say the size in seven bits each.

use super::sound::SoundError;
use std::ops::Range;

/// The sound of a file: its format and its samples, all else left out. What is cut short stays so.
///
/// # Errors
/// [`SoundError`] where there is no sound in it, or it is neither WAV nor FLAC.
pub(super) fn strip_metadata(mut file: Vec<u8>) -> Result<Vec<u8>, SoundError> {
    let tag = id3(&file);
    let sound = file.get(tag..).unwrap_or_default();
    let (head, data) = if sound.starts_with(b"fLaC") {
        flac(sound)?
    } else if sound.starts_with(b"RIFF") && sound.get(8..12) == Some(b"WAVE") {
        wave(sound)?
    } else {
        let problem = "it begins like neither".to_owned();
        return Err(SoundError::Unknown(problem));
    };
    file.truncate(tag + data.end);
    file.splice(..tag + data.start, head);
    Ok(file)
}

/// The length of the tag before the sound, in bytes.
fn id3(file: &[u8]) -> usize {
    let size = |bytes: &[u8]| {
        bytes
            .iter()
            .fold(0, |size, byte| size << 7 | usize::from(byte & 0x7F))
    };
    match file.get(..10) {
        Some(tag) if tag.starts_with(b"ID3") => 10 + size(&tag[6..]),
        _ => 0,
    }
}

/// A head to put before the samples, and where these are.
type Parts = (Vec<u8>, Range<usize>);

/// The length of the block that says what a FLAC stream is, in bytes.
const STREAM_INFO: usize = 34;

fn flac(sound: &[u8]) -> Result<Parts, SoundError> {
    let mut at = 4;
    let mut info = None;
    while let Some(&[kind, a, b, c]) = sound.get(at..at + 4).and_then(|head| head.first_chunk()) {
        let size = u32::from_be_bytes([0, a, b, c]) as usize;
        if kind % 0x80 == 0 && size == STREAM_INFO {
            info = info.or(sound.get(at + 4..at + 4 + size));
        }
        at += 4 + size;
        if kind & 0x80 != 0 {
            let info = info.ok_or(SoundError::Empty)?;
            let size = [0x80, 0, 0, 34];
            let head = [b"fLaC", &size[..], info].concat();
            let has_frames = at < sound.len();
            let parts = has_frames.then_some((head, at..sound.len()));
            return parts.ok_or(SoundError::Empty);
        }
    }
    Err(SoundError::Empty)
}

fn wave(sound: &[u8]) -> Result<Parts, SoundError> {
    let mut at = 12;
    let mut format = None;
    while let Some(head) = sound.get(at..at + 8) {
        let size = head
            .last_chunk()
            .map_or(0, |size| u32::from_le_bytes(*size)) as usize;
        let from = at + 8;
        let to = from.saturating_add(size).min(sound.len());
        match (&head[..4], format) {
            (b"fmt ", None) => format = Some(&sound[from..to]),
            (b"data", Some(format)) => return Ok((wave_head(format, to - from)?, from..to)),
            _ => {}
        }
        at = to + size % 2;
    }
    Err(SoundError::Empty)
}

/// What stands before so many bytes of samples.
fn wave_head(format: &[u8], data: usize) -> Result<Vec<u8>, SoundError> {
    let rate = format.get(4..8).and_then(|rate| rate.first_chunk());
    let rate = rate.map_or(0, |rate| u32::from_le_bytes(*rate));
    if rate == 0 {
        return Err(SoundError::Rate(rate));
    }
    let size = |bytes: usize| u32::try_from(bytes).unwrap_or(u32::MAX).to_le_bytes();
    let format = &format[..format.len() & !1];
    let all = size(20 + format.len() + data);
    let head = [b"RIFF", &all[..], b"WAVEfmt ", &size(format.len()), format];
    Ok([&head.concat()[..], b"data", &size(data)].concat())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_sound_is_left_out() {
        let format = [1, 0, 1, 0, 0x44, 0xAC, 0, 0, 0, 0, 0, 0, 2, 0, 16, 0];
        let wave = |before: &[u8], after: &[u8]| {
            let parts = [
                b"RIFF\x2c\0\0\0WAVEfmt \x10\0\0\0",
                &format[..],
                before,
                b"data\x04\0\0\0abcd",
                after,
            ];
            parts.concat()
        };
        let bare = wave(b"", b"");
        let tagged = wave(b"LIST\x03\0\0\0xyz\0", b"id3 \xff\xff\xff\xff");
        let mut size = bare.clone();
        size[4] = 20 + 16 + 4;
        assert_eq!(strip_metadata(bare).unwrap(), size);
        assert_eq!(
            strip_metadata([b"ID3\x04\0\0\0\0\0\x02hi", &tagged[..]].concat()).unwrap(),
            size
        );

        let info = [7; STREAM_INFO];
        let flac = [
            b"fLaC\0\0\0\x22",
            &info[..],
            b"\x06\0\0\x02hi\x84\0\0\x01xframes",
        ]
        .concat();
        let bare = [b"fLaC\x80\0\0\x22", &info[..], b"frames"].concat();
        assert_eq!(strip_metadata(flac.clone()).unwrap(), bare);
        assert_eq!(strip_metadata(bare.clone()).unwrap(), bare);
        for cut in 0..flac.len() - 6 {
            assert!(strip_metadata(flac[..cut].to_vec()).is_err(), "{cut}");
        }
    }
}

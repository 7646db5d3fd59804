//! Files as the type `text/uri-list` (RFC 2483) names them: an address a line.

use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, percent_decode, percent_encode};
use std::ffi::OsString;
use std::os::unix::ffi::{OsStrExt as _, OsStringExt as _};
use std::path::{Path, PathBuf};

/// What stays as it is: the unreserved letters of RFC 3986, and what parts folders.
const ESCAPED: &AsciiSet = &NON_ALPHANUMERIC
    .remove(b'-')
    .remove(b'.')
    .remove(b'_')
    .remove(b'~')
    .remove(b'/');

/// The list of one file.
pub fn list_of(file: &Path) -> String {
    let path = percent_encode(file.as_os_str().as_bytes(), ESCAPED);
    format!("file://{path}\r\n")
}

/// The files of a list that are on this machine; other addresses and comments are passed over.
pub fn files(list: &[u8]) -> Vec<PathBuf> {
    list.split(|byte| matches!(byte, b'\r' | b'\n'))
        .filter_map(|line| {
            let path = line.strip_prefix(b"file://")?;
            let path = path.strip_prefix(b"localhost").unwrap_or(path);
            // Another machine's name stands before the first slash.
            path.starts_with(b"/").then(|| {
                let bytes = percent_decode(path).collect();
                PathBuf::from(OsString::from_vec(bytes))
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_comes_back_from_its_list() {
        let odd = OsString::from_vec(b"/a b/100%/\xff\xfe#?&+\r\n.mid".to_vec());
        for path in [
            "/home/me/Cinder Mill - Riff.mid".into(),
            "/tmp/Gewölbe – ….mid".into(),
            PathBuf::from(odd),
        ] {
            let list = list_of(&path);
            assert!(
                list.is_ascii() && list.ends_with("\r\n") && !list.contains(' '),
                "{list}"
            );
            assert_eq!(files(list.as_bytes()), [path]);
        }
        assert_eq!(list_of(Path::new("/a b.mid")), "file:///a%20b.mid\r\n");
    }

    #[test]
    fn what_is_no_file_here_is_passed_over() {
        let list = b"# a comment\r\nhttps://example.org/a.mid\r\nfile://elsewhere/b.mid\r\n\
                     file://localhost/c.mid\nfile:///d%20e.wav\r\n\0";
        assert_eq!(
            files(list),
            [PathBuf::from("/c.mid"), PathBuf::from("/d e.wav")]
        );
        assert!(files(b"").is_empty());
    }
}

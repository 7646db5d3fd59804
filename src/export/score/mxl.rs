//! The packed form of MusicXML: a ZIP archive with the score and a file that names it.
//!
//! Source: *MusicXML 4.0*, "Compressed .MXL files" (from memory), and readers of the tests that take it.

use std::io::{Cursor, Write as _};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// What kind of archive it is, uncompressed and first.
const KIND: &str = "application/vnd.recordare.musicxml";
/// The score inside.
const SCORE: &str = "score.musicxml";

/// A document, packed.
pub(super) fn packed(document: &[u8]) -> Vec<u8> {
    // In memory, where nothing fails but a file beyond 4 GB: no song comes near.
    pack(document).unwrap_or_default()
}

fn pack(document: &[u8]) -> zip::result::ZipResult<Vec<u8>> {
    let container = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<container>\n <rootfiles>\n  <rootfile full-path=\"{SCORE}\" \
         media-type=\"application/vnd.recordare.musicxml+xml\"/>\n </rootfiles>\n</container>\n"
    );
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let method = |method| SimpleFileOptions::default().compression_method(method);
    for (name, bytes, stored) in [
        ("mimetype", KIND.as_bytes(), true),
        ("META-INF/container.xml", container.as_bytes(), false),
        (SCORE, document, false),
    ] {
        let how = if stored {
            CompressionMethod::Stored
        } else {
            CompressionMethod::Deflated
        };
        zip.start_file(name, method(how))?;
        zip.write_all(bytes)?;
    }
    Ok(zip.finish()?.into_inner())
}

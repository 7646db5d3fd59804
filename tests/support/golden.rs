//! Golden files: what was written once, compared line by line. Shared by the test programs that have some.

use std::fmt::Write as _;
use std::path::Path;

/// Lines of difference that are printed.
const SHOWN: usize = 8;

/// Compares a text with its golden file in a folder below `tests`, or writes the file where
/// `UPDATE_GOLDENS` is set. Returns the first lines that differ.
pub(crate) fn compare(folder: &str, name: &str, found: &str) -> Result<(), String> {
    let file = format!("{}.txt", name.replace([' ', '/'], "-"));
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests")
        .join(folder)
        .join(&file);
    if std::env::var_os("UPDATE_GOLDENS").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, found).unwrap();
        return Ok(());
    }
    let golden = std::fs::read_to_string(&path)
        .map_err(|error| format!("{folder}/{file}: {error}: see the head of goldens.rs"))?;
    if golden == found {
        return Ok(());
    }
    let mut shown = format!("{folder}/{file}:\n");
    let (mut a, mut b) = (golden.lines(), found.lines());
    let (mut line, mut differing) = (0, 0);
    loop {
        let pair = (a.next(), b.next());
        line += 1;
        match pair {
            (None, None) => break,
            (was, is) if was != is => {
                differing += 1;
                if differing <= SHOWN {
                    let (was, is) = (was.unwrap_or("(end)"), is.unwrap_or("(end)"));
                    let _ = writeln!(shown, "  line {line}\n    was {was}\n    is  {is}");
                }
            }
            _ => {}
        }
    }
    let _ = writeln!(shown, "  {differing} lines differ");
    Err(shown)
}

/// Fails with every difference that was found.
pub(crate) fn all(results: impl IntoIterator<Item = Result<(), String>>) {
    let wrong: Vec<_> = results.into_iter().filter_map(Result::err).collect();
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

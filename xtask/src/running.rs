//! The program that runs, out of cargo's way: Windows lets nobody overwrite it, and cargo, called from it, may have to link it
//! anew with other features. Windows does let it be renamed.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Once;

/// Moves the program that runs aside on Windows, once; elsewhere, cargo can link it anew where it is. What earlier runs moved
/// is removed.
///
/// # Errors
/// Where it can't be renamed.
pub(crate) fn step_aside() -> io::Result<()> {
    static ONCE: Once = Once::new();
    let mut done = Ok(());
    if cfg!(windows) {
        ONCE.call_once(|| {
            let program = std::env::current_exe();
            done = program.and_then(|program| move_aside(&program, std::process::id()));
        });
    }
    done
}

/// Moves a program aside, in its folder and in `deps`, where cargo keeps it under a second name.
fn move_aside(program: &Path, process: u32) -> io::Result<()> {
    let folder = program.parent().unwrap_or(Path::new("."));
    for folder in [folder.to_owned(), folder.join("deps")] {
        let path = folder.join(program.file_name().unwrap_or_default());
        remove_moved(&path)?;
        if path.is_file() {
            fs::rename(&path, aside(&path, &process.to_string()))?;
        }
    }
    Ok(())
}

/// The path of a program that was moved aside by a process.
fn aside(program: &Path, process: &str) -> PathBuf {
    let stem = program.file_stem().unwrap_or_default().to_string_lossy();
    let name = PathBuf::from(format!("{stem}-running-{process}"));
    program.with_file_name(name.with_extension(program.extension().unwrap_or_default()))
}

/// Removes what was moved aside before. What still runs stays, since Windows does not let it be removed.
fn remove_moved(program: &Path) -> io::Result<()> {
    let Some(folder) = program.parent().filter(|folder| folder.is_dir()) else {
        return Ok(());
    };
    let moved = aside(program, "");
    let stem = moved.file_stem().unwrap_or_default().to_string_lossy();
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        if entry.file_name().to_string_lossy().starts_with(&*stem) {
            let _ = fs::remove_file(entry.path());
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The names in a folder, in order.
    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).unwrap().map(Result::unwrap);
        let files = entries.filter(|entry| entry.path().is_file());
        let mut names: Vec<_> = files
            .map(|entry| entry.file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn its_place_is_free_for_a_new_one() {
        let folder = tempfile::tempdir().unwrap();
        let deps = folder.path().join("deps");
        fs::create_dir(&deps).unwrap();
        let program = folder.path().join("xtask.exe");
        for path in [
            &program,
            &deps.join("xtask.exe"),
            &deps.join("xtask-0f.exe"),
            &folder.path().join("xtask.pdb"),
        ] {
            fs::write(path, "first").unwrap();
        }
        move_aside(&program, 7).unwrap();
        assert_eq!(names(folder.path()), ["xtask-running-7.exe", "xtask.pdb"]);
        assert_eq!(names(&deps), ["xtask-0f.exe", "xtask-running-7.exe"]);
        fs::write(&program, "second").unwrap();
        move_aside(&program, 8).unwrap();
        assert_eq!(names(folder.path()), ["xtask-running-8.exe", "xtask.pdb"]);
        assert_eq!(names(&deps), ["xtask-0f.exe"], "the old one was removed");
        let moved = folder.path().join("xtask-running-8.exe");
        assert_eq!(fs::read(&moved).unwrap(), b"second");
        // Where there is none, there is nothing to do.
        move_aside(&program, 9).unwrap();
    }
}

//! A folder as one file, byte for byte the same whoever makes it and when, and the checksums of files.

use crate::folders::System;
use anyhow::{Context, Result};
use flate2::{Compression, GzBuilder};
use sha2::{Digest as _, Sha256};
use std::fmt::Write as _;
use std::fs::{self, File};
use std::io::{BufWriter, Write as _};
use std::path::{Path, PathBuf};
use zip::write::SimpleFileOptions;

/// The ending of an archive: what each system opens without another program.
pub const fn ending(system: System) -> &'static str {
    match system {
        System::Linux => "tar.gz",
        System::Macos | System::Windows => "zip",
    }
}

/// Packs a folder under its own name and returns the archive's path. `time` is the moment, in seconds since 1970, that
/// all files are given in a `.tar.gz`; a `.zip` keeps no time zone, so its files have the first moment that it knows.
///
/// # Errors
/// Where a file can't be read or written.
pub fn pack(folder: &Path, system: System, time: u64) -> Result<PathBuf> {
    let name = folder.file_name().context("a folder without a name")?;
    let name = name.to_string_lossy();
    let to = folder.with_file_name(format!("{name}.{}", ending(system)));
    let packed = match system {
        System::Linux => tar_gz(folder, &name, &to, time),
        System::Macos | System::Windows => zip(folder, &name, &to),
    };
    packed.with_context(|| format!("could not write {}", to.display()))?;
    Ok(to)
}

fn tar_gz(folder: &Path, name: &str, to: &Path, time: u64) -> Result<()> {
    let out = BufWriter::new(File::create(to)?);
    // The file's own head keeps neither name nor time.
    let out = GzBuilder::new().mtime(0).write(out, Compression::best());
    let mut tar = tar::Builder::new(out);
    for path in files(folder)? {
        let bytes = fs::read(folder.join(&path))?;
        let mut header = tar::Header::new_gnu();
        header.set_size(bytes.len() as u64);
        header.set_mode(mode(&folder.join(&path))?);
        header.set_mtime(time);
        header.set_uid(0);
        header.set_gid(0);
        tar.append_data(&mut header, format!("{name}/{path}"), &*bytes)?;
    }
    tar.into_inner()?.finish()?.flush()?;
    Ok(())
}

fn zip(folder: &Path, name: &str, to: &Path) -> Result<()> {
    let mut zip = zip::ZipWriter::new(BufWriter::new(File::create(to)?));
    for path in files(folder)? {
        let options = SimpleFileOptions::default()
            .compression_level(Some(9))
            .last_modified_time(zip::DateTime::default())
            .unix_permissions(mode(&folder.join(&path))?);
        zip.start_file(format!("{name}/{path}"), options)?;
        zip.write_all(&fs::read(folder.join(&path))?)?;
    }
    zip.finish()?.flush()?;
    Ok(())
}

/// The files below a folder, with `/` between the parts of their paths, in order.
///
/// # Errors
/// Where a folder can't be read.
pub fn files(folder: &Path) -> Result<Vec<String>> {
    let mut found = Vec::new();
    let mut left = vec![(folder.to_owned(), String::new())];
    while let Some((folder, before)) = left.pop() {
        let entries = fs::read_dir(&folder);
        for entry in entries.with_context(|| format!("reading {}", folder.display()))? {
            let entry = entry?;
            let name = format!("{before}{}", entry.file_name().to_string_lossy());
            if entry.path().is_dir() {
                left.push((entry.path(), name + "/"));
            } else {
                found.push(name);
            }
        }
    }
    found.sort();
    Ok(found)
}

/// Who may do what with a file: everybody may read it, and run what can be run, whatever the builder's mask was.
#[cfg(unix)]
fn mode(path: &Path) -> Result<u32> {
    use std::os::unix::fs::PermissionsExt as _;
    let mode = path.metadata()?.permissions().mode();
    Ok(if mode & 0o111 == 0 { 0o644 } else { 0o755 })
}

/// Windows has no such thing.
#[cfg(not(unix))]
#[expect(clippy::unnecessary_wraps, reason = "as on systems that look")]
fn mode(_: &Path) -> Result<u32> {
    Ok(0o644)
}

/// The SHA-256 of a file as small letters and digits.
///
/// # Errors
/// Where it can't be read.
pub fn sum(path: &Path) -> Result<String> {
    let bytes = fs::read(path).with_context(|| format!("could not read {}", path.display()))?;
    let mut text = String::new();
    for byte in Sha256::digest(&bytes) {
        let _ = write!(text, "{byte:02x}");
    }
    Ok(text)
}

/// The checksums of all files below a folder, as `sha256sum --check` reads them.
///
/// # Errors
/// Where a file can't be read.
pub fn sums(folder: &Path) -> Result<String> {
    let mut text = String::new();
    for path in files(folder)? {
        let _ = writeln!(text, "{}  {path}", sum(&folder.join(&path))?);
    }
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Read as _;

    /// A folder of files with names that sort differently by bytes and by folders.
    fn folder(in_folder: &Path) -> PathBuf {
        let folder = in_folder.join("fourlimb-1");
        fs::create_dir_all(folder.join("a/b c")).unwrap();
        for name in ["z", "a/b c/two", "a/one", "a-b", "readme"] {
            fs::write(folder.join(name), name.repeat(1000)).unwrap();
        }
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt as _;
            let may_run = fs::Permissions::from_mode(0o700);
            fs::set_permissions(folder.join("z"), may_run).unwrap();
        }
        folder
    }

    #[test]
    fn the_same_files_make_the_same_archive() {
        let archive = |system| {
            let place = tempfile::tempdir().unwrap();
            let archive = pack(&folder(place.path()), system, 1_000_000_000).unwrap();
            fs::read(archive).unwrap()
        };
        for system in [System::Linux, System::Macos, System::Windows] {
            let first = archive(system);
            std::thread::sleep(std::time::Duration::from_millis(1100));
            assert!(first == archive(system), "{system:?}");
        }
    }

    #[test]
    fn an_archive_holds_every_file_in_order() {
        let expected = ["a-b", "a/b c/two", "a/one", "readme", "z"];
        let expected = expected.map(|name| format!("fourlimb-1/{name}"));
        let place = tempfile::tempdir().unwrap();
        let folder = folder(place.path());

        let archive = pack(&folder, System::Linux, 1_000_000_000).unwrap();
        assert_eq!(archive.file_name().unwrap(), "fourlimb-1.tar.gz");
        let file = flate2::read::GzDecoder::new(File::open(archive).unwrap());
        let mut tar = tar::Archive::new(file);
        let mut names = Vec::new();
        for entry in tar.entries().unwrap() {
            let mut entry = entry.unwrap();
            let name = entry.path().unwrap().to_str().unwrap().to_owned();
            assert_eq!(entry.header().mtime().unwrap(), 1_000_000_000);
            #[cfg(unix)]
            {
                let may_run = name.ends_with("/z");
                let mode = if may_run { 0o755 } else { 0o644 };
                assert_eq!(entry.header().mode().unwrap(), mode, "{name}");
            }
            let mut text = String::new();
            entry.read_to_string(&mut text).unwrap();
            assert_eq!(text, name.split_once('/').unwrap().1.repeat(1000));
            names.push(name);
        }
        assert_eq!(names, expected);

        let archive = pack(&folder, System::Windows, 0).unwrap();
        let zip = zip::ZipArchive::new(File::open(archive).unwrap()).unwrap();
        let names: Vec<_> = (0..zip.len())
            .map(|i| zip.name_for_index(i).unwrap().unwrap().into_owned())
            .collect();
        assert_eq!(names, expected);
    }

    /// The standard's own example: FIPS 180-2, appendix B.1.
    #[test]
    fn sums_are_those_of_the_standard() {
        let place = tempfile::tempdir().unwrap();
        fs::write(place.path().join("abc"), "abc").unwrap();
        let expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad  abc\n";
        assert_eq!(sums(place.path()).unwrap(), expected);
    }
}

//! Files are written whole or not at all.

use super::*;

/// Everything in a folder, by name.
fn names(folder: &Path) -> Vec<String> {
    let names = fs::read_dir(folder).unwrap();
    names
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect()
}

#[test]
fn a_new_file_is_there_whole_and_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("löß 歌.mid");
    write(&path, b"notes", Existing::Keep).unwrap();
    assert_eq!(fs::read(&path).unwrap(), b"notes");
    assert_eq!(names(folder.path()), ["löß 歌.mid"]);
}

#[test]
fn an_existing_file_stays_unless_it_is_to_be_replaced() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.mid");
    write(&path, b"edited by hand", Existing::Keep).unwrap();
    let error = write(&path, b"new", Existing::Keep).unwrap_err();
    assert!(matches!(error, FileError::Exists(_)), "{error}");
    assert!(error.to_string().contains("a.mid exists already"));
    assert_eq!(fs::read(&path).unwrap(), b"edited by hand");
    write(&path, b"new", Existing::Replace).unwrap();
    assert_eq!(fs::read(&path).unwrap(), b"new");
    assert_eq!(names(folder.path()), ["a.mid"]);
}

/// As with a disk that fills up: half is written, then no more.
#[test]
fn what_breaks_off_leaves_the_old_file_and_nothing_beside_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.mid");
    write(&path, b"old", Existing::Keep).unwrap();
    let error = write_with(&path, Existing::Replace, |file| {
        file.write_all(b"half of i")?;
        Err(io::Error::from(ErrorKind::StorageFull))
    })
    .unwrap_err();
    assert!(error.to_string().contains("could not write"), "{error}");
    assert_eq!(fs::read(&path).unwrap(), b"old");
    assert_eq!(names(folder.path()), ["a.mid"]);
}

/// While a file is written its place holds the old one.
#[test]
fn nobody_sees_half_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.mid");
    write(&path, b"old", Existing::Keep).unwrap();
    write_with(&path, Existing::Replace, |file| {
        file.write_all(b"half of i")?;
        assert_eq!(fs::read(&path)?, b"old");
        file.write_all(b"t")
    })
    .unwrap();
    assert_eq!(fs::read(&path).unwrap(), b"half of it");
}

#[test]
fn folders_that_are_missing_or_no_folders_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let lost = folder.path().join("lost/a.mid");
    let error = write(&lost, b"x", Existing::Replace).unwrap_err();
    assert!(matches!(error, FileError::NoFolder(_)), "{error}");
    assert!(error.to_string().contains("lost: make it first"), "{error}");
    let error = write(folder.path(), b"x", Existing::Replace).unwrap_err();
    assert!(matches!(error, FileError::IsFolder(_)), "{error}");
    assert!(names(folder.path()).is_empty());
}

/// Who is root may write to any folder of an ordinary disk, but not to the kernel's own.
#[cfg(target_os = "linux")]
#[test]
fn a_read_only_folder_is_named_and_its_file_stays() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.mid");
    write(&path, b"old", Existing::Keep).unwrap();
    fs::set_permissions(folder.path(), Permissions::from_mode(0o555)).unwrap();
    let closed = File::create(folder.path().join("probe")).is_err();
    let mut places = vec![(PathBuf::from("/sys/a.mid"), None)];
    if closed {
        places.push((path, Some(b"old")));
    }
    for (path, old) in places {
        let error = write(&path, b"new", Existing::Replace).unwrap_err();
        assert!(matches!(error, FileError::ReadOnly(_)), "{error}");
        assert!(error.to_string().contains("can't be written to"), "{error}");
        assert_eq!(fs::read(&path).ok().as_deref(), old.map(|old| &old[..]));
    }
    fs::set_permissions(folder.path(), Permissions::from_mode(0o755)).unwrap();
}

/// The numbers are those of Windows; what they mean there does not depend on where this runs.
#[test]
fn a_file_that_another_program_holds_open_is_no_matter_of_permissions() {
    assert!(is_held_open(Some(32), false) && is_held_open(Some(33), true));
    assert!(is_held_open(Some(5), true), "the folder was written to");
    assert!(!is_held_open(Some(5), false), "a folder without permission");
    assert!(!is_held_open(Some(112), true), "a full disk");
    assert!(!is_held_open(None, true));
    let error = FileError::InUse(PathBuf::from("a.mid")).to_string();
    assert!(error.starts_with("a.mid is open in another program: close it"));
}

#[cfg(windows)]
#[test]
fn a_file_that_is_held_open_is_named_as_people_write_it() {
    use std::os::windows::fs::OpenOptionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.mid");
    write(&path, b"old", Existing::Keep).unwrap();
    let held = File::options()
        .read(true)
        .share_mode(0)
        .open(&path)
        .unwrap();
    for error in [
        write(&path, b"new", Existing::Replace).unwrap_err(),
        read_small(&path, "region").unwrap_err(),
    ] {
        assert!(matches!(error, FileError::InUse(_)), "{error}");
        assert!(!error.to_string().contains(r"\\?\"), "{error}");
    }
    drop(held);
    assert_eq!(fs::read(&path).unwrap(), b"old");
    assert_eq!(names(folder.path()), ["a.mid"]);
    let lost = folder.path().join("a.mid").join("b.mid");
    let error = write(&lost, b"new", Existing::Replace).unwrap_err();
    assert!(!error.to_string().contains(r"\\?\"), "{error}");
}

#[cfg(unix)]
#[test]
fn permissions_and_links_stay() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let [path, link, plain] = ["a.mid", "link.mid", "plain"].map(|name| folder.path().join(name));
    write(&path, b"old", Existing::Keep).unwrap();
    File::create(&plain).unwrap();
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode(&path), mode(&plain), "as any program's new file");
    fs::set_permissions(&path, Permissions::from_mode(0o640)).unwrap();
    std::os::unix::fs::symlink(&path, &link).unwrap();
    write(&link, b"new", Existing::Replace).unwrap();
    assert!(link.symlink_metadata().unwrap().is_symlink());
    assert_eq!(fs::read(&path).unwrap(), b"new");
    assert_eq!(mode(&path), 0o640);
    fs::set_permissions(&path, Permissions::from_mode(0o440)).unwrap();
    let error = write(&path, b"newer", Existing::Replace).unwrap_err();
    assert!(error.to_string().contains("marked read-only"), "{error}");
    assert_eq!(fs::read(&path).unwrap(), b"new");
}

#[test]
fn a_song_becomes_a_file_or_a_message_and_no_file() {
    let folder = tempfile::tempdir().unwrap();
    let [song, out] = ["song.json", "song.mid"].map(|name| folder.path().join(name));
    let mut options = Options::default();
    let error =
        export_song(&song, &out, &options, &NoteMap::default(), Existing::Keep).unwrap_err();
    assert!(error.to_string().contains("could not read"), "{error}");
    fs::write(
        &song,
        r#"{"fourlimb_song": 1, "title": "T", "sections": []}"#,
    )
    .unwrap();
    let error =
        export_song(&song, &out, &options, &NoteMap::default(), Existing::Keep).unwrap_err();
    assert!(
        error.to_string().contains("song.json: sections: "),
        "{error}"
    );
    fs::write(&song, SongFile::DEMO).unwrap();
    options.set("section", "Chorus 9").unwrap();
    let error =
        export_song(&song, &out, &options, &NoteMap::default(), Existing::Keep).unwrap_err();
    assert!(error.to_string().contains("Chorus 2"), "{error}");
    assert!(!out.exists());
    let options = Options::default();
    let told = export_song(&song, &out, &options, &NoteMap::default(), Existing::Keep).unwrap();
    assert!(told.starts_with("bars 1-77: "), "{told}");
    let error = export_song(
        &song,
        &song,
        &options,
        &NoteMap::default(),
        Existing::Replace,
    )
    .unwrap_err();
    assert!(error.to_string().contains("is the song itself"), "{error}");
    assert_eq!(fs::read_to_string(&song).unwrap(), SongFile::DEMO);
    let timeline = read_song(&song, |song| Timeline::new(&song)).unwrap();
    let exported = export(&timeline, &options, &NoteMap::default()).unwrap();
    assert_eq!(fs::read(&out).unwrap(), exported.bytes);
}

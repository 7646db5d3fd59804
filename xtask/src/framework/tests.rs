//! Repairs fit, copies are whole, and a lock keeps every version.

use super::*;

/// An update of the framework fails here, and not first where a bundle is built.
#[test]
fn every_repair_fits_the_framework_in_the_lock() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let lock = fs::read_to_string(root.join("Cargo.lock")).unwrap();
    let found = Found::below(&root).unwrap();
    for (package, source) in PACKAGES.iter().zip(&found.sources) {
        check_version(package, &lock).unwrap();
        let folder = tempfile::tempdir().unwrap();
        repaired(package, source, folder.path()).unwrap();
        for repair in package.repairs {
            let text = fs::read_to_string(folder.path().join(repair.file)).unwrap();
            assert!(text.contains(repair.replace), "{}", repair.file);
            assert!(!text.contains(repair.search), "{}", repair.file);
        }
    }
}

#[test]
fn a_repair_that_fits_no_place_or_two_is_refused() {
    let repair = Repair {
        file: "src/lib.rs",
        search: "borrow()",
        replace: "try_borrow()",
    };
    assert_eq!(
        replaced("a.borrow();\r\n", &repair).unwrap(),
        "a.try_borrow();\n"
    );
    for (text, times) in [("a.lock();", "0 places"), ("borrow() borrow()", "2 places")] {
        let error = replaced(text, &repair).unwrap_err().to_string();
        assert!(
            error.contains(times) && error.contains("src/lib.rs"),
            "{error}"
        );
    }
}

#[test]
fn another_version_is_refused_with_what_to_do() {
    let lock = "[[package]]\nname = \"nice-plug\"\nversion = \"0.5.0\"\n";
    let error = check_version(&PACKAGES[0], lock).unwrap_err().to_string();
    assert!(
        error.contains("0.5.0") && error.contains("docs/upstream.md"),
        "{error}"
    );
}

#[test]
fn only_the_frameworks_own_entry_of_the_lock_changes() {
    let lock = "[[package]]\nname = \"a\"\nversion = \"1\"\nsource = \"registry+x\"\nchecksum = \"1\"\n\n\
                [[package]]\nname = \"nice-plug\"\nversion = \"0.4.2\"\nsource = \"registry+x\"\nchecksum = \"2\"\n\
                dependencies = [\n \"a\",\n]\n";
    let changed = without_source(&PACKAGES[0], lock).unwrap();
    let expected = lock.replace("source = \"registry+x\"\nchecksum = \"2\"\n", "");
    assert_eq!(changed, expected);
    let error = without_source(&PACKAGES[0], &changed).unwrap_err();
    let error = error.to_string();
    assert!(error.contains("registry"), "{error}");
}

#[test]
fn a_copy_has_the_files_and_no_other_and_keeps_what_is_right() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str, text: &str| (PathBuf::from(name), text.as_bytes().to_vec());
    let first = [file("a", "1"), file("in/b", "2"), file("in/c", "3")];
    written(&first, folder.path()).unwrap();
    let time = |name: &str| folder.path().join(name).metadata().unwrap().modified();
    let before = time("a").unwrap();
    std::thread::sleep(std::time::Duration::from_millis(20));
    written(&[file("a", "1"), file("in/b", "4")], folder.path()).unwrap();
    let mut now = contents(folder.path()).unwrap();
    now.sort();
    assert_eq!(now, [file("a", "1"), file("in/b", "4")]);
    assert_eq!(time("a").unwrap(), before);
}

#[test]
fn packages_are_named_first_or_by_their_option() {
    let words = |line: &str| line.split(' ').map(str::to_owned).collect::<Vec<_>>();
    let (packages, options) = packages_and_options(words("fourlimb --release --lib")).unwrap();
    assert_eq!(
        (packages, options),
        (words("fourlimb"), words("--release --lib"))
    );
    let line = "-p fourlimb --locked --target x";
    let (packages, options) = packages_and_options(words(line)).unwrap();
    assert_eq!(
        (packages, options),
        (words("fourlimb"), words("--target x"))
    );
    let error = packages_and_options(words("--release")).unwrap_err();
    assert!(error.to_string().contains("name the package"), "{error}");
}

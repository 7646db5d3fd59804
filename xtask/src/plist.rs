//! What macOS reads of a bundle, `Info.plist`. The framework's bundler (nice-plug-xtask 0.1.1) writes a version and an
//! identifier of its own, and has no setting for them, so both are written anew once it is done.

use anyhow::{Context as _, Result};
use nice_plug_xtask::{Architecture, CompilationTarget};
use std::fs;
use std::path::Path;

/// The identifier of the program. A bundle of a plugin adds its format, since macOS tells bundles in one program apart by it.
const IDENTIFIER: &str = "org.fourlimb.fourlimb";

/// macOS allows three numbers and nothing more.
const VERSION: &str = concat!(
    env!("CARGO_PKG_VERSION_MAJOR"),
    ".",
    env!("CARGO_PKG_VERSION_MINOR"),
    ".",
    env!("CARGO_PKG_VERSION_PATCH")
);

/// Gives every bundle in a folder our version and identifier where it is one for macOS, and signs it again: a signature
/// holds for the old file.
///
/// # Errors
/// Where a file can't be read or written, or is not as the bundler wrote it.
pub(crate) fn mend_all(bundled: &Path) -> Result<()> {
    if !bundled.exists() {
        return Ok(());
    }
    let entries =
        fs::read_dir(bundled).with_context(|| format!("could not read {}", bundled.display()))?;
    for entry in entries {
        let bundle = entry?.path();
        if mend(&bundle)? {
            // For the bundler, one of macOS is as good as any other here.
            let macos = CompilationTarget::MacOS(Architecture::AArch64);
            nice_plug_xtask::maybe_codesign(&bundle, macos);
        }
    }
    Ok(())
}

/// Mends one bundle. Returns whether there was something to do.
fn mend(bundle: &Path) -> Result<bool> {
    let path = bundle.join("Contents").join("Info.plist");
    if !path.exists() {
        return Ok(false);
    }
    let kind = bundle.extension().unwrap_or_default().to_string_lossy();
    let identifier = match &*kind {
        "app" => IDENTIFIER.to_owned(),
        kind => format!("{IDENTIFIER}.{kind}"),
    };
    let name = || format!("mending {}", path.display());
    let text = fs::read_to_string(&path).with_context(name)?;
    let mut mended = text.clone();
    for (key, value) in [
        ("CFBundleIdentifier", &*identifier),
        ("CFBundleShortVersionString", VERSION),
        ("CFBundleVersion", VERSION),
    ] {
        mended = with(&mended, key, value).with_context(name)?;
    }
    if mended == text {
        return Ok(false);
    }
    fs::write(&path, mended).with_context(name)?;
    Ok(true)
}

/// A property list with another text for a key.
fn with(plist: &str, key: &str, value: &str) -> Result<String> {
    let found = || {
        let (before, after) = plist.split_once(&format!("<key>{key}</key>"))?;
        let (gap, rest) = after.split_once("<string>")?;
        let (_, rest) = rest.split_once("</string>")?;
        let is_next = gap.trim().is_empty();
        is_next.then(|| format!("{before}<key>{key}</key>{gap}<string>{value}</string>{rest}"))
    };
    found().with_context(|| {
        format!("it has no text for {key}: the bundler writes it in another way now, so read what it writes and mend xtask/src/plist.rs")
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use nice_plug_xtask::{BundleType, maybe_create_macos_bundle_metadata};

    /// What the bundler itself writes, for each kind of bundle.
    #[test]
    fn a_bundle_of_the_bundler_gets_our_version_and_identifier() {
        let folder = tempfile::tempdir().unwrap();
        for (name, kind, identifier) in [
            ("Fourlimb.app", BundleType::Binary, "org.fourlimb.fourlimb"),
            (
                "Fourlimb.clap",
                BundleType::Plugin,
                "org.fourlimb.fourlimb.clap",
            ),
            (
                "Fourlimb.vst3",
                BundleType::Plugin,
                "org.fourlimb.fourlimb.vst3",
            ),
        ] {
            let bundle = folder.path().join(name);
            fs::create_dir_all(bundle.join("Contents")).unwrap();
            let macos = CompilationTarget::MacOSUniversal;
            maybe_create_macos_bundle_metadata("fourlimb", "Fourlimb", &bundle, macos, kind)
                .unwrap();
            let read = || fs::read_to_string(bundle.join("Contents/Info.plist")).unwrap();
            let lines = read().lines().count();
            assert!(mend(&bundle).unwrap());
            let text = read();
            let version = env!("CARGO_PKG_VERSION");
            assert_eq!(
                text.matches(&format!("<string>{version}</string>")).count(),
                2
            );
            assert!(text.contains(&format!("<string>{identifier}</string>")));
            assert!(text.contains("<key>CFBundleExecutable</key>\n    <string>Fourlimb</string>"));
            assert_eq!(text.lines().count(), lines);
            assert!(!mend(&bundle).unwrap(), "there is nothing more to do");
        }
        fs::create_dir(folder.path().join("Other.vst3")).unwrap();
        mend_all(folder.path()).unwrap();
        mend_all(&folder.path().join("none")).unwrap();
    }

    #[test]
    fn a_list_of_another_form_is_named_and_stays() {
        let folder = tempfile::tempdir().unwrap();
        let contents = folder.path().join("Contents");
        fs::create_dir(&contents).unwrap();
        let odd = "<plist><key>CFBundleIdentifier</key><array><string>a</string></array></plist>";
        fs::write(contents.join("Info.plist"), odd).unwrap();
        let error = format!("{:#}", mend(folder.path()).unwrap_err());
        assert!(error.contains("CFBundleIdentifier"), "{error}");
        assert_eq!(
            fs::read_to_string(contents.join("Info.plist")).unwrap(),
            odd
        );
    }
}

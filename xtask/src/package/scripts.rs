//! What installs a download: a script for each system, filled in with its folders, and the words that say how.

use crate::folders::System;
use crate::install::MARKS;

/// What the program says of itself: no other program's file holds it.
pub const PROGRAM_MARK: &str = "as a person with two hands and two feet plays them";

/// The name of the program's file or folder.
pub const fn program(system: System) -> &'static str {
    match system {
        System::Linux => "fourlimb",
        System::Macos => "Fourlimb.app",
        System::Windows => "fourlimb.exe",
    }
}

/// The scripts of a system: name and text.
pub fn scripts(system: System) -> Vec<(&'static str, String)> {
    let shell = include_str!("install.sh");
    match system {
        System::Linux => vec![("install.sh", filled(shell, system))],
        System::Macos => vec![("install.command", filled(shell, system))],
        System::Windows => {
            let windows = |text: &str| filled(text, system).replace('\n', "\r\n");
            vec![
                ("install.ps1", windows(include_str!("install.ps1"))),
                ("install.cmd", windows(include_str!("install.cmd"))),
            ]
        }
    }
}

/// The few words that lie beside the plugins.
pub fn read_me(system: System) -> String {
    let text = filled(include_str!("read_me.txt"), system);
    match system {
        System::Windows => text.replace('\n', "\r\n"),
        System::Linux | System::Macos => text,
    }
}

/// Says on Linux where the program is to be called from.
const PATH_NOTE: &str = r#"case ":${PATH:-}:" in
    *":$program_folder:"*) ;;
    *) echo "$program_folder is not among the folders in PATH: call the program as $program_folder/$program" ;;
esac
"#;

/// Fills in what a template leaves open, as `@NAME@`.
fn filled(template: &str, system: System) -> String {
    let folder = |path: &str| match system {
        System::Windows => path.replace('/', "\\"),
        System::Linux | System::Macos => path.to_owned(),
    };
    let [clap, vst3] = system.plugin_folders().map(folder);
    let (name, install, note) = match system {
        System::Linux => (
            "Linux",
            "  sh install.sh\ninstalls for you alone, without an administrator. `sh install.sh --uninstall` takes it away \
             again.\nThe program needs ALSA's library (libasound.so.2), which any desktop with sound has; the plugin needs \
             X11 and OpenGL.",
            PATH_NOTE,
        ),
        System::Macos => (
            "macOS",
            "  Click install.command with the control key held, and choose Open.\nIt installs for you alone, without an \
             administrator. `sh install.command --uninstall` in the terminal takes it\naway again. The plugin is not signed \
             with a certificate of the system's maker: the script clears the mark that keeps\nsuch plugins from loading, in \
             its copies alone. Not yet run on a Mac.",
            "",
        ),
        System::Windows => (
            "Windows",
            "  Double-click install.cmd.\nIt installs for you alone, without an administrator. `install.cmd -Uninstall` in a \
             terminal takes it away again.\nThe scripts were not yet run.",
            "",
        ),
    };
    let mark = String::from_utf8_lossy(MARKS[0]);
    let values = [
        ("@VERSION@", env!("CARGO_PKG_VERSION")),
        ("@SYSTEM@", name),
        ("@INSTALL@", install),
        ("@CLAP@", &clap),
        ("@VST3@", &vst3),
        ("@PROGRAM_FOLDER@", &folder(system.program_folder())),
        ("@PROGRAM@", program(system)),
        ("@MARK@", &mark),
        ("@PROGRAM_MARK@", PROGRAM_MARK),
        ("@PATH_NOTE@\n", note),
    ];
    let mut text = template.to_owned();
    for (name, value) in values {
        text = text.replace(name, value);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_left_open() {
        for system in [System::Linux, System::Macos, System::Windows] {
            let texts = scripts(system).into_iter().map(|(_, text)| text);
            for text in texts.chain([read_me(system)]) {
                let words = text.split(|c: char| !(c == '@' || c == '_' || c.is_alphanumeric()));
                let mut open = words.filter(|word| word.len() > 2 && word.ends_with('@'));
                assert_eq!(open.next(), None, "{system:?}");
                assert!(text.contains(env!("CARGO_PKG_VERSION")) || text.contains("install.ps1"));
            }
        }
    }

    #[cfg(unix)]
    mod run {
        use super::super::*;
        use crate::package::{Parts, archive, assemble};
        use std::fs;
        use std::path::{Path, PathBuf};
        use std::process::{Command, Output};

        /// A download and a home, in folders whose names have spaces.
        struct Place {
            folder: tempfile::TempDir,
            system: System,
        }

        impl Place {
            fn new(system: System) -> Self {
                let folder = tempfile::tempdir().unwrap();
                let made = folder.path().join("made");
                let write = |name: &str, text: String| {
                    let path = made.join(name);
                    fs::create_dir_all(path.parent().unwrap()).unwrap();
                    fs::write(path, text).unwrap();
                };
                let mark = String::from_utf8_lossy(MARKS[0]);
                write("Fourlimb.clap", format!("\0clap {mark}\0"));
                write(
                    "Fourlimb.vst3/Contents/x/Fourlimb.so",
                    format!("vst3 {mark}"),
                );
                let program_file = match system {
                    System::Macos => "Fourlimb.app/Contents/MacOS/Fourlimb",
                    System::Linux | System::Windows => "fourlimb",
                };
                write(program_file, format!("program {PROGRAM_MARK}"));
                let parts = Parts {
                    clap: made.join("Fourlimb.clap"),
                    vst3: made.join("Fourlimb.vst3"),
                    program: made.join(program(system)),
                };
                let download = folder.path().join("a download");
                assemble(&parts, system, "licences", &download).unwrap();
                let place = Self { folder, system };
                fs::create_dir_all(place.home()).unwrap();
                place
            }

            fn home(&self) -> PathBuf {
                self.folder.path().join("a home's folder")
            }

            fn run(&self, args: &[&str]) -> Output {
                let (name, _) = scripts(self.system).remove(0);
                // From elsewhere, as a file manager starts it.
                Command::new("sh")
                    .arg(self.folder.path().join("a download").join(name))
                    .args(args)
                    .current_dir("/")
                    .env("HOME", self.home())
                    .output()
                    .unwrap()
            }

            /// What the home holds: path and text, folders too.
            fn holds(&self) -> Vec<(String, String)> {
                let mut found = Vec::new();
                list(&self.home(), "", &mut found);
                found.sort();
                found
            }
        }

        fn list(folder: &Path, before: &str, found: &mut Vec<(String, String)>) {
            for entry in fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                let name = format!("{before}{}", path.file_name().unwrap().to_str().unwrap());
                if path.is_dir() {
                    found.push((format!("{name}/"), String::new()));
                    list(&path, &format!("{name}/"), found);
                } else {
                    found.push((name, fs::read_to_string(&path).unwrap()));
                }
            }
        }

        fn said(output: &Output) -> String {
            String::from_utf8_lossy(&[&*output.stdout, &*output.stderr].concat()).into_owned()
        }

        /// Installed twice and taken away: what was the user's is as it was, and nothing else is there.
        fn comes_and_goes(system: System) {
            let place = Place::new(system);
            let [clap, vst3] = system.plugin_folders();
            fs::create_dir_all(place.home().join(clap)).unwrap();
            fs::write(place.home().join(clap).join("Other.clap"), "other").unwrap();
            let before = place.holds();
            for _ in 0..2 {
                let output = place.run(&[]);
                assert!(output.status.success(), "{}", said(&output));
                assert!(
                    said(&output).contains("scan for plugins"),
                    "{}",
                    said(&output)
                );
                let home = place.home();
                let installed = [
                    home.join(clap).join("Fourlimb.clap"),
                    home.join(vst3).join("Fourlimb.vst3"),
                    home.join(system.program_folder()).join(program(system)),
                ];
                for path in installed {
                    assert!(
                        said(&output).contains(path.to_str().unwrap()),
                        "{}",
                        said(&output)
                    );
                    let name = path.file_name().unwrap();
                    let from = place.folder.path().join("a download").join(name);
                    if path.is_dir() {
                        let sums = |path: &Path| archive::sums(path).unwrap();
                        assert_eq!(sums(&path), sums(&from));
                    } else {
                        assert_eq!(fs::read(&path).unwrap(), fs::read(from).unwrap());
                    }
                }
                let all = place.holds();
                assert!(
                    !all.iter().any(|(name, _)| name.contains(".new")),
                    "{all:?}"
                );
            }
            let installed = place.holds().len();
            assert!(installed > before.len() + 3, "{installed}");
            for _ in 0..2 {
                let output = place.run(&["--uninstall"]);
                assert!(output.status.success(), "{}", said(&output));
                assert_eq!(place.holds(), before, "{}", said(&output));
            }
        }

        #[test]
        fn the_script_for_linux_installs_and_takes_away() {
            comes_and_goes(System::Linux);
        }

        /// The shell of macOS reads the same script; its folders are made here.
        #[test]
        fn the_script_for_macos_installs_and_takes_away() {
            comes_and_goes(System::Macos);
        }

        #[test]
        fn what_is_not_ours_is_left_alone() {
            let place = Place::new(System::Linux);
            for path in [
                ".clap/Fourlimb.clap",
                ".vst3/Fourlimb.vst3",
                ".local/bin/fourlimb",
            ] {
                let path = place.home().join(path);
                fs::create_dir_all(path.parent().unwrap()).unwrap();
                fs::write(&path, "somebody else's").unwrap();
                let before = place.holds();
                let output = place.run(&[]);
                assert_eq!(output.status.code(), Some(1), "{}", said(&output));
                assert!(
                    said(&output).contains(path.to_str().unwrap()),
                    "{}",
                    said(&output)
                );
                assert!(said(&output).contains("Nothing was changed"));
                assert_eq!(place.holds(), before);
                let output = place.run(&["--uninstall"]);
                assert!(
                    said(&output).contains("alone: it is not"),
                    "{}",
                    said(&output)
                );
                assert_eq!(place.holds(), before);
                fs::remove_file(path).unwrap();
            }
        }

        #[test]
        fn half_an_archive_changes_nothing() {
            let place = Place::new(System::Linux);
            let download = place.folder.path().join("a download");
            fs::remove_file(download.join("fourlimb")).unwrap();
            let output = place.run(&[]);
            assert_eq!(output.status.code(), Some(1));
            assert!(
                said(&output).contains("unpack the whole archive"),
                "{}",
                said(&output)
            );
            assert!(place.holds().is_empty());
        }

        #[test]
        fn a_word_that_it_does_not_know_changes_nothing() {
            let place = Place::new(System::Linux);
            let output = place.run(&["--unistall"]);
            assert_eq!(output.status.code(), Some(2), "{}", said(&output));
            assert!(said(&output).contains("--uninstall"));
            assert!(place.holds().is_empty());
        }
    }
}

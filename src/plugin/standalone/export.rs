//! `fourlimb --export SONG.json --out FILE.mid`: writes a MIDI file, opens no window and asks for no
//! device.

use super::value;
use crate::export::{OPTIONS, Options};
use crate::files::{self, Existing};
use std::fmt::Write as _;
use std::path::Path;

/// The option that asks for an export.
const EXPORT: &str = "--export";
const OUT: &str = "--out";
const REPLACE: &str = "--replace";

/// Its part of the help.
pub(super) fn help() -> String {
    let mut text = String::from(
        "Without a window and without sound: writes a song (see docs/song-file.md) as a MIDI file.\n  \
         fourlimb --export SONG.json --out FILE.mid [OPTIONS]\n",
    );
    let replace = ("replace", "", "Replace the file if it is there already");
    for (name, value, about) in OPTIONS
        .map(|option| (option.name, option.value, option.about))
        .into_iter()
        .chain([replace])
    {
        let _ = writeln!(text, "  {:<31} {about}", format!("--{name} {value}"));
    }
    text
}

/// Whether an export was asked for, and if so what came of it: a line for the terminal, or what is
/// wrong. Nothing is written then.
pub(super) fn run(args: &[String]) -> Option<Result<String, String>> {
    let asked = |arg: &String| arg == EXPORT || arg.starts_with("--export=");
    args.iter().any(asked).then(|| export(args))
}

fn export(args: &[String]) -> Result<String, String> {
    let options = chosen(args)?;
    let named = |option: &str, what: &str| {
        value(args, &[option]).ok_or_else(|| format!("{option} needs {what}: {option} NAME"))
    };
    let song = named(EXPORT, "the name of a song file")?;
    let out = named(OUT, "the name of the MIDI file to write")?;
    let existing = if args.iter().any(|arg| arg == REPLACE) {
        Existing::Replace
    } else {
        Existing::Keep
    };
    files::export_song(Path::new(&song), Path::new(&out), &options, existing)
        .map_err(|error| error.to_string())
}

/// The options, every one of which must be known: a slip of the pen must not export something else.
fn chosen(args: &[String]) -> Result<Options, String> {
    let mut options = Options::default();
    let mut args = args.iter().skip(1);
    while let Some(arg) = args.next() {
        if arg == REPLACE {
            continue;
        }
        let (name, text) = match arg.split_once('=') {
            Some((name, text)) => (name, Some(text)),
            None => (arg.as_str(), None),
        };
        let option = name.strip_prefix("--");
        let option =
            option.ok_or_else(|| format!("\"{name}\" is no option: they begin with --"))?;
        let text = text.or_else(|| args.next().map(String::as_str));
        let text = text.ok_or_else(|| format!("{name} needs a value"))?;
        if name == EXPORT || name == OUT {
            continue;
        }
        options.set(option, text).map_err(|e| e.to_string())?;
    }
    Ok(options)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::song::SongFile;

    fn words(line: &[&str]) -> Vec<String> {
        let program = std::iter::once(&"fourlimb");
        program.chain(line).map(|&word| word.to_owned()).collect()
    }

    #[test]
    fn without_the_option_there_is_no_export() {
        assert_eq!(run(&words(&["--tempo", "120"])), None);
    }

    #[test]
    fn a_song_is_written_and_what_makes_no_sense_is_not() {
        let folder = tempfile::tempdir().unwrap();
        let [song, out] = ["song.json", "song.mid"]
            .map(|name| folder.path().join(name).to_str().unwrap().to_owned());
        std::fs::write(&song, SongFile::DEMO).unwrap();
        let export = |more: &[&str]| {
            let line = [&["--export", &song, "--out", &out][..], more].concat();
            run(&words(&line)).unwrap()
        };
        for (more, expected) in [
            (&["--bars"][..], "--bars needs a value"),
            (&["--bars", "70-80"], "bars go from 1 to 77"),
            (&["--feel=loose"], "0 (the exact grid) to 1"),
            (
                &["--tempo", "200"],
                "there is no option tempo: use one of bars",
            ),
            (&["verse"], "\"verse\" is no option"),
            (&["--format=0", "--tracks=limbs"], "a single track"),
        ] {
            let error = export(more).unwrap_err();
            assert!(error.contains(expected), "{more:?}: {error}");
            assert!(!Path::new(&out).exists());
        }
        assert!(run(&words(&["--export", &song])).unwrap().is_err());
        assert!(run(&words(&["--out", &out, "--export"])).unwrap().is_err());
        let told = export(&["--section=Turn", "--feel", "0"]).unwrap();
        assert!(told.starts_with("bar 40: "), "{told}");
        assert!(std::fs::read(&out).unwrap().starts_with(b"MThd"));
        assert!(export(&[]).unwrap_err().contains("exists already"));
        assert!(export(&["--replace"]).is_ok());
    }

    #[test]
    fn help_tells_every_option() {
        let help = help();
        for option in OPTIONS {
            assert!(help.contains(&format!("--{} {}", option.name, option.value)));
        }
    }
}

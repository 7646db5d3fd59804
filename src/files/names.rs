//! Names of files that every system takes. A song's title and a section's name are free text; a name on a disk is not.

/// The longest title in a name, in bytes: with a part, a number and an ending the name stays below the 255 bytes that file
/// systems allow.
pub const LONGEST_TITLE: usize = 96;

/// Names that Windows keeps for devices, whatever their ending.
const DEVICES: [&str; 6] = ["con", "prn", "aux", "nul", "conin$", "conout$"];
/// What a port's number can be: Windows takes the raised ones for digits.
const PORT_NUMBERS: &str = "0123456789¹²³";

/// The name that is offered for a file: the title, else `otherwise`, with an ending.
pub fn suggested(title: &str, otherwise: &str, ending: &str) -> String {
    let title = safe(title, LONGEST_TITLE);
    let stem = if title.is_empty() { otherwise } else { &title };
    format!("{stem}.{ending}")
}

/// A text without what some system forbids in names, at most `longest` bytes long (a device's name gets a hyphen more). It
/// may come out empty.
pub fn safe(text: &str, longest: usize) -> String {
    let forbidden = |letter: char| letter.is_control() || "/\\:*?\"<>|".contains(letter);
    let mut safe: String = text
        .chars()
        .map(|letter| if forbidden(letter) { '-' } else { letter })
        .collect();
    safe.truncate(safe.floor_char_boundary(longest));
    // Windows drops spaces and dots at the end, and files that begin with a dot are hidden elsewhere.
    let safe = safe.trim_matches(|letter: char| letter == '.' || letter.is_whitespace());
    // Windows looks at what stands before the first dot.
    let (base, rest) = safe.split_at(safe.find('.').unwrap_or(safe.len()));
    if is_device(base) {
        return format!("{}-{rest}", base.trim_end());
    }
    safe.to_owned()
}

/// Whether Windows takes a name without its endings for a device: a console, a printer, a port.
fn is_device(base: &str) -> bool {
    let base = base.trim_end().to_lowercase();
    let port = ["com", "lpt"]
        .iter()
        .find_map(|port| base.strip_prefix(port));
    let is_port = port.is_some_and(|number| {
        number.chars().count() == 1 && number.chars().all(|one| PORT_NUMBERS.contains(one))
    });
    is_port || DEVICES.contains(&&*base)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_title_becomes_a_name_that_says_the_same() {
        for (title, expected) in [
            ("Cinder Mill", "Cinder Mill.json"),
            ("Why? Part 1/2: Ash", "Why- Part 1-2- Ash.json"),
            (" . ", "song.json"),
            ("", "song.json"),
            ("...and then. ", "and then.json"),
            ("Gewölbe 歌", "Gewölbe 歌.json"),
            ("con", "con-.json"),
            ("Aux .live", "Aux-.live.json"),
            ("LPT¹", "LPT¹-.json"),
            ("com1.song", "com1-.song.json"),
            ("Contour", "Contour.json"),
            ("com", "com.json"),
        ] {
            assert_eq!(suggested(title, "song", "json"), expected);
        }
    }

    /// Titles of any letters, and of those that make trouble.
    fn titles() -> impl Strategy<Value = String> {
        let trouble =
            "(con|NUL|aux|Prn|com[0-9¹²³]|lpt1|CONIN\\$)?[ .:?/\\\\a-c\u{1}\u{a0}ö歌]{0,60}";
        prop_oneof![".{0,80}", trouble]
    }

    proptest! {
        #[test]
        fn every_system_takes_the_name(title in titles(), ending in "(mid|json)") {
            let name = suggested(&title, "song", &ending);
            prop_assert!(name.len() <= LONGEST_TITLE + 6, "{name:?}");
            let forbidden = |letter: char| letter.is_control() || "/\\:*?\"<>|".contains(letter);
            prop_assert!(!name.contains(forbidden), "{name:?}");
            prop_assert!(!name.starts_with(['.', ' ']) && !name.ends_with(['.', ' ']), "{name:?}");
            let stem = name.strip_suffix(&format!(".{ending}")).unwrap();
            prop_assert!(!stem.is_empty() && !stem.ends_with([' ', '.']), "{name:?}");
            // As Windows reads it: up to the first dot, without spaces, in any case.
            let base = name.split('.').next().unwrap().trim().to_uppercase();
            let devices = ["CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$"];
            prop_assert!(!devices.contains(&&*base), "{name:?}");
            let port = base.strip_prefix("COM").or_else(|| base.strip_prefix("LPT"));
            let is_port = port.is_some_and(|port| {
                port.chars().count() == 1 && port.chars().all(|one| "0123456789¹²³".contains(one))
            });
            prop_assert!(!is_port, "{name:?}");
        }

        /// A name that is made again stays as it is: nothing of a good name is lost.
        #[test]
        fn a_safe_name_stays(title in titles()) {
            let once = safe(&title, LONGEST_TITLE);
            prop_assert_eq!(safe(&once, LONGEST_TITLE + 1), once);
        }
    }
}

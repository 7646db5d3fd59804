//! Name documents that can't be read, and those that are made to break a reader.

use crate::midnam::{document, short};
use fourlimb::kit::Note;
use fourlimb::kit::midnam::{LONGEST_NAME, MOST_BYTES, MidnamError, read, write};

#[test]
fn encodings_are_read_or_named() {
    let text = document(
        r#"<CustomDeviceMode Name="M"/><NoteNameList Name="Schläge"><Note Number="36" Name="Große Trommel"/></NoteNameList>"#,
    );
    let expected = short(&read(text.as_bytes()).unwrap());
    assert_eq!(expected[0].2[0].1, "Große Trommel");
    let units = || text.encode_utf16();
    let latin: Vec<u8> = text
        .replace("UTF-8", "ISO-8859-1")
        .chars()
        .map(|c| u8::try_from(u32::from(c)).unwrap())
        .collect();
    for bytes in [
        [b"\xEF\xBB\xBF", text.as_bytes()].concat(),
        [
            vec![0xFF, 0xFE],
            units().flat_map(u16::to_le_bytes).collect(),
        ]
        .concat(),
        [
            vec![0xFE, 0xFF],
            units().flat_map(u16::to_be_bytes).collect(),
        ]
        .concat(),
        latin.clone(),
        text.replace(" encoding=\"UTF-8\"", "").into_bytes(),
    ] {
        assert_eq!(short(&read(&bytes).unwrap()), expected);
    }
    let ascii = text.replace("UTF-8", "US-ASCII");
    let plain = ascii.replace('ä', "a").replace('ß', "ss");
    assert!(read(plain.as_bytes()).is_ok());
    for (bytes, words) in [
        (ascii.into_bytes(), "not text in US-ASCII"),
        (
            text.replace("UTF-8", "windows-1252").into_bytes(),
            "\"windows-1252\"",
        ),
        (
            text.replace("UTF-8", "Shift_JIS").into_bytes(),
            "save it as UTF-8",
        ),
        (text.replace("UTF-8", "UTF-16").into_bytes(), "\"UTF-16\""),
        (b"\xFF\xFE<\0x".to_vec(), "not text in UTF-16 (byte 4)"),
        (
            b"\xFE\xFF\xD8\x00\0a".to_vec(),
            "not text in UTF-16 (byte 2)",
        ),
        (b"<a>\xE4</a>".to_vec(), "not text in UTF-8 (byte 3)"),
    ] {
        let error = read(&bytes).unwrap_err().to_string();
        assert!(error.contains(words), "{error}");
    }
}

/// The project's own promise, no source: a message names the thing and the remedy.
#[test]
fn mistakes_are_said() {
    let list = |inside: &str| {
        document(&format!(
            r#"<NoteNameList Name="Kit">{inside}</NoteNameList>"#
        ))
    };
    let long = "x".repeat(LONGEST_NAME + 1);
    for (text, words) in [
        (
            list(r#"<Note Number="128" Name="A"/>"#),
            ["\"128\"", "0 to 127"],
        ),
        (
            list(r#"<Note Number="C3" Name="A"/>"#),
            ["\"C3\"", "0 to 127"],
        ),
        (
            list(r#"<Note Number="-1" Name="A"/>"#),
            ["\"Kit\"", "0 to 127"],
        ),
        (list(r#"<Note Name="A"/>"#), ["no number", "give it one"]),
        (list(r#"<Note Number="1"/>"#), ["no name", "give it one"]),
        (
            list(&format!(r#"<Note Number="1" Name="{long}"/>"#)),
            ["257", "shorten it"],
        ),
        (list(""), ["no notes", "NoteNameList"]),
        (
            document(r#"<ChannelNameSet Name="S"><UsesNoteNameList Name="Far"/></ChannelNameSet>"#),
            ["\"Far\"", "choose the document"],
        ),
        ("<song/>".to_owned(), ["<song>", "choose a .midnam file"]),
        (list("<Note"), ["no well-formed XML", "export it again"]),
        (
            list(r#"<Note Number="1" Name="&lol;"/>"#),
            ["no well-formed XML", "lol"],
        ),
        (String::new(), ["no well-formed XML", "export it again"]),
    ] {
        let error = read(text.as_bytes()).unwrap_err().to_string();
        for word in words {
            assert!(error.contains(word), "{error}");
        }
    }
}

/// What is made to break a reader is refused, and at once.
#[test]
fn hostile_documents_are_refused() {
    let with_subset = |subset: &str, inside: &str| {
        format!(
            "<!DOCTYPE MIDINameDocument [{subset}]><MIDINameDocument>{inside}</MIDINameDocument>"
        )
    };
    let bomb: String = (1..10)
        .map(|at| {
            format!(
                "<!ENTITY l{at} \"{}\">",
                format!("&l{};", at - 1).repeat(10)
            )
        })
        .collect();
    let large = format!("<!ENTITY l \"{}\">", "x".repeat(1 << 20));
    let note = r#"<NoteNameList><Note Number="1" Name="&l;"/></NoteNameList>"#;
    for subset in [
        bomb,
        // Not nested, but repeated: the parser alone would let this grow to hundreds of gigabytes.
        large,
        "<!ENTITY l SYSTEM \"file:///etc/hostname\">".to_owned(),
        "<!ENTITY l SYSTEM \"http://localhost:9/x\">".to_owned(),
        "<!ENTITY % l SYSTEM \"http://localhost:9/x\"> %l;".to_owned(),
    ] {
        let text = with_subset(&subset, &note.repeat(1000));
        assert_eq!(read(text.as_bytes()), Err(MidnamError::Entities));
    }
    let too_much = |error: &MidnamError| matches!(error, MidnamError::TooMuch(_));
    let not_xml = |error: &MidnamError| matches!(error, MidnamError::NotXml(_));
    let attributes: String = (0..200_000).map(|at| format!(" a{at}=\"\"")).collect();
    let namespaces: String = (0..60_000)
        .map(|at| format!(" xmlns:n{at}=\"u\""))
        .collect();
    let deep = "<a>".repeat(300_000) + &"</a>".repeat(300_000);
    let many = r#"<Note Number="1" Name="A"/>"#.repeat(70_000);
    for (bytes, expected) in [
        (
            deep.into_bytes(),
            &too_much as &dyn Fn(&MidnamError) -> bool,
        ),
        ("<a>".repeat(300_000).into_bytes(), &not_xml),
        ("<".repeat(1 << 20).into_bytes(), &not_xml),
        ("<!--".repeat(1 << 18).into_bytes(), &not_xml),
        ("<!DOCTYPE ".repeat(1 << 16).into_bytes(), &not_xml),
        (
            with_subset("", "<a/>").replace(']', "").into_bytes(),
            &not_xml,
        ),
        (format!("<a{attributes}/>").into_bytes(), &too_much),
        (format!("<a{namespaces}/>").into_bytes(), &too_much),
        (
            format!("<a>{}</a>", "<b/>".repeat(500_000)).into_bytes(),
            &too_much,
        ),
        (
            document(&format!("<NoteNameList>{many}</NoteNameList>")).into_bytes(),
            &too_much,
        ),
        (vec![0; 1 << 20], &not_xml),
        (vec![b'a'; MOST_BYTES + 1], &|error| {
            *error == MidnamError::TooLarge(MOST_BYTES + 1)
        }),
        ((0..=255).collect::<Vec<u8>>().repeat(100), &|error| {
            matches!(error, MidnamError::NotText { .. })
        }),
    ] {
        let error = read(&bytes).unwrap_err();
        let start = String::from_utf8_lossy(&bytes[..20]).into_owned();
        assert!(expected(&error), "{start}: {error}");
        assert!(
            error.to_string().len() < 400,
            "{start}: a message of any length"
        );
    }
    // A document that is cut off anywhere.
    let whole = write(
        "Box",
        &[(
            Note {
                channel: 9,
                key: 36,
            },
            "Kick",
        )],
    );
    let end = whole.trim_end().len();
    assert!(read(whole.as_bytes()).is_ok());
    for at in 0..end {
        assert!(read(&whole.as_bytes()[..at]).is_err(), "{at}");
    }
}

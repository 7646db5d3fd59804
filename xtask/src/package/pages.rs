//! The documents as pages that a browser opens from a folder: no server, no network, no script.

use anyhow::{Context, Result, bail, ensure};
use pulldown_cmark::{CowStr, Event, Options, Parser, Tag, TagEnd, html};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

/// Name and contents of every file of a folder.
pub type Files = BTreeMap<String, Vec<u8>>;

/// The one look of all pages.
const STYLE: &str = include_str!("style.css");

/// What stands at the top of the project and is a page too.
const ABOVE: [(&str, &str); 2] = [
    ("README.md", "about.html"),
    ("CHANGELOG.md", "changes.html"),
];

/// What documents link to and the download leaves out: the words stay, the link goes.
const LEFT_OUT: [&str; 1] = ["DEVELOPERS.md"];

/// Renders all documents with what they show.
///
/// # Errors
/// Where a document can't be read, or a link leads nowhere.
pub fn render(root: &Path) -> Result<Files> {
    let mut documents: Vec<(String, String)> = ABOVE
        .map(|(from, to)| (from.to_owned(), to.to_owned()))
        .to_vec();
    for entry in fs::read_dir(root.join("docs")).context("reading docs")? {
        let name = entry?.file_name().to_string_lossy().into_owned();
        if let Some(stem) = name.strip_suffix(".md") {
            let page = if stem == "README" { "index" } else { stem };
            documents.push((format!("docs/{name}"), format!("{page}.html")));
        }
    }
    let mut files = Files::from([("style.css".to_owned(), STYLE.into())]);
    let pages: BTreeMap<_, _> = documents.iter().cloned().collect();
    for (document, page) in &documents {
        let text = fs::read_to_string(root.join(document))
            .with_context(|| format!("could not read {document}"))?;
        let mut shown = BTreeSet::new();
        let html = one(&text, |link| lead(document, link, &pages, &mut shown))
            .with_context(|| document.clone())?;
        files.insert(page.clone(), html.into_bytes());
        for path in shown {
            let bytes = fs::read(root.join(&path))
                .with_context(|| format!("{document} leads to {path}, which is not there"))?;
            let old = files.insert(file_name(&path).to_owned(), bytes.clone());
            ensure!(
                old.is_none_or(|old| old == bytes),
                "two files of the documents have the name of {path}"
            );
        }
    }
    check(&files)?;
    Ok(files)
}

fn file_name(path: &str) -> &str {
    path.rsplit('/').next().unwrap_or(path)
}

/// Where a link of a document leads on the pages; none where the download leaves it out. Files that must come along
/// are added to `shown`, as paths from the project's folder.
fn lead(
    document: &str,
    link: &str,
    pages: &BTreeMap<String, String>,
    shown: &mut BTreeSet<String>,
) -> Result<Option<String>> {
    if link.starts_with('#') || link.contains("://") {
        return Ok(Some(link.to_owned()));
    }
    let (path, place) = match link.split_once('#') {
        Some((path, place)) => (path, format!("#{place}")),
        None => (link, String::new()),
    };
    let mut parts: Vec<_> = document.split('/').collect();
    parts.pop();
    for part in path.split('/') {
        if part == ".." {
            parts.pop();
        } else {
            parts.push(part);
        }
    }
    let path = parts.join("/");
    if LEFT_OUT.contains(&&*path) {
        return Ok(None);
    }
    if let Some(page) = pages.get(&path) {
        return Ok(Some(page.clone() + &place));
    }
    if super::LICENCES.contains(&&*path) {
        return Ok(Some(format!("../{path}")));
    }
    ensure!(
        !path.ends_with('/') && !file_name(&path).is_empty() && !has_ending(&path, "md"),
        "the link {link} leads to no page"
    );
    shown.insert(path.clone());
    Ok(Some(file_name(&path).to_owned()))
}

/// One document as a page. `lead` says where a link leads.
fn one(text: &str, mut lead: impl FnMut(&str) -> Result<Option<String>>) -> Result<String> {
    let mut events: Vec<_> = Parser::new_ext(text, Options::ENABLE_TABLES).collect();
    let mut title = None;
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    for i in 0..events.len() {
        if let Event::Start(Tag::Heading { .. }) = &events[i] {
            let within = events[i + 1..].iter();
            let within =
                within.take_while(|event| !matches!(event, Event::End(TagEnd::Heading(_))));
            let words: String = within
                .filter_map(|event| match event {
                    Event::Text(text) | Event::Code(text) => Some(&**text),
                    _ => None,
                })
                .collect();
            let name = place_name(&words, &mut seen);
            title.get_or_insert(words);
            if let Event::Start(Tag::Heading { id, .. }) = &mut events[i] {
                *id = Some(name.into());
            }
        }
    }
    let mut kept = Vec::with_capacity(events.len());
    let mut is_left_out = false;
    for mut event in events {
        match &mut event {
            Event::Start(Tag::Link { dest_url, .. }) => {
                let Some(to) = lead(dest_url)? else {
                    is_left_out = true;
                    continue;
                };
                *dest_url = to.into();
            }
            Event::End(TagEnd::Link) if is_left_out => {
                is_left_out = false;
                continue;
            }
            Event::Start(Tag::Image { dest_url, .. }) => {
                let to = lead(dest_url)?;
                *dest_url = to.context("a picture is left out")?.into();
            }
            Event::Text(words) | Event::Code(words) => {
                // In the download the program is there: nobody needs cargo to call it.
                *words = CowStr::from(words.replace("cargo fourlimb ", "fourlimb "));
            }
            Event::Html(_) | Event::InlineHtml(_) => bail!("raw HTML in a document"),
            _ => {}
        }
        kept.push(event);
    }
    let mut body = String::new();
    html::push_html(&mut body, kept.into_iter());
    let mut shown_title = String::new();
    let title = title.context("a document without a heading")?;
    html::push_html(&mut shown_title, std::iter::once(Event::Text(title.into())));
    Ok(format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" \
         content=\"width=device-width, initial-scale=1\">\n<title>{shown_title}</title>\n<link rel=\"stylesheet\" \
         href=\"style.css\">\n</head>\n<body>\n<nav><a href=\"guide.html\">The guide</a> <a href=\"index.html\">All \
         documents</a></nav>\n<main>\n{body}</main>\n</body>\n</html>\n"
    ))
}

/// The name of a heading in links, as the places that show Markdown make it: small letters, spaces as hyphens, no
/// punctuation; the second of a name gets a number.
fn place_name(words: &str, seen: &mut BTreeMap<String, usize>) -> String {
    let letter = |c: char| match c {
        ' ' => Some('-'),
        '-' | '_' => Some(c),
        c if c.is_alphanumeric() => Some(c),
        _ => None,
    };
    let name: String = words.to_lowercase().chars().filter_map(letter).collect();
    let count = seen.entry(name.clone()).or_default();
    *count += 1;
    match *count {
        1 => name,
        again => format!("{name}-{}", again - 1),
    }
}

/// Whether every link of every page leads to a file that is there, and to a heading in it.
///
/// # Errors
/// The first link that does not.
pub fn check(files: &Files) -> Result<usize> {
    let values = |text: &str, name: &str| -> Vec<String> {
        let before = format!(" {name}=\"");
        text.split(&before)
            .skip(1)
            .filter_map(|part| part.split('"').next().map(str::to_owned))
            .collect()
    };
    let mut count = 0;
    for (page, bytes) in files {
        if !has_ending(page, "html") {
            continue;
        }
        let text = String::from_utf8_lossy(bytes);
        let links = values(&text, "href").into_iter();
        for link in links.chain(values(&text, "src")) {
            if link.contains("://") {
                continue;
            }
            let (file, place) = link.split_once('#').unwrap_or((&link, ""));
            let file = if file.is_empty() { page } else { file };
            let licence = file.strip_prefix("../");
            if licence.is_some_and(|name| super::LICENCES.contains(&name)) {
                continue;
            }
            let to = files.get(file);
            let to = to.with_context(|| format!("{page} links to {link}, which is not there"))?;
            let places = values(&String::from_utf8_lossy(to), "id");
            ensure!(
                place.is_empty() || places.iter().any(|name| name == place),
                "{page} links to {link}, and {file} has no such heading"
            );
            count += 1;
        }
    }
    Ok(count)
}

fn has_ending(name: &str, ending: &str) -> bool {
    Path::new(name).extension().is_some_and(|end| end == ending)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A project of a few documents.
    fn project(guide: &str) -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("docs")).unwrap();
        let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
        write("README.md", "# About\n\n[licence](LICENSE-MIT)\n");
        write("CHANGELOG.md", "# Changes\n");
        write("docs/README.md", "# All\n\n[guide](guide.md)\n");
        write("docs/editor.png", "a picture");
        write("docs/guide.md", guide);
        folder
    }

    #[test]
    fn no_link_of_the_pages_is_broken() {
        let files = render(&crate::root()).unwrap();
        // 16 documents with two links each on top.
        assert!(check(&files).unwrap() > 100);
        assert!(files.contains_key("editor.png") && files.contains_key("demo.json"));
        let guide = String::from_utf8_lossy(&files["guide.html"]);
        assert!(guide.contains("<h2 id=\"4-send-the-notes-to-your-sampler\">"));
        for (name, bytes) in &files {
            let text = String::from_utf8_lossy(bytes);
            assert!(!text.contains("cargo fourlimb "), "{name}");
            assert!(!text.contains(".md\""), "{name}");
        }
    }

    #[test]
    fn links_lead_to_pages_pictures_and_headings() {
        let text = "# Guide\n\n![all](editor.png) [up](../README.md#about) [code](../DEVELOPERS.md) [there](#two-words)\n\n\
                    ## Two, words\n\n`cargo fourlimb check a.mid`\n\n| a | b |\n| --- | --- |\n| <c> | d |\n";
        let text = text.replace("<c>", "c & d");
        let files = render(project(&text).path()).unwrap();
        let guide = String::from_utf8_lossy(&files["guide.html"]).into_owned();
        for part in [
            "<title>Guide</title>",
            "src=\"editor.png\"",
            "href=\"about.html#about\"",
            " code <a",
            "<h2 id=\"two-words\">",
            "<code>fourlimb check a.mid</code>",
            "<td>c &amp; d</td>",
        ] {
            assert!(guide.contains(part), "{part} is not in {guide}");
        }
        assert_eq!(files["editor.png"], b"a picture");
    }

    #[test]
    fn a_link_that_leads_nowhere_is_named() {
        for (link, said) in [
            ("[a](no-such.md)", "no-such.md"),
            ("[a](../docs/)", "../docs/"),
            ("![a](no-such.png)", "no-such.png"),
            ("[a](#no-such)", "#no-such"),
            ("[a](../README.md#no-such)", "about.html#no-such"),
            ("<b>a</b>", "raw HTML"),
        ] {
            let error = render(project(&format!("# Guide\n\n{link}\n")).path()).unwrap_err();
            let error = format!("{error:#}");
            assert!(error.contains(said) && error.contains("guide"), "{error}");
        }
    }

    #[test]
    fn the_second_heading_of_a_name_gets_a_number() {
        let mut seen = BTreeMap::new();
        let mut name = |words| place_name(words, &mut seen);
        assert_eq!(name("What it's *for*"), "what-its-for");
        assert_eq!(name("1. Install"), "1-install");
        assert_eq!(name("1. Install"), "1-install-1");
    }
}

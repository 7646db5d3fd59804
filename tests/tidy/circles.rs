//! No circles: which file of a room uses which, read from the sources.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Every file of a room as a module path, with its text up to its tests.
fn modules(room: &str) -> BTreeMap<String, String> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let files = super::sources("src")
        .into_iter()
        .filter_map(|(path, text)| {
            let relative = path.strip_prefix(&src).unwrap().with_extension("");
            let module = relative.to_string_lossy().replace(['/', '\\'], "::");
            let text = text
                .split("#[cfg(test)]\nmod tests")
                .next()
                .unwrap()
                .to_owned();
            (module == room || module.starts_with(&format!("{room}::"))).then_some((module, text))
        });
    files.collect()
}

/// The paths that a tree of `use` names.
fn leaves(tree: &str) -> Vec<String> {
    let Some((prefix, inner)) = tree.split_once('{') else {
        return vec![tree.trim().to_owned()];
    };
    let inner = inner.rsplit_once('}').map_or(inner, |(inner, _)| inner);
    let (mut parts, mut depth, mut part) = (Vec::new(), 0, String::new());
    for c in inner.chars() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => {
                parts.push(std::mem::take(&mut part));
                continue;
            }
            _ => {}
        }
        part.push(c);
    }
    parts.push(part);
    let parts = parts.iter().filter(|part| !part.trim().is_empty());
    let leaf = |part: &String| leaves(part.trim()).into_iter();
    let all = parts.flat_map(leaf);
    all.map(|leaf| format!("{}{leaf}", prefix.trim())).collect()
}

/// The paths that a text uses: its `use` items, and what it names through `super` or `crate` inline.
fn paths(text: &str) -> Vec<String> {
    let code: String = text
        .lines()
        .filter(|line| !line.trim_start().starts_with("//"))
        .fold(String::new(), |code, line| code + line + "\n");
    let mut found = Vec::new();
    for item in code.split(';') {
        if let Some((_, tree)) = item.rsplit_once("use ")
            && !tree.contains(['(', '='])
        {
            found.extend(leaves(&tree.split_whitespace().collect::<String>()));
        }
    }
    for start in ["super::", "crate::"] {
        for (at, _) in code.match_indices(start) {
            if code[..at].ends_with("::") {
                continue;
            }
            let rest = &code[at..];
            let end = rest.find(|c: char| !c.is_alphanumeric() && c != '_' && c != ':');
            found.push(rest[..end.unwrap_or(rest.len())].to_owned());
        }
    }
    found
}

/// Which modules of a room a module uses. What the room's own file exports again counts for the file that it is
/// from.
fn edges(room: &str, all: &BTreeMap<String, String>) -> BTreeMap<String, BTreeSet<String>> {
    let again: BTreeMap<String, String> = paths(&all[room])
        .into_iter()
        .filter_map(|path| {
            let (module, name) = path.rsplit_once("::")?;
            Some((name.to_owned(), format!("{room}::{module}")))
        })
        .collect();
    let target = |from: &str, path: &str| {
        let mut parts: Vec<&str> = path.split("::").filter(|part| !part.is_empty()).collect();
        let mut at: Vec<&str> = from.split("::").collect();
        if parts.first() == Some(&"crate") {
            (at, parts) = (Vec::new(), parts.split_off(1));
        }
        while parts.first() == Some(&"super") {
            at.pop();
            parts.remove(0);
        }
        at.extend(parts);
        let found = (1..=at.len()).rev().map(|n| (n, at[..n].join("::")));
        let (n, module) = found
            .into_iter()
            .find(|(_, module)| all.contains_key(module))?;
        if module == room {
            return again.get(*at.get(n)?).cloned();
        }
        Some(module)
    };
    all.iter()
        .filter(|(module, _)| *module != room)
        .map(|(module, text)| {
            let used = paths(text)
                .into_iter()
                .filter_map(|path| target(module, &path));
            (
                module.clone(),
                used.filter(|other| other != module).collect(),
            )
        })
        .collect()
}

/// Everything that can be reached from a module.
fn reached<'a>(from: &'a str, edges: &'a BTreeMap<String, BTreeSet<String>>) -> BTreeSet<&'a str> {
    let (mut found, mut open) = (BTreeSet::new(), vec![from]);
    while let Some(module) = open.pop() {
        for next in edges.get(module).into_iter().flatten() {
            if found.insert(next.as_str()) {
                open.push(next);
            }
        }
    }
    found
}

/// The groups of files that use each other, directly or through others.
fn circles(room: &str) -> BTreeSet<BTreeSet<String>> {
    let edges = edges(room, &modules(room));
    let mut found = BTreeSet::new();
    for module in edges.keys() {
        let ahead = reached(module, &edges);
        let circle: BTreeSet<String> = ahead
            .iter()
            .filter(|other| reached(other, &edges).contains(module.as_str()))
            .map(|other| (*other).to_owned())
            .collect();
        if circle.len() > 1 {
            found.insert(circle);
        }
    }
    found
}

/// A file can be read without those that use it: two that belong together may know each other, no more.
#[test]
fn no_circle_is_larger_than_two_files() {
    for room in [
        "groove",
        "engine",
        "project",
        "editor",
        "midi",
        "recorder",
        "transport",
    ] {
        for circle in circles(room) {
            assert!(circle.len() <= 2, "a circle in {room}: {circle:?}");
        }
    }
}

/// The check sees what it is to see.
#[test]
fn a_circle_is_found() {
    let tree = "super::{a::{B, c::D}, self}";
    assert_eq!(
        leaves(tree),
        ["super::a::B", "super::a::c::D", "super::self"]
    );
    let texts = [
        ("room", "pub use a::A;"),
        ("room::a", "use super::b::B;"),
        ("room::b", "use crate::room::c::C;"),
        ("room::c", "fn c() { super::A::new() }"),
        ("room::d", "use super::a::A;"),
    ];
    let all = texts.map(|(module, text)| (module.to_owned(), text.to_owned()));
    let edges = edges("room", &all.into_iter().collect());
    let around = |module| reached(module, &edges).contains(module);
    assert!(around("room::a") && around("room::b") && around("room::c"));
    assert!(!around("room::d"));
}

//! Which crates are part of what is shipped, under which licence each is taken, and the text of that licence.

use anyhow::{Context, Result, bail, ensure};
use cargo_metadata::{DependencyKind, Metadata, MetadataCommand, Package, PackageId};
use spdx::{Expression, Licensee, ParseMode};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// The licences that we take, in the order in which we prefer them: those of the file that `cargo deny` reads.
const ALLOWED: &str = include_str!("../../../.cargo/deny.toml");

/// A crate that is part of what is shipped.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: String,
    /// What it offers, as an SPDX expression.
    pub offered: String,
    /// What we take of it: SPDX names.
    pub taken: Vec<String>,
    /// Where its source is.
    pub source: String,
    /// The numbers of its texts in [`List::texts`].
    pub texts: Vec<usize>,
}

/// Everything that is shipped and not ours.
#[derive(Debug, Default)]
pub struct List {
    /// In the order of their names and versions.
    pub entries: Vec<Entry>,
    /// Every text once.
    pub texts: Vec<String>,
}

/// What `cargo metadata` says of the program with its window, for one target.
///
/// # Errors
/// Where cargo fails, for example without a network before the crates were ever fetched.
pub fn metadata(target: &str) -> Result<Metadata> {
    let options = ["--locked", "--filter-platform", target];
    MetadataCommand::new()
        .manifest_path(crate::root().join("Cargo.toml"))
        .features(cargo_metadata::CargoOpt::SomeFeatures(vec![
            "standalone".to_owned(),
        ]))
        .other_options(options.map(str::to_owned))
        .exec()
        .with_context(|| {
            format!("could not ask which crates are shipped for {target}: `cargo fetch` first")
        })
}

/// Makes the list for some targets.
///
/// # Errors
/// Where cargo fails, a source can't be read, or a crate offers no licence that we take.
pub fn list(targets: &[String]) -> Result<List> {
    let mut packages = BTreeMap::new();
    for target in targets {
        let metadata = metadata(target)?;
        for package in shipped(&metadata)? {
            let key = (package.name.to_string(), package.version.to_string());
            packages.insert(key, package.clone());
        }
    }
    let allowed = allowed()?;
    let mut list = List::default();
    for package in packages.into_values() {
        list.add(&package, &allowed)?;
    }
    list.add_standard_library()?;
    Ok(list)
}

/// The packages that the plugin and the program are linked from: what `fourlimb` needs to run, and what that needs.
/// What only builds or tests is left out.
fn shipped(metadata: &Metadata) -> Result<Vec<&Package>> {
    let resolve = metadata.resolve.as_ref().context("nothing was resolved")?;
    let nodes: BTreeMap<_, _> = resolve.nodes.iter().map(|node| (&node.id, node)).collect();
    let root = metadata
        .workspace_packages()
        .into_iter()
        .find(|package| package.name.as_str() == "fourlimb")
        .context("the workspace has no package `fourlimb`")?;
    let mut seen: BTreeSet<&PackageId> = BTreeSet::from([&root.id]);
    let mut left = vec![&root.id];
    while let Some(id) = left.pop() {
        for needed in &nodes.get(id).context("a package is not resolved")?.deps {
            let runs = |kind: &cargo_metadata::DepKindInfo| kind.kind == DependencyKind::Normal;
            if needed.dep_kinds.iter().any(runs) && seen.insert(&needed.pkg) {
                left.push(&needed.pkg);
            }
        }
    }
    let others = metadata.packages.iter();
    Ok(others
        .filter(|package| seen.contains(&package.id) && package.id != root.id)
        .collect())
}

/// The licences that we take.
fn allowed() -> Result<Vec<Licensee>> {
    let file: toml::Table = ALLOWED.parse().context("deny.toml can't be read")?;
    let names = file
        .get("licenses")
        .and_then(|part| part.get("allow"))
        .and_then(toml::Value::as_array)
        .context("deny.toml allows no licences")?;
    names
        .iter()
        .map(|name| {
            let name = name
                .as_str()
                .context("a licence in deny.toml has no name")?;
            Licensee::parse(name).with_context(|| format!("deny.toml: {name}"))
        })
        .collect()
}

/// What we take of what a package offers.
fn taken(offered: &str, allowed: &[Licensee]) -> Result<Vec<String>> {
    let expression = Expression::parse_mode(offered, ParseMode::LAX)
        .with_context(|| format!("`{offered}` is no licence expression"))?;
    let taken = expression
        .minimized_requirements(allowed)
        .map_err(|_| anyhow::anyhow!("we take none of its licences ({offered})"))?;
    Ok(taken.iter().map(ToString::to_string).collect())
}

impl List {
    fn add(&mut self, package: &Package, allowed: &[Licensee]) -> Result<()> {
        let of = || format!("{} {}", package.name, package.version);
        let offered = package
            .license
            .clone()
            .with_context(|| format!("{} names no licence", of()))?;
        let taken = taken(&offered, allowed).with_context(of)?;
        let folder = package
            .manifest_path
            .parent()
            .with_context(|| format!("{} has no folder", of()))?;
        let mut texts = BTreeSet::new();
        let mut covered = BTreeSet::new();
        for file in licence_files(folder.as_std_path())? {
            let bytes = fs::read(&file).with_context(|| format!("{}", file.display()))?;
            let text = String::from_utf8_lossy(&bytes);
            let found = recognised(&text);
            if found.is_empty() || found.iter().any(|name| taken.iter().any(|t| t == name)) {
                covered.extend(found);
                texts.insert(self.number(&text));
            }
        }
        for name in &taken {
            if !covered.contains(name.as_str()) {
                let by = if package.authors.is_empty() {
                    format!("the authors of {}", package.name)
                } else {
                    package.authors.join(", ")
                };
                texts.insert(self.number(&standard(name, &by)?));
            }
        }
        let source = package.repository.clone().or(package.homepage.clone());
        self.entries.push(Entry {
            name: package.name.to_string(),
            version: package.version.to_string(),
            offered,
            taken,
            source: source.unwrap_or_else(|| "its registry".to_owned()),
            texts: texts.into_iter().collect(),
        });
        Ok(())
    }

    /// Rust's own library is linked in too.
    fn add_standard_library(&mut self) -> Result<()> {
        let name = "MIT".to_owned();
        let text = self.number(&standard(&name, "the authors of Rust")?);
        self.entries.push(Entry {
            name: "Rust's standard library".to_owned(),
            version: crate::package::compiler("release")?,
            offered: "MIT OR Apache-2.0".to_owned(),
            taken: vec![name],
            source: "https://github.com/rust-lang/rust".to_owned(),
            texts: vec![text],
        });
        Ok(())
    }

    /// The number of a text; two that differ in spaces and line breaks alone are one.
    fn number(&mut self, text: &str) -> usize {
        let same = |old: &String| old.split_whitespace().eq(text.split_whitespace());
        let place = self.texts.iter().position(same);
        place.unwrap_or_else(|| {
            self.texts
                .push(text.replace("\r\n", "\n").trim_end().to_owned());
            self.texts.len() - 1
        })
    }

    /// The list as a text.
    pub fn to_text(&self) -> String {
        let mut out = String::from(
            "Fourlimb is made of these open libraries. Each stands with its version, the licence under which we use it, \
             what else it\noffers in brackets, and where its source is. The texts of the licences follow.\n\n",
        );
        for entry in &self.entries {
            let taken = entry.taken.join(" AND ");
            let offered = if taken == entry.offered {
                String::new()
            } else {
                format!(" ({})", entry.offered)
            };
            let _ = writeln!(
                out,
                "{} {}: {taken}{offered}, {}",
                entry.name, entry.version, entry.source
            );
        }
        for (number, text) in self.texts.iter().enumerate() {
            let of = self.entries.iter().filter(|e| e.texts.contains(&number));
            let names: Vec<_> = of.map(|e| format!("{} {}", e.name, e.version)).collect();
            let line = "-".repeat(80);
            let _ = write!(out, "\n{line}\n{}\n{line}\n\n{text}\n", names.join(", "));
        }
        out
    }
}

/// The files in a crate's source that speak of its licences, also of what it carries of others, in order.
fn licence_files(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        let entries =
            fs::read_dir(&folder).with_context(|| format!("reading {}", folder.display()))?;
        let mut paths = entries
            .map(|entry| Ok(entry?.path()))
            .collect::<Result<Vec<_>>>()?;
        paths.sort();
        let has_font = paths.iter().any(|path| has_ending(path, &["ttf", "otf"]));
        for path in paths {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            let name = name.to_lowercase();
            if path.is_dir() {
                if !["tests", "examples", "target"].contains(&&*name) {
                    folders.push(path);
                }
                continue;
            }
            let words = ["licen", "copying", "copyright", "notice", "ofl.", "ufl."];
            let is_named = words.iter().any(|word| name.contains(word));
            let is_plain = has_ending(&path, &["txt", "md"])
                || !name.contains('.')
                || name.rsplit('.').next().is_some_and(|end| {
                    // LICENSE.mit, LICENSE-Apache-2.0_WITH_LLVM-exception
                    is_named && !["rs", "toml", "svg", "png", "html", "json"].contains(&end)
                });
            if is_plain && (is_named || (has_font && has_ending(&path, &["txt"]))) {
                found.push(path);
            }
        }
    }
    found.sort();
    Ok(found)
}

fn has_ending(path: &Path, endings: &[&str]) -> bool {
    let ending = path.extension().unwrap_or_default().to_string_lossy();
    endings.iter().any(|one| ending.eq_ignore_ascii_case(one))
}

/// Words that stand in the text of a licence and of no other one.
const SIGNS: [(&str, &str); 15] = [
    (
        "MIT",
        "the above copyright notice and this permission notice (including the next paragraph) shall be included",
    ),
    (
        "MIT",
        "the above copyright notice and this permission notice shall be included in all copies or substantial portions",
    ),
    ("Apache-2.0", "apache license version 2.0, january 2004"),
    (
        "ISC",
        "with or without fee is hereby granted, provided that the above copyright notice and this permission notice",
    ),
    (
        "0BSD",
        "with or without fee is hereby granted. the software",
    ),
    (
        "BSD-3-Clause",
        "used to endorse or promote products derived",
    ),
    ("MPL-2.0", "mozilla public license version 2.0"),
    (
        "Zlib",
        "altered source versions must be plainly marked as such",
    ),
    ("Unicode-3.0", "unicode license v3"),
    ("OFL-1.1", "sil open font license version 1.1"),
    ("Ubuntu-font-1.0", "ubuntu font licence version 1.0"),
    (
        "Unlicense",
        "this is free and unencumbered software released into the public domain",
    ),
    ("BSL-1.0", "boost software license - version 1.0"),
    ("CC0-1.0", "cc0 1.0 universal"),
    ("GPL-2.0-only", "gnu general public license version 2"),
];

/// The licences whose text this is, by SPDX name; none for a notice.
fn recognised(text: &str) -> BTreeSet<&'static str> {
    let words: Vec<_> = text.split_whitespace().collect();
    let text = words.join(" ").to_lowercase();
    let found = SIGNS.iter().filter(|(_, sign)| text.contains(sign));
    found.map(|(name, _)| *name).collect()
}

/// The text of a licence for a crate that brings none, in the name of those who hold it.
fn standard(name: &str, by: &str) -> Result<String> {
    let Some(id) = spdx::license_id(name) else {
        bail!("`{name}` is no licence that stands alone: its text must come with the crate")
    };
    let text = id.text();
    ensure!(!text.trim().is_empty(), "the text of {name} is not known");
    // What is to be filled in.
    let mut text = text.to_owned();
    for (year, holder) in [("<year>", "<copyright holders>"), ("<year>", "<owner>")] {
        text = text.replace(&format!("{year} {holder}"), by);
    }
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::process::Command;

    /// What another command of cargo says is linked: name and version.
    fn tree(target: &str) -> BTreeSet<(String, String)> {
        let line = "tree --locked --package fourlimb --edges normal --features standalone --prefix none --format {p}";
        let told = Command::new(crate::cargo())
            .args(line.split_whitespace())
            .args(["--target", target])
            .current_dir(crate::root())
            .output()
            .unwrap();
        assert!(told.status.success(), "{told:?}");
        let text = String::from_utf8(told.stdout).unwrap();
        let package = |line: &str| {
            let mut words = line.split_whitespace();
            let name = words.next()?.to_owned();
            let version = words.next()?.trim_start_matches('v').to_owned();
            (name != "fourlimb").then_some((name, version))
        };
        text.lines().filter_map(package).collect()
    }

    /// Every crate that is linked has an entry, a licence that we take, and that licence's text.
    #[test]
    fn the_list_of_licences_is_complete() {
        let target = crate::package::compiler("host").unwrap();
        let list = list(std::slice::from_ref(&target)).unwrap();
        let allowed = allowed().unwrap();
        let linked = tree(&target);
        assert!(linked.len() > 150, "{}", linked.len());
        for (name, version) in &linked {
            let entry = list
                .entries
                .iter()
                .find(|entry| entry.name == *name && entry.version == *version);
            let entry = entry.unwrap_or_else(|| panic!("{name} {version} is not listed"));
            let expression = Expression::parse_mode(&entry.offered, ParseMode::LAX).unwrap();
            let takes = |req: &spdx::LicenseReq| {
                entry.taken.contains(&req.to_string())
                    && allowed.iter().any(|licence| licence.satisfies(req))
            };
            assert!(expression.evaluate(takes), "{name}: {:?}", entry.taken);
            for taken in &entry.taken {
                let has_it = |number: &usize| recognised(&list.texts[*number]).contains(&**taken);
                assert!(entry.texts.iter().any(has_it), "{name}: no text of {taken}");
            }
        }
        let text = list.to_text();
        for entry in &list.entries {
            let line = format!("\n{} {}: ", entry.name, entry.version);
            assert!(text.contains(&line), "{line}");
        }
        for (number, text) in list.texts.iter().enumerate() {
            let is_used = |entry: &Entry| entry.texts.contains(&number);
            assert!(list.entries.iter().any(is_used), "{text}");
            assert!(!text.contains("<year>"), "{text}");
        }
    }

    /// What we don't take is refused, whatever else it is joined with.
    #[test]
    fn a_licence_that_we_do_not_take_is_refused() {
        let allowed = allowed().unwrap();
        assert_eq!(taken("GPL-2.0-only OR MIT", &allowed).unwrap(), ["MIT"]);
        assert_eq!(taken("MIT/Apache-2.0", &allowed).unwrap(), ["MIT"]);
        let both = taken("(MIT OR Apache-2.0) AND Unicode-3.0", &allowed).unwrap();
        assert_eq!(both, ["MIT", "Unicode-3.0"]);
        for offered in ["GPL-3.0-only", "MIT AND AGPL-3.0-only", "a licence"] {
            let error = taken(offered, &allowed).unwrap_err().to_string();
            assert!(error.contains(offered), "{error}");
        }
    }
}

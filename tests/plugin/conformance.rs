//! What any host may ask of the plugin: the questions of the standards, in order and out of it. Whatever is random
//! has a seed, and a failure names it.
//!
//! The library that is linked into this test is asked, or the one that is named by
//! `FOURLIMB_TEST_VST3`, a bundle or the file in it, which is loaded as a host of VST3 loads it, and as one of CLAP.
//! `cargo xtask conformance` builds the bundle and asks it everything.

mod blocks;
mod children;
mod dialects;
mod identity;
mod keys;
mod loading;
mod order;
mod params;
mod seeds;
mod states;
mod windows;

use anyhow::Result;
use clack_host::prelude::PluginEntry;
use hosting::host::{Host, NoteDialects};
use hosting::vst3::library::Library;
use std::ffi::c_void;
use std::path::{Path, PathBuf};

/// The library to ask.
fn library() -> Library {
    if let Some(path) = named() {
        return Library::load(&path).unwrap();
    }
    linked()
}

/// An instance of it in the CLAP host. A library that is named goes with it, and its sound is there from the first
/// block on, as where a host renders a file.
fn clap_host() -> Host {
    let Some(path) = named() else {
        return crate::host();
    };
    let mut host = Host::new(&clap_entry(&path).unwrap()).unwrap();
    host.render_offline().unwrap();
    host
}

/// The same in a host that says which dialects of notes it reads.
fn clap_host_that_reads(dialects: NoteDialects) -> Host {
    let entry = named().map_or_else(crate::entry, |path| clap_entry(&path).unwrap());
    Host::that_reads(&entry, dialects).unwrap()
}

/// The entry of a library, loaded as a host of CLAP does.
#[expect(unsafe_code, reason = "a library is loaded")]
fn clap_entry(path: &Path) -> Result<PluginEntry> {
    // SAFETY: the library is one of this project's.
    Ok(unsafe { PluginEntry::load(path) }?)
}

#[expect(unsafe_code, reason = "the factory comes by its address")]
fn linked() -> Library {
    extern "system" fn get<T>() -> *mut T {
        let factory: *mut c_void = fourlimb::entry::GetPluginFactory();
        factory.cast()
    }
    // SAFETY: the framework's function gives a factory with a reference of ours.
    unsafe { Library::linked(get) }.unwrap()
}

/// The library that the environment names.
fn named() -> Option<PathBuf> {
    let named = PathBuf::from(std::env::var_os("FOURLIMB_TEST_VST3")?);
    if named.is_file() {
        return Some(named);
    }
    let folders = std::fs::read_dir(named.join("Contents"))
        .unwrap_or_else(|error| panic!("FOURLIMB_TEST_VST3 names no bundle: {error}"));
    let inside = folders.flat_map(|folder| std::fs::read_dir(folder.unwrap().path()));
    let mut files = inside.flatten().map(|file| file.unwrap().path());
    let library = files.find(|file| file.extension().is_some_and(|ext| ext == "so"));
    Some(library.expect("the bundle has a library for Linux"))
}

//! What the host says of the dialects of notes that it reads (`clap/ext/note-ports.h`).
//!
//! clack-extensions 0.2 has this extension too, but gives the plugin the address of an address: a plugin that asks it
//! ends with a memory fault.

#![expect(unsafe_code, reason = "the plugin asks through a C structure")]

use crate::handlers::Handlers;
use clack_extensions::note_ports::NoteDialects;
use clack_host::extensions::prelude::*;
use std::ffi::CStr;

/// The host's side of the extension.
#[derive(Clone, Copy)]
pub(crate) struct HostDialects;

// SAFETY: the identifier is the standard's.
unsafe impl Extension for HostDialects {
    const IDENTIFIERS: &'static [&'static CStr] = &[c"clap.note-ports"];
    type ExtensionSide = HostExtensionSide;

    unsafe fn from_raw(_: RawExtension<Self::ExtensionSide>) -> Self {
        Self
    }
}

/// `clap_host_note_ports`.
#[repr(C)]
struct NotePorts {
    supported_dialects: unsafe extern "C" fn(*const clap_host) -> u32,
    rescan: unsafe extern "C" fn(*const clap_host, u32),
}

// SAFETY: the structure has the members of the standard's, in their order.
unsafe impl ExtensionImplementation<Handlers> for HostDialects {
    const IMPLEMENTATION: RawExtensionImplementation =
        RawExtensionImplementation::new(&NotePorts {
            supported_dialects,
            rescan,
        });
}

unsafe extern "C" fn supported_dialects(host: *const clap_host) -> u32 {
    // SAFETY: the plugin gives back the host that it was given.
    let dialects = unsafe {
        HostWrapper::<Handlers>::handle(host, |host| {
            Ok(host.shared().reads.map(|reads: NoteDialects| reads.bits()))
        })
    };
    dialects.flatten().unwrap_or_default()
}

unsafe extern "C" fn rescan(_: *const clap_host, _: u32) {}

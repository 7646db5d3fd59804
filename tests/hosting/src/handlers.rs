//! What the plugin may ask of the host.

use crate::dialects::HostDialects;
use clack_extensions::gui::{GuiSize, HostGui, HostGuiImpl};
use clack_extensions::note_ports::NoteDialects;
use clack_extensions::params::{
    HostParams, HostParamsImplMainThread, HostParamsImplShared, ParamClearFlags, ParamRescanFlags,
};
use clack_host::prelude::*;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering::Relaxed};

/// What it asked for. Any thread.
#[derive(Default)]
pub(crate) struct Shared {
    /// To be called on the main thread.
    pub(crate) callback: AtomicBool,
    /// It says that its window is gone.
    pub(crate) window_is_gone: AtomicBool,
    /// How often it said that values of parameters are others.
    pub(crate) rescans: AtomicUsize,
    /// The dialects of notes that the host says it reads; `None` for one that says nothing.
    pub(crate) reads: Option<NoteDialects>,
}

impl SharedHandler<'_> for Shared {
    fn request_restart(&self) {}
    fn request_process(&self) {}
    fn request_callback(&self) {
        self.callback.store(true, Relaxed);
    }
}

impl HostGuiImpl for Shared {
    fn resize_hints_changed(&self) {}

    /// Any size will do: the parent's window stays as large as it is and shows a part.
    fn request_resize(&self, _: GuiSize) -> Result<(), HostError> {
        Ok(())
    }

    fn request_show(&self) -> Result<(), HostError> {
        Ok(())
    }

    fn request_hide(&self) -> Result<(), HostError> {
        Ok(())
    }

    fn closed(&self, _: bool) {
        self.window_is_gone.store(true, Relaxed);
    }
}

impl HostParamsImplShared for Shared {
    fn request_flush(&self) {}
}

/// The main thread's side.
pub(crate) struct Main<'a> {
    pub(crate) shared: &'a Shared,
}

impl<'a> MainThreadHandler<'a> for Main<'a> {}

impl HostParamsImplMainThread for Main<'_> {
    fn rescan(&self, flags: ParamRescanFlags) {
        if flags.contains(ParamRescanFlags::VALUES) {
            self.shared.rescans.fetch_add(1, Relaxed);
        }
    }

    fn clear(&self, _: ClapId, _: ParamClearFlags) {}
}

/// The host as clack knows it.
pub(crate) struct Handlers;

impl HostHandlers for Handlers {
    type Shared<'a> = Shared;
    type MainThread<'a> = Main<'a>;
    type AudioProcessor<'a> = ();

    fn declare_extensions(builder: &mut HostExtensions<Self>, shared: &Self::Shared<'_>) {
        builder.register::<HostGui>().register::<HostParams>();
        if shared.reads.is_some() {
            builder.register::<HostDialects>();
        }
    }
}

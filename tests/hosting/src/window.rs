//! The plugin's window in a window of the host, under X11. Main thread.

use crate::handlers::Handlers;
use anyhow::{Context, Result, ensure};
use clack_extensions::gui::{
    GuiApiType, GuiConfiguration, GuiSize, PluginGui, Window as ParentWindow,
};
use clack_host::prelude::*;
use std::sync::atomic::Ordering::Relaxed;

/// The plugin's side of the main thread.
pub struct Window<'a> {
    instance: &'a mut PluginInstance<Handlers>,
}

/// Embedded, under X11.
const EMBEDDED: GuiConfiguration = GuiConfiguration {
    api_type: GuiApiType::X11,
    is_floating: false,
};

impl<'a> Window<'a> {
    pub(crate) fn of(instance: &'a mut PluginInstance<Handlers>) -> Self {
        Self { instance }
    }

    /// Does what the plugin asked to have done on the main thread.
    ///
    /// # Errors
    /// Where the plugin said that its window is gone, which nobody asked for.
    pub fn pump(&mut self) -> Result<()> {
        let asked = |instance: &PluginInstance<Handlers>| {
            instance.access_shared_handler(|shared| shared.callback.swap(false, Relaxed))
        };
        if asked(self.instance) {
            self.instance.call_on_main_thread_callback();
        }
        let gone = |shared: &crate::handlers::Shared| shared.window_is_gone.load(Relaxed);
        ensure!(
            !self.instance.access_shared_handler(gone),
            "the plugin says that its window is gone"
        );
        Ok(())
    }

    /// Makes the plugin's window, and returns its width and height in pixels.
    ///
    /// # Errors
    /// Where the plugin has no window for X11, or can't make it.
    pub fn create(&mut self) -> Result<(u32, u32)> {
        let (gui, handle) = self.gui()?;
        ensure!(
            gui.is_api_supported(&handle, EMBEDDED),
            "the plugin has no window for X11"
        );
        gui.create(&handle, EMBEDDED)?;
        let size = gui.get_size(&handle);
        let size = size.context("the plugin does not say how large its window is")?;
        Ok((size.width, size.height))
    }

    /// Puts it into a window of the host, named by its X11 id, and shows it.
    ///
    /// # Errors
    /// Where the plugin can't.
    pub fn show_in(&mut self, parent: u32) -> Result<()> {
        let (gui, handle) = self.gui()?;
        let parent = ParentWindow::from_x11_handle(parent.into());
        #[expect(unsafe_code, reason = "the parent is named by a number")]
        // SAFETY: a number that names no window is answered by the X server with an error.
        unsafe { gui.set_parent(&handle, parent) }?;
        Ok(gui.show(&handle)?)
    }

    /// Gives it another size, as the plugin adjusts it, and returns that: width and height in pixels.
    ///
    /// # Errors
    /// Where the plugin refuses.
    pub fn resize(&mut self, (width, height): (u32, u32)) -> Result<(u32, u32)> {
        let (gui, handle) = self.gui()?;
        let size = gui.adjust_size(&handle, GuiSize { width, height });
        let size = size.context("the plugin does not adjust a size")?;
        gui.set_size(&handle, size)?;
        Ok((size.width, size.height))
    }

    /// Hides and destroys it.
    ///
    /// # Errors
    /// Where the plugin can't hide it.
    pub fn close(&mut self) -> Result<()> {
        let (gui, handle) = self.gui()?;
        gui.hide(&handle)?;
        gui.destroy(&handle);
        Ok(())
    }

    fn gui(&mut self) -> Result<(PluginGui, PluginMainThreadHandle<'_>)> {
        let handle = self.instance.plugin_handle();
        let gui = handle.get_extension::<PluginGui>();
        Ok((gui.context("the plugin has no window")?, handle))
    }
}

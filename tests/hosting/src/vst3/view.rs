//! The plugin's window in a window of the host, under X11, with the host's run loop. Main thread.

#![expect(unsafe_code, reason = "the view and its frame are the foreign side")]

use super::ok;
use anyhow::{Context, Result, ensure};
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use std::cell::RefCell;
use std::marker::PhantomData;
use std::os::fd::BorrowedFd;
use vst3::Steinberg::Linux::{
    IEventHandler, IEventHandlerTrait, IRunLoop, IRunLoopTrait, ITimerHandler,
};
use vst3::Steinberg::{
    IPlugFrame, IPlugFrameTrait, IPlugView, IPlugViewTrait, ViewRect, kInvalidArgument,
    kPlatformTypeX11EmbedWindowID, kResultFalse, kResultOk, tresult,
};
use vst3::{Class, ComPtr, ComRef, ComWrapper};

/// The plugin's window.
pub struct View<'p> {
    own: ComPtr<IPlugView>,
    frame: Frame,
    is_attached: bool,
    plugin: PhantomData<&'p ()>,
}

/// The host's side of it.
enum Frame {
    /// With the run loop that the standard has for Linux.
    Looped(ComWrapper<Looped>),
    /// Without one, as some hosts are.
    Bare(ComWrapper<Bare>),
}

#[derive(Default)]
struct Looped {
    /// Who wants to hear of which file.
    handlers: RefCell<Vec<(ComPtr<IEventHandler>, i32)>>,
}

struct Bare;

impl<'p> View<'p> {
    pub(super) fn new(own: ComPtr<IPlugView>, has_run_loop: bool) -> Result<View<'p>> {
        // SAFETY: the text is the standard's own.
        let answer = unsafe { own.isPlatformTypeSupported(kPlatformTypeX11EmbedWindowID) };
        ok("isPlatformTypeSupported", answer)?;
        let frame = if has_run_loop {
            Frame::Looped(ComWrapper::new(Looped::default()))
        } else {
            Frame::Bare(ComWrapper::new(Bare))
        };
        let interface = match &frame {
            Frame::Looped(frame) => frame.as_com_ref::<IPlugFrame>(),
            Frame::Bare(frame) => frame.as_com_ref::<IPlugFrame>(),
        };
        let interface = interface.context("a frame has its interface")?;
        // SAFETY: the plugin takes a reference of its own.
        ok("setFrame", unsafe { own.setFrame(interface.as_ptr()) })?;
        Ok(View {
            own,
            frame,
            is_attached: false,
            plugin: PhantomData,
        })
    }

    /// Its width and height in pixels.
    ///
    /// # Errors
    /// Where the plugin does not say.
    pub fn size(&self) -> Result<(u32, u32)> {
        let mut rect = rect((0, 0))?;
        // SAFETY: the structure outlives the call.
        ok("getSize", unsafe { self.own.getSize(&raw mut rect) })?;
        let (width, height) = (rect.right - rect.left, rect.bottom - rect.top);
        Ok((width.try_into()?, height.try_into()?))
    }

    /// Puts it into a window of the host, named by its X11 id.
    ///
    /// # Errors
    /// Where the plugin can't.
    pub fn attach(&mut self, parent: u32) -> Result<()> {
        let parent = std::ptr::without_provenance_mut(parent as usize);
        // SAFETY: under X11 the parent is a number that is passed as an address and never read from.
        let answer = unsafe { self.own.attached(parent, kPlatformTypeX11EmbedWindowID) };
        ok("attached", answer)?;
        self.is_attached = true;
        Ok(())
    }

    /// Gives it another size, as the plugin adjusts it, and returns that: width and height in pixels.
    ///
    /// # Errors
    /// Where the plugin refuses.
    pub fn resize(&mut self, size: (u32, u32)) -> Result<(u32, u32)> {
        let mut rect = rect(size)?;
        // SAFETY: the structure outlives both calls.
        unsafe {
            ok(
                "checkSizeConstraint",
                self.own.checkSizeConstraint(&raw mut rect),
            )?;
            ok("onSize", self.own.onSize(&raw mut rect))?;
        }
        Ok((rect.right.try_into()?, rect.bottom.try_into()?))
    }

    /// Runs the host's loop once: whoever waits for a file that can be read is called.
    ///
    /// # Errors
    /// Where the files can't be looked at.
    pub fn pump(&self) -> Result<()> {
        let Frame::Looped(frame) = &self.frame else {
            return Ok(());
        };
        // A handler may register another one.
        let handlers = frame.handlers.borrow().clone();
        for (handler, file) in handlers {
            // SAFETY: the handler keeps its file open for as long as it is registered.
            let borrowed = unsafe { BorrowedFd::borrow_raw(file) };
            let mut asked = [PollFd::new(&borrowed, PollFlags::IN)];
            let at_once = Timespec::default();
            if poll(&mut asked, Some(&at_once))? > 0 {
                // SAFETY: the handler is alive, since we hold it.
                unsafe { handler.onFDIsSet(file) };
            }
        }
        Ok(())
    }

    /// Takes it out of the host's window.
    ///
    /// # Errors
    /// Where the plugin can't.
    pub fn remove(&mut self) -> Result<()> {
        ensure!(self.is_attached, "the window is not attached");
        self.is_attached = false;
        // SAFETY: it was attached.
        ok("removed", unsafe { self.own.removed() })
    }
}

impl Drop for View<'_> {
    fn drop(&mut self) {
        if self.is_attached {
            // Nothing can be done about a refusal here.
            let _ = self.remove();
        }
        // SAFETY: the plugin lets its reference go.
        unsafe { self.own.setFrame(std::ptr::null_mut()) };
        if let Frame::Looped(frame) = &self.frame {
            frame.handlers.borrow_mut().clear();
        }
    }
}

fn rect((width, height): (u32, u32)) -> Result<ViewRect> {
    Ok(ViewRect {
        left: 0,
        top: 0,
        right: width.try_into()?,
        bottom: height.try_into()?,
    })
}

/// Gives the view the size that it asks for: the host's window stays as it is and shows a part.
unsafe fn give(view: *mut IPlugView, size: *mut ViewRect) -> tresult {
    // SAFETY: the plugin gave its view, or null.
    let Some(view) = (unsafe { ComRef::from_raw(view) }) else {
        return kInvalidArgument;
    };
    // SAFETY: the plugin gave the address of a size.
    unsafe { view.onSize(size) }
}

impl Class for Bare {
    type Interfaces = (IPlugFrame,);
}

impl IPlugFrameTrait for Bare {
    unsafe fn resizeView(&self, view: *mut IPlugView, size: *mut ViewRect) -> tresult {
        // SAFETY: handed on as it came.
        unsafe { give(view, size) }
    }
}

impl Class for Looped {
    type Interfaces = (IPlugFrame, IRunLoop);
}

impl IPlugFrameTrait for Looped {
    unsafe fn resizeView(&self, view: *mut IPlugView, size: *mut ViewRect) -> tresult {
        // SAFETY: handed on as it came.
        unsafe { give(view, size) }
    }
}

impl IRunLoopTrait for Looped {
    unsafe fn registerEventHandler(&self, handler: *mut IEventHandler, file: i32) -> tresult {
        // SAFETY: the plugin gave its handler, or null; we take a reference of our own.
        let Some(handler) = (unsafe { ComRef::from_raw(handler) }) else {
            return kInvalidArgument;
        };
        let mut handlers = self.handlers.borrow_mut();
        handlers.push((handler.to_com_ptr(), file));
        kResultOk
    }

    unsafe fn unregisterEventHandler(&self, handler: *mut IEventHandler) -> tresult {
        let mut handlers = self.handlers.borrow_mut();
        let before = handlers.len();
        handlers.retain(|(known, _)| known.as_ptr() != handler);
        if handlers.len() < before {
            kResultOk
        } else {
            kResultFalse
        }
    }

    unsafe fn registerTimer(&self, _: *mut ITimerHandler, _: u64) -> tresult {
        kResultFalse
    }

    unsafe fn unregisterTimer(&self, _: *mut ITimerHandler) -> tresult {
        kResultFalse
    }
}

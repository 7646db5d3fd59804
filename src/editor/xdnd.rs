//! The drag-and-drop protocol of X11, XDND version 5 as freedesktop.org publishes it, on a connection of our own: the
//! framework's window can neither drag nor, through its egui, be dropped on.
//!
//! - [`source`]: a file is dragged out
//! - [`target`]: files are dropped in, through the protocol's own proxies
//! - [`uri`]: how both sides name files
//!
//! Blocks on the X server: for threads of their own.

pub mod source;
pub mod target;
pub mod uri;

use x11rb::connection::Connection;
use x11rb::errors::{ConnectError, ConnectionError, ReplyError, ReplyOrIdError};
use x11rb::protocol::xproto::{
    Atom, AtomEnum, ClientMessageEvent, ConnectionExt as _, CreateWindowAux, EventMask, PropMode,
    Window, WindowClass,
};
use x11rb::rust_connection::RustConnection;
use x11rb::wrapper::ConnectionExt as _;

/// The version of the protocol that we speak, and the oldest that others may speak: 3 is the first with the message
/// that a drop was taken.
const VERSIONS: (u32, u32) = (5, 3);

x11rb::atom_manager! {
    /// The names that the protocol uses.
    Atoms:
    /// Names that were asked for.
    AtomsCookie {
        XdndAware,
        XdndProxy,
        XdndEnter,
        XdndPosition,
        XdndStatus,
        XdndLeave,
        XdndDrop,
        XdndFinished,
        XdndSelection,
        XdndTypeList,
        XdndActionCopy,
        TARGETS,
        UriList: b"text/uri-list",
    }
}

/// Nothing can be dragged. Each message says why.
#[derive(Debug, thiserror::Error)]
pub enum XdndError {
    /// There is no X server, as where a desktop shows windows in another way.
    #[error("there is no X server to drag over: {0}")]
    NoServer(#[from] ConnectError),
    /// It went away.
    #[error("the X server went away: {0}")]
    Gone(#[from] ConnectionError),
    /// It refused something.
    #[error("the X server refused: {0}")]
    Refused(#[from] ReplyError),
    /// It has no number left for a window.
    #[error("the X server gave no window: {0}")]
    NoWindow(#[from] ReplyOrIdError),
    /// Another program drags at the same time.
    #[error("another program is dragging something")]
    Taken,
}

/// A connection to the X server.
struct Link {
    x: RustConnection,
    root: Window,
    atoms: Atoms,
}

impl Link {
    fn new() -> Result<Self, XdndError> {
        let (x, screen) = x11rb::connect(None)?;
        // `connect` has checked that there is such a screen.
        let root = x.setup().roots.get(screen).map_or(0, |screen| screen.root);
        let atoms = Atoms::new(&x)?.reply()?;
        Ok(Self { x, root, atoms })
    }

    /// A window of ours that nobody sees: an address for messages.
    fn address(&self) -> Result<Window, XdndError> {
        let window = self.x.generate_id()?;
        let aux = CreateWindowAux::new().event_mask(EventMask::PROPERTY_CHANGE);
        self.x
            .create_window(
                0,
                window,
                self.root,
                -1,
                -1,
                1,
                1,
                0,
                WindowClass::INPUT_ONLY,
                x11rb::COPY_FROM_PARENT,
                &aux,
            )?
            .check()?;
        Ok(window)
    }

    /// Sends a message about the window `about` to `to`, which is the same or its proxy.
    fn send(
        &self,
        (to, about): (Window, Window),
        kind: Atom,
        data: [u32; 5],
    ) -> Result<(), XdndError> {
        let message = ClientMessageEvent::new(32, about, kind, data);
        // A window that is gone is an error in the stream of events, which nobody minds.
        self.x
            .send_event(false, to, EventMask::NO_EVENT, message)?
            .ignore_error();
        self.x.flush()?;
        Ok(())
    }

    /// The numbers of a property; none where there is none, or the window is gone.
    fn numbers(
        &self,
        window: Window,
        property: Atom,
        kind: AtomEnum,
    ) -> Result<Vec<u32>, XdndError> {
        let asked = self
            .x
            .get_property(false, window, property, kind, 0, 1024)?;
        let there = there(asked.reply())?;
        let numbers = there.and_then(|reply| reply.value32().map(Iterator::collect));
        Ok(numbers.unwrap_or_default())
    }

    fn number(
        &self,
        window: Window,
        property: Atom,
        kind: AtomEnum,
    ) -> Result<Option<u32>, XdndError> {
        Ok(self.numbers(window, property, kind)?.first().copied())
    }

    fn set(
        &self,
        window: Window,
        property: Atom,
        kind: AtomEnum,
        number: u32,
    ) -> Result<(), XdndError> {
        self.x
            .change_property32(PropMode::REPLACE, window, property, kind, &[number])?
            .ignore_error();
        Ok(())
    }
}

impl Drop for Link {
    /// The server may drop what a client that closes sent last: it is waited for.
    fn drop(&mut self) {
        // One that is gone has nothing to wait for.
        let _ = self.x.sync();
    }
}

/// What the X server answered; `None` where it was asked about what is gone.
fn there<T>(reply: Result<T, ReplyError>) -> Result<Option<T>, XdndError> {
    match reply {
        Ok(reply) => Ok(Some(reply)),
        Err(ReplyError::X11Error(_)) => Ok(None),
        Err(ReplyError::ConnectionError(error)) => Err(error.into()),
    }
}

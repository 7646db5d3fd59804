//! A file is dragged out: while the button is held, the window under the pointer is told, and where the button is let go
//! over one that takes files, it gets the file's address.
//!
//! The framework's window has the pointer while the button is held, so that it can't be grabbed a second time; where it is
//! and whether the button is held is asked for instead.

use super::{Link, VERSIONS, XdndError, there, uri};
use std::path::PathBuf;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, Instant};
use x11rb::connection::Connection;
use x11rb::protocol::Event;
use x11rb::protocol::xproto::{
    Atom, AtomEnum, ConnectionExt as _, EventMask, KeyButMask, PropMode, QueryPointerReply,
    SelectionNotifyEvent, SelectionRequestEvent, Timestamp, Window,
};
use x11rb::wrapper::ConnectionExt as _;

/// Between two looks at the pointer. Judged: half of a screen's picture at 60 Hz.
const TICK: Duration = Duration::from_millis(8);
/// A window that has not answered so long after it was told where the pointer is, is told anew, or left. Judged.
const ANSWER: Duration = Duration::from_millis(800);
/// A window on which the file was dropped has so long to take it. Judged: a program may ask its user first.
const TAKE: Duration = Duration::from_secs(30);
/// The symbol of the escape key (keysymdef.h of the X protocol).
const ESCAPE: u32 = 0xff1b;
/// No time of the server.
const NONE: u32 = 0;

/// The file that is dragged: its path once it is written, `None` where it could not be.
pub type File = OnceLock<Option<PathBuf>>;

/// How a drag ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// A window took the file.
    Taken,
    /// It was let go where no window takes files.
    Nowhere,
    /// The user pressed escape, or the instance goes.
    Cancelled,
}

/// The window under the pointer that takes part in the protocol.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Target {
    window: Window,
    /// Where messages to it go: to itself, or to its proxy.
    to: Window,
    version: u32,
}

/// A drag that goes on.
struct Drag<'a> {
    link: Link,
    /// The window that messages come from.
    from: Window,
    /// The plugin's window, on which nothing is dropped.
    own: Window,
    /// Since when the file is offered, in the server's time.
    since: Timestamp,
    file: &'a File,
    target: Option<Target>,
    /// Where the target was last told that the pointer is.
    told: Option<(i16, i16)>,
    /// Since when its answer is waited for.
    asked: Option<Instant>,
    /// It would take the file.
    accepts: bool,
    /// How it took the file, once it has.
    finished: Option<bool>,
    /// Who wants the file before it is written.
    waiting: Vec<SelectionRequestEvent>,
}

/// Drags a file from the plugin's window `own` for as long as the button is held, and until it is taken. Returns within
/// some tens of milliseconds after `stop` is set. A thread of its own.
///
/// # Errors
/// [`XdndError`]; whatever window was told of a drag learns that it is over.
pub fn drag(own: Window, file: &File, stop: &AtomicBool) -> Result<Ended, XdndError> {
    let mut drag = Drag::new(own, file)?;
    let escape = drag.escape()?;
    loop {
        drag.heed()?;
        let pointer = drag.link.x.query_pointer(drag.link.root)?.reply()?;
        if stop.load(Ordering::Acquire) || drag.is_pressed(escape)? {
            drag.leave()?;
            return Ok(Ended::Cancelled);
        }
        drag.point(&pointer)?;
        if !pointer.mask.contains(KeyButMask::BUTTON1) {
            return drag.let_go((pointer.root_x, pointer.root_y), stop);
        }
        thread::sleep(TICK);
    }
}

impl<'a> Drag<'a> {
    fn new(own: Window, file: &'a File) -> Result<Self, XdndError> {
        let link = Link::new()?;
        let from = link.address()?;
        let since = now(&link, from)?;
        let selection = link.atoms.XdndSelection;
        link.x.set_selection_owner(from, selection, since)?;
        if link.x.get_selection_owner(selection)?.reply()?.owner != from {
            return Err(XdndError::Taken);
        }
        Ok(Self {
            link,
            from,
            own,
            since,
            file,
            target: None,
            told: None,
            asked: None,
            accepts: false,
            finished: None,
            waiting: Vec::new(),
        })
    }

    /// The code of the escape key, where there is one.
    fn escape(&self) -> Result<Option<u8>, XdndError> {
        let setup = self.link.x.setup();
        let (first, last) = (setup.min_keycode, setup.max_keycode);
        let asked = self.link.x.get_keyboard_mapping(first, last - first + 1)?;
        let map = asked.reply()?;
        let each = usize::from(map.keysyms_per_keycode).max(1);
        let place = map
            .keysyms
            .chunks(each)
            .position(|key| key.contains(&ESCAPE));
        let code = place.and_then(|place| u8::try_from(place).ok());
        Ok(code.map(|code| first.saturating_add(code)))
    }

    fn is_pressed(&self, key: Option<u8>) -> Result<bool, XdndError> {
        let Some(key) = key else {
            return Ok(false);
        };
        let pressed = self.link.x.query_keymap()?.reply()?.keys;
        let byte = pressed.get(usize::from(key / 8)).copied();
        Ok(byte.is_some_and(|byte| byte & (1 << (key % 8)) != 0))
    }

    /// Tells the window under the pointer where it is, and the one before it that it left.
    fn point(&mut self, pointer: &QueryPointerReply) -> Result<(), XdndError> {
        let target = self.under(pointer)?;
        if target != self.target {
            self.leave()?;
            self.target = target;
            self.enter()?;
        }
        let at = (pointer.root_x, pointer.root_y);
        let waits = self.asked.is_some_and(|asked| asked.elapsed() < ANSWER);
        if self.told != Some(at) && !waits {
            self.position(at)?;
        }
        Ok(())
    }

    /// The outermost window under the pointer that takes part; none over the plugin's own.
    fn under(&self, pointer: &QueryPointerReply) -> Result<Option<Target>, XdndError> {
        let mut found = self.takes_part(self.link.root)?;
        let mut child = pointer.child;
        let mut outermost = true;
        while child != NONE {
            if child == self.own {
                return Ok(None);
            }
            if outermost && let Some(target) = self.takes_part(child)? {
                // The desktop's proxy counts where no window lies over it.
                found = Some(target);
                outermost = false;
            } else if outermost {
                found = None;
            }
            let asked = self.link.x.query_pointer(child)?;
            child = there(asked.reply())?.map_or(NONE, |reply| reply.child);
        }
        Ok(found)
    }

    /// The window as a target, where it says that it takes part.
    fn takes_part(&self, window: Window) -> Result<Option<Target>, XdndError> {
        let atoms = &self.link.atoms;
        let proxy = |window| self.link.number(window, atoms.XdndProxy, AtomEnum::WINDOW);
        let mut to = window;
        // A proxy that outlived its program does not name itself.
        if let Some(other) = proxy(window)?
            && proxy(other)? == Some(other)
        {
            to = other;
        }
        let version = self.link.number(to, atoms.XdndAware, AtomEnum::ATOM)?;
        let version = version.filter(|version| *version >= VERSIONS.1);
        Ok(version.map(|version| Target {
            window,
            to,
            version: version.min(VERSIONS.0),
        }))
    }

    fn send(&self, kind: Atom, data: [u32; 4]) -> Result<(), XdndError> {
        let Some(target) = self.target else {
            return Ok(());
        };
        let [a, b, c, d] = data;
        let about = (target.to, target.window);
        self.link.send(about, kind, [self.from, a, b, c, d])
    }

    fn enter(&mut self) -> Result<(), XdndError> {
        let version = self.target.map_or(0, |target| target.version);
        let atoms = &self.link.atoms;
        self.send(atoms.XdndEnter, [version << 24, atoms.UriList, NONE, NONE])
    }

    fn position(&mut self, at: (i16, i16)) -> Result<(), XdndError> {
        let part = |part: i16| u32::from(part.max(0).unsigned_abs());
        let atoms = &self.link.atoms;
        let place = part(at.0) << 16 | part(at.1);
        self.send(
            atoms.XdndPosition,
            [0, place, self.since, atoms.XdndActionCopy],
        )?;
        self.told = Some(at);
        self.asked = self.target.map(|_| Instant::now());
        Ok(())
    }

    fn leave(&mut self) -> Result<(), XdndError> {
        self.send(self.link.atoms.XdndLeave, [0; 4])?;
        (self.target, self.told, self.asked) = (None, None, None);
        self.accepts = false;
        Ok(())
    }

    /// The button was let go at a place.
    fn let_go(mut self, at: (i16, i16), stop: &AtomicBool) -> Result<Ended, XdndError> {
        let goes_on = |until: Instant| Instant::now() < until && !stop.load(Ordering::Acquire);
        let until = Instant::now() + ANSWER;
        while self.target.is_some() && goes_on(until) {
            if self.asked.is_none() {
                if self.told == Some(at) {
                    break;
                }
                self.position(at)?;
            }
            thread::sleep(TICK);
            self.heed()?;
        }
        if !self.accepts {
            self.leave()?;
            return Ok(Ended::Nowhere);
        }
        self.send(self.link.atoms.XdndDrop, [0, self.since, 0, 0])?;
        let until = Instant::now() + TAKE;
        while self.finished.is_none() && goes_on(until) {
            thread::sleep(TICK);
            self.heed()?;
        }
        // One that says nothing has had what it asked for.
        Ok(match self.finished {
            Some(false) => Ended::Nowhere,
            _ => Ended::Taken,
        })
    }

    /// Takes up what other windows said meanwhile.
    fn heed(&mut self) -> Result<(), XdndError> {
        while let Some(event) = self.link.x.poll_for_event()? {
            match event {
                Event::ClientMessage(message) if message.format == 32 => {
                    let data = message.data.as_data32();
                    self.answer(message.type_, data);
                }
                Event::SelectionRequest(request) => self.waiting.push(request),
                _ => {}
            }
        }
        if let Some(file) = self.file.get()
            && !self.waiting.is_empty()
        {
            let list = file.as_deref().map(uri::list_of);
            for request in std::mem::take(&mut self.waiting) {
                self.give(&request, list.as_deref())?;
            }
        }
        Ok(())
    }

    /// The target's answer; that of a window that was left no longer counts.
    fn answer(&mut self, kind: Atom, data: [u32; 5]) {
        let Some(target) = self.target.filter(|target| target.window == data[0]) else {
            return;
        };
        if kind == self.link.atoms.XdndStatus {
            self.asked = None;
            self.accepts = data[1] & 1 != 0;
        } else if kind == self.link.atoms.XdndFinished {
            // Before version 5 it does not say how it ended.
            self.finished = Some(target.version < 5 || data[1] & 1 != 0);
        }
    }

    /// Gives the address of the file, or the types that can be had, or nothing.
    fn give(&self, request: &SelectionRequestEvent, list: Option<&str>) -> Result<(), XdndError> {
        let (x, atoms) = (&self.link.x, &self.link.atoms);
        let mut property = request.property;
        if property == NONE {
            property = request.target;
        }
        let window = request.requestor;
        if request.target == atoms.UriList
            && let Some(list) = list
        {
            let bytes = list.as_bytes();
            x.change_property8(PropMode::REPLACE, window, property, atoms.UriList, bytes)?
                .ignore_error();
        } else if request.target == atoms.TARGETS {
            let types = [atoms.TARGETS, atoms.UriList];
            x.change_property32(PropMode::REPLACE, window, property, AtomEnum::ATOM, &types)?
                .ignore_error();
        } else {
            property = NONE;
        }
        let notice = SelectionNotifyEvent {
            response_type: x11rb::protocol::xproto::SELECTION_NOTIFY_EVENT,
            sequence: 0,
            time: request.time,
            requestor: window,
            selection: request.selection,
            target: request.target,
            property,
        };
        x.send_event(false, window, EventMask::NO_EVENT, notice)?
            .ignore_error();
        x.flush()?;
        Ok(())
    }
}

/// The server's time: it says it where a property of a window changes.
fn now(link: &Link, window: Window) -> Result<Timestamp, XdndError> {
    link.set(window, link.atoms.TARGETS, AtomEnum::CARDINAL, 0)?;
    link.x.flush()?;
    loop {
        if let Event::PropertyNotify(notice) = link.x.wait_for_event()?
            && notice.window == window
        {
            return Ok(notice.time);
        }
    }
}

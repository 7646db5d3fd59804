//! Files are dropped in. The framework's window takes part in the protocol and says yes to every drop, but what is dropped
//! gets lost between baseview and egui. The protocol lets a window name a proxy, which then gets its messages: ours.

use super::{Link, VERSIONS, XdndError, there, uri};
use crate::editor::from_system::{FromSystem, Told};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;
use x11rb::connection::Connection as _;
use x11rb::protocol::Event;
use x11rb::protocol::xproto::{
    AtomEnum, ChangeWindowAttributesAux, ConnectionExt as _, EventMask, SelectionNotifyEvent,
    Timestamp, Window,
};

/// Between two looks for messages while nothing is dragged over the window, and while something is. Judged: a source waits
/// that long for each answer.
const REST: [Duration; 2] = [Duration::from_millis(50), Duration::from_millis(8)];
/// The longest list of files that is read, in units of four bytes. Judged: thousands of files; ours is one.
const LONGEST: u32 = 1 << 18;

/// Something is dragged over the window, or was just dropped on it.
#[derive(Debug, Default)]
struct Session {
    source: Window,
    /// It is something that we read.
    is_files: bool,
    /// Where it is, in pixels of the window.
    at: (i16, i16),
    /// The files, once they are known.
    files: Option<Vec<PathBuf>>,
    /// They were asked for.
    asked: bool,
    /// It was let go, and waits for the files to be known.
    dropped: bool,
}

/// A window that is watched.
struct Watch<'a> {
    link: Link,
    window: Window,
    proxy: Window,
    queue: &'a FromSystem,
    session: Option<Session>,
}

/// Watches the window for what is dropped on it, until it is gone, or within some tens of milliseconds after `stop` is set.
/// A thread of its own.
///
/// # Errors
/// [`XdndError`]; nothing can be dropped then.
pub fn watch(window: Window, queue: &FromSystem, stop: &AtomicBool) -> Result<(), XdndError> {
    let mut watch = Watch::new(window, queue)?;
    while !stop.load(Ordering::Acquire) {
        while let Some(event) = watch.link.x.poll_for_event()? {
            if matches!(&event, Event::DestroyNotify(gone) if gone.window == window) {
                return Ok(());
            }
            watch.heed(&event)?;
        }
        thread::sleep(REST[usize::from(watch.session.is_some())]);
    }
    let proxy = watch.link.atoms.XdndProxy;
    watch.link.x.delete_property(window, proxy)?.ignore_error();
    Ok(watch.link.x.flush()?)
}

impl<'a> Watch<'a> {
    fn new(window: Window, queue: &'a FromSystem) -> Result<Self, XdndError> {
        let link = Link::new()?;
        let proxy = link.address()?;
        let atoms = &link.atoms;
        link.set(proxy, atoms.XdndAware, AtomEnum::ATOM, VERSIONS.0)?;
        // A proxy names itself, so that one that is left behind is known by that.
        link.set(proxy, atoms.XdndProxy, AtomEnum::WINDOW, proxy)?;
        let mask = ChangeWindowAttributesAux::new().event_mask(EventMask::STRUCTURE_NOTIFY);
        link.x.change_window_attributes(window, &mask)?.check()?;
        link.set(window, atoms.XdndProxy, AtomEnum::WINDOW, proxy)?;
        link.x.flush()?;
        Ok(Self {
            link,
            window,
            proxy,
            queue,
            session: None,
        })
    }

    fn heed(&mut self, event: &Event) -> Result<(), XdndError> {
        match event {
            Event::ClientMessage(message) if message.format == 32 => {
                let atoms = &self.link.atoms;
                let (kind, data) = (message.type_, message.data.as_data32());
                if kind == atoms.XdndEnter {
                    return self.enter(data);
                }
                if self
                    .session
                    .as_ref()
                    .is_none_or(|now| now.source != data[0])
                {
                    // An answer to whom we know nothing of would only confuse.
                    return Ok(());
                }
                if kind == atoms.XdndPosition {
                    self.position(data)
                } else if kind == atoms.XdndDrop {
                    self.drop(data[2])
                } else {
                    if kind == atoms.XdndLeave {
                        self.end(None);
                    }
                    Ok(())
                }
            }
            Event::SelectionNotify(notice) => self.read(notice),
            _ => Ok(()),
        }
    }

    /// Something came over the window.
    fn enter(&mut self, data: [u32; 5]) -> Result<(), XdndError> {
        let atoms = &self.link.atoms;
        let [source, flags, types @ ..] = data;
        let is_files = if flags & 1 == 0 {
            types.contains(&atoms.UriList)
        } else {
            let types = self
                .link
                .numbers(source, atoms.XdndTypeList, AtomEnum::ATOM)?;
            types.contains(&atoms.UriList)
        };
        self.session = Some(Session {
            source,
            is_files: is_files && flags >> 24 >= VERSIONS.1,
            ..Session::default()
        });
        Ok(())
    }

    /// It moved: says whether it can be dropped.
    fn position(&mut self, data: [u32; 5]) -> Result<(), XdndError> {
        let part = |number: u32| i16::try_from(number & 0xffff).unwrap_or(i16::MAX);
        let (x, y) = (part(data[2] >> 16), part(data[2]));
        let (root, window) = (self.link.root, self.window);
        let asked = self.link.x.translate_coordinates(root, window, x, y)?;
        let at = there(asked.reply())?;
        let Some(session) = &mut self.session else {
            return Ok(());
        };
        if let Some(at) = at {
            session.at = (at.dst_x, at.dst_y);
        }
        let (source, accepts) = (session.source, u32::from(session.is_files));
        if let Some(files) = &session.files {
            self.queue.tell(Told::Over(session.at, files.clone()));
        }
        self.ask(data[3])?;
        let atoms = &self.link.atoms;
        let action = atoms.XdndActionCopy * accepts;
        // Flag 2: we want to hear of every move.
        let answer = [window, accepts | 2, 0, 0, action];
        self.link.send((source, source), atoms.XdndStatus, answer)
    }

    /// Asks for the files, once.
    fn ask(&mut self, time: Timestamp) -> Result<(), XdndError> {
        let (link, proxy) = (&self.link, self.proxy);
        let Some(session) = &mut self.session else {
            return Ok(());
        };
        if session.is_files && !std::mem::replace(&mut session.asked, true) {
            let (kind, name) = (link.atoms.UriList, link.atoms.XdndSelection);
            link.x.convert_selection(proxy, name, kind, name, time)?;
            link.x.flush()?;
        }
        Ok(())
    }

    /// The source gave the files, or not.
    fn read(&mut self, notice: &SelectionNotifyEvent) -> Result<(), XdndError> {
        let (x, proxy) = (&self.link.x, self.proxy);
        let Some(session) = &mut self.session else {
            return Ok(());
        };
        let mut files = Vec::new();
        if notice.property != 0 {
            let asked = x.get_property(true, proxy, notice.property, AtomEnum::ANY, 0, LONGEST)?;
            if let Some(list) = there(asked.reply())?
                && list.type_ == self.link.atoms.UriList
            {
                files = uri::files(&list.value);
            }
        }
        session.is_files &= !files.is_empty();
        let dropped = session.dropped;
        if session.is_files {
            self.queue.tell(Told::Over(session.at, files.clone()));
        }
        session.files = Some(files);
        if dropped { self.finish() } else { Ok(()) }
    }

    /// It was let go.
    fn drop(&mut self, time: Timestamp) -> Result<(), XdndError> {
        self.ask(time)?;
        let Some(session) = &mut self.session else {
            return Ok(());
        };
        session.dropped = true;
        if session.files.is_some() || !session.is_files {
            self.finish()
        } else {
            Ok(())
        }
    }

    /// The files are known, and it was let go: it is over.
    fn finish(&mut self) -> Result<(), XdndError> {
        let Some(session) = self.session.take() else {
            return Ok(());
        };
        let atoms = &self.link.atoms;
        let taken = u32::from(session.is_files);
        let answer = [self.window, taken, atoms.XdndActionCopy * taken, 0, 0];
        let source = (session.source, session.source);
        let sent = self.link.send(source, atoms.XdndFinished, answer);
        let files = session.files.filter(|_| session.is_files);
        self.end(files.map(|files| (session.at, files)));
        sent
    }

    /// It is over: with a drop at a place, or without.
    fn end(&mut self, dropped: Option<((i16, i16), Vec<PathBuf>)>) {
        self.session = None;
        self.queue.tell(match dropped {
            Some((at, files)) => Told::Dropped(at, files),
            None => Told::Left,
        });
    }
}

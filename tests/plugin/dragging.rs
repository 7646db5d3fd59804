//! A region is dragged out of the plugin's real window, and files are dropped on it: with another program's part of the
//! protocol played by the test, under an X server of the test's own (`window.rs` says why, and what it needs).
//!
//! `cargo test --test plugin -- --ignored --nocapture dragging`

pub(super) mod places;

use super::window::{PATIENCE, Server, picture};
use anyhow::{Context as _, Result, bail, ensure};
use fourlimb::editor::text::taken_out as words;
use fourlimb::editor::theme;
use fourlimb::editor::xdnd::uri;
use fourlimb::kit::NoteMap;
use fourlimb::project::dragged::{self, Region};
use fourlimb::riff::Riff;
use fourlimb::settings::Settings;
use fourlimb::song::SongFile;
use fourlimb::time::Meter;
use hosting::host::Host;
use hosting::state::part;
use places::place_of;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use x11rb::connection::Connection;
use x11rb::protocol::Event;
use x11rb::protocol::xproto::{
    Atom, AtomEnum, ClientMessageEvent, ConnectionExt as _, CreateWindowAux, EventMask, PropMode,
    SelectionNotifyEvent, Window, WindowClass,
};
use x11rb::protocol::xtest::ConnectionExt as _;
use x11rb::rust_connection::RustConnection;
use x11rb::wrapper::ConnectionExt as _;

/// Set in the process that has the windows: its folder.
const INSIDE: &str = "FOURLIMB_TEST_DRAGGING";
/// Between two steps of a hand. A hand is slower.
const STEP: Duration = Duration::from_millis(30);
/// A hand rests so long before it presses and before it moves on: a busy machine shows a few frames meanwhile, and a press is
/// one of what the pointer is over in a frame.
const REST: Duration = Duration::from_millis(600);
/// Where the other program's window is, beside the plugin's, in pixels.
const OTHER: (i16, i16) = (1400, 300);
/// A button is pressed: for the extension XTEST, with the number of the event.
pub(super) const PRESS: u8 = 4;
/// A button is let go.
pub(super) const RELEASE: u8 = 5;
/// The pointer moves.
pub(super) const MOVE: u8 = 6;

x11rb::atom_manager! {
    Atoms: AtomsCookie {
        XdndAware, XdndProxy, XdndEnter, XdndPosition, XdndStatus, XdndLeave, XdndDrop, XdndFinished, XdndSelection,
        XdndActionCopy, UriList: b"text/uri-list",
    }
}

/// The phrase is dragged onto another window, which takes it; escape and a place without a window leave nothing behind but
/// the file.
#[test]
#[ignore = "it needs Xvfb, and seconds"]
fn the_phrase_is_dragged_out() {
    inside("dragging::the_phrase_is_dragged_out", drag_out);
}

/// A song becomes the song, a MIDI file on its strip asks what it should become.
#[test]
#[ignore = "it needs Xvfb, and seconds"]
fn files_are_dropped_in() {
    inside("dragging::files_are_dropped_in", drop_in);
}

/// Leaves the window time for a few frames.
pub(super) fn rest() {
    std::thread::sleep(REST);
}

/// Runs a test once more in a process of its own, under an X server of its own.
fn inside(test: &str, body: impl FnOnce(&Path) -> Result<()>) {
    if let Some(folder) = std::env::var_os(INSIDE) {
        body(Path::new(&folder)).unwrap();
        // A window that closed may still have a thread (`window.rs`).
        std::thread::sleep(Duration::from_millis(500));
        return;
    }
    let Some(server) = Server::start() else {
        println!("Skipped: Xvfb is not installed (Debian's package `xvfb`).");
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let status = Command::new(std::env::current_exe().unwrap())
        .args([test, "--exact", "--include-ignored", "--nocapture"])
        .env(INSIDE, folder.path())
        .env("DISPLAY", &server.display)
        .env("FOURLIMB_CONFIG", folder.path())
        .env(dragged::FOLDER, folder.path())
        .env_remove("WAYLAND_DISPLAY")
        .stdin(Stdio::null())
        .status()
        .unwrap();
    assert!(status.success(), "the host ended with {status}");
}

/// What stands for the desktop: the pointer, and a window of another program.
pub(super) struct Desk {
    x: RustConnection,
    root: Window,
    atoms: Atoms,
    /// The host's window, with the plugin's in it.
    parent: Window,
    /// The other program's.
    other: Window,
}

impl Desk {
    pub(super) fn new() -> Result<Self> {
        let (x, screen) = x11rb::connect(None)?;
        let root = x.setup().roots[screen].root;
        let atoms = Atoms::new(&x)?.reply()?;
        let size = theme::WINDOW;
        let (parent, other) = (x.generate_id()?, x.generate_id()?);
        for (window, (left, top), (width, height)) in [
            (parent, (0, 0), (size.x, size.y)),
            (other, OTHER, (100.0, 100.0)),
        ] {
            let aux = CreateWindowAux::new()
                .background_pixel(0)
                .event_mask(EventMask::PROPERTY_CHANGE);
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let (width, height) = (width as u16, height as u16);
            x.create_window(
                x11rb::COPY_DEPTH_FROM_PARENT,
                window,
                root,
                left,
                top,
                width,
                height,
                0,
                WindowClass::INPUT_OUTPUT,
                x11rb::COPY_FROM_PARENT,
                &aux,
            )?
            .check()?;
            x.map_window(window)?.check()?;
        }
        let (mode, kind) = (PropMode::REPLACE, AtomEnum::ATOM);
        x.change_property32(mode, other, atoms.XdndAware, kind, &[5])?
            .check()?;
        Ok(Self {
            x,
            root,
            atoms,
            parent,
            other,
        })
    }

    /// Opens the plugin's window in the host's; returns its number once it shows something.
    pub(super) fn open(&self, host: &mut Host) -> Result<Window> {
        self.open_late(host, Duration::ZERO)
    }

    /// The same in a host that has other things to do between making the window and showing it.
    pub(super) fn open_late(&self, host: &mut Host, busy: Duration) -> Result<Window> {
        let (_, mut window) = host.split();
        let size = window.create()?;
        std::thread::sleep(busy);
        window.show_in(self.parent)?;
        picture(&self.x, self.parent, &mut window, size, 0)?;
        let children = self.x.query_tree(self.parent)?.reply()?.children;
        children.first().copied().context("no window")
    }

    /// Has the hand do something: a kind of event, a button, a place on the screen.
    pub(super) fn hand(&self, kind: u8, button: u8, (x, y): (i16, i16)) -> Result<()> {
        self.x
            .xtest_fake_input(kind, button, 0, self.root, x, y, 0)?
            .check()?;
        std::thread::sleep(STEP);
        Ok(())
    }

    /// Presses a key, named by its keysym, and lets it go.
    pub(super) fn press(&self, key: u32) -> Result<()> {
        self.key(key, 2)?;
        std::thread::sleep(REST);
        self.key(key, 3)?;
        std::thread::sleep(REST);
        Ok(())
    }

    /// Presses a key (2) or lets it go (3).
    pub(super) fn key(&self, key: u32, kind: u8) -> Result<()> {
        let setup = self.x.setup();
        let first = setup.min_keycode;
        let asked = self
            .x
            .get_keyboard_mapping(first, setup.max_keycode - first + 1)?;
        let map = asked.reply()?;
        let each = usize::from(map.keysyms_per_keycode);
        let place = map
            .keysyms
            .chunks(each)
            .position(|keys| keys.contains(&key));
        let code = first + u8::try_from(place.context("no such key")?)?;
        self.hand(kind, code, (0, 0))
    }

    /// Takes hold at a place and carries it to another one, without letting go.
    pub(super) fn carry(&self, from: (i16, i16), to: (i16, i16)) -> Result<()> {
        self.hand(MOVE, 0, from)?;
        std::thread::sleep(REST);
        self.hand(PRESS, 1, from)?;
        std::thread::sleep(REST);
        for part in 1..=10 {
            let on = |from: i16, to: i16| from + (to - from) / 10 * part;
            self.hand(MOVE, 0, (on(from.0, to.0), on(from.1, to.1)))?;
        }
        self.hand(MOVE, 0, to)
    }

    fn send(&self, to: Window, about: Window, kind: Atom, data: [u32; 5]) -> Result<()> {
        let message = ClientMessageEvent::new(32, about, kind, data);
        self.x
            .send_event(false, to, EventMask::NO_EVENT, message)?
            .check()?;
        Ok(())
    }

    /// The next event that `wanted` makes something of.
    fn wait<T>(
        &self,
        host: &mut Host,
        mut wanted: impl FnMut(&Event) -> Result<Option<T>>,
    ) -> Result<T> {
        let began = Instant::now();
        while began.elapsed() < PATIENCE {
            host.split().1.pump()?;
            while let Some(event) = self.x.poll_for_event()? {
                if let Some(found) = wanted(&event)? {
                    return Ok(found);
                }
            }
            std::thread::sleep(Duration::from_millis(2));
        }
        bail!("nothing came in {PATIENCE:?}")
    }

    /// Waits for a message of this kind to a window of ours.
    fn message(&self, host: &mut Host, kind: Atom) -> Result<[u32; 5]> {
        self.wait(host, |event| {
            Ok(match event {
                Event::ClientMessage(message) if message.type_ == kind => {
                    Some(message.data.as_data32())
                }
                _ => None,
            })
        })
    }
}

fn drag_out(folder: &Path) -> Result<()> {
    let desk = Desk::new()?;
    let mut host = super::host();
    desk.open(&mut host)?;
    let atoms = desk.atoms;
    let grip = place_of(words::GRIPS[0], None, None);

    desk.carry(grip, (OTHER.0 + 50, OTHER.1 + 50))?;
    let [source, flags, types @ ..] = desk.message(&mut host, atoms.XdndEnter)?;
    ensure!(
        flags >> 24 == 5 && types.contains(&atoms.UriList),
        "{types:?}"
    );
    let at = desk.message(&mut host, atoms.XdndPosition)?;
    ensure!(at[4] == atoms.XdndActionCopy && at[0] == source, "{at:?}");
    let status = [desk.other, 1, 0, 0, atoms.XdndActionCopy];
    desk.send(source, source, atoms.XdndStatus, status)?;
    desk.hand(RELEASE, 1, (OTHER.0 + 50, OTHER.1 + 50))?;
    // It may have moved on before it was let go.
    let dropped = desk.wait(&mut host, |event| {
        let Event::ClientMessage(message) = event else {
            return Ok(None);
        };
        if message.type_ == atoms.XdndPosition {
            desk.send(source, source, atoms.XdndStatus, status)?;
        }
        let is_drop = message.type_ == atoms.XdndDrop;
        Ok(is_drop.then(|| message.data.as_data32()))
    })?;
    let (kind, name) = (atoms.UriList, atoms.XdndSelection);
    desk.x
        .convert_selection(desk.other, name, kind, name, dropped[2])?
        .check()?;
    let given = desk.wait(&mut host, |event| {
        Ok(match event {
            Event::SelectionNotify(notice) => Some(notice.property),
            _ => None,
        })
    })?;
    ensure!(given == name, "the file's address is refused");
    let asked = desk.x.get_property(true, desk.other, name, kind, 0, 4096)?;
    let list = asked.reply()?.value;
    let finished = [desk.other, 1, atoms.XdndActionCopy, 0, 0];
    desk.send(source, source, atoms.XdndFinished, finished)?;
    let [file] = &uri::files(&list)[..] else {
        bail!("{list:?} is not one file");
    };
    println!("dragged: {}", file.display());

    // The region of the panel's first phrase, written by itself.
    let panel = Settings::default();
    let region = Region::of_panel(&panel, &Riff::default(), (Meter::FOUR_FOUR, 120.0), (1, 4))?;
    let alone = tempfile::tempdir()?;
    let expected = region.write(alone.path(), &NoteMap::default())?;
    ensure!(expected.exported.notes > 20);
    ensure!(file.parent() == Some(&*folder.join("dragged")));
    ensure!(file.file_name() == expected.path.file_name());
    ensure!(std::fs::read(file)? == expected.exported.bytes);

    // Escape: the window that was told of it learns that it is over.
    desk.carry(grip, (OTHER.0 + 40, OTHER.1 + 40))?;
    desk.message(&mut host, atoms.XdndEnter)?;
    desk.press(0xff1b)?;
    desk.message(&mut host, atoms.XdndLeave)?;
    desk.hand(RELEASE, 1, (OTHER.0 + 40, OTHER.1 + 40))?;

    // Let go over nothing: over, with the file where it is.
    desk.carry(grip, (OTHER.0, OTHER.1 + 300))?;
    desk.hand(RELEASE, 1, (OTHER.0, OTHER.1 + 300))?;
    let began = Instant::now();
    host.split().1.close()?;
    drop(host);
    ensure!(
        began.elapsed() < Duration::from_secs(2),
        "{:?}",
        began.elapsed()
    );
    ensure!(std::fs::read_dir(folder.join("dragged"))?.count() == 1);
    Ok(())
}

/// Another program drags a file over a place of the plugin's window and lets it go there; whether it was taken.
fn drop_on(
    desk: &Desk,
    host: &mut Host,
    plugin: Window,
    file: &Path,
    at: (i16, i16),
) -> Result<bool> {
    let (x, atoms, from) = (&desk.x, &desk.atoms, desk.other);
    let proxy = |window| -> Result<Option<Window>> {
        let asked = x.get_property(false, window, atoms.XdndProxy, AtomEnum::WINDOW, 0, 1)?;
        let reply = asked.reply()?;
        Ok(reply.value32().and_then(|mut numbers| numbers.next()))
    };
    let to = proxy(plugin)?.context("the window names no proxy")?;
    ensure!(proxy(to)? == Some(to), "the proxy does not name itself");
    let name = atoms.XdndSelection;
    x.set_selection_owner(from, name, x11rb::CURRENT_TIME)?
        .check()?;
    let send = |kind, data: [u32; 4]| {
        desk.send(to, plugin, kind, [from, data[0], data[1], data[2], data[3]])
    };
    send(atoms.XdndEnter, [5 << 24, atoms.UriList, 0, 0])?;
    let place = u32::from(at.0.unsigned_abs()) << 16 | u32::from(at.1.unsigned_abs());
    send(atoms.XdndPosition, [0, place, 0, atoms.XdndActionCopy])?;
    let list = uri::list_of(file);
    let (mut accepts, mut given) = (false, false);
    desk.wait(host, |event| {
        let asked = match event {
            Event::ClientMessage(message) if message.type_ == atoms.XdndStatus => {
                let status = message.data.as_data32();
                ensure!(status[0] == plugin && status[1] & 1 == 1, "{status:?}");
                accepts = true;
                return Ok(given.then_some(()));
            }
            Event::SelectionRequest(asked) => asked,
            _ => return Ok(None),
        };
        given = true;
        let (window, property) = (asked.requestor, asked.property);
        x.change_property8(
            PropMode::REPLACE,
            window,
            property,
            asked.target,
            list.as_bytes(),
        )?
        .check()?;
        let notice = SelectionNotifyEvent {
            response_type: x11rb::protocol::xproto::SELECTION_NOTIFY_EVENT,
            sequence: 0,
            time: asked.time,
            requestor: window,
            selection: name,
            target: asked.target,
            property,
        };
        x.send_event(false, window, EventMask::NO_EVENT, notice)?
            .check()?;
        Ok(accepts.then_some(()))
    })?;
    // It hovers for as long as a hand takes.
    std::thread::sleep(10 * STEP);
    send(atoms.XdndDrop, [0, 0, 0, 0])?;
    let finished = desk.message(host, atoms.XdndFinished)?;
    Ok(finished[0] == plugin && finished[1] & 1 == 1)
}

/// Waits until the project's song is as it should be.
fn until(host: &mut Host, is: impl Fn(&serde_json::Value) -> bool) -> Result<()> {
    let began = Instant::now();
    while began.elapsed() < PATIENCE {
        host.split().1.pump()?;
        if is(&part(host, "song")?) {
            return Ok(());
        }
        std::thread::sleep(STEP);
    }
    bail!("the song is {}", part(host, "song")?)
}

fn drop_in(folder: &Path) -> Result<()> {
    let desk = Desk::new()?;
    let mut host = super::host();
    let plugin = desk.open(&mut host)?;
    let demo = SongFile::parse(SongFile::DEMO)?;
    let file = |name: &str, bytes: &[u8]| -> Result<PathBuf> {
        let file = folder.join(name);
        std::fs::write(&file, bytes)?;
        Ok(file)
    };
    let song = file("a song.json", demo.to_text().as_bytes())?;
    ensure!(drop_on(&desk, &mut host, plugin, &song, (600, 500))?);
    until(&mut host, |song| {
        song["sections"]
            .as_array()
            .is_some_and(|all| all.len() == 14)
    })?;

    // It is shown, too.
    std::thread::sleep(REST);
    // The third section, on its block of the strip: its lock, or the guitar.
    let timeline = fourlimb::song::Timeline::new(&demo)?;
    let region = Region {
        timeline: Box::new(timeline),
        what: fourlimb::export::What::Section("3".to_owned()),
    };
    let edit = region.write(folder, &NoteMap::default())?.path;
    let name = &demo.sections[2].name;
    let block = place_of(&format!("{name}, bars"), Some(&demo), None);
    ensure!(drop_on(&desk, &mut host, plugin, &edit, block)?);
    std::thread::sleep(10 * STEP);
    ensure!(
        part(&mut host, "song")?["sections"][2]["locked"].is_null(),
        "nobody was asked"
    );
    let lock = place_of(&words::lock(name), Some(&demo), Some((&edit, block)));
    desk.hand(MOVE, 0, lock)?;
    std::thread::sleep(REST);
    desk.hand(PRESS, 1, lock)?;
    std::thread::sleep(REST);
    desk.hand(RELEASE, 1, lock)?;
    until(&mut host, |song| !song["sections"][2]["locked"].is_null())?;
    host.split().1.close()?;
    Ok(())
}

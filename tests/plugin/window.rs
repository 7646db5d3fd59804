//! The plugin's window in a window of the host, opened and closed while blocks with automation run on another
//! thread.
//!
//! It needs `Xvfb`, an X server without a screen; where there is none, the tests say so and end. They never use the
//! display that they are started from: windows would flash over whatever someone does there. The host runs in a
//! process of its own, so that its display, its memory and what it prints are its own, and so that it can be killed
//! where it hangs.

use anyhow::{Result, bail, ensure};
use hosting::host::{Automation, Blocks, Guitar, Param, Window};
use std::collections::HashSet;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::io::{BufRead, BufReader, Read, Seek};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::time::{Duration, Instant};
use x11rb::connection::Connection;
use x11rb::protocol::Event;
use x11rb::protocol::xproto::{
    ConfigureWindowAux, ConnectionExt, CreateWindowAux, ImageFormat, WindowClass,
};
use x11rb::rust_connection::RustConnection;

/// How many windows the process inside opens.
const TIMES: &str = "FOURLIMB_TEST_WINDOWS";
/// No window has taken a tenth of it on a busy machine.
pub(super) const PATIENCE: Duration = Duration::from_secs(20);
/// Windows before memory is first looked at: the first ones fill the driver's caches.
const WARM: usize = 4;
/// Windows whose least memory is compared, at the start and at the end.
const SEVERAL: usize = 8;

/// What the window's library (baseview 0.4.2) logs when a window closes. It asks the window's thread to show
/// itself while it ends, is not answered, and so does not wait for it. Where the host then destroys its own window
/// first, the thread finds that the plugin's is gone. A songwriter sees neither, but
/// a host that ends in that moment may crash.
const KNOWN: [&str; 3] = [
    "Error while closing window: Request to X11 thread failed: Could not receive response",
    "request_name: Some(\"SelectInput\")",
    "request_name: Some(\"DestroyWindow\")",
];
/// The sizes of the windows in turn, in pixels.
const SIZES: [(u32, u32); 2] = [(1280, 940), (1180, 880)];

#[test]
#[ignore = "the framework does not wait for the thread of a window that closes: a run may fail for that"]
fn windows_open_and_close_while_a_parameter_is_automated() {
    inside(
        "window::windows_open_and_close_while_a_parameter_is_automated",
        20,
    );
}

/// `cargo test --test plugin -- --ignored --nocapture two_hundred_windows`
#[test]
#[ignore = "a minute"]
fn two_hundred_windows_open_and_close() {
    inside("window::two_hundred_windows_open_and_close", 200);
}

/// Runs a test once more in a process of its own, under an X server of its own, and there opens the windows.
fn inside(test: &str, times: u32) {
    if std::env::var_os(TIMES).is_some() {
        return open_and_close(times);
    }
    let Some(server) = Server::start() else {
        println!("Skipped: Xvfb is not installed (Debian's package `xvfb`).");
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let mut said = tempfile::tempfile().unwrap();
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args([test, "--exact", "--include-ignored", "--nocapture"])
        .env(TIMES, times.to_string())
        .env("DISPLAY", &server.display)
        .env("FOURLIMB_CONFIG", folder.path())
        .env_remove("WAYLAND_DISPLAY")
        // Each window has a thread, and glibc gives each thread one of many heaps, which then keep what is free: that
        // is 11 MB a window over the first 20, and no leak.
        .env("MALLOC_ARENA_MAX", "1")
        .stdin(Stdio::null())
        .stdout(said.try_clone().unwrap())
        .stderr(said.try_clone().unwrap())
        .spawn()
        .unwrap();
    let status = ended(&mut child, PATIENCE + PATIENCE / 10 * times);
    let mut text = String::new();
    said.rewind().unwrap();
    said.read_to_string(&mut text).unwrap();
    print!("{text}");
    let status = status.expect("the host hung");
    assert!(status.success(), "the host ended with {status}: {text}");
    assert!(text.contains("KB in the last"), "{text}");
    let troubles = ["error", "warn", "panic", "failed", "refused"];
    let is_trouble = |line: &&str| {
        let line = line.to_lowercase();
        troubles.iter().any(|trouble| line.contains(trouble))
            && !line.contains("test result:")
            && !KNOWN
                .iter()
                .any(|known| line.contains(&known.to_lowercase()))
    };
    let found: Vec<_> = text.lines().filter(is_trouble).collect();
    assert_eq!(found, [""; 0]);
}

/// How a process ended; `None` where it had to be killed, since it did not within `patience`.
pub(super) fn ended(child: &mut Child, patience: Duration) -> Option<ExitStatus> {
    let began = Instant::now();
    loop {
        if let Some(status) = child.try_wait().unwrap() {
            return Some(status);
        }
        if began.elapsed() > patience {
            child.kill().unwrap();
            child.wait().unwrap();
            return None;
        }
        std::thread::sleep(Duration::from_millis(20));
    }
}

/// An X server that lasts as long as this.
pub(super) struct Server {
    process: Child,
    pub(super) display: String,
}

impl Server {
    /// `None` where there is none to start.
    pub(super) fn start() -> Option<Self> {
        let mut process = Command::new("Xvfb")
            .args(["-displayfd", "1", "-screen", "0", "1600x1200x24"])
            .args(["-nolisten", "tcp"])
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .ok()?;
        // It says which display it has as soon as it is ready.
        let mut line = String::new();
        let said = process.stdout.take().unwrap();
        BufReader::new(said).read_line(&mut line).unwrap();
        let display = format!(":{}", line.trim());
        Some(Self { process, display })
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// What happens inside: windows one after the other, while another thread runs blocks.
fn open_and_close(times: u32) {
    let (x, screen) = x11rb::connect(None).unwrap();
    let root = x.setup().roots[screen].root;
    let mut host = super::host();
    super::set(&mut host, "Preview", "on");
    let param = host.param("Intensity").unwrap().clone();
    let (blocks, mut window) = host.split();
    let is_over = AtomicBool::new(false);
    let (seen, blocks) = std::thread::scope(|scope| {
        let audio = scope.spawn(|| play(blocks, &param, &is_over));
        let seen = (0..times as usize)
            .map(|i| {
                let seen = one(&x, root, &mut window, i);
                seen.map(|seen| (seen, memory_kb()))
            })
            .collect::<Result<Vec<_>>>();
        is_over.store(true, Relaxed);
        (seen, audio.join())
    });
    let (seen, blocks) = (seen.unwrap(), blocks.unwrap());
    let mut opened: Vec<_> = seen.iter().map(|(opened, _)| *opened).collect();
    opened.sort_unstable();
    let memory: Vec<_> = seen.iter().map(|(_, kb)| *kb).collect();
    // The least of several: the window before may or may not be gone from memory yet, 30 MB of it.
    let least = |memory: &[u64]| memory.iter().min().copied().unwrap();
    let first = least(&memory[WARM..WARM + SEVERAL]);
    let last = least(&memory[memory.len() - SEVERAL..]);
    println!(
        "{times} windows, {blocks} blocks: a picture {} ms after the host asks (median; most {}); memory {first} KB \
         in the first windows, {last} KB in the last",
        opened[opened.len() / 2].as_millis(),
        opened.last().unwrap().as_millis(),
    );
    // Measured: 28 to 84 KB over 20 windows; 22 and 56 MB over 200, in steps of a window's picture, 4.8 MB, which is
    // now and then not freed, we do not know by whom. A picture kept of every window would be 58 MB and 900 MB.
    assert!(last < first + 16_384 + 400 * u64::from(times), "{memory:?}");
    assert!(blocks > u64::from(times), "{blocks} blocks");
    // The threads of windows that closed: see `KNOWN`. A process that ends meanwhile may crash in the driver.
    std::thread::sleep(Duration::from_millis(500));
}

/// Blocks of a song that rolls, with a parameter automated in each; returns how many.
fn play(blocks: &mut Blocks, param: &Param, is_over: &AtomicBool) -> u64 {
    const FRAMES: u32 = 128;
    let mut done = 0_u64;
    while !is_over.load(Relaxed) {
        let at = u32::try_from(done % 1_000_000).unwrap() * FRAMES;
        let (low, high) = param.range;
        let change = Automation {
            sample: 7,
            param: param.id,
            value: low + (high - low) * f64::from(at % super::QUARTER) / f64::from(super::QUARTER),
        };
        let transport = super::rolling(at);
        let sent = blocks.run(&transport, &[change], &Guitar::default(), FRAMES);
        sent.unwrap();
        done += 1;
        // Three quarters of real time, so that a busy machine is not held up.
        std::thread::sleep(Duration::from_millis(2));
    }
    done
}

/// Opens a window, waits until it shows something and then something else, and closes it. Returns how long it took
/// to show something. It opens as large as the one before was left, and is given the other size.
fn one(x: &RustConnection, root: u32, window: &mut Window, number: usize) -> Result<Duration> {
    let began = Instant::now();
    let (width, height) = window.create()?;
    let kept = SIZES[(number + 1) % 2];
    ensure!(
        (width, height) == kept,
        "opened at {width} x {height}, not as left: {kept:?}"
    );
    let parent = x.generate_id()?;
    x.create_window(
        x11rb::COPY_DEPTH_FROM_PARENT,
        parent,
        root,
        0,
        0,
        u16::try_from(width)?,
        u16::try_from(height)?,
        0,
        WindowClass::INPUT_OUTPUT,
        x11rb::COPY_FROM_PARENT,
        // A window without a background shows what was there before: the plugin's last window.
        &CreateWindowAux::new().background_pixel(0),
    )?;
    x.map_window(parent)?.check()?;
    window.show_in(parent)?;
    let first = picture(x, parent, window, (width, height), 0)?;
    let opened = began.elapsed();
    let size = SIZES[number % 2];
    let larger = ConfigureWindowAux::new().width(size.0).height(size.1);
    x.configure_window(parent, &larger)?.check()?;
    let given = window.resize(size)?;
    ensure!(given == size, "resized to {given:?}");
    // The first may be a frame of the old size, cut off.
    let cut = picture(x, parent, window, size, first)?;
    picture(x, parent, window, size, cut)?;
    window.close()?;
    x.destroy_window(parent)?.check()?;
    while let Some(event) = x.poll_for_event()? {
        if let Event::Error(error) = event {
            bail!("the X server says {error:?}");
        }
    }
    Ok(opened)
}

/// Waits until the plugin's window is as large as it should be and shows a picture other than `before`.
pub(super) fn picture(
    x: &RustConnection,
    parent: u32,
    window: &mut Window,
    (width, height): (u32, u32),
    before: u64,
) -> Result<u64> {
    let began = Instant::now();
    let mut seen = "nothing".to_owned();
    while began.elapsed() < PATIENCE {
        window.pump()?;
        if let Some(&inner) = x.query_tree(parent)?.reply()?.children.first() {
            let is = x.get_geometry(inner)?.reply()?;
            let (w, h) = (is.width, is.height);
            let image = x.get_image(ImageFormat::Z_PIXMAP, inner, 0, 0, w, h, !0)?;
            let colours = match image.reply() {
                Ok(image) => {
                    let mut hasher = DefaultHasher::new();
                    image.data.hash(&mut hasher);
                    let colours: HashSet<_> = image.data.chunks(4).step_by(97).collect();
                    let is_size = (u32::from(is.width), u32::from(is.height)) == (width, height);
                    if is_size && colours.len() > 8 && hasher.finish() != before {
                        return Ok(hasher.finish());
                    }
                    format!("{} colours", colours.len())
                }
                // Not before the window is shown.
                Err(error) => error.to_string(),
            };
            seen = format!("{} x {} pixels, {colours}", is.width, is.height);
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    bail!("no picture of {width} x {height} after {PATIENCE:?}, but {seen}")
}

/// The memory that this process has, in KB.
fn memory_kb() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap();
    let line = status.lines().find(|line| line.starts_with("VmRSS:"));
    let number = line.and_then(|line| line.split_whitespace().nth(1));
    number.unwrap().parse().unwrap()
}

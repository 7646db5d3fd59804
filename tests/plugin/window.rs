//! The plugin's window in a window of the host, opened and closed while blocks with automation run on another
//! thread.
//!
//! It needs `Xvfb`, an X server without a screen; where there is none, the tests say so and end. They never use the
//! display that they are started from: windows would flash over whatever someone does there. The host runs in a
//! process of its own, so that its display, its memory and what it prints are its own, and so that it can be killed
//! where it hangs.

use hosting::host::{Automation, Blocks, Guitar, Param, Window};
use std::collections::HashSet;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::io::{BufRead, BufReader, Read, Seek};
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::time::{Duration, Instant};
use x11rb::connection::Connection;
use x11rb::protocol::Event;
use x11rb::protocol::xproto::{ConnectionExt, CreateWindowAux, ImageFormat, WindowClass};
use x11rb::rust_connection::RustConnection;

/// How many windows the process inside opens.
const TIMES: &str = "FOURLIMB_TEST_WINDOWS";
/// No window has taken a tenth of it on a busy machine.
const PATIENCE: Duration = Duration::from_secs(20);
/// Windows before memory is first looked at: the first ones fill the driver's caches.
const WARM: u32 = 4;

#[test]
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
        .stdin(Stdio::null())
        .stdout(said.try_clone().unwrap())
        .stderr(said.try_clone().unwrap())
        .spawn()
        .unwrap();
    let began = Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break Some(status);
        }
        if began.elapsed() > PATIENCE + PATIENCE / 10 * times {
            child.kill().unwrap();
            child.wait().unwrap();
            break None;
        }
        std::thread::sleep(Duration::from_millis(20));
    };
    let mut text = String::new();
    said.rewind().unwrap();
    said.read_to_string(&mut text).unwrap();
    print!("{text}");
    let status = status.expect("the host hung");
    assert!(status.success(), "the host ended with {status}: {text}");
    assert!(text.contains("KB a window"), "{text}");
    for trouble in ["error", "warn", "panic", "failed", "refused"] {
        let lines = text.lines().filter(|line| !line.contains("test result:"));
        let found = lines.filter(|line| line.to_lowercase().contains(trouble));
        assert_eq!(found.collect::<Vec<_>>(), [""; 0]);
    }
}

/// An X server that lasts as long as this.
struct Server {
    process: Child,
    display: String,
}

impl Server {
    /// `None` where there is none to start.
    fn start() -> Option<Self> {
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
        let seen = (0..times)
            .map(|i| {
                let seen = one(&x, root, &mut window, i);
                seen.map(|seen| (seen, memory_kb()))
            })
            .collect::<anyhow::Result<Vec<_>>>();
        is_over.store(true, Relaxed);
        (seen, audio.join())
    });
    let (seen, blocks) = (seen.unwrap(), blocks.unwrap());
    let mut opened: Vec<_> = seen.iter().map(|(opened, _)| *opened).collect();
    opened.sort_unstable();
    let memory: Vec<_> = seen.iter().map(|(_, kb)| *kb).collect();
    let (first, last) = (memory[WARM as usize - 1], *memory.last().unwrap());
    let a_window = (last as f64 - first as f64) / f64::from(times - WARM);
    println!(
        "{times} windows, {blocks} blocks: a picture {} ms after the host asks (median; most {}); memory {first} KB \
         after {WARM}, {last} KB at the end, {a_window:.0} KB a window",
        opened[opened.len() / 2].as_millis(),
        opened.last().unwrap().as_millis(),
    );
    assert!(a_window < 64.0, "{memory:?}");
    assert!(blocks > u64::from(times), "{blocks} blocks");
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
/// to show something. Every other window is also made larger.
fn one(
    x: &RustConnection,
    root: u32,
    window: &mut Window,
    number: u32,
) -> anyhow::Result<Duration> {
    let began = Instant::now();
    let (width, height) = window.create()?;
    let parent = x.generate_id()?;
    x.create_window(
        x11rb::COPY_FROM_PARENT as u8,
        parent,
        root,
        0,
        0,
        u16::try_from(width)?,
        u16::try_from(height)?,
        0,
        WindowClass::INPUT_OUTPUT,
        x11rb::COPY_FROM_PARENT,
        &CreateWindowAux::new(),
    )?;
    x.map_window(parent)?.check()?;
    window.show_in(parent)?;
    let first = picture(x, parent, window, (width, height), 0)?;
    let opened = began.elapsed();
    let mut size = (width, height);
    if number % 2 == 1 {
        size = window.resize((width + 100, height + 60))?;
        anyhow::ensure!(
            size == (width + 100, height + 60),
            "resized to {size:?} from {width} x {height}"
        );
    }
    picture(x, parent, window, size, first)?;
    if number % 2 == 1 {
        window.resize((width, height))?;
    }
    window.close()?;
    x.destroy_window(parent)?.check()?;
    while let Some(event) = x.poll_for_event()? {
        if let Event::Error(error) = event {
            anyhow::bail!("the X server says {error:?}");
        }
    }
    Ok(opened)
}

/// Waits until the plugin's window is as large as it should be and shows a picture other than `before`.
fn picture(
    x: &RustConnection,
    parent: u32,
    window: &mut Window,
    (width, height): (u32, u32),
    before: u64,
) -> anyhow::Result<u64> {
    let began = Instant::now();
    while began.elapsed() < PATIENCE {
        window.pump()?;
        if let Some(&inner) = x.query_tree(parent)?.reply()?.children.first() {
            let is = x.get_geometry(inner)?.reply()?;
            if (u32::from(is.width), u32::from(is.height)) == (width, height)
                // Not before the window is shown.
                && let Ok(image) = x
                    .get_image(ImageFormat::Z_PIXMAP, inner, 0, 0, is.width.min(1180), is.height.min(880), !0)?
                    .reply()
            {
                let colours: HashSet<_> = image.data.chunks(4).step_by(97).collect();
                let mut hasher = DefaultHasher::new();
                image.data.hash(&mut hasher);
                if colours.len() > 8 && hasher.finish() != before {
                    return Ok(hasher.finish());
                }
            }
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    anyhow::bail!("no picture of {width} x {height} after {PATIENCE:?}")
}

/// The memory that this process has, in KB.
fn memory_kb() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap();
    let line = status.lines().find(|line| line.starts_with("VmRSS:"));
    let number = line.and_then(|line| line.split_whitespace().nth(1));
    number.unwrap().parse().unwrap()
}

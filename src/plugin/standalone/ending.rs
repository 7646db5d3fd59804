//! Ctrl+C in the terminal, and the system's request to end.
//!
//! The framework (0.4.2, `standalone/wrapper.rs`) catches Ctrl+C and asks itself to close, but nothing looks at that while
//! a window is open. So the signals are held back from every thread, and one thread waits for them.

use nix::sys::signal::{SigSet, Signal};

/// Calls `end` on a thread of its own where the user or the system asks the program to end. Main thread, before any
/// other thread begins: those take over what is held back.
pub(super) fn on_signal(end: impl FnOnce() + Send + 'static) {
    let mut signals = SigSet::empty();
    for signal in [Signal::SIGINT, Signal::SIGTERM, Signal::SIGHUP] {
        signals.add(signal);
    }
    if let Err(error) = signals.thread_block() {
        eprintln!("Ctrl+C does not end this run: {error}");
        return;
    }
    let waits = move || {
        if signals.wait().is_ok() {
            end();
        }
    };
    let thread = std::thread::Builder::new().name("ending".to_owned());
    if let Err(error) = thread.spawn(waits) {
        eprintln!("Ctrl+C does not end this run: {error}");
        let _ = signals.thread_unblock();
    }
}

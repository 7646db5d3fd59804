//! A thread of the instance's own that takes up what the audio thread tells, so that its queues do not
//! fill while nobody looks.
//!
//! Not the framework's background thread: all instances share that one, and a task of an instance that
//! is removed before its turn ends the host with it.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::{self, JoinHandle};
use std::time::Duration;

/// How long it rests between two rounds. Judged: several times a second, so that a host that renders a
/// hundred times as fast as it plays fills no queue.
const REST: Duration = Duration::from_millis(200);

/// Works until it is dropped, which waits for the round in hand. Main thread.
#[derive(Debug)]
pub struct Collector {
    stopped: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Collector {
    /// Starts a thread that does a round of work again and again. Where the system gives no thread, nothing
    /// is collected: the queues fill, and say so.
    pub fn start(mut round: impl FnMut() + Send + 'static) -> Self {
        let stopped = Arc::new(AtomicBool::new(false));
        let seen = stopped.clone();
        let work = move || {
            while !seen.load(Ordering::Acquire) {
                round();
                thread::park_timeout(REST);
            }
        };
        let thread = thread::Builder::new().name("fourlimb collector".to_owned());
        Self {
            stopped,
            thread: thread.spawn(work).ok(),
        }
    }
}

impl Drop for Collector {
    fn drop(&mut self) {
        self.stopped.store(true, Ordering::Release);
        if let Some(thread) = self.thread.take() {
            thread.thread().unpark();
            // A round that panicked has nothing to say here.
            let _ = thread.join();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc::channel;

    /// Also after it has come to rest, and with the last round done before the drop returns.
    #[test]
    fn it_works_in_rounds_and_ends_when_it_is_dropped() {
        let (tell, told) = channel();
        let collector = Collector::start(move || tell.send(()).unwrap_or(()));
        for _ in 0..2 {
            told.recv().unwrap();
        }
        drop(collector);
        // The thread is gone, and its end of the channel with it.
        assert!(told.iter().count() <= 2);
    }
}

//! Threads that work for the window. The plugin's instance ends them when it goes: on Linux, a thread that runs while the
//! host unloads the library takes the host along.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::{self, JoinHandle};

/// The threads of an instance's windows. Any thread but the audio thread.
#[derive(Debug, Default)]
pub struct Threads {
    /// They are to end.
    stop: Arc<AtomicBool>,
    running: Mutex<Vec<JoinHandle<()>>>,
}

impl Threads {
    /// Has work done on a thread of its own. It is given what tells it to end, at which it looks several times a second.
    /// Nothing is done where the system gives no thread, or the instance has gone.
    pub fn run(&self, work: impl FnOnce(&AtomicBool) + Send + 'static) {
        let mut running = self.running.lock().unwrap_or_else(PoisonError::into_inner);
        if self.stop.load(Ordering::Acquire) {
            return;
        }
        running.retain(|thread| !thread.is_finished());
        let stop = self.stop.clone();
        let thread = thread::Builder::new().name("fourlimb window".to_owned());
        running.extend(thread.spawn(move || work(&stop)));
    }

    /// Has all end, and waits for them.
    pub fn end(&self) {
        let mut running = self.running.lock().unwrap_or_else(PoisonError::into_inner);
        self.stop.store(true, Ordering::Release);
        for thread in running.drain(..) {
            // One that panicked has nothing to say here.
            let _ = thread.join();
        }
    }
}

/// Ends the threads when it is dropped, whoever else still holds them.
#[derive(Debug, Default)]
pub struct EndsThreads(pub Arc<Threads>);

impl Drop for EndsThreads {
    fn drop(&mut self) {
        self.0.end();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc::channel;
    use std::time::Duration;

    #[test]
    fn they_end_with_the_instance_and_none_begins_after() {
        let (tell, told) = channel();
        let owner = EndsThreads::default();
        let threads = owner.0.clone();
        for number in 0..2 {
            let tell = tell.clone();
            threads.run(move |stop| {
                while !stop.load(Ordering::Acquire) {
                    thread::sleep(Duration::from_millis(1));
                }
                tell.send(number).unwrap();
            });
        }
        drop(owner);
        let mut ended: Vec<_> = told.try_iter().collect();
        ended.sort_unstable();
        assert_eq!(ended, [0, 1]);
        threads.run(move |_| tell.send(2).unwrap());
        // The work was dropped, and its end of the channel with it.
        assert!(told.recv().is_err());
    }
}

//! The threads of an instance's own: one does jobs, one takes up what the audio thread tells.
//!
//! Not the framework's background thread: all instances share that one, and a task of an instance that
//! is removed before its turn ends the host with it.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::{self, JoinHandle};
use std::time::Duration;

struct WorkerThread<T> {
    jobs: Sender<T>,
    thread: JoinHandle<()>,
}

/// Does jobs until it is dropped, which waits for those that were given. Any thread but the audio thread.
pub struct Worker<T> {
    work: Arc<dyn Fn(T) + Send + Sync>,
    running: Mutex<Option<WorkerThread<T>>>,
}

impl<T: Send + 'static> Worker<T> {
    /// A worker that has no thread before its first job.
    pub fn new(work: impl Fn(T) + Send + Sync + 'static) -> Self {
        Self {
            work: Arc::new(work),
            running: Mutex::new(None),
        }
    }

    /// Has a job done after those that wait. Where the system gives no thread, it is done at once.
    pub fn send(&self, job: T) {
        let mut running = self.running.lock().unwrap_or_else(PoisonError::into_inner);
        if running.is_none() {
            *running = self.start();
        }
        match &*running {
            // The thread ends only when this end of the channel is gone.
            Some(running) => drop(running.jobs.send(job)),
            None => (self.work)(job),
        }
    }

    fn start(&self) -> Option<WorkerThread<T>> {
        let (jobs, given) = channel();
        let work = self.work.clone();
        let thread = thread::Builder::new().name("fourlimb worker".to_owned());
        let thread = thread.spawn(move || given.into_iter().for_each(|job| work(job)));
        let thread = thread.ok()?;
        Some(WorkerThread { jobs, thread })
    }
}

impl<T> Drop for Worker<T> {
    fn drop(&mut self) {
        let running = self
            .running
            .get_mut()
            .unwrap_or_else(PoisonError::into_inner);
        if let Some(WorkerThread { jobs, thread }) = running.take() {
            drop(jobs);
            // A job that panicked has nothing to say here.
            let _ = thread.join();
        }
    }
}

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

    #[test]
    fn jobs_are_done_in_order_and_before_it_goes() {
        let (tell, told) = channel();
        let worker = Worker::new(move |job: u32| tell.send(job).unwrap());
        for job in 0..100 {
            worker.send(job);
        }
        drop(worker);
        // The thread is gone, and its end of the channel with it.
        assert!(told.into_iter().eq(0..100));
    }

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

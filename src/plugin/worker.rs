//! Jobs that take a while, one after the other on a thread of the instance's own, for the reason that the
//! [collector](super::collector) has one.

use std::sync::mpsc::{Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::{self, JoinHandle};

struct Running<T> {
    jobs: Sender<T>,
    thread: JoinHandle<()>,
}

/// Does jobs until it is dropped, which waits for those that were given. Any thread but the audio thread.
pub struct Worker<T> {
    work: Arc<dyn Fn(T) + Send + Sync>,
    running: Mutex<Option<Running<T>>>,
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

    fn start(&self) -> Option<Running<T>> {
        let (jobs, given) = channel();
        let work = self.work.clone();
        let thread = thread::Builder::new().name("fourlimb worker".to_owned());
        let thread = thread.spawn(move || given.into_iter().for_each(|job| work(job)));
        let thread = thread.ok()?;
        Some(Running { jobs, thread })
    }
}

impl<T> Drop for Worker<T> {
    fn drop(&mut self) {
        let running = self
            .running
            .get_mut()
            .unwrap_or_else(PoisonError::into_inner);
        if let Some(Running { jobs, thread }) = running.take() {
            drop(jobs);
            // A job that panicked has nothing to say here.
            let _ = thread.join();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
}

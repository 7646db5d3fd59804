//! Work in the background as the editor sees it: how far it is, and how it ended.

use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::sync::{Mutex, PoisonError};

/// Progress and outcome of one kind of work, a piece of it at a time. Any thread but the audio thread.
#[derive(Debug)]
pub struct Working<T> {
    busy: AtomicBool,
    /// Thousandths.
    done: AtomicU32,
    last: Mutex<Option<Result<T, String>>>,
}

impl<T> Default for Working<T> {
    fn default() -> Self {
        Self {
            busy: AtomicBool::default(),
            done: AtomicU32::default(),
            last: Mutex::default(),
        }
    }
}

impl<T: Clone> Working<T> {
    /// How much is done, 0..=1; `None` while nothing is.
    pub fn progress(&self) -> Option<f32> {
        let done = self.done.load(Ordering::Relaxed) as f32 / 1000.0;
        self.busy.load(Ordering::Relaxed).then_some(done)
    }

    /// How the last piece of work ended: what came of it, or what was wrong.
    pub fn outcome(&self) -> Option<Result<T, String>> {
        self.last
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    /// A piece of work begins.
    pub fn begin(&self) {
        self.tell(0.0);
        self.busy.store(true, Ordering::Relaxed);
    }

    /// So much of it is done, 0..=1.
    pub fn tell(&self, share: f32) {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let done = (share * 1000.0) as u32;
        self.done.store(done, Ordering::Relaxed);
    }

    /// It has ended.
    pub fn end(&self, outcome: Result<T, String>) {
        *self.last.lock().unwrap_or_else(PoisonError::into_inner) = Some(outcome);
        self.busy.store(false, Ordering::Relaxed);
    }
}

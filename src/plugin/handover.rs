//! Hands whole values to the audio thread, which neither waits nor frees: the newest waits in a slot,
//! the one that it replaces comes back through another.

use crossbeam_utils::atomic::AtomicCell;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// A value travels in a box.
type Slot<T> = AtomicCell<Option<Box<T>>>;

/// The two slots between the threads.
struct Slots<T> {
    to_audio: Slot<T>,
    back: Slot<T>,
    /// Something lies in `to_audio`.
    waiting: AtomicBool,
}

/// The end of whoever gives. Any thread but the audio thread.
pub struct Giver<T> {
    slots: Arc<Slots<T>>,
}

/// The audio thread's end.
pub struct Taker<T> {
    slots: Arc<Slots<T>>,
    /// A value that is to go back.
    parked: Option<Box<T>>,
}

/// Both ends.
pub fn handover<T>() -> (Giver<T>, Taker<T>) {
    let slots = Arc::new(Slots {
        to_audio: AtomicCell::new(None),
        back: AtomicCell::new(None),
        waiting: AtomicBool::new(false),
    });
    let giver = Giver {
        slots: slots.clone(),
    };
    let taker = Taker {
        slots,
        parked: None,
    };
    (giver, taker)
}

impl<T> Giver<T> {
    /// Gives a value; one that still waits is dropped, as are those that came back. Allocates.
    pub fn give(&self, value: T) {
        drop(self.slots.back.take());
        drop(self.slots.to_audio.swap(Some(Box::new(value))));
        self.slots.waiting.store(true, Ordering::Release);
    }
}

impl<T> Taker<T> {
    /// Has the value that waits, if one does, exchanged for the one in use; whether there was one.
    /// Audio thread.
    ///
    /// # Realtime
    /// No allocation, no lock, nothing is freed.
    pub fn take(&mut self, exchange: impl FnOnce(&mut T)) -> bool {
        if let Some(value) = self.parked.take() {
            self.parked = self.slots.back.swap(Some(value));
        }
        if self.parked.is_some() || !self.slots.waiting.swap(false, Ordering::Acquire) {
            return false;
        }
        let Some(mut value) = self.slots.to_audio.take() else {
            return false;
        };
        exchange(&mut value);
        self.parked = self.slots.back.swap(Some(value));
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_newest_arrives_and_what_it_replaces_comes_back() {
        let (giver, mut taker) = handover();
        let mut used = Arc::new(0);
        let first = used.clone();
        assert!(!taker.take(|_| unreachable!("nothing was given")));
        giver.give(Arc::new(1));
        giver.give(Arc::new(2));
        assert!(taker.take(|new| std::mem::swap(new, &mut used)));
        assert_eq!(*used, 2);
        assert!(!taker.take(|_| unreachable!("it was taken")));
        // The audio thread holds no more than it uses: the first value waits to be freed by the giver.
        assert_eq!(Arc::strong_count(&first), 2);
        giver.give(Arc::new(3));
        assert_eq!(Arc::strong_count(&first), 1);
    }
}

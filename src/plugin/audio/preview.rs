//! The preview in the plugin. A thread renders the kit once the host has activated the plugin; all instances at the
//! same sample rate share it. Until it is there, the preview is silent.

use crate::groove::Hit;
use crate::kit::Piece;
use crate::preview::{Kit, Mix, Preview, Sound, Strike, inner_rate, stroke_chance};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError, Weak};
use std::thread::{Builder, JoinHandle};

/// Plays the preview. [`PreviewSound::activate`] runs on the main thread, all else on the audio thread.
pub struct PreviewSound {
    preview: Preview,
    kit: Option<Arc<SharedKit>>,
    /// The take, which has its part in how a stroke sounds.
    take: u32,
}

impl PreviewSound {
    /// A preview without a kit until activation: scanning and loading render nothing.
    pub fn new() -> Self {
        Self {
            preview: Preview::new(48_000.0),
            kit: None,
            take: 0,
        }
    }

    /// Has a kit rendered for a host's sample rate in Hz, or shares another instance's. Where the host renders
    /// offline, waits for it, so that the first stroke is in the file. Main thread: allocates, locks.
    pub fn activate(&mut self, host_rate: f32, offline: bool) {
        let shared = kit(host_rate);
        if offline {
            shared.wait();
        }
        self.kit = Some(shared);
        self.preview = Preview::new(host_rate);
    }

    /// Silences all sound at once.
    pub fn reset(&mut self) {
        self.preview.reset();
    }

    /// The take from now on.
    pub fn set_take(&mut self, take: u32) {
        self.take = take;
    }

    /// Starts the sound of a stroke of this block; a hand may grab the piece so many samples later.
    pub fn strike(&mut self, sample: u32, hit: &Hit, grab: Option<u32>) {
        self.preview.strike(Strike {
            sample,
            piece: hit.piece,
            velocity: hit.velocity,
            chance: stroke_chance(self.take, hit.tick, hit.piece),
            grab,
        });
    }

    /// Writes a block of sound. Where `on` is false, sounding voices are released. `channels` are silent on entry.
    pub fn render(&mut self, channels: &mut [&mut [f32]], on: bool, mix: Mix) {
        if self.preview.is_silent() {
            return;
        }
        if !on {
            self.preview.let_go();
        }
        let kit = self.kit.as_ref().and_then(|shared| shared.get());
        match (kit, channels) {
            (Some(kit), [left, right]) => self.preview.render(kit, mix, left, right),
            _ => self.preview.miss(),
        }
    }
}

impl Default for PreviewSound {
    fn default() -> Self {
        Self::new()
    }
}

/// A kit that a thread renders for all instances at a sample rate. Its end waits for the piece in hand, so that no
/// thread outlives the library.
pub struct SharedKit {
    rate: f32,
    made: Arc<Making>,
    thread: Mutex<Option<JoinHandle<()>>>,
}

/// What the thread and the instances share.
struct Making {
    kit: OnceLock<Kit>,
    stopped: AtomicBool,
}

impl Making {
    fn render(&self, rate: f32) {
        let mut sounds = Vec::with_capacity(Piece::COUNT);
        for piece in Piece::ALL {
            if self.stopped.load(Ordering::Acquire) {
                return;
            }
            sounds.push(Sound::render(piece, rate));
        }
        let mut sounds = sounds.into_iter();
        let kit = Kit::new(rate, |_| sounds.next().unwrap_or_default());
        let _ = self.kit.set(kit);
    }
}

impl SharedKit {
    fn start(rate: f32) -> Self {
        let made = Arc::new(Making {
            kit: OnceLock::new(),
            stopped: AtomicBool::new(false),
        });
        let work = made.clone();
        let thread = Builder::new().name("fourlimb kit".to_owned());
        let thread = thread.spawn(move || work.render(rate)).ok();
        if thread.is_none() {
            // The system gives no thread: better late than silent.
            made.render(rate);
        }
        Self {
            rate,
            made,
            thread: Mutex::new(thread),
        }
    }

    /// The kit, once it is there. Any thread; waits for nothing.
    pub fn get(&self) -> Option<&Kit> {
        self.made.kit.get()
    }

    /// Waits until the kit is there. Any thread but the audio thread.
    pub fn wait(&self) {
        let mut thread = self.thread.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(thread) = thread.take() {
            // After a panic there is no kit, and the preview stays silent.
            let _ = thread.join();
        }
    }
}

impl Drop for SharedKit {
    fn drop(&mut self) {
        self.made.stopped.store(true, Ordering::Release);
        self.wait();
    }
}

/// The kits that instances share, one for each inner rate. A kit is freed with its last user.
static SHARED: Mutex<Vec<Weak<SharedKit>>> = Mutex::new(Vec::new());

/// The kit for a host's sample rate in Hz, which a thread begins to render where no instance has it. Main thread.
pub fn kit(host_rate: f32) -> Arc<SharedKit> {
    let rate = inner_rate(host_rate);
    let mut shared = SHARED.lock().unwrap_or_else(PoisonError::into_inner);
    shared.retain(|kit| kit.strong_count() > 0);
    let same = |kit: &Arc<SharedKit>| kit.rate == rate;
    if let Some(kit) = shared.iter().filter_map(Weak::upgrade).find(same) {
        return kit;
    }
    let kit = Arc::new(SharedKit::start(rate));
    shared.push(Arc::downgrade(&kit));
    kit
}

/// The same, rendered. Any thread but the audio thread.
pub fn rendered_kit(host_rate: f32) -> Arc<SharedKit> {
    let kit = kit(host_rate);
    kit.wait();
    kit
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn instances_share_what_a_thread_renders_and_the_last_one_ends_it() {
        let first = kit(4000.0);
        assert!(Arc::ptr_eq(&first, &kit(4000.0)));
        assert!(
            !Arc::ptr_eq(&first, &kit(4001.0)),
            "another rate, another kit"
        );
        let making = Arc::downgrade(&first.made);
        // While it is being rendered: it waits for a piece, not for the kit.
        drop(first);
        assert_eq!(making.strong_count(), 0, "the thread is over");
        assert!(rendered_kit(4000.0).get().is_some());
    }

    /// At twice a rate the kit is the same.
    #[test]
    fn a_multiple_of_a_rate_plays_the_same_kit() {
        let kits = [kit(48_000.0), kit(96_000.0), kit(192_000.0)];
        assert!(kits.windows(2).all(|pair| Arc::ptr_eq(&pair[0], &pair[1])));
    }
}

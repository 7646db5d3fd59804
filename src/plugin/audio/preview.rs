//! The preview in the plugin. The main thread renders the kit when the host activates the plugin; all instances at
//! the same sample rate share it.

use crate::groove::Hit;
use crate::kit::Piece;
use crate::preview::{Kit, Preview, Sound, Strike};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError, Weak};

/// Plays the preview. [`PreviewSound::activate`] runs on the main thread, all else on the audio thread.
pub struct PreviewSound {
    preview: Preview,
    kit: Option<Arc<Kit>>,
}

impl PreviewSound {
    /// A preview without a kit until activation: scanning and loading render nothing.
    pub fn new() -> Self {
        Self {
            preview: Preview::new(48_000.0),
            kit: None,
        }
    }

    /// Renders the kit for a sample rate in Hz, or shares another instance's. Main thread: allocates, locks, takes
    /// about a tenth of a second the first time.
    pub fn activate(&mut self, sample_rate: f32) {
        if !self
            .kit
            .as_ref()
            .is_some_and(|kit| kit.sample_rate() == sample_rate)
        {
            self.kit = Some(kit(sample_rate));
        }
        self.preview = Preview::new(sample_rate);
    }

    /// Silences all sound at once.
    pub fn reset(&mut self) {
        self.preview.reset();
    }

    /// Starts the sound of a stroke of this block.
    pub fn strike(&mut self, sample: u32, hit: &Hit) {
        self.preview.strike(Strike {
            sample,
            piece: hit.piece,
            velocity: hit.velocity,
        });
    }

    /// Writes a block of sound at `level_db` dB. Where `on` is false, sounding voices are released. `channels` are
    /// silent on entry.
    pub fn render(&mut self, channels: &mut [&mut [f32]], on: bool, level_db: f32) {
        if self.preview.is_silent() {
            return;
        }
        if !on {
            self.preview.let_go();
        }
        if let (Some(kit), [left, right]) = (&self.kit, channels) {
            self.preview.render(kit, level_db, left, right);
        }
    }
}

impl Default for PreviewSound {
    fn default() -> Self {
        Self::new()
    }
}

/// The kits that instances share, one for each sample rate. A kit is freed with its last user.
static SHARED: Mutex<Vec<Weak<Kit>>> = Mutex::new(Vec::new());

/// The kit for a sample rate in Hz. Two threads render it where no instance has it. Main thread.
pub fn kit(sample_rate: f32) -> Arc<Kit> {
    // A panic while rendering leaves no partial data in the list.
    let mut shared = SHARED.lock().unwrap_or_else(PoisonError::into_inner);
    shared.retain(|kit| kit.strong_count() > 0);
    let same = |kit: &Arc<Kit>| kit.sample_rate() == sample_rate;
    if let Some(kit) = shared.iter().filter_map(Weak::upgrade).find(same) {
        return kit;
    }
    let kit = Arc::new(render(sample_rate));
    shared.push(Arc::downgrade(&kit));
    kit
}

/// Renders a kit on two threads. Each takes the next piece. The long cymbals come first, so that neither thread
/// waits long for the other.
fn render(sample_rate: f32) -> Kit {
    let mut order = Piece::ALL;
    order.sort_by_key(|piece| {
        !matches!(
            piece,
            Piece::Ride | Piece::RideBell | Piece::CrashLeft | Piece::CrashRight | Piece::China
        )
    });
    let next = AtomicUsize::new(0);
    let work = || {
        let mut done = Vec::new();
        while let Some(&piece) = order.get(next.fetch_add(1, Ordering::Relaxed)) {
            done.push((piece, Sound::render(piece, sample_rate)));
        }
        done
    };
    let mut sounds = std::thread::scope(|scope| {
        let other = scope.spawn(work);
        let mut sounds = work();
        // `Kit::new` renders the pieces that a failed thread left out.
        sounds.extend(other.join().unwrap_or_default());
        sounds
    });
    Kit::new(sample_rate, |piece| {
        let found = sounds.iter().position(|(other, _)| *other == piece);
        found.map_or_else(
            || Sound::render(piece, sample_rate),
            |i| sounds.swap_remove(i).1,
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_threads_render_what_one_does() {
        let (shared, alone) = (kit(22_050.0), Kit::render(22_050.0));
        assert!(Arc::ptr_eq(&shared, &kit(22_050.0)));
        for piece in Piece::ALL {
            for take in 0..2 {
                let one = alone.sound(piece).full(take);
                assert_eq!(shared.sound(piece).full(take), one, "{}", piece.name());
            }
        }
    }
}

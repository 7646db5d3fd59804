//! What is watched: that every note ends, and once; that nothing but sound comes out; that memory stays flat.

use anyhow::{Result, bail, ensure};
use hosting::host::Sent;
use std::collections::BTreeMap;

/// The longest that a note may sound, in seconds: ten, and the block in which it ends.
const LONGEST_S: f64 = 10.5;

/// The notes that sound.
#[derive(Debug, Default)]
pub(super) struct Watch {
    /// Channel and key, and when it began, in seconds.
    open: BTreeMap<(u8, u8), f64>,
    /// Seconds of blocks until now.
    now: f64,
    /// How many notes began.
    pub(super) notes: u64,
}

impl Watch {
    /// Takes a block's events.
    ///
    /// # Errors
    /// Where a note begins that sounds, ends that does not, or sounds for too long.
    pub(super) fn block(&mut self, sent: &[Sent], frames: u32, rate: f64) -> Result<()> {
        for event in sent {
            let key = (event.channel, event.key);
            let at = self.now + f64::from(event.sample) / rate;
            match event.velocity {
                Some(velocity) => {
                    ensure!(
                        (1..=127).contains(&velocity),
                        "key {} has velocity {velocity}",
                        event.key
                    );
                    self.notes += 1;
                    if self.open.insert(key, at).is_some() {
                        bail!(
                            "key {} on channel {} is struck while it sounds",
                            key.1,
                            key.0
                        );
                    }
                }
                None if self.open.remove(&key).is_none() => {
                    bail!(
                        "key {} on channel {} is released while it is silent",
                        key.1,
                        key.0
                    );
                }
                None => {}
            }
        }
        self.now += f64::from(frames) / rate;
        let hangs = self
            .open
            .iter()
            .find(|(_, began)| self.now - **began > LONGEST_S);
        if let Some(((channel, key), began)) = hangs {
            bail!(
                "key {key} on channel {channel} hangs: it sounds for {:.1} s",
                self.now - began
            );
        }
        Ok(())
    }

    /// The transport stands: nothing may sound.
    ///
    /// # Errors
    /// Where something does.
    pub(super) fn silent(&self) -> Result<()> {
        let open: Vec<_> = self.open.keys().take(5).collect();
        ensure!(
            open.is_empty(),
            "{} notes sound on after the transport stopped; (channel, key): {open:?}",
            self.open.len()
        );
        Ok(())
    }
}

/// The largest sample that may leave the built-in sound.
const FULL_SCALE: f32 = 1.0;

/// Whether a block is sound: numbers, and none beyond full scale.
///
/// # Errors
/// Where it is not.
pub(super) fn sound(heard: [&[f32]; 2]) -> Result<()> {
    let is_sound = |sample: &f32| sample.abs() <= FULL_SCALE;
    match heard
        .iter()
        .flat_map(|side| side.iter())
        .find(|sample| !is_sound(sample))
    {
        Some(strange) => bail!("the built-in sound puts out {strange}"),
        None => Ok(()),
    }
}

/// The memory of this process, in megabytes; `None` where the system does not say.
pub(super) fn memory_mb() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmRSS:"))?;
    let kb: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kb / 1024.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn event(key: u8, velocity: Option<u8>) -> Sent {
        Sent {
            sample: 0,
            channel: 9,
            key,
            velocity,
        }
    }

    #[test]
    fn a_note_that_ends_once_is_right_and_nothing_else_is() {
        let (on, off) = (event(36, Some(100)), event(36, None));
        let watch = |blocks: &[&[Sent]]| {
            let mut watch = Watch::default();
            blocks
                .iter()
                .try_for_each(|sent| watch.block(sent, 480_000, 48_000.0))?;
            watch.silent()
        };
        let told = |blocks: &[&[Sent]]| watch(blocks).err().map(|error| error.to_string());
        assert_eq!(told(&[&[on, off], &[on], &[off]]), None);
        for (blocks, word) in [
            (&[&[on, on][..]][..], "struck while it sounds"),
            (&[&[on, off, off]], "released while it is silent"),
            (&[&[on]], "sound on after the transport stopped"),
            (&[&[on], &[]], "hangs"),
        ] {
            let told = told(blocks).unwrap_or_default();
            assert!(told.contains(word), "{told:?} does not say {word:?}");
        }
    }

    #[test]
    fn what_is_no_sound_is_told() {
        assert!(sound([&[0.0, -1.0], &[1.0]]).is_ok());
        for strange in [f32::NAN, f32::INFINITY, -1.01] {
            assert!(sound([&[0.0], &[strange]]).is_err(), "{strange}");
        }
    }
}

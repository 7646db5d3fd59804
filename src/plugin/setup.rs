//! What a host may ask for at activation.

use crate::preview::RATES;

/// The longest block that is taken, in samples: a second and more at the highest rate. Hosts send a few thousand; the framework
/// sets aside memory for what is announced.
pub(super) const MOST_FRAMES: u32 = 1 << 20;

/// Checks a sample rate in Hz, and the least and the greatest length of a block in samples.
///
/// # Errors
/// A sentence that says what is wrong, for the host's log.
pub(super) fn check(sample_rate: f32, frames: (Option<u32>, u32)) -> Result<(), String> {
    let (lowest, highest) = RATES;
    // False for what is no number.
    if !(lowest..=highest).contains(&sample_rate) {
        return Err(format!(
            "Fourlimb plays at sample rates from {lowest} to {highest} Hz, not at {sample_rate} Hz."
        ));
    }
    let (least, most) = (frames.0.unwrap_or(1), frames.1);
    if !(1..=MOST_FRAMES).contains(&most) || least > most {
        return Err(format!(
            "Fourlimb takes blocks of 1 to {MOST_FRAMES} samples, not of {least} to {most}."
        ));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_no_host_can_mean_is_refused_in_a_sentence() {
        for rate in [
            0.0,
            -1.0,
            f32::NAN,
            f32::INFINITY,
            f32::NEG_INFINITY,
            768_001.0,
            999.0,
        ] {
            let why = check(rate, (Some(1), 512)).unwrap_err();
            assert!(why.contains("sample rates from 1000 to 768000 Hz"), "{why}");
        }
        for frames in [(Some(1), 0), (None, 0), (Some(512), 64), (None, u32::MAX)] {
            let why = check(48_000.0, frames).unwrap_err();
            assert!(why.contains("blocks of 1 to 1048576 samples"), "{why}");
        }
        assert_eq!(check(1000.0, (None, 1)), Ok(()));
        assert_eq!(check(768_000.0, (Some(0), MOST_FRAMES)), Ok(()));
    }
}

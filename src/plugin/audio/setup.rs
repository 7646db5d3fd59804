//! What a host may ask for at activation.

use crate::preview::RATES;

/// The longest block that is taken, in samples: a second and more at the highest rate. Hosts send a few thousand; the framework
/// sets aside memory for what is announced.
pub const MOST_FRAMES: u32 = 1 << 20;

/// Checks a sample rate in Hz, and the least and the greatest length of a block in samples.
///
/// # Errors
/// A sentence that says what is wrong, for the host's log.
pub fn check(sample_rate: f32, frames: (Option<u32>, u32)) -> Result<(), String> {
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

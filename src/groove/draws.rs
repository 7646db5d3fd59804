//! Sampling for the numbers in which a person's strokes differ: a normal and a heavy-tailed distribution.
//!
//! Only additions, multiplications and square roots are used, which IEEE 754 defines to the last bit, so that every
//! machine plays the same song.

/// The magnitude of a Student's t variate with five degrees of freedom, scaled to a standard deviation of 1: its
/// quantiles at every 64th. The last is the end of the tail, chosen so that the variance of the interpolated
/// distribution is 1. Computed from the distribution; `tests` compares with the handbook's table.
const HEAVY: [f32; 65] = [
    0.000, 0.016, 0.032, 0.048, 0.064, 0.080, 0.096, 0.112, 0.128, 0.144, 0.161, 0.177, 0.194,
    0.210, 0.227, 0.244, 0.261, 0.278, 0.295, 0.313, 0.330, 0.348, 0.366, 0.385, 0.403, 0.422,
    0.441, 0.460, 0.480, 0.500, 0.521, 0.542, 0.563, 0.585, 0.607, 0.630, 0.653, 0.677, 0.702,
    0.728, 0.754, 0.781, 0.810, 0.839, 0.870, 0.902, 0.935, 0.971, 1.008, 1.047, 1.089, 1.134,
    1.182, 1.235, 1.292, 1.355, 1.426, 1.507, 1.600, 1.712, 1.850, 2.032, 2.299, 2.785, 4.707,
];

/// A heavy-tailed value from the lowest 16 of some random bits: mean 0, standard deviation 1, within ±4.71.
pub(super) fn heavy(bits: u64) -> f32 {
    let magnitude = bits & 0x7fff;
    // 15 bits: the upper six choose the segment, the lower nine the place in it.
    let (segment, within) = ((magnitude >> 9) as usize, (magnitude & 0x1ff) as f32);
    let (from, to) = (HEAVY[segment], HEAVY[segment + 1]);
    let size = from + (to - from) * (within + 0.5) / 512.0;
    if bits & 0x8000 == 0 { size } else { -size }
}

/// A value that is nearly normal, from 64 random bits: mean 0, standard deviation 1, within ±3.47. The sum of four
/// uniform values (the Irwin-Hall distribution).
pub(super) fn normal(bits: u64) -> f32 {
    let sum: u64 = (0..4).map(|i| bits >> (16 * i) & 0xffff).sum();
    // Each has a variance of 1/12 of its range's square; the mean of the sum is twice the range.
    (sum as f32 / 65_536.0 - 2.0 + 2.0 / 65_536.0) * SQRT_3
}

/// A value that is nearly normal, from the lowest 16 of some random bits: the sum of two triangular halves. Mean 0,
/// standard deviation 1, within ±2.42.
pub(super) fn small_normal(bits: u64) -> f32 {
    let sum = (bits & 0xff) + (bits >> 8 & 0xff);
    (sum as f32 / 256.0 - 1.0 + 1.0 / 256.0) * SQRT_6
}

const SQRT_3: f32 = 1.732_050_8;
const SQRT_6: f32 = 2.449_489_7;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::groove::chance::{Decision, bits};

    fn moments(draw: impl Fn(u64) -> f32) -> (f64, f64) {
        let n = 200_000;
        let values = (0..n).map(|i| f64::from(draw(bits(1, i, Decision::Stroke, 0))));
        let (sum, squares) = values.fold((0.0, 0.0), |(s, q), x| (s + x, q + x * x));
        (sum / n as f64, (squares / n as f64).sqrt())
    }

    #[test]
    fn each_has_mean_0_and_standard_deviation_1() {
        for draw in [heavy, normal, small_normal] {
            let (mean, sd) = moments(draw);
            // Four standard errors of 200,000 draws.
            assert!(
                mean.abs() < 0.009 && (sd - 1.0).abs() < 0.012,
                "{mean} {sd}"
            );
        }
    }

    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    /// Student's t, five degrees of freedom, two-sided: 1.476 at 20 %, 2.015 at 10 %, 2.571 at 5 % (handbook table).
    /// Its standard deviation is the square root of 5/3.
    #[test]
    fn the_heavy_tail_is_the_handbooks() {
        for (share, quantile) in [(0.20, 1.476), (0.10, 2.015), (0.05, 2.571)] {
            let at = ((1.0 - share) * 32_768.0) as u64;
            let found = f64::from(heavy(at)) * (5.0_f64 / 3.0).sqrt();
            assert!((found - quantile).abs() < 0.02, "{share}: {found}");
        }
    }
}

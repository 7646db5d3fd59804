//! Selects a sample rate and a block size from what a sound card offers. Some cards leave a choice of sizes, others offer
//! one alone, such as the 10 ms of Windows' shared devices: 480 samples at 48 kHz.

use cpal::SampleFormat;

/// Sample rates, in Hz, and block sizes, in samples, in the order in which they are tried.
const RATES: [u32; 4] = [48_000, 44_100, 96_000, 88_200];
const PERIODS: [u32; 5] = [512, 256, 1024, 2048, 128];
/// The channels that the plugin plays.
const CHANNELS: u16 = 2;

/// A way in which a device can be opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Offer {
    pub(super) channels: u16,
    /// Least and greatest sample rate, in Hz.
    pub(super) rates: (u32, u32),
    /// Least and greatest block size, in samples.
    pub(super) periods: (u32, u32),
    pub(super) format: SampleFormat,
}

/// What is tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Try {
    /// In Hz.
    pub(super) rate: u32,
    /// In samples.
    pub(super) period: u32,
    pub(super) channels: u16,
    pub(super) format: SampleFormat,
}

/// What to try, the best first. `asked` has the sample rate in Hz and the block size in samples that the user asks for;
/// nothing else is tried then.
pub(super) fn to_try(offers: &[Offer], asked: (Option<u32>, Option<u32>)) -> Vec<Try> {
    let rates = match asked.0 {
        Some(rate) => vec![rate],
        // The usual ones, else the nearest that it has.
        None => RATES
            .into_iter()
            .chain(offers.iter().map(|offer| nearest(RATES[0], offer.rates)))
            .collect(),
    };
    let mut tries: Vec<Try> = Vec::new();
    for rate in rates {
        let has_rate: Vec<_> = offers.iter().filter(|it| holds(it.rates, rate)).collect();
        let periods = match asked.1 {
            Some(period) => vec![period],
            None => PERIODS
                .into_iter()
                .chain(has_rate.iter().map(|it| nearest(PERIODS[0], it.periods)))
                .collect(),
        };
        for period in periods {
            let fitting = has_rate.iter().filter(|it| holds(it.periods, period));
            let Some(offer) = fitting.min_by_key(|it| preference(it)) else {
                continue;
            };
            let one = Try {
                rate,
                period,
                channels: offer.channels,
                format: offer.format,
            };
            if period > 0 && !tries.contains(&one) {
                tries.push(one);
            }
        }
    }
    tries
}

/// The framework's order (0.4.2, `standalone/backend/cpal.rs`), the least first: floating-point samples, then as few
/// channels as hold the plugin's, then the most.
fn preference(offer: &Offer) -> (bool, bool, u16) {
    let channels = offer.channels;
    (
        offer.format != SampleFormat::F32,
        channels < CHANNELS,
        channels.abs_diff(CHANNELS),
    )
}

fn holds((least, greatest): (u32, u32), value: u32) -> bool {
    (least..=greatest).contains(&value)
}

/// The value in a range that is nearest to another; the range's end where it is empty.
fn nearest(value: u32, (least, greatest): (u32, u32)) -> u32 {
    value.max(least).min(greatest)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FREE: Offer = Offer {
        channels: 2,
        rates: (8_000, 192_000),
        periods: (32, 8_192),
        format: SampleFormat::F32,
    };
    const NOT_ASKED: (Option<u32>, Option<u32>) = (None, None);

    fn first(offers: &[Offer]) -> Option<(u32, u32)> {
        let tries = to_try(offers, NOT_ASKED);
        tries.first().map(|one| (one.rate, one.period))
    }

    #[test]
    fn a_card_with_a_choice_gets_the_usual() {
        assert_eq!(first(&[FREE]), Some((48_000, 512)));
        let small = Offer {
            periods: (16, 400),
            ..FREE
        };
        assert_eq!(first(&[small]), Some((48_000, 256)));
        assert_eq!(first(&[]), None);
    }

    /// As Windows offers a shared device: one size for each rate, none of them among the usual ones.
    #[test]
    fn a_card_with_a_size_of_its_own_gets_that() {
        let shared = [44_100, 48_000, 96_000].map(|rate| Offer {
            rates: (rate, rate),
            periods: (rate / 100, rate / 100),
            ..FREE
        });
        let tries = to_try(&shared, NOT_ASKED);
        let tried: Vec<_> = tries.iter().map(|one| (one.rate, one.period)).collect();
        assert_eq!(tried, [(48_000, 480), (44_100, 441), (96_000, 960)]);
    }

    #[test]
    fn a_card_without_the_usual_rates_and_sizes_gets_the_nearest() {
        let slow = Offer {
            rates: (8_000, 32_000),
            periods: (3_000, 4_000),
            ..FREE
        };
        assert_eq!(first(&[slow]), Some((32_000, 3_000)));
        let fast = Offer {
            rates: (176_400, 192_000),
            periods: (8, 16),
            ..FREE
        };
        assert_eq!(first(&[fast]), Some((176_400, 16)));
    }

    /// As the framework selects: what is tried is what it will open.
    #[test]
    fn floating_point_and_few_channels_come_first() {
        let of = |channels, format| Offer {
            channels,
            format,
            ..FREE
        };
        let chosen = |offers: &[Offer]| {
            let one = to_try(offers, NOT_ASKED)[0];
            (one.channels, one.format)
        };
        let [mono, stereo, wide, eight] = [1, 2, 4, 8].map(|n| of(n, SampleFormat::F32));
        let whole = of(2, SampleFormat::I16);
        assert_eq!(chosen(&[mono, eight, wide, stereo]), (2, SampleFormat::F32));
        assert_eq!(chosen(&[mono, eight, wide]), (4, SampleFormat::F32));
        assert_eq!(chosen(&[whole, eight]), (8, SampleFormat::F32));
        assert_eq!(chosen(&[whole, mono]), (1, SampleFormat::F32));
        assert_eq!(chosen(&[whole]), (2, SampleFormat::I16));
    }

    #[test]
    fn what_the_user_asks_for_is_tried_alone_or_not_at_all() {
        let tries = to_try(&[FREE], (Some(22_050), Some(333)));
        let tried: Vec<_> = tries.iter().map(|one| (one.rate, one.period)).collect();
        assert_eq!(tried, [(22_050, 333)]);
        assert!(to_try(&[FREE], (Some(384_000), None)).is_empty());
        assert!(to_try(&[FREE], (None, Some(16))).is_empty());
    }

    /// Whatever a device says, what is tried lies in what it offers.
    #[test]
    fn nothing_is_tried_that_is_not_offered() {
        let odd = [(0, 0), (0, u32::MAX), (700, 600), (1, 1), (441, 441)];
        for rates in odd {
            for periods in odd {
                let offer = Offer {
                    rates,
                    periods,
                    ..FREE
                };
                for one in to_try(&[offer], NOT_ASKED) {
                    assert!(
                        holds(rates, one.rate) && holds(periods, one.period),
                        "{one:?}"
                    );
                    assert!(one.period > 0);
                }
            }
        }
    }
}

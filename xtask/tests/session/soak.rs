//! A short soak, as `cargo xtask soak` does it for hours.

use super::{KIT, entry};
use fourlimb::plugin::audio::preview::rendered_kit;
use xtask::soak::{Plan, soak};

/// Three minutes: plain passes and chaotic ones.
#[test]
fn a_short_soak_finds_nothing() {
    KIT.get_or_init(|| rendered_kit(48_000.0));
    let plan = Plan {
        seed: 4,
        minutes: 3.0,
        // One kit for all of them: unoptimised, each takes seconds to render.
        rates: &[48_000.0],
        growth_mb: f64::INFINITY,
    };
    let figures = soak(&entry(), &plan).unwrap_or_else(|error| panic!("{error:#}"));
    assert!(figures.plain.0 > 0 && figures.plain.1 > 100, "{figures}");
    assert!(
        figures.chaotic > 0 && figures.chaotic_notes > 100,
        "{figures}"
    );
    assert!(figures.silences > 1 && figures.acts > 10, "{figures}");
}

//! Where chance comes from: a seed a round, which a failure names.

use anyhow::Result;
use rand::SeedableRng as _;
use rand::rngs::StdRng;

/// The first seed and how many rounds there are, where the environment does not say: the same each time, so that a
/// failure means the change and not the dice.
const SEED: u64 = 4;
const ROUNDS: u64 = 3;

/// A number of the environment.
pub(super) fn said(name: &str) -> Option<u64> {
    let text = std::env::var(name).ok()?;
    let number = text.parse();
    Some(number.unwrap_or_else(|_| panic!("{name} is no number: {text}")))
}

/// Runs a case with one seed after another.
pub(super) fn each(mut case: impl FnMut(&mut StdRng) -> Result<()>) {
    let first = said("FOURLIMB_CONFORMANCE_SEED").unwrap_or(SEED);
    let rounds = said("FOURLIMB_CONFORMANCE_ROUNDS").unwrap_or(ROUNDS);
    for seed in first..first.saturating_add(rounds) {
        if let Err(error) = case(&mut StdRng::seed_from_u64(seed)) {
            panic!(
                "seed {seed}: {error:#}\nThe same once more: FOURLIMB_CONFORMANCE_SEED={seed} \
                 FOURLIMB_CONFORMANCE_ROUNDS=1 cargo test --workspace --test plugin conformance"
            );
        }
    }
}

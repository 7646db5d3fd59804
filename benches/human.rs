//! Prints how people play and how Fourlimb plays, as the table of `docs/people.md`. `cargo bench -p benches --bench
//! human`; core code alone is measured, and nothing is timed.

#![allow(missing_docs, reason = "a bench is a program")]

#[path = "../tests/support/people.rs"]
#[allow(
    unreachable_pub,
    clippy::pedantic,
    reason = "the tests' file, by their rules"
)]
mod people;

fn main() {
    println!("{}", people::table());
}

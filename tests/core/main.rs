//! The core, checked from outside: properties, chaos, published facts and golden regions.

#![allow(
    missing_docs,
    unreachable_pub,
    clippy::pedantic,
    reason = "a test reads better in plain words than in total functions"
)]

mod support;

mod chaos;
mod player;
mod properties;

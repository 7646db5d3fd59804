//! The stand-alone program.

fn main() {}

//! One test program: what the service promises, held from outside its crate.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test that cannot go on should say so at once"
)]

mod architecture;
mod contract;
mod drift;
mod outside;
mod support;

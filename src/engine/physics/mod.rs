//! Physics of a bar: steam, heat, density, foam, ice. Pure functions of numbers.
//!
//! Laws and fits to published tables live here; numbers of the trade come in as arguments. Only
//! sums, products, quotients and polynomials are used, so that every machine gives the same bits.

pub mod foam;
pub mod heat;
pub mod milk;
pub mod steam;
pub mod water;

/// A polynomial with its highest power first.
fn polynomial(coefficients: &[f64], at: f64) -> f64 {
    coefficients.iter().fold(0.0, |sum, coefficient| sum * at + coefficient)
}

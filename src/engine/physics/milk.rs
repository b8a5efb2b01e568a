//! Density of milk between the fridge and the set-point.

use super::water;

/// Density of dairy milk or cream by its composition.
///
/// * `fat`, `solids_not_fat`: shares of the mass, 0 to 0.37 and 0.05 to 0.11.
/// * `c`: 4 °C to 39 °C within ±0.13 % of the source; above, up to 80 °C, the same expansion is
///   carried on, which for milks up to 4 % fat and 9 % solids not fat stays within ±0.4 % of 1.010 to 1.015 at 60 °C.
/// * Result: kg/m³.
/// * Source: measured densities of milks and creams at 4.4, 10, 20 and 38.9 °C (University of
///   Guelph dairy notes). Fat, solids and water take up their own volumes; those of fat and solids
///   are linear in the temperature, by least squares on the 28 measurements.
///
/// ```
/// let rho = cupwright::engine::physics::milk::density(0.036, 0.086, 10.0);
/// assert!((rho - 1032.0).abs() < 1.0);
/// ```
pub fn density(fat: f64, solids_not_fat: f64, c: f64) -> f64 {
    // Litres per kilogram.
    let of_fat = 1.027_395_84 + 0.002_008_013_31 * c;
    let of_solids = 0.608_756_06 + 0.000_673_561_324 * c;
    let of_water = 1_000.0 / water::density(c);
    let plain = 1.0 - fat - solids_not_fat;
    1_000.0 / (fat * of_fat + solids_not_fat * of_solids + plain * of_water)
}

/// How many times denser a milk is at `c` than at 4 °C, by its composition; arguments as
/// [`density`]. It turns one measured cold density into that at the set-point.
pub fn expansion(fat: f64, solids_not_fat: f64, c: f64) -> f64 {
    density(fat, solids_not_fat, c) / density(fat, solids_not_fat, 4.0)
}

//! Foam: gas in textured milk, as a depth in a cup.

/// Area of the free surface, cm².
///
/// * `diameter_mm`: inner diameter at the serving line.
pub fn area_cm2(diameter_mm: f64) -> f64 {
    std::f64::consts::PI * diameter_mm * diameter_mm / 400.0
}

/// Gas in a layer of foam of a given depth, mL.
///
/// * `depth_mm`: depth of the layer; `area_cm2`: free surface.
/// * `gas_share`: share of gas in the layer, 0 to 1.
/// * Source: geometry: 1 mm on `area_cm2` is a tenth of it in mL.
///
/// ```
/// use cupwright::engine::physics::foam::{area_cm2, gas_in_layer};
///
/// assert!((gas_in_layer(10.0, area_cm2(78.0), 0.6) - 28.67).abs() < 0.01);
/// ```
pub fn gas_in_layer(depth_mm: f64, area_cm2: f64, gas_share: f64) -> f64 {
    depth_mm * area_cm2 / 10.0 * gas_share
}

/// Depth of the layer that holds `gas_ml`, mm; the inverse of [`gas_in_layer`].
pub fn depth_of_gas(gas_ml: f64, area_cm2: f64, gas_share: f64) -> f64 {
    if area_cm2 * gas_share <= 0.0 { 0.0 } else { gas_ml * 10.0 / (area_cm2 * gas_share) }
}

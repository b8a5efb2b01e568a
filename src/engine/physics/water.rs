//! Liquid water: enthalpy and density, fitted to IAPWS-IF97.

use super::polynomial;

/// Specific enthalpy of liquid water at one atmosphere.
///
/// * `c`: 0 °C to 100 °C; the fit does not hold outside.
/// * Result: kJ/kg, within 0.01 kJ/kg of the source.
/// * Source: IAPWS-IF97, region 1; fifth-degree least squares on 201 points.
///
/// ```
/// let h = cupwright::engine::physics::water::enthalpy(60.0);
/// assert!((h - 251.22).abs() < 0.02);
/// ```
pub fn enthalpy(c: f64) -> f64 {
    let fit = [3.836_668, -11.630_06, 16.978_45, -11.604_84, 421.452_9, 0.070_443_32];
    polynomial(&fit, c / 100.0)
}

/// Density of liquid water at one atmosphere.
///
/// * `c`: 0 °C to 100 °C; the fit does not hold outside.
/// * Result: kg/m³, within 0.004 kg/m³ of the source.
/// * Source: IAPWS-IF97, region 1; sixth-degree least squares on 201 points.
///
/// ```
/// let rho = cupwright::engine::physics::water::density(20.0);
/// assert!((rho - 998.206).abs() < 0.01);
/// ```
pub fn density(c: f64) -> f64 {
    let fit =
        [-10.727_122, 42.898_854, -75.743_543, 83.118_565, -87.568_956, 6.526_242_1, 999.847_98];
    polynomial(&fit, c / 100.0)
}

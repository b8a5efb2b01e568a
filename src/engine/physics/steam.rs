//! Saturated steam, and how much of it condenses into milk.

use super::{polynomial, water};

/// Specific enthalpy of the steam at a wand: saturated vapour with some water in it.
///
/// * `bar_abs`: absolute pressure, 1 bar to 4 bar; the fits do not hold outside.
/// * `dryness`: share of vapour, 0 to 1.
/// * Result: kJ/kg, within 0.04 kJ/kg of the source.
/// * Source: IAPWS-IF97 saturation; sixth-degree least squares in the pressure on 121 points.
///
/// ```
/// let h = cupwright::engine::physics::steam::enthalpy(1.013_25, 1.0);
/// assert!((h - 2675.53).abs() < 0.05);
/// ```
pub fn enthalpy(bar_abs: f64, dryness: f64) -> f64 {
    dryness * vapour(bar_abs) + (1.0 - dryness) * liquid(bar_abs)
}

/// Enthalpy of saturated vapour, kJ/kg; arguments and source as [`enthalpy`].
pub fn vapour(bar_abs: f64) -> f64 {
    let fit = [-0.046_877_7, 0.270_698, -0.733_77, 1.770_09, -5.530_03, 22.924_2, 2_706.24];
    polynomial(&fit, bar_abs - 2.0)
}

/// Enthalpy of saturated liquid, kJ/kg; arguments and source as [`enthalpy`].
pub fn liquid(bar_abs: f64) -> f64 {
    let fit = [-0.109_16, 0.631_469, -1.719_36, 4.189_15, -13.386_2, 67.175, 504.677];
    polynomial(&fit, bar_abs - 2.0)
}

/// What is known before milk is steamed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steaming {
    /// Mean specific heat of the milk between the two temperatures, kJ/(kg·K).
    pub milk_kj_kg_k: f64,
    /// Heat capacity of the jug that follows the milk, kJ/K.
    pub jug_kj_k: f64,
    /// Cold milk, °C.
    pub from_c: f64,
    /// Set-point, °C; above `from_c`.
    pub to_c: f64,
    /// Enthalpy of the steam, kJ/kg.
    pub steam_kj_kg: f64,
}

impl Steaming {
    /// Heat that one kilogram of steam gives up: it condenses and cools to the set-point, kJ/kg.
    ///
    /// The heat of vaporisation alone would leave out what the condensate gives up as it cools from
    /// saturation to the milk's temperature, about 7 % of the whole at 60 °C.
    pub fn heat_of_steam(&self) -> f64 {
        self.steam_kj_kg - water::enthalpy(self.to_c)
    }

    /// Condensate from a known mass of cold milk, in the unit of `milk`.
    ///
    /// * Source: heat balance of the jug, checked against IAPWS-IF97 tables.
    pub fn condensate(&self, milk: f64) -> f64 {
        let rise = self.to_c - self.from_c;
        (milk * self.milk_kj_kg_k + 1_000.0 * self.jug_kj_k) * rise / self.heat_of_steam()
    }

    /// Cold milk that together with its condensate weighs `after`, both in grams.
    ///
    /// The condensate depends on the milk and the milk on the condensate; the balance is linear, so
    /// it is solved in one step. It may be negative where the jug alone would condense more.
    pub fn cold_milk(&self, after: f64) -> f64 {
        let (rise, heat) = (self.to_c - self.from_c, self.heat_of_steam());
        (after * heat - 1_000.0 * self.jug_kj_k * rise) / (heat + self.milk_kj_kg_k * rise)
    }
}

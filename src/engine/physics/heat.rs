//! Specific heat of foods, mixing of hot and cold, and the melting of ice.

/// Grams of each component in 100 g of a food.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Components {
    /// Water.
    pub water: f64,
    /// Protein.
    pub protein: f64,
    /// Fat.
    pub fat: f64,
    /// Carbohydrate without fibre.
    pub carbohydrate: f64,
    /// Fibre.
    pub fibre: f64,
    /// Ash.
    pub ash: f64,
}

/// Mean specific heat of a food between two temperatures, by its composition.
///
/// * `from_c`, `to_c`: 0 °C to 100 °C; if equal, the value there.
/// * Result: kJ/(kg·K).
/// * Source: Y. Choi, M. R. Okos 1986, as tabled by ASHRAE and by Singh and Heldman A.2.9;
///   integrated from `from_c` to `to_c`.
///
/// ```
/// use cupwright::engine::physics::heat::{Components, specific_heat};
///
/// let water = Components { water: 100.0, ..Components::default() };
/// assert!((specific_heat(&water, 20.0, 20.0) - 4.177).abs() < 0.001);
/// ```
pub fn specific_heat(of: &Components, from_c: f64, to_c: f64) -> f64 {
    // Each row: value at 0 °C, its linear and its quadratic change with °C.
    let rows = [
        (of.water, [4.176_2, -9.086_4e-5, 5.473_1e-6]),
        (of.protein, [2.008_2, 1.208_9e-3, -1.312_9e-6]),
        (of.fat, [1.984_2, 1.473_3e-3, -4.800_8e-6]),
        (of.carbohydrate, [1.548_8, 1.962_5e-3, -5.939_9e-6]),
        (of.fibre, [1.845_9, 1.830_6e-3, -4.650_9e-6]),
        (of.ash, [1.092_6, 1.889_6e-3, -3.681_7e-6]),
    ];
    // Means of c and c² over the interval; they need no division, so equal ends are no special case.
    let mean = f64::midpoint(from_c, to_c);
    let mean_square = (from_c * from_c + from_c * to_c + to_c * to_c) / 3.0;
    let total: f64 = rows.iter().map(|(grams, _)| grams).sum();
    if total <= 0.0 {
        return 0.0;
    }
    rows.iter().map(|(grams, [a, b, c])| grams * (a + b * mean + c * mean_square)).sum::<f64>()
        / total
}

/// Heat capacities brought together, each at its temperature.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Mixture {
    /// Heat capacity, J/K.
    capacity: f64,
    /// Sum of capacity × °C, J.
    heat: f64,
}

impl Mixture {
    /// Adds `grams` of a specific heat (kJ/(kg·K), which is also J/(g·K)) at `c` °C.
    #[must_use]
    pub fn with(self, grams: f64, kj_kg_k: f64, c: f64) -> Self {
        self.with_capacity(grams * kj_kg_k, c)
    }

    /// Adds a heat capacity in J/K at `c` °C, such as a cup's.
    #[must_use]
    pub fn with_capacity(self, j_k: f64, c: f64) -> Self {
        Self { capacity: self.capacity + j_k, heat: self.heat + j_k * c }
    }

    /// Temperature once all have come together, °C; `None` for nothing at all.
    ///
    /// * Source: heat balance, nothing lost to the room.
    ///
    /// ```
    /// use cupwright::engine::physics::heat::Mixture;
    ///
    /// let mixed = Mixture::default().with(100.0, 4.0, 80.0).with(100.0, 4.0, 20.0);
    /// assert_eq!(mixed.temperature(), Some(50.0));
    /// ```
    pub fn temperature(&self) -> Option<f64> {
        (self.capacity > 0.0).then(|| self.heat / self.capacity)
    }

    /// What becomes of ice in this mixture.
    ///
    /// * `ice_g`: mass of the ice; `ice_c`: its temperature, at most 0 °C.
    /// * `ice_kj_kg_k`: its specific heat.
    /// * Source: heat balance with 334 kJ/kg for melting ice and 4.19 kJ/(kg·K) for its melt.
    ///
    /// ```
    /// use cupwright::engine::physics::heat::Mixture;
    ///
    /// let drink = Mixture::default().with(36.0, 4.1, 75.0).with(150.0, 3.93, 4.0);
    /// let melt = drink.over_ice(100.0, -5.0, 2.1);
    /// assert!((melt.melted_g - 37.0).abs() < 0.1);
    /// assert_eq!(melt.temperature_c, 0.0);
    /// ```
    pub fn over_ice(&self, ice_g: f64, ice_c: f64, ice_kj_kg_k: f64) -> Melt {
        const MELTING: f64 = 334.0;
        const MELT: f64 = 4.19;
        // Heat given up down to 0 °C, less what warms the ice up to 0 °C.
        let spare = self.heat + ice_g * ice_kj_kg_k * ice_c;
        let melted_g = spare / MELTING;
        if melted_g <= 0.0 {
            let capacity = self.capacity + ice_g * ice_kj_kg_k;
            return Melt {
                melted_g: 0.0,
                temperature_c: if capacity > 0.0 { spare / capacity } else { 0.0 },
            };
        }
        if melted_g < ice_g {
            return Melt { melted_g, temperature_c: 0.0 };
        }
        let left = spare - ice_g * MELTING;
        Melt { melted_g: ice_g, temperature_c: left / (self.capacity + ice_g * MELT) }
    }
}

/// Ice after it has met a drink.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Melt {
    /// Ice that has melted, g.
    pub melted_g: f64,
    /// Temperature of the drink, °C.
    pub temperature_c: f64,
}

//! Quantities of the trade, each a whole number of thousandths of one named unit.
//!
//! Whole numbers make a build reproducible: the same ticket gives the same bytes on every machine.
//! A constructor and a getter name the unit, so no bare number crosses a public boundary. Documents
//! write the plain unit with at most three decimal places; those are held exactly.

mod decimal;
mod money;
mod quantity;

pub use decimal::{decimal_places, write_thousandths};
pub use money::Money;
pub use quantity::Range;

use quantity::quantity;

quantity! {
    /// A mass in grams, held in milligrams.
    Mass, "g", from_mg, mg, from_g, g, 0..=100_000
}
quantity! {
    /// A volume in millilitres, held in microlitres.
    Volume, "ml", from_ul, ul, from_ml, ml, 0..=100_000
}
quantity! {
    /// A temperature in degrees Celsius, held in thousandths of a degree.
    Temperature, "°C", from_mc, mc, from_c, c, -40..=120
}
quantity! {
    /// A span of time in seconds, held in milliseconds.
    Span, "s", from_ms, ms, from_s, s, 0..=604_800
}
quantity! {
    /// A number of days, held in thousandths of a day.
    Days, "days", from_thousandths, thousandths, from_days, days, 0..=1_000
}
quantity! {
    /// How many cups, as a mean or as a spread about it; held in thousandths of a cup.
    Cups, "cups", from_thousandths, thousandths, from_cups, cups, 0..=10_000
}
quantity! {
    /// A length in millimetres, held in micrometres.
    Length, "mm", from_um, um, from_mm, mm, 0..=1_000
}
quantity! {
    /// A change of length in millimetres, held in micrometres; it may be negative.
    LengthChange, "mm", from_um, um, from_mm, mm, -100..=100
}
quantity! {
    /// A density in kilograms per cubic metre, which is also grams per litre.
    Density, "kg/m³", from_mkg_m3, mkg_m3, from_kg_m3, kg_m3, 1..=3_000
}
quantity! {
    /// A volume taken up per gram, in millilitres, held in microlitres per gram.
    Displacement, "mL/g", from_ul_g, ul_g, from_ml_g, ml_g, 0..=10
}
quantity! {
    /// A specific heat in kilojoules per kilogram and kelvin, held in joules.
    SpecificHeat, "kJ/(kg·K)", from_j_kg_k, j_kg_k, from_kj_kg_k, kj_kg_k, 0..=10
}
quantity! {
    /// An absolute pressure in bar, held in millibar.
    Pressure, "bar", from_mbar, mbar, from_bar, bar, 1..=4
}
quantity! {
    /// A mass flow in grams per second, held in milligrams per second.
    Flow, "g/s", from_mg_s, mg_s, from_g_s, g_s, 0..=100
}
quantity! {
    /// A share of a whole, from 0 to 1, held in thousandths.
    Share, "of the whole", from_thousandths, thousandths, from_share, share, 0..=1
}
quantity! {
    /// A percentage, held in thousandths of one percent.
    Percent, "%", from_thousandths, thousandths, from_percent, percent, 0..=100
}
quantity! {
    /// Steps of a grinder's setting, finer counted up and coarser down; held in thousandths.
    Steps, "grinder steps", from_thousandths, thousandths, from_steps, steps, -100..=100
}
quantity! {
    /// How many times one amount another is, held in thousandths.
    Ratio, "times", from_thousandths, thousandths, from_times, times_of, 0..=10
}
quantity! {
    /// A bare number of a ticket, whose unit the slot that takes it says; held in thousandths.
    Figure, "units", from_thousandths, thousandths, from_value, value, -1_000..=10_000
}
quantity! {
    /// Milligrams of a substance in a kilogram of food, held in micrograms.
    MassFraction, "mg/kg", from_ug_kg, ug_kg, from_mg_kg, mg_kg, 0..=1_000_000
}
quantity! {
    /// Grams of a nutrient in 100 g of food, held in milligrams.
    Per100, "g per 100 g", from_mg, mg, from_g, g, 0..=100
}
quantity! {
    /// Milligrams of a substance in a gram, held in micrograms per gram.
    PerGram, "mg/g", from_ug_g, ug_g, from_mg_g, mg_g, 0..=1_000
}
quantity! {
    /// Energy in a gram, in kilojoules or kilocalories, held in thousandths of either.
    EnergyFactor, "per gram", from_thousandths, thousandths, from_value, value, 0..=100
}
quantity! {
    /// A bare quotient or bound of a rule; held in thousandths.
    Quotient, "units", from_thousandths, thousandths, from_value, value, 0..=100_000
}

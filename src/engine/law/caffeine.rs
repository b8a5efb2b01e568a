//! The statement of a high caffeine content.

use crate::units::{Mass, Volume};

/// Caffeine above which the statement is due, in milligrams in a litre.
const ABOVE_MG_L: i64 = 150;

/// Whether a prepacked drink must carry the statement of a high caffeine content.
///
/// * `caffeine`: in `volume` of the drink, made up as its label says.
/// * `is_coffee_or_tea_and_so_named`: whether it is based on coffee or tea, or on extracts of them,
///   and the name of the food has the word `coffee` or `tea` in it; one of the two is not enough.
/// * Result: false for no volume, of which nothing can be said.
/// * Source: Regulation (EU) No 1169/2011, Annex III, point 4.1: more than 150 mg/L, from memory. It
///   is about prepacked drinks; of a cup that is made to order it says nothing.
///
/// ```
/// use cupwright::{engine::law::high_caffeine_statement, units::{Mass, Volume}};
///
/// let litre = Volume::from_ul(1_000_000);
/// assert!(!high_caffeine_statement(Mass::from_mg(150), litre, false));
/// assert!(high_caffeine_statement(Mass::from_mg(151), litre, false));
/// assert!(!high_caffeine_statement(Mass::from_mg(151), litre, true));
/// ```
pub fn high_caffeine_statement(
    caffeine: Mass,
    volume: Volume,
    is_coffee_or_tea_and_so_named: bool,
) -> bool {
    // Both sides in milligrams times microlitres, so that the boundary is met exactly.
    let is_above = caffeine.mg() * 1_000_000 > ABOVE_MG_L * volume.ul();
    volume > Volume::ZERO && is_above && !is_coffee_or_tea_and_so_named
}

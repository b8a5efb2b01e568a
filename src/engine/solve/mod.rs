//! From an order to amounts: what is known is summed up, and milk or water fills what is left.

mod balance;
mod coffee;
mod envelope;
mod listed;
mod matter;
mod milk;
mod serve;

pub use balance::{Layer, LayerOf};
pub use coffee::{Baskets, Coffee, mass_of};
pub use envelope::judge;
pub use listed::{Listed, listed};
pub use matter::{Portion, PortionOf};
pub use milk::{ColdMilk, Milk, SteamedMilk, Workings, workings};
pub use serve::{Brought, BroughtOf, brought};

use super::{objection::Objection, order::Order};
use crate::{
    book::Bar,
    units::{Mass, Temperature, Volume},
};

/// Every amount of one cup.
#[derive(Debug)]
pub struct Solved<'b> {
    /// Fill, from the floor of the cup to the serving line.
    pub fill: Volume,
    /// The fill with what stands beside the cup poured in; identity is judged by it.
    pub together: Volume,
    /// Coffee, if there is any.
    pub coffee: Option<Coffee>,
    /// Milk, if there is any.
    pub milk: Option<Milk<'b>>,
    /// Everything else, in pour order.
    pub portions: Vec<Portion<'b>>,
    /// What the fill consists of, in pour order.
    pub layers: Vec<Layer<'b>>,
    /// Ice that melts as the drink is made.
    pub melted: Mass,
    /// Temperature as served.
    pub serve: Temperature,
}

/// Solves the order's amounts at the bar.
///
/// * Errors: no room, no jug, no wand. Whether it is still the drink, [`judge`] says.
pub fn solve<'b>(bar: &'b Bar, order: &Order<'b>) -> Result<Solved<'b>, Vec<Objection>> {
    let coffee = order.coffee.as_ref().map(coffee::coffee);
    let known = matter::portions(bar, order);
    let balance = balance::balance(bar, order, coffee.as_ref(), known).map_err(|one| vec![one])?;
    let balance::Balance { fill, together, milk, portions, layers } = balance;
    let brought = serve::brought(bar, order, coffee.as_ref(), milk.as_ref(), &portions);
    let (serve, melted) = serve::serve(&brought);
    let solved = Solved { fill, together, coffee, milk, portions, layers, melted, serve };
    Ok(solved)
}

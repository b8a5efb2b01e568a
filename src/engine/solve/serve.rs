//! Temperature as served: everything in the cup, the cup itself, and ice.

use super::{
    coffee::Coffee,
    matter::{Portion, PortionOf},
    milk::{Milk, mean_heat},
};
use crate::{
    book::{Bar, Id, Stage},
    engine::{
        order::{CoffeeOrder, Order},
        physics::heat::Mixture,
    },
    units::{Mass, Temperature},
};

/// Something that comes together in the cup, with its heat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Brought<'b> {
    /// What it is: an ingredient, by id, or the vessel.
    pub id: &'b Id,
    /// Which figure of the build or which record its mass is.
    pub of: BroughtOf,
    /// Mass, g.
    pub grams: f64,
    /// Specific heat, kJ/(kg·K); of a vessel, that of the share of its mass that follows the drink.
    pub kj_kg_k: f64,
    /// Temperature at which it comes in, °C.
    pub c: f64,
}

/// What is brought.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BroughtOf {
    /// Coffee.
    Coffee,
    /// Milk.
    Milk,
    /// A portion.
    Portion,
    /// Ice.
    Ice,
    /// The cup itself.
    Cup,
}

/// Everything that comes together in the cup, the cup itself last.
///
/// What a leaf keeps is left out with the water it soaked up; so is what lies on top, since people
/// drink, and scald themselves on, what is under it.
pub fn brought<'b>(
    bar: &'b Bar,
    order: &Order<'b>,
    coffee: Option<&Coffee>,
    milk: Option<&Milk<'b>>,
    portions: &[Portion<'b>],
) -> Vec<Brought<'b>> {
    let mut all = Vec::with_capacity(portions.len() + 3);
    let in_cup = |how: &&CoffeeOrder<'_>| !order.is_aside(&how.part.id, "coffee");
    if let Some((coffee, how)) = coffee.zip(order.coffee.as_ref().filter(in_cup)) {
        all.push(Brought {
            id: &how.bean.ingredient,
            of: BroughtOf::Coffee,
            grams: coffee.in_cup.g(),
            kj_kg_k: how.extraction.specific_heat_kj_kg_k.kj_kg_k(),
            c: how.extraction.poured_c.c(),
        });
    }
    let milk = milk.filter(|_| !order.has_milk_aside()).map(|milk| match milk {
        Milk::Steamed(milk) => (milk.ingredient, milk.in_cup, milk.specific_heat, milk.set_point),
        Milk::Cold(milk) => {
            (milk.ingredient, milk.mass, milk.specific_heat, milk.ingredient.stored_c)
        }
    });
    if let Some((ingredient, mass, heat, at)) = milk {
        let (id, of, kj_kg_k) = (&ingredient.id, BroughtOf::Milk, heat.kj_kg_k());
        all.push(Brought { id, of, grams: mass.g(), kj_kg_k, c: at.c() });
    }
    for one in portions.iter().filter(|one| !one.is_beside() && one.stage != Stage::Top) {
        let (of, grams) = match one.of {
            PortionOf::Ice(_) => (BroughtOf::Ice, one.mass.g()),
            PortionOf::Leaf(_) | PortionOf::Grounds(_) => continue,
            PortionOf::LeafWater(_) => {
                let kept: f64 = portions.iter().map(|leaf| leaf.keeps.ml()).sum();
                (BroughtOf::Portion, (one.mass.g() - kept).max(0.0))
            }
            PortionOf::Part(_)
            | PortionOf::Added(_)
            | PortionOf::Paste(_)
            | PortionOf::PasteWater(_)
            | PortionOf::Brew(_)
            | PortionOf::Water(_) => (BroughtOf::Portion, one.mass.g()),
        };
        let kj_kg_k = mean_heat(one.ingredient, one.at, one.at);
        all.push(Brought { id: &one.ingredient.id, of, grams, kj_kg_k, c: one.at.c() });
    }
    let vessel = order.vessel.vessel;
    if let Some(material) = bar.material(&vessel.material) {
        all.push(Brought {
            id: &vessel.id,
            of: BroughtOf::Cup,
            grams: vessel.mass_g.g(),
            kj_kg_k: material.specific_heat_kj_kg_k.kj_kg_k() * material.heat_share.share(),
            c: order.cup_c.unwrap_or(vessel.rests_at_c).c(),
        });
    }
    all
}

/// Temperature of the drink as served, and the ice that has melted by then.
pub(super) fn serve(all: &[Brought<'_>]) -> (Temperature, Mass) {
    let warm = all.iter().filter(|one| one.of != BroughtOf::Ice);
    let mixture = warm.fold(Mixture::default(), |sum, one| sum.with(one.grams, one.kj_kg_k, one.c));
    match all.iter().find(|one| one.of == BroughtOf::Ice) {
        Some(ice) => {
            let melt = mixture.over_ice(ice.grams, ice.c, ice.kj_kg_k);
            (Temperature::from_c(melt.temperature_c), Mass::from_g(melt.melted_g))
        }
        None => (Temperature::from_c(mixture.temperature().unwrap_or(0.0)), Mass::ZERO),
    }
}

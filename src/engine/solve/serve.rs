//! Temperature as served: everything in the cup, the cup itself, and ice.

use super::{
    coffee::Coffee,
    matter::{Portion, PortionOf},
    milk::{Milk, mean_heat},
};
use crate::{
    book::{Bar, Stage},
    engine::{
        order::{CoffeeOrder, Order},
        physics::heat::Mixture,
    },
    units::{Mass, Temperature},
};

/// Temperature of the drink as served, and the ice that has melted by then.
///
/// What a leaf keeps is left out with the water it soaked up; so is what lies on top, since people
/// drink, and scald themselves on, what is under it.
pub(super) fn serve(
    bar: &Bar,
    order: &Order<'_>,
    coffee: Option<&Coffee>,
    milk: Option<&Milk<'_>>,
    portions: &[Portion<'_>],
) -> (Temperature, Mass) {
    let mut mixture = Mixture::default();
    let in_cup = |how: &&CoffeeOrder<'_>| !order.is_aside(&how.part.id, "coffee");
    if let Some((coffee, how)) = coffee.zip(order.coffee.as_ref().filter(in_cup)) {
        let heat = how.extraction.specific_heat_kj_kg_k.kj_kg_k();
        mixture = mixture.with(coffee.in_cup.g(), heat, how.extraction.poured_c.c());
    }
    match milk.filter(|_| !order.has_milk_aside()) {
        Some(Milk::Steamed(milk)) => {
            let heat = milk.specific_heat.kj_kg_k();
            mixture = mixture.with(milk.in_cup.g(), heat, milk.set_point.c());
        }
        Some(Milk::Cold(milk)) => {
            let (heat, at) = (milk.specific_heat.kj_kg_k(), milk.ingredient.stored_c.c());
            mixture = mixture.with(milk.mass.g(), heat, at);
        }
        None => {}
    }
    let mut ice = None;
    for one in portions.iter().filter(|one| !one.is_beside() && one.stage != Stage::Top) {
        let heat = mean_heat(one.ingredient, one.at, one.at);
        match one.of {
            PortionOf::Ice(_) => ice = Some((one.mass.g(), one.at.c(), heat)),
            PortionOf::Leaf(_) | PortionOf::Grounds(_) => {}
            PortionOf::LeafWater(_) => {
                let kept: f64 = portions.iter().map(|leaf| leaf.keeps.ml()).sum();
                mixture = mixture.with((one.mass.g() - kept).max(0.0), heat, one.at.c());
            }
            PortionOf::Part(_)
            | PortionOf::Added(_)
            | PortionOf::Paste(_)
            | PortionOf::PasteWater(_)
            | PortionOf::Brew(_)
            | PortionOf::Water(_) => mixture = mixture.with(one.mass.g(), heat, one.at.c()),
        }
    }
    mixture = with_cup(bar, order, mixture);
    match ice {
        Some((grams, at, heat)) => {
            let melt = mixture.over_ice(grams, at, heat);
            (Temperature::from_c(melt.temperature_c), Mass::from_g(melt.melted_g))
        }
        None => (Temperature::from_c(mixture.temperature().unwrap_or(0.0)), Mass::ZERO),
    }
}

fn with_cup(bar: &Bar, order: &Order<'_>, mixture: Mixture) -> Mixture {
    let vessel = order.vessel.vessel;
    let Some(material) = bar.material(&vessel.material) else { return mixture };
    let share = material.heat_share.share();
    let capacity = vessel.mass_g.g() * material.specific_heat_kj_kg_k.kj_kg_k() * share;
    mixture.with_capacity(capacity, order.cup_c.unwrap_or(vessel.rests_at_c).c())
}

//! Heat: the temperature of the drink as served, and the ice that melts.

use super::{
    Scene,
    figure::{Factor, Figure, law},
};
use crate::engine::solve::{Brought, BroughtOf, ColdMilk, SteamedMilk, brought, workings};

const MELTING: &str = "heat of melting ice, 334 kJ/kg";
const MELT: &str = "specific heat of water, 4.19 kJ/(kg·K)";
const RECORD: &str = "the record's own, or Choi and Okos 1986 by its composition";
const DENSITY: &str = "the record's densities, carried on by the expansion of its composition \
    (University of Guelph dairy notes) or of water (IAPWS-IF97)";

/// Density of a steamed milk at its set-point.
pub(super) fn hot_density(scene: Scene<'_, '_>, milk: &SteamedMilk<'_>) -> Factor {
    let by = workings(scene.bar, scene.order(), milk.jug);
    law("density at the set-point", by.map_or(0.0, |by| by.hot_kg_m3), "kg/m³", DENSITY)
}

/// Density of a milk poured cold.
pub(super) fn cold_density(milk: &ColdMilk<'_>) -> Factor {
    let density = milk.ingredient.density_kg_m3.map_or(1_000.0, |density| density.kg_m3());
    super::figure::book(
        format!("/ingredients/{}/density_kg_m3", milk.ingredient.id),
        density,
        "kg/m³",
    )
}

/// Mass and specific heat of something in the cup, J/K.
fn capacity(one: &Brought<'_>) -> [Factor; 2] {
    let field = match one.of {
        BroughtOf::Coffee => "/coffee/in_cup_g".to_owned(),
        BroughtOf::Milk => "milk in the cup".to_owned(),
        BroughtOf::Portion | BroughtOf::Ice => format!("{} in the cup", one.id),
        BroughtOf::Cup => format!("/vessels/{}/mass_g", one.id),
    };
    let mass = match one.of {
        BroughtOf::Cup => super::figure::book(field, one.grams, "g"),
        _ => super::figure::figure(&field, one.grams, "g"),
    };
    let what = match one.of {
        BroughtOf::Cup => "specific heat of the share of the cup that follows",
        _ => "specific heat",
    };
    [mass, law(what, one.kj_kg_k, "kJ/(kg·K)", RECORD)]
}

fn at(one: &Brought<'_>) -> Factor {
    law("temperature as it comes in", one.c, "°C", "the record, or the set-point")
}

pub(super) fn figures(scene: Scene<'_, '_>, all: &mut Vec<Figure>) {
    let (order, solved) = (scene.order(), &scene.build.solved);
    let together =
        brought(scene.bar, order, solved.coffee.as_ref(), solved.milk.as_ref(), &solved.portions);
    let ice = together.iter().find(|one| one.of == BroughtOf::Ice);
    let warm = || together.iter().filter(|one| one.of != BroughtOf::Ice);
    let heat = |mut sum: Figure| {
        for one in warm() {
            let [mass, heat] = capacity(one);
            sum = sum.plus([mass, heat, at(one)]);
        }
        sum
    };
    let over = |mut sum: Figure| {
        for one in warm() {
            sum = sum.over(capacity(one));
        }
        sum
    };
    let serve = Figure::new("/serve/temperature_c", "°C", 1.0);
    let melted = Figure::new("/ice/melted_g", "g", 0.1);
    let balance =
        "heat balance of everything in the cup and the cup itself; nothing is lost to the room";
    let Some(ice) = ice else {
        all.push(over(heat(serve)).by(balance));
        all.push(melted.by("there is no ice in the cup"));
        return;
    };
    let [ice_mass, ice_heat] = capacity(ice);
    let chill = || [ice_mass.clone(), ice_heat.clone(), at(ice)];
    let melting = || law("heat of melting", 334.0, "kJ/kg", MELTING);
    if solved.melted.g() <= 0.0 {
        all.push(over(heat(serve)).plus(chill()).over([ice_mass, ice_heat]).by(balance));
        all.push(melted.by("the drink is too cold to melt any"));
    } else if (solved.melted.g() - ice.grams).abs() < 0.001 {
        let warmed = over(heat(serve)).plus(chill()).less([ice_mass.clone(), melting()]);
        let melt = law("specific heat of its melt", 4.19, "kJ/(kg·K)", MELT);
        all.push(warmed.over([ice_mass.clone(), melt]).by(balance));
        all.push(melted.plus([ice_mass]).by("the drink melts all of it"));
    } else {
        all.push(serve.by("ice that is left keeps it at 0 °C"));
        let spare = heat(melted).plus(chill()).over([melting()]);
        all.push(spare.by("heat given up down to 0 °C ÷ the heat of melting"));
    }
}

//! Heat: the temperature of the drink as served, and the ice that melts.

use super::{
    Scene,
    figure::{Factor, Figure, amount, book, figure, law},
};
use crate::{
    engine::solve::{Brought, BroughtOf, ColdMilk, SteamedMilk, brought, workings},
    units::Density,
};

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
    let density = milk.ingredient.density_kg_m3.map_or(1_000.0, Density::kg_m3);
    book(format!("/ingredients/{}/density_kg_m3", milk.ingredient.id), density, "kg/m³")
}

/// What something in the cup gives up or takes with each degree, J/K.
fn capacity(scene: Scene<'_, '_>, one: &Brought<'_>) -> Vec<Factor> {
    let heat = || law("specific heat", one.kj_kg_k, "kJ/(kg·K)", RECORD);
    match one.of {
        BroughtOf::Coffee => vec![figure("/coffee/in_cup_g", one.grams, "g"), heat()],
        BroughtOf::Milk => vec![amount("milk in the cup", one.grams, "g"), heat()],
        BroughtOf::Portion | BroughtOf::Ice => {
            vec![amount(&format!("{} in the cup", one.id), one.grams, "g"), heat()]
        }
        BroughtOf::Cup => of_cup(scene, one),
    }
}

/// The share of the cup's mass that follows the drink, by its material.
fn of_cup(scene: Scene<'_, '_>, one: &Brought<'_>) -> Vec<Factor> {
    let mass = book(format!("{}/mass_g", scene.vessel()), one.grams, "g");
    let Some(material) = scene.bar.material(&scene.order().vessel.vessel.material) else {
        return vec![mass];
    };
    let of = |field: &str| format!("/materials/{}/{field}", material.id);
    let heat = material.specific_heat_kj_kg_k.kj_kg_k();
    let share = material.heat_share.share();
    vec![
        mass,
        book(of("specific_heat_kj_kg_k"), heat, "kJ/(kg·K)"),
        book(of("heat_share"), share, ""),
    ]
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
            sum = sum.plus(capacity(scene, one).into_iter().chain([at(one)]));
        }
        sum
    };
    let over = |mut sum: Figure| {
        for one in warm() {
            sum = sum.over(capacity(scene, one));
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
    let ice_mass = amount("ice", ice.grams, "g");
    let ice_heat = law("specific heat", ice.kj_kg_k, "kJ/(kg·K)", RECORD);
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

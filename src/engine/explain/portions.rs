//! Parts: how much of each ingredient, by mass and as room in the cup; water and ice.

use super::{
    Scene,
    cup::{less_other_layers, with_line},
    figure::{Figure, amount, asked, book, figure, number},
};
use crate::{
    book::{Amount, Part, Remainder},
    engine::solve::{LayerOf, Listed, Milk, Portion, PortionOf, listed},
    units::{Density, Displacement, Mass, Volume},
};

/// Adds what the recipe or the line measures of a portion.
///
/// * `field`: `g` or `ml`.
fn with_measured(
    scene: Scene<'_, '_>,
    sum: Figure,
    one: &Portion<'_>,
    (field, value): (&str, f64),
    unit: &'static str,
) -> Figure {
    let order = scene.order();
    let id = one.of.id();
    let of_part = |field: &str| format!("{}/{field}", scene.part(id));
    let of_row = order.cup.amounts.get(id);
    let measure = |amount: &Amount| match field {
        "g" => amount.g.map(Mass::g),
        _ => amount.ml.map(Volume::ml),
    };
    let row = of_row
        .and_then(measure)
        .map(|value| book(format!("{}/amounts/{id}/{field}", scene.row()), value, unit));
    let part = order.drink.parts.iter().find(|part| part.id() == id);
    let own = match (one.of, part) {
        (PortionOf::Added(_), _) => return sum.plus([asked(id, value, unit)]),
        (PortionOf::PasteWater(_) | PortionOf::LeafWater(_), _) => {
            return sum.plus([book(of_part("water_ml"), value, unit)]);
        }
        (_, Some(Part::Ingredient(part))) => measure(&part.amount)
            .map(|value| book(of_part(&format!("amount/{field}")), value, unit)),
        (_, Some(Part::Paste(part))) => measure(&part.amount)
            .map(|value| book(of_part(&format!("amount/{field}")), value, unit)),
        (_, Some(Part::Ice(ice))) => Some(book(of_part("g"), ice.g.g(), unit)),
        _ => Some(book(of_part(field), value, unit)),
    };
    let Some(usual) = row.or(own) else { return sum };
    if matches!(one.of, PortionOf::Ice(_)) && order.ice_times.thousandths() != 1_000 {
        let by = scene.by(|effect| effect.ice_times.is_some()).unwrap_or("ice");
        return sum.plus([usual, asked(by, order.ice_times.times_of(), "")]);
    }
    let more = value - usual.value;
    let sum = sum.plus([usual]);
    // More of a paste's own powder is stirred in with it.
    let stirred = order.added.iter().find(|added| added.ingredient.id == one.ingredient.id);
    match stirred.filter(|_| more > 0.0005) {
        Some(added) => sum.plus([asked(added.by, more, unit)]),
        None => sum,
    }
}

fn portion(scene: Scene<'_, '_>, n: usize, one: &Portion<'_>, all: &mut Vec<Figure>) {
    let at = |field: &str| format!("/parts/{n}/{field}");
    let (grams, room) = (Figure::new(at("g"), "g", 0.1), Figure::new(at("ml"), "mL", 0.1));
    let of = |field: &str| format!("/ingredients/{}/{field}", one.ingredient.id);
    let (g, ml) = (one.mass.g(), one.volume.ml());
    if let PortionOf::Grounds(id) = one.of {
        all.push(grounds(scene, id, one, grams));
        all.push(room.by("it is strained, and takes no room in the cup"));
        return;
    }
    let density = one.ingredient.density_kg_m3.map(Density::kg_m3);
    let displaced = one.ingredient.displacement_ml_g.map(Displacement::ml_g);
    let kilo = || number("g in a kg", 1_000.0);
    if one.by_volume {
        all.push(match (density, displaced) {
            (Some(density), _) => {
                let density = book(of("density_kg_m3"), density, "kg/m³");
                grams.plus([figure(&at("ml"), ml, "mL"), density, kilo().under()])
            }
            (None, Some(displaced)) if displaced > 0.0 => {
                let per = book(of("displacement_ml_g"), displaced, "mL/g").under();
                grams.plus([figure(&at("ml"), ml, "mL"), per])
            }
            _ => grams,
        });
        all.push(if is_remainder(scene, one) {
            let own = |of: &LayerOf<'_>| matches!(of, LayerOf::Water(id) if *id == one.of.id());
            let sum = less_other_layers(scene, with_line(scene, room), own);
            sum.by("the line of the cup less everything else in it")
        } else {
            let measured = with_measured(scene, room, one, ("ml", ml), "mL");
            measured.by("as the recipe measures it")
        });
        return;
    }
    let weighed = with_measured(scene, grams, one, ("g", g), "g");
    all.push(weighed.by("as the recipe weighs it"));
    let mass = figure(&at("g"), g, "g");
    all.push(match (one.of, density, displaced) {
        (PortionOf::Leaf(_), ..) => room.by("it is strained, and takes no room in the cup"),
        (_, Some(density), _) => {
            room.plus([mass, kilo(), book(of("density_kg_m3"), density, "kg/m³").under()])
        }
        (_, None, Some(displaced)) => {
            room.plus([mass, book(of("displacement_ml_g"), displaced, "mL/g")])
        }
        _ => room,
    });
}

/// Ground coffee for the brew in the cup and for what the grounds keep.
fn grounds(scene: Scene<'_, '_>, id: &str, one: &Portion<'_>, sum: Figure) -> Figure {
    let parts = scene.order().parts();
    let Some(brew) = parts.filter(|part| **part.id() == *id).find_map(Part::as_brew) else {
        return sum;
    };
    let brewed =
        scene.build.solved.portions.iter().find(|other| matches!(other.of, PortionOf::Brew(_)));
    let ml = brewed.map_or(0.0, |one| one.volume.ml());
    let dose = || book(format!("{}/dose_g_l", scene.part(id)), brew.dose_g_l.kg_m3(), "g/L");
    let keeps = one.ingredient.keeps_ml_g.map_or(0.0, Displacement::ml_g);
    let kept = book(format!("/ingredients/{}/keeps_ml_g", one.ingredient.id), keeps, "mL/g");
    sum.plus([amount("brew in the cup", ml, "mL"), dose()])
        .over([number("mL in a litre", 1_000.0)])
        .over([number("taken away", -1.0), kept, dose()])
        .by("what the grounds keep was water too")
}

/// Whether the water of a portion fills up what is left of the cup.
fn is_remainder(scene: Scene<'_, '_>, one: &Portion<'_>) -> bool {
    let order = scene.order();
    let water = order.parts().find_map(Part::as_water);
    let own =
        water.is_some_and(|water| water.ml.is_none() && !order.cup.amounts.contains_key(&water.id));
    own && matches!(one.of, PortionOf::Water(_))
        && order.drink.remainder == Remainder::Water
        && order.cup.fill_ml.is_some()
}

fn water(scene: Scene<'_, '_>, all: &mut Vec<Figure>) {
    let list = listed(scene.order(), &scene.build.solved);
    let found = list.iter().enumerate().find_map(|(n, one)| match one {
        Listed::Portion(one) if matches!(one.of, PortionOf::Water(_)) => Some((n, *one)),
        Listed::Coffee | Listed::Milk | Listed::Portion(_) => None,
    });
    let sum = Figure::new("/water/ml", "mL", 0.1);
    let Some((n, one)) = found else {
        all.push(sum.by("the drink has no water of its own"));
        return;
    };
    all.push(sum.plus([figure(&format!("/parts/{n}/ml"), one.volume.ml(), "mL")]));
    let path = format!("{}/temperature_c", scene.part(one.of.id()));
    let at = Figure::new("/water/temperature_c", "°C", 0.0);
    all.push(at.plus([book(path, one.at.c(), "°C")]).by("the drink's own record"));
}

pub(super) fn figures(scene: Scene<'_, '_>, all: &mut Vec<Figure>) {
    water(scene, all);
    let solved = &scene.build.solved;
    let list = listed(scene.order(), solved);
    let mut ice = Figure::new("/ice/g", "g", 0.1).by("the ice among the parts");
    for (n, one) in list.iter().enumerate() {
        let at = |field: &str| format!("/parts/{n}/{field}");
        match one {
            Listed::Coffee => {
                let (Some(coffee), Some(how)) = (&solved.coffee, &scene.order().coffee) else {
                    continue;
                };
                let mass = || figure("/coffee/in_cup_g", coffee.in_cup.g(), "g");
                all.push(Figure::new(at("g"), "g", 0.1).plus([mass()]));
                let path = format!("/extractions/{}/density_kg_m3", how.extraction.id);
                let per = book(path, how.extraction.density_kg_m3.kg_m3(), "kg/m³").under();
                let room = [mass(), number("g in a kg", 1_000.0), per];
                all.push(Figure::new(at("ml"), "mL", 0.1).plus(room));
            }
            Listed::Milk => milk(scene, n, all),
            Listed::Portion(one) => {
                if matches!(one.of, PortionOf::Ice(_)) {
                    ice = ice.plus([figure(&at("g"), one.mass.g(), "g")]);
                }
                portion(scene, n, one, all);
            }
        }
    }
    all.push(ice);
}

fn milk(scene: Scene<'_, '_>, n: usize, all: &mut Vec<Figure>) {
    let Some(milk) = &scene.build.solved.milk else { return };
    let textured = || figure("/milk/textured_ml", milk.textured().ml(), "mL");
    let grams = Figure::new(format!("/parts/{n}/g"), "g", 0.1);
    let density = match milk {
        Milk::Steamed(steamed) => super::heat::hot_density(scene, steamed),
        Milk::Cold(cold) => super::heat::cold_density(cold),
    };
    let per = || [density.clone(), number("g in a kg", 1_000.0).under()];
    let mut sum = grams.plus([textured()].into_iter().chain(per()));
    if milk.gas() > Volume::ZERO {
        sum = sum.less([figure("/milk/gas_ml", milk.gas().ml(), "mL")].into_iter().chain(per()));
    }
    let kept = super::cup::milk_kept(scene);
    if kept > Volume::ZERO && matches!(milk, Milk::Steamed(_)) {
        sum = sum.less([amount("kept by the leaf", kept.ml(), "mL")].into_iter().chain(per()));
    }
    all.push(sum.by("liquid milk in the cup, condensate included"));
    all.push(Figure::new(format!("/parts/{n}/ml"), "mL", 0.1).plus([textured()]));
}

//! The cup: its brim, its fill and the layers of the fill, and the line up to which it is filled.

use super::{
    Scene,
    figure::{Factor, Figure, amount, asked, book, figure, number},
};
use crate::{
    book::{IcePolicy, Part},
    engine::solve::{Layer, LayerOf, Listed, Portion, PortionOf, listed},
    units::Volume,
};

/// Adds the terms of the line up to which the remainder goes; the drink's own in the cup that stands
/// here, less what is to stay free.
pub(super) fn with_line(scene: Scene<'_, '_>, sum: Figure) -> Figure {
    let order = scene.order();
    let fill = order.cup.fill_ml.unwrap_or_default();
    let (here, of_book) = (order.vessel.vessel, order.vessel.of_book);
    let mut factors = vec![book(format!("{}/fill_ml", scene.row()), fill.ml(), "mL")];
    if here.fill_ml != of_book.fill_ml {
        let path = format!("{}/fill_ml", scene.vessel());
        factors.push(amount("fill of the cup here", here.fill_ml.ml(), "mL"));
        factors.push(book(path, of_book.fill_ml.ml(), "mL").under());
    }
    if let Some((share, by)) = order.fill_share.zip(scene.by(|effect| effect.fill_share.is_some()))
    {
        factors.push(asked(by, share.share(), ""));
    }
    let mut sum = sum.plus(factors);
    if let Some(by) = scene.by(|effect| effect.space_ml.is_some()) {
        sum = sum.less([asked(by, order.space.ml(), "mL")]);
    }
    match ice_missed(scene) {
        Some(factors) => sum.less(factors),
        None => sum,
    }
}

/// Room of the ice that was asked to be left out, where the site leaves that room empty.
fn ice_missed(scene: Scene<'_, '_>) -> Option<Vec<Factor>> {
    let (bar, order) = (scene.bar, scene.order());
    let left = 1.0 - order.ice_times.times_of();
    if bar.site.ice_policy == IcePolicy::Fill || left <= 0.0 {
        return None;
    }
    let ice =
        order.parts().find_map(|part| if let Part::Ice(ice) = part { Some(ice) } else { None })?;
    let of_row = order.cup.amounts.get(&ice.id).and_then(|amount| amount.g);
    let path = match of_row {
        Some(_) => format!("{}/amounts/{}/g", scene.row(), ice.id),
        None => format!("{}/g", scene.part(&ice.id)),
    };
    let room = bar.ingredient(&ice.ingredient)?.displacement_ml_g?.ml_g();
    let by = scene.by(|effect| effect.ice_times.is_some()).unwrap_or("ice");
    Some(vec![
        book(path, of_row.unwrap_or(ice.g).g(), "g"),
        book(format!("/ingredients/{}/displacement_ml_g", ice.ingredient), room, "mL/g"),
        asked(by, left, ""),
    ])
}

/// The list's place of the portion whose room a layer is, less what a leaf keeps of it.
fn portion_of<'a, 'b>(
    scene: Scene<'a, 'b>,
    layer: &Layer<'_>,
) -> Option<(usize, &'a Portion<'b>, Volume)> {
    let keeps: Volume = scene.build.solved.portions.iter().map(|one| one.keeps).sum();
    let fits = |one: &Portion<'_>| match (layer.of, one.of) {
        (LayerOf::Ice(id), PortionOf::Ice(of))
        | (LayerOf::Water(id), PortionOf::Water(of) | PortionOf::PasteWater(of))
            if id == of =>
        {
            Some(Volume::ZERO)
        }
        (LayerOf::Water(id), PortionOf::LeafWater(of)) if id == of => Some(keeps.min(one.volume)),
        (
            LayerOf::Ingredient(id),
            PortionOf::Part(of) | PortionOf::Added(of) | PortionOf::Paste(of) | PortionOf::Brew(of),
        ) if id == of => Some(Volume::ZERO),
        _ => None,
    };
    let all = listed(scene.order(), &scene.build.solved).into_iter().enumerate();
    let mut found = all.filter_map(|(at, one)| match one {
        Listed::Portion(one) if !one.is_beside() => fits(one).map(|less| (at, one, less)),
        Listed::Coffee | Listed::Milk | Listed::Portion(_) => None,
    });
    found.next()
}

fn layer(scene: Scene<'_, '_>, n: usize, layer: &Layer<'_>) -> Figure {
    let sum = Figure::new(format!("/layers/{n}/ml"), "mL", 0.1);
    let solved = &scene.build.solved;
    let kept = milk_kept(scene);
    match layer.of {
        LayerOf::Coffee => {
            let (Some(coffee), Some(how)) = (&solved.coffee, &scene.order().coffee) else {
                return sum;
            };
            let density = format!("/extractions/{}/density_kg_m3", how.extraction.id);
            let per = book(density, how.extraction.density_kg_m3.kg_m3(), "kg/m³").under();
            let mass = figure("/coffee/in_cup_g", coffee.in_cup.g(), "g");
            sum.plus([mass, number("g in a kg", 1_000.0), per])
        }
        LayerOf::Milk => {
            let Some(milk) = &solved.milk else { return sum };
            let (textured, gas) = (milk.textured().ml(), milk.gas().ml());
            let sum = sum.plus([figure("/milk/textured_ml", textured, "mL")]);
            let sum = sum.less([figure("/milk/gas_ml", gas, "mL")]);
            if kept > Volume::ZERO {
                sum.less([amount("kept by the leaf", kept.ml(), "mL")])
            } else {
                sum
            }
        }
        LayerOf::FoamGas => {
            let gas = solved.milk.as_ref().map_or(0.0, |milk| milk.gas().ml());
            sum.plus([figure("/milk/gas_ml", gas, "mL")])
        }
        LayerOf::Water(_) | LayerOf::Ice(_) | LayerOf::Ingredient(_) => {
            let Some((at, one, less)) = portion_of(scene, layer) else { return sum };
            let sum = sum.plus([figure(&format!("/parts/{at}/ml"), one.volume.ml(), "mL")]);
            if less > Volume::ZERO {
                sum.less([amount("kept by the leaf", less.ml(), "mL")])
            } else {
                sum
            }
        }
    }
}

/// Milk that stays in a leaf: what it keeps beyond the water that it was steeped in.
pub(super) fn milk_kept(scene: Scene<'_, '_>) -> Volume {
    let portions = &scene.build.solved.portions;
    let keeps: Volume = portions.iter().map(|one| one.keeps).sum();
    let steeped = portions.iter().filter(|one| matches!(one.of, PortionOf::LeafWater(_)));
    let steeped: Volume = steeped.map(|one| one.volume).sum();
    keeps - keeps.min(steeped)
}

/// Takes every layer away but those of what fills up what is left.
pub(super) fn less_other_layers(
    scene: Scene<'_, '_>,
    mut sum: Figure,
    own: impl Fn(&LayerOf<'_>) -> bool,
) -> Figure {
    let layers = scene.build.solved.layers.iter().enumerate();
    for (n, one) in layers.filter(|(_, one)| !own(&one.of)) {
        sum = sum.less([figure(&format!("/layers/{n}/ml"), one.volume.ml(), "mL")]);
    }
    sum
}

/// Liquid in the cup.
fn liquid(scene: Scene<'_, '_>) -> Figure {
    let solved = &scene.build.solved;
    let mut sum = Figure::new("/serve/liquid_ml", "mL", 0.1).plus([figure(
        "/vessel/fill_ml",
        solved.fill.ml(),
        "mL",
    )]);
    let ice_g: f64 = solved
        .portions
        .iter()
        .filter(|one| matches!(one.of, PortionOf::Ice(_)))
        .map(|one| one.mass.g())
        .sum();
    for (n, layer) in solved.layers.iter().enumerate() {
        let at = format!("/layers/{n}/ml");
        match layer.of {
            LayerOf::FoamGas => sum = sum.less([figure(&at, layer.volume.ml(), "mL")]),
            LayerOf::Ice(_) if ice_g > 0.0 => {
                let whole = (ice_g - solved.melted.g()).max(0.0);
                sum = sum.less([
                    figure(&at, layer.volume.ml(), "mL"),
                    amount("/ice/g less /ice/melted_g", whole, "g"),
                    figure("/ice/g", ice_g, "g").under(),
                ]);
            }
            LayerOf::Coffee
            | LayerOf::Milk
            | LayerOf::Water(_)
            | LayerOf::Ice(_)
            | LayerOf::Ingredient(_) => {}
        }
    }
    sum.by("the fill without the gas of foam and without ice that is still whole")
}

pub(super) fn figures(scene: Scene<'_, '_>, all: &mut Vec<Figure>) {
    let (order, solved) = (scene.order(), &scene.build.solved);
    let mut fill = Figure::new("/vessel/fill_ml", "mL", 0.1).by("the sum of the layers");
    for (n, one) in solved.layers.iter().enumerate() {
        fill = fill.plus([figure(&format!("/layers/{n}/ml"), one.volume.ml(), "mL")]);
    }
    all.push(fill);
    all.push(liquid(scene));
    let brim = Figure::new("/vessel/brim_ml", "mL", 0.0);
    all.push(if let Some(capacity) = order.capacity {
        brim.plus([asked("capacity", capacity.ml(), "mL")]).by("the customer's word")
    } else {
        let path = format!("{}/brim_ml", scene.vessel());
        let here = order.vessel.vessel.brim_ml.ml();
        brim.plus([book(path, here, "mL")]).by("the cup's record")
    });
    all.extend(solved.layers.iter().enumerate().map(|(n, one)| layer(scene, n, one)));
}

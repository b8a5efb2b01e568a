//! Milk: from the room it has in the cup back to cold milk in the jug, and the steam for it.

use super::{
    Scene,
    cup::{less_other_layers, milk_kept, with_line},
    figure::{Factor, Figure, amount, asked, book, figure, law, number, site},
};
use crate::{
    book::{JugHere, Remainder, SetPoint, Stage},
    engine::{
        order::MilkOrder,
        solve::{ColdMilk, LayerOf, Milk, SteamedMilk, Workings, workings},
    },
    units::Volume,
};

const HEAT: &str = "Choi and Okos 1986 by the composition, or the record's own specific heat";
const STEAM: &str = "IAPWS-IF97: enthalpy of the site's steam less that of water at the set-point";
const DENSITY: &str = "the record's densities, carried on by the expansion of its composition \
    (University of Guelph dairy notes) or of water (IAPWS-IF97)";
const GEOMETRY: &str = "geometry: the area of the cup at its serving line";

/// A steamed milk with what it was solved by.
#[derive(Clone, Copy)]
struct Steamed<'a, 'b> {
    scene: Scene<'a, 'b>,
    how: &'a MilkOrder<'b>,
    milk: &'a SteamedMilk<'b>,
    by: Workings,
}

impl Steamed<'_, '_> {
    fn hot(&self) -> [Factor; 2] {
        let density = law("density at the set-point", self.by.hot_kg_m3, "kg/m³", DENSITY);
        [density, number("g in a kg", 1_000.0).under()]
    }

    fn cold(&self) -> [Factor; 2] {
        let density = law("density as stored", self.by.cold_kg_m3, "kg/m³", DENSITY);
        [density, number("g in a kg", 1_000.0).under()]
    }

    fn steam(&self) -> Factor {
        law("heat that the steam gives up", self.by.steam_kj_kg, "kJ/kg", STEAM)
    }

    fn rise(&self) -> Factor {
        let rise = amount("/milk/set_point_c less stored_c", self.by.rise_k, "K");
        Factor { what: "rise to the set-point".to_owned(), ..rise }
    }

    /// Heat that a gram of milk takes, per gram.
    fn milk_heat(&self) -> [Factor; 2] {
        [law("specific heat of the milk", self.by.kj_kg_k, "kJ/(kg·K)", HEAT), self.rise()]
    }

    /// Heat that a jug takes, J.
    fn jug_heat(&self, here: &JugHere) -> [Factor; 4] {
        let JugHere { jug, material } = here;
        let of = |field: &str| format!("/materials/{}/{field}", material.id);
        let heat = material.specific_heat_kj_kg_k.kj_kg_k();
        [
            book(format!("/jugs/{}/mass_g", jug.id), jug.mass_g.g(), "g"),
            book(of("specific_heat_kj_kg_k"), heat, "kJ/(kg·K)"),
            book(of("heat_share"), material.heat_share.share(), ""),
            self.rise(),
        ]
    }

    fn liquid(&self) -> f64 {
        (self.milk.textured - self.milk.gas).ml()
    }

    fn film(&self) -> Factor {
        site("/film_g", self.scene.bar.site.film_g.g(), "g")
    }

    /// Cold milk whose mass with its condensate is what leaves the jug and the film in it.
    fn cold_figure(&self) -> Figure {
        let (textured, gas) = (self.milk.textured.ml(), self.milk.gas.ml());
        let [density, kilo] = self.hot();
        let hot = || [density.clone(), kilo.clone(), self.steam()];
        let [cold, cold_kilo] = self.cold();
        let [heat, rise] = self.milk_heat();
        Figure::new("/milk/cold_ml", "mL", 0.1)
            .plus([figure("/milk/textured_ml", textured, "mL")].into_iter().chain(hot()))
            .less([figure("/milk/gas_ml", gas, "mL")].into_iter().chain(hot()))
            .plus([self.film(), self.steam()])
            .less(self.jug_heat(self.milk.jug))
            .over([cold.clone(), cold_kilo.clone(), self.steam()])
            .over([cold, cold_kilo, heat, rise])
            .by("heat balance of the jug: cold milk and its condensate weigh what is poured and the film")
    }

    fn condensate_figure(&self) -> Figure {
        let [density, kilo] = self.hot();
        let [cold, cold_kilo] = self.cold();
        let cold_ml = figure("/milk/cold_ml", self.milk.cold.ml(), "mL");
        Figure::new("/milk/condensate_g", "g", 0.1)
            .plus([amount("/milk/textured_ml less gas_ml", self.liquid(), "mL"), density, kilo])
            .plus([self.film()])
            .less([cold_ml, cold, cold_kilo])
            .by("what is in the jug after steaming less the cold milk")
    }

    fn steam_time(&self) -> Figure {
        let [cold, kilo] = self.cold();
        let [heat, rise] = self.milk_heat();
        let rate = site(
            &format!("/wands/{}/steam_g_s", self.milk.wand.id),
            self.milk.wand.steam_g_s.g_s(),
            "g/s",
        );
        let pour = figure("/milk/pour_ml", self.milk.pour.ml(), "mL");
        Figure::new("/milk/steam_s", "s", 1.0)
            .plus([pour, cold, kilo, heat, rise])
            .plus(self.jug_heat(self.milk.jug))
            .over([self.steam(), rate])
            .by("condensate of the milk in the jug ÷ the wand's steam")
    }

    /// The mark: the cold milk, or the least that the jug needs, to the site's step.
    fn pour_figure(&self) -> Figure {
        let step = self.scene.bar.site.pour_mark_ml;
        let jug = &self.milk.jug.jug;
        let least = Volume::from_ml(jug.cold_min.share() * jug.brim_ml.ml());
        let sum = Figure::new("/milk/pour_ml", "mL", step.ml());
        let cold = figure("/milk/cold_ml", self.milk.cold.ml(), "mL");
        if self.milk.cold < least {
            let path = |field: &str| format!("/jugs/{}/{field}", jug.id);
            let min = book(path("cold_min"), jug.cold_min.share(), "");
            let sum = sum.plus([min, book(path("brim_ml"), jug.brim_ml.ml(), "mL")]);
            return sum.up_to(step.ml()).by("the least that the jug needs, up to the next mark");
        }
        let mark = self.milk.cold.to_nearest(step);
        if mark == self.milk.pour {
            return sum.plus([cold]).by("cold milk to the nearest mark");
        }
        sum.plus([cold])
            .up_to(step.ml())
            .by("cold milk up to the next mark: the nearest is too low")
    }

    fn left_over(&self) -> Figure {
        let sum = Figure::new("/milk/left_over_ml", "mL", 0.1);
        if self.milk.left_over == Volume::ZERO {
            return sum.by("the jug needs no more than the cup");
        }
        let [pour, cold] = [("/milk/pour_ml", self.milk.pour), ("/milk/cold_ml", self.milk.cold)]
            .map(|(at, volume)| figure(at, volume.ml(), "mL"));
        sum.plus([pour]).less([cold]).by("what the jug needs beyond the cup")
    }

    fn area(&self) -> [Factor; 2] {
        let area = law("free surface", self.by.area_cm2, "cm²", GEOMETRY);
        [area, number("mm in a cm", 10.0).under()]
    }

    fn gas_share(&self) -> Factor {
        let texture = &self.how.texture.id;
        book(format!("/textures/{texture}/foam_gas_share"), self.by.gas_share, "")
    }

    fn foam(&self, all: &mut Vec<Figure>) {
        let depth = Figure::new("/milk/foam_depth_mm", "mm", 0.1);
        let gas = Figure::new("/milk/gas_ml", "mL", 0.1);
        let [area, tenth] = self.area();
        let (foam, mm) = (self.how.foam, self.milk.foam_depth.mm());
        // A row of the cup table may have a measure of its own.
        let path = match self.scene.order().cup.foam {
            Some(_) => self.scene.row(),
            None => self.scene.part(&self.how.part.id),
        };
        let by_share = foam.usual.and_then(|usual| usual.gas_fraction);
        if let Some(share) = by_share.filter(|_| foam.depth.is_none() && foam.change.is_none()) {
            let share = book(format!("{path}/foam/gas_fraction"), share.share(), "");
            let textured = figure("/milk/textured_ml", self.milk.textured.ml(), "mL");
            let [gas_ml, surface] =
                [figure("/milk/gas_ml", self.milk.gas.ml(), "mL"), area.under()];
            let per = [gas_ml, number("mm in a cm", 10.0), surface, self.gas_share().under()];
            all.push(depth.plus(per).by(GEOMETRY));
            all.push(gas.plus([textured, share]).by("the drink's own share of gas"));
            return;
        }
        let usual = foam.usual.unwrap_or(crate::book::Foam {
            depth_mm: None,
            ml: None,
            gas_fraction: None,
        });
        let mut sum = match (foam.depth, usual.depth_mm, usual.ml) {
            (Some(asked_for), ..) => {
                let by = self.scene.by(|effect| effect.foam_depth_mm.is_some()).unwrap_or("foam");
                depth.plus([asked(by, asked_for.mm(), "mm")])
            }
            (None, Some(usual), _) => {
                depth.plus([book(format!("{path}/foam/depth_mm"), usual.mm(), "mm")])
            }
            (None, None, Some(ml)) => {
                let layer = book(format!("{path}/foam/ml"), ml.ml(), "mL");
                depth.plus([layer, number("mm in a cm", 10.0), area.clone().under()])
            }
            (None, None, None) => depth,
        };
        if let (None, Some(change)) = (foam.depth, foam.change) {
            let by = self.scene.by(|effect| effect.foam_change_mm.is_some()).unwrap_or("foam");
            sum = sum.plus([asked(by, change.mm(), "mm")]);
        }
        all.push(sum.by("depth of the layer at the serving line"));
        let mm = figure("/milk/foam_depth_mm", mm, "mm");
        all.push(gas.plus([mm, area, tenth, self.gas_share()]).by(GEOMETRY));
    }

    /// What the cup takes: what is left of its fill, or the drink's own amount.
    fn textured(&self) -> Figure {
        let sum = Figure::new("/milk/textured_ml", "mL", 0.1);
        let part = self.how.part;
        let is_remainder = self.scene.order().drink.remainder == Remainder::Milk
            && self.scene.order().cup.fill_ml.is_some();
        if is_remainder {
            return of_remainder(self.scene, sum);
        }
        let path = self.scene.part(&part.id);
        if let Some(own) = part.textured_ml {
            return sum.plus([book(format!("{path}/textured_ml"), own.ml(), "mL")]);
        }
        let (Some(cold_ml), Some(jug)) = (part.cold_ml, self.scene.bar.jugs.first()) else {
            return sum;
        };
        let Some(by) = workings(self.scene.bar, self.scene.order(), jug) else { return sum };
        // With the first jug, by which the drink's own cold milk is turned into what it pours.
        let first = Self { by, ..*self };
        let cold = || book(format!("{path}/cold_ml"), cold_ml.ml(), "mL");
        let [density, kilo] = first.cold();
        let [hot, hot_kilo] = first.hot();
        let per_hot = || [hot.clone().under(), Factor { divides: false, ..hot_kilo.clone() }];
        let [heat, rise] = first.milk_heat();
        sum.plus([cold(), density.clone(), kilo.clone()].into_iter().chain(per_hot()))
            .plus(
                [cold(), density, kilo, heat, rise, first.steam().under()]
                    .into_iter()
                    .chain(per_hot()),
            )
            .plus(first.jug_heat(jug).into_iter().chain([first.steam().under()]).chain(per_hot()))
            .less([first.film()].into_iter().chain(per_hot()))
            .plus([figure("/milk/gas_ml", self.milk.gas.ml(), "mL")])
            .by("the drink's own cold milk with its condensate, less the film, and its gas")
    }
}

/// What the line leaves for milk, with what a leaf will keep of it.
fn of_remainder(scene: Scene<'_, '_>, sum: Figure) -> Figure {
    let own = |of: &LayerOf<'_>| matches!(of, LayerOf::Milk | LayerOf::FoamGas);
    let mut sum = less_other_layers(scene, with_line(scene, sum), own);
    let kept = milk_kept(scene);
    if kept > Volume::ZERO {
        sum = sum.plus([amount("kept by the leaf", kept.ml(), "mL")]);
    }
    // Coffee that stands beside is no layer, but its room in the cup stays free.
    if let (Some(coffee), Some(how)) = (&scene.build.solved.coffee, &scene.order().coffee)
        && scene.order().is_aside(&how.part.id, "coffee")
    {
        sum = sum.less([amount("coffee beside the cup", coffee.volume.ml(), "mL")]);
    }
    let beside = |one: &&crate::engine::solve::Portion<'_>| {
        one.stage == Stage::Side && matches!(one.of, crate::engine::solve::PortionOf::Water(_))
    };
    for one in scene.build.solved.portions.iter().filter(beside) {
        sum = sum.less([amount("water beside the cup", one.volume.ml(), "mL")]);
    }
    sum.by("the line of the cup less everything else in it")
}

fn cold(scene: Scene<'_, '_>, how: &MilkOrder<'_>, milk: &ColdMilk<'_>, all: &mut Vec<Figure>) {
    let volume = milk.volume.ml();
    let textured = Figure::new("/milk/textured_ml", "mL", 0.1);
    let remainder =
        scene.order().drink.remainder == Remainder::Milk && scene.order().cup.fill_ml.is_some();
    let own = how
        .part
        .textured_ml
        .map(|ml| ("textured_ml", ml))
        .or(how.part.cold_ml.map(|ml| ("cold_ml", ml)));
    all.push(match own {
        _ if remainder => of_remainder(scene, textured),
        Some((field, ml)) => {
            let path = format!("{}/{field}", scene.part(&how.part.id));
            textured.plus([book(path, ml.ml(), "mL")]).by("the drink's own amount")
        }
        None => textured,
    });
    let same = |at: &str, step: f64| {
        Figure::new(at, "mL", step).plus([figure("/milk/textured_ml", volume, "mL")])
    };
    all.push(same("/milk/cold_ml", 0.1).by("milk poured cold is what it is"));
    all.push(same("/milk/pour_ml", scene.bar.site.pour_mark_ml.ml()).by("to the nearest mark"));
    for (at, unit) in [
        ("/milk/left_over_ml", "mL"),
        ("/milk/foam_depth_mm", "mm"),
        ("/milk/gas_ml", "mL"),
        ("/milk/condensate_g", "g"),
        ("/milk/steam_s", "s"),
    ] {
        all.push(Figure::new(at, unit, 0.0).by("milk poured cold has none"));
    }
}

pub(super) fn figures(scene: Scene<'_, '_>, all: &mut Vec<Figure>) {
    let (order, solved) = (scene.order(), &scene.build.solved);
    let Some((how, milk)) = order.milk.as_ref().zip(solved.milk.as_ref()) else { return };
    let milk = match milk {
        Milk::Cold(milk) => return cold(scene, how, milk, all),
        Milk::Steamed(milk) => milk,
    };
    let Some(by) = workings(scene.bar, order, milk.jug) else { return };
    let steamed = Steamed { scene, how, milk, by };
    all.push(steamed.textured());
    steamed.foam(all);
    all.push(steamed.cold_figure());
    all.push(steamed.pour_figure());
    all.push(steamed.left_over());
    all.push(steamed.condensate_figure());
    all.push(steamed.steam_time());
    let set_point = Figure::new("/milk/set_point_c", "°C", 0.0);
    let held = order.held.iter().find(|one| one.phase() == crate::book::Phase::Temperature);
    let path = match &how.part.set_point {
        Some(SetPoint::Named(name)) => {
            format!("/ingredients/{}/steaming/set_points_c/{name}", milk.ingredient.id)
        }
        Some(SetPoint::Celsius(_)) | None => format!("{}/set_point", scene.part(&how.part.id)),
    };
    let own = book(path, milk.set_point.c(), "°C");
    let from = held.map_or(own, |one| asked(one.modifier.id(), milk.set_point.c(), "°C"));
    all.push(set_point.plus([from]).by("the milk's own set-point, or degrees that were asked for"));
}

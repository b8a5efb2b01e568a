//! Milk: from the textured volume in the cup back to cold milk in the jug.

use crate::{
    book::{Bar, Composition, Ingredient, JugHere, Phase, Steaming, Wand},
    engine::{
        objection::{Code, Fix, Measured, Objection},
        order::{MilkOrder, Order},
        physics::{foam, heat, milk as dairy, steam, water},
    },
    units::{Density, Length, LengthChange, Mass, Share, Span, SpecificHeat, Temperature, Volume},
};

/// The milk of one cup.
#[derive(Clone, Copy, Debug)]
pub enum Milk<'b> {
    /// Steamed in a jug.
    Steamed(SteamedMilk<'b>),
    /// Poured cold.
    Cold(ColdMilk<'b>),
}

/// Milk steamed in a jug.
#[derive(Clone, Copy, Debug)]
pub struct SteamedMilk<'b> {
    /// The milk.
    pub ingredient: &'b Ingredient,
    /// Cold milk that the cup needs, film included.
    pub cold: Volume,
    /// Mark to which cold milk is poured.
    pub pour: Volume,
    /// Milk that stays over because the jug needs more than the cup.
    pub left_over: Volume,
    /// The jug.
    pub jug: &'b JugHere,
    /// Textured milk that the cup takes.
    pub textured: Volume,
    /// Gas in it.
    pub gas: Volume,
    /// Textured milk in the jug for it: what the cup takes, and the film that stays.
    pub in_jug: Volume,
    /// Depth of foam at the serving line.
    pub foam_depth: Length,
    /// Steam that condenses into the milk of this cup.
    pub condensate: Mass,
    /// Milk and condensate in the cup.
    pub in_cup: Mass,
    /// Set-point.
    pub set_point: Temperature,
    /// The wand.
    pub wand: &'b Wand,
    /// Time under steam.
    pub time: Span,
    /// Mean specific heat, kJ/(kg·K), in thousandths.
    pub specific_heat: SpecificHeat,
}

impl SteamedMilk<'_> {
    /// Where the jug stands once it is steamed, all that was poured in counted, to the nearest mark.
    ///
    /// * `mark`: from one mark of a jug to the next.
    pub fn stands_at(&self, mark: Volume) -> Volume {
        self.in_jug.scaled(self.pour.ul(), self.cold.ul()).to_nearest(mark)
    }
}

/// Milk poured cold.
#[derive(Clone, Copy, Debug)]
pub struct ColdMilk<'b> {
    /// The milk.
    pub ingredient: &'b Ingredient,
    /// Its volume.
    pub volume: Volume,
    /// Mark to which it is poured.
    pub pour: Volume,
    /// Its mass.
    pub mass: Mass,
    /// Specific heat.
    pub specific_heat: SpecificHeat,
}

/// Room for the milk.
#[derive(Clone, Copy, Debug)]
pub(super) enum Room {
    /// The milk is the remainder: what is left of the fill, with what a leaf will keep of it.
    Remainder {
        /// Textured volume to be poured.
        left: Volume,
        /// Of it, liquid that stays in a leaf.
        gone: Volume,
    },
    /// The drink gives the milk's own amount.
    Own {
        /// Liquid of it that stays in a leaf.
        gone: Volume,
    },
}

impl Milk<'_> {
    /// Textured volume poured, gas included.
    pub fn textured(&self) -> Volume {
        match self {
            Self::Steamed(milk) => milk.textured,
            Self::Cold(milk) => milk.volume,
        }
    }

    /// Gas in it.
    pub fn gas(&self) -> Volume {
        match self {
            Self::Steamed(milk) => milk.gas,
            Self::Cold(_) => Volume::ZERO,
        }
    }

    /// The milk.
    pub fn ingredient(&self) -> &Ingredient {
        match self {
            Self::Steamed(milk) => milk.ingredient,
            Self::Cold(milk) => milk.ingredient,
        }
    }
}

/// Solves the milk for the room it has.
pub(super) fn milk<'b>(
    bar: &'b Bar,
    order: &Order<'b>,
    milk: &MilkOrder<'b>,
    room: Room,
) -> Result<Milk<'b>, Objection> {
    let Some((steaming, set_point)) = milk.steamed else {
        let own = milk.part.textured_ml.or(milk.part.cold_ml).unwrap_or_default();
        let volume = match room {
            Room::Remainder { left, .. } => left,
            Room::Own { .. } => own,
        };
        let at = milk.ingredient.stored_c;
        return Ok(Milk::Cold(ColdMilk {
            ingredient: milk.ingredient,
            volume,
            pour: volume.to_nearest(bar.site.pour_mark_ml),
            mass: Mass::from_g(volume.ml() * density(milk.ingredient, at.c()) / 1_000.0),
            specific_heat: SpecificHeat::from_kj_kg_k(mean_heat(milk.ingredient, at, at)),
        }));
    };
    let stretch = Stretch::of(order, milk, set_point);
    let (textured, gas) = stretch.volumes(bar, order, milk, room)?;
    let liquid = textured - gas;
    if liquid <= Volume::ZERO {
        return Err(super::balance::does_not_fit(order, Volume::ZERO - liquid));
    }
    holds(order, milk, steaming, textured, gas)?;
    let gone = match room {
        Room::Remainder { gone, .. } | Room::Own { gone } => gone,
    };
    in_jug(bar, order, milk, Poured { textured, gas, gone }, &stretch)
}

/// Volumes that leave the jug.
#[derive(Clone, Copy)]
struct Poured {
    textured: Volume,
    gas: Volume,
    gone: Volume,
}

/// How a milk is stretched in this cup.
struct Stretch {
    area_cm2: f64,
    gas_share: f64,
    hot_kg_m3: f64,
    cold_kg_m3: f64,
    specific_heat: f64,
    from: Temperature,
    to: Temperature,
}

impl Stretch {
    fn of(order: &Order<'_>, milk: &MilkOrder<'_>, to: Temperature) -> Self {
        let from = milk.ingredient.stored_c;
        Self {
            area_cm2: foam::area_cm2(order.vessel.vessel.diameter_at_fill_mm.mm()),
            gas_share: milk.texture.foam_gas_share.share(),
            hot_kg_m3: density(milk.ingredient, to.c()),
            cold_kg_m3: density(milk.ingredient, from.c()),
            specific_heat: mean_heat(milk.ingredient, from, to),
            from,
            to,
        }
    }

    fn steaming(&self, bar: &Bar, jug: &JugHere) -> steam::Steaming {
        let JugHere { jug, material } = jug;
        let heat = material.specific_heat_kj_kg_k.kj_kg_k() * material.heat_share.share();
        steam::Steaming {
            milk_kj_kg_k: self.specific_heat,
            jug_kj_k: jug.mass_g.g() / 1_000.0 * heat,
            from_c: self.from.c(),
            to_c: self.to.c(),
            steam_kj_kg: steam::enthalpy(
                bar.site.steam.pressure_bar_abs.bar(),
                bar.site.steam.dryness.share(),
            ),
        }
    }

    fn depth(&self, gas: Volume) -> Length {
        Length::from_mm(foam::depth_of_gas(gas.ml(), self.area_cm2, self.gas_share))
    }

    /// Textured volume and the gas in it.
    ///
    /// The drink's own measure gives the usual gas; a customer's depth or change of depth is then
    /// worked on the depth that this gas has in this cup.
    fn volumes(
        &self,
        bar: &Bar,
        order: &Order<'_>,
        milk: &MilkOrder<'_>,
        room: Room,
    ) -> Result<(Volume, Volume), Objection> {
        let liquid_of_own = |cold: Volume| self.liquid_of_cold(bar, cold);
        let part = milk.part;
        let usual = milk.foam.usual;
        let fraction = usual.and_then(|foam| foam.gas_fraction).map(Share::share);
        let layer = usual.map_or(0.0, |foam| {
            let by_depth = foam
                .depth_mm
                .map(|depth| foam::gas_in_layer(depth.mm(), self.area_cm2, self.gas_share));
            by_depth.or(foam.ml.map(|ml| ml.ml() * self.gas_share)).unwrap_or(0.0)
        });
        let usual_gas = |whole: Option<f64>, liquid: f64| match (fraction, whole) {
            (None, _) => layer,
            (Some(share), Some(whole)) => whole * share,
            (Some(share), None) => liquid * share / (1.0 - share),
        };
        let (whole, liquid) = match (room, part.textured_ml, part.cold_ml) {
            (Room::Remainder { left, .. }, _, _) => (Some(left.ml()), 0.0),
            (Room::Own { .. }, Some(textured), _) => (Some(textured.ml()), 0.0),
            (Room::Own { .. }, None, Some(cold)) => (None, liquid_of_own(cold)),
            (Room::Own { .. }, None, None) => (Some(0.0), 0.0),
        };
        let gas = self.customised(order, milk, Volume::from_ml(usual_gas(whole, liquid)))?;
        Ok(match whole {
            Some(whole) => (Volume::from_ml(whole), gas),
            None => (Volume::from_ml(liquid) + gas, gas),
        })
    }

    fn customised(
        &self,
        order: &Order<'_>,
        milk: &MilkOrder<'_>,
        usual: Volume,
    ) -> Result<Volume, Objection> {
        let (depth, change) = (milk.foam.depth, milk.foam.change);
        if depth.is_none() && change.is_none() {
            return Ok(usual);
        }
        let depth = depth.unwrap_or_else(|| {
            Length::from_um(self.depth(usual).um() + change.map_or(0, LengthChange::um))
        });
        if depth < Length::ZERO {
            let measured =
                Measured { field: "foam_depth_mm", value: depth.um(), min: Some(0), max: None };
            let fault = Objection::refuse(Code::FoamOutsideIdentity).measure(measured);
            return Err(fault.name("drink", &order.drink.names).toward("no-foam"));
        }
        Ok(Volume::from_ml(foam::gas_in_layer(depth.mm(), self.area_cm2, self.gas_share)))
    }

    /// Hot liquid that a given volume of cold milk leaves for the cup, without the film.
    fn liquid_of_cold(&self, bar: &Bar, cold: Volume) -> f64 {
        let mass = cold.ml() * self.cold_kg_m3 / 1_000.0;
        let Some(jug) = bar.jugs.first() else { return 0.0 };
        let after = mass + self.steaming(bar, jug).condensate(mass) - bar.site.film_g.g();
        after.max(0.0) / self.hot_kg_m3 * 1_000.0
    }
}

/// The properties by which a steamed milk was solved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Workings {
    /// Free surface at the serving line, cm².
    pub area_cm2: f64,
    /// Share of gas in the layer of foam.
    pub gas_share: f64,
    /// Density at the set-point, kg/m³.
    pub hot_kg_m3: f64,
    /// Density as stored, kg/m³.
    pub cold_kg_m3: f64,
    /// Mean specific heat from one to the other, kJ/(kg·K).
    pub kj_kg_k: f64,
    /// Heat capacity of the jug that follows the milk, kJ/K.
    pub jug_kj_k: f64,
    /// From as stored to the set-point, K.
    pub rise_k: f64,
    /// Heat that a kilogram of the site's steam gives up, kJ/kg.
    pub steam_kj_kg: f64,
}

/// The properties by which the order's milk is solved in `jug`; `None` for milk poured cold.
pub fn workings(bar: &Bar, order: &Order<'_>, jug: &JugHere) -> Option<Workings> {
    let milk = order.milk.as_ref()?;
    let (_, set_point) = milk.steamed?;
    let stretch = Stretch::of(order, milk, set_point);
    let steaming = stretch.steaming(bar, jug);
    Some(Workings {
        area_cm2: stretch.area_cm2,
        gas_share: stretch.gas_share,
        hot_kg_m3: stretch.hot_kg_m3,
        cold_kg_m3: stretch.cold_kg_m3,
        kj_kg_k: stretch.specific_heat,
        jug_kj_k: steaming.jug_kj_k,
        rise_k: steaming.to_c - steaming.from_c,
        steam_kj_kg: steaming.heat_of_steam(),
    })
}

/// Refuses more gas than the milk holds.
fn holds(
    order: &Order<'_>,
    milk: &MilkOrder<'_>,
    steaming: &Steaming,
    textured: Volume,
    gas: Volume,
) -> Result<(), Objection> {
    let fraction = Share::from_thousandths(gas.scaled(1_000, textured.ul()).ul());
    if fraction <= steaming.gas_fraction_max {
        return Ok(());
    }
    let foam = order.held.iter().filter(|one| one.phase() == Phase::Foam);
    let fixes = foam.map(|one| Fix::Withdraw(one.modifier.id().clone()));
    let measured = Measured {
        field: "gas_fraction",
        value: fraction.thousandths(),
        min: None,
        max: Some(steaming.gas_fraction_max.thousandths()),
    };
    let fault = Objection::refuse(Code::FoamAboveMilk).name("milk", &milk.ingredient.names);
    Err(fault.measure(measured).fixes(fixes).toward("less-foam"))
}

/// Picks the smallest jug that the milk fits, its own heat counted, and the mark to pour to.
fn in_jug<'b>(
    bar: &'b Bar,
    order: &Order<'b>,
    milk: &MilkOrder<'b>,
    poured: Poured,
    stretch: &Stretch,
) -> Result<Milk<'b>, Objection> {
    let Poured { textured, gas, gone } = poured;
    let liquid_g = (textured - gas).ml() * stretch.hot_kg_m3 / 1_000.0;
    let after = liquid_g + bar.site.film_g.g();
    let film_ml = bar.site.film_g.g() / stretch.cold_kg_m3 * 1_000.0;
    for jug in &bar.jugs {
        let steaming = stretch.steaming(bar, jug);
        let cold_g = steaming.cold_milk(after);
        if cold_g <= 0.0 {
            continue;
        }
        let cold_ml = cold_g / stretch.cold_kg_m3 * 1_000.0;
        let expansion = textured.ml() / cold_ml;
        let brim = jug.jug.brim_ml.ml();
        if (cold_ml + film_ml) * expansion > jug.jug.stretched_max.share() * brim {
            continue;
        }
        let wand = wand_for(bar, &milk.ingredient.id).ok_or_else(|| no_wand(bar, milk))?;
        let cold = Volume::from_ml(cold_ml);
        let least = Volume::from_ml(jug.jug.cold_min.share() * brim);
        let mark = cold.to_nearest(bar.site.pour_mark_ml);
        // A mark that leaves a small cup short by a twentieth is too low.
        let short = (cold - mark).times(20) > cold;
        let pour = if cold < least || short {
            rounded_up(cold.max(least), bar.site.pour_mark_ml)
        } else {
            mark
        };
        let poured_g = pour.ml() * stretch.cold_kg_m3 / 1_000.0;
        let seconds = steaming.condensate(poured_g) / wand.steam_g_s.g_s();
        let in_cup_g = (textured - gas - gone).ml() * stretch.hot_kg_m3 / 1_000.0;
        return Ok(Milk::Steamed(SteamedMilk {
            ingredient: milk.ingredient,
            cold,
            pour,
            left_over: if cold < least { pour - cold } else { Volume::ZERO },
            jug,
            textured,
            gas,
            in_jug: textured + Volume::from_ml(film_ml * textured.ml() / (textured - gas).ml()),
            foam_depth: stretch.depth(gas),
            condensate: Mass::from_g(after - cold_g),
            in_cup: Mass::from_g(in_cup_g),
            set_point: stretch.to,
            wand,
            time: Span::from_s(seconds),
            specific_heat: SpecificHeat::from_kj_kg_k(stretch.specific_heat),
        }));
    }
    let fault = Objection::refuse(Code::NoJug).name("drink", &order.drink.names);
    Err(fault.number("textured", textured.ul()).fixes(smaller_sizes(order)))
}

fn rounded_up(volume: Volume, step: Volume) -> Volume {
    let nearest = volume.to_nearest(step);
    if nearest < volume { nearest + step } else { nearest }
}

fn smaller_sizes(order: &Order<'_>) -> Vec<Fix> {
    let sizes = order.drink.cups.get(&order.service).into_iter().flatten();
    let smaller = sizes.filter(|(_, cup)| cup.fill_ml < order.cup.fill_ml);
    smaller.map(|(id, _)| Fix::Set("size".into(), id.clone())).collect()
}

/// The first wand that may touch the milk: one of its own before one for any milk.
fn wand_for<'b>(bar: &'b Bar, milk: &str) -> Option<&'b Wand> {
    let own = |wand: &&Wand| wand.only.iter().any(|only| *only == *milk);
    let wands = &bar.site.wands;
    wands.iter().find(own).or_else(|| wands.iter().find(|wand| wand.only.is_empty()))
}

fn no_wand(bar: &Bar, milk: &MilkOrder<'_>) -> Objection {
    let slots = bar.book.modifiers.iter().filter(|modifier| modifier.phase() == Phase::Milk);
    let fixes = slots.map(|slot| Fix::Drop(slot.id().clone()));
    let fault = Objection::refuse(Code::NoWand).name("milk", &milk.ingredient.names);
    fault.fixes(fixes).toward("no-steam")
}

/// Density of a milk at a temperature, kg/m³: between its two measured densities on a line, else
/// the cold one carried on by the expansion of its composition, else by that of water.
fn density(milk: &Ingredient, c: f64) -> f64 {
    let cold = milk.density_kg_m3.map_or(1_000.0, Density::kg_m3);
    if let Some(hot) = &milk.density_hot {
        let per_degree = (hot.kg_m3.kg_m3() - cold) / (hot.at_c.c() - 4.0);
        return cold + per_degree * (c - 4.0);
    }
    match &milk.composition {
        Some(Composition { fat, protein, carbohydrate, fibre, ash, water: _ }) => {
            let solids = (*protein + *carbohydrate + *fibre + *ash).g() / 100.0;
            cold * dairy::expansion(fat.g() / 100.0, solids, c)
        }
        None => cold * water::density(c) / water::density(4.0),
    }
}

/// Mean specific heat between two temperatures, kJ/(kg·K): the record's own, or by composition.
pub(super) fn mean_heat(ingredient: &Ingredient, from: Temperature, to: Temperature) -> f64 {
    match (ingredient.specific_heat_kj_kg_k, &ingredient.composition) {
        (Some(own), _) => own.kj_kg_k(),
        (None, Some(parts)) => {
            let Composition { water, protein, fat, carbohydrate, fibre, ash } = parts;
            let components = heat::Components {
                water: water.g(),
                protein: protein.g(),
                fat: fat.g(),
                carbohydrate: carbohydrate.g(),
                fibre: fibre.g(),
                ash: ash.g(),
            };
            heat::specific_heat(&components, from.c(), to.c())
        }
        (None, None) => 0.0,
    }
}

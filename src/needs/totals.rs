//! Sums over a mix: ingredients, milk, cups and lids.

use super::{
    BeanNeed, Counted, Forecast,
    cup::is_poured,
    par::{Par, each, par},
};
use crate::{
    book::{Bar, Ingredient, IngredientKind, Service, Vessel},
    units::{Density, Mass, Share, Volume},
};

/// One ingredient of a mix.
#[derive(Clone, Copy, Debug)]
pub struct IngredientNeed<'b> {
    /// The ingredient.
    pub ingredient: &'b Ingredient,
    /// What the builds have of it.
    pub in_cups: Mass,
    /// The same by volume; `None` for what is not poured.
    pub in_cups_ml: Option<Volume>,
    /// What is used in all, halves of coffee paired.
    pub used: Mass,
    /// The same by volume.
    pub used_ml: Option<Volume>,
    /// Share of what is bought that never reaches a cup, where the site says so.
    pub waste: Option<Share>,
    /// What must be bought, so that after waste enough is left.
    pub bought: Mass,
    /// The same by volume.
    pub bought_ml: Option<Volume>,
    /// Par level, where there is a forecast.
    pub par: Option<Par>,
    /// The par level by volume.
    pub par_ml: Option<Volume>,
}

/// Milk of one kind, each cup steamed by itself.
#[derive(Clone, Copy, Debug)]
pub struct MilkNeed<'b> {
    /// The milk.
    pub ingredient: &'b Ingredient,
    /// Cups with it.
    pub cups: i64,
    /// Of these, cups for which it is steamed.
    pub steamed: i64,
    /// Cold milk for the cups, film included.
    pub cold: Volume,
    /// Of it, what stays in jugs as a film.
    pub film: Mass,
    /// What jugs need beyond the cups.
    pub left_over: Volume,
    /// Cold milk and what is left over, weighed cold.
    pub poured: Mass,
}

/// Cups of one kind, served in one way.
#[derive(Clone, Copy, Debug)]
pub struct VesselNeed<'b> {
    /// The vessel; one that stands for a customer's own where the service is `own`.
    pub vessel: &'b Vessel,
    /// Way of serving.
    pub service: Service,
    /// How many.
    pub cups: i64,
    /// Lids for them.
    pub lids: i64,
}

/// `used` before a share `waste` of it is lost.
fn before_waste(used: i64, waste: Option<Share>) -> i64 {
    let left = 1_000 - waste.map_or(0, Share::thousandths);
    Mass::from_mg(used).scaled(1_000, left).mg()
}

/// Every ingredient of the mix, in the order of the book.
pub(super) fn ingredients<'b>(
    bar: &'b Bar,
    counted: &[Counted<'_, 'b>],
    beans: &[BeanNeed<'b>],
    forecast: Option<Forecast>,
) -> Vec<IngredientNeed<'b>> {
    let asked = |one: &&Ingredient| {
        beans.iter().any(|bean| bean.bean.ingredient == one.id)
            || counted
                .iter()
                .any(|sale| sale.cup.taken.iter().any(|two| two.ingredient.id == one.id))
    };
    let all = bar.book.ingredients.iter().filter(asked);
    all.map(|one| ingredient(bar, one, counted, beans, forecast)).collect()
}

fn ingredient<'b>(
    bar: &'b Bar,
    one: &'b Ingredient,
    counted: &[Counted<'_, 'b>],
    beans: &[BeanNeed<'b>],
    forecast: Option<Forecast>,
) -> IngredientNeed<'b> {
    let (mut in_cups, mut in_cups_ml) = (Mass::ZERO, Volume::ZERO);
    let (mut used, mut used_ml) = (Mass::ZERO, Volume::ZERO);
    for sale in counted {
        for taken in sale.cup.taken.iter().filter(|taken| taken.ingredient.id == one.id) {
            in_cups += taken.in_cup.times(sale.count);
            in_cups_ml += taken.in_cup_ml.times(sale.count);
            used += (taken.in_cup + taken.beside).times(sale.count);
            used_ml += (taken.in_cup_ml + taken.beside_ml).times(sale.count);
        }
    }
    for bean in beans.iter().filter(|bean| bean.bean.ingredient == one.id) {
        in_cups += bean.in_cups;
        used += bean.used();
    }
    let usage = bar.site.usage.as_ref();
    let waste = usage.and_then(|usage| usage.waste.get(&one.id)).copied();
    let life = usage.and_then(|usage| usage.shelf_life_days.get(&one.id)).copied();
    // Water is from the tap, and nobody keeps a store of it.
    let stored = forecast.filter(|_| one.kind != IngredientKind::Water);
    let par = stored.and_then(|forecast| {
        let own = beans.iter().filter(|bean| bean.bean.ingredient == one.id);
        let steady: Mass = own.map(|bean| bean.dial_in_per_day).sum();
        let bought = |mass: Mass| Mass::from_mg(before_waste(mass.mg(), waste));
        let each = each(counted, |sale| bought(of_one_cup(one, sale, beans)))?;
        Some(par(&each, bought(steady), forecast, life))
    });
    let poured = |volume: Volume| is_poured(one).then_some(volume);
    let room = |mass: Mass| {
        let density = one.density_kg_m3.map_or(0, Density::mkg_m3);
        Volume::from_ul(mass.scaled(1_000_000, density).mg())
    };
    IngredientNeed {
        ingredient: one,
        in_cups,
        in_cups_ml: poured(in_cups_ml),
        used,
        used_ml: poured(used_ml),
        waste,
        bought: Mass::from_mg(before_waste(used.mg(), waste)),
        bought_ml: poured(Volume::from_ul(before_waste(used_ml.ul(), waste))),
        par_ml: par.and_then(|par| poured(room(par.level))),
        par,
    }
}

/// What one more cup takes of the ingredient: of coffee its halves, and half a purge for each.
fn of_one_cup(one: &Ingredient, sale: &Counted<'_, '_>, beans: &[BeanNeed<'_>]) -> Mass {
    let taken = sale.cup.taken.iter().filter(|taken| taken.ingredient.id == one.id);
    let poured: Mass = taken.map(|taken| taken.in_cup + taken.beside).sum();
    let drawn = sale.cup.draws.iter().filter(|drawn| drawn.draw.bean.ingredient == one.id);
    let ground = drawn.map(|drawn| {
        let own = beans.iter().find(|bean| bean.bean.id == drawn.draw.bean.id);
        let purge = own.map_or(Mass::ZERO, |bean| bean.purge_per_grind);
        drawn.baskets.dose + purge.scaled(i64::from(drawn.draw.halves), 2)
    });
    poured + ground.sum()
}

/// Mass and volume of everything of a kind that is used.
pub(super) fn of_kind(all: &[IngredientNeed<'_>], kind: IngredientKind) -> (Mass, Volume) {
    let own = || all.iter().filter(|one| one.ingredient.kind == kind);
    (own().map(|one| one.used).sum(), own().filter_map(|one| one.used_ml).sum())
}

/// Milk by kind, in the order of the book.
pub(super) fn milk<'b>(bar: &'b Bar, counted: &[Counted<'_, 'b>]) -> Vec<MilkNeed<'b>> {
    let of = |one: &'b Ingredient| {
        let mut need = MilkNeed {
            ingredient: one,
            cups: 0,
            steamed: 0,
            cold: Volume::ZERO,
            film: Mass::ZERO,
            left_over: Volume::ZERO,
            poured: Mass::ZERO,
        };
        for sale in counted {
            let milk = sale.cup.milk.filter(|milk| milk.ingredient.id == one.id);
            let Some(milk) = milk else { continue };
            need.cups += sale.count;
            need.steamed += if milk.steamed { sale.count } else { 0 };
            need.cold += milk.cold.times(sale.count);
            need.film += milk.film.times(sale.count);
            need.left_over += milk.left_over.times(sale.count);
            let weighed = |volume| super::cup::weighed(one, volume);
            need.poured += (weighed(milk.cold) + weighed(milk.left_over)).times(sale.count);
        }
        (need.cups > 0).then_some(need)
    };
    bar.book.ingredients.iter().filter_map(of).collect()
}

/// Cups and lids, in the order in which the mix first asks for them.
pub(super) fn vessels<'b>(counted: &[Counted<'_, 'b>]) -> Vec<VesselNeed<'b>> {
    let mut all: Vec<VesselNeed<'b>> = Vec::new();
    for sale in counted {
        let (vessel, service) = (sale.cup.vessel, sale.cup.service);
        let same = |one: &VesselNeed<'_>| one.vessel.id == vessel.id && one.service == service;
        let at = all.iter().position(same).unwrap_or_else(|| {
            all.push(VesselNeed { vessel, service, cups: 0, lids: 0 });
            all.len() - 1
        });
        all[at].cups += sale.count;
        all[at].lids += if sale.cup.lid { sale.count } else { 0 };
    }
    all
}

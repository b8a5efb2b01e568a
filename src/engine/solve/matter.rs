//! Portions: everything beside coffee and milk, as mass and as room in the cup.

use super::coffee::{mass_of, volume_of};
use crate::{
    book::{Amount, Bar, BrewPart, Id, Ingredient, Part, PastePart, Stage},
    engine::order::{Added, Order},
    units::{Displacement, Mass, Temperature, Volume},
};

/// One ingredient of the cup.
#[derive(Clone, Copy, Debug)]
pub struct Portion<'b> {
    /// What it is in the drink.
    pub of: PortionOf<'b>,
    /// The ingredient.
    pub ingredient: &'b Ingredient,
    /// Mass.
    pub mass: Mass,
    /// Room it takes up in the cup, or beside it for a side.
    pub volume: Volume,
    /// Whether the recipe measures it by volume.
    pub by_volume: bool,
    /// Temperature at which it comes in.
    pub at: Temperature,
    /// When and where it goes.
    pub stage: Stage,
    /// Liquid that stays in it when strained, of all that was steeped.
    pub keeps: Volume,
}

/// What a portion is in its drink.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PortionOf<'b> {
    /// An ingredient part of the drink.
    Part(&'b Id),
    /// What a modifier adds.
    Added(&'b Id),
    /// The powder of a paste.
    Paste(&'b Id),
    /// The water of a paste.
    PasteWater(&'b Id),
    /// The leaf of a steep; strained, so it takes no room.
    Leaf(&'b Id),
    /// The water of a steep.
    LeafWater(&'b Id),
    /// The water part, if its volume is known before the balance.
    Water(&'b Id),
    /// The ice part.
    Ice(&'b Id),
    /// The ground coffee of a brew; what is brewed of it stands beside, so it takes no room.
    Grounds(&'b Id),
    /// The brew in the cup.
    Brew(&'b Id),
}

impl<'b> PortionOf<'b> {
    /// The part or modifier it belongs to, by id.
    pub fn id(self) -> &'b Id {
        match self {
            Self::Part(id)
            | Self::Added(id)
            | Self::Paste(id)
            | Self::PasteWater(id)
            | Self::Leaf(id)
            | Self::LeafWater(id)
            | Self::Water(id)
            | Self::Ice(id)
            | Self::Grounds(id)
            | Self::Brew(id) => id,
        }
    }
}

impl Portion<'_> {
    /// Whether it stands beside the cup, not in it.
    pub fn is_beside(&self) -> bool {
        matches!(self.stage, Stage::Side | Stage::Sealed)
    }
}

/// The room that so much of an ingredient takes up.
pub(super) fn room_of(bar: &Bar, ingredient: &str, mass: Mass) -> Volume {
    let amount = Amount { g: Some(mass), ml: None };
    let of = |one: &Ingredient| portion(PortionOf::Ice(&one.id), one, amount, Stage::Pour).volume;
    bar.ingredient(ingredient).map_or(Volume::ZERO, of)
}

/// Every portion whose amount is known, in pour order; additions stand with their stage.
pub(super) fn portions<'b>(bar: &'b Bar, order: &Order<'b>) -> Vec<Portion<'b>> {
    let mut all = Vec::with_capacity(order.drink.parts.len() + order.added.len() + 1);
    // What is added goes where its modifier says, or beside the cup where the customer says so.
    let placed = |one: &Added<'b>| {
        let sealed = one.stage == Stage::Sealed;
        let aside = !sealed && order.is_aside(one.by, one.ingredient.kind.as_str());
        if aside { Stage::Side } else { one.stage }
    };
    let own = |one: &Added<'b>| Added { stage: placed(one), ..*one };
    let apart = order.added.iter().filter(|one| !is_stirred_in(order, one));
    let all_added: Vec<Added<'b>> = apart.map(own).collect();
    let added = |stage: Stage| all_added.iter().filter(move |one| one.stage == stage);
    let additions = |all: &mut Vec<Portion<'b>>, stage: Stage| {
        for one in added(stage) {
            all.push(portion(PortionOf::Added(one.by), one.ingredient, one.amount, one.stage));
        }
    };
    additions(&mut all, Stage::CupBefore);
    let mut poured = false;
    for part in order.parts() {
        if comes_after_pour(part) && !poured {
            additions(&mut all, Stage::Pour);
            poured = true;
        }
        part_portions(bar, order, part, &mut all);
    }
    if !poured {
        additions(&mut all, Stage::Pour);
    }
    additions(&mut all, Stage::Top);
    additions(&mut all, Stage::Side);
    additions(&mut all, Stage::Sealed);
    all
}

/// Whether what is added at the pour stands before the part.
fn comes_after_pour(part: &Part) -> bool {
    let Part::Ingredient(one) = part else { return false };
    matches!(one.stage, Stage::Top | Stage::Side | Stage::Sealed)
}

fn part_portions<'b>(bar: &'b Bar, order: &Order<'b>, part: &'b Part, all: &mut Vec<Portion<'b>>) {
    let in_cup = part.amount_in(&order.cup.amounts);
    let mut push =
        |of, ingredient: &str, amount: Option<Amount>, stage, at: Option<Temperature>| {
            if let Some((ingredient, amount)) = bar.ingredient(ingredient).zip(amount) {
                let mut one = portion(of, ingredient, amount, stage);
                one.at = at.unwrap_or(one.at);
                all.push(one);
            }
        };
    let ml = |ml: Volume| Some(Amount { g: None, ml: Some(ml) });
    let g = |g: Mass| Some(Amount { g: Some(g), ml: None });
    match part {
        Part::Coffee(_) | Part::Milk(_) => {}
        Part::Water(water) => {
            let amount = in_cup.or_else(|| ml(water.ml?));
            let at = Some(water.temperature_c);
            push(PortionOf::Water(&water.id), &water.ingredient, amount, Stage::Pour, at);
        }
        Part::Ice(ice) => {
            let usual = in_cup.or_else(|| g(ice.g)).and_then(|amount| amount.g);
            let amount = usual.map(|usual| usual.scaled(order.ice_times.thousandths(), 1_000));
            let amount = amount.filter(|amount| *amount > Mass::ZERO).and_then(g);
            push(PortionOf::Ice(&ice.id), &ice.ingredient, amount, Stage::Pour, None);
        }
        Part::Ingredient(one) => {
            let amount = Some(in_cup.unwrap_or(one.amount));
            let aside = order.is_aside(&one.id, "ingredient");
            let stage = if aside { Stage::Side } else { one.stage };
            push(PortionOf::Part(&one.id), &one.ingredient, amount, stage, None);
        }
        Part::Paste(paste) => {
            let amount = with_added(order, paste, in_cup.unwrap_or(paste.amount));
            let (amount, stage) = (Some(amount), Stage::CupBefore);
            let water = (PortionOf::PasteWater(&paste.id), ml(paste.water_ml));
            push(PortionOf::Paste(&paste.id), &paste.ingredient, amount, stage, None);
            push(water.0, &paste.water, water.1, stage, Some(paste.water_c));
        }
        Part::Steep(steep) => {
            let amount = in_cup.or_else(|| g(steep.g));
            let (leaf, water) = (PortionOf::Leaf(&steep.id), PortionOf::LeafWater(&steep.id));
            push(leaf, &steep.ingredient, amount, Stage::Pour, None);
            push(water, &steep.water, ml(steep.water_ml), Stage::Pour, Some(steep.water_c));
        }
        Part::Brew(brew) => {
            let brewed = in_cup.and_then(|amount| amount.ml).unwrap_or(brew.ml);
            let grounds = bar.ingredient(&brew.ingredient).map(|one| grounds(brew, one, brewed));
            let stage = Stage::Pour;
            push(PortionOf::Grounds(&brew.id), &brew.ingredient, grounds.and_then(g), stage, None);
            let poured = Some(brew.poured_c);
            push(PortionOf::Brew(&brew.id), &brew.water, ml(brewed), stage, poured);
        }
    }
}

/// Whether what is added is more of the drink's own paste, and so is stirred with it.
fn is_stirred_in(order: &Order<'_>, one: &Added<'_>) -> bool {
    let own = |part: &Part| {
        matches!(part, Part::Paste(paste)
            if paste.ingredient == one.ingredient.id && same(paste, one))
    };
    one.stage == Stage::CupBefore && order.parts().any(own)
}

/// Whether both are measured alike.
fn same(paste: &PastePart, one: &Added<'_>) -> bool {
    paste.amount.g.is_some() == one.amount.g.is_some()
}

/// A paste's amount with what is added of the same.
fn with_added(order: &Order<'_>, paste: &PastePart, usual: Amount) -> Amount {
    let more = order
        .added
        .iter()
        .filter(|one| one.ingredient.id == paste.ingredient && is_stirred_in(order, one));
    more.fold(usual, |sum, one| Amount {
        g: sum.g.map(|g| g + one.amount.g.unwrap_or_default()),
        ml: sum.ml.map(|ml| ml + one.amount.ml.unwrap_or_default()),
    })
}

/// Ground coffee for so much brew in the cup: what it keeps was water too.
///
/// With d grams for each litre of water and k mL kept by each gram, w mL of water give w − k·d·w/1000
/// of brew, so that brew ÷ (1000 − k·d) × d is the coffee.
fn grounds(brew: &BrewPart, ingredient: &Ingredient, brewed: Volume) -> Mass {
    let keeps = ingredient.keeps_ml_g.map_or(0, Displacement::ul_g);
    let dose = brew.dose_g_l.mkg_m3();
    let left = 1_000_000_000 - keeps * dose;
    Mass::from_mg(brewed.scaled(dose * 1_000, left).ul())
}

/// An amount of an ingredient as mass and room.
fn portion<'b>(
    of: PortionOf<'b>,
    ingredient: &'b Ingredient,
    amount: Amount,
    stage: Stage,
) -> Portion<'b> {
    let density = ingredient.density_kg_m3;
    let per_gram = ingredient.displacement_ml_g.map_or(0, Displacement::ul_g);
    let (mass, volume) = match (amount.g, amount.ml) {
        (Some(g), _) => {
            let displaced = Volume::from_ul(g.scaled(per_gram, 1_000).mg());
            (g, density.map_or(displaced, |density| volume_of(g, density)))
        }
        (None, Some(ml)) => {
            // Measured by the spoon although only its displacement is known: room gives the mass.
            let weighed = Mass::from_mg(ml.scaled(1_000, per_gram).ul());
            (density.map_or(weighed, |density| mass_of(ml, density)), ml)
        }
        (None, None) => (Mass::ZERO, Volume::ZERO),
    };
    let is_leaf = matches!(of, PortionOf::Leaf(_));
    let strained = is_leaf || matches!(of, PortionOf::Grounds(_));
    let keeps = ingredient
        .keeps_ml_g
        .filter(|_| is_leaf)
        .map_or(Volume::ZERO, |keeps| Volume::from_ul(mass.scaled(keeps.ul_g(), 1_000).mg()));
    let volume = if strained { Volume::ZERO } else { volume };
    let by_volume = amount.ml.is_some();
    Portion { of, ingredient, mass, volume, by_volume, at: ingredient.stored_c, stage, keeps }
}

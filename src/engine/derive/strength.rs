//! Strength: dissolved coffee in the liquid of the cup, and coffee beside milk.

use crate::{
    book::{ExtractionRow, Part, Remainder},
    engine::{
        order::{CoffeeOrder, Draw, Order},
        solve::{LayerOf, Milk, PortionOf, Solved},
    },
    units::{Mass, Percent, Quotient, Volume},
};

/// What a recipe comes to between its tolerances.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Interval<T> {
    /// With the least coffee that the recipe allows.
    pub min: T,
    /// As the recipe says.
    pub usual: T,
    /// With the most coffee that it allows.
    pub max: T,
}

/// How strong a cup is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strength {
    /// Dissolved coffee in the cup.
    pub solids: Mass,
    /// Share of the dry coffee that has dissolved.
    pub extraction_yield: Percent,
    /// Liquid in the cup: the fill without the gas of foam and without ice that is still whole.
    pub liquid: Volume,
    /// Grams of dissolved coffee in 100 mL of that liquid.
    pub per_100_ml: Interval<f64>,
}

/// Dissolved coffee of so many halves, in grams; `None` where a recipe says nothing of it.
#[derive(Clone, Copy, Debug, Default)]
struct Solids {
    least: f64,
    usual: f64,
    most: f64,
    dose: f64,
}

impl Solids {
    /// Adds a basket, or a share of one. Extraction yield is held, so that more coffee gives more.
    fn with(self, row: &ExtractionRow, share: f64) -> Option<Self> {
        let usual = share * row.yield_g.g() * row.tds_percent?.percent() / 100.0;
        let off = row.dose_tolerance_g.g() / row.dose_g.g();
        Some(Self {
            least: self.least + usual * (1.0 - off),
            usual: self.usual + usual,
            most: self.most + usual * (1.0 + off),
            dose: self.dose + share * row.dose_g.g(),
        })
    }

    /// Adds the halves of one bean.
    fn of_draw(self, draw: &Draw<'_>) -> Option<Self> {
        match draw.single {
            Some(single) => self.with(draw.double, f64::from(draw.halves / 2))?.with(single, 1.0),
            None => self.with(draw.double, f64::from(draw.halves) / 2.0),
        }
    }

    fn times(self, share: f64) -> Self {
        let Self { least, usual, most, dose } = self;
        Self { least: least * share, usual: usual * share, most: most * share, dose: dose * share }
    }
}

/// Dissolved coffee of everything brewed in the cup.
fn solids(order: &Order<'_>, solved: &Solved<'_>) -> Option<Solids> {
    let mut all = Solids::default();
    let in_cup = order.coffee.filter(|coffee| !order.is_aside(&coffee.part.id, "coffee"));
    if let Some(coffee) = in_cup {
        for draw in coffee.draws() {
            all = all.of_draw(&draw)?;
        }
        all = all.times(coffee.share.share());
    }
    for one in &solved.portions {
        let PortionOf::Grounds(id) = one.of else { continue };
        let brew = order.parts().filter(|part| part.id() == id).find_map(Part::as_brew)?;
        let usual = one.mass.g() * brew.extraction_yield_percent?.percent() / 100.0;
        let Solids { least, usual: before, most, dose } = all;
        let dose = dose + one.mass.g();
        all = Solids { least: least + usual, usual: before + usual, most: most + usual, dose };
    }
    (all.dose > 0.0).then_some(all)
}

/// Liquid in the cup: foam's gas carries no solids, and ice that is still whole is none yet.
pub fn liquid(solved: &Solved<'_>) -> Volume {
    let of = |wanted: fn(&LayerOf<'_>) -> bool| -> Volume {
        solved.layers.iter().filter(|layer| wanted(&layer.of)).map(|layer| layer.volume).sum()
    };
    let gas = of(|layer| matches!(layer, LayerOf::FoamGas));
    let ice = of(|layer| matches!(layer, LayerOf::Ice(_)));
    let ice_g: Mass = solved
        .portions
        .iter()
        .filter(|one| matches!(one.of, PortionOf::Ice(_)))
        .map(|one| one.mass)
        .sum();
    let whole = ice.scaled((ice_g - solved.melted).mg().max(0), ice_g.mg());
    solved.fill - gas - whole
}

/// How strong the cup is; `None` without coffee in it, or where a recipe says nothing of its solids.
///
/// * Source: S = 100 · dissolved coffee ÷ liquid; extraction yield = dissolved ÷ dry coffee. The
///   tolerance of the dose is carried through at the same extraction yield; that of the yield too
///   where the drink is not filled up to a line, since it then changes the liquid.
pub fn strength(order: &Order<'_>, solved: &Solved<'_>) -> Option<Strength> {
    let solids = solids(order, solved)?;
    let liquid = liquid(solved);
    if liquid <= Volume::ZERO {
        return None;
    }
    let off_ml = if fills_up(order) { 0.0 } else { yield_tolerance_ml(order) };
    let per = |grams: f64, ml: f64| 100.0 * grams / ml.max(1.0);
    let ml = liquid.ml();
    Some(Strength {
        solids: Mass::from_g(solids.usual),
        extraction_yield: Percent::from_percent(100.0 * solids.usual / solids.dose),
        liquid,
        per_100_ml: Interval {
            min: per(solids.least, ml + off_ml),
            usual: per(solids.usual, ml),
            max: per(solids.most, ml - off_ml),
        },
    })
}

/// Whether milk or water in the cup fills it up to a line, so that more coffee leaves less room for it.
pub fn fills_up(order: &Order<'_>) -> bool {
    let water = order.parts().find_map(Part::as_water);
    match order.drink.remainder {
        Remainder::None => false,
        Remainder::Milk => !order.has_milk_aside(),
        Remainder::Water => water.is_some_and(|water| !order.is_aside(&water.id, "water")),
    }
}

/// How far the coffee in the cup may be off, mL.
fn yield_tolerance_ml(order: &Order<'_>) -> f64 {
    let Some(coffee) = &order.coffee else { return 0.0 };
    let of_draw = |draw: Draw<'_>| {
        let whole = f64::from(draw.halves / 2) * draw.double.yield_tolerance_g.g();
        let odd = match (draw.halves % 2, draw.single) {
            (0, _) => 0.0,
            (_, Some(single)) => single.yield_tolerance_g.g(),
            (_, None) => draw.double.yield_tolerance_g.g() / 2.0,
        };
        whole + odd
    };
    let grams: f64 = coffee.draws().map(of_draw).sum();
    grams * coffee.share.share() / coffee.extraction.density_kg_m3.kg_m3() * 1_000.0
}

/// Grams of liquid milk in the cup, condensate included, for each gram of coffee in it; `None`
/// without one or the other.
pub fn milk_ratio(order: &Order<'_>, solved: &Solved<'_>) -> Option<Quotient> {
    let coffee_aside = |one: &CoffeeOrder<'_>| order.is_aside(&one.part.id, "coffee");
    if order.has_milk_aside() || order.coffee.as_ref().is_some_and(coffee_aside) {
        return None;
    }
    let milk = match solved.milk.as_ref()? {
        Milk::Steamed(milk) => milk.in_cup,
        Milk::Cold(milk) => milk.mass,
    };
    let coffee = solved.coffee?.in_cup;
    let thousandths = milk.scaled(1_000, coffee.mg()).mg();
    (coffee > Mass::ZERO).then(|| Quotient::from_thousandths(thousandths))
}

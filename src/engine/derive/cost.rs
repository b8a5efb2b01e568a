//! What a cup costs its site: ingredients with their waste, the spare half, the packaging.

use crate::{
    book::{Bar, Costs, Id, Ingredient, IngredientKind, Purchase, Service},
    engine::{
        order::{CoffeeOrder, Order},
        solve::{Baskets, Milk, Solved, mass_of},
    },
    units::{Density, Mass, Money, Quotient, Share, Volume},
};

/// What one thing in a cup costs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CostItem<'b> {
    /// What it is, by ingredient id, or by vessel id for packaging.
    pub of: &'b Id,
    /// Why it is used.
    pub why: CostOf,
    /// How much of it, in the measure in which it is bought; one piece of packaging.
    pub used: Used,
    /// What it was bought for; `None` for packaging.
    pub purchase: Option<&'b Purchase>,
    /// Share of what is bought that never reaches a cup.
    pub waste: Share,
    /// Used ÷ (1 − waste) × price ÷ bought, rounded to a thousandth of the currency's unit.
    pub cost: Money,
}

/// Why something is used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CostOf {
    /// It is in the cup or beside it.
    Cup,
    /// The half of a double that this cup leaves; a line by itself finds no other cup for it.
    SpareHalf,
    /// Milk that stays over because the jug needs more than the cup.
    LeftOver,
    /// Cup, lid and sleeve that are given away.
    Packaging,
}

impl CostOf {
    /// As answers write it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Cup => "cup",
            Self::SpareHalf => "spare-half",
            Self::LeftOver => "left-over",
            Self::Packaging => "packaging",
        }
    }
}

/// An amount in the measure in which it is bought.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Used {
    /// Grams.
    Mass(Mass),
    /// Millilitres.
    Volume(Volume),
    /// One piece.
    Piece,
}

/// The costs of one cup.
#[derive(Clone, Debug, PartialEq)]
pub struct Cost<'b> {
    /// Item by item, in the order of work.
    pub items: Vec<CostItem<'b>>,
    /// The sum of the items.
    pub total: Money,
    /// What is used and has no purchase price here: the sum is without it.
    pub unknown: Vec<&'b Id>,
    /// The price of the cup before tax, rounded to a thousandth.
    pub net: Money,
    /// The tax within its price.
    pub tax: Money,
    /// Share of the net price that the tax comes to.
    pub tax_share: Share,
}

impl Cost<'_> {
    /// What is left of the net price.
    pub fn margin(&self) -> Money {
        self.net - self.total
    }

    /// The margin in hundredths of the net price, to a tenth; `None` for a cup without a price.
    pub fn margin_percent(&self) -> Option<Quotient> {
        let (margin, net) = (self.margin().thousandths(), self.net.thousandths());
        let percent = Quotient::from_thousandths(margin).scaled(100_000, net);
        (net > 0).then(|| percent.to_nearest(Quotient::from_thousandths(100)))
    }
}

/// What is collected while the items are gone through.
struct Bill<'b> {
    bar: &'b Bar,
    costs: &'b Costs,
    items: Vec<CostItem<'b>>,
    unknown: Vec<&'b Id>,
}

impl<'b> Bill<'b> {
    /// Adds so much of an ingredient.
    fn add(&mut self, why: CostOf, ingredient: &'b Ingredient, mass: Mass, volume: Volume) {
        if mass <= Mass::ZERO && volume <= Volume::ZERO {
            return;
        }
        let Some(purchase) = self.costs.ingredients.get(&ingredient.id) else {
            // Water from the tap and ice made of it need no price.
            let free = matches!(ingredient.kind, IngredientKind::Water | IngredientKind::Ice);
            if !free {
                self.does_not_know(&ingredient.id);
            }
            return;
        };
        let used = match (purchase.ml, ingredient.density_kg_m3) {
            (None, _) => Used::Mass(mass),
            (Some(_), _) if volume > Volume::ZERO => Used::Volume(volume),
            (Some(_), Some(density)) => {
                Used::Volume(Volume::from_ul(mass.scaled(1_000_000, density.mkg_m3()).mg()))
            }
            // Weighed, and bought by a measure that cannot be weighed.
            (Some(_), None) => {
                self.does_not_know(&ingredient.id);
                return;
            }
        };
        let (of, waste) = (&ingredient.id, waste(self.bar, &ingredient.id));
        let cost = cost_of(purchase, waste, used);
        self.items.push(CostItem { of, why, used, purchase: Some(purchase), waste, cost });
    }

    fn does_not_know(&mut self, id: &'b Id) {
        if !self.unknown.contains(&id) {
            self.unknown.push(id);
        }
    }

    fn total(&self) -> Money {
        self.items.iter().map(|item| item.cost).sum()
    }
}

/// Share of an ingredient that is bought here and never reaches a cup.
fn waste(bar: &Bar, ingredient: &Id) -> Share {
    let usage = bar.site.usage.as_ref();
    usage.and_then(|usage| usage.waste.get(ingredient)).copied().unwrap_or_default()
}

/// What an amount costs: used ÷ (1 − waste) × price ÷ bought.
///
/// * Result: rounded half away from zero to a thousandth of the currency's unit; all of it is waste
///   where nothing ever reaches a cup, and then nothing is charged to one.
/// * Source: arithmetic of yield on purchase, common practice.
pub fn cost_of(purchase: &Purchase, waste: Share, used: Used) -> Money {
    let reaches = 1.0 - waste.share();
    let bought = match (used, purchase.g, purchase.ml) {
        (Used::Mass(mass), Some(g), _) if g > Mass::ZERO => mass.g() / g.g(),
        (Used::Volume(volume), _, Some(ml)) if ml > Volume::ZERO => volume.ml() / ml.ml(),
        (Used::Piece, ..) => 1.0,
        _ => 0.0,
    };
    if reaches <= 0.0 {
        return Money::ZERO;
    }
    purchase.price.times_share(bought / reaches)
}

/// The costs of the cup; `None` where the site's sheet says nothing of costs.
pub fn cost<'b>(bar: &'b Bar, order: &Order<'b>, solved: &Solved<'b>) -> Option<Cost<'b>> {
    let costs = bar.site.costs.as_ref()?;
    let mut bill = Bill { bar, costs, items: Vec::new(), unknown: Vec::new() };
    for draw in order.coffee.iter().flat_map(CoffeeOrder::draws) {
        let Some(beans) = bar.ingredient(&draw.bean.ingredient) else { continue };
        let baskets = Baskets::of(&draw);
        bill.add(CostOf::Cup, beans, baskets.dose, Volume::ZERO);
        let spare = draw.double.dose_g.scaled(i64::from(baskets.spare_halves), 2);
        bill.add(CostOf::SpareHalf, beans, spare, Volume::ZERO);
    }
    match &solved.milk {
        Some(Milk::Steamed(milk)) => {
            let (of, over) = (milk.ingredient, milk.left_over);
            // What is poured has a density: its record is not taken without one.
            let density = of.density_kg_m3.unwrap_or(Density::from_mkg_m3(1_000_000));
            bill.add(CostOf::Cup, of, mass_of(milk.cold, density), milk.cold);
            bill.add(CostOf::LeftOver, of, mass_of(over, density), over);
        }
        Some(Milk::Cold(milk)) => bill.add(CostOf::Cup, milk.ingredient, milk.mass, milk.volume),
        None => {}
    }
    for one in &solved.portions {
        bill.add(CostOf::Cup, one.ingredient, one.mass, one.volume);
    }
    if order.service == Service::Takeaway {
        let vessel = &order.vessel.of_book.id;
        match costs.packaging.get(vessel) {
            Some(cost) => bill.items.push(CostItem {
                of: vessel,
                why: CostOf::Packaging,
                used: Used::Piece,
                purchase: None,
                waste: Share::ZERO,
                cost: *cost,
            }),
            None => bill.does_not_know(vessel),
        }
    }
    let tax_share = costs.tax.get(&order.service).copied().unwrap_or_default();
    let net = order.price.without(tax_share);
    let total = bill.total();
    let Bill { items, unknown, .. } = bill;
    Some(Cost { items, total, unknown, net, tax: order.price - net, tax_share })
}

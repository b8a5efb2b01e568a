//! Costs of an order, as the contract shows them to whoever may see them.

use serde::Serialize;
use serde_json::Value;
use utoipa::ToSchema;

use super::{AnswerLine, BookStamp, SiteStamp};
use crate::{
    engine::derive::{Cost, CostItem, Used},
    units::{Mass, Quotient, Share, Volume},
};

/// What the lines of a ticket cost the site, beside their prices.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct CostsAnswer<'a> {
    /// The book in force.
    pub book: BookStamp,
    /// The site.
    pub site: SiteStamp,
    /// Currency of every amount (ISO 4217).
    #[schema(examples("EUR"))]
    pub currency: &'a str,
    /// How amounts are rounded, in words.
    pub rounding: &'static str,
    /// One for each line of the ticket, in its order.
    pub lines: Vec<CostLineView<'a>>,
    /// Over the lines that can be made, each as often as it is ordered; whatever is unknown in one of
    /// them is not in it.
    pub total: CostTotalView,
}

/// How amounts are rounded.
pub const ROUNDING: &str = "each item to a thousandth of the currency's unit, half away from zero; sums are of rounded items";

/// Sums over an order, as decimal strings.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct CostTotalView {
    /// Cost of goods and packaging.
    #[schema(examples("1.84"))]
    pub cost: String,
    /// Price before tax.
    #[schema(examples("6.55"))]
    pub net_price: String,
    /// Net price less cost.
    #[schema(examples("4.71"))]
    pub margin: String,
}

/// The costs of one cup of a line, or why there are none.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct CostLineView<'a> {
    /// Id of the line.
    pub line: String,
    /// `accept`, `ask` or `refuse`, as for the same line in `/v1/validate`.
    pub verdict: &'static str,
    /// Costs of one cup; null for a line that is not accepted.
    pub cost: Option<CostView<'a>>,
    /// Why the line is not accepted, and ways out, as `/v1/validate` answers it; null for one that is.
    #[schema(value_type = Option<AnswerLine>)]
    pub instead: Option<Value>,
}

/// The costs of one cup.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct CostView<'a> {
    /// Item by item.
    pub items: Vec<CostItemView<'a>>,
    /// Their sum, as a decimal string.
    pub total: String,
    /// What is used and has no purchase price in the site's sheet, by id; the sum is without it.
    pub unknown: Vec<&'a str>,
    /// Price of the cup, tax included.
    pub price: String,
    /// Share of the net price that the tax comes to.
    pub tax_share: Share,
    /// Tax within the price.
    pub tax: String,
    /// Price before tax.
    pub net_price: String,
    /// Net price less cost.
    pub margin: String,
    /// Margin in hundredths of the net price; null for a cup without a price.
    pub margin_percent: Option<Quotient>,
    /// What each modifier of the line really adds, beside its surcharge.
    pub modifiers: Vec<ModifierCostView<'a>>,
}

/// What one thing in a cup costs.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct CostItemView<'a> {
    /// Ingredient, by id, or vessel for packaging.
    pub of: &'a str,
    /// `cup`, `spare-half`, `left-over` or `packaging`.
    pub why: &'static str,
    /// Grams used; null where it is bought by volume.
    pub used_g: Option<Mass>,
    /// Millilitres used; null where it is bought by mass.
    pub used_ml: Option<Volume>,
    /// Price of a purchase, as a decimal string; null for packaging.
    pub bought_for: Option<String>,
    /// Grams in a purchase.
    pub bought_g: Option<Mass>,
    /// Millilitres in a purchase.
    pub bought_ml: Option<Volume>,
    /// Share of a purchase that never reaches a cup.
    pub waste_share: Share,
    /// Used ÷ (1 − waste) × price ÷ bought, as a decimal string.
    pub cost: String,
}

/// What a modifier adds to the cost and to the price of a cup.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ModifierCostView<'a> {
    /// The modifier, by id.
    pub modifier: &'a str,
    /// What it adds to the price, tax included.
    pub surcharge: String,
    /// What it adds to the cost: the cup with it less the cup without it; null where the cup cannot
    /// be made without it.
    pub cost: Option<String>,
}

impl<'a> CostItemView<'a> {
    pub(crate) fn of(item: &CostItem<'a>, places: usize) -> Self {
        let CostItem { of, why, used, purchase, waste, cost } = item;
        Self {
            of,
            why: why.as_str(),
            used_g: if let Used::Mass(mass) = used { Some(*mass) } else { None },
            used_ml: if let Used::Volume(volume) = used { Some(*volume) } else { None },
            bought_for: purchase.map(|one| one.price.with_places(places)),
            bought_g: purchase.and_then(|one| one.g),
            bought_ml: purchase.and_then(|one| one.ml),
            waste_share: *waste,
            cost: cost.with_places(places),
        }
    }
}

impl<'a> CostView<'a> {
    pub(crate) fn of(cost: &Cost<'a>, modifiers: Vec<ModifierCostView<'a>>, places: usize) -> Self {
        let Cost { items, total, unknown, net, tax, tax_share } = cost;
        let margin = cost.margin();
        Self {
            items: items.iter().map(|item| CostItemView::of(item, places)).collect(),
            total: total.with_places(places),
            unknown: unknown.iter().map(|id| &***id).collect(),
            price: (*net + *tax).with_places(places),
            tax_share: *tax_share,
            tax: tax.with_places(places),
            net_price: net.with_places(places),
            margin: margin.with_places(places),
            margin_percent: cost.margin_percent(),
            modifiers,
        }
    }
}

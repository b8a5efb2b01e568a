//! What a site makes and does not, and what one purchase would enable.

use serde::Serialize;
use utoipa::ToSchema;

use super::{BookStamp, CupRef, SiteStamp};
use crate::book::Service;

/// What a site cannot make or offer, why, and the one purchase that would enable most.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct FitAnswer<'a> {
    /// The book.
    pub book: BookStamp,
    /// The site.
    pub site: SiteStamp,
    /// Language of the texts.
    pub lang: String,
    /// How much of the book is made and offered here.
    pub counts: FitCounts,
    /// Drinks of which some cup is not made here, or that are out of season, in the order of the book.
    pub drinks: Vec<FitDrink<'a>>,
    /// Reasons, each with the cups and values that it keeps away, in the order in which they are met.
    pub refusals: Vec<FitRefusal<'a>>,
    /// The purchases that enable most, at most five, the best first; each was tried by itself.
    pub purchases: Vec<FitPurchase<'a>>,
    /// The same of what needs no purchase: taking cups that customers bring.
    pub without_purchase: Vec<FitPurchase<'a>>,
    /// Cups and values that none of all these enables by itself.
    pub needs_more_than_one: usize,
}

/// How much of the book is made and offered at a site; a cup is a drink served in one way and size,
/// a value one of a slot or a counter or a flag as a whole.
#[derive(Clone, Copy, Debug, Default, Serialize, ToSchema)]
pub struct FitCounts {
    /// Cups that are made.
    pub cups_made: usize,
    /// Cups that are not.
    pub cups_not_made: usize,
    /// Values that some drink takes.
    pub values_offered: usize,
    /// Values that none takes here, although one would where nothing is missing.
    pub values_not_offered: usize,
}

/// A drink that is not made here in every cup, or not now.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct FitDrink<'a> {
    /// Id.
    pub drink: &'a str,
    /// Name.
    pub name: &'a str,
    /// Cups that are made here, seasons left aside.
    pub made: Vec<CupRef>,
    /// Cups that are not.
    pub not_made: Vec<CupRef>,
    /// Whether it is out of season here now; that is no matter of equipment.
    pub out_of_season: bool,
    /// Other sites that make it in some cup, by id.
    pub made_at: Vec<&'a str>,
    /// Whether no site but the book's training bar makes it.
    pub training_bar_only: bool,
    /// Season and training bar in words; empty where neither is to be told.
    pub text: String,
}

/// A reason with what it keeps away: one for each cup, bean or ingredient that is missing.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct FitRefusal<'a> {
    /// Which rule; the same in every language.
    pub code: &'static str,
    /// What is missing, by the book's id; null where no single thing is.
    pub missing: Option<&'a str>,
    /// Its name.
    pub missing_name: Option<&'a str>,
    /// The sentences of the refusals, each once.
    pub texts: Vec<String>,
    /// Cups that are not made for it.
    pub cups: Vec<FitCup<'a>>,
    /// Values that are not offered for it.
    pub values: Vec<FitValue<'a>>,
}

/// A drink in one of its cups.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct FitCup<'a> {
    /// The drink, by id.
    pub drink: &'a str,
    /// Its name.
    pub name: &'a str,
    /// Way of serving.
    pub service: Service,
    /// Size, by id.
    pub size: &'a str,
}

/// A modifier, or one value of it.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct FitValue<'a> {
    /// The modifier, by id.
    pub modifier: &'a str,
    /// Its name.
    pub name: &'a str,
    /// The value, by id; null for a counter, a flag or a number.
    pub value: Option<&'a str>,
    /// The value's name; null for a counter, a flag or a number.
    pub value_name: Option<&'a str>,
}

/// One purchase with everything that it enables by itself.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct FitPurchase<'a> {
    /// `vessel`, `own-cup`, `jug`, `bean`, `ingredient`, `single-basket` or `wand`.
    pub kind: &'static str,
    /// The thing, by the book's id; null for a basket or a wand.
    pub id: Option<&'a str>,
    /// The purchase in words.
    pub text: String,
    /// How many cups and values it enables.
    pub count: usize,
    /// The cups.
    pub cups: Vec<FitCup<'a>>,
    /// The values.
    pub values: Vec<FitValue<'a>>,
}

//! The menu: what a till may offer at a site now.

use serde::Serialize;
use utoipa::ToSchema;

use super::{BookStamp, CupView, SiteStamp};
use crate::book::Service;

/// What a till may offer at a site now.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Menu<'a> {
    /// The book.
    pub book: BookStamp,
    /// The site.
    pub site: SiteStamp,
    /// Language of the texts.
    pub lang: String,
    /// Currency of the prices (ISO 4217).
    pub currency: &'a str,
    /// Ingredients that have run out here, by id.
    pub out_of_stock: Vec<String>,
    /// The drinks that can be made, in the order of the book.
    pub drinks: Vec<MenuDrink<'a>>,
    /// The drinks of the book that cannot be made now, each with the reason.
    pub not_now: Vec<NotNow<'a>>,
    /// Every modifier that some drink takes, in the order of the book.
    pub modifiers: Vec<MenuModifier<'a>>,
    /// What may be declared as an allergy, beside any ingredient.
    pub allergies: Vec<NamedView<'a>>,
    /// Diets that may be declared.
    pub diets: Vec<NamedView<'a>>,
}

/// A thing by id and name.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct NamedView<'a> {
    /// Id.
    pub id: &'a str,
    /// Name.
    pub name: &'a str,
}

/// One drink of a menu.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct MenuDrink<'a> {
    /// Id.
    pub id: &'a str,
    /// Name.
    pub name: &'a str,
    /// Name for a narrow place; the name itself where it has no other.
    pub short_name: &'a str,
    /// Its cups that can be made here, with prices.
    pub cups: Vec<CupView>,
    /// What it takes, each tried by itself: on the usual cup, or on the first of these where the
    /// usual one cannot be made.
    pub modifiers: Vec<Offer<'a>>,
}

/// What a drink takes of one modifier.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Offer<'a> {
    /// The modifier, by id.
    pub id: &'a str,
    /// Values that are accepted; left out for counters and flags.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub values: Vec<&'a str>,
    /// Lowest count that is accepted; left out for slots and flags.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub min: Option<i32>,
    /// Highest count that is accepted; left out for slots and flags.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub max: Option<i32>,
    /// Cups of the drink in which some of this is not accepted; left out where there is none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_in: Vec<CupRef>,
}

/// A cup of a drink's table.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct CupRef {
    /// Way of serving.
    pub service: Service,
    /// Size, by id.
    pub size: String,
}

/// A drink that cannot be made now.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct NotNow<'a> {
    /// The drink, by id.
    pub drink: &'a str,
    /// Its name.
    pub name: &'a str,
    /// Why, as a code.
    pub code: &'static str,
    /// Why, in words.
    pub text: String,
}

/// One modifier of a menu.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct MenuModifier<'a> {
    /// Id.
    pub id: &'a str,
    /// `slot`, `counter` or `flag`.
    pub kind: &'static str,
    /// Name.
    pub name: &'a str,
    /// Values of a slot.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub values: Vec<MenuValue<'a>>,
    /// Numbers that a slot takes instead of a value; left out where it takes none.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub numbers: Option<NumbersView>,
    /// Bounds of a counter; left out for slots and flags.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub counts: Option<CountsView<'a>>,
    /// Change of the price: of a flag, or for each unit of a counter; left out for slots.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub price: Option<String>,
    /// What cannot stand beside it, with the reason.
    pub excludes: Vec<ExclusionView<'a>>,
}

/// A value of a slot.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct MenuValue<'a> {
    /// Id.
    pub id: &'a str,
    /// Name.
    pub name: &'a str,
    /// Change of the price; null where that follows from the halves that the cup has.
    pub price: Option<String>,
}

/// Numbers that a slot takes.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct NumbersView {
    /// Their unit: `°C` or `mL`.
    pub unit: &'static str,
    /// Lowest.
    pub min: f64,
    /// Highest.
    pub max: f64,
}

/// Bounds of a counter.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct CountsView<'a> {
    /// What is counted, such as `half` or `pump`.
    pub unit: &'a str,
    /// Lowest count.
    pub min: i32,
    /// Highest count.
    pub max: i32,
    /// Above this result the line must carry the modifier's id in `confirmed`; null without a bound.
    pub confirm_above: Option<i32>,
    /// Other counters that share its bound, by id.
    pub together_with: Vec<&'a str>,
    /// Highest sum of it and those; null without a common bound.
    pub together_max: Option<i32>,
}

/// What cannot stand beside a modifier.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ExclusionView<'a> {
    /// Only this value of the modifier itself; null for any.
    pub when: Option<&'a str>,
    /// The other modifier, by id.
    pub id: &'a str,
    /// Only this value of it; null for any.
    pub value: Option<&'a str>,
    /// Why.
    pub because: &'a str,
}

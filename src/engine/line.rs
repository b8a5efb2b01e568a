//! A ticket line as the engine takes it, and its normal form.

use crate::units::{Figure, Volume};

/// One drink of an order with its modifiers.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Line {
    /// Id of the line within the ticket.
    pub id: String,
    /// Drink, by id.
    pub drink: String,
    /// How many of it; a build is for one.
    pub quantity: u32,
    /// Modifiers in any order.
    pub modifiers: Vec<Given>,
    /// Buttons of the site's till, by their codes, in place of a drink and beside modifiers.
    pub codes: Vec<String>,
    /// Declared allergies.
    pub allergies: Vec<String>,
    /// Declared diets.
    pub diets: Vec<String>,
    /// What the customer has confirmed.
    pub confirmed: Vec<String>,
    /// Reason for an override, if one is asked for.
    pub override_reason: Option<String>,
    /// Free text for the barista.
    pub note: Option<String>,
}

impl Line {
    /// One cup of a drink as the book has it, in one of its cups.
    ///
    /// * `capacity`: of the customer's own cup, if it is one.
    pub fn standard(drink: &str, service: &str, size: &str, capacity: Option<Volume>) -> Self {
        let given = |id: &str, value: &str| Given {
            id: id.to_owned(),
            what: What::Value(value.to_owned()),
        };
        Self {
            id: format!("{service}/{size}"),
            drink: drink.to_owned(),
            quantity: 1,
            modifiers: [given("service", service), given("size", size)]
                .into_iter()
                .chain(capacity.map(|ml| Given {
                    id: "capacity".to_owned(),
                    what: What::Number(Figure::from_thousandths(ml.ul())),
                }))
                .collect(),
            ..Self::default()
        }
    }
}

/// A modifier as given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Given {
    /// Modifier, by id.
    pub id: String,
    /// What is asked of it.
    pub what: What,
}

impl Given {
    /// Whether it says into which cup the drink goes.
    pub fn is_of_cup(&self) -> bool {
        ["service", "size", "capacity"].contains(&&*self.id)
    }
}

/// What a given modifier asks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum What {
    /// A value of a slot, by id.
    Value(String),
    /// A number, for a slot that takes one: degrees Celsius or millilitres.
    Number(Figure),
    /// A number, for a counter.
    Count(i32),
    /// The flag itself.
    Flag,
}

/// What is true at this moment and at this till, decided outside the engine.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Moment {
    /// Ingredients that have run out, by id.
    pub out_of_stock: Vec<String>,
    /// Drinks out of season, by id.
    pub out_of_season: Vec<String>,
    /// Whether the sender may override refusals that are no matter of safety.
    pub may_override: bool,
}

//! Strength across sites, as the contract shows it.

use serde::Serialize;
use utoipa::ToSchema;

use super::BookStamp;
use crate::{
    book::Service,
    units::{Quotient, Volume},
};

/// Each drink as each site makes it, beside the book's own bar.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct StrengthTable {
    /// The book in force.
    pub book: BookStamp,
    /// Cups, those that differ most from the book's own first.
    pub rows: Vec<StrengthRow>,
}

/// One cup of a drink at one site.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct StrengthRow {
    /// The site, by id.
    #[schema(examples("bookshop"))]
    pub site: String,
    /// The drink, by id.
    #[schema(examples("latte"))]
    pub drink: String,
    /// Way of serving.
    pub service: Service,
    /// Size, by id.
    #[schema(examples("regular"))]
    pub size: String,
    /// Grams of dissolved coffee in 100 mL of liquid here.
    pub solids_g_per_100ml: Quotient,
    /// The same at the book's own bar.
    pub standard_g_per_100ml: Quotient,
    /// How much stronger it is here, in hundredths of the standard; negative for weaker.
    #[schema(value_type = f64)]
    pub deviation_percent: Quotient,
    /// Halves in the cup here.
    pub halves: i32,
    /// Halves in the cup at the book's own bar.
    pub standard_halves: i32,
    /// Fill here.
    pub fill_ml: Volume,
    /// Fill with which the halves of this site would have the standard's strength; null where the
    /// drink is not filled up to a line, or nothing is to be mended.
    pub fill_needed_ml: Option<Volume>,
    /// The cup whose line is nearest to that fill, by id, of those in which the book serves coffee in
    /// this way, where one is within a tenth of it; null where none is, and for a customer's own cup.
    /// Halves cannot be cut, so it takes another cup.
    pub cup_that_fits: Option<String>,
}

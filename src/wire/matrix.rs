//! The drinks of a site by allergens, as the contract shows them.

use std::collections::BTreeMap;

use serde::Serialize;
use utoipa::ToSchema;

use super::{BookStamp, NotNow, SiteStamp};

/// What is recorded of an allergen for a drink. None of these says that it is absent.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Recorded {
    /// No record names it for this drink; traces cannot be ruled out.
    NothingRecorded,
    /// It is made on equipment that meets it at this site.
    SharedEquipment,
    /// The pack of an ingredient says that it may be contained.
    MayBeContained,
    /// An ingredient contains it.
    Contained,
}

impl Recorded {
    /// All of them, the strongest first.
    pub const ALL: [Self; 4] =
        [Self::Contained, Self::MayBeContained, Self::SharedEquipment, Self::NothingRecorded];
}

/// The drinks of a site by allergens, each drink as it is usually made there.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct AllergenMatrix<'a> {
    /// The book.
    pub book: BookStamp,
    /// The site.
    pub site: SiteStamp,
    /// Name of the site.
    pub site_name: &'a str,
    /// Language of the texts.
    pub lang: String,
    /// The day for which it was made (ISO 8601 date).
    pub at: String,
    /// Name of the site's region.
    pub region: &'a str,
    /// The region's table of allergens; null where the book has none, so that no allergen is known
    /// to be required there.
    pub table: Option<TableStamp<'a>>,
    /// The columns: the allergens of the region's table in its order, then whatever else occurs.
    pub allergens: Vec<MatrixAllergen<'a>>,
    /// The rows, in the order of the book.
    pub drinks: Vec<MatrixDrink<'a>>,
    /// The drinks of the book that this site cannot make, each with the reason.
    pub not_made: Vec<NotNow<'a>>,
    /// What the words of the cells mean, the strongest first.
    pub legend: Vec<LegendRow>,
    /// What a reader must know beside it.
    pub notes: Vec<String>,
}

/// Where a table of allergens comes from.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct TableStamp<'a> {
    /// The law or standard.
    pub source: &'a str,
    /// Since when it is in force (ISO 8601 date).
    pub in_force: &'a str,
    /// Who has compared the table with it.
    pub reviewer: &'a str,
    /// When (ISO 8601 date).
    pub reviewed: &'a str,
}

/// An allergen of the columns.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct MatrixAllergen<'a> {
    /// Id.
    pub id: &'a str,
    /// The name that the region requires; the book's where it requires none.
    pub name: String,
    /// The region's name of the group that it belongs to; null where it belongs to none.
    pub group: Option<&'a str>,
    /// Whether it is in the region's table.
    pub listed: bool,
}

/// A drink of the rows.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct MatrixDrink<'a> {
    /// Id.
    pub id: &'a str,
    /// Name.
    pub name: &'a str,
    /// The strongest that is recorded of each allergen, by its id.
    #[schema(value_type = BTreeMap<String, Recorded>)]
    pub recorded: BTreeMap<&'a str, Recorded>,
}

/// What a word of the cells means.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct LegendRow {
    /// What is recorded.
    pub recorded: Recorded,
    /// The word of the cells.
    pub word: String,
    /// What it means.
    pub text: String,
}

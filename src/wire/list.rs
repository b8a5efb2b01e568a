//! Lists: the book in force, sites, drinks, and the standard builds of one drink.

use serde::Serialize;
use utoipa::ToSchema;

use super::{AnswerLine, BookStamp, SiteStamp};
use crate::book::Service;

/// The book in force.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct BookInForce {
    /// Id.
    pub id: String,
    /// Version.
    pub version: String,
    /// Digest.
    pub digest: String,
    /// Digest of the recall overlay; null without one.
    pub overlay: Option<String>,
    /// Since when this process has it in force (RFC 3339).
    pub since: String,
    /// Digests of all books that a ticket may be pinned to.
    pub held: Vec<String>,
    /// What was found since and not taken, and why; null if the newest is in force.
    pub not_taken: Option<NotTaken>,
    /// Ingredients that have run out, by site; sites where none has are left out.
    pub out_of_stock: std::collections::BTreeMap<String, Vec<String>>,
}

/// A newer book or sheet that was found and not taken.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct NotTaken {
    /// When (RFC 3339).
    pub at: String,
    /// Complaints about it, the first twenty.
    pub complaints: Vec<String>,
}

/// The sites of a book.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct SitesList {
    /// The sites, by id.
    pub sites: Vec<SiteRow>,
}

/// One site.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct SiteRow {
    /// Id.
    pub id: String,
    /// Name, in the site's first language.
    pub name: String,
    /// Region, by id.
    pub region: String,
    /// Languages; the first is used when a ticket names none.
    pub languages: Vec<String>,
    /// IANA time zone.
    pub time_zone: String,
    /// Digest of its sheet.
    pub digest: String,
}

/// The drinks of a book.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct DrinksList {
    /// The book.
    pub book: BookStamp,
    /// Language of the names.
    pub lang: String,
    /// The drinks, in the order of the book.
    pub drinks: Vec<DrinkRow>,
}

/// One drink.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct DrinkRow {
    /// Id.
    pub id: String,
    /// Name.
    pub name: String,
    /// Other names.
    pub aliases: Vec<String>,
    /// Its cups.
    pub cups: Vec<CupView>,
}

/// One cup of a drink.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct CupView {
    /// Way of serving.
    pub service: Service,
    /// Size, by id.
    pub size: String,
    /// Vessel, by id.
    pub vessel: String,
    /// Price, as a decimal string in the book's currency.
    pub price: String,
}

/// The standard builds of one drink at one site: a verdict for each of its cups.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct DrinkBuilds<'a> {
    /// The book.
    pub book: BookStamp,
    /// The site.
    pub site: SiteStamp,
    /// Language of the texts.
    pub lang: String,
    /// The drink.
    pub drink: DrinkRow,
    /// A verdict for each cup, in the order of `drink.cups`.
    pub lines: Vec<AnswerLine<'a>>,
}

/// What has run out at a site.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct StockView {
    /// The site, by id.
    pub site: String,
    /// Ingredients that have run out, by id.
    pub out_of_stock: Vec<String>,
}

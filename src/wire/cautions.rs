//! Cautions, as the contract shows them: with a cup, and those of a site.

use serde::Serialize;
use utoipa::ToSchema;

use super::{BookStamp, SiteStamp};
use crate::{
    book::{Bar, Caution, CautionWhen},
    words::Catalogue,
};

/// A caution that concerns a cup.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct CautionView<'a> {
    /// Id.
    pub id: &'a str,
    /// The caution.
    pub text: &'a str,
    /// Where it comes from.
    pub source: &'a str,
}

/// A caution of a site, with when it is said.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct CautionRow<'a> {
    /// Id.
    pub id: &'a str,
    /// The caution.
    pub text: &'a str,
    /// Where it comes from.
    pub source: &'a str,
    /// When it is said.
    pub when: &'a CautionWhen,
}

/// The cautions of a site: those for its bench, and those that come with cups.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct CautionsList<'a> {
    /// The book.
    pub book: BookStamp,
    /// The site.
    pub site: SiteStamp,
    /// Language of the texts.
    pub lang: String,
    /// The cautions of the site's region, in the order of the book.
    pub cautions: Vec<CautionRow<'a>>,
}

/// The view of the cautions that concern a cup.
pub fn caution_views<'a>(all: &[&'a Caution], catalogue: &Catalogue) -> Vec<CautionView<'a>> {
    let view = |one: &&'a Caution| CautionView {
        id: &one.id,
        text: one.text.in_lang(&catalogue.lang),
        source: &one.source,
    };
    all.iter().map(view).collect()
}

impl<'a> CautionsList<'a> {
    /// All cautions of the site's region.
    pub fn of(bar: &'a Bar, catalogue: &Catalogue) -> Self {
        let row = |one: &'a Caution| CautionRow {
            id: &one.id,
            text: one.text.in_lang(&catalogue.lang),
            source: &one.source,
            when: &one.when,
        };
        let here = bar.book.cautions.iter().filter(|one| one.holds_in(&bar.site.region));
        Self {
            book: BookStamp::of(bar),
            site: SiteStamp { id: bar.site.id.to_string(), digest: bar.site_digest.to_string() },
            lang: catalogue.lang.to_string(),
            cautions: here.map(row).collect(),
        }
    }
}

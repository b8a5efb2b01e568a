//! The answer to a ticket.

use std::collections::BTreeSet;

use serde::Serialize;
use utoipa::ToSchema;

use super::{AnswerLine, CONTRACT_NAME, CaffeineView, answer_line};
use crate::{
    book::{Bar, Id},
    engine::{Line, Verdict},
    words::Catalogue,
};

/// The verdict on every line of a ticket.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Answer<'a> {
    /// The book in force.
    pub book: BookStamp,
    /// The recall overlay in force; null without one.
    pub overlay: Option<OverlayStamp>,
    /// The site.
    pub site: SiteStamp,
    /// The contract that this answer follows.
    pub contract: &'static str,
    /// Language of the texts.
    pub lang: String,
    /// Allergens over all lines that can be made.
    pub allergens: AllergensOfOrder,
    /// Caffeine over the order's accepted lines, each as often as it is ordered; null where that of
    /// one is not known.
    pub caffeine: Option<CaffeineView>,
    /// The verdicts, in the order of the ticket.
    pub lines: Vec<AnswerLine<'a>>,
}

/// The book that an answer was worked from.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct BookStamp {
    /// Id.
    pub id: String,
    /// Version.
    pub version: String,
    /// Digest.
    pub digest: String,
}

/// The overlay that an answer was worked from.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct OverlayStamp {
    /// Digest.
    pub digest: String,
}

/// The site that an answer was worked for.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct SiteStamp {
    /// Id.
    pub id: String,
    /// Digest of its sheet.
    pub digest: String,
}

/// Allergens over an order, by id.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct AllergensOfOrder {
    /// Contained in ingredients.
    #[schema(value_type = BTreeSet<String>)]
    pub ingredients: BTreeSet<Id>,
    /// That packs say may be contained, beyond the above.
    #[schema(value_type = BTreeSet<String>)]
    pub may_contain: BTreeSet<Id>,
    /// On shared equipment, beyond the ingredients.
    #[schema(value_type = BTreeSet<String>)]
    pub shared_equipment: BTreeSet<Id>,
}

impl BookStamp {
    /// The stamp of the book that `bar` was compiled from.
    pub fn of(bar: &Bar) -> Self {
        Self {
            id: bar.book.id.to_string(),
            version: bar.book.version.clone(),
            digest: bar.book_digest.to_string(),
        }
    }
}

impl AllergensOfOrder {
    fn of(verdicts: &[Verdict<'_>]) -> Self {
        let mut all = Self::default();
        for verdict in verdicts {
            all.add(&Self::of_verdict(verdict));
        }
        all.settle();
        all
    }

    /// What one line adds.
    pub fn of_verdict(verdict: &Verdict<'_>) -> Self {
        let Verdict::Accept { build, .. } = verdict else { return Self::default() };
        let allergens = &build.allergens;
        let ids = |ids: &[&Id]| ids.iter().copied().cloned().collect();
        Self {
            ingredients: ids(&allergens.ingredients),
            may_contain: ids(&allergens.may_contain),
            shared_equipment: allergens.shared.iter().map(|one| one.allergen.clone()).collect(),
        }
    }

    /// Adds those of another line.
    pub fn add(&mut self, other: &Self) {
        let sets = [
            (&mut self.ingredients, &other.ingredients),
            (&mut self.may_contain, &other.may_contain),
            (&mut self.shared_equipment, &other.shared_equipment),
        ];
        for (all, more) in sets {
            for one in more {
                if !all.contains(one) {
                    all.insert(one.clone());
                }
            }
        }
    }

    /// Takes out of the weaker statements what an ingredient contains anyway; the last step.
    pub fn settle(&mut self) {
        let Self { ingredients, may_contain, shared_equipment } = self;
        may_contain.retain(|one| !ingredients.contains(one));
        shared_equipment.retain(|one| !ingredients.contains(one));
    }
}

impl<'a> Answer<'a> {
    /// The answer to `lines`, whose verdicts are `verdicts`.
    pub fn of(
        bar: &'a Bar,
        lines: &[Line],
        verdicts: &'a [Verdict<'a>],
        catalogue: &'a Catalogue,
        with_build: bool,
    ) -> Self {
        let one = |(at, (line, verdict)): (usize, (&Line, &'a Verdict<'a>))| {
            answer_line(bar, &line.id, at, verdict, catalogue, with_build)
        };
        let caffeine =
            lines.iter().zip(verdicts).try_fold(CaffeineView::default(), |sum, (line, verdict)| {
                Some(sum.and(CaffeineView::of_verdict(bar, verdict)?, line.quantity))
            });
        let lines = lines.iter().zip(verdicts).enumerate().map(one).collect();
        Self { caffeine, lines, ..Self::bare(bar, catalogue, AllergensOfOrder::of(verdicts)) }
    }

    /// The answer without its lines.
    pub fn bare(bar: &Bar, catalogue: &Catalogue, allergens: AllergensOfOrder) -> Self {
        Self {
            book: BookStamp::of(bar),
            overlay: bar.overlay_digest.map(|digest| OverlayStamp { digest: digest.to_string() }),
            site: SiteStamp { id: bar.site.id.to_string(), digest: bar.site_digest.to_string() },
            contract: CONTRACT_NAME,
            lang: catalogue.lang.to_string(),
            allergens,
            caffeine: None,
            lines: Vec::new(),
        }
    }
}

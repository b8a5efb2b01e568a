//! The allergens of a cup, as the contract shows them: ids, and sentences in the region's names.

use serde::Serialize;
use utoipa::ToSchema;

use crate::{
    book::{Bar, Id},
    engine::{derive::Allergens, phrase::Phrase},
    words::{self, Catalogue},
};

/// Allergens of a cup: three separate answers, none of which says that something is absent.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct AllergensView<'a> {
    /// Contained in the ingredients, whether the site's region lists them or not.
    pub ingredients: Vec<&'a str>,
    /// That packs say may be contained.
    pub may_contain: Vec<&'a str>,
    /// On equipment shared at this site.
    pub shared_equipment: Vec<SharedView<'a>>,
    /// Of the ingredients', those that the site's region requires to be declared; null where the
    /// book has no table of that region, so that none is known to be required.
    pub listed: Option<Vec<&'a str>>,
    /// The three answers as sentences.
    pub wording: AllergenWording,
}

/// An allergen on shared equipment.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct SharedView<'a> {
    /// The allergen, by id.
    pub allergen: &'a str,
    /// The equipment: `wand`, `jug`, `cloth`, `whisk`, `strainer`, `grinder`.
    pub via: Vec<&'static str>,
}

/// The three answers as sentences, in the names that the site's region requires, and in the book's
/// where it requires none.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct AllergenWording {
    /// What the ingredients contain; null where no record names an allergen.
    #[schema(examples("Ingredients contain: Milk, Oats"))]
    pub contains: Option<String>,
    /// What packs say may be contained; null where none does.
    #[schema(examples("Packs say may contain: Wheat, Barley"))]
    pub may_contain: Option<String>,
    /// What is on shared equipment; null where nothing is known of.
    #[schema(examples("Made on shared equipment with: Milk"))]
    pub shared_equipment: Option<String>,
}

/// The view of a cup's allergens in a language.
pub fn allergens_view<'a>(
    bar: &'a Bar,
    allergens: &'a Allergens<'a>,
    catalogue: &Catalogue,
) -> AllergensView<'a> {
    let Allergens { ingredients, may_contain, shared, listed } = allergens;
    let ids = |ids: &'a [&'a Id]| ids.iter().map(|id| &***id).collect::<Vec<_>>();
    let met = shared.iter().map(|one| &**one.allergen).collect::<Vec<_>>();
    let (ingredients, may_contain) = (ids(ingredients), ids(may_contain));
    let said = |label, ids: &[&str]| sentence(bar, catalogue, label, ids);
    AllergensView {
        wording: AllergenWording {
            contains: said(Phrase::LabelContain, &ingredients),
            may_contain: said(Phrase::LabelMayContain, &may_contain),
            shared_equipment: said(Phrase::LabelShared, &met),
        },
        ingredients,
        may_contain,
        shared_equipment: shared
            .iter()
            .map(|one| SharedView {
                allergen: one.allergen,
                via: one.via.iter().map(|via| via.as_str()).collect(),
            })
            .collect(),
        listed: listed.as_deref().map(ids),
    }
}

/// A label with the names of the allergens; nothing where there are none.
fn sentence(bar: &Bar, catalogue: &Catalogue, label: Phrase, ids: &[&str]) -> Option<String> {
    let names: Vec<String> =
        ids.iter().map(|id| words::allergen(bar, &catalogue.lang, id)).collect();
    let label = words::gaps(catalogue, label, &[]);
    (!names.is_empty()).then(|| format!("{label}: {}", names.join(", ")))
}

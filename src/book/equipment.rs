//! Equipment that cups share at a site, and what meets it there.

use super::{
    allergen_set::{AllergenSet, Brings},
    types::{Book, Id, IngredientKind, Part, Site, Wand},
};

/// Equipment that cups share.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Via {
    /// The steam wand.
    Wand,
    /// The milk jugs.
    Jug,
    /// The cloth that the wand is wiped with.
    Cloth,
    /// What powders are stirred smooth with.
    Whisk,
    /// What leaves are strained through.
    Strainer,
    /// The grinder.
    Grinder,
}

impl Via {
    /// As answers write it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Wand => "wand",
            Self::Jug => "jug",
            Self::Cloth => "cloth",
            Self::Whisk => "whisk",
            Self::Strainer => "strainer",
            Self::Grinder => "grinder",
        }
    }
}

/// What meets the shared equipment of one site: ingredients, by their positions in the book, and
/// the allergens that they contain.
#[derive(Clone, Debug, Default)]
pub struct Equipment {
    steamed: Met,
    /// By the wand that it wipes.
    cloths: Vec<(Id, Met)>,
    milks: Met,
    stirred: Met,
    strained: Met,
}

/// Ingredients that meet one piece of equipment, with their allergens.
#[derive(Clone, Debug, Default)]
pub struct Met {
    /// The ingredients, by id.
    pub ingredients: Vec<Id>,
    /// Allergens that they contain.
    pub allergens: AllergenSet,
    /// Allergens that their packs say they may contain.
    pub may_contain: AllergenSet,
}

impl Met {
    fn of(book: &Book, brings: &[Brings], wanted: impl Fn(&Id) -> bool) -> Self {
        let mut met = Self::default();
        for (at, one) in book.ingredients.iter().enumerate().filter(|(_, one)| wanted(&one.id)) {
            met.ingredients.push(one.id.clone());
            met.allergens = met.allergens.and(brings[at].contains);
            met.may_contain = met.may_contain.and(brings[at].may_contain);
        }
        met
    }
}

impl Equipment {
    /// What meets the equipment of `site`, by what it stocks and what drinks make of it.
    pub(super) fn of(book: &Book, site: &Site, brings: &[Brings]) -> Self {
        let stocked = |id: &Id| site.stock.contains(id);
        let record = |id: &Id| book.ingredients.iter().find(|one| one.id == *id);
        let is_milk = |id: &Id| record(id).is_some_and(|one| one.kind == IngredientKind::Milk);
        let takes_steam = |id: &Id| record(id).is_some_and(|one| one.steaming.is_some());
        let parts = || book.drinks.iter().flat_map(|drink| &drink.parts);
        let stirred = |id: &Id| {
            parts().any(|part| matches!(part, Part::Paste(paste) if paste.ingredient == *id))
        };
        let leaf = |id: &Id| {
            parts().any(|part| matches!(part, Part::Steep(steep) if steep.ingredient == *id))
        };
        let milky = |part: &Part| {
            matches!(part, Part::Steep(steep)
                if stocked(&steep.ingredient) && steep.stages.iter().any(|stage| stage.with_milk))
        };
        let milk_is_strained = parts().any(milky);
        let strained = |id: &Id| leaf(id) || (milk_is_strained && takes_steam(id));
        let wiped = |cloth: Option<&Id>, id: &Id| {
            let mut shared = site.wands.iter().filter(|wand| wand.cloth.as_ref() == cloth);
            shared.any(|wand| wand.only.is_empty() || wand.only.contains(id))
        };
        let cloth = |wand: &Wand| {
            let meets = |id: &Id| stocked(id) && takes_steam(id) && wiped(wand.cloth.as_ref(), id);
            (wand.id.clone(), Met::of(book, brings, meets))
        };
        Self {
            steamed: Met::of(book, brings, |id| stocked(id) && takes_steam(id)),
            cloths: site.wands.iter().map(cloth).collect(),
            milks: Met::of(book, brings, |id| stocked(id) && is_milk(id)),
            stirred: Met::of(book, brings, |id| stocked(id) && stirred(id)),
            strained: Met::of(book, brings, |id| stocked(id) && strained(id)),
        }
    }

    /// The milks that are steamed here: any wand and the jugs meet them.
    pub fn steamed(&self) -> &Met {
        &self.steamed
    }

    /// What the cloth of this wand meets: the milks of every wand that it wipes.
    pub fn cloth_of(&self, wand: &str) -> Option<&Met> {
        self.cloths.iter().find(|(id, _)| **id == *wand).map(|(_, met)| met)
    }

    /// All milks here: the small jugs that stand beside cups meet them.
    pub fn milks(&self) -> &Met {
        &self.milks
    }

    /// What is stirred smooth here.
    pub fn stirred(&self) -> &Met {
        &self.stirred
    }

    /// What is strained here.
    pub fn strained(&self) -> &Met {
        &self.strained
    }
}

//! Sets of a book's allergens, one bit each, so that a cup's allergens are a few instructions.

use super::types::{AllergenTable, Book, Id, Ingredient};

/// A set of allergens, by their positions in the book's list.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct AllergenSet(u128);

impl AllergenSet {
    /// Most allergens that a book may list: the width of the set.
    pub const MOST: usize = 128;

    /// The allergens of `ids` in `book`; an id that the book lacks is a complaint elsewhere.
    fn of(book: &Book, ids: &[Id]) -> Self {
        let position = |id: &Id| book.allergens.iter().position(|known| known.id == *id);
        Self::at(ids.iter().filter_map(position))
    }

    fn at(positions: impl Iterator<Item = usize>) -> Self {
        let bits = positions.filter(|at| *at < Self::MOST);
        Self(bits.fold(0, |set, at| set | 1 << at))
    }

    /// The allergens of `ids`, and whatever those cover.
    ///
    /// Each round only adds to a set that is bounded, so the loop ends, circles or not.
    pub(super) fn covered(book: &Book, ids: &[&Id]) -> Self {
        let position = |id: &Id| book.allergens.iter().position(|known| known.id == *id);
        let mut all = Self::at(ids.iter().filter_map(|id| position(id)));
        loop {
            let covers = all.positions().filter_map(|at| book.allergens.get(at));
            let more = Self::at(covers.flat_map(|one| &one.covers).filter_map(position));
            if more.beyond(all) == Self::default() {
                return all;
            }
            all = all.and(more);
        }
    }

    /// The groups of `book` that cover any allergen of the set, beyond the set itself.
    pub(super) fn covering(book: &Book, allergens: Self) -> Self {
        let covers = |at: &usize| {
            let group = book.allergens.get(*at);
            group.is_some_and(|one| {
                !one.covers.is_empty() && { Self::covered(book, &[&one.id]).meets(allergens) }
            })
        };
        Self::at((0..book.allergens.len()).filter(covers)).beyond(allergens)
    }

    /// Everything in either set.
    #[must_use]
    pub const fn and(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// What is in this set and not in `other`.
    #[must_use]
    pub const fn beyond(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }

    /// Whether both sets have an allergen in common.
    pub const fn meets(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }

    /// Whether the allergen at this position of the book's list is in the set.
    pub const fn holds(self, at: usize) -> bool {
        at < Self::MOST && self.0 >> at & 1 == 1
    }

    /// Positions in the book's list, ascending.
    pub fn positions(self) -> impl Iterator<Item = usize> {
        (0..Self::MOST).skip(self.0.trailing_zeros() as usize).filter(move |at| self.holds(*at))
    }
}

/// What an ingredient brings with it, the ingredients that it is made of included.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Brings {
    /// Allergens that it contains.
    pub contains: AllergenSet,
    /// Allergens that its packs say it may contain.
    pub may_contain: AllergenSet,
    /// Of those that it contains, the ones that the site's region requires to be declared.
    pub listed: AllergenSet,
}

impl Brings {
    /// What each ingredient of `book` brings, in the order of the book.
    ///
    /// Each round only adds to sets that are bounded, so the loop ends, circles or not. An amount
    /// that a record states holds for the whole of it, whatever its parts have.
    ///
    /// * `table`: what the site's region requires.
    pub(super) fn of_all(book: &Book, table: Option<&AllergenTable>) -> Vec<Self> {
        let position = |id: &Id| book.allergens.iter().position(|known| known.id == *id);
        let own = |one: &Ingredient| Self {
            contains: AllergenSet::of(book, &one.allergens),
            may_contain: AllergenSet::of(book, &one.may_contain),
            listed: AllergenSet::at(required(book, table, one).filter_map(position)),
        };
        let stated =
            |one: &Ingredient| AllergenSet::at(one.allergen_mg_kg.keys().filter_map(position));
        let stated: Vec<AllergenSet> = book.ingredients.iter().map(stated).collect();
        let mut all: Vec<Self> = book.ingredients.iter().map(own).collect();
        let position = |id: &Id| book.ingredients.iter().position(|one| one.id == *id);
        let made_of: Vec<Vec<usize>> = book
            .ingredients
            .iter()
            .map(|one| one.made_of.iter().filter_map(position).collect())
            .collect();
        loop {
            let before = all.clone();
            for (at, parts) in made_of.iter().enumerate() {
                let of_part = |part: &usize| {
                    let brings: Self = all[*part];
                    Self { listed: brings.listed.beyond(stated[at]), ..brings }
                };
                all[at] = parts.iter().fold(all[at], |sum, part| sum.and(of_part(part)));
            }
            if all == before {
                return all;
            }
        }
    }

    /// What either brings.
    #[must_use]
    pub const fn and(self, other: Self) -> Self {
        Self {
            contains: self.contains.and(other.contains),
            may_contain: self.may_contain.and(other.may_contain),
            listed: self.listed.and(other.listed),
        }
    }
}

/// The allergens of the ingredient's own record that `table` requires to be declared. A group, of
/// which the record does not say what it stands for, counts as each that it covers.
fn required<'b>(
    book: &'b Book,
    table: Option<&'b AllergenTable>,
    one: &'b Ingredient,
) -> impl Iterator<Item = &'b Id> {
    let amount = |id: &Id| one.allergen_mg_kg.get(id).copied();
    let is_required = move |table: &AllergenTable, id: &Id| {
        let row = table.row(id).is_some_and(|row| row.requires(amount(id)));
        let covered = AllergenSet::covered(book, &[id]).positions();
        let mut covered = covered.filter_map(|at| book.allergens.get(at));
        row || (table.row(id).is_none() && covered.any(|one| table.row(&one.id).is_some()))
    };
    table
        .into_iter()
        .flat_map(move |table| one.allergens.iter().filter(move |id| is_required(table, id)))
}

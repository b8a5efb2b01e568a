//! The four tables: their files, what a row of each is, and how it is told apart from the others.

use std::sync::LazyLock;

use serde_json::Value;

use super::shape::Shape;
use crate::{book::Book, json::schema_of};

static BOOK: LazyLock<Value> = LazyLock::new(|| schema_of::<Book>("urn:cupwright:tables", true));

/// One of the tables.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Table {
    /// A row a drink, without its cups and parts.
    Drinks,
    /// A row for each drink, way of serving and size.
    Cups,
    /// A row a part, in pour order.
    Parts,
    /// A row an ingredient.
    Ingredients,
}

/// A table as text, with the name by which people know it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TableText {
    /// Which table it is.
    pub table: Table,
    /// Name, such as a file name.
    pub name: String,
    /// The CSV text (RFC 4180).
    pub text: String,
}

impl Table {
    /// All of them, in the order in which they are read and told.
    pub const ALL: [Self; 4] = [Self::Drinks, Self::Cups, Self::Parts, Self::Ingredients];

    /// Name of its file.
    pub const fn file(self) -> &'static str {
        match self {
            Self::Drinks => "drinks.csv",
            Self::Cups => "cups.csv",
            Self::Parts => "parts.csv",
            Self::Ingredients => "ingredients.csv",
        }
    }

    /// What a row of it is.
    pub(super) const fn row(self) -> &'static str {
        match self {
            Self::Drinks => "a drink",
            Self::Cups => "a cup of a drink",
            Self::Parts => "a part of a drink",
            Self::Ingredients => "an ingredient",
        }
    }

    /// The columns that say where a row belongs and are no field of its record.
    pub(super) const fn place(self) -> &'static [&'static str] {
        match self {
            Self::Drinks | Self::Ingredients => &[],
            Self::Cups => &["drink", "service", "size"],
            Self::Parts => &["drink"],
        }
    }

    /// The columns that together tell a row from every other.
    pub(super) const fn key(self) -> &'static [&'static str] {
        match self {
            Self::Drinks | Self::Ingredients => &["id"],
            Self::Cups => self.place(),
            Self::Parts => &["drink", "id"],
        }
    }

    /// Fields of its records that stand in tables of their own.
    pub(super) const fn apart(self) -> &'static [&'static str] {
        match self {
            Self::Drinks => &["cups", "parts"],
            Self::Cups | Self::Parts | Self::Ingredients => &[],
        }
    }

    /// What a record of it may hold, as the book's schema says.
    pub(super) fn shape(self) -> Shape<'static> {
        let list = |name: &str| field(&Shape::of(&BOOK), name).elements();
        match self {
            Self::Drinks => list("drinks"),
            Self::Cups => field(&list("drinks"), "cups").values().values(),
            Self::Parts => field(&list("drinks"), "parts").elements(),
            Self::Ingredients => list("ingredients"),
        }
    }

    /// The only words that the column `name` may hold, where the schema lists them.
    pub(super) fn words(self, name: &str) -> Vec<&'static str> {
        let cups = || field(&Self::Drinks.shape(), "cups");
        match (self, name) {
            (Self::Cups, "service") => cups().keys(),
            (Self::Cups, "size") => cups().values().keys(),
            _ => Vec::new(),
        }
    }
}

fn field(shape: &Shape<'static>, name: &str) -> Shape<'static> {
    shape.field(name).unwrap_or_else(Shape::any)
}

#[cfg(test)]
mod tests {
    use super::Table;

    #[test]
    fn the_schema_describes_the_records_of_every_table() {
        for table in Table::ALL {
            let (shape, fields) = (table.shape(), table.shape().fields());
            assert!(shape.has_fields() && fields.len() > 3, "{table:?}: {fields:?}");
            for name in table.place() {
                assert!(!fields.contains(name), "{table:?} has a field `{name}` of its own");
            }
            for name in table.apart().iter().chain(table.key()) {
                let known = fields.contains(name) || table.place().contains(name);
                assert!(known, "{table:?} has no `{name}`");
            }
        }
        assert_eq!(Table::Cups.words("service"), ["here", "takeaway", "own"]);
    }
}

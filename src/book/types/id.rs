//! Names that documents give to things, and texts in several languages.

use std::{borrow::Borrow, collections::BTreeMap, fmt, ops::Deref, sync::Arc};

use serde::{Deserialize, Serialize};
use utoipa::{
    PartialSchema, ToSchema,
    openapi::{
        RefOr, Schema,
        schema::{ObjectBuilder, SchemaType, Type},
    },
};

/// An id in kebab-case, at most 64 characters, which never changes its meaning.
///
/// It never begins `x-`: a member of that name is a field of somebody's own, which readers ignore.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Id(Arc<str>);

impl Id {
    /// Whether `text` has the form of an id, for texts that no schema judges.
    ///
    /// ```
    /// use cupwright::book::Id;
    ///
    /// assert!(["oat-drink", "1011", "xylitol"].into_iter().all(Id::fits));
    /// assert!(!["", "x", "x-own", "Oat", "oat--drink", "-oat", "oat drink"].into_iter().any(Id::fits));
    /// ```
    pub fn fits(text: &str) -> bool {
        let plain = |part: &str| {
            !part.is_empty() && part.bytes().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit())
        };
        text.len() <= 64 && text != "x" && !text.starts_with("x-") && text.split('-').all(plain)
    }
}

impl From<&str> for Id {
    fn from(text: &str) -> Self {
        Self(text.into())
    }
}

impl Deref for Id {
    type Target = str;
    fn deref(&self) -> &str {
        &self.0
    }
}

impl Borrow<str> for Id {
    fn borrow(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Id {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.0)
    }
}

impl PartialEq<str> for Id {
    fn eq(&self, other: &str) -> bool {
        *self.0 == *other
    }
}

impl PartialEq<&str> for Id {
    fn eq(&self, other: &&str) -> bool {
        *self.0 == **other
    }
}

impl ToSchema for Id {}

impl PartialSchema for Id {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(SchemaType::new(Type::String))
            .pattern(Some("^([a-wyz0-9]|x[a-z0-9])[a-z0-9]*(-[a-z0-9]+)*$"))
            .max_length(Some(64))
            .description(Some("An id in kebab-case."))
            .into()
    }
}

/// A language tag (BCP 47), such as `en` or `de-AT`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Lang(Arc<str>);

impl From<&str> for Lang {
    fn from(text: &str) -> Self {
        Self(text.into())
    }
}

impl Deref for Lang {
    type Target = str;
    fn deref(&self) -> &str {
        &self.0
    }
}

impl Borrow<str> for Lang {
    fn borrow(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Lang {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.0)
    }
}

impl ToSchema for Lang {}

impl PartialSchema for Lang {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(SchemaType::new(Type::String))
            .pattern(Some("^[a-z]{2,3}(-[A-Za-z0-9]{2,8})*$"))
            .description(Some("A language tag (BCP 47)."))
            .into()
    }
}

/// A text in each language of the book.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(transparent)]
pub struct Words(pub BTreeMap<Lang, String>);

impl Words {
    /// The text in `lang`; where that is missing, in the first language there is; else empty.
    pub fn in_lang(&self, lang: &str) -> &str {
        let text = self.0.get(lang).or_else(|| self.0.values().next());
        text.map_or("", String::as_str)
    }
}

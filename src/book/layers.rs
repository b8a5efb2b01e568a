//! Resolution: a book's fields as they hold at one site, each with the layer it came from.
//!
//! The order is fixed: recall overlay over site over region over wave over book. A region and a
//! site may replace only what the book lists; a replacement that leads nowhere is a complaint.

use std::collections::BTreeMap;

use serde_json::Value;

use super::check::FIXED;
use crate::json::{Complaint, Complaints, child, segments};

/// Where a resolved value came from, the weakest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Layer {
    /// The book itself.
    Book,
    /// The wave of a rollout that the site is in.
    Wave,
    /// The variant of the site's region.
    Region,
    /// The site's own sheet.
    Site,
    /// The recall overlay in force.
    Recall,
}

impl Layer {
    /// As answers write it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Book => "book",
            Self::Wave => "wave",
            Self::Region => "region",
            Self::Site => "site",
            Self::Recall => "recall",
        }
    }
}

/// Which layer each replaced field came from; a path is one of ids, as in `replace`.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Provenance(BTreeMap<String, Layer>);

impl Provenance {
    /// The layer that the value at `path`, or the nearest value around it, came from.
    pub fn layer_of(&self, path: &str) -> Layer {
        let mut here = path;
        loop {
            if let Some(layer) = self.0.get(here) {
                return *layer;
            }
            match here.rfind('/') {
                Some(at) => here = &here[..at],
                None => return Layer::Book,
            }
        }
    }

    /// Notes that the value at `path` came from `layer`.
    pub(super) fn note(&mut self, path: String, layer: Layer) {
        self.0.insert(path, layer);
    }

    /// Every replaced path with its layer.
    pub fn replaced(&self) -> impl Iterator<Item = (&str, Layer)> {
        self.0.iter().map(|(path, layer)| (path.as_str(), *layer))
    }
}

/// One layer's replacements.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Replacements<'a> {
    /// The layer.
    pub(crate) layer: Layer,
    /// Path by ids, and the value.
    pub(crate) replace: &'a BTreeMap<String, Value>,
    /// Paths that this layer may replace; `*` stands for any one id. `None`: all.
    pub(crate) allowed: Option<&'a [String]>,
    /// The document that they stand in: its name and its text, for complaints.
    pub(crate) document: (&'a str, &'a str),
    /// Pointer of the replacements in their document, for complaints.
    pub(crate) pointer: &'a str,
}

/// The book's value with each layer's replacements made, in the order given.
///
/// * Errors: every replacement that is not allowed or leads nowhere.
pub(crate) fn replaced(
    book: &Value,
    layers: &[Replacements<'_>],
) -> Result<(Value, Provenance), Complaints> {
    let (mut value, mut provenance) = (book.clone(), Provenance::default());
    for Replacements { layer, replace, allowed, document, pointer } in layers {
        let mut complaints = Vec::new();
        for (path, new) in *replace {
            let here = || child(pointer, path);
            if !allowed.is_none_or(|patterns| patterns.iter().any(|one| covers(one, path))) {
                let expected = "a path that the book lists as replaceable here";
                complaints.push(Complaint::at(here(), format!("`{path}`"), expected));
                continue;
            }
            match place(&mut value, path) {
                Some(spot) if fixed_in(spot) != fixed_in(new) => complaints.push(Complaint::at(
                    here(),
                    format!("`{path}` with another {}", FIXED.join(", ")),
                    "a value that leaves these as the book has them",
                )),
                Some(spot) => {
                    *spot = new.clone();
                    provenance.note(path.clone(), *layer);
                }
                None => complaints.push(Complaint::at(
                    here(),
                    format!("`{path}`, which leads nowhere"),
                    "a path of ids to a field of the book",
                )),
            }
        }
        if !complaints.is_empty() {
            return Err(Complaints::placed(document.0, document.1, complaints));
        }
    }
    Ok((value, provenance))
}

/// Every member of `value`, however deep, that no region and no site may replace.
fn fixed_in(value: &Value) -> Vec<(&str, &Value)> {
    match value {
        Value::Object(members) => members
            .iter()
            .flat_map(|(name, member)| {
                if FIXED.contains(&name.as_str()) {
                    vec![(name.as_str(), member)]
                } else {
                    fixed_in(member)
                }
            })
            .collect(),
        Value::Array(elements) => elements.iter().flat_map(fixed_in).collect(),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => Vec::new(),
    }
}

/// Whether `pattern`, in which `*` stands for any one segment, covers `path`.
fn covers(pattern: &str, path: &str) -> bool {
    let (mut wanted, mut given) = (segments(pattern), segments(path));
    loop {
        match (wanted.next(), given.next()) {
            (None, None) => return true,
            (Some(want), Some(have)) if want == "*" || want == have => {}
            _ => return false,
        }
    }
}

/// The value at `path`, in which an element of a list is named by its id. A missing member of an
/// object that is there is made, so that an optional field can be given. No path leads to or through
/// a field that nobody may replace.
fn place<'a>(value: &'a mut Value, path: &str) -> Option<&'a mut Value> {
    let mut rest = segments(path).peekable();
    rest.peek()?;
    let mut here = value;
    while let Some(segment) = rest.next() {
        here = match here {
            Value::Object(_) if FIXED.contains(&&*segment) => return None,
            Value::Object(members) => {
                if rest.peek().is_none() {
                    members.entry(segment.into_owned()).or_insert(Value::Null)
                } else {
                    members.get_mut(&*segment)?
                }
            }
            Value::Array(elements) => {
                elements.iter_mut().find(|element| element["id"] == segment.as_ref())?
            }
            Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => return None,
        };
    }
    Some(here)
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::{Layer, Replacements, covers, replaced};

    #[test]
    fn a_star_stands_for_exactly_one_id() {
        assert!(covers("/drinks/*/names/*", "/drinks/latte/names/en"));
        assert!(!covers("/drinks/*/names/*", "/drinks/latte/names"));
        assert!(!covers("/drinks/*/names/*", "/drinks/latte/cups/here"));
    }

    #[test]
    fn the_site_outranks_the_region_and_every_value_knows_its_layer() {
        let book = json!({"drinks": [{"id": "latte", "halves": 1, "price": "4.00"}]});
        let one = |path: &str, value| [(path.to_owned(), value)].into();
        let region = one("/drinks/latte/halves", json!(2));
        let site = [
            ("/drinks/latte/halves".to_owned(), json!(3)),
            ("/drinks/latte/price".to_owned(), json!("4.50")),
        ]
        .into();
        let document = ("", "");
        let layer =
            |layer, replace| Replacements { layer, replace, allowed: None, document, pointer: "" };
        let layers = [layer(Layer::Region, &region), layer(Layer::Site, &site)];
        let (value, from) = replaced(&book, &layers).expect("both lead somewhere");
        assert_eq!(value["drinks"][0], json!({"id": "latte", "halves": 3, "price": "4.50"}));
        assert_eq!(from.layer_of("/drinks/latte/halves"), Layer::Site);
        assert_eq!(from.layer_of("/drinks/latte/id"), Layer::Book);
        let astray = one("/drinks/tea/halves", json!(1));
        let complaints = replaced(&book, &[layer(Layer::Site, &astray)]).expect_err("no tea");
        assert_eq!(complaints.all[0].pointer, "/~1drinks~1tea~1halves");
    }
}

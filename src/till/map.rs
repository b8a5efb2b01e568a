//! The sheet of one till: codes with what they mean, read from JSON or CSV.

use std::{collections::HashSet, sync::LazyLock};

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::sheet::twice;
use crate::{
    book::{ExampleModifier, ExampleValue, Id},
    json::{Complaint, Complaints, Limits, SchemaCheck, read_structure},
    units::Figure,
};

/// What an id looks like, for complaints.
const AN_ID: &str = "an id in kebab-case";

static SCHEMA: LazyLock<SchemaCheck> = LazyLock::new(|| SchemaCheck::of::<MapDocument>(true));

/// A till's buttons, as a JSON document.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MapDocument {
    /// `till-map/` and the version of this schema.
    #[schema(pattern = "^till-map/0\\.1\\.[0-9]+$")]
    pub schema: String,
    /// The site whose till it is.
    pub site: Id,
    /// The buttons.
    #[schema(max_items = 5000)]
    pub buttons: Vec<Button>,
}

/// One button.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Button {
    /// The till's own code, once in the sheet.
    #[schema(min_length = 1, max_length = 64)]
    pub code: String,
    /// What stands on the button.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    #[schema(max_length = 64)]
    pub label: String,
    /// The drink that it orders, by id; a button for modifiers alone has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 64)]
    pub drink: Option<String>,
    /// The modifiers that it gives.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 32)]
    pub modifiers: Vec<ExampleModifier>,
}

/// A till's buttons, found by code.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TillMap {
    /// The site.
    pub site: Id,
    /// The buttons, in the order of the sheet.
    pub buttons: Vec<Button>,
}

impl TillMap {
    /// Reads a sheet: CSV if its name ends so, else JSON.
    ///
    /// * `site`: the site whose till it is; a JSON sheet says so itself, and must agree.
    /// * Errors: every complaint at once, with line and column.
    pub fn read(name: &str, text: &str, site: &str) -> Result<Self, Complaints> {
        if is_csv(name) { Self::from_csv(name, text, site) } else { from_json(name, text, site) }
    }

    /// The button with this code.
    pub fn button(&self, code: &str) -> Option<&Button> {
        self.buttons.iter().find(|button| button.code == code)
    }
}

fn is_csv(name: &str) -> bool {
    std::path::Path::new(name).extension().is_some_and(|end| end.eq_ignore_ascii_case("csv"))
}

fn from_json(name: &str, text: &str, site: &str) -> Result<TillMap, Complaints> {
    let placed = |all| Complaints::placed(name, text, all);
    let read = read_structure(text, Limits::DOCUMENT, &SCHEMA).map_err(|one| placed(vec![one]))?;
    if !read.complaints.is_empty() {
        return Err(placed(read.complaints));
    }
    let document = MapDocument::deserialize(&read.value).map_err(|fault| {
        placed(vec![Complaint::at("", fault.to_string(), "the published schema")])
    })?;
    let complaints = beyond_the_schema(&document, site);
    if !complaints.is_empty() {
        return Err(placed(complaints));
    }
    let MapDocument { schema: _, site, buttons } = document;
    Ok(TillMap { site, buttons })
}

/// What a schema cannot say: the site, codes that differ, modifiers in one form.
fn beyond_the_schema(document: &MapDocument, site: &str) -> Vec<Complaint> {
    let mut complaints = Vec::new();
    if document.site != *site {
        let expected = format!("`{site}`, for which the sheet is kept");
        complaints.push(Complaint::at("/site", format!("`{}`", document.site), expected));
    }
    let mut seen = HashSet::new();
    for (at, button) in document.buttons.iter().enumerate() {
        if !seen.insert(&button.code) {
            complaints.push(twice(&button.code, at));
        }
        let drink = button.drink.as_ref().map(|drink| ("drink", drink));
        let texts = [("code", &button.code), ("label", &button.label)].into_iter().chain(drink);
        for (field, text) in texts {
            if text.trim() != text || (field == "drink" && text.is_empty()) {
                let here = format!("/buttons/{at}/{field}");
                let expected = "a text without blanks before or behind it";
                complaints.push(Complaint::at(here, format!("`{text}`"), expected));
            }
        }
        for (n, one) in button.modifiers.iter().enumerate() {
            let here = |field: &str| format!("/buttons/{at}/modifiers/{n}{field}");
            if !Id::fits(&one.id) {
                complaints.push(Complaint::at(here("/id"), format!("`{}`", one.id), AN_ID));
            }
            match &one.value {
                Some(ExampleValue::Id(value)) if !Id::fits(value) => {
                    complaints.push(Complaint::at(here("/value"), format!("`{value}`"), AN_ID));
                }
                Some(ExampleValue::Number(number)) if *number < Figure::ZERO => {
                    let found = number.value().to_string();
                    complaints.push(Complaint::at(here("/value"), found, "a number of at least 0"));
                }
                Some(_) if one.count.is_some() => {
                    let expected = "`value` for a slot, `count` for a counter, neither for a flag";
                    complaints.push(Complaint::at(here(""), "both `value` and `count`", expected));
                }
                Some(_) | None => {}
            }
        }
    }
    complaints
}

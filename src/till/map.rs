//! The sheet of one till: codes with what they mean, read from JSON or CSV.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::{
    book::{ExampleModifier, Id},
    json::{Complaint, Complaints, Limits, SchemaCheck, read_structure},
};

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
        let map =
            if is_csv(name) { Self::from_csv(name, text, site) } else { from_json(name, text) }?;
        let mut complaints = Vec::new();
        if map.site != *site {
            let expected = format!("`{site}`, for which the sheet is kept");
            complaints.push(Complaint::at("/site", format!("`{}`", map.site), expected));
        }
        let mut seen = std::collections::HashSet::new();
        for (at, button) in map.buttons.iter().enumerate() {
            if !seen.insert(&button.code) {
                let found = format!("the code `{}` a second time", button.code);
                complaints.push(Complaint::at(
                    format!("/buttons/{at}/code"),
                    found,
                    "each code once",
                ));
            }
        }
        if complaints.is_empty() {
            return Ok(map);
        }
        if is_csv(name) {
            return Err(Complaints { document: name.to_owned(), all: complaints });
        }
        Err(Complaints::placed(name, text, complaints))
    }

    /// The button with this code.
    pub fn button(&self, code: &str) -> Option<&Button> {
        self.buttons.iter().find(|button| button.code == code)
    }
}

fn is_csv(name: &str) -> bool {
    std::path::Path::new(name).extension().is_some_and(|end| end.eq_ignore_ascii_case("csv"))
}

fn from_json(name: &str, text: &str) -> Result<TillMap, Complaints> {
    let placed = |all| Complaints::placed(name, text, all);
    let read = read_structure(text, Limits::DOCUMENT, &SCHEMA).map_err(|one| placed(vec![one]))?;
    if !read.complaints.is_empty() {
        return Err(placed(read.complaints));
    }
    let document = MapDocument::deserialize(&read.value).map_err(|fault| {
        placed(vec![Complaint::at("", fault.to_string(), "the published schema")])
    })?;
    let MapDocument { schema: _, site, buttons } = document;
    Ok(TillMap { site, buttons })
}

//! A till's sheet as the service checks it.

use serde::Serialize;
use utoipa::ToSchema;

use super::SiteStamp;
use crate::book::ExampleModifier;

/// The buttons of a site's till, each with what it comes to.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct TillMapView {
    /// The site.
    pub site: SiteStamp,
    /// The buttons, in the order of the sheet.
    pub buttons: Vec<ButtonView>,
    /// Drinks, by id, that can be made here and that no button orders.
    pub unreached: Vec<String>,
    /// Whether every button is right and every drink is reached.
    pub complete: bool,
}

/// One button.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ButtonView {
    /// The till's own code.
    pub code: String,
    /// What stands on the button; empty where the sheet does not say.
    pub label: String,
    /// The drink that it orders, by id; null for a button of modifiers alone.
    pub drink: Option<String>,
    /// The modifiers that it gives.
    pub modifiers: Vec<ExampleModifier>,
    /// `right`, `nothing` (it names nothing that the book has), `refused` (what it orders is not made
    /// here), or `twice` (another button means the same).
    pub finding: &'static str,
    /// The finding in words; empty where it is right.
    pub text: String,
}

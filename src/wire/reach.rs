//! Set-points for wanted temperatures, as the contract shows them.

use serde::Serialize;
use utoipa::ToSchema;

use super::{BookStamp, SiteStamp};
use crate::units::Temperature;

/// For each line the set-point with which its drink is served at the wanted temperature.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct SetPoints {
    /// The book in force.
    pub book: BookStamp,
    /// The site.
    pub site: SiteStamp,
    /// The wanted temperature of the drinks as served.
    pub wanted_c: Temperature,
    /// One for each line of the ticket, in its order.
    pub lines: Vec<SetPointLine>,
}

/// The set-point for one line.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct SetPointLine {
    /// Id of the line.
    pub line: String,
    /// `reached`; or `above-cap`, `below-range`, `no-steamed-milk`; or `not-made` for a line that
    /// cannot be made, which `/v1/validate` says more of.
    #[schema(examples("reached"))]
    pub outcome: &'static str,
    /// The set-point that reaches it, to a tenth of a degree; where it is out of reach, the nearest
    /// that is allowed; null without steamed milk.
    pub set_point_c: Option<Temperature>,
    /// The drink as served with that set-point, to a tenth of a degree.
    pub serve_c: Option<Temperature>,
    /// The outcome in words.
    pub text: String,
}

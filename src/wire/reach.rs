//! Set-points for wanted temperatures, as the contract shows them.

use serde::Serialize;
use serde_json::Value;
use utoipa::ToSchema;

use super::{AnswerLine, BookStamp, CautionView, SiteStamp};
use crate::units::Temperature;

/// For each line the set-point with which its drink is served at the wanted temperature.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct SetPoints<'a> {
    /// The book in force.
    pub book: BookStamp,
    /// The site.
    pub site: SiteStamp,
    /// The wanted temperature of the drinks as served.
    pub wanted_c: Temperature,
    /// One for each line of the ticket, in its order.
    pub lines: Vec<SetPointLine<'a>>,
}

/// The set-point for one line.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct SetPointLine<'a> {
    /// Id of the line.
    pub line: String,
    /// `reached`; or `above-cap`, `below-range`, `no-steamed-milk`; or `not-made` for a line that
    /// cannot be made as it stands.
    #[schema(examples("reached"))]
    pub outcome: &'static str,
    /// The set-point that reaches it, to a tenth of a degree; where it is out of reach, the nearest
    /// that is allowed; null without steamed milk.
    pub set_point_c: Option<Temperature>,
    /// The drink as served with that set-point, to a tenth of a degree.
    pub serve_c: Option<Temperature>,
    /// The outcome in words.
    pub text: String,
    /// The cautions of the cup with that set-point, such as that it scalds.
    pub cautions: Vec<CautionView<'a>>,
    /// Why the line is not accepted, and ways out, as `/v1/validate` answers it; null for one that is.
    #[schema(value_type = Option<AnswerLine>)]
    pub instead: Option<Value>,
}

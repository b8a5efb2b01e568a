//! Explanations of a build's figures, as the contract shows them.

use serde::Serialize;
use serde_json::Value;
use utoipa::ToSchema;

use super::{AnswerLine, BookStamp, SiteStamp};
use crate::{
    book::Bar,
    engine::explain::{Factor, Figure, Origin, Rounding, Term},
};

/// The figures of a ticket's builds, each with the terms that come to it.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Explanation {
    /// The book in force.
    pub book: BookStamp,
    /// The site.
    pub site: SiteStamp,
    /// One for each line of the ticket, in its order.
    pub lines: Vec<ExplainedLine>,
}

/// The figures of one line's build.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ExplainedLine {
    /// Id of the line.
    pub line: String,
    /// `accept`, `ask` or `refuse`, as for the same line in `/v1/expand`.
    pub verdict: &'static str,
    /// Every figure; empty for a line that is not accepted.
    pub figures: Vec<FigureView>,
    /// Why the line is not accepted, and ways out, as `/v1/validate` answers it; null for one that is.
    #[schema(value_type = Option<AnswerLine>)]
    pub instead: Option<Value>,
}

/// One figure: Σ terms ÷ Σ over, rounded as said. No terms come to 0, and no `over` to 1.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct FigureView {
    /// JSON Pointer (RFC 6901) into the line's build.
    #[schema(examples("/milk/cold_ml"))]
    pub figure: String,
    /// The figure as the build has it; the terms come to it within what is rounded inside: whole
    /// thousandths of grams, millilitres and degrees.
    pub value: f64,
    /// Its unit; empty for a count or a share.
    pub unit: &'static str,
    /// What is added up; the factors of each are multiplied.
    pub terms: Vec<Vec<FactorView>>,
    /// What the sum is divided by.
    pub over: Vec<Vec<FactorView>>,
    /// Step to which the quotient is rounded; 0 leaves it as it is.
    pub rounded_to: f64,
    /// `nearest`, halves away from zero, or `up`.
    pub rounded: &'static str,
    /// The law or rule by which it is worked out.
    pub law: String,
}

/// One factor of a term.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct FactorView {
    /// What it is.
    pub what: String,
    /// Its value.
    pub value: f64,
    /// Its unit; empty for a count or a share.
    pub unit: &'static str,
    /// Whether the term is divided by it.
    pub divides: bool,
    /// Where it came from.
    pub from: OriginView,
}

/// Where a value came from.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct OriginView {
    /// `book`, `site`, `figure`, `amount` (which the build was worked with and does not show by
    /// itself), `law`, `line` or `number`.
    pub kind: &'static str,
    /// A path of ids in the book, a pointer into the site's sheet, another figure of the build, the
    /// source of a law, or the modifier that asked for it; null for amounts and numbers.
    pub at: Option<String>,
    /// The layer that the book's value came from here: `book`, `wave`, `region`, `site` or `recall`;
    /// null for anything else.
    pub layer: Option<&'static str>,
}

impl FigureView {
    /// The view of a figure at a bar.
    ///
    /// * `shown`: as the build has it.
    pub fn of(bar: &Bar, figure: &Figure, shown: Option<f64>) -> Self {
        let value = shown.unwrap_or_else(|| figure.rounded());
        let Figure { at, unit, terms, over, rounding, law } = figure;
        let views = |terms: &[Term]| {
            let one =
                |term: &Term| term.factors.iter().map(|one| FactorView::of(bar, one)).collect();
            terms.iter().map(one).collect()
        };
        Self {
            figure: at.clone(),
            value,
            unit,
            terms: views(terms),
            over: views(over),
            rounded_to: rounding.step(),
            rounded: match rounding {
                Rounding::Nearest(_) => "nearest",
                Rounding::Up(_) => "up",
            },
            law: law.clone(),
        }
    }
}

impl FactorView {
    fn of(bar: &Bar, factor: &Factor) -> Self {
        let Factor { what, value, unit, divides, from } = factor;
        let origin =
            |kind, at: Option<&str>, layer| OriginView { kind, at: at.map(str::to_owned), layer };
        let from = match from {
            Origin::Book(path) => {
                origin("book", Some(path), Some(bar.from.layer_of(path).as_str()))
            }
            Origin::Site(path) => origin("site", Some(path), None),
            Origin::Figure(at) => origin("figure", Some(at), None),
            Origin::Amount => origin("amount", None, None),
            Origin::Law(source) => origin("law", Some(source), None),
            Origin::Line(modifier) => origin("line", Some(modifier), None),
            Origin::Number => origin("number", None, None),
        };
        Self { what: what.clone(), value: *value, unit, divides: *divides, from }
    }
}

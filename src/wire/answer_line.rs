//! The verdict on one line, as the contract shows it.

use serde::Serialize;
use serde_json::Value;
use utoipa::ToSchema;

use super::{BuildView, LineView, build_view};
use crate::{
    book::{AllergyRoute, Bar, Via},
    engine::{
        Line, Verdict,
        derive::{Declaration, Noticed},
        neighbours::{Alternative, NoneBecause},
        objection::{Measured, Objection},
    },
    json::word,
    units::{Mass, Money},
    words::{self, Catalogue},
};

word! { /// The verdict of an accepted line.
AcceptWord = "accept" }
word! { /// The verdict of a line that needs an answer.
AskWord = "ask" }
word! { /// The verdict of a refused line.
RefuseWord = "refuse" }

/// The verdict on a line: told apart by `verdict`.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(untagged)]
#[schema(discriminator(property_name = "verdict", mapping(
    ("accept" = "#/components/schemas/AcceptedLine"),
    ("ask" = "#/components/schemas/AskedLine"),
    ("refuse" = "#/components/schemas/RefusedLine"),
)))]
pub enum AnswerLine<'a> {
    /// It can be made as asked.
    Accepted(Box<AcceptedLine<'a>>),
    /// It needs an answer first.
    Asked(Box<AskedLine>),
    /// It cannot be made.
    Refused(Box<RefusedLine>),
}

/// A line that can be made as asked.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct AcceptedLine<'a> {
    /// Id of the line.
    pub line: String,
    /// Always `accept`.
    pub verdict: AcceptWord,
    /// The line in normal form.
    pub canonical: LineView,
    /// Price of one cup.
    pub price: PriceView<'a>,
    /// The build of one cup; left out by `/v1/validate`.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub build: Option<BuildView<'a>>,
    /// How declared allergies are handled; left out where none was declared.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub allergy: Option<AllergyView<'a>>,
    /// The refusals that an override waived; left out where there was none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub overridden: Vec<RefusalView>,
    /// What the reader must know.
    pub notices: Vec<NoticeView>,
}

/// How the allergies declared on a line are handled. Nothing here says that anything is absent.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct AllergyView<'a> {
    /// What was declared, by id.
    pub declared: Vec<&'a str>,
    /// The site's route for it: `none`, `after_full_clean` or `dedicated`.
    pub route: AllergyRoute,
    /// Shared equipment that the route is about, such as `wand`; empty where nothing shared is met.
    pub equipment: Vec<&'static str>,
    /// Ingredients about which the customer is to be asked, by id.
    pub ask_about: Vec<&'a str>,
}

/// A line that needs an answer first.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct AskedLine {
    /// Id of the line.
    pub line: String,
    /// Always `ask`.
    pub verdict: AskWord,
    /// Why, as a code.
    pub code: &'static str,
    /// The slot, counter or flag that it is about.
    pub slot: Option<String>,
    /// The question.
    pub question: String,
    /// Complete lines to choose from, each of which is accepted when posted.
    pub choices: Vec<AlternativeView>,
    /// Why there are no choices; null if there are.
    pub none_because: Option<&'static str>,
}

/// A line that cannot be made.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct RefusedLine {
    /// Id of the line.
    pub line: String,
    /// Always `refuse`.
    pub verdict: RefuseWord,
    /// Whether it is a matter of safety, which nothing overrides.
    pub safety: bool,
    /// Every reason that could be seen.
    pub refusals: Vec<RefusalView>,
    /// Complete lines, each of which is accepted when posted.
    pub alternatives: Vec<AlternativeView>,
    /// Why there are no alternatives: `safety`, `nothing-similar-here` or `unknown-id`; null if
    /// there are.
    pub none_because: Option<&'static str>,
}

/// A price.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct PriceView<'a> {
    /// Amount, as a decimal string.
    pub amount: String,
    /// Currency (ISO 4217).
    pub currency: &'a str,
}

/// Something true that the reader must know.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct NoticeView {
    /// Which, as a code.
    pub code: &'static str,
    /// `info` or `caution`.
    pub severity: &'static str,
    /// In words.
    pub text: String,
    /// Published source, where there is one.
    pub source: Option<String>,
}

/// Why a line is refused.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct RefusalView {
    /// Which rule, as a code.
    pub code: &'static str,
    /// The slot, counter or flag that it is about.
    pub slot: Option<String>,
    /// Modifiers involved, as given.
    pub modifiers: Vec<String>,
    /// In words.
    pub text: String,
    /// JSON Pointer into the ticket.
    pub pointer: String,
    /// What was measured, by field; null if nothing was.
    #[schema(value_type = Option<Object>)]
    pub measured: Option<Value>,
    /// What is allowed; null if nothing was measured.
    #[schema(value_type = Option<Object>)]
    pub allowed: Option<Value>,
}

/// A complete line that is accepted when posted.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct AlternativeView {
    /// The line, in normal form.
    pub line: LineView,
    /// What was changed: modifiers by id, `drink`, `allergies`, `diets`, `confirmed`, `note`.
    pub changes: Vec<String>,
    /// In words.
    pub text: String,
}

/// The view of a verdict.
///
/// * `at`: position of the line in the ticket, for pointers.
/// * `with_build`: whether an accepted line carries its build.
pub fn answer_line<'a>(
    bar: &'a Bar,
    id: &str,
    at: usize,
    verdict: &'a Verdict<'a>,
    catalogue: &'a Catalogue,
    with_build: bool,
) -> AnswerLine<'a> {
    match verdict {
        Verdict::Accept { canonical, build, notices } => {
            AnswerLine::Accepted(Box::new(AcceptedLine {
                line: id.to_owned(),
                verdict: AcceptWord::Word,
                canonical: Line::clone(canonical).into(),
                price: price_view(bar, build.order.price),
                build: with_build.then(|| build_view(bar, build, catalogue)),
                allergy: allergy_view(bar, &build.declared),
                overridden: build
                    .order
                    .waived
                    .iter()
                    .map(|one| refusal_view(catalogue, at, one))
                    .collect(),
                notices: notices.iter().map(|one| notice_view(catalogue, one)).collect(),
            }))
        }
        Verdict::Ask { objection, choices } => {
            let (choices, none_because) = alternative_views(bar, catalogue, choices);
            AnswerLine::Asked(Box::new(AskedLine {
                line: id.to_owned(),
                verdict: AskWord::Word,
                code: objection.code.as_str(),
                slot: objection.slot.as_ref().map(ToString::to_string),
                question: words::objection(catalogue, objection),
                choices,
                none_because,
            }))
        }
        Verdict::Refuse { objections, alternatives } => {
            let (alternatives, none_because) = alternative_views(bar, catalogue, alternatives);
            let refusals = objections.iter().map(|one| refusal_view(catalogue, at, one)).collect();
            AnswerLine::Refused(Box::new(RefusedLine {
                line: id.to_owned(),
                verdict: RefuseWord::Word,
                safety: objections.iter().any(|one| one.safety),
                refusals,
                alternatives,
                none_because,
            }))
        }
    }
}

fn allergy_view<'a>(bar: &Bar, declared: &[Declaration<'a>]) -> Option<AllergyView<'a>> {
    if declared.is_empty() {
        return None;
    }
    let mut equipment: Vec<Via> = declared.iter().flat_map(|one| one.equipment.clone()).collect();
    equipment.sort();
    equipment.dedup();
    let ask_about = declared.iter().flat_map(|one| &one.ask_about);
    let mut ask_about: Vec<&str> = ask_about.map(|one| &*one.id).collect();
    ask_about.sort_unstable();
    ask_about.dedup();
    Some(AllergyView {
        declared: declared.iter().map(|one| &**one.id).collect(),
        route: bar.site.allergy_route,
        equipment: equipment.into_iter().map(Via::as_str).collect(),
        ask_about,
    })
}

fn price_view(bar: &Bar, price: Money) -> PriceView<'_> {
    let places = usize::from(bar.book.currency_places);
    PriceView { amount: price.with_places(places), currency: &bar.book.currency }
}

fn notice_view(catalogue: &Catalogue, noticed: &Noticed<'_>) -> NoticeView {
    let Noticed { notice, phrase, gaps, source } = noticed;
    NoticeView {
        code: notice.as_str(),
        severity: notice.severity(),
        text: words::gaps(catalogue, *phrase, gaps),
        source: source.map(str::to_owned),
    }
}

fn alternative_views(
    bar: &Bar,
    catalogue: &Catalogue,
    found: &Result<Vec<Alternative<'_>>, NoneBecause>,
) -> (Vec<AlternativeView>, Option<&'static str>) {
    match found {
        Ok(all) => {
            let view = |one: &Alternative<'_>| AlternativeView {
                line: one.line.clone().into(),
                changes: one.changes.clone(),
                text: words::alternative(catalogue, bar, one),
            };
            (all.iter().map(view).collect(), None)
        }
        Err(why) => (Vec::new(), Some(why.as_str())),
    }
}

fn refusal_view(catalogue: &Catalogue, at: usize, objection: &Objection) -> RefusalView {
    let pointer = match objection.given {
        Some(given) if objection.in_codes => format!("/lines/{at}/codes/{given}"),
        Some(given) => format!("/lines/{at}/modifiers/{given}"),
        None => format!("/lines/{at}"),
    };
    let number = |value: i64| serde_json::to_value(Mass::from_mg(value)).unwrap_or_default();
    let measured = |measured: Measured| {
        let mut fields = serde_json::Map::new();
        fields.insert(measured.field.to_owned(), number(measured.value));
        Value::Object(fields)
    };
    let allowed = |measured: Measured| {
        let bounds = [("min", measured.min), ("max", measured.max)];
        let given = bounds.into_iter().filter_map(|(name, bound)| Some((name, bound?)));
        given.map(|(name, bound)| (name.to_owned(), number(bound))).collect::<Value>()
    };
    RefusalView {
        code: objection.code.as_str(),
        slot: objection.slot.as_ref().map(ToString::to_string),
        modifiers: objection.modifiers.clone(),
        text: words::objection(catalogue, objection),
        pointer,
        measured: objection.measured.map(measured),
        allowed: objection.measured.map(allowed),
    }
}

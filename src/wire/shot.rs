//! A shot that was pulled, and what is said of it.

use serde::{Deserialize, Serialize};
use utoipa::{
    ToSchema,
    openapi::{
        RefOr, Schema,
        schema::{ObjectBuilder, SchemaType, Type},
    },
};

use super::{BookStamp, SiteStamp, build::Thousandths};
use crate::{
    book::Bar,
    engine::{
        phrase::{Gaps, Phrase},
        shot::{Bounds, Change, Judgement, Pulled, Recipe, Shot, Step, Taste, VERY_FINE_SOURCE},
    },
    json::objects,
    units::{Mass, Percent, Span, Steps},
    words::{self, Catalogue},
};

/// A bounded number with a description, as a field's schema.
fn number(low: f64, high: f64, about: &str) -> RefOr<Schema> {
    ObjectBuilder::new()
        .schema_type(SchemaType::new(Type::Number))
        .minimum(Some(low))
        .maximum(Some(high))
        .description(Some(format!("{about} A number with at most three decimal places.")))
        .into()
}

fn dose() -> RefOr<Schema> {
    number(0.1, 200.0, "Dry coffee in the basket, in grams.")
}

fn in_cup() -> RefOr<Schema> {
    number(0.0, 1_000.0, "Coffee in the cup, in grams; 0 if nothing came.")
}

fn time() -> RefOr<Schema> {
    number(0.1, 600.0, "Time from the first to the last moment of flow, in seconds.")
}

/// A shot that was pulled at a site, with what was found out about it.
#[derive(Clone, Debug, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ShotTicket {
    /// The site, by id.
    #[schema(max_length = 64, examples("bookshop"))]
    pub site: String,
    /// Language of every text in the answer; the site's first if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 35, examples("en"))]
    pub lang: Option<String>,
    /// Extraction style, by id; the first of the book that has a recipe if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(min_length = 1, max_length = 64)]
    pub extraction: Option<String>,
    /// Bean, by id.
    #[schema(min_length = 1, max_length = 64, examples("house"))]
    pub bean: String,
    /// Pull, by id.
    #[schema(min_length = 1, max_length = 64, examples("standard"))]
    pub pull: String,
    /// Halves that the basket gives: 2 for a double, 1 for a single basket.
    #[serde(default = "two")]
    #[schema(minimum = 1, maximum = 2, default = 2)]
    pub halves: u8,
    /// Dry coffee in the basket.
    #[schema(schema_with = dose)]
    pub dose_g: Mass,
    /// Coffee in the cup.
    #[schema(schema_with = in_cup)]
    pub yield_g: Mass,
    /// Time from the first to the last moment of flow.
    #[schema(schema_with = time)]
    pub time_s: Span,
    /// Change of the grinder's setting before this shot, finer counted up and coarser down.
    #[serde(default)]
    pub grind_steps: Steps,
    /// Dissolved solids in the cup, by refractometer; without it no extraction is worked out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tds_percent: Option<Percent>,
    /// How it tastes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taste: Option<TasteWord>,
    /// Shots before it with the same bean on the same grinder, the oldest first. What a step of the
    /// grinder does is learned from them; nothing of them is kept.
    #[serde(default, deserialize_with = "objects", skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 20)]
    pub recent: Vec<RecentShot>,
}

const fn two() -> u8 {
    2
}

/// How a shot tastes: `sour`, `bitter`, `weak`, `both` sour and bitter, or `fine`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum TasteWord {
    /// Sour, salty or thin.
    Sour,
    /// Bitter or dry.
    Bitter,
    /// Balanced, but weak.
    Weak,
    /// Sour and bitter at once.
    Both,
    /// As it should.
    Fine,
}

/// A shot that was pulled before.
#[derive(Clone, Copy, Debug, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RecentShot {
    /// Dry coffee in the basket.
    #[schema(schema_with = dose)]
    pub dose_g: Mass,
    /// Coffee in the cup.
    #[schema(schema_with = in_cup)]
    pub yield_g: Mass,
    /// Time from the first to the last moment of flow.
    #[schema(schema_with = time)]
    pub time_s: Span,
    /// Change of the grinder's setting before this shot, finer counted up and coarser down.
    #[serde(default)]
    pub grind_steps: Steps,
}

impl From<TasteWord> for Taste {
    fn from(word: TasteWord) -> Self {
        match word {
            TasteWord::Sour => Self::Sour,
            TasteWord::Bitter => Self::Bitter,
            TasteWord::Weak => Self::Weak,
            TasteWord::Both => Self::Both,
            TasteWord::Fine => Self::Fine,
        }
    }
}

impl From<&ShotTicket> for Shot {
    fn from(ticket: &ShotTicket) -> Self {
        let ShotTicket { dose_g, yield_g, time_s, grind_steps, tds_percent, taste, .. } = ticket;
        let pulled =
            Pulled { dose: *dose_g, yielded: *yield_g, time: *time_s, grind: *grind_steps };
        Self { pulled, tds: *tds_percent, taste: taste.map(Taste::from) }
    }
}

impl From<&RecentShot> for Pulled {
    fn from(shot: &RecentShot) -> Self {
        let RecentShot { dose_g, yield_g, time_s, grind_steps } = *shot;
        Self { dose: dose_g, yielded: yield_g, time: time_s, grind: grind_steps }
    }
}

/// A shot held to the recipe of its site.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ShotAnswer<'a> {
    /// The book.
    pub book: BookStamp,
    /// The site.
    pub site: SiteStamp,
    /// Language of the texts.
    pub lang: String,
    /// Extraction style of the recipe, by id.
    pub extraction: &'a str,
    /// Whether everything that is judged is within the recipe.
    #[schema(examples(false))]
    pub within: bool,
    /// Dose.
    pub dose_g: JudgedView,
    /// Yield.
    pub yield_g: JudgedView,
    /// Time.
    pub time_s: JudgedView,
    /// Yield over dose, in grams of coffee for each gram of dry coffee.
    #[schema(value_type = f64, examples(2))]
    pub ratio: Thousandths,
    /// Share of the dry coffee that is dissolved in the cup; null where solids were not measured.
    pub extraction_yield_percent: Option<ExtractionView>,
    /// What a step of the grinder does; null where the book lays no remedies down.
    pub step: Option<StepSize>,
    /// The one change to make, or why there is none.
    pub advice: AdviceView,
}

/// A measure held to the recipe, in the unit of the field's name.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct JudgedView {
    /// As measured.
    #[schema(value_type = f64, examples(22.5))]
    pub measured: Thousandths,
    /// Least allowed.
    #[schema(value_type = f64, examples(26))]
    pub min: Thousandths,
    /// Most allowed.
    #[schema(value_type = f64, examples(31))]
    pub max: Thousandths,
    /// How far outside: below 0 for too little, above 0 for too much, 0 within.
    #[schema(value_type = f64, examples(-3.5))]
    pub off_by: Thousandths,
}

/// Extraction yield, with the book's band if it has one.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct ExtractionView {
    /// Solids in percent, times yield over dose.
    #[schema(value_type = f64, examples(18))]
    pub measured: Thousandths,
    /// Lower end of the book's band; null where it is not judged.
    #[schema(value_type = Option<f64>, examples(18.5))]
    pub min: Option<Thousandths>,
    /// Upper end of the book's band; null where it is not judged.
    #[schema(value_type = Option<f64>, examples(21.5))]
    pub max: Option<Thousandths>,
    /// How far outside the band; null where it is not judged.
    #[schema(value_type = Option<f64>, examples(-0.5))]
    pub off_by: Option<Thousandths>,
}

/// What one step of the grinder does to the time of a shot.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct StepSize {
    /// `recent-shots`, if they show it; else `book`.
    #[schema(examples("recent-shots"))]
    pub from: &'static str,
    /// Seconds for one step.
    pub time_s: Span,
    /// Standard error of those seconds; null where it is not known, as from the book or two shots.
    pub error_s: Option<Span>,
    /// Shots that have the recipe's dose and yield, this one included.
    #[schema(examples(4))]
    pub shots: usize,
    /// Different settings of the grinder among them.
    #[schema(examples(3))]
    pub settings: usize,
    /// The same in words.
    pub text: String,
}

/// Exactly one change, or none.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct AdviceView {
    /// `none`, `dose`, `preparation` (distribute and tamp anew), `yield` or `grind`.
    #[schema(examples("grind"))]
    pub change: &'static str,
    /// Change of the dose; null where it is another that changes.
    #[schema(value_type = Option<f64>)]
    pub dose_change_g: Option<Thousandths>,
    /// Change of the yield; null where it is another that changes.
    #[schema(value_type = Option<f64>)]
    pub yield_change_g: Option<Thousandths>,
    /// Change of the grinder's setting, finer above 0; null where it is another that changes.
    pub grind_steps: Option<Steps>,
    /// Why: `within-recipe`, `no-remedies`, `dose-under`, `dose-over`, `nothing-came`, `choked`,
    /// `gushing`, `uneven`, `yield-under`, `yield-over`, `too-fast`, `too-slow`, `step-too-large`, `sour`, `bitter`,
    /// `weak`, `extraction-low`, `extraction-high`, `taste-is-fine`, `taste-and-measure-differ` or
    /// `recipe-at-limit`.
    #[schema(examples("too-fast"))]
    pub reason: &'static str,
    /// What to do, and why, in words.
    pub text: String,
    /// What more there is to know about it, in words.
    pub remarks: Vec<RemarkView>,
}

/// Something to know about an advice.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct RemarkView {
    /// In words.
    pub text: String,
    /// Published source; null for a matter of the data sent.
    pub source: Option<&'static str>,
}

impl From<Bounds> for JudgedView {
    fn from(bounds: Bounds) -> Self {
        Self {
            measured: Thousandths(bounds.measured),
            min: Thousandths(bounds.min),
            max: Thousandths(bounds.max),
            off_by: Thousandths(bounds.off_by()),
        }
    }
}

impl<'a> ShotAnswer<'a> {
    /// The view of a judgement in a language.
    pub fn of(bar: &Bar, recipe: Recipe<'a>, judged: &Judgement, catalogue: &Catalogue) -> Self {
        Self {
            book: BookStamp::of(bar),
            site: SiteStamp { id: bar.site.id.to_string(), digest: bar.site_digest.to_string() },
            lang: catalogue.lang.to_string(),
            extraction: &recipe.extraction.id,
            within: judged.is_within(),
            dose_g: judged.dose.into(),
            yield_g: judged.yielded.into(),
            time_s: judged.time.into(),
            ratio: Thousandths(judged.ratio.thousandths()),
            extraction_yield_percent: extraction_view(judged),
            step: judged.step.as_ref().map(|step| step_size(catalogue, step)),
            advice: advice_view(catalogue, judged),
        }
    }
}

fn extraction_view(judged: &Judgement) -> Option<ExtractionView> {
    let measured = Thousandths(judged.extraction_yield?.thousandths());
    let band = judged.extraction;
    Some(ExtractionView {
        measured,
        min: band.map(|band| Thousandths(band.min)),
        max: band.map(|band| Thousandths(band.max)),
        off_by: band.map(|band| Thousandths(band.off_by())),
    })
}

fn said(catalogue: &Catalogue, (phrase, gaps): (Phrase, &Gaps<'_>)) -> String {
    words::gaps(catalogue, phrase, gaps)
}

fn step_size(catalogue: &Catalogue, step: &Step) -> StepSize {
    let (phrase, gaps) = step.said();
    StepSize {
        from: step.from.as_str(),
        time_s: step.time,
        error_s: step.error,
        shots: step.shots,
        settings: step.settings,
        text: said(catalogue, (phrase, &gaps)),
    }
}

fn advice_view(catalogue: &Catalogue, judged: &Judgement) -> AdviceView {
    let advice = &judged.advice;
    let (mut dose, mut run, mut steps) = (None, None, None);
    match advice.change {
        Change::None | Change::Preparation => {}
        Change::Dose(by) => dose = Some(Thousandths(by.mg())),
        Change::Yield(by) => run = Some(Thousandths(by.mg())),
        Change::Grind(by) => steps = Some(by),
    }
    let plain = |phrase: &Phrase| RemarkView {
        text: said(catalogue, (*phrase, &Vec::new())),
        source: None,
    };
    let mut remarks: Vec<RemarkView> = advice.remarks.iter().map(plain).collect();
    remarks.extend(
        advice
            .is_finer()
            .then(|| RemarkView { source: Some(VERY_FINE_SOURCE), ..plain(&Phrase::ShotVeryFine) }),
    );
    AdviceView {
        change: advice.change.as_str(),
        dose_change_g: dose,
        yield_change_g: run,
        grind_steps: steps,
        reason: advice.reason.as_str(),
        text: said(catalogue, advice.said()),
        remarks,
    }
}

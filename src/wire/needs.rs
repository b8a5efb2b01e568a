//! A sales mix, and what it takes.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{BookStamp, SiteStamp, TicketModifier, build::Thousandths};
use crate::{
    book::Service,
    engine::{Given, Line},
    json::{maybe_object, objects},
    needs::{Forecast, PerDay, Sale},
    units::{Cups, Days, Ratio},
};

/// What is sold at one site in one period, or is expected to be.
#[derive(Clone, Debug, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NeedsRequest {
    /// The site, by id.
    #[schema(max_length = 64, examples("bookshop"))]
    pub site: String,
    /// Language of every text in the answer; the site's first if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 35, examples("en"))]
    pub lang: Option<String>,
    /// What the period is called; it comes back as it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 40, examples("week 48"))]
    pub period: Option<String>,
    /// Days on which the site is open in the period: grinders are dialled in on each.
    #[serde(default = "one")]
    #[schema(minimum = 1, maximum = 366, default = 1)]
    pub days: u32,
    /// A time in the period (RFC 3339), by which seasons are judged; now if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 40, examples("2026-11-25T14:05:00+01:00"))]
    pub at: Option<String>,
    /// How far stock must reach; with it, every line says its `per_day`.
    #[serde(default, deserialize_with = "maybe_object", skip_serializing_if = "Option::is_none")]
    pub forecast: Option<NeedsForecast>,
    /// The lines.
    #[serde(deserialize_with = "objects")]
    #[schema(min_items = 1, max_items = 500)]
    pub lines: Vec<NeedsLine>,
}

/// How far stock must reach.
#[derive(Clone, Copy, Debug, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NeedsForecast {
    /// Days from one order until what is ordered next can be used.
    #[schema(examples(3))]
    pub lead_time_days: Days,
    /// Standard deviations of the demand in that time that are kept beyond its mean; 1.64 runs out
    /// about once in twenty.
    #[schema(examples(1.64))]
    pub service_factor: Ratio,
}

/// One line of a mix.
#[derive(Clone, Debug, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NeedsLine {
    /// Id of the line, once in the mix.
    #[schema(min_length = 1, max_length = 64, examples("1"))]
    pub line: String,
    /// The drink, by id.
    #[schema(min_length = 1, max_length = 64, examples("latte"))]
    pub drink: String,
    /// Modifiers, in any order.
    #[serde(default, deserialize_with = "objects", skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 32)]
    pub modifiers: Vec<TicketModifier>,
    /// What customers have confirmed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 8)]
    pub confirmed: Vec<String>,
    /// Cups of it in the period.
    #[schema(minimum = 1, maximum = 100_000, examples(120))]
    pub count: u32,
    /// Cups of it on a day; only with `forecast`.
    #[serde(default, deserialize_with = "maybe_object", skip_serializing_if = "Option::is_none")]
    pub per_day: Option<NeedsPerDay>,
}

/// Cups that are expected on a day.
#[derive(Clone, Copy, Debug, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NeedsPerDay {
    /// Mean.
    #[schema(examples(24))]
    pub mean: Cups,
    /// Standard deviation about it.
    #[schema(examples(5.5))]
    pub standard_deviation: Cups,
}

const fn one() -> u32 {
    1
}

impl From<NeedsForecast> for Forecast {
    fn from(one: NeedsForecast) -> Self {
        Self { lead_time: one.lead_time_days, service_factor: one.service_factor }
    }
}

impl From<NeedsLine> for Sale {
    fn from(one: NeedsLine) -> Self {
        let NeedsLine { line, drink, modifiers, confirmed, count, per_day } = one;
        let per_day =
            per_day.map(|day| PerDay { mean: day.mean, deviation: day.standard_deviation });
        let line = Line {
            id: line,
            drink,
            quantity: 1,
            modifiers: modifiers.into_iter().map(Given::from).collect(),
            confirmed,
            ..Line::default()
        };
        Self { line, count, per_day }
    }
}

/// What a sales mix takes. Totals are sums of builds, to the thousandth.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct NeedsAnswer<'a> {
    /// The book.
    pub book: BookStamp,
    /// The site.
    pub site: SiteStamp,
    /// Language of the texts.
    pub lang: String,
    /// What the period is called; null if the mix does not say.
    pub period: Option<String>,
    /// Days in it.
    pub days: u32,
    /// Cups that are counted.
    pub cups: i64,
    /// What whoever reads the totals must know.
    pub notes: Vec<String>,
    /// The lines, each with whether it is counted.
    pub lines: Vec<NeedsLineView<'a>>,
    /// Baskets by class of coffee: halves pair only within one.
    pub coffee: Vec<NeedsClass<'a>>,
    /// Ground coffee by bean.
    pub beans: Vec<NeedsBean<'a>>,
    /// Milk by kind.
    pub milk: Vec<NeedsMilk<'a>>,
    /// Every ingredient, coffee and milk too, in the order of the book.
    pub ingredients: Vec<NeedsIngredient<'a>>,
    /// Cups and lids, by vessel and way of serving.
    pub vessels: Vec<NeedsVessel<'a>>,
    /// Water, hot and cold, with what ground coffee keeps of it.
    #[schema(value_type = f64)]
    pub water_ml: Thousandths,
    /// Ice.
    #[schema(value_type = f64)]
    pub ice_g: Thousandths,
}

/// One line, and whether it is counted.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct NeedsLineView<'a> {
    /// Id of the line.
    pub line: String,
    /// The drink, by id.
    pub drink: String,
    /// Its name; null for a drink that the book lacks.
    pub name: Option<&'a str>,
    /// Cups of it.
    pub count: u32,
    /// Whether it is in the totals.
    pub counted: bool,
    /// Why not; null if it is.
    pub code: Option<&'static str>,
    /// The same in words; null if it is.
    pub text: Option<String>,
}

/// Baskets, and the dry coffee in them.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct NeedsPulls {
    /// Double baskets.
    pub doubles: i64,
    /// Single baskets.
    pub singles: i64,
    /// Halves pulled that are in no cup.
    pub spare_halves: i64,
    /// Dry coffee in these baskets.
    #[schema(value_type = f64)]
    pub dry_g: Thousandths,
}

/// Coffee of one class: one bean, one style, one pull.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct NeedsClass<'a> {
    /// Bean, by id.
    pub bean: &'a str,
    /// Its name.
    pub name: &'a str,
    /// Whether it is decaffeinated.
    pub decaf: bool,
    /// Extraction style, by id.
    pub extraction: &'a str,
    /// Pull, by id.
    pub pull: &'a str,
    /// Halves in cups.
    pub halves: i64,
    /// Dry coffee for these halves.
    #[schema(value_type = f64)]
    pub in_cups_g: Thousandths,
    /// If every half is paired that can be.
    pub paired: NeedsPulls,
    /// If each cup is made by itself and its spare half is thrown away.
    pub alone: NeedsPulls,
}

/// Ground coffee of one bean.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct NeedsBean<'a> {
    /// Bean, by id.
    pub bean: &'a str,
    /// Its name.
    pub name: &'a str,
    /// The ingredient, by id.
    pub ingredient: &'a str,
    /// In baskets, halves paired.
    #[schema(value_type = f64)]
    pub dry_paired_g: Thousandths,
    /// In baskets, each cup by itself.
    #[schema(value_type = f64)]
    pub dry_alone_g: Thousandths,
    /// Ground away before baskets, halves paired.
    #[schema(value_type = f64)]
    pub purge_paired_g: Thousandths,
    /// Ground away before baskets, each cup by itself.
    #[schema(value_type = f64)]
    pub purge_alone_g: Thousandths,
    /// Ground away until the grind is right, on all days.
    #[schema(value_type = f64)]
    pub dial_in_g: Thousandths,
    /// All of it, halves paired.
    #[schema(value_type = f64)]
    pub used_paired_g: Thousandths,
    /// All of it, each cup by itself.
    #[schema(value_type = f64)]
    pub used_alone_g: Thousandths,
}

/// Milk of one kind, each cup steamed by itself.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct NeedsMilk<'a> {
    /// The milk, by ingredient id.
    pub ingredient: &'a str,
    /// Its name.
    pub name: &'a str,
    /// Cups with it.
    pub cups: i64,
    /// Of these, cups for which it is steamed.
    pub steamed: i64,
    /// Cold milk for the cups, film included.
    #[schema(value_type = f64)]
    pub cold_ml: Thousandths,
    /// Of it, what stays in jugs as a film.
    #[schema(value_type = f64)]
    pub film_g: Thousandths,
    /// What jugs need beyond the cups.
    #[schema(value_type = f64)]
    pub left_over_ml: Thousandths,
    /// Cold milk and what is left over.
    #[schema(value_type = f64)]
    pub poured_ml: Thousandths,
    /// The same, weighed cold.
    #[schema(value_type = f64)]
    pub poured_g: Thousandths,
}

/// One ingredient.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct NeedsIngredient<'a> {
    /// Id.
    pub ingredient: &'a str,
    /// Name.
    pub name: &'a str,
    /// What kind of thing it is.
    pub kind: &'static str,
    /// What the builds have of it; of coffee the dose of the halves in cups, of milk with the film.
    #[schema(value_type = f64)]
    pub in_cups_g: Thousandths,
    /// The same by volume; null for what is not poured.
    #[schema(value_type = Option<f64>)]
    pub in_cups_ml: Option<Thousandths>,
    /// What is used in all: milk left over, water kept by grounds, dialling in and purging counted,
    /// halves of coffee paired.
    #[schema(value_type = f64)]
    pub used_g: Thousandths,
    /// The same by volume; null for what is not poured.
    #[schema(value_type = Option<f64>)]
    pub used_ml: Option<Thousandths>,
    /// Share of what is bought that never reaches a cup, by the site's sheet; null if it does not say.
    #[schema(value_type = Option<f64>)]
    pub waste_share: Option<Thousandths>,
    /// What must be bought for it: `used_g` over 1 less the share.
    #[schema(value_type = f64)]
    pub bought_g: Thousandths,
    /// The same by volume; null for what is not poured.
    #[schema(value_type = Option<f64>)]
    pub bought_ml: Option<Thousandths>,
    /// Par level; null without a forecast, and for water.
    pub par: Option<NeedsPar>,
}

/// How much must be at hand, with what is on its way, whenever an order is placed: mean × days +
/// factor × deviation × √days, no more than the mean use of the shelf life.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct NeedsPar {
    /// The level.
    #[schema(value_type = f64)]
    pub level_g: Thousandths,
    /// The same by volume; null for what is not poured.
    #[schema(value_type = Option<f64>)]
    pub level_ml: Option<Thousandths>,
    /// Mean use on a day, waste counted.
    #[schema(value_type = f64)]
    pub mean_g_per_day: Thousandths,
    /// Standard deviation of the use on a day; lines sell independently of each other.
    #[schema(value_type = f64)]
    pub standard_deviation_g_per_day: Thousandths,
    /// Whether the shelf life holds it down.
    pub capped_by_shelf_life: bool,
}

/// Cups of one kind.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct NeedsVessel<'a> {
    /// The vessel, by id.
    pub vessel: &'a str,
    /// Its name.
    pub name: &'a str,
    /// Way of serving; with `own` they are the customers'.
    pub service: Service,
    /// How many cups.
    pub cups: i64,
    /// How many lids.
    pub lids: i64,
}

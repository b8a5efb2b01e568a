//! Amounts in a cup, and the drinks that they fit.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{BookStamp, SiteStamp, build::Thousandths};
use crate::{
    book::{Bar, Service},
    engine::{
        identify::{Amounts, Compared, ComparedPull, Difference, Near, What},
        phrase::Phrase,
    },
    units::{Length, Mass, Temperature, Volume},
    words::{self, Catalogue},
};

/// What is in a cup. Coffee, milk, water, ice and ingredients that are not named are not in it; a
/// measure that is not given is not judged.
#[derive(Clone, Debug, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CupTicket {
    /// The site, by id.
    #[schema(max_length = 64, examples("bookshop"))]
    pub site: String,
    /// Language of every text in the answer; the site's first if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 35, examples("en"))]
    pub lang: Option<String>,
    /// Halves of coffee; this or `coffee_g`, or both.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 0, maximum = 12, examples(2))]
    pub halves: Option<u8>,
    /// Pull, by id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(min_length = 1, max_length = 64, examples("standard"))]
    pub pull: Option<String>,
    /// Coffee in the cup, as `coffee.in_cup_g` of a build.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coffee_g: Option<Mass>,
    /// Cold milk for the cup, as `milk.cold_ml` of a build.
    #[serde(default)]
    pub milk_ml: Volume,
    /// Depth of foam at the serving line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub foam_depth_mm: Option<Length>,
    /// Water, as `water.ml` of a build: without that of a paste, a leaf or a brew.
    #[serde(default)]
    pub water_ml: Volume,
    /// Ice.
    #[serde(default)]
    pub ice_g: Mass,
    /// Volume from the floor of the cup to the top of the drink.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fill_ml: Option<Volume>,
    /// Volume of the cup to its edge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub brim_ml: Option<Volume>,
    /// Temperature of the milk in the jug.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub set_point_c: Option<Temperature>,
    /// Everything else in, on or beside the cup, by ingredient id: powders, syrups, leaves, the
    /// ground coffee of a brew, toppings, sides.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 32)]
    pub ingredients: Vec<String>,
}

impl From<&CupTicket> for Amounts {
    fn from(ticket: &CupTicket) -> Self {
        Self {
            halves: ticket.halves.map(i32::from),
            pull: ticket.pull.clone(),
            coffee: ticket.coffee_g,
            milk: ticket.milk_ml,
            foam_depth: ticket.foam_depth_mm,
            water: ticket.water_ml,
            ice: ticket.ice_g,
            fill: ticket.fill_ml,
            brim: ticket.brim_ml,
            set_point: ticket.set_point_c,
            ingredients: ticket.ingredients.clone(),
        }
    }
}

/// The drinks that amounts are nearest to.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct DrinksNear<'a> {
    /// The book.
    pub book: BookStamp,
    /// The site.
    pub site: SiteStamp,
    /// Language of the names.
    pub lang: String,
    /// At most five drinks, the nearest first: by `distance`, then by `from_standard`, then in the
    /// order of the book.
    pub drinks: Vec<NearView<'a>>,
}

/// A drink with how near it is.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct NearView<'a> {
    /// Place, from 1; drinks that are equally near share one.
    #[schema(examples(1))]
    pub place: usize,
    /// The drink, by id.
    #[schema(examples("flat-white"))]
    pub drink: &'a str,
    /// Its name.
    pub name: &'a str,
    /// Way of serving of its nearest cup.
    pub service: Service,
    /// Size of that cup, by id.
    pub size: &'a str,
    /// The book's vessel for it, by id.
    pub vessel: &'a str,
    /// Whether it is this drink by its parts and bounds: `distance` is 0.
    pub fits: bool,
    /// Whether it is this drink as it comes: `from_standard` is 0 too.
    pub as_it_comes: bool,
    /// How far the amounts leave what makes it this drink: the sum of `outside`, and 1 for each part
    /// that it must have and has not, or has and must not have, and for a pull that it is not made
    /// with.
    #[schema(value_type = f64, examples(0))]
    pub distance: Thousandths,
    /// How far they are from the drink as it comes: the sum of `from_standard`, and 1 for each other
    /// thing that is missing or too much, and for another pull than the usual.
    #[schema(value_type = f64, examples(0.25))]
    pub from_standard: Thousandths,
    /// Each measure that was given.
    pub measures: Vec<MeasureView>,
    /// The pull; null if none was given, or the drink has no coffee.
    pub pull: Option<PullView<'a>>,
    /// What the drink has and the cup has not.
    pub missing: Vec<DifferenceView<'a>>,
    /// What the cup has and the drink has not.
    pub too_much: Vec<DifferenceView<'a>>,
}

/// One measure beside the same of the drink.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct MeasureView {
    /// Name of the field of the request, whose unit all amounts here have.
    #[schema(examples("foam_depth_mm"))]
    pub measure: &'static str,
    /// As given.
    #[schema(value_type = f64, examples(12))]
    pub given: Thousandths,
    /// As the drink comes; 0 where it has none of it.
    #[schema(value_type = f64, examples(5))]
    pub standard: Thousandths,
    /// Least that makes this drink; null where the book says nothing.
    #[schema(value_type = Option<f64>, examples(0))]
    pub min: Option<Thousandths>,
    /// Most that makes this drink; null where the book says nothing.
    #[schema(value_type = Option<f64>, examples(9))]
    pub max: Option<Thousandths>,
    /// How far outside those bounds, in widths of their range: 0 within, and where there are none. Of
    /// two equal bounds one whole unit is the width.
    #[schema(value_type = f64, examples(0.333))]
    pub outside: Thousandths,
    /// How far from the drink as it comes: the difference by the larger of the two, 0 to 1.
    #[schema(value_type = f64, examples(0.583))]
    pub from_standard: Thousandths,
}

/// The pull beside that of the drink.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct PullView<'a> {
    /// As the drink comes, by id.
    pub standard: &'a str,
    /// Whether it is this drink with the pull that was given.
    pub allowed: bool,
}

/// Something that is missing or too much.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct DifferenceView<'a> {
    /// `coffee`, `milk`, `water`, `ice` or `ingredient`.
    #[schema(examples("ingredient"))]
    pub what: &'static str,
    /// The ingredient, by id; null for the others.
    pub ingredient: Option<&'a str>,
    /// Its name in words.
    pub text: String,
    /// Whether it is not this drink for it; else only not as it comes.
    pub of_identity: bool,
}

impl<'a> DrinksNear<'a> {
    /// The view of what was found in a language.
    pub fn of(bar: &Bar, near: &[Near<'a>], catalogue: &'a Catalogue) -> Self {
        Self {
            book: BookStamp::of(bar),
            site: SiteStamp { id: bar.site.id.to_string(), digest: bar.site_digest.to_string() },
            lang: catalogue.lang.to_string(),
            drinks: near.iter().map(|one| near_view(one, catalogue)).collect(),
        }
    }
}

fn near_view<'a>(near: &Near<'a>, catalogue: &'a Catalogue) -> NearView<'a> {
    let (distance, from_standard) = (near.distance(), near.from_standard());
    NearView {
        place: near.place,
        drink: &near.drink.id,
        name: near.drink.names.in_lang(&catalogue.lang),
        service: near.service,
        size: near.size,
        vessel: near.vessel,
        fits: distance == 0,
        as_it_comes: distance == 0 && from_standard == 0,
        distance: Thousandths(distance),
        from_standard: Thousandths(from_standard),
        measures: near.measures.iter().map(measure_view).collect(),
        pull: near.pull.as_ref().map(pull_view),
        missing: near.missing.iter().map(|one| difference_view(one, catalogue)).collect(),
        too_much: near.too_much.iter().map(|one| difference_view(one, catalogue)).collect(),
    }
}

fn measure_view(compared: &Compared) -> MeasureView {
    MeasureView {
        measure: compared.measure.as_str(),
        given: Thousandths(compared.given),
        standard: Thousandths(compared.standard),
        min: compared.bounds.map(|(min, _)| Thousandths(min)),
        max: compared.bounds.map(|(_, max)| Thousandths(max)),
        outside: Thousandths(compared.outside()),
        from_standard: Thousandths(compared.from_standard()),
    }
}

fn pull_view<'a>(pull: &ComparedPull<'a>) -> PullView<'a> {
    PullView { standard: pull.standard, allowed: pull.is_allowed }
}

fn difference_view<'a>(
    difference: &Difference<'a>,
    catalogue: &'a Catalogue,
) -> DifferenceView<'a> {
    let said = |phrase| words::gaps(catalogue, phrase, &[]);
    let (what, ingredient, text) = match difference.what {
        What::Coffee => ("coffee", None, said(Phrase::PartCoffee)),
        What::Milk => ("milk", None, said(Phrase::PartMilk)),
        What::Water => ("water", None, said(Phrase::PartWater)),
        What::Ice => ("ice", None, said(Phrase::PartIce)),
        What::Ingredient(one) => {
            ("ingredient", Some(&*one.id), one.names.in_lang(&catalogue.lang).to_owned())
        }
    };
    DifferenceView { what, ingredient, text, of_identity: difference.of_identity }
}
